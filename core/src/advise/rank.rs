//! The ranking: every candidate with its expected cost, the best first.
//!
//! *Observe now*: the cost of the step, and the mean over its results of what comes after them (expected value of
//! sample information, Raiffa and Schlaifer 1961). *Repair now*: the cost of the repair, and what comes if the engine
//! does not run after it. After either the plan is followed (`plan.rs`), or some more observations are made first,
//! as far as the lookahead has considered them (`lookahead.rs`).
//!
//! All of it is exact on the sets of causes that are evaluated one by one, with one exception: a later
//! observation is assumed to show what it would show now, given the same causes.

use super::belief::AfterObservation;
use super::candidate::{Candidate, ObserveCandidate, RepairCandidate, ResultValue, StopCandidate};
use super::context::RankingContext;
use super::cost::Cost;
use super::plan::{self, Plan};
use super::planner::PlanAction;
use super::sets::ResultPosterior;
use super::steps;
use crate::job::{Action, Job};
use crate::machine::RepairId;
use halfsplit_bayes::support::order::largest_first;
use halfsplit_bayes::support::parallel;

/// Every action that can be done now and does something, with its value if the plan is followed after it; best first.
pub(super) fn candidates(job: &Job, context: &RankingContext) -> Vec<Candidate> {
    let open = steps::open_setups(job);
    let value = |action: Action| {
        let cost = steps::cost_now(job, &steps::facts(job.machine, &action), &open);
        match action {
            Action::Repair(repair) => context.repair(repair, cost).map(Candidate::Repair),
            _ => context.observe(&action, cost).map(Candidate::Observe),
        }
    };
    let mut all: Vec<Candidate> =
        parallel::each(context.actions.clone(), value).into_iter().flatten().collect();
    let plan = Plan::new(context.plan_context(), context.belief());
    if let Some(first) = all.iter_mut().find(|candidate| context.begins(&plan, candidate)) {
        first.begin_plan(plan);
    }
    largest_first(all, |candidate| -candidate.expected_cost())
}

/// The ways to stop: handing over, and giving up if the job states the value of the machine.
pub(super) fn stops(context: &RankingContext) -> Vec<Candidate> {
    let give_up = context.machine_value.map(StopCandidate::GiveUp);
    std::iter::once(StopCandidate::HandOver(context.hand_over_cost))
        .chain(give_up)
        .map(Candidate::Stop)
        .collect()
}

impl RankingContext {
    /// The value of an observation; none where it cannot be made.
    fn observe(&self, action: &Action, cost: Cost) -> Option<ObserveCandidate> {
        let at = self.observations.iter().position(|o| o.action == *action)?;
        let observation = &self.observations[at];
        let is_attempt = observation.is_plain_attempt();
        let value = |(r, result): (usize, &ResultPosterior), after: AfterObservation| {
            let chance: f64 = after.weights.iter().sum();
            let runs = is_attempt && r == 0;
            ResultValue {
                p: result.p,
                expected_cost: if chance > 0.0 {
                    chance / result.p * plan::expected_cost(self.plan_context(), after.belief())
                } else {
                    0.0
                },
                leader: if runs { None } else { self.leader(&self.posterior.sets, &result.with_set) },
                then: None,
            }
        };
        let results = observation.results.iter().enumerate().zip(self.after_observing(at));
        let mut observe = ObserveCandidate {
            observation: at,
            is_attempt,
            cost,
            information_bits: self.information(&observation.results),
            results: results.map(|(result, after)| value(result, after)).collect(),
            expected_cost: 0.0,
            plan: None,
        };
        observe.update();
        Some(observe)
    }

    /// The value of a repair; none where it cures nothing and opens no gate.
    fn repair(&self, repair: RepairId, cost: Cost) -> Option<RepairCandidate> {
        if self.costs.repairs[repair.index()].cures == 0
            && !self.lifts.iter().flatten().any(|lift| *lift == Action::Repair(repair))
        {
            return None;
        }
        let failed = self.failed(repair.index());
        let rest = failed.p * plan::expected_cost(self.plan_context(), failed.belief());
        let mut candidate = RepairCandidate {
            repair,
            cost,
            failed,
            rest,
            then: None,
            untried: f64::INFINITY,
            then_try: true,
            expected_cost: 0.0,
            plan: None,
        };
        candidate.update(self.costs.attempt.money);
        Some(candidate)
    }

    /// Whether a plan begins with a candidate.
    fn begins(&self, plan: &Plan, candidate: &Candidate) -> bool {
        match (plan.first, candidate) {
            (Some(PlanAction::Repair(repair)), Candidate::Repair(c)) => c.repair.index() == repair,
            (Some(PlanAction::ObserveRepair(at)), Candidate::Observe(c)) => {
                c.observation == self.observe_repairs.all[at].observation
            }
            (Some(PlanAction::Attempt), Candidate::Observe(c)) => c.is_attempt,
            _ => false,
        }
    }
}
