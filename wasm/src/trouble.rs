//! Errors as the page sees them.

use halfsplit::job::{JobError, JobRule};
use halfsplit::json::{ShapeError, ShapeRule};
use halfsplit::link::{LONGEST_NOTE, LinkError};
use halfsplit::machine::MachineError;
use serde::Serialize;
use tsify::Tsify;
use wasm_bindgen::JsValue;

use crate::cross;

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
    /// A text or value that is no job.
    Shape {
        /// Path into it, or line and column.
        place: String,
        /// What it should be.
        shape: ShapeRule,
    },
    /// Findings that cannot all be true.
    Impossible {
        /// Places in the job of the smallest set of steps that exclude each other, from 0.
        steps: Vec<usize>,
    },
    /// A link that holds something else than a job.
    Link {
        /// Path into what it holds.
        place: String,
        /// What it should be.
        shape: ShapeRule,
    },
    /// A link whose packing is damaged.
    Packing {},
    /// A note that is too long to be one.
    Note {
        /// Its length in characters.
        letters: usize,
        /// The longest there may be.
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
            // Versions and characters are looked at where links are unpacked: on the page.
            _ => Trouble::Packing {},
        }
    }
}

impl From<Trouble> for JsValue {
    fn from(trouble: Trouble) -> Self {
        cross::value(&trouble).unwrap_or(JsValue::NULL)
    }
}
