//! What has been found out about the variables of a network.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::InferenceError;
use crate::network::{Network, NetworkError, VarId};
use crate::support::suggest::hint;

/// Evidence on some variables: a likelihood for each of their states. A hard finding is the
/// likelihood that is 1 on one state and 0 on the others; virtual evidence (Pearl 1988) is any
/// other. A new finding on a variable replaces the earlier one.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Evidence {
    likelihoods: BTreeMap<VarId, Vec<f64>>,
}

impl Evidence {
    /// Nothing known.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Observes a state by name.
    ///
    /// # Errors
    /// A state that the variable does not have.
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

    /// Sets a likelihood: one number per state, not negative, not all zero. Only their ratios
    /// matter for posteriors; their size goes into the probability of the evidence.
    ///
    /// # Errors
    /// [`InferenceError::Likelihood`].
    pub fn likelihood(
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

    /// Sets a likelihood known to be valid.
    pub fn set(&mut self, var: VarId, likelihood: Vec<f64>) {
        self.likelihoods.insert(var, likelihood);
    }

    /// Observes a state known to be one of the variable's.
    pub fn set_state(&mut self, var: VarId, state: usize, states: usize) {
        self.set(var, (0..states).map(|s| f64::from(u8::from(s == state))).collect());
    }

    /// Takes back what is known of a variable.
    pub fn retract(&mut self, var: VarId) {
        self.likelihoods.remove(&var);
    }

    /// Whether nothing is known.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.likelihoods.is_empty()
    }

    /// The findings, by variable.
    pub fn iter(&self) -> impl Iterator<Item = (VarId, &[f64])> {
        self.likelihoods.iter().map(|(v, l)| (*v, l.as_slice()))
    }

    /// What is known of a variable.
    #[must_use]
    pub fn get(&self, var: VarId) -> Option<&[f64]> {
        self.likelihoods.get(&var).map(Vec::as_slice)
    }

    /// The variables on which there is evidence.
    #[must_use]
    pub fn variables(&self) -> Vec<VarId> {
        self.likelihoods.keys().copied().collect()
    }

    /// This evidence, cut down to some variables.
    #[must_use]
    pub fn restricted_to(&self, keep: &[VarId]) -> Self {
        let likelihoods =
            self.likelihoods.iter().filter(|(v, _)| keep.contains(v)).map(|(v, l)| (*v, l.clone())).collect();
        Evidence { likelihoods }
    }

    /// A finding in words: `variable = state`, or the states still possible.
    #[must_use]
    pub fn describe(&self, network: &Network, var: VarId) -> String {
        let variable = network.variable(var);
        let open: Vec<&str> = self.get(var).map_or_else(Vec::new, |l| {
            l.iter().zip(variable.states()).filter(|(x, _)| **x > 0.0).map(|(_, s)| s.as_str()).collect()
        });
        format!("{} = {}", variable.name(), open.join(" or "))
    }
}

/// The evidence file: `{"a":"yes"}` hard, or `{"a":[0.2,0.9]}` a likelihood per state.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct EvidenceFile(pub BTreeMap<String, Finding>);

/// One finding of an [`EvidenceFile`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged, expecting = "a finding is the name of a state, or a list of one number per state")]
pub enum Finding {
    /// A state.
    State(String),
    /// A likelihood for each state.
    Likelihood(Vec<f64>),
}

impl EvidenceFile {
    /// Reads an evidence file.
    ///
    /// # Errors
    /// [`NetworkError::Shape`] with the place.
    pub fn from_json(text: &str) -> Result<Self, NetworkError> {
        Ok(crate::json::read(text)?)
    }

    /// The evidence on a network.
    ///
    /// # Errors
    /// A name or state that the network does not have, a bad likelihood.
    pub fn on(&self, network: &Network) -> Result<Evidence, InferenceError> {
        let mut evidence = Evidence::new();
        for (name, finding) in &self.0 {
            let var = network.require(name)?;
            match finding {
                Finding::State(state) => evidence.observe(network, var, state)?,
                Finding::Likelihood(l) => evidence.likelihood(network, var, l.clone())?,
            }
        }
        Ok(evidence)
    }
}
