//! The WebAssembly side of the benchmark `npm --prefix tests run networks`, which also times the native
//! engine. It runs the tasks of `bench_work` (tests/bench) on any network.

use halfsplit_bayes::{
    Evidence, EvidenceFile, JunctionTree, Network, NetworkFile, Posterior, VarId, Workspace, predictions,
};
use serde_json::Value;
use wasm_bindgen::prelude::*;

/// A network, sets of evidence on it, and its compiled junction tree.
#[wasm_bindgen]
#[derive(Debug)]
pub struct Questions {
    network: Network,
    sets: Vec<Evidence>,
    tree: JunctionTree,
    work: Workspace,
}

#[wasm_bindgen]
impl Questions {
    /// Reads `{"network": .., "sets": [..]}` and compiles the network.
    ///
    /// # Errors
    /// If the text is not valid, or the network or the evidence in it.
    #[wasm_bindgen(constructor)]
    pub fn new(work: &str) -> Result<Self, JsError> {
        let mut work: Value = serde_json::from_str(work)?;
        let network = Network::try_from(serde_json::from_value::<NetworkFile>(work["network"].take())?)?;
        let sets: Vec<EvidenceFile> = serde_json::from_value(work["sets"].take())?;
        let sets = sets.iter().map(|set| set.on(&network)).collect::<Result<_, _>>()?;
        let tree = JunctionTree::compile(&network)?;
        Ok(Questions { work: tree.workspace(), network, sets, tree })
    }

    /// Compiles a tree, computes the posterior without evidence, and returns its checksum.
    ///
    /// # Errors
    /// If the network is too large.
    pub fn compile(&self) -> Result<f64, JsError> {
        let nothing = Evidence::new();
        let answer = JunctionTree::compile(&self.network)?.posterior(&nothing)?;
        Ok(self.check(&answer, &nothing))
    }

    /// Computes all marginals given each set but the first, and returns the sum of their checksums.
    ///
    /// Repeats the computation `rounds` times: the clock of a browser is too coarse to time a single one.
    ///
    /// # Errors
    /// If the evidence is impossible.
    pub fn answers(&mut self, rounds: usize) -> Result<f64, JsError> {
        let mut sum = 0.0;
        for _ in 0..rounds {
            sum = 0.0;
            for set in &self.sets[1..] {
                let answer = self.tree.posterior_in(&mut self.work, set)?;
                sum += self.check(&answer, set);
            }
        }
        Ok(sum)
    }

    /// Computes the predictions for all leaves given the first set, and returns their checksum.
    ///
    /// # Errors
    /// If the evidence is impossible.
    pub fn sweep(&self) -> Result<f64, JsError> {
        let given = &self.sets[0];
        let told = predictions(&self.network, given)?.into_iter().flat_map(|outlook| {
            let leaf = outlook.leaf;
            outlook.roots.into_iter().filter(move |(root, _)| given.get(*root).is_none() && *root != leaf)
        });
        Ok(told.map(|(_, marginal)| sum(&marginal)).sum())
    }

    /// Returns a checksum of a posterior: the sum of all probabilities, each times the number of its state.
    fn check(&self, answer: &Posterior, evidence: &Evidence) -> f64 {
        let asked = |var: &VarId| evidence.get(*var).is_none();
        let vars = self.network.iter().map(|(var, _)| var).filter(asked);
        vars.map(|var| sum(answer.marginal(var))).sum()
    }
}

fn sum(marginal: &[f64]) -> f64 {
    marginal.iter().zip(1..).map(|(p, at)| p * f64::from(at)).sum()
}
