//! The ranking as the answer states it: candidates with the names and figures that people read.

use super::answer::{Estimate, Leader, Reason, ResultOutlook, StepAdvice, StepKind};
use super::candidate::{
    Candidate, CauseChance, ObserveCandidate, RepairCandidate, ResultValue, StopCandidate,
};
use super::context::RankingContext;
use super::cost::Cost;
use super::precedence::{Order, Precedence};
use super::reason::{self, BeforeStep};
use super::steps::{self, ActionFacts};
use super::{estimate, rank};
use crate::job::{Action, Outcome};
use crate::machine::Machine;

/// The ranking as the answer states it.
pub(super) struct Ranking {
    /// Every step that can be done now, and the ways to stop, best first.
    pub(super) steps: Vec<StepAdvice>,
    /// Steps that can be done and are not worth doing now.
    pub(super) set_aside: Vec<StepAdvice>,
    /// Whether the odds are enough to decide: the first step opens no gate, and no free look is left.
    pub(super) enough: bool,
    /// Remaining time and cost with the best step first.
    pub(super) estimate: Option<Estimate>,
    /// Expected cost of repairing by the odds alone.
    pub(super) plan_cost: f64,
    /// Expected cost with perfect information about the causes.
    pub(super) perfect_information_cost: f64,
}

/// Ranks candidates and the ways to stop.
pub(super) fn ranking(
    machine: &Machine,
    context: &RankingContext,
    candidates: &[Candidate],
    precedence: &Precedence,
) -> Ranking {
    let renderer = Renderer { machine, context };
    let stops = rank::stops(context);
    let all: Vec<&Candidate> = candidates.iter().chain(&stops).collect();
    let Order { ranking: places, set_aside, enough } =
        precedence.order(machine, context, &all, |candidate| renderer.key(candidate));
    let plan_cost = context.repairs_only_cost();
    let leader = context.leader(&context.posterior.sets, &context.posterior.p);
    let now = BeforeStep { plan_cost, leader: renderer.leader(leader) };
    Ranking {
        steps: places.iter().map(|at| renderer.step(all[*at], &now)).collect(),
        enough,
        set_aside: set_aside.iter().map(|at| renderer.step(all[*at], &now)).collect(),
        estimate: places.first().map(|best| estimate::of(&context.ends(all[*best]))),
        plan_cost,
        perfect_information_cost: context.perfect_information_cost(),
    }
}

/// Turns candidates into steps of the answer.
struct Renderer<'a> {
    machine: &'a Machine,
    context: &'a RankingContext,
}

impl<'a> Renderer<'a> {
    /// The order of candidates that are equally good: by kind, then by id.
    fn key(&self, candidate: &Candidate) -> (StepKind, &'a str) {
        let facts = |action: &Action| {
            let ActionFacts { kind, id, .. } = steps::facts(self.machine, action);
            (kind, id)
        };
        match candidate {
            Candidate::Observe(observe) => facts(&self.context.observations[observe.observation].action),
            Candidate::Repair(repair) => facts(&Action::Repair(repair.repair)),
            Candidate::Stop(stop) => (StepKind::HandOver, stop_names(*stop).0),
        }
    }

    /// A candidate as a step of the answer.
    fn step(&self, candidate: &Candidate, now: &BeforeStep) -> StepAdvice {
        let mut step = match candidate {
            Candidate::Observe(observe) => self.observation(observe),
            Candidate::Repair(repair) => self.repair(repair),
            Candidate::Stop(stop) => stop_advice(*stop),
        };
        step.reason = reason::reason(&step, now);
        step
    }

    fn observation(&self, observe: &ObserveCandidate) -> StepAdvice {
        let action = &self.context.observations[observe.observation].action;
        let result = |(value, (id, name)): (&ResultValue, (&str, &str))| ResultOutlook {
            id: id.to_owned(),
            name: name.to_owned(),
            p: value.p,
            expected_cost: value.expected_cost,
            leader: self.leader(value.leader),
        };
        let results = observe.results.iter().zip(self.result_names(action)).map(result).collect();
        StepAdvice {
            information_bits: observe.information_bits,
            results,
            ..self.action(action, observe.cost, observe.expected_cost)
        }
    }

    /// Ids and names of the results of an observation.
    fn result_names(&self, action: &Action) -> Vec<(&'a str, &'a str)> {
        match action {
            Action::Check(check) => {
                let results = &self.machine.check(*check).results;
                results.iter().map(|r| (r.id.as_str(), r.name.as_str())).collect()
            }
            Action::Attempt(_) => Outcome::ALL.iter().map(|o| (o.id(), o.words())).collect(),
            Action::Repair(_) => Vec::new(),
        }
    }

    fn repair(&self, candidate: &RepairCandidate) -> StepAdvice {
        let RepairCandidate { failed, rest, .. } = candidate;
        let runs = ResultOutlook {
            id: Outcome::Runs.id().into(),
            name: Outcome::Runs.words().into(),
            p: 1.0 - failed.p,
            expected_cost: 0.0,
            leader: None,
        };
        let still_not = ResultOutlook {
            id: "still-not".into(),
            name: "repaired, tried again, still does not run".into(),
            p: failed.p,
            expected_cost: if failed.p > 0.0 { rest / failed.p } else { 0.0 },
            leader: self.leader(self.context.leader(&failed.sets, &failed.weights)),
        };
        StepAdvice {
            results: vec![runs, still_not],
            then_try: candidate.then_try,
            ..self.action(&Action::Repair(candidate.repair), candidate.cost, candidate.expected_cost)
        }
    }

    /// The fields that the steps of all actions share.
    fn action(&self, action: &Action, cost: Cost, expected_cost: f64) -> StepAdvice {
        let facts = steps::facts(self.machine, action);
        StepAdvice {
            kind: facts.kind,
            id: facts.id.to_owned(),
            name: facts.name.to_owned(),
            minutes: cost.minutes,
            wait_hours: cost.wait_hours,
            parts_cost: facts.effort.parts_cost,
            cost: cost.money,
            expected_cost,
            information_bits: 0.0,
            results: Vec::new(),
            then_try: false,
            reason: Reason::Stop,
        }
    }

    /// A cause by its names.
    fn leader(&self, cause: Option<CauseChance>) -> Option<Leader> {
        let CauseChance { condition, p } = cause?;
        let (part, condition) = self.machine.condition(condition);
        Some(Leader {
            part: part.id.clone(),
            condition: condition.id.clone(),
            name: condition.name.clone(),
            p_cause: p,
        })
    }
}

/// Id and name of a way to stop.
fn stop_names(stop: StopCandidate) -> (&'static str, &'static str) {
    match stop {
        StopCandidate::HandOver(_) => ("hand-over", "Stop here: hand it over or replace it"),
        StopCandidate::GiveUp(_) => ("not-worth-it", "Stop here: it is not worth repairing"),
    }
}

/// A way to stop as a step of the answer.
fn stop_advice(stop: StopCandidate) -> StepAdvice {
    let (id, name) = stop_names(stop);
    StepAdvice {
        kind: StepKind::HandOver,
        id: id.into(),
        name: name.into(),
        minutes: 0.0,
        wait_hours: 0.0,
        parts_cost: 0.0,
        cost: stop.cost(),
        expected_cost: stop.cost(),
        information_bits: 0.0,
        results: Vec::new(),
        then_try: false,
        reason: Reason::Stop,
    }
}
