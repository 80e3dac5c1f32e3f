//! Observations followed by a repair: the result of the observation decides which repair is done.
//!
//! They are chosen once per ranking from the present posterior, and used by several hundred plans.

use super::cost::{Cost, Costs, RepairCost, Setups, Subset, progress, subset};
use super::sets::{CauseSet, ResultPosterior};
use halfsplit_bayes::support::order::largest_first;

/// A result points to a repair if it makes what the repair cures at least this many times as likely. A factor of 2 is
/// also what a finding must have to speak for a condition (`verdict.rs`).
const POINTS_TO: f64 = 2.0;
/// Limit on the observations followed by a repair among which plans choose.
const MOST: usize = 10;

/// An observation that may be followed by a repair.
pub(super) struct Observable<'s> {
    /// Cost without set-up work.
    pub(super) cost: Cost,
    /// The set-up work that it needs.
    pub(super) setups: Setups,
    /// Whether it is a start attempt, which closes the machine.
    pub(super) closes: bool,
    /// The possible results.
    pub(super) results: &'s [ResultPosterior],
}

/// An observation followed by a repair.
#[derive(Debug)]
pub(super) struct ObserveRepair {
    /// The observation, by its place in the context.
    pub(super) observation: usize,
    /// Cost of the observation without set-up work.
    pub(super) cost: Cost,
    /// The set-up work that it needs.
    pub(super) setups: Setups,
    /// Whether it is a start attempt, which closes the machine.
    pub(super) closes: bool,
    /// The repairs that its results point to.
    pub(super) repairs: Vec<TargetedRepair>,
    /// By set: expected cost of the repairs and attempts that follow.
    pub(super) follow_up: Vec<Cost>,
    /// Expected cost of what follows, in money, for a machine that is not cured by it.
    pub(super) uncured_cost: f64,
}

/// A repair that some results of an observation point to.
#[derive(Debug)]
pub(super) struct TargetedRepair {
    /// The repair.
    pub(super) repair: usize,
    /// By set: the chance of these results.
    pub(super) chance: Vec<f64>,
    /// Cost of the repair with its set-up work and the attempt after it.
    pub(super) cost: Cost,
}

/// A repair that cures something of a set.
#[derive(Debug)]
pub(super) struct Cure {
    pub(super) repair: usize,
    /// What it cures of the set.
    pub(super) cures: Subset,
    /// Chance that it takes.
    takes: f64,
}

/// Expected progress towards a running engine, where some causes of a set are left.
#[derive(Debug)]
pub(super) struct Gain {
    /// The repair; observations followed by a repair come after all repairs.
    pub(super) of: usize,
    /// Expected progress, in [0, 1].
    pub(super) gain: f64,
}

/// All observations followed by a repair, and the gains of both sorts of step.
#[derive(Debug)]
pub(super) struct ObserveRepairs {
    pub(super) all: Vec<ObserveRepair>,
    /// By observation: gain for its cost if the repair that its result points to follows it.
    pub(super) values: Vec<f64>,
    /// By set of the posterior: all its causes.
    whole: Vec<Subset>,
    /// The repairs that cure something of each set, set after set.
    cures: Vec<Cure>,
    /// By set: the place of its first cure; and the end of all.
    cures_begin: Vec<usize>,
    /// The gains of each set and of each subset that may be left of it, one after the other.
    gains: Vec<Gain>,
    /// By set and subset: the place of its first gain; and the end of all.
    gains_begin: Vec<usize>,
    /// By set: the place of its first subset in `gains_begin`.
    gains_of_set: Vec<usize>,
    /// By repair, then by observation: cost in money for a machine that it does not cure, without set-up work.
    pub(super) uncured_costs: Vec<f64>,
}

impl ObserveRepairs {
    /// No observations: plans consist of repairs and attempts.
    pub(super) fn none(costs: &Costs, sets: &[CauseSet]) -> Self {
        let mut none = ObserveRepairs::without_gains(costs, sets);
        none.compute_gains(costs);
        none
    }

