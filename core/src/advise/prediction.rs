//! Exact figures of the steps that people see: chances of results, the odds after them, and information.
//!
//! The values of candidates rest on sets of causes, of which some are drawn at random (`sets.rs`). The figures here rest
//! on no drawn set. One propagation of the findings gives the chances of all results of all observations. One more
//! propagation for each result of a leading observation gives the odds after it. One for each repair gives the chance
//! that nothing stops the engine after it.

use super::candidate::CauseChance;
use super::context::RankingContext;
use super::sets::SetPosterior;
use crate::job::{Action, FindingsNetwork, Job, PredictionNetwork, StepEffects};
use crate::machine::{ConditionId, PartId, RepairId};
use halfsplit_bayes::support::order::largest;
use halfsplit_bayes::support::parallel;
use halfsplit_bayes::{Evidence, VarId};

/// Number of results or repairs propagated together.
const LANES: usize = 8;
/// Information below this, in bits, is rounding error.
const ROUNDED_BITS: f64 = 1e-12;
/// The odds after a result with a smaller chance are not computed.
const IMPOSSIBLE: f64 = 1e-12;

/// The exact figures of the possible next steps of a job.
#[derive(Debug)]
pub(super) struct Predictions {
    observations: Vec<(Action, ObservationPrediction)>,
    repairs: Vec<(RepairId, RepairPrediction)>,
}

/// The exact figures of an observation.
#[derive(Debug)]
pub(super) struct ObservationPrediction {
    /// By result: its chance.
    pub(super) p: Vec<f64>,
    /// By result: the most likely cause after the step; none where the engine runs. Empty where it is not computed.
    pub(super) leaders: Vec<Option<CauseChance>>,
    /// Mutual information between the result and the set of causes that acts, in bits. All sets that were not evaluated
    /// count as one, so it is a lower bound of the information about all sets.
    pub(super) information_bits: f64,
}

/// The exact figures of a repair.
#[derive(Debug)]
pub(super) struct RepairPrediction {
    /// Chance that nothing stops the engine after the repair.
    pub(super) p_runs: f64,
    /// The most likely cause after the repair if something still stops the engine.
    pub(super) leader: Option<CauseChance>,
}

impl Predictions {
    /// The figures of all actions of a context. `leading` are the observations whose results get the odds after them.
    pub(super) fn new(
        job: &Job,
        bench: &FindingsNetwork,
        log_p: f64,
        networks: &[PredictionNetwork],
        context: &RankingContext,
        leading: &[Action],
    ) -> Self {
        let mut observations = Vec::new();
        for network in networks {
            let chances = result_chances(network);
            let mut leaders = leaders(job, network, &chances, leading);
            for (at, ((action, _), p)) in network.leaves.iter().zip(chances).enumerate() {
                let information_bits = information(job, context, action, &p);
                let leaders = std::mem::take(&mut leaders[at]);
                observations.push((action.clone(), ObservationPrediction { p, leaders, information_bits }));
            }
        }
        Predictions { observations, repairs: repairs(job, bench, log_p, &context.actions) }
    }

    /// The figures of an observation.
    pub(super) fn observation(&self, action: &Action) -> Option<&ObservationPrediction> {
        self.observations.iter().find(|(of, _)| of == action).map(|(_, prediction)| prediction)
    }

    /// The figures of a repair.
    pub(super) fn repair(&self, repair: RepairId) -> Option<&RepairPrediction> {
        self.repairs.iter().find(|(of, _)| *of == repair).map(|(_, prediction)| prediction)
    }
}

/// By observation of a network: the chances of its results.
fn result_chances(network: &PredictionNetwork) -> Vec<Vec<f64>> {
    let tree = &network.tree;
    let leaves: Vec<VarId> = network.leaves.iter().map(|(_, leaf)| *leaf).collect();
    let mut work = tree.lane_workspace::<1>();
    tree.propagate_lanes(&mut work, &[&Evidence::new()], Some(&tree.targets(&leaves)));
    leaves.iter().map(|leaf| tree.lane_marginal(&work, 0, *leaf)).collect()
}

