//! The ranking: two steps ahead.
//!
//! *Observe now*: the step's cost, and the mean over its results of what comes then (the expected value of
//! sample information, Raiffa and Schlaifer 1961). *Repair now*: the repair's cost, and what comes where the
//! engine does not run after it. What comes then is the better of going on by the plan and of making one more
//! observation first: for all that lead, or one sort of step would look better than it is by being looked at
//! further ahead than another.
//!
//! All of it is exact on the sets of causes looked at one by one, but for one thing: what an
//! observation will show later is taken from what it would show now, given the same causes.

use super::answer::{Estimate, Leader, ResultOutlook, StepAdvice, StepKind};
use super::estimate;
use super::look::{Looks, Sight};
use super::plan::{self, End, Means, Seen, Sets, Start};
use super::price::{Prices, Setups, Toll, conditions, few};
use super::sets::{CauseSet, ResultPosterior, SetPosterior};
use super::steps::{self, Action};
use super::why;
use crate::job::{Job, Outcome};
use crate::machine::ConditionId;
use crate::order::{descending, largest, largest_first};
use crate::parallel;
use crate::precision::TIE;

/// Repairs and observations that are looked at more closely; the rest of the lists is further from the lead
/// than the closer look ever moves anything.
const REPAIRS_CLOSER: usize = 4;
const OBSERVATIONS_CLOSER: usize = 4;
/// Information below this, in bits, is the rounding of its terms, of which there are some hundreds.
const ROUNDED_BITS: f64 = 1e-12;
/// What tells less than this, in bits, tells nothing.
const NOTHING_TOLD: f64 = 1e-6;
/// A result less likely than this is not looked at more closely.
const RARE: f64 = 0.05;

/// Everything that is offered, ranked.
pub(super) struct Ranking {
    /// The steps, and handing over, best first.
    pub(super) steps: Vec<StepAdvice>,
    /// What it may take, beginning with the first of them.
    pub(super) estimate: Estimate,
    /// Expected cost of repairing by the odds alone, with nothing looked at any more.
    pub(super) plan_cost: f64,
    /// Expected cost for somebody who knows the causes.
    pub(super) at_least: f64,
}

/// Rates and ranks what can be done.
pub(super) struct Ranker<'a> {
    job: &'a Job<'a>,
    prices: &'a Prices,
    sets: &'a SetPosterior,
    offered: &'a [Action],
    /// The observations among them.
    observed: Vec<Observed>,
    looks: Looks,
    /// The same sets, for plans.
    as_they_are: Sets,
    /// By set-up work: whether it is open; and as bits.
    open: Vec<bool>,
    open_bits: Setups,
}

/// An observation that is offered.
struct Observed {
    action: Action,
    results: Vec<ResultPosterior>,
    /// Without set-up.
    toll: Toll,
    /// What must be open for it.
    setups: Setups,
}

impl Observed {
    /// What is open after it.
    fn open_after(&self, open: Setups) -> Setups {
        match self.action {
            Action::Attempt(_) => 0,
            _ => open | self.setups,
        }
    }
}

/// An action with what has been worked out about it.
struct Rated {
    step: StepAdvice,
    /// For observations: its place among them.
    sight: Option<usize>,
    /// By result of an observation: the observation to be made then, by its place among them; none where going
    /// on by the plan is cheaper.
    thens: Vec<Option<usize>>,
    /// For repairs.
    failed: Option<Failed>,
}

/// What is left after a repair that did not get it running.
struct Failed {
    /// What may be left of each set of causes: without what the repair cures, or as it was.
    left: Sets,
    /// The same as conditions of the machine.
    sets: Vec<CauseSet>,
    /// By what is left: the chance of that, given the set that it comes from.
    fails: Vec<f64>,
    /// By what is left: the chance of that, and that the repair does not get it running.
    weights: Vec<f64>,
    /// Chance that the repair does not get the engine running, whatever is wrong.
    chance: f64,
    /// Expected cost of everything then, times that chance.
    rest: f64,
    /// The observation to be made then, by its place among them; none where going on by the plan is cheaper.
    then: Option<usize>,
    /// The repair, and the expected cost of going on by the plan without a try; infinite where that has not been
    /// looked at.
    repair: usize,
    untried: f64,
}

