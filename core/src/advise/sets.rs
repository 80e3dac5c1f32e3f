//! The posterior over sets of causes that act together, and over sets and results of checks.
//!
//! For a set of causes `A`, one propagation with every other part held harmless gives
//! `P(A acts and nothing else, and the findings)`. For every check that could come next, it also gives
//! `P(its result, A, and the findings)`. The severity with which `A` acts now depends on `A` alone, so the
//! parts need no link to it in the network ([`LookaheadNetwork`]). On the mower, that leaves a tenth of the
//! table entries. The empty set, all single causes and the most likely pairs are evaluated in this way,
//! exactly.
//!
//! A machine that was stored for long has many conditions, and the remaining sets may have most of the
//! probability. They are too many to enumerate, so some of them are drawn at random: each part by its own
//! odds, with the weight `P(set) / P(set is drawn)` (importance sampling). Every drawn set is evaluated
//! exactly too. Its weight includes a share of the sets that were not drawn.

use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng as _, SeedableRng as _};

use crate::job::{Job, JobError, LookaheadNetwork, Outcome};
use crate::machine::model::{PartModel, PartState, Role, worse};
use crate::machine::resolve::MAX_CONDITIONS;
use crate::machine::{BypassId, CheckId, ConditionId, PartId, Severity};
use halfsplit_bayes::Evidence;
use halfsplit_bayes::VarId;
use halfsplit_bayes::support::order::largest_first;
use halfsplit_bayes::support::parallel;

/// Causes less likely than this are not evaluated one by one. Drawn sets represent them.
const LEAST: f64 = 2e-3;
/// Pairs less likely than this, if their causes were independent, are not evaluated one by one.
const LEAST_PAIR: f64 = 5e-4;
/// Limit on the pairs evaluated one by one.
const PAIRS: usize = 30;
/// Sets drawn if all probability remains; otherwise its share of this number.
const DRAWN: f64 = 64.0;
/// If less probability than this remains, no sets are drawn.
const NOT_WORTH_DRAWING: f64 = 0.005;
/// Limit on the causes in a drawn set. Plans need every subset of a set.
const MOST_CAUSES: u32 = 8;
/// Seed of the draws, so that the same job draws the same sets.
const SEED: u64 = 1;
/// Limit on the table entries visited for all sets together: about one second of work. The rest of the
/// probability shows in `unenumerated_mass`.
const WORK: usize = 60_000_000;
/// Number of sets propagated together.
const LANES: usize = 8;
/// Number of sets that are evaluated however large the tables are.
const FEWEST: usize = 16;

/// A set of causes as bits over the machine's conditions.
pub(super) type CauseSet = u128;

const _: () = assert!(MAX_CONDITIONS <= CauseSet::BITS as usize);

/// The bit of a condition.
pub(super) fn bit(condition: ConditionId) -> CauseSet {
    1 << condition.index()
}

/// The posterior over sets of causes, alone and with every result of every check.
#[derive(Debug)]
pub(super) struct SetPosterior {
    pub(super) sets: Vec<CauseSet>,
    /// Weight of each set: its probability, and for a set that was drawn its share of `unenumerated_mass`. The
    /// weights sum to 1.
    pub(super) p: Vec<f64>,
    /// Exact probability of each set, without the share of others.
    pub(super) chances: Vec<f64>,
    /// Probability that nothing acts.
    pub(super) p_none: f64,
    /// Probability of all sets that were not evaluated one by one.
    pub(super) unenumerated_mass: f64,
    /// The checks that could come next, with their results.
    pub(super) checks: Vec<(CheckId, Vec<ResultPosterior>)>,
    /// By set: distribution of the worst severity.
    worst: Vec<[f64; 4]>,
}

/// One result of a possible next step.
#[derive(Debug, Clone, Default)]
pub(super) struct ResultPosterior {
    /// Probability of the result.
    pub(super) p: f64,
    /// Joint probability of the result and each set.
    pub(super) with_set: Vec<f64>,
}

