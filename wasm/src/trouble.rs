//! Errors as the page sees them.

use halfsplit::job::{JobError, JobRule};
use halfsplit::json::{ShapeError, ShapeRule};
use halfsplit::link::{LONGEST_NOTE, LinkError};
use halfsplit::machine::MachineError;
use serde::Serialize;
use serde_wasm_bindgen::Serializer;
use tsify::Tsify;
use wasm_bindgen::JsValue;

/// A value, or the error that is thrown.
pub(crate) type Thrown<T> = Result<T, Trouble>;

/// An error, in fields. The page puts it into words in the language of the reader.
#[derive(Debug, Clone, PartialEq, Serialize, Tsify)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Trouble {
    /// A value that breaks a rule of jobs.
    Rule {
        /// Path into the job (`steps[3].reading`).
        place: String,
        /// The rule.
        rule: JobRule,
    },
    /// A text or value that is not a job.
    Shape {
        /// Path into it, or line and column.
        place: String,
        /// The rule that it breaks.
        shape: ShapeRule,
    },
    /// Findings that cannot all be true.
    Impossible {
        /// Places in the job of the smallest set of steps that exclude each other, from 0.
        steps: Vec<usize>,
    },
    /// A link whose content is not a job.
    Link {
        /// Path into the content of the link.
        place: String,
        /// The rule that it breaks.
        shape: ShapeRule,
    },
    /// A link whose packing is damaged.
    Packing {},
    /// A note that is too long.
    Note {
        /// Its length in characters.
        letters: usize,
        /// The limit.
        limit: usize,
    },
    /// A defect of the program: in a machine description or in the engine.
    Internal {
        /// The message of the engine, in English.
        said: String,
    },
}

impl Trouble {
    pub(crate) fn internal(said: impl ToString) -> Self {
        Trouble::Internal { said: said.to_string() }
    }
}

/// The value in the form for the page: plain objects and lists, with null for nothing.
pub(crate) fn to_js(value: &impl Serialize) -> Result<JsValue, serde_wasm_bindgen::Error> {
    value.serialize(&Serializer::json_compatible())
}

impl From<MachineError> for Trouble {
    fn from(error: MachineError) -> Self {
        match error {
            MachineError::Unknown(no_such) => JobError::from(no_such).into(),
            other => Trouble::internal(other),
        }
    }
}

impl From<ShapeError> for Trouble {
    fn from(ShapeError { place, rule: shape }: ShapeError) -> Self {
        Trouble::Shape { place, shape }
    }
}

impl From<JobError> for Trouble {
    fn from(error: JobError) -> Self {
        match error {
            JobError::Shape(error) => error.into(),
            JobError::Rule { place, rule } => Trouble::Rule { place, rule },
            JobError::Unknown(no_such) => {
                Trouble::Rule { place: no_such.place.clone(), rule: no_such.into() }
            }
            JobError::Impossible { findings } => {
                Trouble::Impossible { steps: findings.into_iter().map(|(step, _)| step).collect() }
            }
            other => Trouble::internal(other),
        }
    }
}

impl From<LinkError> for Trouble {
    fn from(error: LinkError) -> Self {
        match error {
            LinkError::Job(ShapeError { place, rule: shape }) => Trouble::Link { place, shape },
            LinkError::Note(letters) => Trouble::Note { letters, limit: LONGEST_NOTE },
            LinkError::NotWritten(said) => Trouble::internal(said),
            // The page checks versions and characters, because it unpacks links.
            _ => Trouble::Packing {},
        }
    }
}

impl From<Trouble> for JsValue {
    fn from(trouble: Trouble) -> Self {
        to_js(&trouble).unwrap_or(JsValue::NULL)
    }
}
