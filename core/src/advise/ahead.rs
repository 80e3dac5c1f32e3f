//! Looking further ahead, at what leads.
//!
//! What comes after a step is taken to be the plan at first. Here it is the better of that and of making one more
//! observation; and in the next round, for those between which the margin is thin, another one after it. All of
//! them are looked at equally far before any of it counts, repairs as well as observations: or one sort of step
//! would look better than it is, for having been looked at. Every round finds ways that cost no more than those
//! known before.

use super::answer::{LookaheadProgress, ResultOutlook, StepKind};
use super::plan::{self, End, Start};
use super::rank::{After, Ranker, Rated, expected, tells_nothing};
use super::sets::ResultPosterior;
use halfsplit_bayes::support::parallel;

/// Repairs and observations that are looked at more closely; the rest of the lists is further from the lead
/// than the closer look ever moves anything.
const REPAIRS: usize = 4;
const OBSERVATIONS: usize = 4;
/// Observations made one after the other, after the step, before the plan is followed.
const ROUNDS: usize = 2;
/// What costs more than the best by a larger share than this is not looked at in the rounds after the first.
const THIN: f64 = 0.1;
/// What is less likely than this is not looked at more closely.
const RARE: f64 = 0.05;

/// An observation that is to be made further on, by its place among them, and by its result what to observe after
/// it.
#[derive(Debug, Clone)]
pub(super) struct Then {
    at: usize,
    after: Vec<Option<Then>>,
}

/// How far everything that leads has been looked at.
#[derive(Debug)]
pub(super) struct Ahead {
    /// Places of what leads.
    leading: Vec<usize>,
    /// Observations that may come later, by their places: those that lead.
    among: Vec<usize>,
    /// Rounds that are over, and looks taken in them.
    rounds: usize,
    taken: usize,
    /// What this round has come to so far, in the order of what leads.
    came_to: Vec<Closer>,
}

/// What a closer look came to.
#[derive(Debug)]
struct Closer {
    /// What comes after each result of an observation, or after a repair that did not get it running: expected
    /// cost times the chance, and what to observe first.
    rests: Vec<(f64, Option<Then>)>,
    /// After a repair: the expected cost of going on without a try.
    untried: f64,
}

impl Ahead {
    /// Nothing has been looked at yet; what leads is chosen by the ratings as they are.
    pub(super) fn new(rated: &[Rated]) -> Self {
        let places = |of: &dyn Fn(&Rated) -> bool, most| {
            (0..rated.len()).filter(|at| of(&rated[*at])).take(most).collect::<Vec<usize>>()
        };
        // What may come second is looked at as a first step too: else something that tells nothing would lead,
        // for what comes after it.
        let tells = |r: &Rated| !tells_nothing(&r.step);
        let observes = |r: &Rated| matches!(r.step.kind, StepKind::Check | StepKind::Bypass);
        let observations = places(&|r| observes(r) && tells(r), OBSERVATIONS);
        let among = observations.iter().filter_map(|at| rated[*at].sight).collect();
        let mut leading = places(&|r| r.failed.is_some(), REPAIRS);
        leading.extend(places(&|r| r.step.kind == StepKind::Attempt && tells(r), 1));
        leading.extend(observations);
        Ahead { leading, among, rounds: 0, taken: 0, came_to: Vec::new() }
    }

    pub(super) fn progress(&self) -> LookaheadProgress {
        LookaheadProgress {
            done: self.taken + self.came_to.len(),
            of: self.taken + (ROUNDS - self.rounds) * self.leading.len(),
            rounds: self.rounds,
        }
    }

    /// Takes some more closer looks, side by side; at the end of a round they are entered.
    pub(super) fn go_on(&mut self, ranker: Ranker, rated: &mut [Rated], most: usize) {
        let left = self.leading.iter().skip(self.came_to.len()).take(most).copied().collect();
        let look = |at: usize| ranker.look_closer(&rated[at], &self.among, self.rounds + 1);
        self.came_to.extend(parallel::each(left, look));
        if self.came_to.len() == self.leading.len() && self.rounds < ROUNDS {
            for (at, came_to) in self.leading.iter().zip(std::mem::take(&mut self.came_to)) {
                ranker.enter(&mut rated[*at], came_to);
            }
            self.taken += self.leading.len();
            self.rounds += 1;
            self.keep_contenders(ranker.means().prices.hand_over, rated);
        }
    }

    /// Keeps those that may still lead; none where nothing comes near the best.
    fn keep_contenders(&mut self, hand_over: f64, rated: &[Rated]) {
        let cost = |at: &usize| rated[*at].step.expected_cost;
        let best = self.leading.iter().map(cost).fold(hand_over, f64::min);
        let near = |cost: f64| cost <= best * (1.0 + THIN);
        self.leading.retain(|at| near(cost(at)));
        if self.leading.len() + usize::from(near(hand_over)) < 2 {
            self.leading.clear();
        }
    }
}

