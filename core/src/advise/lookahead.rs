//! Lookahead: the leading candidates, with further observations before the plan is followed.
//!
//! At first every candidate is valued as if the plan were followed after it. The first round considers one more
//! observation after the candidate; the second round considers two, for candidates between which the margin is thin.
//! All leading candidates are refined equally far before any of the results counts, repairs as well as observations.
//! Otherwise a candidate would look better only because it was refined. No round raises an expected cost.

use super::answer::LookaheadProgress;
use super::belief::{BeliefState, observation_bit};
use super::candidate::{Candidate, ContingentStep, ObserveCandidate, RepairCandidate};
use super::context::RankingContext;
use super::plan;
use halfsplit_bayes::support::parallel;

/// Number of repairs and number of observations that are refined. The others are so far behind that no
/// refinement is likely to put them in the lead.
const REPAIRS: usize = 4;
const OBSERVATIONS: usize = 4;
/// Observations in a row after the candidate, before the plan is followed.
const ROUNDS: usize = 2;
/// A candidate that costs more than the best by a larger share than this is not refined after the first round.
const THIN: f64 = 0.1;
/// A result that is less likely than this is not refined.
const RARE: f64 = 0.05;

/// How far the leading candidates are refined.
#[derive(Debug)]
pub(super) struct Lookahead {
    /// Places of the leading candidates.
    leading: Vec<usize>,
    /// Observations that may come later, by their places in the context: the leading ones.
    later: Vec<usize>,
    /// Completed rounds, and refinements computed in them.
    rounds: usize,
    taken: usize,
    /// Refinements of the present round, in the order of the leading candidates.
    refined: Vec<Refinement>,
}

/// The value of a candidate after a refinement.
#[derive(Debug)]
struct Refinement {
    /// By result of an observation, or after a repair that did not help: expected cost times the chance, and the
    /// observation to make first.
    rests: Vec<(f64, Option<ContingentStep>)>,
    /// After a repair: expected cost of continuing without an attempt.
    untried: f64,
}

impl Lookahead {
    /// A lookahead at the beginning. `candidates` stand in the order of their expected cost.
    pub(super) fn new(candidates: &[Candidate]) -> Self {
        let places = |of: &dyn Fn(&Candidate) -> bool, most| {
            (0..candidates.len()).filter(|at| of(&candidates[*at])).take(most).collect::<Vec<usize>>()
        };
        // A later observation is refined as a first step too. Otherwise a step that tells nothing would lead because
        // of the observation after it.
        let tells = |c: &Candidate, attempt: bool| matches!(c, Candidate::Observe(o) if o.is_attempt == attempt && !o.tells_nothing());
        let observations = places(&|c| tells(c, false), OBSERVATIONS);
        let later = observations.iter().filter_map(|at| match &candidates[*at] {
            Candidate::Observe(observe) => Some(observe.observation),
            _ => None,
        });
        let later = later.collect();
        let mut leading = places(&|c| matches!(c, Candidate::Repair(_)), REPAIRS);
        leading.extend(places(&|c| tells(c, true), 1));
        leading.extend(observations);
        Lookahead { leading, later, rounds: 0, taken: 0, refined: Vec::new() }
    }

    /// Places of the candidates that are refined.
    pub(super) fn leading(&self) -> &[usize] {
        &self.leading
    }

    /// Whether no candidate is left to refine.
    pub(super) fn is_done(&self) -> bool {
        let LookaheadProgress { done, of, .. } = self.progress();
        done >= of
    }

    /// The progress of the lookahead.
    pub(super) fn progress(&self) -> LookaheadProgress {
        LookaheadProgress {
            done: self.taken + self.refined.len(),
            of: self.taken + (ROUNDS - self.rounds) * self.leading.len(),
            rounds: self.rounds,
        }
    }

    /// Computes at most some more refinements, in parallel, and enters them at the end of a round.
    pub(super) fn step(&mut self, context: &RankingContext, candidates: &mut [Candidate], most: usize) {
        let left = self.leading.iter().skip(self.refined.len()).take(most).copied().collect();
        let refine = |at: usize| context.refine(&candidates[at], &self.later, self.rounds + 1);
        self.refined.extend(parallel::each(left, refine));
        if self.refined.len() == self.leading.len() && self.rounds < ROUNDS {
            for (at, refinement) in self.leading.iter().zip(std::mem::take(&mut self.refined)) {
                context.enter(&mut candidates[*at], refinement);
            }
            self.taken += self.leading.len();
            self.rounds += 1;
            self.keep_contenders(context.costs.hand_over, candidates);
        }
    }

