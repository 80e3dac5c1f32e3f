//! The reason for a step, from its value.

use super::answer::{InformativeResult, Leader, Reason, ResultOutlook, StepAdvice, StepKind};
use halfsplit_bayes::support::order::largest_first;

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