/// By observation of a network, and by result: the most likely cause after it. Observations that do not lead have none.
fn leaders(
    job: &Job,
    network: &PredictionNetwork,
    chances: &[Vec<f64>],
    leading: &[Action],
) -> Vec<Vec<Option<CauseChance>>> {
    let mut all: Vec<Vec<Option<CauseChance>>> = vec![Vec::new(); network.leaves.len()];
    let mut questions: Vec<(usize, usize)> = Vec::new();
    for (at, (action, _)) in network.leaves.iter().enumerate().filter(|(_, (a, _))| leading.contains(a)) {
        all[at] = vec![None; chances[at].len()];
        let first = usize::from(*action == Action::PLAIN_ATTEMPT);
        questions
            .extend((first..chances[at].len()).filter(|r| chances[at][*r] > IMPOSSIBLE).map(|r| (at, r)));
    }
    let tree = &network.tree;
    let now: Vec<VarId> = job.machine.model.parts.keys().map(|part| network.variables.now(part)).collect();
    let targets = tree.targets(&now);
    let answer = |some: &[(usize, usize)]| {
        let mut work = tree.lane_workspace::<LANES>();
        let evidence: Vec<Evidence> = some
            .iter()
            .map(|(at, result)| {
                let mut evidence = Evidence::new();
                evidence.set_state(network.leaves[*at].1, *result, chances[*at].len());
                evidence
            })
            .collect();
        let possible = tree.propagate_lanes(&mut work, &evidence.iter().collect::<Vec<_>>(), Some(&targets));
        let leader = |(lane, (at, result)): (usize, &(usize, usize))| {
            let after = job.followed_by(&network.leaves[*at].0, *result);
            let marginal = |part: PartId| tree.lane_marginal(&work, lane, now[part.index()]);
            let leader = if possible[lane] { most_likely(&chances_after(&after, marginal)) } else { None };
            (*at, *result, leader)
        };
        some.iter().enumerate().map(leader).collect::<Vec<_>>()
    };
    for (at, result, leader) in
        parallel::each(questions.chunks(LANES).collect(), answer).into_iter().flatten()
    {
        all[at][result] = leader;
    }
    all
}

/// By condition: the chance that it acts after the last step of a job, from the marginals of the parts before it.
fn chances_after(job: &Job, marginal: impl Fn(PartId) -> Vec<f64>) -> Vec<f64> {
    let effects = StepEffects::of(job);
    let last = job.steps.len() - 1;
    let mut chances = vec![0.0; job.machine.condition_count()];
    for (part, model) in job.machine.model.parts.iter_enumerated() {
        let before = marginal(part);
        let after = match effects.on(job, last, part) {
            Some(rows) => (0..before.len())
                .map(|state| before.iter().zip(&rows).map(|(p, row)| p * row[state]).sum())
                .collect(),
            None => before,
        };
        for (state, p) in model.states.iter().zip(&after).filter(|(state, _)| state.acts()) {
            if let Some(condition) = state.condition() {
                chances[condition.index()] += p;
            }
        }
    }
    chances
}

/// The condition with the largest chance; none where all are impossible.
fn most_likely(chances: &[f64]) -> Option<CauseChance> {
    let best = largest(chances.iter().copied())?;
    (chances[best] > 0.0).then(|| CauseChance { condition: ConditionId::new(best), p: chances[best] })
}