impl<'a> Ranker<'a> {
    /// Looks further ahead from what is known after an action, by so many observations.
    fn look_closer(&self, rated: &Rated, among: &[usize], observations: usize) -> Closer {
        match (&rated.failed, rated.sight) {
            (Some(failed), _) => Closer {
                rests: vec![self.closer(&failed.start(), failed.rest, among, observations)],
                untried: plan::expected_cost(self.means(), self.untried(failed.repair)),
            },
            (None, Some(at)) => {
                let after_each = self.after_observing(at);
                let outlooks = after_each.iter().zip(&rated.step.results);
                let rest = |(known, outlook): (&After, &ResultOutlook)| {
                    let rest = outlook.p * outlook.expected_cost;
                    match outlook.p < RARE {
                        true => (rest, None),
                        false => self.closer(&known.start(), rest, among, observations),
                    }
                };
                Closer { rests: outlooks.map(rest).collect(), untried: f64::INFINITY }
            }
            (None, None) => Closer { rests: Vec::new(), untried: f64::INFINITY },
        }
    }

    /// Expected cost of everything from a state of knowledge, times its chance: as it is known to be possible, or
    /// with the best of some observations first, if that is less, and which.
    fn closer(&self, start: &Start, known: f64, among: &[usize], observations: usize) -> (f64, Option<Then>) {
        let mut best = (known, None);
        let all: f64 = start.weights.iter().sum();
        for at in among.iter().copied().filter(|at| start.seen & plan::sight(*at) == 0) {
            let seen = &self.on.observed[at];
            let opening = self.means().prices.opening(seen.setups & !start.open);
            let mut cost = all * (seen.toll.cost + opening.cost);
            let mut after = Vec::with_capacity(seen.results.len());
            for result in &seen.results {
                // Costs only add up: what is above the best already need not be gone through.
                if cost >= best.0 {
                    break;
                }
                let weights = self.given(start, result);
                let chance: f64 = weights.iter().sum();
                let then = self.observed_then(start, at, &weights);
                let by_plan = chance * plan::expected_cost(self.means(), then);
                let (rest, next) = match observations > 1 && chance >= RARE {
                    true => self.closer(&then, by_plan, among, observations - 1),
                    false => (by_plan, None),
                };
                cost += rest;
                after.push(next);
            }
            if cost < best.0 {
                best = (cost, Some(Then { at, after }));
            }
        }
        best
    }

    /// Weights of sets in a state of knowledge, and that an observation shows this.
    fn given(&self, start: &Start, result: &ResultPosterior) -> Vec<f64> {
        let p = self.now();
        let shown = |(from, weight): (&usize, &f64)| {
            if p[*from] > 0.0 { weight * result.with_set[*from] / p[*from] } else { 0.0 }
        };
        start.sets.from().iter().zip(start.weights).map(shown).collect()
    }

    /// What is known after an observation that was made in some state of knowledge.
    fn observed_then<'s>(&self, start: &Start<'s>, at: usize, weights: &'s [f64]) -> Start<'s> {
        let open = self.on.observed[at].open_after(start.open);
        Start { sets: start.sets, weights, open, seen: start.seen | plan::sight(at), done: None }
    }

    /// Enters what a closer look came to.
    fn enter(&self, rated: &mut Rated, Closer { rests, untried }: Closer) {
        let Rated { step, failed, thens, .. } = rated;
        if let Some(failed) = failed {
            for (rest, then) in rests {
                if then.is_some() {
                    (failed.rest, failed.then) = (rest, then);
                }
            }
            failed.untried = untried;
            self.price_repair(step, failed);
        } else {
            for ((outlook, then), (rest, first)) in step.results.iter_mut().zip(thens).zip(rests) {
                if first.is_some() {
                    outlook.expected_cost = rest / outlook.p;
                    *then = first;
                }
            }
            step.expected_cost = expected(step);
        }
        rated.bound();
    }

    /// Where everything may end if this comes first (none: handing over).
    pub(super) fn ends(&self, won: Option<&Rated>) -> Vec<End> {
        let prices = self.means().prices;
        let Some(won) = won else {
            return vec![End { p: 1.0, cost: prices.hand_over, minutes: 0.0, runs: false }];
        };
        if won.goes_by_plan() {
            return plan::ends(self.means(), self.as_things_stand());
        }
        let Rated { step, sight, thens, failed, .. } = won;
        if let Some(at) = sight {
            let ends = self.after_observing(*at).into_iter().zip(thens).flat_map(|(after, then)| {
                let p = after.weights.iter().sum();
                later(self.ends_of(&after.start(), then.as_ref()), p, step.cost, step.minutes)
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
        let cost = step.cost + prices.attempt.cost;
        let minutes = step.minutes + prices.attempt.minutes;
        let rest = self.ends_of(&failed.start(), failed.then.as_ref());
        let mut ends = later(rest, failed.chance, cost, minutes);
        ends.push(End { p: 1.0 - failed.chance, cost, minutes, runs: true });
        ends
    }

    /// Where everything may end from a state of knowledge, by the plan or with observations first.
    fn ends_of(&self, start: &Start, then: Option<&Then>) -> Vec<End> {
        let Some(Then { at, after }) = then else { return plan::ends(self.means(), *start) };
        let seen = &self.on.observed[*at];
        let toll = seen.toll + self.means().prices.opening(seen.setups & !start.open);
        let all: f64 = start.weights.iter().sum();
        let after_each = |(result, then): (&ResultPosterior, &Option<Then>)| {
            let weights = self.given(start, result);
            let share = if all > 0.0 { weights.iter().sum::<f64>() / all } else { 0.0 };
            let ends = self.ends_of(&self.observed_then(start, *at, &weights), then.as_ref());
            later(ends, share, toll.cost, toll.minutes)
        };
        seen.results.iter().zip(after).flat_map(after_each).collect()
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
