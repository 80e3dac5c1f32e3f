use thiserror::Error;

use super::rule::JobRule;
use crate::json::ShapeError;
use crate::machine::MachineError;
use halfsplit_bayes::InferenceError;
use halfsplit_bayes::NetworkError;
use halfsplit_bayes::support::suggest::NoSuchId;

/// An error of a job, with its place.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum JobError {
    /// The text is not the JSON of a job file.
    #[error(transparent)]
    Shape(#[from] ShapeError),
    /// An id that the machine does not have.
    #[error(transparent)]
    Unknown(#[from] NoSuchId),
    /// A value that breaks a rule.
    #[error("at {place}: {rule}")]
    Rule {
        /// Where it stands.
        place: String,
        /// The rule it breaks.
        rule: JobRule,
    },
    /// Findings that exclude each other.
    #[error("these findings cannot all be true: {}", listed(.findings))]
    Impossible {
        /// The smallest set of steps that exclude each other: their places in the job, from 0, and what
        /// they found.
        findings: Vec<(usize, String)>,
    },
    /// A machine that cannot be used.
    #[error("machine description: {0}")]
    Machine(#[from] MachineError),
    /// An inference that failed.
    #[error("network of the job: {0}")]
    Inference(#[from] InferenceError),
    /// A job or a description that cannot be written as JSON: an error in the program.
    #[error("cannot be written as JSON: {0}")]
    NotWritten(String),
    /// A network that could not be built.
    #[error("network of the job: {0}")]
    Network(#[from] NetworkError),
}

impl JobError {
    pub(crate) fn rule(place: impl Into<String>, rule: JobRule) -> Self {
        JobError::Rule { place: place.into(), rule }
    }

    /// Whether exact inference on the job is too large.
    pub(crate) fn is_tangled(&self) -> bool {
        matches!(self, JobError::Rule { rule: JobRule::Tangled { .. }, .. })
    }
}

fn listed(findings: &[(usize, String)]) -> String {
    findings.iter().map(|(_, found)| found.as_str()).collect::<Vec<_>>().join("; ")
}