/// What the closer look came to.
struct Closer {
    /// What comes after each result of an observation, or after a repair that did not get it running: expected
    /// cost times the chance, and the observation to be made first, by its place among them.
    rests: Vec<(f64, Option<usize>)>,
    /// After a repair: the expected cost of going on without a try.
    untried: f64,
}

impl Failed {
    /// Weights of sets, as weights of what is left of them.
    fn of(&self, weights: &[f64]) -> Vec<f64> {
        self.left.from().iter().zip(&self.fails).map(|(from, fails)| weights[*from] * fails).collect()
    }

    /// What is known then: the try has closed the machine.
    fn start(&self) -> Start<'_> {
        Start { sets: &self.left, weights: &self.weights, open: 0, seen: 0, done: None }
    }
}

/// What is known after an observation.
struct After<'a> {
    sets: &'a Sets,
    weights: Vec<f64>,
    open: Setups,
    seen: Seen,
}

impl After<'_> {
    fn start(&self) -> Start<'_> {
        Start { sets: self.sets, weights: &self.weights, open: self.open, seen: self.seen, done: None }
    }
}

impl<'a> Ranker<'a> {
    pub(super) fn new(
        job: &'a Job<'a>,
        prices: &'a Prices,
        sets: &'a SetPosterior,
        offered: &'a [Action],
    ) -> Self {
        let open_bits = steps::open_bits(job);
        let observed = |action: &Action| {
            let results = match action {
                Action::Check(check) => sets.checks.iter().find(|(c, _)| c == check)?.1.clone(),
                Action::Attempt(bypass) => sets.attempt(job, *bypass),
                Action::Repair(_) => return None,
            };
            let described = steps::describe(job, action);
            let toll =
                steps::toll(job, described.minutes) + Toll { cost: described.parts_cost, minutes: 0.0 };
            Some(Observed { action: *action, results, toll, setups: steps::bits(&described.needs.setups) })
        };
        let observed: Vec<Observed> = offered.iter().filter_map(observed).collect();
        let sights: Vec<Sight> = observed
            .iter()
            .map(|seen| {
                // A plain attempt is part of every plan anyway.
                let plain = seen.action == Action::Attempt(None);
                let results: &[ResultPosterior] = if plain { &[] } else { &seen.results };
                let closes = matches!(seen.action, Action::Attempt(_));
                Sight { toll: seen.toll, setups: seen.setups, closes, results }
            })
            .collect();
        let looks = Looks::new(prices, &sets.sets, &sets.p, &sights);
        let as_they_are = Sets::new(&sets.sets, Means { prices, looks: &looks });
        let open = steps::open_setups(job);
        Ranker { job, prices, sets, offered, observed, looks, as_they_are, open, open_bits }
    }

    /// Expected cost of repairing by the odds alone, with nothing looked at any more.
    fn plan_cost(&self) -> f64 {
        let looks = Looks::none(self.prices, &self.sets.sets);
        let means = Means { prices: self.prices, looks: &looks };
        let sets = Sets::new(&self.sets.sets, means);
        plan::expected_cost(means, self.start(&sets, &self.sets.p, self.open_bits, 0))
    }

