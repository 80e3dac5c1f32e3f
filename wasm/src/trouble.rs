//! What the page is told when something is wrong.

use halfsplit::job::JobError;
use halfsplit::link::LinkError;
use halfsplit::machine::MachineError;
use serde::Serialize;
use tsify::Tsify;
use wasm_bindgen::JsValue;

use crate::cross;

/// What went wrong.
#[derive(Debug, Clone, PartialEq, Serialize, Tsify)]
pub struct Trouble {
    /// Which part of the program says so.
    pub kind: TroubleKind,
    /// What is wrong, where, and the rule it breaks.
    pub message: String,
}

/// Which part of the program says so.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Tsify)]
#[serde(rename_all = "kebab-case")]
pub enum TroubleKind {
    /// A machine description.
    Machine,
    /// A job.
    Job,
    /// Findings that cannot all be true.
    Impossible,
    /// A link.
    Link,
}

impl From<MachineError> for Trouble {
    fn from(error: MachineError) -> Self {
        Trouble { kind: TroubleKind::Machine, message: error.to_string() }
    }
}

impl From<JobError> for Trouble {
    fn from(error: JobError) -> Self {
        let kind = match error {
            JobError::Impossible { .. } => TroubleKind::Impossible,
            _ => TroubleKind::Job,
        };
        Trouble { kind, message: error.to_string() }
    }
}

impl From<LinkError> for Trouble {
    fn from(error: LinkError) -> Self {
        Trouble { kind: TroubleKind::Link, message: error.to_string() }
    }
}

impl From<Trouble> for JsValue {
    fn from(trouble: Trouble) -> Self {
        cross::value(&trouble).unwrap_or_else(|_| JsValue::from_str(&trouble.message))
    }
}