impl ResultPosterior {
    fn push(&mut self, joint: f64) {
        self.p += joint;
        self.with_set.push(joint);
    }
}

impl SetPosterior {
    /// Computes the posterior on the networks of [`LookaheadNetwork::all`]. `p_cause` are the chances of the
    /// conditions to act, and `log_p` is the logarithm of the probability of the findings.
    ///
    /// # Errors
    /// None for networks of this job.
    pub(super) fn new(
        job: &Job,
        given: &[LookaheadNetwork],
        p_cause: &[f64],
        log_p: f64,
    ) -> Result<Self, JobError> {
        let entries: usize = given.iter().map(|bench| bench.tree.entries()).sum();
        let affordable = (WORK / entries.max(1)).max(FEWEST);
        let mut listed = sets_worth_evaluating(job, p_cause);
        listed.truncate(affordable);
        let p = |found: &EvaluatedSet| (found.log_p - log_p).exp();
        let found = evaluate_sets(job, given, listed.clone())?;
        let beyond = (1.0 - found.iter().map(p).sum::<f64>()).max(0.0);
        let mut drawn = Vec::new();
        if beyond > NOT_WORTH_DRAWING {
            let wanted = ((beyond * DRAWN) as usize / LANES + 1) * LANES;
            drawn = draw(job, p_cause, &listed, wanted.min(affordable));
        }
        let of_drawn = evaluate_sets(job, given, drawn.iter().map(|d| d.set).collect())?;
        let unenumerated_mass = (beyond - of_drawn.iter().map(p).sum::<f64>()).max(0.0);
        // The share of the remaining probability of each set, proportional to P(set) / P(set is drawn).
        let over = |found: &EvaluatedSet| {
            let times = drawn.iter().find(|d| d.set == found.set).map_or(0.0, |d| d.times_over_chance);
            times * p(found)
        };
        let all_over: f64 = of_drawn.iter().map(over).sum();
        let stands_for = |found: &EvaluatedSet| {
            if all_over > 0.0 { unenumerated_mass * over(found) / all_over } else { 0.0 }
        };
        let mut checks = Vec::new();
        for bench in given {
            for (check, var) in &bench.checks {
                let results = bench.tree.network().variable(*var).cardinality();
                checks.push((*check, vec![ResultPosterior::default(); results]));
            }
        }
        let mut posterior = SetPosterior {
            sets: Vec::new(),
            p: Vec::new(),
            chances: Vec::new(),
            p_none: found.iter().find(|f| f.set == 0).map_or(0.0, p),
            unenumerated_mass,
            checks,
            worst: Vec::new(),
        };
        let weights: Vec<f64> =
            found.iter().map(p).chain(of_drawn.iter().map(|found| p(found) + stands_for(found))).collect();
        // Corrects rounding, and the remaining probability where nothing could be drawn.
        let total: f64 = weights.iter().sum();
        for (found, weight) in found.iter().chain(&of_drawn).zip(weights) {
            posterior.add(found, p(found), weight / total);
        }
        Ok(posterior)
    }

    /// Adds a set of causes with its probability and its weight.
    fn add(&mut self, found: &EvaluatedSet, chance: f64, weight: f64) {
        self.sets.push(found.set);
        self.chances.push(chance);
        self.p.push(weight);
        let results = self.checks.iter_mut().flat_map(|(_, results)| results);
        for (result, share) in results.zip(&found.marginals) {
            result.push(weight * share);
        }
        self.worst.push(found.worst);
    }

    /// Whether the results of a check, or of an attempt with these bypasses, are exact given this set: the bypasses
    /// must treat all its causes alike.
    pub(super) fn is_exact(job: &Job, bypasses: &[BypassId], set: CauseSet) -> bool {
        let causes = job.machine.condition_ids().filter(|c| set & bit(*c) != 0);
        let mut roles = causes.map(|c| job.machine.model.role(bypasses, c));
        bypasses.is_empty() || roles.next().is_none_or(|first| roles.all(|role| role == first))
    }

