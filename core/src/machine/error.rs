use thiserror::Error;

use crate::json::ShapeError;
use halfsplit_bayes::support::suggest::NoSuchId;

/// A value, or the rule of descriptions that was broken.
pub(super) type Result<T> = std::result::Result<T, MachineError>;

/// What is wrong with a machine description, and where.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum MachineError {
    /// Not the JSON of a machine description.
    #[error("at {place}: {rule}")]
    Shape {
        /// Path into the file.
        place: String,
        /// What the reader says.
        rule: String,
    },
    /// A schema that this version does not read.
    #[error("schema: this version reads \"{wanted}\", the file says \"{found}\"")]
    Schema {
        /// The schema read here.
        wanted: String,
        /// The schema of the file.
        found: String,
    },
    /// Two things of one id.
    #[error("at {place}: the id \"{id}\" is taken already")]
    Duplicate {
        /// Where the second one stands.
        place: String,
        /// The id.
        id: String,
    },
    /// An id that nothing has.
    #[error(transparent)]
    Unknown(#[from] NoSuchId),
    /// A number outside its range, a row of the wrong length or sum, a list that must not be empty.
    #[error("at {place}: {rule}")]
    Rule {
        /// Where it stands.
        place: String,
        /// The rule it breaks.
        rule: String,
    },
}

impl From<ShapeError> for MachineError {
    fn from(error: ShapeError) -> Self {
        MachineError::Shape { place: error.place, rule: error.rule.to_string() }
    }
}

impl MachineError {
    /// The same error with another place.
    #[cfg(feature = "shipped")]
    pub(super) fn relocated(mut self, to: impl Fn(&str) -> String) -> Self {
        match &mut self {
            MachineError::Schema { .. } => {}
            MachineError::Shape { place, .. }
            | MachineError::Duplicate { place, .. }
            | MachineError::Unknown(NoSuchId { place, .. })
            | MachineError::Rule { place, .. } => *place = to(place),
        }
        self
    }

    pub(crate) fn rule(place: &str, rule: impl Into<String>) -> Self {
        MachineError::Rule { place: place.to_owned(), rule: rule.into() }
    }
}
