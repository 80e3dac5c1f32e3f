//! Which causes act together: the posterior over sets of causes, and over sets and results.
//!
//! For a set of causes `A` one propagation with every other part held harmless gives
//! `P(A acts and nothing else, and the findings)`, and with it, for every check that could come
//! next, `P(its result, A, and the findings)`. How badly `A` acts now depends on nothing but `A`, so
//! the parts need not be tied to it in the network ([`Scope::Given`](crate::job::Scope)): on the mower
//! that leaves a third to a half of the table entries. The empty set, all single causes and the likeliest
//! pairs are worked out like that, exactly; what is left over is known too, as one number.

use crate::inference::Evidence;
use crate::job::{Belief, Bench, Job, JobError, Outcome};
use crate::machine::model::{PartModel, PartState};
use crate::machine::{BypassId, CheckId, ConditionId, PartId, Severity};
use crate::network::VarId;
use crate::parallel;

/// Causes less likely than this are not looked at one by one, nor pairs that would be if the two had
/// nothing to do with each other.
const LEAST: f64 = 5e-4;
/// Pairs looked at one by one, at most.
const PAIRS: usize = 60;
/// Table entries gone through for all sets together, at most: about a second. Long jobs, whose tables
/// are large, have few sets that matter; what is left out shows in what is beyond.
const WORK: usize = 60_000_000;
/// Sets looked at side by side.
const LANES: usize = 8;
/// Sets looked at however large the tables are.
const FEWEST: usize = 16;

/// A set of causes as bits over the machine's conditions.
pub(super) type CauseSet = u128;

/// The bit of a condition.
pub(super) fn bit(condition: ConditionId) -> CauseSet {
    1 << condition.index()
}

/// The posterior over sets of causes, alone and with every result of every check.
pub(super) struct SetPosterior {
    pub(super) sets: Vec<CauseSet>,
    /// Probability of each set.
    pub(super) p: Vec<f64>,
    /// What is left over.
    pub(super) p_beyond: f64,
    /// By check that could come next: its results.
    pub(super) checks: Vec<(CheckId, Vec<ResultPosterior>)>,
    /// By set: chance of every worst severity.
    worst: Vec<[f64; 4]>,
    /// Joint probability of every worst severity and what is left over.
    worst_beyond: [f64; 4],
}

/// One result of a possible next step.
#[derive(Debug, Clone)]
pub(super) struct ResultPosterior {
    /// Probability of the result.
    pub(super) p: f64,
    /// Joint probability of the result and each set.
    pub(super) with_set: Vec<f64>,
    /// Joint probability of the result and what is left over.
    pub(super) beyond: f64,
}

impl SetPosterior {
    /// Puts it together: `now` is what is believed on the bench given the findings alone.
    ///
    /// # Errors
    /// None for a bench that looks ahead.
    pub(super) fn new(bench: &Bench, now: &Belief, looked_at: Vec<LookedAt>) -> Result<Self, JobError> {
        let ahead = bench.ahead()?;
        let log_p = now.log_p_evidence();
        let result = |p: &f64| ResultPosterior { p: *p, with_set: Vec::new(), beyond: *p };
        let results = |var: VarId| now.marginal(var).iter().map(result).collect();
        let mut posterior = SetPosterior {
            sets: Vec::new(),
            p: Vec::new(),
            p_beyond: 1.0,
            checks: ahead.checks.iter().map(|(check, var)| (*check, results(*var))).collect(),
            worst: Vec::new(),
            worst_beyond: four(now.marginal(ahead.worst)),
        };
        for (set, log_p_set, marginals) in looked_at {
            posterior.add(set, (log_p_set - log_p).exp(), &marginals);
        }
        Ok(posterior)
    }

