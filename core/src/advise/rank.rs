//! The ranking: one observation ahead.
//!
//! Two kinds of future are priced, each with one observation in it. *Observe now*: the step's cost,
//! and the mean over its results of what the repair plan costs then (the expected value of sample
//! information, Raiffa and Schlaifer 1961). *Repair now*: the repair's cost, and where the engine does
//! not run after it, the better of going on by the plan and of making the best observation then. A
//! repair that may only be followed by repairs would look dearer than it is.
//!
//! All of it is exact on the sets of causes looked at one by one, but for one thing: what an
//! observation will show after a repair that did not help is taken from what it would show now,
//! given the same causes.

use std::borrow::Borrow;

use super::answer::{Estimate, Leader, ResultOutlook, StepAdvice, StepKind};
use super::estimate;
use super::plan::{self, End, Prices, Sets};
use super::sets::{CauseSet, ResultPosterior, SetPosterior};
use super::steps::{self, Action};
use super::why;
use crate::job::{Job, Outcome};
use crate::order::largest_first;
use crate::parallel;
use crate::precision::TIE;

/// Repairs, and observations after them, that are looked at more closely; the rest of both lists is
/// further from the lead than the closer look ever moves anything.
const REPAIRS_CLOSER: usize = 8;
const OBSERVATIONS_CLOSER: usize = 12;

/// Everything that is offered, ranked.
pub(super) struct Ranking {
    /// The steps, and handing over, best first.
    pub(super) steps: Vec<StepAdvice>,
    /// What it may take, beginning with the first of them.
    pub(super) estimate: Estimate,
}

/// Rates and ranks what can be done.
pub(super) struct Ranker<'a> {
    job: &'a Job<'a>,
    prices: Prices,
    sets: &'a SetPosterior,
    /// The same sets, for plans.
    as_they_are: Sets,
    /// By set-up work: whether it is open.
    open: Vec<bool>,
}

/// An action with what has been worked out about it.
struct Rated {
    action: Action,
    step: StepAdvice,
    /// For observations.
    results: Vec<ResultPosterior>,
    /// For repairs.
    failed: Option<Failed>,
}

/// What is left after a repair that did not get it running.
struct Failed {
    /// By set of causes before the repair: what of it is left.
    left: Sets,
    /// By set: chance that the repair does not get it running.
    fails: Vec<f64>,
    /// Chance of each set, and that the repair does not get it running.
    weights: Vec<f64>,
    /// Chance that the repair does not get the engine running, whatever is wrong.
    chance: f64,
    /// Expected cost of everything then, times that chance.
    rest: f64,
    /// The observation to be made then, by its place; none where repairing on by the plan is cheaper.
    then: Option<usize>,
}

impl<'a> Ranker<'a> {
    pub(super) fn new(job: &'a Job<'a>, prices: Prices, sets: &'a SetPosterior) -> Self {
        let as_they_are = Sets::new(sets.sets.clone());
        Ranker { job, prices, sets, as_they_are, open: steps::open_setups(job) }
    }

    /// Expected cost of repairing by the odds alone, with nothing looked at any more.
    pub(super) fn plan_cost(&self) -> f64 {
        self.value(&self.as_they_are, &self.sets.p)
    }

    /// Everything that is offered, and handing over, best first.
    pub(super) fn rank(&self, offered: &[Action]) -> Ranking {
        let rated =
            parallel::each(offered.to_vec(), |action| self.rate(action)).into_iter().flatten().collect();
        let mut rated = largest_first(rated, |r: &Rated| -r.step.expected_cost);
        let after: Vec<usize> = (0..rated.len())
            .filter(|i| matches!(rated[*i].action, Action::Check(_) | Action::Attempt(Some(_))))
            .take(OBSERVATIONS_CLOSER)
            .collect();
        let closer: Vec<usize> = (0..rated.len())
            .filter(|i| matches!(rated[*i].action, Action::Repair(_)))
            .take(REPAIRS_CLOSER)
            .collect();
        let rests = parallel::each(closer, |at| {
            let observations = after.iter().map(|i| (*i, &rated[*i]));
            rated[at].failed.as_ref().map(|failed| (at, self.after_failure(failed, observations)))
        });
        for (at, (rest, then)) in rests.into_iter().flatten() {
            let Rated { step, failed, .. } = &mut rated[at];
            if let Some(failed) = failed {
                (failed.rest, failed.then) = (rest, then);
                self.price_repair(step, failed);
            }
        }
        let best = best_first(rated.iter().map(|r| &r.step).chain([&self.hand_over()]).collect())
            .first()
            .map(|s| (s.kind, s.id.clone()));
        let won =
            rated.iter().find(|r| best.as_ref().is_some_and(|(k, id)| r.step.kind == *k && r.step.id == *id));
        let estimate = estimate::of(&self.ends(won, &rated));
        let mut ranking: Vec<StepAdvice> = rated.into_iter().map(|r| r.step).collect();
        ranking.push(self.hand_over());
        let mut ranking = best_first(ranking);
        let now = why::Situation {
            expected_now: self.plan_cost(),
            leader: self.leader(&self.sets.sets, &self.sets.p),
        };
        for step in &mut ranking {
            step.telling = why::telling(&step.results, now.leader.as_ref());
            step.why = why::sentence(step, &now);
        }
        Ranking { steps: ranking, estimate }
    }