    /// Keeps the candidates that may still lead; none where nothing comes near the best.
    fn keep_contenders(&mut self, hand_over: f64, candidates: &[Candidate]) {
        let cost = |at: &usize| candidates[*at].expected_cost();
        let best = self.leading.iter().map(cost).fold(hand_over, f64::min);
        let near = |cost: f64| cost <= best * (1.0 + THIN);
        self.leading.retain(|at| near(cost(at)));
        if self.leading.len() + usize::from(near(hand_over)) < 2 {
            self.leading.clear();
        }
    }
}

impl RankingContext {
    /// The value of a candidate with this many further observations after it.
    fn refine(&self, candidate: &Candidate, later: &[usize], observations: usize) -> Refinement {
        match candidate {
            Candidate::Observe(observe) => {
                let after = self.after_observing(observe.observation);
                let rests = after.iter().zip(&observe.results).map(|(after, result)| {
                    let rest = result.p * result.expected_cost;
                    match result.p < RARE {
                        true => (rest, None),
                        false => self.refined_cost(&after.belief(), rest, later, observations),
                    }
                });
                Refinement { rests: rests.collect(), untried: f64::INFINITY }
            }
            Candidate::Repair(RepairCandidate { repair, failed, rest, .. }) => Refinement {
                rests: vec![self.refined_cost(&failed.belief(), *rest, later, observations)],
                untried: plan::expected_cost(self.plan_context(), self.untried(repair.index())),
            },
            Candidate::Stop(_) => Refinement { rests: Vec::new(), untried: f64::INFINITY },
        }
    }

    /// Expected cost from a belief times its chance: the smaller of the `known` cost and the cost with the
    /// best further observation first.
    fn refined_cost(
        &self,
        belief: &BeliefState,
        known: f64,
        later: &[usize],
        observations: usize,
    ) -> (f64, Option<ContingentStep>) {
        let mut best = (known, None);
        let all: f64 = belief.weights.iter().sum();
        for at in later.iter().copied().filter(|at| belief.seen & observation_bit(*at) == 0) {
            let observation = &self.observations[at];
            let opening = self.costs.opening(observation.setups & !belief.open);
            let mut cost = all * (observation.cost.money + opening.money);
            let mut after = Vec::with_capacity(observation.results.len());
            for result in &observation.results {
                // Costs only add up, so the loop can stop once the sum reaches the best cost.
                if cost >= best.0 {
                    break;
                }
                let weights = self.weights_given(belief, result);
                let chance: f64 = weights.iter().sum();
                let then = self.observed(belief, at, &weights);
                let by_plan = chance * plan::expected_cost(self.plan_context(), then);
                let (rest, next) = match observations > 1 && chance >= RARE {
                    true => self.refined_cost(&then, by_plan, later, observations - 1),
                    false => (by_plan, None),
                };
                cost += rest;
                after.push(next);
            }
            if cost < best.0 {
                best = (cost, Some(ContingentStep { observation: at, after }));
            }
        }
        best
    }

    /// Enters a refinement into its candidate.
    fn enter(&self, candidate: &mut Candidate, Refinement { rests, untried }: Refinement) {
        match candidate {
            Candidate::Observe(observe) => enter_results(observe, rests),
            Candidate::Repair(repair) => {
                if let Some((rest, Some(then))) = rests.into_iter().next() {
                    (repair.rest, repair.then) = (rest, Some(then));
                }
                repair.untried = untried;
                repair.update(self.costs.attempt.money);
            }
            Candidate::Stop(_) => {}
        }
        candidate.bound();
    }
}

/// Enters the values of the results of an observation.
fn enter_results(observe: &mut ObserveCandidate, rests: Vec<(f64, Option<ContingentStep>)>) {
    for (result, (rest, then)) in observe.results.iter_mut().zip(rests) {
        if then.is_some() {
            result.expected_cost = rest / result.p;
            result.then = then;
        }
    }
    observe.update();
}
