//! The ranking: every step with what it comes to.
//!
//! *Observe now*: the step's cost, and the mean over its results of what comes then (the expected value of
//! sample information, Raiffa and Schlaifer 1961). *Repair now*: the repair's cost, and what comes where the
//! engine does not run after it. What comes then is going on by the plan (`plan.rs`), or making some more
//! observations first, where that has been looked at (`ahead.rs`).
//!
//! All of it is exact on the sets of causes looked at one by one, but for one thing: what an
//! observation will show later is taken from what it would show now, given the same causes.

use super::ahead::Then;
use super::answer::{Estimate, Leader, ResultOutlook, StepAdvice, StepKind};
use super::estimate;
use super::look::{Looks, Sight};
use super::plan::{self, Course, Means, Next, Seen, Sets, Start};
use super::price::{Prices, Setups, Toll, conditions, few};
use super::sets::{CauseSet, ResultPosterior, SetPosterior};
use super::steps;
use super::why;
use crate::job::{Action, Job, Outcome};
use crate::machine::ConditionId;
use crate::precision::TIE;
use halfsplit_bayes::support::order::{descending, largest, largest_first};
use halfsplit_bayes::support::parallel;

/// Information below this, in bits, is the rounding of its terms, of which there are some hundreds.
const ROUNDED_BITS: f64 = 1e-12;
/// What tells less than this, in bits, tells nothing.
const NOTHING_TOLD: f64 = 1e-6;
/// Everything that is offered, ranked.
pub(super) struct Ranking {
    /// The steps, and handing over, best first.
    pub(super) steps: Vec<StepAdvice>,
    /// What it may take, beginning with the first of them.
    pub(super) estimate: Estimate,
    /// Expected cost of repairing by the odds alone, with nothing looked at any more.
    pub(super) plan_cost: f64,
    /// Expected cost for somebody who knows the causes.
    pub(super) perfect_information_cost: f64,
}

/// What steps are rated by: it follows from the job, and stays as it is however far is looked ahead.
#[derive(Debug)]
pub(super) struct Ground {
    prices: Prices,
    sets: SetPosterior,
    offered: Vec<Action>,
    /// The observations among them.
    pub(super) observed: Vec<Observed>,
    looks: Looks,
    /// The same sets, for plans.
    as_they_are: Sets,
    /// By set-up work: whether it is open; and as bits.
    open: Vec<bool>,
    open_bits: Setups,
}

/// Rates and ranks what can be done.
#[derive(Clone, Copy)]
pub(super) struct Ranker<'a> {
    job: &'a Job<'a>,
    pub(super) on: &'a Ground,
}

/// An observation that is offered.
#[derive(Debug)]
pub(super) struct Observed {
    action: Action,
    pub(super) results: Vec<ResultPosterior>,
    /// Without set-up.
    pub(super) toll: Toll,
    /// What must be open for it.
    pub(super) setups: Setups,
}

impl Observed {
    /// What is open after it.
    pub(super) fn open_after(&self, open: Setups) -> Setups {
        match self.action {
            Action::Attempt(_) => 0,
            _ => open | self.setups,
        }
    }
}

/// An action with what has been worked out about it.
#[derive(Debug)]
pub(super) struct Rated {
    pub(super) step: StepAdvice,
    /// For observations: its place among them.
    pub(super) sight: Option<usize>,
    /// By result of an observation: what to observe then; none where going on by the plan is cheaper.
    pub(super) thens: Vec<Option<Then>>,
    /// For repairs.
    pub(super) failed: Option<Failed>,
    /// For what the plan begins with: that plan is a way to go on as well, and what it costs is the most that
    /// this can cost. Else a step that is good for nothing would lead wherever making the plan anew after the first
    /// step finds a dearer one.
    plan: Option<Course>,
}

impl Rated {
    /// Whether the plan is the best that is known to begin with this.
    pub(super) fn goes_by_plan(&self) -> bool {
        self.plan.as_ref().is_some_and(|plan| plan.cost <= self.step.expected_cost)
    }

