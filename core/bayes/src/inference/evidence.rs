//! Evidence on the variables of a network, and its JSON format.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::InferenceError;
use crate::network::{Network, NetworkError, VarId};
use crate::support::suggest::hint;

/// Evidence on some variables: a likelihood for each of their states.
///
/// For hard evidence the likelihood is 1 for the observed state and 0 for the others. Any other likelihood is
/// soft evidence, also called virtual evidence (Pearl 1988). A new finding on a variable replaces the earlier
/// one.
///
/// Evidence does not hold its network. Queries panic if it refers to variables that their network does not
/// have.
///
/// ```
/// use halfsplit_bayes::{Evidence, JunctionTree, NetworkBuilder};
///
/// let mut builder = NetworkBuilder::new();
/// let burglary = builder.add("burglary", ["no", "yes"], &[], vec![0.9999, 0.0001])?;
/// let network = builder.build()?;
/// let mut evidence = Evidence::new();
/// // A report that is four times as probable with a burglary as without.
/// evidence.set_likelihood(&network, burglary, vec![0.2, 0.8])?;
/// let posterior = JunctionTree::compile(&network)?.posterior(&evidence)?;
/// assert!((posterior.marginal(burglary)[1] - 0.0004 / 1.0003).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Evidence {
    likelihoods: BTreeMap<VarId, Vec<f64>>,
}

impl Evidence {
    /// Returns no evidence.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Observes a state by name: hard evidence.
    ///
    /// # Errors
    /// [`InferenceError::Name`] if the variable has no such state.
    ///
    /// # Panics
    /// If the variable does not belong to the network.
    pub fn observe(&mut self, network: &Network, var: VarId, state: &str) -> Result<(), InferenceError> {
        let variable = network.variable(var);
        let Some(found) = variable.state(state) else {
            return Err(InferenceError::Name(NetworkError::UnknownState {
                variable: variable.name().to_owned(),
                state: state.to_owned(),
                known: variable.states().join(", "),
                hint: hint(state, variable.states().iter().map(String::as_str)),
            }));
        };
        self.set_state(var, found.index(), variable.cardinality());
        Ok(())
    }

    /// Sets the likelihood of each state of a variable: soft evidence. Only ratios affect posteriors; the
    /// scale becomes part of the probability of the evidence.
    ///
    /// # Errors
    /// [`InferenceError::Likelihood`] if the number of likelihoods is not that of the states, if one is
    /// negative or not finite, or if all are zero.
    ///
    /// # Panics
    /// If the variable does not belong to the network.
    pub fn set_likelihood(
        &mut self,
        network: &Network,
        var: VarId,
        likelihood: Vec<f64>,
    ) -> Result<(), InferenceError> {
        let variable = network.variable(var);
        let rule = if likelihood.len() != variable.cardinality() {
            format!("{} numbers for {} states", likelihood.len(), variable.cardinality())
        } else if likelihood.iter().any(|x| !x.is_finite() || *x < 0.0) {
            "a likelihood is a finite number that is not negative".into()
        } else if likelihood.iter().all(|x| *x == 0.0) {
            "a likelihood of zero for every state rules out everything".into()
        } else {
            self.likelihoods.insert(var, likelihood);
            return Ok(());
        };
        Err(InferenceError::Likelihood { variable: variable.name().to_owned(), rule })
    }

    /// Sets the likelihood of each state of a variable without access to the network. If all are zero, the
    /// evidence has probability zero.
    ///
    /// # Panics
    /// If a likelihood is negative or not finite. Queries panic if there are fewer likelihoods than states.
    pub fn insert(&mut self, var: VarId, likelihood: Vec<f64>) {
        let is_valid = |x: &f64| x.is_finite() && *x >= 0.0;
        assert!(likelihood.iter().all(is_valid), "a likelihood is a finite number that is not negative");
        self.insert_unchecked(var, likelihood);
    }

    /// Sets a likelihood that is known to be valid.
    pub(super) fn insert_unchecked(&mut self, var: VarId, likelihood: Vec<f64>) {
        self.likelihoods.insert(var, likelihood);
    }

    /// Observes a state by index, without access to the network. `cardinality` is the number of the
    /// variable's states.
    ///
    /// # Panics
    /// If `state` is not below `cardinality`. Queries panic if `cardinality` is smaller than the number of
    /// states.
    pub fn set_state(&mut self, var: VarId, state: usize, cardinality: usize) {
        assert!(state < cardinality, "state {state} of a variable with {cardinality} states");
        self.insert_unchecked(var, (0..cardinality).map(|s| f64::from(u8::from(s == state))).collect());
    }

    /// Removes the finding on a variable.
    pub fn retract(&mut self, var: VarId) {
        self.likelihoods.remove(&var);
    }

