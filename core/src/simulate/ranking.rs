//! Decisions by the ranking of the advice.

use super::policy::{Decision, Situation};
use crate::advise::{AdviceSession, Assessment, Figures, StepAdvice, StepKind};
use crate::job::{Action, Job, JobError};
use crate::machine::Machine;
use halfsplit_bayes::support::suggest::NoSuchId;

/// The decision for the step that `choose` picks from the ranking. The ranking has no lookahead, because
/// lookahead changes nothing that these policies use. A start attempt follows every repair.
pub(super) fn decide_by_ranking(
    situation: &Situation,
    choose: impl for<'a> Fn(&Job, &'a [StepAdvice]) -> Option<&'a StepAdvice>,
) -> Result<Decision, JobError> {
    let answer = AdviceSession::on(situation.job, situation.left_out, Figures::Sampled)?.into_assessment();
    let possible: Vec<StepAdvice> = answer.possible().cloned().collect();
    decision(situation, &answer, choose(situation.job, &possible), true)
}

/// The decision for a step of a ranking; handing over if there is none.
pub(super) fn decision(
    situation: &Situation,
    answer: &Assessment,
    next: Option<&StepAdvice>,
    then_try: bool,
) -> Result<Decision, JobError> {
    let machine = situation.job.machine;
    let next = next.map_or(Ok(None), |step| action_of(machine, step))?;
    Ok(Decision {
        next,
        then_try,
        chances: chances(machine, answer),
        estimate: None,
        left_out: answer.left_out.len(),
    })
}

/// Chance of each condition to stop the engine now, in the order of the description.
fn chances(machine: &Machine, answer: &Assessment) -> Vec<f64> {
    let chance = |id| {
        let (part, condition) = machine.condition(id);
        let odds = answer.causes.iter().find(|c| c.part == part.id && c.condition == condition.id);
        odds.map_or(0.0, |c| c.p_cause)
    };
    machine.condition_ids().map(chance).collect()
}

/// A step with its chance to get the engine running and its cost with the attempt after it.
pub(super) struct Best<'a> {
    pub(super) step: &'a StepAdvice,
    pub(super) chance: f64,
    cost: f64,
}

impl Best<'_> {
    /// Whether the chance is worth the cost if the machine is handed over otherwise.
    pub(super) fn pays(&self, job: &Job) -> bool {
        self.chance * job.hand_over_cost > self.cost
    }
}

/// The repair or plain start attempt with the highest ratio of chance to cost.
pub(super) fn best_repair<'a>(job: &Job, ranking: &'a [StepAdvice]) -> Option<Best<'a>> {
    let attempt = job.attempt_cost();
    ranking
        .iter()
        .filter_map(|step| {
            let cost = match step.kind {
                StepKind::Repair => step.cost + attempt,
                StepKind::Attempt => step.cost,
                StepKind::Check | StepKind::Bypass | StepKind::HandOver => return None,
            };
            let chance = step.results.iter().find(|r| r.id == "runs")?.p;
            Some(Best { step, chance, cost })
        })
        .max_by(|a, b| (a.chance * b.cost).total_cmp(&(b.chance * a.cost)))
}

/// A step of a ranking as an action; none for handing over.
///
/// # Errors
/// An id that the machine does not have.
pub(crate) fn action_of(machine: &Machine, step: &StepAdvice) -> Result<Option<Action>, NoSuchId> {
    let place = "ranking";
    Ok(Some(match step.kind {
        StepKind::Check => Action::Check(machine.find_check(place, &step.id)?),
        StepKind::Repair => Action::Repair(machine.find_repair(place, &step.id)?),
        StepKind::Bypass => Action::Attempt(vec![machine.find_bypass(place, &step.id)?]),
        StepKind::Attempt => Action::PLAIN_ATTEMPT,
        StepKind::HandOver => return Ok(None),
    }))
}