    /// Where everything may end if this comes first (none: handing over).
    fn ends(&self, won: Option<&Rated>, rated: &[Rated]) -> Vec<End> {
        let Some(Rated { action, step, results, failed }) = won else {
            return vec![End { p: 1.0, cost: self.prices.hand_over, minutes: 0.0, runs: false }];
        };
        let Some(failed) = failed else {
            let first = |(r, result): (usize, &ResultPosterior)| {
                if *action == Action::Attempt(None) && r == 0 {
                    return vec![End { p: result.p, cost: step.cost, minutes: step.minutes, runs: true }];
                }
                let ends = plan::ends(&self.prices, &self.as_they_are, &result.with_set);
                later(ends, result.p, step.cost, step.minutes)
            };
            return results.iter().enumerate().flat_map(first).collect();
        };
        let cost = step.cost + self.prices.attempt;
        let minutes = step.minutes + self.prices.attempt_minutes;
        let mut ends = vec![End { p: 1.0 - failed.chance, cost, minutes, runs: true }];
        let plan = |weights: &[f64]| plan::ends(&self.prices, &failed.left, weights);
        match failed.then.and_then(|at| rated.get(at)) {
            None => {
                ends.extend(later(plan(&failed.weights), failed.chance, cost, minutes));
            }
            Some(seen) => {
                let (cost, minutes) = (cost + seen.step.cost, minutes + seen.step.minutes);
                for result in &seen.results {
                    let weights = products(&result.with_set, &failed.fails);
                    let chance = weights.iter().sum();
                    ends.extend(later(plan(&weights), chance, cost, minutes));
                }
            }
        }
        ends
    }

    /// An action with its expected cost; none where it would do nothing.
    fn rate(&self, action: Action) -> Option<Rated> {
        let described = steps::describe(self.job, &action);
        let minutes = described.minutes + steps::setup_minutes(self.job, &described.needs.setups, &self.open);
        let mut step = StepAdvice {
            kind: described.kind,
            id: described.id.to_owned(),
            name: described.name.to_owned(),
            minutes,
            parts_cost: described.parts_cost,
            cost: steps::money(self.job, minutes) + described.parts_cost,
            expected_cost: 0.0,
            information_bits: 0.0,
            results: Vec::new(),
            telling: None,
            why: String::new(),
        };
        let mut results = Vec::new();
        let mut failed = None;
        match action {
            Action::Check(check) => {
                results.clone_from(&self.sets.checks.iter().find(|(c, _)| *c == check)?.1);
                let authored = &self.job.machine.file().checks[check.index()].results;
                let names = authored.iter().map(|r| (r.id.as_str(), r.name.as_str()));
                self.observe(&mut step, &results, names, false);
            }
            Action::Attempt(bypass) => {
                results = self.sets.attempt(self.job, bypass);
                let names = Outcome::ALL.iter().map(|o| (o.id(), o.words()));
                self.observe(&mut step, &results, names, bypass.is_none());
            }
            Action::Repair(repair) => {
                let r = repair.index();
                if self.prices.repairs[r].cures == 0 {
                    return None;
                }
                let left = self.failed(r);
                self.price_repair(&mut step, &left);
                failed = Some(left);
            }
        }
        Some(Rated { action, step, results, failed })
    }

    fn hand_over(&self) -> StepAdvice {
        StepAdvice {
            kind: StepKind::HandOver,
            id: "hand-over".into(),
            name: "Stop here: hand it over or replace it".into(),
            minutes: 0.0,
            parts_cost: 0.0,
            cost: self.prices.hand_over,
            expected_cost: self.prices.hand_over,
            information_bits: 0.0,
            results: Vec::new(),
            telling: None,
            why: String::new(),
        }
    }

    /// Expected cost from a state of knowledge: the repair plan, or handing over.
    fn value(&self, sets: &Sets, weights: &[f64]) -> f64 {
        plan::expected_cost(&self.prices, sets, weights)
    }

