//! Posterior marginals.

use super::{Compiler, Evidence, InferenceError, JunctionTree, Workspace};
use crate::network::VarId;

/// Up to this many entries, a pass through the tree takes less time than compiling a smaller one.
const MIN_ENTRIES_TO_RECOMPILE: f64 = 5e6;
/// Time to compile an entry, in units of the time to propagate through one.
const COMPILE_COST: f64 = 3.0;

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

impl JunctionTree {
    /// Returns the posterior marginals of all variables and the probability of the evidence.
    ///
    /// # Errors
    /// [`InferenceError::Impossible`], with a smallest set of contradictory findings.
    ///
    /// # Panics
    /// If the evidence refers to variables that the tree's network does not have.
    pub fn posterior(&self, evidence: &Evidence) -> Result<Posterior, InferenceError> {
        self.posterior_in(&mut self.workspace(), evidence)
    }

    /// Returns the [`posterior`](Self::posterior) and reuses the memory and messages of a workspace: only
    /// messages that differ from those of the workspace's last query are computed.
    ///
    /// Hard evidence often allows a much smaller tree. If the tree is large, and compiling the smaller one
    /// takes less time than a pass through the large one, this method compiles the smaller tree for the
    /// query.
    ///
    /// # Errors
    /// [`InferenceError::Impossible`], with a smallest set of contradictory findings.
    ///
    /// # Panics
    /// If the workspace belongs to another tree, or the evidence refers to variables that the tree's network
    /// does not have.
    pub fn posterior_in(
        &self,
        work: &mut Workspace,
        evidence: &Evidence,
    ) -> Result<Posterior, InferenceError> {
        let entries = self.entries() as f64;
        if entries > MIN_ENTRIES_TO_RECOMPILE && !evidence.is_empty() {
            let compiler = Compiler::new().with_evidence(&self.with_built_in(evidence));
            let worth = entries / COMPILE_COST;
            if let Some(small) = compiler.compile_below(&self.network, worth, &mut work.pool)? {
                let mut work_there = small.workspace();
                let answer = small.propagate_and_read(&mut work_there, &Evidence::new());
                work.entries_visited += work_there.entries_visited;
                small.recycle_into(&mut work.pool);
                return answer;
            }
        }
        self.propagate_and_read(work, evidence)
    }

    fn propagate_and_read(
        &self,
        work: &mut Workspace,
        evidence: &Evidence,
    ) -> Result<Posterior, InferenceError> {
        if !self.propagate(work, evidence) {
            return Err(self.impossible(evidence));
        }
        let marginals = self.network.iter().map(|(v, _)| self.marginal(work, v)).collect();
        Ok(Posterior::new(self.log_p_evidence(work), marginals))
    }
}
