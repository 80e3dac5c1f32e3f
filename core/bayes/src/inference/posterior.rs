use crate::network::VarId;

/// Posterior marginals of all variables, and the probability of the evidence.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    log_p_evidence: f64,
    marginals: Vec<Vec<f64>>,
}

impl Posterior {
    pub(super) fn new(log_p_evidence: f64, marginals: Vec<Vec<f64>>) -> Self {
        Posterior { log_p_evidence, marginals }
    }

    /// Natural logarithm of the probability of the evidence.
    #[must_use]
    pub fn log_p_evidence(&self) -> f64 {
        self.log_p_evidence
    }

    /// Probability of each state of a variable given the evidence.
    ///
    /// # Panics
    /// If the variable does not belong to the network.
    #[must_use]
    pub fn marginal(&self, var: VarId) -> &[f64] {
        &self.marginals[var.index()]
    }
}