    /// Whether there are no findings.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.likelihoods.is_empty()
    }

    /// The findings in the order of the network's variables.
    pub fn iter(&self) -> impl Iterator<Item = (VarId, &[f64])> {
        self.likelihoods.iter().map(|(v, l)| (*v, l.as_slice()))
    }

    /// The likelihood of each state of a variable, if there is a finding on it.
    #[must_use]
    pub fn get(&self, var: VarId) -> Option<&[f64]> {
        self.likelihoods.get(&var).map(Vec::as_slice)
    }

    /// The variables with findings, in the network's order.
    #[must_use]
    pub fn variables(&self) -> Vec<VarId> {
        self.likelihoods.keys().copied().collect()
    }

    /// Returns the findings on the variables in `keep`.
    #[must_use]
    pub fn restricted_to(&self, keep: &[VarId]) -> Self {
        let likelihoods =
            self.likelihoods.iter().filter(|(v, _)| keep.contains(v)).map(|(v, l)| (*v, l.clone())).collect();
        Evidence { likelihoods }
    }

    /// Returns a finding as text: `variable = state`, with all states that are possible, joined by "or".
    ///
    /// # Panics
    /// If the variable does not belong to the network.
    #[must_use]
    pub fn describe(&self, network: &Network, var: VarId) -> String {
        let variable = network.variable(var);
        let open: Vec<&str> = self.get(var).map_or_else(Vec::new, |l| {
            l.iter().zip(variable.states()).filter(|(x, _)| **x > 0.0).map(|(_, s)| s.as_str()).collect()
        });
        format!("{} = {}", variable.name(), open.join(" or "))
    }
}

/// Evidence as JSON: by variable the name of a state (`{"a": "yes"}`) or one likelihood for each state
/// (`{"a": [0.2, 0.9]}`).
///
/// ```
/// use halfsplit_bayes::{EvidenceFile, Network};
///
/// let network = Network::from_json(
///     r#"{"variables": [{"name": "a", "states": ["yes", "no"], "table": [0.1, 0.9]}]}"#,
/// )?;
/// let evidence = EvidenceFile::from_json(r#"{"a": "yes"}"#)?.on(&network)?;
/// assert_eq!(evidence.get(network.require("a")?), Some([1.0, 0.0].as_slice()));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct EvidenceFile(pub BTreeMap<String, Finding>);

/// A finding of an [`EvidenceFile`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged, expecting = "a finding is the name of a state, or a list of one number per state")]
pub enum Finding {
    /// An observed state, by name.
    State(String),
    /// A likelihood for each state.
    Likelihood(Vec<f64>),
}

impl EvidenceFile {
    /// Reads evidence from JSON.
    ///
    /// # Errors
    /// [`NetworkError::Shape`], with the path to the value at fault.
    pub fn from_json(text: &str) -> Result<Self, NetworkError> {
        Ok(crate::json::read(text)?)
    }

    /// Returns the evidence on a network.
    ///
    /// # Errors
    /// [`InferenceError::Name`] for a variable or state that the network does not have;
    /// [`InferenceError::Likelihood`] for a likelihood that is not valid.
    pub fn on(&self, network: &Network) -> Result<Evidence, InferenceError> {
        let mut evidence = Evidence::new();
        for (name, finding) in &self.0 {
            let var = network.require(name)?;
            match finding {
                Finding::State(state) => evidence.observe(network, var, state)?,
                Finding::Likelihood(l) => evidence.set_likelihood(network, var, l.clone())?,
            }
        }
        Ok(evidence)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inference::JunctionTree;
    use crate::network::NetworkBuilder;

    #[test]
    #[should_panic(expected = "not negative")]
    fn a_negative_likelihood_is_refused() {
        Evidence::new().insert(VarId::new(0), vec![0.5, -0.5]);
    }

    #[test]
    #[should_panic(expected = "state 2 of a variable with 2 states")]
    fn a_state_out_of_range_is_refused() {
        Evidence::new().set_state(VarId::new(0), 2, 2);
    }

    #[test]
    #[should_panic(expected = "3 sets of evidence for 2 lanes")]
    fn more_sets_of_evidence_than_lanes_are_refused() {
        let mut builder = NetworkBuilder::new();
        builder.add("a", ["n", "y"], &[], vec![0.5, 0.5]).unwrap();
        let tree = JunctionTree::compile(&builder.build().unwrap()).unwrap();
        let nothing = Evidence::new();
        tree.propagate_lanes(&mut tree.lane_workspace::<2>(), &[&nothing; 3], None);
    }

    #[test]
    fn likelihoods_of_zero_have_probability_zero() {
        let mut builder = NetworkBuilder::new();
        let a = builder.add("a", ["n", "y"], &[], vec![0.5, 0.5]).unwrap();
        let network = builder.build().unwrap();
        let mut evidence = Evidence::new();
        evidence.insert(a, vec![0.0, 0.0]);
        let tree = JunctionTree::compile(&network).unwrap();
        assert!(matches!(tree.posterior(&evidence), Err(InferenceError::Impossible { .. })));
        let built_in = JunctionTree::compile_with_evidence(&network, &evidence);
        assert!(matches!(built_in, Err(InferenceError::Impossible { .. })));
    }
}