    /// Has it cost no more than the plan does.
    pub(super) fn bound(&mut self) {
        if let Some(plan) = self.plan.as_ref().filter(|plan| plan.cost < self.step.expected_cost) {
            self.step.expected_cost = plan.cost;
            self.step.then_try = self.failed.is_some() && plan.then_try;
        }
    }
}

/// What is left after a repair that did not get it running.
#[derive(Debug)]
pub(super) struct Failed {
    /// What may be left of each set of causes: without what the repair cures, or as it was.
    left: Sets,
    /// The same as conditions of the machine.
    sets: Vec<CauseSet>,
    /// By what is left: the chance of that, given the set that it comes from.
    fails: Vec<f64>,
    /// By what is left: the chance of that, and that the repair does not get it running.
    weights: Vec<f64>,
    /// Chance that the repair does not get the engine running, whatever is wrong.
    pub(super) chance: f64,
    /// Expected cost of everything then, times that chance.
    pub(super) rest: f64,
    /// What to observe then; none where going on by the plan is cheaper.
    pub(super) then: Option<Then>,
    /// The repair, and the expected cost of going on by the plan without a try; infinite where that has not been
    /// looked at.
    pub(super) repair: usize,
    pub(super) untried: f64,
}

impl Failed {
    /// Weights of sets, as weights of what is left of them.
    fn of(&self, weights: &[f64]) -> Vec<f64> {
        self.left.from().iter().zip(&self.fails).map(|(from, fails)| weights[*from] * fails).collect()
    }

    /// What is known then: the try has closed the machine.
    pub(super) fn start(&self) -> Start<'_> {
        Start { sets: &self.left, weights: &self.weights, open: 0, seen: 0, done: None }
    }
}

/// What is known after an observation.
pub(super) struct After<'a> {
    sets: &'a Sets,
    pub(super) weights: Vec<f64>,
    open: Setups,
    seen: Seen,
}

impl After<'_> {
    pub(super) fn start(&self) -> Start<'_> {
        Start { sets: self.sets, weights: &self.weights, open: self.open, seen: self.seen, done: None }
    }
}

impl Ground {
    /// Lays out what can be observed, and what that may be good for.
    pub(super) fn new(job: &Job, prices: Prices, sets: SetPosterior, offered: Vec<Action>) -> Self {
        let observed = |action: &Action| {
            let results = match action {
                Action::Check(check) => sets.checks.iter().find(|(c, _)| c == check)?.1.clone(),
                Action::Attempt(bypasses) => sets.attempt(job, bypasses.first().copied()),
                Action::Repair(_) => return None,
            };
            let described = steps::describe(job, action);
            let toll = steps::toll(job, described.minutes, described.parts_cost);
            Some(Observed {
                action: action.clone(),
                results,
                toll,
                setups: steps::bits(&described.needs.setups),
            })
        };
        let observed: Vec<Observed> = offered.iter().filter_map(observed).collect();
        let sights: Vec<Sight> = observed
            .iter()
            .map(|seen| {
                // A plain attempt is part of every plan anyway.
                let plain = seen.action == Action::PLAIN_ATTEMPT;
                let results: &[ResultPosterior] = if plain { &[] } else { &seen.results };
                let closes = matches!(seen.action, Action::Attempt(_));
                Sight { toll: seen.toll, setups: seen.setups, closes, results }
            })
            .collect();
        let looks = Looks::new(&prices, &sets.sets, &sets.p, &sights);
        let as_they_are = Sets::new(&sets.sets, Means { prices: &prices, looks: &looks });
        let (open, open_bits) = (steps::open_setups(job), steps::open_bits(job));
        Ground { prices, sets, offered, observed, looks, as_they_are, open, open_bits }
    }
}

impl<'a> Ranker<'a> {
    pub(super) fn new(job: &'a Job<'a>, on: &'a Ground) -> Self {
        Ranker { job, on }
    }

    /// Expected cost of repairing by the odds alone, with nothing looked at any more.
    fn plan_cost(&self) -> f64 {
        let looks = Looks::none(&self.on.prices, &self.on.sets.sets);
        let means = Means { prices: &self.on.prices, looks: &looks };
        let sets = Sets::new(&self.on.sets.sets, means);
        plan::expected_cost(means, self.start(&sets, &self.on.sets.p, self.on.open_bits, 0))
    }

