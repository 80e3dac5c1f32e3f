//! Discrete Bayesian networks: variables, conditional probability tables, a directed acyclic graph.
//!
//! [`NetworkBuilder::build`] validates a [`Network`] once. After that it is immutable and valid.

mod builder;
mod configuration;
mod error;
mod file;
mod ids;
mod noisy_max;

use std::collections::HashMap;

use ndarray::ArrayD;

pub use builder::NetworkBuilder;
pub use configuration::for_each_configuration;
pub use error::NetworkError;
pub use file::{NetworkFile, VariableFile};
pub use ids::{StateId, VarId};
pub use noisy_max::{NoisyMax, NoisyParent};

/// A variable with its states, its parents and its conditional probabilities.
#[derive(Debug, Clone)]
pub struct Variable {
    name: String,
    states: Vec<String>,
    parents: Vec<VarId>,
    cpt: Cpt,
}

/// Conditional probabilities of a variable given its parents (conditional probability table).
#[derive(Debug, Clone)]
pub enum Cpt {
    /// A table: one axis for each parent in order, the variable's own states last.
    Table(ArrayD<f64>),
    /// A noisy-MAX of the parents.
    NoisyMax(NoisyMax),
}

impl Variable {
    /// The name of the variable.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The names of its states.
    #[must_use]
    pub fn states(&self) -> &[String] {
        &self.states
    }

    /// Number of its states.
    #[must_use]
    pub fn cardinality(&self) -> usize {
        self.states.len()
    }

    /// Its parents, in the order of the table's leading axes.
    #[must_use]
    pub fn parents(&self) -> &[VarId] {
        &self.parents
    }

    /// Its conditional probabilities.
    #[must_use]
    pub fn cpt(&self) -> &Cpt {
        &self.cpt
    }

    /// Probability of a state given a state of each parent, all as indices.
    ///
    /// # Panics
    /// If an index is out of range or the number of parents is wrong.
    #[must_use]
    pub fn probability(&self, parents: &[usize], state: usize) -> f64 {
        match &self.cpt {
            Cpt::Table(table) => {
                let at: Vec<usize> = parents.iter().copied().chain([state]).collect();
                table[at.as_slice()]
            }
            Cpt::NoisyMax(rule) => rule.probability(parents, state),
        }
    }

    /// The state with this name.
    #[must_use]
    pub fn state(&self, name: &str) -> Option<StateId> {
        self.states.iter().position(|s| s == name).map(StateId::new)
    }
}

/// A validated discrete Bayesian network. [`NetworkBuilder`] makes one, or [`Network::from_json`].
///
/// ```
/// use halfsplit_bayes::NetworkBuilder;
///
/// let mut builder = NetworkBuilder::new();
/// let fuel = builder.add("fuel", ["no", "yes"], &[], vec![0.02, 0.98])?;
/// let starts = builder.add("starts", ["no", "yes"], &[fuel], vec![1.0, 0.0, 0.05, 0.95])?;
/// let network = builder.build()?;
/// assert_eq!(network.len(), 2);
/// assert_eq!(network.find("starts"), Some(starts));
/// assert_eq!(network.variable(starts).parents(), [fuel]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Network {
    variables: Vec<Variable>,
    by_name: HashMap<String, VarId>,
}

impl Network {
    /// Number of variables.
    #[must_use]
    pub fn len(&self) -> usize {
        self.variables.len()
    }

    /// Whether the network has no variables.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.variables.is_empty()
    }

    /// All variables with their ids, in the order in which they were added.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = (VarId, &Variable)> {
        self.variables.iter().enumerate().map(|(i, v)| (VarId::new(i), v))
    }

    /// A variable of this network.
    ///
    /// # Panics
    /// If the network has no variable with this id.
    #[must_use]
    pub fn variable(&self, id: VarId) -> &Variable {
        &self.variables[id.index()]
    }

    /// The variable with this name.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<VarId> {
        self.by_name.get(name).copied()
    }

    /// The variable with this name, or an error that suggests a similar name.
    ///
    /// # Errors
    /// [`NetworkError::UnknownVariable`].
    pub fn require(&self, name: &str) -> Result<VarId, NetworkError> {
        self.find(name).ok_or_else(|| NetworkError::UnknownVariable {
            name: name.to_owned(),
            hint: crate::support::suggest::hint(name, self.variables.iter().map(|v| v.name.as_str())),
        })
    }

    /// Whether a variable has no children.
    #[must_use]
    pub fn is_leaf(&self, id: VarId) -> bool {
        self.variables.iter().all(|v| !v.parents.contains(&id))
    }

    /// The network of the variables marked `true`, and their ids in this network. The parents of a kept
    /// variable must be kept.
    pub(crate) fn subnetwork(&self, kept: &[bool]) -> (Self, Vec<VarId>) {
        let old: Vec<VarId> = self.iter().map(|(id, _)| id).filter(|id| kept[id.index()]).collect();
        let mut new = vec![VarId::new(self.len()); self.len()];
        old.iter().enumerate().for_each(|(at, id)| new[id.index()] = VarId::new(at));
        let variables: Vec<Variable> = old
            .iter()
            .map(|id| {
                let mut variable = self.variable(*id).clone();
                variable.parents.iter_mut().for_each(|parent| *parent = new[parent.index()]);
                variable
            })
            .collect();
        let by_name = variables.iter().enumerate().map(|(at, v)| (v.name.clone(), VarId::new(at))).collect();
        (Network { variables, by_name }, old)
    }
}