    /// The observations with the largest gain for their cost. `p` are the present weights of the sets.
    pub(super) fn new(costs: &Costs, sets: &[CauseSet], p: &[f64], observables: &[Observable]) -> Self {
        let mut chosen = ObserveRepairs::without_gains(costs, sets);
        let before = chosen.repair_gains(costs, p);
        let mut values = Vec::with_capacity(observables.len());
        let valued = observables.iter().enumerate().filter_map(|(observation, observable)| {
            let mut candidate = ObserveRepair {
                observation,
                cost: observable.cost,
                setups: observable.setups,
                closes: observable.closes,
                repairs: Vec::new(),
                follow_up: vec![Cost::default(); sets.len()],
                uncured_cost: 0.0,
            };
            for result in observable.results.iter().filter(|r| r.p > 0.0) {
                let after = chosen.repair_gains(costs, &result.with_set);
                candidate.target(costs, p, result, &before, &after);
            }
            let value = chosen.value(&mut candidate, costs, p);
            values.push(value);
            (value > 0.0).then_some((value, candidate))
        });
        let best = largest_first(valued.collect(), |(value, _)| *value).into_iter().take(MOST);
        chosen.all = best.map(|(_, candidate)| candidate).collect();
        chosen.values = values;
        chosen.compute_gains(costs);
        chosen
    }

    fn without_gains(costs: &Costs, sets: &[CauseSet]) -> Self {
        let mut cures = Vec::new();
        let mut cures_begin = vec![0];
        for set in sets {
            cures.extend(costs.curing(*set).map(|repair| {
                let RepairCost { cures, takes, .. } = costs.repairs[repair];
                Cure { repair, cures: subset(*set, cures), takes }
            }));
            cures_begin.push(cures.len());
        }
        ObserveRepairs {
            all: Vec::new(),
            values: Vec::new(),
            whole: sets.iter().map(|set| subset(*set, *set)).collect(),
            cures,
            cures_begin,
            gains: Vec::new(),
            gains_begin: Vec::new(),
            gains_of_set: Vec::new(),
            uncured_costs: Vec::new(),
        }
    }

    /// Computes costs and gains of all repairs and observations, for every subset that may be left of a set.
    fn compute_gains(&mut self, costs: &Costs) {
        self.uncured_costs.extend(costs.repairs.iter().map(|r| r.cost.money + costs.attempt.money));
        self.uncured_costs.extend(self.all.iter().map(|o| o.cost.money + o.uncured_cost));
        let repairs = costs.repairs.len();
        let mut sums = vec![0.0; repairs + self.all.len()];
        for (at, whole) in self.whole.iter().enumerate() {
            self.gains_of_set.push(self.gains_begin.len());
            let cures = &self.cures[self.cures_begin[at]..self.cures_begin[at + 1]];
            for left in 0..=*whole {
                self.gains_begin.push(self.gains.len());
                for cure in cures {
                    let gain = cure.takes * progress(left, cure.cures);
                    if gain > 0.0 {
                        sums[cure.repair] += gain;
                        for (observe, sum) in self.all.iter().zip(&mut sums[repairs..]) {
                            *sum += gain * observe.chance(cure.repair, at);
                        }
                    }
                }
                for (of, gain) in sums.iter_mut().enumerate().filter(|(_, gain)| **gain > 0.0) {
                    self.gains.push(Gain { of, gain: std::mem::take(gain) });
                }
            }
        }
        self.gains_begin.push(self.gains.len());
    }

    /// The gains of repairs and observations for a set of the posterior of which this is left.
    pub(super) fn gains(&self, set: usize, left: Subset) -> &[Gain] {
        let place = self.gains_of_set[set] + left as usize;
        &self.gains[self.gains_begin[place]..self.gains_begin[place + 1]]
    }

    /// The repairs that cure something of a set of the posterior.
    pub(super) fn cures(&self, set: usize) -> &[Cure] {
        &self.cures[self.cures_begin[set]..self.cures_begin[set + 1]]
    }

