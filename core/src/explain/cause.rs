//! A cause and its chance.

use serde::Serialize;

use crate::job::Job;
use crate::machine::ConditionId;

/// A cause and its chance.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Cause {
    /// Id of the part.
    pub part: String,
    /// Id of the condition.
    pub condition: String,
    /// Name for people.
    pub name: String,
    /// Chance that it stops the engine, or that it stopped the engine before it ran.
    pub p: f64,
}

impl Cause {
    pub(super) fn of(job: &Job, id: ConditionId, p: f64) -> Self {
        let (part, condition) = job.machine.condition(id);
        Cause { part: part.id.clone(), condition: condition.id.clone(), name: condition.name.clone(), p }
    }
}
