use thiserror::Error;

use crate::json::ShapeError;

/// What can be wrong with a network or its file.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum NetworkError {
    /// Not the JSON of a network file.
    #[error("at {place}: {rule}")]
    Shape {
        /// Path into the file.
        place: String,
        /// What the reader says.
        rule: String,
    },
    /// Two variables of one name.
    #[error("variable \"{name}\" is defined twice; every variable needs a name of its own")]
    DuplicateVariable {
        /// The name.
        name: String,
    },
    /// A name that no variable has.
    #[error("there is no variable \"{name}\"{hint}")]
    UnknownVariable {
        /// The name asked for.
        name: String,
        /// Suggestion, or empty.
        hint: String,
    },
    /// A name that no state has.
    #[error("variable \"{variable}\" has no state \"{state}\" (it has {known}){hint}")]
    UnknownState {
        /// The variable.
        variable: String,
        /// The state asked for.
        state: String,
        /// Its states, listed.
        known: String,
        /// Suggestion, or empty.
        hint: String,
    },
    /// A parent that is not among the variables.
    #[error("variable \"{variable}\" has the parent \"{parent}\", which is not defined{hint}")]
    UnknownParent {
        /// The variable.
        variable: String,
        /// The parent named.
        parent: String,
        /// Suggestion, or empty.
        hint: String,
    },
    /// A parent listed twice.
    #[error("variable \"{variable}\" lists the parent \"{parent}\" twice")]
    DuplicateParent {
        /// The variable.
        variable: String,
        /// The parent.
        parent: String,
    },
    /// No states, or two of one name.
    #[error("variable \"{variable}\": {rule}")]
    States {
        /// The variable.
        variable: String,
        /// What is wrong.
        rule: String,
    },
    /// A variable without a table.
    #[error("variable \"{variable}\" has no table")]
    NoTable {
        /// The variable.
        variable: String,
    },
    /// A table of the wrong length.
    #[error("table of \"{variable}\" has {found} entries; its states and those of its parents need {needed}")]
    TableLength {
        /// The variable.
        variable: String,
        /// Entries needed.
        needed: usize,
        /// Entries found.
        found: usize,
    },
    /// An entry that is no probability.
    #[error(
        "table of \"{variable}\", row {row} ({given}): {value} is not a probability; entries lie in [0, 1]"
    )]
    NotAProbability {
        /// The variable.
        variable: String,
        /// Row, from 0.
        row: usize,
        /// The parents' states in that row.
        given: String,
        /// The entry.
        value: f64,
    },
    /// A row that does not sum to 1.
    #[error("table of \"{variable}\", row {row} ({given}): the entries sum to {sum}, not to 1")]
    RowSum {
        /// The variable.
        variable: String,
        /// Row, from 0.
        row: usize,
        /// The parents' states in that row.
        given: String,
        /// The sum.
        sum: f64,
    },
    /// A directed cycle.
    #[error("the arrows run in a circle: {path}")]
    Cycle {
        /// The names along the circle.
        path: String,
    },
}

impl From<ShapeError> for NetworkError {
    fn from(error: ShapeError) -> Self {
        NetworkError::Shape { place: error.place, rule: error.rule.to_string() }
    }
}