    /// Adds a set of causes with its probability and the marginals given it: of every check ahead, then
    /// of the worst severity, one after the other.
    fn add(&mut self, set: CauseSet, p: f64, marginals: &[f64]) {
        self.sets.push(set);
        self.p.push(p);
        self.p_beyond = (self.p_beyond - p).max(0.0);
        let results = self.checks.iter_mut().flat_map(|(_, results)| results);
        let mut shares = marginals.iter();
        for (result, share) in results.zip(&mut shares) {
            result.with_set.push(p * share);
            result.beyond = (result.beyond - p * share).max(0.0);
        }
        let worst = four(&marginals[marginals.len() - Severity::ALL.len()..]);
        for (beyond, share) in self.worst_beyond.iter_mut().zip(worst) {
            *beyond = (*beyond - p * share).max(0.0);
        }
        self.worst.push(worst);
    }

    /// The outcomes of an attempt, plain or with a bypass.
    ///
    /// Exact where the bypass lifts all or nothing of a set. Where it lifts one of two causes, the
    /// severity of the other is taken as the description has it, and what is left over is taken as
    /// not lifted.
    pub(super) fn attempt(&self, job: &Job, bypass: Option<BypassId>) -> Vec<ResultPosterior> {
        let model = &job.machine.model;
        let law = &model.attempt_law;
        let (lifts, lift_law) = match bypass {
            Some(b) => {
                let bypass = &model.bypasses[b.index()];
                (bypass.lifts.iter().fold(0, |set, c| set | bit(*c)), bypass.law.as_ref())
            }
            None => (0, None),
        };
        let beyond = mix(law, &self.worst_beyond);
        let mut outcomes: Vec<ResultPosterior> =
            beyond.iter().map(|b| ResultPosterior { p: *b, with_set: Vec::new(), beyond: *b }).collect();
        for ((set, p), worst) in self.sets.iter().zip(&self.p).zip(&self.worst) {
            let chances = if set & lifts == 0 {
                mix(law, worst)
            } else if set & !lifts == 0 {
                // Nothing acts but what is lifted.
                lift_law.map_or(law[0], |law| mix(law, worst))
            } else {
                let left = job.machine.condition_ids().filter(|c| set & !lifts & bit(*c) != 0);
                mix(
                    law,
                    &left.map(|c| model.conditions[c.index()].severity).fold([1.0, 0.0, 0.0, 0.0], maximum),
                )
            };
            for (outcome, chance) in outcomes.iter_mut().zip(chances) {
                outcome.with_set.push(p * chance);
                outcome.p += p * chance;
            }
        }
        debug_assert_eq!(outcomes.len(), Outcome::ALL.len());
        outcomes
    }
}

/// A set of causes, the logarithm of its probability with the findings, and the marginals given both:
/// of every check ahead, then of the worst severity, one after the other.
pub(super) type LookedAt = (CauseSet, f64, Vec<f64>);

/// Looks at every set of causes worth it, on the bench for that ([`Bench::given`]). `p_cause` are the
/// chances of each condition to act.
///
/// # Errors
/// [`JobError::Impossible`] where findings exclude each other.
pub(super) fn look_at_sets(job: &Job, given: &Bench, p_cause: &[f64]) -> Result<Vec<LookedAt>, JobError> {
    let affordable = (WORK / given.tree.entries().max(1)).max(FEWEST);
    let mut sets: Vec<CauseSet> = worth_looking_at(job, p_cause).into_iter().take(affordable).collect();
    // Neighbours in the description are neighbours in the tree: from one chunk to the next less changes.
    sets.sort_unstable();
    let chunks: Vec<&[CauseSet]> = sets.chunks(LANES).collect();
    let runs = chunks.chunks(chunks.len().div_ceil(2 * parallel::pieces()).max(1)).collect();
    let looked_at = parallel::each(runs, |run| look_at(job, given, run));
    Ok(looked_at.into_iter().collect::<Result<Vec<_>, _>>()?.into_iter().flatten().collect())
}

