//! Decisions by rules that need no ranking.

use super::policy::{Decision, Situation};
use crate::advise::Possible;
use crate::job::{Action, Job, JobError};

/// The decision of a rule that chooses among the possible actions. The job is handed over once it has cost as
/// much as handing over, a rule of thumb for people who compute no odds. A start attempt follows every
/// repair.
pub(super) fn decide_by_rule(
    situation: &Situation,
    next: impl Fn(&Job, &Possible) -> Option<Action>,
) -> Result<Decision, JobError> {
    let Situation { job, left_out, .. } = *situation;
    let possible = Possible::leaving_out(job, left_out)?;
    let is_spent = job.spent().cost >= job.hand_over_cost;
    Ok(Decision {
        next: if is_spent { None } else { next(job, &possible) },
        then_try: true,
        chances: possible.chances(),
        estimate: None,
        left_out: possible.left_out(),
    })
}
