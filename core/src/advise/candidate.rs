//! Candidates for the next step, with their values.

use super::belief::FailedRepair;
use super::cost::Cost;
use super::plan::Plan;
use crate::machine::{ConditionId, RepairId};
use halfsplit_bayes::support::order::rounded;

/// Minimum information about the causes, in bits, of an observation that tells anything.
const NOTHING_TOLD: f64 = 1e-6;

/// A candidate for the next step, with its value.
#[derive(Debug)]
pub(super) enum Candidate {
    /// A check or a start attempt.
    Observe(ObserveCandidate),
    /// A repair.
    Repair(RepairCandidate),
    /// A way to stop.
    Stop(StopCandidate),
}

/// A check or a start attempt, with its value.
#[derive(Debug)]
pub(super) struct ObserveCandidate {
    /// The observation, by its place in the context.
    pub(super) observation: usize,
    /// Whether it is a plain start attempt.
    pub(super) is_attempt: bool,
    /// Cost of the step alone, with the set-up work that is not open yet.
    pub(super) cost: Cost,
    /// Mutual information between the result and the set of causes.
    pub(super) information_bits: f64,
    /// The possible results.
    pub(super) results: Vec<ResultValue>,
    /// Expected cost until the engine runs or is handed over.
    pub(super) expected_cost: f64,
    /// The plan, if it begins with this observation.
    pub(super) plan: Option<Plan>,
}

/// A possible result of an observation, with the value of the state after it.
#[derive(Debug)]
pub(super) struct ResultValue {
    /// Chance of the result.
    pub(super) p: f64,
    /// Expected cost after it.
    pub(super) expected_cost: f64,
    /// The most likely cause after it; none where the engine runs.
    pub(super) leader: Option<CauseChance>,
    /// The observation to make after it; none where following the plan costs less.
    pub(super) then: Option<ContingentStep>,
}

/// A repair, with its value.
#[derive(Debug)]
pub(super) struct RepairCandidate {
    /// The repair.
    pub(super) repair: RepairId,
    /// Cost of the step alone, with the set-up work that is not open yet.
    pub(super) cost: Cost,
    /// The state after a start attempt that shows that the repair did not help.
    pub(super) failed: FailedRepair,
    /// Expected cost of everything after that attempt, times the chance of it.
    pub(super) rest: f64,
    /// The observation to make then; none where following the plan costs less.
    pub(super) then: Option<ContingentStep>,
    /// Expected cost of following the plan without an attempt first; infinite until the lookahead computes it.
    pub(super) untried: f64,
    /// Whether a start attempt comes right after the repair.
    pub(super) then_try: bool,
    /// Expected cost until the engine runs or is handed over.
    pub(super) expected_cost: f64,
    /// The plan, if it begins with this repair.
    pub(super) plan: Option<Plan>,
}

/// A way to stop.
#[derive(Debug, Clone, Copy)]
pub(super) enum StopCandidate {
    /// Handing the machine over, at this cost.
    HandOver(f64),
    /// Giving the machine up, at the loss of its value.
    GiveUp(f64),
}

/// A cause and its chance.
#[derive(Debug, Clone, Copy)]
pub(super) struct CauseChance {
    /// The condition.
    pub(super) condition: ConditionId,
    /// Chance that it stops the engine.
    pub(super) p: f64,
}

/// An observation to make in some future state, and by its result the observation after it.
#[derive(Debug, Clone)]
pub(super) struct ContingentStep {
    /// The observation, by its place in the context.
    pub(super) observation: usize,
    /// By result: the observation after it; none where the plan is followed.
    pub(super) after: Vec<Option<ContingentStep>>,
}

impl Candidate {
    /// Expected cost until the engine runs or is handed over.
    pub(super) fn expected_cost(&self) -> f64 {
        match self {
            Candidate::Observe(observe) => observe.expected_cost,
            Candidate::Repair(repair) => repair.expected_cost,
            Candidate::Stop(stop) => stop.cost(),
        }
    }

    /// Whether the candidate is an observation whose result changes nothing.
    pub(super) fn tells_nothing(&self) -> bool {
        matches!(self, Candidate::Observe(observe) if observe.tells_nothing())
    }

    /// Whether the plan is the best known continuation of the candidate.
    pub(super) fn follows_plan(&self) -> bool {
        match self {
            Candidate::Observe(ObserveCandidate { plan, expected_cost, .. })
            | Candidate::Repair(RepairCandidate { plan, expected_cost, .. }) => {
                plan.as_ref().is_some_and(|plan| plan.cost <= *expected_cost)
            }
            Candidate::Stop(_) => false,
        }
    }

    /// Sets the plan that begins with this candidate.
    ///
    /// The plan is one possible policy, so its cost is an upper bound of the expected cost. Without this
    /// bound, a useless step would take the lead whenever the new plan after the first step costs more than
    /// the rest of the old plan.
    pub(super) fn begin_plan(&mut self, begun: Plan) {
        match self {
            Candidate::Observe(ObserveCandidate { plan, .. })
            | Candidate::Repair(RepairCandidate { plan, .. }) => {
                *plan = Some(begun);
            }
            Candidate::Stop(_) => {}
        }
        self.bound();
    }

    /// Lowers the expected cost to that of the plan.
    pub(super) fn bound(&mut self) {
        match self {
            Candidate::Observe(ObserveCandidate { plan: Some(plan), expected_cost, .. }) => {
                *expected_cost = expected_cost.min(plan.cost);
            }
            Candidate::Repair(RepairCandidate { plan: Some(plan), expected_cost, then_try, .. })
                if rounded(plan.cost) < rounded(*expected_cost) =>
            {
                (*expected_cost, *then_try) = (plan.cost, plan.then_try);
            }
            _ => {}
        }
    }
}

impl ObserveCandidate {
    /// Whether the result of the observation changes nothing.
    pub(super) fn tells_nothing(&self) -> bool {
        self.information_bits <= NOTHING_TOLD
    }

    /// Computes the expected cost from the results.
    pub(super) fn update(&mut self) {
        let after = self.results.iter().map(|r| r.p * r.expected_cost).sum::<f64>();
        self.expected_cost = self.cost.money + after;
    }
}

impl RepairCandidate {
    /// Computes the expected cost from the steps after the repair, with an attempt of this cost or without
    /// one.
    pub(super) fn update(&mut self, attempt: f64) {
        let tried = attempt + self.rest;
        self.then_try = rounded(tried) <= rounded(self.untried);
        self.expected_cost = self.cost.money + tried.min(self.untried);
    }
}

impl StopCandidate {
    /// Cost of stopping in this way.
    pub(super) fn cost(self) -> f64 {
        match self {
            StopCandidate::HandOver(cost) | StopCandidate::GiveUp(cost) => cost,
        }
    }
}
