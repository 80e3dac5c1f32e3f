use crate::network::VarId;

/// The answer to one question: probability of the evidence and all marginals.
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
    #[must_use]
    pub fn marginal(&self, var: VarId) -> &[f64] {
        &self.marginals[var.index()]
    }
}