    /// The outcomes of a start attempt, plain or with bypasses in the order of the description.
    ///
    /// If the bypasses lift some causes of a set, the severity of the others follows the description.
    pub(super) fn attempt(&self, job: &Job, bypasses: &[BypassId]) -> Vec<ResultPosterior> {
        let model = &job.machine.model;
        let law = &model.attempt_law;
        let mut lifts = 0;
        let mut apart: Vec<((BypassId, usize), CauseSet)> = Vec::new();
        for condition in job.machine.condition_ids() {
            match model.role(bypasses, condition) {
                Role::Acts => {}
                Role::Lifted => lifts |= bit(condition),
                Role::Apart(bypass, group) => match apart.iter_mut().find(|(of, _)| *of == (bypass, group)) {
                    Some((_, set)) => *set |= bit(condition),
                    None => apart.push(((bypass, group), bit(condition))),
                },
            }
        }
        let as_if_sound = [law[0]; 4];
        let lift_law = (!bypasses.is_empty()).then(|| model.lift_law(bypasses).unwrap_or(&as_if_sound));
        let apart_at_all = apart.iter().fold(0, |all, (_, group)| all | group);
        let mut outcomes = vec![ResultPosterior::default(); Outcome::ALL.len()];
        for ((set, p), worst) in self.sets.iter().zip(&self.p).zip(&self.worst) {
            let acts = set & !lifts & !apart_at_all;
            // The severity of a subset follows the description; that of the whole set is known.
            let severity = |some: CauseSet| -> [f64; 4] {
                if some == *set {
                    return *worst;
                }
                let some = job.machine.condition_ids().filter(|c| some & bit(*c) != 0);
                some.map(|c| model.conditions[c].severity).fold([1.0, 0.0, 0.0, 0.0], maximum)
            };
            // Lifted causes show only where nothing else acts. Of the others the worst shows.
            let main = match lift_law {
                _ if acts != 0 => Some(mix(law, &severity(acts))),
                Some(law) if set & lifts != 0 => Some(mix(law, &severity(set & lifts))),
                _ => None,
            };
            let apart = apart.iter().filter(|(_, group)| set & group != 0).map(|((bypass, law), group)| {
                mix(&model.bypasses[*bypass].apart[*law].1, &severity(set & group))
            });
            let nothing_acts = lift_law.unwrap_or(&as_if_sound)[0];
            let chances = main.into_iter().chain(apart).reduce(|a, b| worse(&a, &b)).unwrap_or(nothing_acts);
            for (outcome, chance) in outcomes.iter_mut().zip(chances) {
                outcome.push(p * chance);
            }
        }
        outcomes
    }
}

/// A set of causes with the results of its evaluation.
struct EvaluatedSet {
    set: CauseSet,
    /// Logarithm of its probability together with the findings.
    log_p: f64,
    /// Marginals of every check given both, one after the other.
    marginals: Vec<f64>,
    /// Distribution of the worst severity given both.
    worst: [f64; 4],
}

/// A set that was drawn.
struct SampledSet {
    set: CauseSet,
    /// Number of times that it was drawn, divided by the chance of drawing it.
    times_over_chance: f64,
}

