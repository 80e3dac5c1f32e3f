use thiserror::Error;

use crate::json::ShapeError;
use halfsplit_bayes::support::suggest::NoSuchId;

/// A value, or the rule of descriptions that was broken.
pub(super) type Result<T> = std::result::Result<T, MachineError>;

/// An error of a machine description, with its place.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum MachineError {
    /// The text is not the JSON of a machine description.
    #[error("at {place}: {rule}")]
    Shape {
        /// Path into the file.
        place: String,
        /// The message of the reader.
        rule: String,
    },
    /// A schema that this version cannot read.
    #[error("schema: this version reads \"{wanted}\", the file says \"{found}\"")]
    Schema {
        /// The schema that this version reads.
        wanted: String,
        /// The schema of the file.
        found: String,
    },
    /// Two things with the same id.
    #[error("at {place}: the id \"{id}\" is taken already")]
    Duplicate {
        /// The place of the second one.
        place: String,
        /// The id.
        id: String,
    },
    /// An id that does not exist.
    #[error(transparent)]
    Unknown(#[from] NoSuchId),
    /// A number outside its range, a row with a wrong length or sum, or an empty list that must not be empty.
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
    /// The same error at another place.
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
