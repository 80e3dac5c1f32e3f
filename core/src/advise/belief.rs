//! States of belief: the knowledge at some point about causes, set-up work and observations.

use super::cost::{Costs, Setups, Subset, subset};
use super::observe_repair::ObserveRepairs;
use super::sets::CauseSet;
use crate::machine::resolve::MAX_OBSERVATIONS;

/// Observations as bits, by their places in the context.
pub(super) type ObservationSet = u128;

// Every check and every bypass, and the plain attempt.
const _: () = assert!(MAX_OBSERVATIONS < ObservationSet::BITS as usize);

/// The bit of one observation.
pub(super) fn observation_bit(at: usize) -> ObservationSet {
    1 << at
}

/// The costs and observations that a plan is made of.
#[derive(Clone, Copy)]
pub(super) struct PlanContext<'a> {
    pub(super) costs: &'a Costs,
    pub(super) observe_repairs: &'a ObserveRepairs,
}

/// Sets of causes for which many plans are made, with different weights.
#[derive(Debug)]
pub(super) struct CauseSets {
    /// By set: the place of the set that it comes from in the present posterior.
    pub(super) from: Vec<usize>,
    /// By set: its causes, among those of the set that it comes from.
    pub(super) left: Vec<Subset>,
    /// By repair: the places of the sets of which it cures something, and what it cures.
    pub(super) cured: Vec<Vec<(usize, Subset)>>,
}

impl CauseSets {
    /// The sets of the present posterior.
    pub(super) fn new(sets: &[CauseSet], context: PlanContext) -> Self {
        let whole = sets.iter().map(|set| subset(*set, *set)).collect();
        CauseSets::left((0..sets.len()).collect(), whole, context)
    }

    /// The subsets that are left, and the sets from which they come.
    pub(super) fn left(from: Vec<usize>, left: Vec<Subset>, context: PlanContext) -> Self {
        let mut cured = vec![Vec::new(); context.costs.repairs.len()];
        for (at, (left, from)) in left.iter().zip(&from).enumerate() {
            for cure in context.observe_repairs.cures(*from).iter().filter(|c| c.cures & left != 0) {
                cured[cure.repair].push((at, cure.cures));
            }
        }
        CauseSets { from, left, cured }
    }
}

/// The belief from which a plan begins.
#[derive(Clone, Copy)]
pub(super) struct BeliefState<'a> {
    pub(super) sets: &'a CauseSets,
    /// Weight of each set. The weights need not sum to 1.
    pub(super) weights: &'a [f64],
    /// The set-up work that is done.
    pub(super) open: Setups,
    /// Observations that have just been made, and would show the same again.
    pub(super) seen: ObservationSet,
    /// A repair that has just been done, without an attempt after it.
    pub(super) done: Option<usize>,
}

/// The belief after an observation.
pub(super) struct AfterObservation<'a> {
    pub(super) sets: &'a CauseSets,
    /// Joint probability of the result and each set.
    pub(super) weights: Vec<f64>,
    pub(super) open: Setups,
    pub(super) seen: ObservationSet,
}

impl AfterObservation<'_> {
    /// The belief as plans see it.
    pub(super) fn belief(&self) -> BeliefState<'_> {
        BeliefState { sets: self.sets, weights: &self.weights, open: self.open, seen: self.seen, done: None }
    }
}

/// The belief after a repair and a start attempt at which the engine did not run.
#[derive(Debug)]
pub(super) struct FailedRepair {
    /// What may be left of each set of causes: the set without what the repair cures, or all of it.
    pub(super) left: CauseSets,
    /// The same sets, as conditions of the machine.
    pub(super) sets: Vec<CauseSet>,
    /// Joint probability of each set and of an engine that does not run.
    pub(super) weights: Vec<f64>,
    /// Chance that the engine does not run.
    pub(super) p: f64,
}

impl FailedRepair {
    /// The belief as plans see it. The attempt has closed the machine.
    pub(super) fn belief(&self) -> BeliefState<'_> {
        BeliefState { sets: &self.left, weights: &self.weights, open: 0, seen: 0, done: None }
    }
}