    /// Fills in what an observation is worth. `ends` says that its first result is a running engine,
    /// after which nothing is left to do.
    fn observe<'n>(
        &self,
        step: &mut StepAdvice,
        results: &[ResultPosterior],
        names: impl Iterator<Item = (&'n str, &'n str)>,
        ends: bool,
    ) {
        step.results = results
            .iter()
            .zip(names)
            .enumerate()
            .map(|(r, (result, (id, name)))| {
                let done = ends && r == 0;
                ResultOutlook {
                    id: id.to_owned(),
                    name: name.to_owned(),
                    p: result.p,
                    expected_cost: if done { 0.0 } else { self.value(&self.as_they_are, &result.with_set) },
                    leader: if done { None } else { self.leader(&self.sets.sets, &result.with_set) },
                }
            })
            .collect();
        step.expected_cost = step.cost + step.results.iter().map(|r| r.p * r.expected_cost).sum::<f64>();
        step.information_bits = self.information(results);
    }

    fn failed(&self, repair: usize) -> Failed {
        let price = &self.prices.repairs[repair];
        let (left, fails): (Vec<CauseSet>, Vec<f64>) = self
            .sets
            .sets
            .iter()
            .map(|set| {
                let remains = set & !price.cures;
                match (*set, remains) {
                    (0, _) => (0, 0.0),
                    // A repair that did not take leaves the set as it was.
                    (_, 0) => (*set, 1.0 - price.takes),
                    _ => (remains, 1.0),
                }
            })
            .unzip();
        let left = Sets::new(left);
        let weights = products(&self.sets.p, &fails);
        let chance = weights.iter().sum::<f64>();
        let rest = chance * self.value(&left, &weights);
        Failed { left, fails, weights, chance, rest, then: None }
    }

    /// What the plan costs after a failed repair and a finding, times the chance of both; `p` is the
    /// chance of each set and the finding.
    fn cost_after(&self, failed: &Failed, p: &[f64]) -> f64 {
        let weights = products(p, &failed.fails);
        let chance = weights.iter().sum::<f64>();
        chance * self.value(&failed.left, &weights)
    }

    /// Expected cost of everything after a repair that did not get it running, times the chance of
    /// that: by the plan, or with the best of some observations first, and which.
    fn after_failure<'r>(
        &self,
        failed: &Failed,
        observations: impl Iterator<Item = (usize, &'r Rated)>,
    ) -> (f64, Option<usize>) {
        let mut best = (failed.rest, None);
        for (at, rated) in observations {
            let mut then = failed.chance * rated.step.cost;
            for result in &rated.results {
                // Costs only add up: what is above the best already need not be gone through.
                if then >= best.0 {
                    break;
                }
                then += self.cost_after(failed, &result.with_set);
            }
            if then < best.0 {
                best = (then, Some(at));
            }
        }
        best
    }

    /// Fills in what a repair costs and comes to.
    fn price_repair(&self, step: &mut StepAdvice, failed: &Failed) {
        step.expected_cost = step.cost + self.prices.attempt + failed.rest;
        let still = failed.chance;
        step.results = vec![
            ResultOutlook {
                id: Outcome::Runs.id().into(),
                name: Outcome::Runs.words().into(),
                p: 1.0 - still,
                expected_cost: 0.0,
                leader: None,
            },
            ResultOutlook {
                id: "still-not".into(),
                name: "repaired, tried again, still does not run".into(),
                p: still,
                expected_cost: if still > 0.0 { failed.rest / still } else { 0.0 },
                leader: self.leader(failed.left.as_slice(), &failed.weights),
            },
        ];
    }

    /// The likeliest cause under some weights of sets.
    fn leader(&self, sets: &[CauseSet], weights: &[f64]) -> Option<Leader> {
        let total: f64 = weights.iter().sum();
        let mut chances = vec![0.0; self.job.machine.condition_count()];
        for (set, weight) in sets.iter().zip(weights) {
            for condition in plan::conditions(*set) {
                chances[condition] += weight / total;
            }
        }
        let best = self
            .job
            .machine
            .condition_ids()
            .max_by(|a, b| chances[a.index()].total_cmp(&chances[b.index()]).then(b.cmp(a)))?;
        let (part, condition) = self.job.machine.condition(best);
        (total > 0.0).then(|| Leader {
            part: part.id.clone(),
            condition: condition.id.clone(),
            name: condition.name.clone(),
            p_cause: chances[best.index()],
        })
    }

    /// Mutual information between the result and the set of causes, in bits.
    fn information(&self, results: &[ResultPosterior]) -> f64 {
        let term = |joint: f64, p_result: f64, p_set: f64| {
            if joint > 0.0 && p_result > 0.0 && p_set > 0.0 {
                joint * (joint / (p_result * p_set)).log2()
            } else {
                0.0
            }
        };
        let of_result = |result: &ResultPosterior| {
            result.with_set.iter().zip(&self.sets.p).map(|(joint, p)| term(*joint, result.p, *p)).sum::<f64>()
        };
        results.iter().map(of_result).sum::<f64>().max(0.0)
    }
}

/// Ends that come after something else: with its chance, its cost and its minutes.
fn later(mut ends: Vec<End>, p: f64, cost: f64, minutes: f64) -> Vec<End> {
    for end in &mut ends {
        end.p *= p;
        end.cost += cost;
        end.minutes += minutes;
    }
    ends
}

fn products(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a * b).collect()
}

/// Best first; equally good steps stay in the order of the description.
fn best_first<S: Borrow<StepAdvice>>(ranking: Vec<S>) -> Vec<S> {
    let mut ranking = largest_first(ranking, |s| -s.borrow().expected_cost);
    // Sorting is stable, but two routes to the same number may differ in the last digits.
    let least = ranking.first().map_or(0.0, |s| s.borrow().expected_cost);
    let level = |s: &S| s.borrow().expected_cost <= least * (1.0 + TIE);
    let tied = ranking.iter().take_while(|s| level(s)).count();
    ranking[..tied].sort_by_key(|s| (s.borrow().kind, s.borrow().id.clone()));
    ranking
}
