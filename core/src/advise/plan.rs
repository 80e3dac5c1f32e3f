//! The plan: how to get the engine running by repairs, and by observations that are followed by a repair.
//!
//! At each step the plan takes the action with the largest chance of a running engine for the cost to a
//! machine that the action does *not* cure. With one fault and independent steps this order is optimal
//! (Kadane and Simon 1977; Heckerman, Breese and Rommelse 1995). That holds for replace-and-see, where every
//! machine pays for the repair, and for look-then-fix, where only a machine with the faulty part pays for it.
//! A start attempt follows a repair, unless it is better to take further steps first, because the machine is
//! open or because an attempt costs more than it is likely to save. The plan stops as soon as stopping is
//! cheaper than continuing.
//!
//! A plan makes no use of what an observation shows beyond its own repair, so that anybody can follow it. Its cost is
//! therefore an upper bound of the cost of the best possible policy, and the value that observations are measured
//! against. An observation is taken to show what it shows before the plan begins, given the same causes.

use super::belief::{BeliefState, PlanContext};
use super::cost::Cost;
use super::planner::{PlanAction, PlanStep, Planner};

/// The plan ends when continuing can save less than this share of what it has cost.
const NEGLIGIBLE: f64 = 1e-3;
/// Steps of a plan, at most.
const LONGEST: usize = 80;
/// A set with a smaller share of the weight is not followed.
const TOO_SMALL: f64 = 3e-4;

/// The expected cost of the plan from a belief.
pub(super) fn expected_cost(context: PlanContext, belief: BeliefState) -> f64 {
    let steps = steps(context, belief);
    settle(&steps, context.costs.hand_over).0
}

/// A plan: its expected cost, and what it begins with.
#[derive(Debug)]
pub(super) struct Plan {
    /// Expected cost.
    pub(super) cost: f64,
    /// The first action; none where handing over is cheaper than anything.
    pub(super) first: Option<PlanAction>,
    /// Whether the second action is a start attempt.
    pub(super) then_try: bool,
}

impl Plan {
    /// The plan from a belief.
    pub(super) fn new(context: PlanContext, belief: BeliefState) -> Self {
        let steps = steps(context, belief);
        let (cost, taken) = settle(&steps, context.costs.hand_over);
        let action = |at: usize| steps[..taken].get(at).map(|step| step.action);
        Plan { cost, first: action(0), then_try: action(1) == Some(PlanAction::Attempt) }
    }
}

/// Every way in which the plan may end. [`expected_cost`] is the mean of their costs.
pub(super) fn ends(context: PlanContext, belief: BeliefState) -> Vec<PlanEnd> {
    let steps = steps(context, belief);
    let (_, taken) = settle(&steps, context.costs.hand_over);
    let mut ends = Vec::with_capacity(taken + 1);
    let (mut spent, mut left) = (Cost::default(), 1.0);
    for step in &steps[..taken] {
        spent += step.each;
        let cured = spent + step.cured;
        ends.push(PlanEnd::running(step.runs, cured));
        spent += step.others;
        left = step.reached - step.runs;
    }
    let cost = spent.money + context.costs.hand_over;
    ends.push(PlanEnd { cost, runs: false, ..PlanEnd::running(left, spent) });
    ends
}

/// A way in which a plan may end.
#[derive(Debug, Clone)]
pub(super) struct PlanEnd {
    /// Chance of it.
    pub(super) p: f64,
    /// Cost until then in money, including the cost of handing over if the plan ends so.
    pub(super) cost: f64,
    /// Minutes at the machine until then.
    pub(super) minutes: f64,
    /// Hours of waiting until then.
    pub(super) wait_hours: f64,
    /// Whether the engine runs; otherwise the machine is handed over.
    pub(super) runs: bool,
}

impl PlanEnd {
    /// An engine that runs, at this cost.
    pub(super) fn running(p: f64, cost: Cost) -> Self {
        let Cost { money, minutes, wait_hours } = cost;
        PlanEnd { p, cost: money, minutes, wait_hours, runs: true }
    }
}

/// Cost of a fixed order of steps that stops where handing over is cheaper than continuing, and the number of
/// steps until then.
fn settle(steps: &[PlanStep], hand_over: f64) -> (f64, usize) {
    let left = steps.last().map_or(1.0, |s| s.reached - s.runs);
    let mut rest = left * hand_over;
    let mut taken = steps.len();
    for (at, step) in steps.iter().enumerate().rev() {
        rest += step.cost();
        let stop = step.reached * hand_over;
        if stop < rest {
            (rest, taken) = (stop, at);
        }
    }
    (rest, taken)
}