    /// Nothing done and nothing seen.
    pub(super) fn as_things_stand(&self) -> Start<'a> {
        self.start(&self.on.as_they_are, &self.on.sets.p, self.on.open_bits, 0)
    }

    /// A repair done, and no try after it.
    pub(super) fn untried(&self, repair: usize) -> Start<'a> {
        let open = self.on.open_bits | self.on.prices.repairs[repair].setups;
        Start { done: Some(repair), open, ..self.as_things_stand() }
    }

    pub(super) fn means(&self) -> Means<'a> {
        Means { prices: &self.on.prices, looks: &self.on.looks }
    }

    fn start<'s>(&self, sets: &'s Sets, weights: &'s [f64], open: Setups, seen: Seen) -> Start<'s> {
        Start { sets, weights, open, seen, done: None }
    }

    /// Everything that is offered, with what it comes to if the plan is followed after it; best first.
    pub(super) fn rated(&self) -> Vec<Rated> {
        let rated = parallel::each(self.on.offered.clone(), |action| self.rate(action));
        let mut rated: Vec<Rated> = rated.into_iter().flatten().collect();
        let plan = plan::course(self.means(), self.as_things_stand());
        let begins = |r: &&mut Rated| match (plan.first, &r.failed, r.sight) {
            (Some(Next::Repair(repair)), Some(failed), _) => failed.repair == repair,
            (Some(Next::Look(look)), None, sight) => sight == Some(self.on.looks.all[look].sight),
            (Some(Next::Attempt), None, _) => r.step.kind == StepKind::Attempt,
            _ => false,
        };
        if let Some(first) = rated.iter_mut().find(begins) {
            first.plan = Some(plan);
            first.bound();
        }
        largest_first(rated, |r: &Rated| -r.step.expected_cost)
    }

    /// Everything that is offered, and the ways to stop, best first.
    pub(super) fn rank(&self, rated: &[Rated]) -> Ranking {
        let stops = self.stops();
        let places = best_first(&rated.iter().map(|r| &r.step).chain(&stops).collect::<Vec<_>>());
        let won = places.first().and_then(|best| rated.get(*best));
        let estimate = estimate::of(&self.ends(won));
        let step = |at: usize| rated.get(at).map_or_else(|| &stops[at - rated.len()], |r| &r.step).clone();
        let mut ranking: Vec<StepAdvice> = places.into_iter().map(step).collect();
        let plan_cost = self.plan_cost();
        let now = why::Situation {
            expected_now: plan_cost,
            leader: self.leader(&self.on.sets.sets, &self.on.sets.p),
        };
        for step in &mut ranking {
            step.most_informative = why::most_informative(&step.results, now.leader.as_ref());
            step.why = why::sentence(step, &now);
        }
        let known = |(set, p): (&CauseSet, &f64)| p * self.on.prices.known(*set, self.on.open_bits).cost;
        let perfect_information_cost = self.on.sets.sets.iter().zip(&self.on.sets.p).map(known).sum();
        Ranking { steps: ranking, estimate, plan_cost, perfect_information_cost }
    }

    /// Of an engine that runs: the chance of each set of causes that is still there. It ran by luck and will
    /// not the next time; to try until it does is no repair.
    fn by_luck(&self, runs: &ResultPosterior) -> Vec<f64> {
        let causes = self.on.sets.sets.iter().zip(&runs.with_set);
        causes.map(|(set, p)| if *set == 0 { 0.0 } else { *p }).collect()
    }

    /// Weights of the sets as things stand.
    pub(super) fn now(&self) -> &'a [f64] {
        &self.on.sets.p
    }

    /// What is known after each result of an observation; engines that run because nothing stops them are left
    /// out.
    pub(super) fn after_observing(&self, at: usize) -> Vec<After<'_>> {
        let seen = &self.on.observed[at];
        let plain = seen.action == Action::PLAIN_ATTEMPT;
        let results = seen.results.iter().enumerate();
        let after = |(r, result): (usize, &ResultPosterior)| After {
            sets: &self.on.as_they_are,
            weights: if plain && r == 0 { self.by_luck(result) } else { result.with_set.clone() },
            open: seen.open_after(self.on.open_bits),
            seen: plan::sight(at),
        };
        results.map(after).collect()
    }

    /// Chance that the engine runs at an observation because nothing stops it.
    pub(super) fn runs_cured(&self, at: usize) -> f64 {
        let seen = &self.on.observed[at];
        if seen.action != Action::PLAIN_ATTEMPT {
            return 0.0;
        }
        seen.results.first().map_or(0.0, |runs| runs.p - self.by_luck(runs).iter().sum::<f64>())
    }

    /// An action with its expected cost; none where it would do nothing.
    fn rate(&self, action: Action) -> Option<Rated> {
        let described = steps::describe(self.job, &action);
        let toll = steps::toll_of(self.job, &described, &self.on.open);
        let mut step = StepAdvice {
            kind: described.kind,
            id: described.id.to_owned(),
            name: described.name.to_owned(),
            minutes: toll.minutes,
            parts_cost: described.parts_cost,
            cost: toll.cost,
            expected_cost: 0.0,
            information_bits: 0.0,
            results: Vec::new(),
            most_informative: None,
            then_try: false,
            why: String::new(),
        };
        let sight = self.on.observed.iter().position(|o| o.action == action);
        let mut failed = None;
        match action {
            Action::Check(check) => {
                let authored = &self.job.machine.check(check).results;
                let names = authored.iter().map(|r| (r.id.as_str(), r.name.as_str()));
                self.observe(&mut step, sight?, names, false);
            }
            Action::Attempt(bypasses) => {
                let names = Outcome::ALL.iter().map(|o| (o.id(), o.words()));
                self.observe(&mut step, sight?, names, bypasses.is_empty());
            }
            Action::Repair(repair) => {
                let r = repair.index();
                if self.on.prices.repairs[r].cures == 0 {
                    return None;
                }
                let left = self.failed(r);
                self.price_repair(&mut step, &left);
                failed = Some(left);
            }
        }
        let thens = vec![None; step.results.len()];
        Some(Rated { step, sight, thens, failed, plan: None })
    }

    /// Handing over; and giving it up, where it was said what it is worth.
    fn stops(&self) -> Vec<StepAdvice> {
        let stop = |(id, name, price): (&str, &str, f64)| StepAdvice {
            kind: StepKind::HandOver,
            id: id.into(),
            name: name.into(),
            minutes: 0.0,
            parts_cost: 0.0,
            cost: price,
            expected_cost: price,
            information_bits: 0.0,
            results: Vec::new(),
            most_informative: None,
            then_try: false,
            why: String::new(),
        };
        let hand_over = ("hand-over", "Stop here: hand it over or replace it", self.job.hand_over_cost);
        let give_up = |worth| ("not-worth-it", "Stop here: it is not worth repairing", worth);
        std::iter::once(hand_over).chain(self.job.machine_value.map(give_up)).map(stop).collect()
    }

    /// Fills in what an observation is worth. `ends` says that its first result is a running engine,
    /// after which nothing is left to do, unless it ran by luck.
    fn observe<'n>(
        &self,
        step: &mut StepAdvice,
        at: usize,
        names: impl Iterator<Item = (&'n str, &'n str)>,
        ends: bool,
    ) {
        let results = &self.on.observed[at].results;
        step.results = results
            .iter()
            .zip(self.after_observing(at))
            .zip(names)
            .enumerate()
            .map(|(r, ((result, after), (id, name)))| {
                let done = ends && r == 0;
                let chance: f64 = after.weights.iter().sum();
                ResultOutlook {
                    id: id.to_owned(),
                    name: name.to_owned(),
                    p: result.p,
                    expected_cost: if chance > 0.0 {
                        chance / result.p * plan::expected_cost(self.means(), after.start())
                    } else {
                        0.0
                    },
                    leader: if done { None } else { self.leader(&self.on.sets.sets, &result.with_set) },
                }
            })
            .collect();
        step.expected_cost = expected(step);
        step.information_bits = self.information(results);
    }

    fn failed(&self, repair: usize) -> Failed {
        let price = &self.on.prices.repairs[repair];
        let (mut left, mut from, mut fails) = (Vec::new(), Vec::new(), Vec::new());
        for (at, set) in self.on.sets.sets.iter().enumerate() {
            let remains = set & !price.cures;
            // A repair that did not take leaves the set as it was.
            let comes_of_it = match (*set, remains) {
                (0, _) => &[][..],
                (_, 0) => &[(*set, 1.0 - price.takes)],
                _ if remains == *set => &[(*set, 1.0)],
                _ => &[(remains, price.takes), (*set, 1.0 - price.takes)],
            };
            for (set, chance) in comes_of_it.iter().filter(|(_, chance)| *chance > 0.0) {
                left.push(*set);
                from.push(at);
                fails.push(*chance);
            }
        }
        let few = left.iter().zip(&from).map(|(left, from)| few(self.on.sets.sets[*from], *left)).collect();
        let mut failed = Failed {
            left: Sets::left(from, few, self.means()),
            sets: left,
            fails,
            weights: Vec::new(),
            chance: 0.0,
            rest: 0.0,
            then: None,
            repair,
            untried: f64::INFINITY,
        };
        failed.weights = failed.of(&self.on.sets.p);
        failed.chance = failed.weights.iter().sum();
        failed.rest = failed.chance * plan::expected_cost(self.means(), failed.start());
        failed
    }

    /// Fills in what a repair costs and comes to.
    pub(super) fn price_repair(&self, step: &mut StepAdvice, failed: &Failed) {
        let tried = self.on.prices.attempt.cost + failed.rest;
        step.then_try = tried <= failed.untried;
        step.expected_cost = step.cost + tried.min(failed.untried);
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
                leader: self.leader(&failed.sets, &failed.weights),
            },
        ];
    }

    /// The likeliest cause under some weights of sets.
    fn leader(&self, sets: &[CauseSet], weights: &[f64]) -> Option<Leader> {
        let total: f64 = weights.iter().sum();
        let mut chances = vec![0.0; self.job.machine.condition_count()];
        for (set, weight) in sets.iter().zip(weights) {
            for condition in conditions(*set) {
                chances[condition] += weight / total;
            }
        }
        let best = ConditionId::new(largest(chances.iter().copied())?);
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
            result
                .with_set
                .iter()
                .zip(&self.on.sets.p)
                .map(|(joint, p)| term(*joint, result.p, *p))
                .sum::<f64>()
        };
        let bits = results.iter().map(of_result).sum::<f64>();
        if bits > ROUNDED_BITS { bits } else { 0.0 }
    }
}