/// Draws sets that are not listed, each part by its own odds.
fn draw(job: &Job, p_cause: &[f64], listed: &[CauseSet], wanted: usize) -> Vec<SampledSet> {
    let mut parts: Vec<Vec<ConditionId>> = vec![Vec::new(); job.machine.file().parts.len()];
    for condition in job.machine.condition_ids() {
        parts[job.machine.part_of(condition).index()].push(condition);
    }
    let mut chance_of = Pcg64Mcg::seed_from_u64(SEED);
    let mut uniform = || (chance_of.next_u64() >> 11) as f64 / (1_u64 << 53) as f64;
    let mut drawn: Vec<SampledSet> = Vec::new();
    // A set may be drawn again, and most draws may be listed already.
    for _ in 0..wanted * 16 {
        if drawn.len() == wanted {
            break;
        }
        let (mut set, mut chance) = (0, 1.0);
        for conditions in &parts {
            let mut left = uniform();
            let hit = conditions.iter().find(|c| {
                left -= p_cause[c.index()];
                left < 0.0
            });
            set |= hit.map_or(0, |c| bit(*c));
            chance *= match hit {
                Some(c) => p_cause[c.index()],
                None => 1.0 - conditions.iter().map(|c| p_cause[c.index()]).sum::<f64>(),
            };
        }
        if listed.contains(&set) || set.count_ones() > MOST_CAUSES || chance <= 0.0 {
            continue;
        }
        match drawn.iter_mut().find(|d| d.set == set) {
            Some(again) => again.times_over_chance += 1.0 / chance,
            None => drawn.push(SampledSet { set, times_over_chance: 1.0 / chance }),
        }
    }
    drawn
}

/// Evaluates the sets of causes that are possible.
fn evaluate_sets(
    job: &Job,
    given: &[LookaheadNetwork],
    mut sets: Vec<CauseSet>,
) -> Result<Vec<EvaluatedSet>, JobError> {
    // Neighbours in the description are neighbours in the tree, so less changes from one chunk to the next.
    sets.sort_unstable();
    let chunks: Vec<&[CauseSet]> = sets.chunks(LANES).collect();
    let long = chunks.len().div_ceil(2 * parallel::pieces()).max(1);
    let runs: Vec<(&LookaheadNetwork, &[&[CauseSet]])> =
        given.iter().flat_map(|bench| chunks.chunks(long).map(move |run| (bench, run))).collect();
    let evaluated = parallel::each(runs, |(bench, run)| evaluate(job, bench, run));
    let mut all: Vec<EvaluatedSet> = Vec::new();
    for found in evaluated.into_iter().collect::<Result<Vec<_>, _>>()?.into_iter().flatten() {
        // Every network has the same sets, and adds its own checks.
        match all.binary_search_by(|known| known.set.cmp(&found.set)) {
            Ok(at) => all[at].marginals.extend(found.marginals),
            Err(at) => all.insert(at, found),
        }
    }
    // By rounding a nearly impossible set may be impossible on one network only.
    let whole = all.iter().map(|found| found.marginals.len()).max();
    all.retain(|found| Some(found.marginals.len()) == whole);
    Ok(all)
}

/// Evaluates the possible sets on one network, chunk by chunk.
fn evaluate(
    job: &Job,
    given: &LookaheadNetwork,
    chunks: &[&[CauseSet]],
) -> Result<Vec<EvaluatedSet>, JobError> {
    let tree = &given.tree;
    let asked: Vec<VarId> = given.checks.iter().map(|(_, var)| *var).chain([given.worst]).collect();
    let targets = tree.targets(&asked);
    let mut work = tree.lane_workspace::<LANES>();
    let states = |var: &VarId| tree.network().variable(*var).cardinality();
    let length = asked.iter().map(states).sum();
    let mut evidence: [Evidence; LANES] = std::array::from_fn(|_| Evidence::new());
    evidence.iter_mut().for_each(|e| set_only(e, job, given, 0, |_| true));
    let mut evaluated = Vec::new();
    for sets in chunks {
        let in_some = |part: &PartModel, set: CauseSet| part.states.iter().any(|s| in_set(*s, set));
        for (evidence, set) in evidence.iter_mut().zip(*sets) {
            set_only(evidence, job, given, *set, |part| in_some(part, *set));
        }
        let questions: [&Evidence; LANES] = std::array::from_fn(|lane| &evidence[lane]);
        let possible = tree.propagate_lanes(&mut work, &questions[..sets.len()], Some(&targets));
        for (lane, set) in sets.iter().enumerate().filter(|(lane, _)| possible[*lane]) {
            let mut marginals = Vec::with_capacity(length);
            asked.iter().for_each(|var| tree.append_lane_marginal(&work, lane, *var, &mut marginals));
            let worst = four(&marginals.split_off(marginals.len() - Severity::ALL.len()));
            evaluated.push(EvaluatedSet {
                set: *set,
                log_p: tree.lane_log_p_evidence(&work, lane),
                marginals,
                worst,
            });
        }
        for (evidence, set) in evidence.iter_mut().zip(*sets) {
            set_only(evidence, job, given, 0, |part| in_some(part, *set));
        }
    }
    Ok(evaluated)
}

