//! The network file: a network as JSON.

use serde::{Deserialize, Serialize};

use super::{Network, NetworkBuilder, NetworkError, Variable, for_each_configuration};
use crate::support::suggest::hint;

/// A network as JSON: `{"variables": [...]}`. [`Network::from_json`] reads it, [`Network::to_file`] makes it.
///
/// ```
/// use halfsplit_bayes::Network;
///
/// let network = Network::from_json(
///     r#"{"variables": [
///         {"name": "fuel", "states": ["no", "yes"], "table": [0.02, 0.98]},
///         {"name": "starts", "states": ["no", "yes"], "parents": ["fuel"], "table": [1.0, 0.0, 0.05, 0.95]}
///     ]}"#,
/// )?;
/// assert_eq!(network.to_file().variables[1].parents, ["fuel"]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NetworkFile {
    /// The variables, in any order.
    pub variables: Vec<VariableFile>,
}

/// A variable of a [`NetworkFile`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VariableFile {
    /// Its name.
    pub name: String,
    /// The names of its states.
    pub states: Vec<String>,
    /// The names of its parents.
    #[serde(default)]
    pub parents: Vec<String>,
    /// Its conditional probabilities in row-major order: the parents in the order listed, the last parent
    /// faster than the first, the variable's own states fastest.
    pub table: Vec<f64>,
}

impl Network {
    /// Reads a network from JSON and validates it.
    ///
    /// # Errors
    /// [`NetworkError::Shape`] for text that is no network file, with the path to the value at fault. The
    /// other variants of [`NetworkError`] for an invalid network.
    pub fn from_json(text: &str) -> Result<Self, NetworkError> {
        Self::try_from(crate::json::read::<NetworkFile>(text)?)
    }

    /// Returns the network as a file. A noisy-MAX becomes a full table, which is large if it has many
    /// parents.
    #[must_use]
    pub fn to_file(&self) -> NetworkFile {
        let variables = self
            .iter()
            .map(|(_, v)| VariableFile {
                name: v.name().to_owned(),
                states: v.states().to_vec(),
                parents: v.parents().iter().map(|p| self.variable(*p).name().to_owned()).collect(),
                table: full_table(self, v),
            })
            .collect();
        NetworkFile { variables }
    }
}

/// The full table of a variable, also of a noisy-MAX.
fn full_table(network: &Network, v: &Variable) -> Vec<f64> {
    let mut table = Vec::new();
    let cards: Vec<usize> = v.parents().iter().map(|p| network.variable(*p).cardinality()).collect();
    for_each_configuration(&cards, |row| table.extend((0..v.cardinality()).map(|s| v.probability(row, s))));
    table
}

impl TryFrom<NetworkFile> for Network {
    type Error = NetworkError;

    fn try_from(file: NetworkFile) -> Result<Self, NetworkError> {
        let mut builder = NetworkBuilder::new();
        let mut ids = Vec::with_capacity(file.variables.len());
        for v in &file.variables {
            ids.push(builder.variable(&v.name, &v.states)?);
        }
        for (var, v) in ids.into_iter().zip(&file.variables) {
            let parents = v
                .parents
                .iter()
                .map(|p| {
                    builder.find(p).ok_or_else(|| NetworkError::UnknownParent {
                        variable: v.name.clone(),
                        parent: p.clone(),
                        hint: hint(p, file.variables.iter().map(|v| v.name.as_str())),
                    })
                })
                .collect::<Result<Vec<_>, _>>()?;
            builder.table(var, &parents, v.table.clone())?;
        }
        builder.build()
    }
}