/// The figures of the repairs among some actions.
fn repairs(
    job: &Job,
    bench: &FindingsNetwork,
    log_p: f64,
    actions: &[Action],
) -> Vec<(RepairId, RepairPrediction)> {
    let all: Vec<RepairId> = actions
        .iter()
        .filter_map(|action| match action {
            Action::Repair(repair) => Some(*repair),
            Action::Check(_) | Action::Attempt(_) => None,
        })
        .collect();
    let tree = &bench.tree;
    let parts = job.machine.model.parts.keys();
    let now: Vec<VarId> = parts.map(|part| bench.variables.now(part)).collect();
    let mut work = tree.lane_workspace::<1>();
    tree.propagate_lanes(&mut work, &[&bench.open_evidence], Some(&tree.targets(&now)));
    let marginals: Vec<Vec<f64>> = now.iter().map(|var| tree.lane_marginal(&work, 0, *var)).collect();
    let answer = |some: &[RepairId]| {
        let after: Vec<Job> =
            some.iter().map(|repair| job.followed_by(&Action::Repair(*repair), 0)).collect();
        let evidence: Vec<Evidence> = after.iter().map(|after| nothing_acts(after, bench)).collect();
        let mut work = tree.lane_workspace::<LANES>();
        tree.propagate_lanes(&mut work, &evidence.iter().collect::<Vec<_>>(), Some(&tree.targets(&now[..1])));
        let figures = |(lane, (repair, after)): (usize, (&RepairId, &Job))| {
            let p_runs = (tree.lane_log_p_evidence(&work, lane) - log_p).exp().min(1.0);
            let left = 1.0 - p_runs;
            let mut chances = chances_after(after, |part| marginals[part.index()].clone());
            chances.iter_mut().for_each(|p| *p /= left);
            let leader = if left > IMPOSSIBLE { most_likely(&chances) } else { None };
            (*repair, RepairPrediction { p_runs, leader })
        };
        some.iter().zip(&after).enumerate().map(figures).collect::<Vec<_>>()
    };
    parallel::each(all.chunks(LANES).collect(), answer).into_iter().flatten().collect()
}

/// The findings, and the evidence that nothing acts after the last step of a job: by part, the chance of that from each
/// state before the step.
fn nothing_acts(after: &Job, bench: &FindingsNetwork) -> Evidence {
    let effects = StepEffects::of(after);
    let last = after.steps.len() - 1;
    let mut evidence = bench.open_evidence.clone();
    for (part, model) in after.machine.model.parts.iter_enumerated() {
        let calm: Vec<f64> = model.states.iter().map(|s| f64::from(u8::from(!s.acts()))).collect();
        let likelihood = match effects.on(after, last, part) {
            Some(rows) => rows
                .iter()
                .map(|row| row.iter().zip(&calm).map(|(p, c)| p * c).sum::<f64>().min(1.0))
                .collect(),
            None => calm,
        };
        evidence.insert(bench.variables.now(part), likelihood);
    }
    evidence
}

/// Mutual information between the result of an observation with these chances and the set of causes that acts, in bits.
/// All sets that were not evaluated, or whose chances with the results are not exact, count as one.
fn information(job: &Job, context: &RankingContext, action: &Action, p: &[f64]) -> f64 {
    let Some(observation) = context.observations.iter().find(|o| o.action == *action) else { return 0.0 };
    let SetPosterior { sets, p: weights, chances, .. } = &context.posterior;
    let mut others = p.to_vec();
    let mut bits = 0.0;
    let mut add = |joint: &[f64]| {
        let p_set: f64 = joint.iter().sum();
        for (joint, p) in joint.iter().zip(p).filter(|(joint, p)| **joint > 0.0 && **p > 0.0) {
            bits += joint * (joint / (p * p_set)).log2();
        }
    };
    for (at, set) in sets.iter().enumerate() {
        if weights[at] <= 0.0 || !SetPosterior::is_exact(job, action.bypasses(), *set) {
            continue;
        }
        let joint: Vec<f64> =
            observation.results.iter().map(|r| chances[at] * r.with_set[at] / weights[at]).collect();
        others.iter_mut().zip(&joint).for_each(|(other, joint)| *other = (*other - joint).max(0.0));
        add(&joint);
    }
    add(&others);
    if bits > ROUNDED_BITS { bits } else { 0.0 }
}
