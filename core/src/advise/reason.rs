//! The reason for a step, as data. The command line and the page put it into words.

use serde::Serialize;

use super::answer::{Leader, ResultOutlook, StepAdvice, StepKind};
use halfsplit_bayes::support::order::largest_first;

/// The reason for a step, with its figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub enum Reason {
    /// A check, or a start attempt with a bypass: what its result is worth.
    Observation {
        /// Expected saving against repairing by the odds alone, in the unit of the job's rate. It may be negative.
        saves: f64,
        /// The result that tells most; none where no cause would lead after any result.
        most_informative: Option<InformativeResult>,
    },
    /// A plain start attempt.
    Attempt {
        /// Chance that the engine runs.
        p_runs: f64,
    },
    /// A repair.
    Repair {
        /// Chance that the engine runs after the repair.
        p_runs: f64,
        /// The most likely cause if the engine still does not run after it.
        then: Option<Leader>,
        /// Whether the next step is better done before the next start attempt, because the machine is open or
        /// because more than one thing is likely to be wrong.
        keep_going: bool,
    },
    /// Handing over or giving up: going on is expected to cost at least as much.
    Stop,
}

/// A possible result, with the cause that leads after it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct InformativeResult {
    /// Id of the result or outcome.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Chance of the result.
    pub p: f64,
    /// The most likely cause after it.
    pub leader: Leader,
}

/// The state of the job before a step.
pub(super) struct BeforeStep {
    /// Expected cost of repairing by the odds alone.
    pub(super) plan_cost: f64,
    /// The most likely cause.
    pub(super) leader: Option<Leader>,
}

/// The reason for a step.
pub(super) fn reason(step: &StepAdvice, now: &BeforeStep) -> Reason {
    let p_runs = step.results.first().map_or(0.0, |r| r.p);
    match step.kind {
        StepKind::Check | StepKind::Bypass => Reason::Observation {
            saves: now.plan_cost - step.expected_cost,
            most_informative: most_informative(&step.results, now.leader.as_ref()),
        },
        StepKind::Attempt => Reason::Attempt { p_runs },
        StepKind::Repair => Reason::Repair {
            p_runs,
            then: step.results.get(1).and_then(|r| r.leader.clone()),
            keep_going: !step.then_try,
        },
        StepKind::HandOver => Reason::Stop,
    }
}

/// The result with the largest product of its chance and what the leading cause gains by it. A cause that leads
/// before the step gains the difference of its chances; another cause gains its whole chance.
fn most_informative(results: &[ResultOutlook], before: Option<&Leader>) -> Option<InformativeResult> {
    let gain = |leader: &Leader| {
        let same = before.filter(|b| b.part == leader.part && b.condition == leader.condition);
        leader.p_cause - same.map_or(0.0, |b| b.p_cause)
    };
    let told = results.iter().filter_map(|r| Some((r, r.p * gain(r.leader.as_ref()?)))).collect();
    let (result, _) = largest_first(told, |(_, gain): &(&ResultOutlook, f64)| *gain).into_iter().next()?;
    Some(InformativeResult {
        id: result.id.clone(),
        name: result.name.clone(),
        p: result.p,
        leader: result.leader.clone()?,
    })
}