/// Expected cost of an observation and of all that comes then.
pub(super) fn expected(step: &StepAdvice) -> f64 {
    step.cost + step.results.iter().map(|r| r.p * r.expected_cost).sum::<f64>()
}

/// Whether it is an observation of which what comes out changes nothing.
pub(super) fn tells_nothing(step: &StepAdvice) -> bool {
    let observes = matches!(step.kind, StepKind::Check | StepKind::Attempt | StepKind::Bypass);
    observes && step.information_bits <= NOTHING_TOLD
}

/// Places of the steps, best first; equally good ones stay in the order of the description, and what tells
/// nothing comes after what does.
fn best_first(steps: &[&StepAdvice]) -> Vec<usize> {
    let mut places = descending(&steps.iter().map(|s| -s.expected_cost).collect::<Vec<f64>>());
    // Two routes to the same number may differ in the last digits.
    let least = places.first().map_or(0.0, |best| steps[*best].expected_cost);
    let tied: Vec<usize> =
        places.iter().copied().take_while(|at| steps[*at].expected_cost <= least * (1.0 + TIE)).collect();
    let key = |at: &usize| (tells_nothing(steps[*at]), steps[*at].kind, &steps[*at].id);
    let before = |at: &usize| tied.iter().filter(|other| key(other) < key(at)).count();
    let order = descending(&tied.iter().map(|at| -(before(at) as f64)).collect::<Vec<f64>>());
    for (place, at) in places.iter_mut().zip(order) {
        *place = tied[at];
    }
    places
}