/// Looks at the sets that are possible, chunk by chunk.
fn look_at(job: &Job, given: &Bench, chunks: &[&[CauseSet]]) -> Result<Vec<LookedAt>, JobError> {
    let tree = &given.tree;
    let ahead = given.ahead()?;
    let asked: Vec<VarId> = ahead.checks.iter().map(|(_, var)| *var).chain([ahead.worst]).collect();
    let targets = tree.targets(&asked);
    let mut work = tree.lanes::<LANES>();
    let states = |var: &VarId| tree.network().variable(*var).cardinality();
    let length = asked.iter().map(states).sum();
    let mut evidence: [Evidence; LANES] = std::array::from_fn(|_| Evidence::new());
    evidence.iter_mut().for_each(|e| set_only(e, job, given, 0, |_| true));
    let mut looked_at = Vec::new();
    for sets in chunks {
        let in_some = |part: &PartModel, set: CauseSet| part.states.iter().any(|s| in_set(*s, set));
        for (evidence, set) in evidence.iter_mut().zip(*sets) {
            set_only(evidence, job, given, *set, |part| in_some(part, *set));
        }
        let questions: [&Evidence; LANES] = std::array::from_fn(|lane| &evidence[lane]);
        let possible = tree.propagate_lanes(&mut work, &questions[..sets.len()], Some(&targets));
        for (lane, set) in sets.iter().enumerate().filter(|(lane, _)| possible[*lane]) {
            let mut marginals = Vec::with_capacity(length);
            asked.iter().for_each(|var| tree.read_marginal(&work, lane, *var, &mut marginals));
            looked_at.push((*set, tree.log_p_evidence_in(&work, lane), marginals));
        }
        for (evidence, set) in evidence.iter_mut().zip(*sets) {
            set_only(evidence, job, given, 0, |part| in_some(part, *set));
        }
    }
    Ok(looked_at)
}

/// The empty set, single causes and pairs, likeliest first.
fn worth_looking_at(job: &Job, p_cause: &[f64]) -> Vec<CauseSet> {
    let machine = job.machine;
    let mut likely: Vec<ConditionId> =
        machine.condition_ids().filter(|c| p_cause[c.index()] > LEAST).collect();
    likely.sort_by(|a, b| p_cause[b.index()].total_cmp(&p_cause[a.index()]).then(a.cmp(b)));
    let mut pairs: Vec<(f64, CauseSet)> = Vec::new();
    for (i, a) in likely.iter().enumerate() {
        for b in &likely[i + 1..] {
            let together = p_cause[a.index()] * p_cause[b.index()];
            if together > LEAST && machine.part_of(*a) != machine.part_of(*b) {
                pairs.push((together, bit(*a) | bit(*b)));
            }
        }
    }
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let singles = likely.iter().map(|c| bit(*c));
    [0].into_iter().chain(singles).chain(pairs.into_iter().take(PAIRS).map(|(_, pair)| pair)).collect()
}

/// Evidence that exactly these causes act, set for some parts; for the others it stays as it is.
fn set_only(
    evidence: &mut Evidence,
    job: &Job,
    bench: &Bench,
    set: CauseSet,
    of: impl Fn(&PartModel) -> bool,
) {
    for (i, part) in job.machine.model.parts.iter().enumerate().filter(|(_, part)| of(part)) {
        let chosen = part.states.iter().any(|s| in_set(*s, set));
        let allowed = |s: &PartState| if chosen { in_set(*s, set) } else { !s.acts() };
        let mask = part.states.iter().map(|s| f64::from(u8::from(allowed(s)))).collect();
        evidence.set(bench.now(PartId::new(i)), mask);
    }
    for acting in bench.ahead.iter().flat_map(|a| &a.acting) {
        let severities = acting.conditions.iter().filter(|c| set & bit(**c) != 0);
        let worst = severities.map(|c| job.machine.model.conditions[c.index()].severity);
        let worst = worst.fold([1.0, 0.0, 0.0, 0.0], maximum);
        // Over the even odds that it has in the network.
        evidence.set(acting.var, worst.iter().map(|p| p * worst.len() as f64).collect());
    }
}

/// Whether a state is one of these causes, acting.
fn in_set(state: PartState, set: CauseSet) -> bool {
    state.acts() && state.condition().is_some_and(|c| set & bit(c) != 0)
}

/// Chances of the outcomes under a law, by the worst severity that acts.
fn mix(law: &[[f64; 4]; 4], worst: &[f64; 4]) -> [f64; 4] {
    std::array::from_fn(|outcome| law.iter().zip(worst).map(|(row, w)| row[outcome] * w).sum())
}

/// Law of the worse of two independent severities.
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
