use thiserror::Error;

use crate::json::ShapeError;

/// What is wrong with a network, its file, or a name.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum NetworkError {
    /// The text is no network or evidence file.
    #[error("at {place}: {rule}")]
    Shape {
        /// Path to the value at fault, or line and column.
        place: String,
        /// What the reader expects there.
        rule: String,
    },
    /// Two variables have the same name.
    #[error("variable \"{name}\" is defined twice; every variable needs a name of its own")]
    DuplicateVariable {
        /// The name.
        name: String,
    },
    /// No variable has this name.
    #[error("there is no variable \"{name}\"{hint}")]
    UnknownVariable {
        /// The name.
        name: String,
        /// A suggestion, or empty.
        hint: String,
    },
    /// The variable has no state with this name.
    #[error("variable \"{variable}\" has no state \"{state}\" (it has {known}){hint}")]
    UnknownState {
        /// The variable.
        variable: String,
        /// The name.
        state: String,
        /// The names of its states.
        known: String,
        /// A suggestion, or empty.
        hint: String,
    },
    /// A parent is not among the variables.
    #[error("variable \"{variable}\" has the parent \"{parent}\", which is not defined{hint}")]
    UnknownParent {
        /// The variable.
        variable: String,
        /// The name of the parent.
        parent: String,
        /// A suggestion, or empty.
        hint: String,
    },
    /// A parent is listed twice.
    #[error("variable \"{variable}\" lists the parent \"{parent}\" twice")]
    DuplicateParent {
        /// The variable.
        variable: String,
        /// The parent.
        parent: String,
    },
    /// The states of a variable are not valid.
    #[error("variable \"{variable}\": {rule}")]
    States {
        /// The variable.
        variable: String,
        /// What is wrong.
        rule: String,
    },
    /// A variable has no table.
    #[error("variable \"{variable}\" has no table")]
    NoTable {
        /// The variable.
        variable: String,
    },
    /// A table has the wrong number of entries.
    #[error("table of \"{variable}\" has {found} entries; its states and those of its parents need {needed}")]
    TableLength {
        /// The variable.
        variable: String,
        /// Number of entries needed.
        needed: usize,
        /// Number of entries found.
        found: usize,
    },
    #[error(
        "table of \"{variable}\", row {row} ({given}): {value} is not a probability; entries lie in [0, 1]"
    )]
    /// An entry is not a probability.
    NotAProbability {
        /// The variable.
        variable: String,
        /// The row, from 0.
        row: usize,
        /// The parents' states in that row.
        given: String,
        /// The entry.
        value: f64,
    },
    /// A row does not sum to 1.
    #[error("table of \"{variable}\", row {row} ({given}): the entries sum to {sum}, not to 1")]
    RowSum {
        /// The variable.
        variable: String,
        /// The row, from 0.
        row: usize,
        /// The parents' states in that row.
        given: String,
        /// The sum.
        sum: f64,
    },
    /// The graph has a directed cycle.
    #[error("the network has a directed cycle: {path}")]
    Cycle {
        /// The names along the cycle.
        path: String,
    },
}

impl From<ShapeError> for NetworkError {
    fn from(error: ShapeError) -> Self {
        NetworkError::Shape { place: error.place, rule: error.rule.to_string() }
    }
}
