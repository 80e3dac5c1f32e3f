//! The ranking as the answer states it: candidates with the names and figures that people read.

use super::answer::{Estimate, Leader, Reason, ResultOutlook, StepAdvice, StepKind};
use super::candidate::{
    Candidate, CauseChance, ObserveCandidate, RepairCandidate, ResultValue, StopCandidate,
};
use super::context::RankingContext;
use super::cost::Cost;
use super::precedence::{Order, Precedence};
use super::prediction::Predictions;
use super::reason::{self, BeforeStep};
use super::steps::{self, ActionFacts};
use super::{estimate, rank};
use crate::job::{Action, Outcome};
use crate::machine::Machine;

/// Number of places whose observations have exact figures.
const WITH_FIGURES: usize = 8;

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

/// The observations with exact figures: plain attempts, those that are refined, and those among the first places of the
/// ranking.
pub(super) fn leading(
    machine: &Machine,
    context: &RankingContext,
    candidates: &[Candidate],
    precedence: &Precedence,
    refined: &[usize],
) -> Vec<Action> {
    let renderer = Renderer { machine, context, exact: None };
    let all: Vec<&Candidate> = candidates.iter().collect();
    let places = precedence.order(machine, context, &all, |candidate| renderer.key(candidate)).ranking;
    let attempts =
        (0..candidates.len()).filter(|at| matches!(&candidates[*at], Candidate::Observe(o) if o.is_attempt));
    let first = places.into_iter().take(WITH_FIGURES).chain(refined.iter().copied()).chain(attempts);
    let observations = first.filter_map(|at| match &candidates[at] {
        Candidate::Observe(observe) => Some(context.observations[observe.observation].action.clone()),
        Candidate::Repair(_) | Candidate::Stop(_) => None,
    });
    let mut list: Vec<Action> = Vec::new();
    observations.for_each(|action| {
        if !list.contains(&action) {
            list.push(action)
        }
    });
    list
}

/// Ranks candidates and the ways to stop. `leader` is the most likely cause now. Without exact figures, those of the
/// evaluated sets stand in their place: enough for a decision, not to be shown.
pub(super) fn ranking(
    machine: &Machine,
    context: &RankingContext,
    candidates: &[Candidate],
    precedence: &Precedence,
    exact: Option<&Predictions>,
    leader: Option<Leader>,
) -> Ranking {
    let renderer = Renderer { machine, context, exact };
    let stops = rank::stops(context);
    let all: Vec<&Candidate> = candidates.iter().chain(&stops).collect();
    let Order { ranking: places, set_aside, enough } =
        precedence.order(machine, context, &all, |candidate| renderer.key(candidate));
    let plan_cost = context.repairs_only_cost();
    let now = BeforeStep { plan_cost, leader };
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
    /// The exact figures.
    exact: Option<&'a Predictions>,
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
        let exact = self.exact.and_then(|exact| exact.observation(action));
        let result = |(r, (value, (id, name))): (usize, (&ResultValue, (&str, &str)))| ResultOutlook {
            id: id.to_owned(),
            name: name.to_owned(),
            p: exact.map_or(value.p, |exact| exact.p[r]),
            expected_cost: value.expected_cost,
            leader: self.leader(exact.map_or(value.leader, |exact| exact.leaders[r])),
        };
        // What is not known exactly is not shown.
        let is_known = self.exact.is_none() || exact.is_some();
        let values = observe.results.iter().filter(|_| is_known);
        let results = values.zip(self.result_names(action)).enumerate().map(result).collect();
        let bits = exact.map_or(observe.information_bits, |exact| exact.information_bits);
        StepAdvice {
            information_bits: is_known.then_some(bits),
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
        let (p_runs, leader) = match self.exact.and_then(|exact| exact.repair(candidate.repair)) {
            Some(exact) => (exact.p_runs, exact.leader),
            None => (1.0 - failed.p, self.context.leader(&failed.sets, &failed.weights)),
        };
        let runs = ResultOutlook {
            id: Outcome::Runs.id().into(),
            name: Outcome::Runs.words().into(),
            p: p_runs,
            expected_cost: 0.0,
            leader: None,
        };
        let still_not = ResultOutlook {
            id: "still-not".into(),
            name: "repaired, tried again, still does not run".into(),
            p: 1.0 - p_runs,
            expected_cost: if failed.p > 0.0 { rest / failed.p } else { 0.0 },
            leader: self.leader(leader),
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
            information_bits: None,
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
        information_bits: None,
        results: Vec::new(),
        then_try: false,
        reason: Reason::Stop,
    }
}