    /// By repair: expected progress under some weights of sets.
    fn repair_gains(&self, costs: &Costs, weights: &[f64]) -> Vec<f64> {
        let mut gains = vec![0.0; costs.repairs.len()];
        for (at, (whole, weight)) in self.whole.iter().zip(weights).enumerate() {
            for cure in self.cures(at) {
                gains[cure.repair] += weight * cure.takes * progress(*whole, cure.cures);
            }
        }
        gains
    }

    /// Computes what an observation costs a machine that it does not cure. Returns its gain for its cost.
    fn value(&self, observe: &mut ObserveRepair, costs: &Costs, p: &[f64]) -> f64 {
        let (mut gain, mut uncured, mut follow_up) = (0.0, 0.0, 0.0);
        for (at, (whole, p)) in self.whole.iter().zip(p).enumerate() {
            let cured = |c: &Cure| observe.chance(c.repair, at) * c.takes * progress(*whole, c.cures);
            let cured = self.cures(at).iter().map(cured).sum::<f64>().min(1.0);
            gain += p * cured;
            uncured += p * (1.0 - cured);
            follow_up += p * (1.0 - cured) * observe.follow_up[at].money;
        }
        observe.uncured_cost = if uncured > 0.0 { follow_up / uncured } else { 0.0 };
        let opening = costs.opening(observe.setups).money;
        gain / (observe.cost.money + opening + observe.uncured_cost).max(f64::MIN_POSITIVE)
    }
}

impl ObserveRepair {
    /// Adds the repair that a result points to, if it points to one.
    fn target(&mut self, costs: &Costs, p: &[f64], result: &ResultPosterior, before: &[f64], after: &[f64]) {
        let open = if self.closes { 0 } else { self.setups };
        let Some((repair, cost)) = best_repair(costs, result, before, after, open) else { return };
        // The attempt closes the machine, so the next step opens again what it would have found open.
        let cost = cost + costs.opening(open);
        let place = self.repairs.iter().position(|b| b.repair == repair).unwrap_or_else(|| {
            self.repairs.push(TargetedRepair { repair, chance: vec![0.0; p.len()], cost });
            self.repairs.len() - 1
        });
        let chance = result.with_set.iter().zip(p).map(|(joint, p)| if *p > 0.0 { joint / p } else { 0.0 });
        let sums = self.repairs[place].chance.iter_mut().zip(&mut self.follow_up);
        for ((sum, follow_up), chance) in sums.zip(chance) {
            *sum += chance;
            *follow_up += cost * chance;
        }
    }

    /// Chance that its result points to a repair, given a set of the posterior.
    fn chance(&self, repair: usize, set: usize) -> f64 {
        self.repairs.iter().find(|b| b.repair == repair).map_or(0.0, |b| b.chance[set])
    }

    /// Whether results of both observations point to the same repair.
    pub(super) fn overlaps(&self, other: &ObserveRepair) -> bool {
        self.repairs.iter().any(|a| other.repairs.iter().any(|b| a.repair == b.repair))
    }
}

/// The repair with the largest gain for its cost among those that a result points to; none if none of them
/// pays. `before` and `after` are the gains of the repairs without and with the result.
fn best_repair(
    costs: &Costs,
    result: &ResultPosterior,
    before: &[f64],
    after: &[f64],
    open: Setups,
) -> Option<(usize, Cost)> {
    let mut best: Option<(usize, f64, Cost)> = None;
    for (repair, (gain, prior)) in after.iter().zip(before).enumerate() {
        let gain = gain / result.p;
        if gain < POINTS_TO * prior || gain <= 0.0 {
            continue;
        }
        let RepairCost { cost, setups, .. } = &costs.repairs[repair];
        let cost = *cost + costs.opening(setups & !open) + costs.attempt;
        if gain * costs.hand_over < cost.money {
            continue;
        }
        if best.is_none_or(|(_, g, c)| gain * c.money > g * cost.money) {
            best = Some((repair, gain, cost));
        }
    }
    best.map(|(repair, _, cost)| (repair, cost))
}