/// The steps of the plan, as long as continuing may pay.
fn steps(context: PlanContext, belief: BeliefState) -> Vec<PlanStep> {
    let total: f64 = belief.weights.iter().sum();
    if total <= 0.0 {
        return Vec::new();
    }
    // The sets that are followed represent all sets.
    let kept: f64 = belief.weights.iter().filter(|w| **w > TOO_SMALL * total).sum();
    let weights = belief.weights.iter().map(|w| if *w > TOO_SMALL * total { w / kept } else { 0.0 });
    let mut planner = Planner::new(context, belief, weights.collect());
    let mut steps: Vec<PlanStep> = Vec::new();
    let mut spent = 0.0;
    while steps.len() < LONGEST
        && planner.alive() * context.costs.hand_over > NEGLIGIBLE * spent
        && let Some(action) = planner.next()
    {
        let step = planner.take(action);
        spent += step.cost();
        steps.push(step);
    }
    steps
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advise::belief::CauseSets;
    use crate::advise::cost::{Costs, RepairCost};
    use crate::advise::observe_repair::ObserveRepairs;
    use crate::advise::sets::CauseSet;

    /// Five faults of trade literature G.7: p = .40 .25 .20 .10 .05, c = 60 5 20 15 2.
    const P: [f64; 5] = [0.40, 0.25, 0.20, 0.10, 0.05];
    const C: [f64; 5] = [60.0, 5.0, 20.0, 15.0, 2.0];

    fn repair(cures: CauseSet, takes: f64, money: f64) -> RepairCost {
        RepairCost {
            cures,
            takes,
            cost: Cost { money, minutes: 2.0 * money, wait_hours: money / 4.0 },
            setups: 0,
        }
    }

    /// Expected cost of repairs alone.
    fn of_repairs(costs: &Costs, sets: Vec<CauseSet>, weights: &[f64]) -> f64 {
        let context = PlanContext { costs, observe_repairs: &ObserveRepairs::none(costs, &sets) };
        expected_cost(
            context,
            BeliefState { sets: &CauseSets::new(&sets, context), weights, open: 0, seen: 0, done: None },
        )
    }

    fn costs(hand_over: f64) -> Costs {
        let repair = |(i, c): (usize, &f64)| repair(1 << i, 1.0, *c);
        let attempt = Cost { minutes: 1.0, ..Cost::default() };
        Costs::new(C.iter().enumerate().map(repair).collect(), attempt, hand_over, Vec::new())
    }

    fn cost(hand_over: f64) -> f64 {
        let sets: Vec<CauseSet> = (0..5).map(|i| 1 << i).collect();
        of_repairs(&costs(hand_over), sets, &P)
    }

    #[test]
    fn the_order_by_chance_over_cost_is_the_best_of_all_orders() {
        // Kadane and Simon 1977 (theorem): decreasing p/c minimises expected cost. 52.00 is the best
        // of all 120 orders, found by trying them here.
        let mut best = f64::INFINITY;
        halfsplit_bayes::for_each_configuration(&[5; 5], |order| {
            if (0..5).all(|i| order.contains(&i)) {
                let mut left = 1.0;
                let mut sum = 0.0;
                for i in order {
                    sum += left * C[*i];
                    left -= P[*i];
                }
                best = best.min(sum);
            }
        });
        assert!((best - 52.0).abs() < 1e-9);
        assert!((cost(1e9) - best).abs() < 1e-6);
    }

    #[test]
    fn a_call_out_cuts_the_list_short() {
        // With a call-out that always cures at 30 or 60 the best lists cost 27.50 and 48.50: by
        // trying all lists (the same example).
        assert!((cost(30.0) - 27.5).abs() < 1e-9);
        assert!((cost(60.0) - 48.5).abs() < 1e-9);
    }

    #[test]
    fn the_ends_of_a_list_are_where_each_fault_is_met() {
        // The same example by hand: with a call-out at 30 the best list is 2, 5, then the call-out
        // (.25 * 5 + .05 * 7 + .70 * 37 = 27.50). A repair takes twice its price in minutes and a quarter of it in
        // hours of waiting here, and an attempt one minute.
        let sets: Vec<CauseSet> = (0..5).map(|i| 1 << i).collect();
        let context =
            PlanContext { costs: &costs(30.0), observe_repairs: &ObserveRepairs::none(&costs(30.0), &sets) };
        let start =
            BeliefState { sets: &CauseSets::new(&sets, context), weights: &P, open: 0, seen: 0, done: None };
        let ends = ends(context, start);
        let ends: Vec<&PlanEnd> = ends.iter().filter(|e| e.p > 0.0).collect();
        let expected =
            [(0.25, 5.0, 11.0, 1.25, true), (0.05, 7.0, 16.0, 1.75, true), (0.70, 37.0, 16.0, 1.75, false)];
        assert_eq!(ends.len(), expected.len(), "{ends:?}");
        for (end, (p, cost, minutes, wait_hours, runs)) in ends.iter().zip(expected) {
            assert!((end.p - p).abs() < 1e-12 && (end.cost - cost).abs() < 1e-12, "{end:?}");
            assert!((end.minutes - minutes).abs() < 1e-12 && end.runs == runs, "{end:?}");
            assert!((end.wait_hours - wait_hours).abs() < 1e-12, "{end:?}");
        }
    }

    #[test]
    fn two_causes_at_once_need_two_repairs() {
        let both = of_repairs(&costs(1e9), vec![0b00011], &[1.0]);
        assert!((both - 65.0).abs() < 1e-9, "{both}");
        let nothing_wrong = of_repairs(&costs(1e9), vec![0], &[1.0]);
        assert!(nothing_wrong.abs() < 1e-12, "an attempt is free here: {nothing_wrong}");
    }

    #[test]
    fn a_repair_that_did_not_take_is_done_again() {
        // Each time it takes with .8, so it takes 1/.8 times on average: 12 / .8 = 15. What is negligible may
        // be missing.
        let attempt = Cost { money: 2.0, minutes: 1.0, wait_hours: 0.0 };
        let costs = Costs::new(vec![repair(1, 0.8, 10.0)], attempt, 100.0, Vec::new());
        let cost = of_repairs(&costs, vec![1], &[1.0]);
        assert!((cost - 15.0).abs() < 15.0 * NEGLIGIBLE, "{cost}");
    }
}
