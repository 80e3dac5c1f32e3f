//! The network file: JSON as other tools and tests write it.

use serde::{Deserialize, Serialize};

use super::{Network, NetworkBuilder, NetworkError, Variable, for_each_configuration};
use crate::support::suggest::hint;

/// `{"variables":[...]}`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NetworkFile {
    /// The variables, parents in any order.
    pub variables: Vec<VariableFile>,
}

/// A variable of a [`NetworkFile`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VariableFile {
    /// Its name.
    pub name: String,
    /// Names of its states.
    pub states: Vec<String>,
    /// Names of its parents.
    #[serde(default)]
    pub parents: Vec<String>,
    /// Row-major: the parents in the order listed, the last parent varying faster than the first,
    /// the variable's own states fastest.
    pub table: Vec<f64>,
}

impl Network {
    /// Reads and validates a network file.
    ///
    /// # Errors
    /// [`NetworkError`], with the place in the file.
    pub fn from_json(text: &str) -> Result<Self, NetworkError> {
        Self::try_from(crate::json::read::<NetworkFile>(text)?)
    }

    /// The same network as a file. Rules are written out, so a noisy-MAX of very many parents
    /// makes a very long one.
    #[must_use]
    pub fn to_file(&self) -> NetworkFile {
        let variables = self
            .iter()
            .map(|(_, v)| VariableFile {
                name: v.name().to_owned(),
                states: v.states().to_vec(),
                parents: v.parents().iter().map(|p| self.variable(*p).name().to_owned()).collect(),
                table: written_out(self, v),
            })
            .collect();
        NetworkFile { variables }
    }
}

/// The table of a variable, whatever rule it came from.
fn written_out(network: &Network, v: &Variable) -> Vec<f64> {
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
