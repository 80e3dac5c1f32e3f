//! Every way in which the job may end if a candidate comes first.

use super::belief::BeliefState;
use super::candidate::{Candidate, ContingentStep, ObserveCandidate, RepairCandidate};
use super::context::RankingContext;
use super::cost::Cost;
use super::plan::{self, PlanEnd};

impl RankingContext {
    /// Every way in which the job may end if this candidate comes first.
    pub(super) fn ends(&self, first: &Candidate) -> Vec<PlanEnd> {
        if first.follows_plan() {
            return plan::ends(self.plan_context(), self.belief());
        }
        match first {
            Candidate::Observe(observe) => self.ends_observing(observe),
            Candidate::Repair(repair) => self.ends_repairing(repair),
            Candidate::Stop(_) => {
                let cost = self.costs.hand_over;
                vec![PlanEnd { cost, runs: false, ..PlanEnd::running(1.0, Cost::default()) }]
            }
        }
    }

    fn ends_observing(&self, observe: &ObserveCandidate) -> Vec<PlanEnd> {
        let ObserveCandidate { observation, cost, results, .. } = observe;
        let after = self.after_observing(*observation).into_iter().zip(results);
        let ends = after.flat_map(|(after, result)| {
            let p = after.weights.iter().sum();
            later(self.ends_from(&after.belief(), result.then.as_ref()), p, *cost)
        });
        let p = self.runs_cured(*observation);
        ends.chain((p > 0.0).then(|| PlanEnd::running(p, *cost))).collect()
    }

    fn ends_repairing(&self, candidate: &RepairCandidate) -> Vec<PlanEnd> {
        let RepairCandidate { repair, cost, failed, then, then_try, .. } = candidate;
        if !then_try {
            let ends = plan::ends(self.plan_context(), self.untried(repair.index()));
            return later(ends, 1.0, *cost);
        }
        let cost = *cost + self.costs.attempt;
        let mut ends = later(self.ends_from(&failed.belief(), then.as_ref()), failed.p, cost);
        ends.push(PlanEnd::running(1.0 - failed.p, cost));
        ends
    }

    /// Every way in which the job may end from a belief, by the plan or with observations first.
    fn ends_from(&self, belief: &BeliefState, then: Option<&ContingentStep>) -> Vec<PlanEnd> {
        let Some(ContingentStep { observation, after }) = then else {
            return plan::ends(self.plan_context(), *belief);
        };
        let cost = self.cost_in(belief, *observation);
        let all: f64 = belief.weights.iter().sum();
        let results = self.observations[*observation].results.iter().zip(after);
        let ends = results.flat_map(|(result, then)| {
            let weights = self.weights_given(belief, result);
            let share = if all > 0.0 { weights.iter().sum::<f64>() / all } else { 0.0 };
            let after = self.observed(belief, *observation, &weights);
            later(self.ends_from(&after, then.as_ref()), share, cost)
        });
        ends.collect()
    }
}

/// Ends that come after something else, with its chance and its cost.
fn later(mut ends: Vec<PlanEnd>, p: f64, before: Cost) -> Vec<PlanEnd> {
    for end in &mut ends {
        end.p *= p;
        end.cost += before.money;
        end.minutes += before.minutes;
        end.wait_hours += before.wait_hours;
    }
    ends
}