    /// A repair done, and no try after it.
    fn untried(&self, repair: usize) -> Start<'_> {
        let open = self.open_bits | self.prices.repairs[repair].setups;
        let start = self.start(&self.as_they_are, &self.sets.p, open, 0);
        Start { done: Some(repair), ..start }
    }

    fn means(&self) -> Means<'_> {
        Means { prices: self.prices, looks: &self.looks }
    }

    fn start<'s>(&self, sets: &'s Sets, weights: &'s [f64], open: Setups, seen: Seen) -> Start<'s> {
        Start { sets, weights, open, seen, done: None }
    }

    /// Everything that is offered, and handing over, best first.
    pub(super) fn rank(&self) -> Ranking {
        let rated =
            parallel::each(self.offered.to_vec(), |action| self.rate(action)).into_iter().flatten().collect();
        let mut rated = largest_first(rated, |r: &Rated| -r.step.expected_cost);
        let places = |of: &dyn Fn(&Rated) -> bool, most| {
            (0..rated.len()).filter(|at| of(&rated[*at])).take(most).collect::<Vec<usize>>()
        };
        // What may come second is looked at as a first step too: else something that tells nothing would lead,
        // for what comes after it.
        let tells = |r: &Rated| !tells_nothing(&r.step);
        let observations = places(
            &|r| matches!(r.step.kind, StepKind::Check | StepKind::Bypass) && tells(r),
            OBSERVATIONS_CLOSER,
        );
        let after: Vec<usize> = observations.iter().filter_map(|at| rated[*at].sight).collect();
        let mut closer = places(&|r| r.failed.is_some(), REPAIRS_CLOSER);
        closer.extend(places(&|r| r.step.kind == StepKind::Attempt && tells(r), 1));
        closer.extend(observations);
        let looked = parallel::each(closer, |at| (at, self.look_closer(&rated[at], &after)));
        for (at, came_to) in looked {
            self.enter(&mut rated[at], &came_to);
        }
        let hand_over = self.hand_over();
        let places = best_first(&rated.iter().map(|r| &r.step).chain([&hand_over]).collect::<Vec<_>>());
        let won = places.first().and_then(|best| rated.get(*best));
        let estimate = estimate::of(&self.ends(won));
        let mut steps: Vec<Option<StepAdvice>> =
            rated.into_iter().map(|r| r.step).chain([hand_over]).map(Some).collect();
        let mut ranking: Vec<StepAdvice> = places.into_iter().filter_map(|at| steps[at].take()).collect();
        let plan_cost = self.plan_cost();
        let now =
            why::Situation { expected_now: plan_cost, leader: self.leader(&self.sets.sets, &self.sets.p) };
        for step in &mut ranking {
            step.telling = why::telling(&step.results, now.leader.as_ref());
            step.why = why::sentence(step, &now);
        }
        let known = |(set, p): (&CauseSet, &f64)| p * self.prices.known(*set, self.open_bits).cost;
        let at_least = self.sets.sets.iter().zip(&self.sets.p).map(known).sum();
        Ranking { steps: ranking, estimate, plan_cost, at_least }
    }

    /// Where everything may end if this comes first (none: handing over).
    fn ends(&self, won: Option<&Rated>) -> Vec<End> {
        let Some(Rated { step, sight, thens, failed }) = won else {
            return vec![End { p: 1.0, cost: self.prices.hand_over, minutes: 0.0, runs: false }];
        };
        if let Some(at) = sight {
            let ends = self.after_observing(*at).into_iter().zip(thens).flat_map(|(after, then)| {
                let p = after.weights.iter().sum();
                later(self.ends_of(&after.start(), *then), p, step.cost, step.minutes)
            });
            let runs = self.runs_cured(*at);
            let cured = End { p: runs, cost: step.cost, minutes: step.minutes, runs: true };
            return ends.chain((runs > 0.0).then_some(cured)).collect();
        }
        let Some(failed) = failed else { return Vec::new() };
        if !step.then_try {
            let ends = plan::ends(self.means(), self.untried(failed.repair));
            return later(ends, 1.0, step.cost, step.minutes);
        }
        let cost = step.cost + self.prices.attempt.cost;
        let minutes = step.minutes + self.prices.attempt.minutes;
        let rest = self.ends_of(&failed.start(), failed.then);
        let mut ends = later(rest, failed.chance, cost, minutes);
        ends.push(End { p: 1.0 - failed.chance, cost, minutes, runs: true });
        ends
    }

    /// Where everything may end from a state of knowledge, by the plan or with an observation first.
    fn ends_of(&self, start: &Start, then: Option<usize>) -> Vec<End> {
        let Some(at) = then else { return plan::ends(self.means(), *start) };
        let seen = &self.observed[at];
        let toll = seen.toll + self.prices.opening(seen.setups & !start.open);
        let all: f64 = start.weights.iter().sum();
        let after = |result: &ResultPosterior| {
            let weights = self.given(start, result);
            let share = if all > 0.0 { weights.iter().sum::<f64>() / all } else { 0.0 };
            let ends = plan::ends(self.means(), self.observed_then(start, at, &weights));
            later(ends, share, toll.cost, toll.minutes)
        };
        seen.results.iter().flat_map(after).collect()
    }

    /// Of an engine that runs: the chance of each set of causes that is still there. It ran by luck and will
    /// not the next time; to try until it does is no repair.
    fn by_luck(&self, runs: &ResultPosterior) -> Vec<f64> {
        let causes = self.sets.sets.iter().zip(&runs.with_set);
        causes.map(|(set, p)| if *set == 0 { 0.0 } else { *p }).collect()
    }

    /// What is known after each result of an observation; engines that run because nothing stops them are left
    /// out.
    fn after_observing(&self, at: usize) -> Vec<After<'_>> {
        let seen = &self.observed[at];
        let plain = seen.action == Action::Attempt(None);
        let results = seen.results.iter().enumerate();
        let after = |(r, result): (usize, &ResultPosterior)| After {
            sets: &self.as_they_are,
            weights: if plain && r == 0 { self.by_luck(result) } else { result.with_set.clone() },
            open: seen.open_after(self.open_bits),
            seen: plan::sight(at),
        };
        results.map(after).collect()
    }

    /// Chance that the engine runs at an observation because nothing stops it.
    fn runs_cured(&self, at: usize) -> f64 {
        let seen = &self.observed[at];
        if seen.action != Action::Attempt(None) {
            return 0.0;
        }
        seen.results.first().map_or(0.0, |runs| runs.p - self.by_luck(runs).iter().sum::<f64>())
    }

    /// Weights of sets in a state of knowledge, and that an observation shows this.
    fn given(&self, start: &Start, result: &ResultPosterior) -> Vec<f64> {
        let shown = |(from, weight): (&usize, &f64)| {
            let p = self.sets.p[*from];
            if p > 0.0 { weight * result.with_set[*from] / p } else { 0.0 }
        };
        start.sets.from().iter().zip(start.weights).map(shown).collect()
    }

    /// What is known after an observation that was made in some state of knowledge.
    fn observed_then<'s>(&self, start: &Start<'s>, at: usize, weights: &'s [f64]) -> Start<'s> {
        let open = self.observed[at].open_after(start.open);
        Start { sets: start.sets, weights, open, seen: start.seen | plan::sight(at), done: None }
    }

    /// Looks one step further ahead from what is known after an action.
    fn look_closer(&self, rated: &Rated, after: &[usize]) -> Closer {
        match (&rated.failed, rated.sight) {
            (Some(failed), _) => Closer {
                rests: vec![self.closer(&failed.start(), failed.rest, after)],
                untried: plan::expected_cost(self.means(), self.untried(failed.repair)),
            },
            (None, Some(at)) => {
                let after_each = self.after_observing(at);
                let outlooks = after_each.iter().zip(&rated.step.results);
                let rest = |(known, outlook): (&After, &ResultOutlook)| {
                    let rest = outlook.p * outlook.expected_cost;
                    if outlook.p < RARE { (rest, None) } else { self.closer(&known.start(), rest, after) }
                };
                Closer { rests: outlooks.map(rest).collect(), untried: f64::INFINITY }
            }
            (None, None) => Closer { rests: Vec::new(), untried: f64::INFINITY },
        }
    }

    /// Expected cost of everything from a state of knowledge, times its chance: by the plan, which comes to
    /// `rest`, or with the best of some observations first, and which.
    fn closer(&self, start: &Start, rest: f64, after: &[usize]) -> (f64, Option<usize>) {
        let mut best = (rest, None);
        let all: f64 = start.weights.iter().sum();
        for at in after.iter().copied().filter(|at| start.seen & plan::sight(*at) == 0) {
            let seen = &self.observed[at];
            let mut then = all * (seen.toll.cost + self.prices.opening(seen.setups & !start.open).cost);
            for result in &seen.results {
                // Costs only add up: what is above the best already need not be gone through.
                if then >= best.0 {
                    break;
                }
                let weights = self.given(start, result);
                let chance: f64 = weights.iter().sum();
                then += chance * plan::expected_cost(self.means(), self.observed_then(start, at, &weights));
            }
            if then < best.0 {
                best = (then, Some(at));
            }
        }
        best
    }

    /// Enters what the closer look came to.
    fn enter(&self, rated: &mut Rated, Closer { rests, untried }: &Closer) {
        let Rated { step, failed, thens, .. } = rated;
        if let Some(failed) = failed {
            for (rest, then) in rests {
                (failed.rest, failed.then) = (*rest, *then);
            }
            failed.untried = *untried;
            self.price_repair(step, failed);
            return;
        }
        for ((outlook, then), (rest, first)) in step.results.iter_mut().zip(thens).zip(rests) {
            *then = *first;
            if first.is_some() {
                outlook.expected_cost = rest / outlook.p;
            }
        }
        step.expected_cost = expected(step);
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
            then_try: false,
            why: String::new(),
        };
        let sight = self.observed.iter().position(|o| o.action == action);
        let mut failed = None;
        match action {
            Action::Check(check) => {
                let authored = &self.job.machine.file().checks[check.index()].results;
                let names = authored.iter().map(|r| (r.id.as_str(), r.name.as_str()));
                self.observe(&mut step, sight?, names, false);
            }
            Action::Attempt(bypass) => {
                let names = Outcome::ALL.iter().map(|o| (o.id(), o.words()));
                self.observe(&mut step, sight?, names, bypass.is_none());
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
        let thens = vec![None; step.results.len()];
        Some(Rated { step, sight, thens, failed })
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
            then_try: false,
            why: String::new(),
        }
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
        let results = &self.observed[at].results;
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
                    leader: if done { None } else { self.leader(&self.sets.sets, &result.with_set) },
                }
            })
            .collect();
        step.expected_cost = expected(step);
        step.information_bits = self.information(results);
    }

    fn failed(&self, repair: usize) -> Failed {
        let price = &self.prices.repairs[repair];
        let (mut left, mut from, mut fails) = (Vec::new(), Vec::new(), Vec::new());
        for (at, set) in self.sets.sets.iter().enumerate() {
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
        let few = left.iter().zip(&from).map(|(left, from)| few(self.sets.sets[*from], *left)).collect();
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
        failed.weights = failed.of(&self.sets.p);
        failed.chance = failed.weights.iter().sum();
        failed.rest = failed.chance * plan::expected_cost(self.means(), failed.start());
        failed
    }

    /// Fills in what a repair costs and comes to.
    fn price_repair(&self, step: &mut StepAdvice, failed: &Failed) {
        let tried = self.prices.attempt.cost + failed.rest;
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
            result.with_set.iter().zip(&self.sets.p).map(|(joint, p)| term(*joint, result.p, *p)).sum::<f64>()
        };
        let bits = results.iter().map(of_result).sum::<f64>();
        if bits > ROUNDED_BITS { bits } else { 0.0 }
    }
}

/// Expected cost of an observation and of all that comes then.
fn expected(step: &StepAdvice) -> f64 {
    step.cost + step.results.iter().map(|r| r.p * r.expected_cost).sum::<f64>()
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

/// Whether it is an observation of which what comes out changes nothing.
fn tells_nothing(step: &StepAdvice) -> bool {
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