/// The empty set, single causes and pairs, the most likely first.
fn sets_worth_evaluating(job: &Job, p_cause: &[f64]) -> Vec<CauseSet> {
    let machine = job.machine;
    let likely: Vec<ConditionId> = machine.condition_ids().filter(|c| p_cause[c.index()] > LEAST).collect();
    let likely = largest_first(likely, |c| p_cause[c.index()]);
    let mut pairs: Vec<(f64, CauseSet)> = Vec::new();
    for (i, a) in likely.iter().enumerate() {
        for b in &likely[i + 1..] {
            let together = p_cause[a.index()] * p_cause[b.index()];
            if together > LEAST_PAIR && machine.part_of(*a) != machine.part_of(*b) {
                pairs.push((together, bit(*a) | bit(*b)));
            }
        }
    }
    let pairs = largest_first(pairs, |(together, _)| *together);
    let singles = likely.iter().map(|c| bit(*c));
    [0].into_iter().chain(singles).chain(pairs.into_iter().take(PAIRS).map(|(_, pair)| pair)).collect()
}

/// Sets the evidence that exactly these causes act, for some of the parts.
fn set_only(
    evidence: &mut Evidence,
    job: &Job,
    bench: &LookaheadNetwork,
    set: CauseSet,
    of: impl Fn(&PartModel) -> bool,
) {
    for (i, part) in job.machine.model.parts.iter().enumerate().filter(|(_, part)| of(part)) {
        let chosen = part.states.iter().any(|s| in_set(*s, set));
        let allowed = |s: &PartState| if chosen { in_set(*s, set) } else { !s.acts() };
        let mask = part.states.iter().map(|s| f64::from(u8::from(allowed(s)))).collect();
        evidence.insert(bench.variables.now(PartId::new(i)), mask);
    }
    for acting in &bench.acting {
        let severities = acting.conditions.iter().filter(|c| set & bit(**c) != 0);
        let worst = severities.map(|c| job.machine.model.conditions[*c].severity);
        let worst = worst.fold([1.0, 0.0, 0.0, 0.0], maximum);
        // The variable has a uniform prior in the network.
        evidence.insert(acting.var, worst.iter().map(|p| p * worst.len() as f64).collect());
    }
}

/// Whether a state is one of these causes, acting.
fn in_set(state: PartState, set: CauseSet) -> bool {
    state.acts() && state.condition().is_some_and(|c| set & bit(c) != 0)
}

/// Distribution of the outcomes under a law, given the distribution of the worst severity.
fn mix(law: &[[f64; 4]; 4], worst: &[f64; 4]) -> [f64; 4] {
    std::array::from_fn(|outcome| law.iter().zip(worst).map(|(row, w)| row[outcome] * w).sum())
}

/// Distribution of the worse of two independent severities.
fn maximum(a: [f64; 4], b: [f64; 4]) -> [f64; 4] {
    let up_to = |p: &[f64; 4], s: usize| p[..=s].iter().sum::<f64>();
    std::array::from_fn(|s| {
        let below = if s == 0 { 0.0 } else { up_to(&a, s - 1) * up_to(&b, s - 1) };
        up_to(&a, s) * up_to(&b, s) - below
    })
}

fn four(p: &[f64]) -> [f64; 4] {
    std::array::from_fn(|i| p.get(i).copied().unwrap_or(0.0))
}
