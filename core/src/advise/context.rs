//! The context of a ranking: the data from which its candidates get their values.

use super::belief::{AfterObservation, BeliefState, CauseSets, FailedRepair, PlanContext, observation_bit};
use super::candidate::CauseChance;
use super::cost::{Cost, Costs, Setups, conditions, subset};
use super::observe_repair::{Observable, ObserveRepairs};
use super::plan;
use super::sets::{CauseSet, ResultPosterior, SetPosterior};
use super::steps;
use crate::job::{Action, Job};
use crate::machine::ConditionId;
use halfsplit_bayes::support::order::largest;

/// Information below this, in bits, is rounding error of its several hundred terms.
const ROUNDED_BITS: f64 = 1e-12;

/// The context of a ranking: the data from which its candidates get their values. It follows from the job and
/// does not change.
#[derive(Debug)]
pub(super) struct RankingContext {
    pub(super) costs: Costs,
    /// The posterior over sets of causes.
    pub(super) posterior: SetPosterior,
    /// The actions that can be done now.
    pub(super) actions: Vec<Action>,
    /// By closed gate: the actions that open it, the one to do first in front.
    pub(super) lifts: Vec<Vec<Action>>,
    /// The observations among them.
    pub(super) observations: Vec<Observation>,
    pub(super) observe_repairs: ObserveRepairs,
    /// The sets of the posterior, for plans.
    pub(super) plan_sets: CauseSets,
    /// The set-up work that is done.
    pub(super) open: Setups,
    /// Cost of handing over.
    pub(super) hand_over_cost: f64,
    /// Value of the machine, if the job states it. Giving the machine up costs as much.
    pub(super) machine_value: Option<f64>,
    conditions: usize,
}

/// An observation that can be made now.
#[derive(Debug)]
pub(super) struct Observation {
    pub(super) action: Action,
    /// The possible results.
    pub(super) results: Vec<ResultPosterior>,
    /// Cost without set-up work.
    pub(super) cost: Cost,
    /// The set-up work that it needs.
    pub(super) setups: Setups,
}

impl Observation {
    /// Whether it is a plain start attempt.
    pub(super) fn is_plain_attempt(&self) -> bool {
        self.action == Action::PLAIN_ATTEMPT
    }

    /// Whether it is a start attempt, which needs the machine closed.
    pub(super) fn is_attempt(&self) -> bool {
        matches!(self.action, Action::Attempt(_))
    }

    /// The observation as plans may use it. A plain attempt is part of every plan anyway.
    fn observable(&self) -> Observable<'_> {
        Observable {
            cost: self.cost,
            setups: self.setups,
            closes: self.is_attempt(),
            results: if self.is_plain_attempt() { &[] } else { &self.results },
        }
    }

    /// The set-up work that is done after it.
    pub(super) fn open_after(&self, open: Setups) -> Setups {
        if self.is_attempt() { 0 } else { open | self.setups }
    }
}

impl RankingContext {
    /// The context of a job with the actions that can be done on it now.
    pub(super) fn new(
        job: &Job,
        posterior: SetPosterior,
        actions: Vec<Action>,
        lifts: Vec<Vec<Action>>,
    ) -> Self {
        let costs = job.costs();
        let observations: Vec<Observation> =
            actions.iter().filter_map(|action| observation(job, &posterior, action)).collect();
        let observables: Vec<Observable> = observations.iter().map(Observation::observable).collect();
        let observe_repairs = ObserveRepairs::new(&costs, &posterior.sets, &posterior.p, &observables);
        let plan_sets =
            CauseSets::new(&posterior.sets, PlanContext { costs: &costs, observe_repairs: &observe_repairs });
        RankingContext {
            costs,
            posterior,
            actions,
            lifts,
            observations,
            observe_repairs,
            plan_sets,
            open: steps::open_bits(job),
            hand_over_cost: job.hand_over_cost,
            machine_value: job.machine_value,
            conditions: job.machine.condition_count(),
        }
    }

    /// The costs and observations that plans are made of.
    pub(super) fn plan_context(&self) -> PlanContext<'_> {
        PlanContext { costs: &self.costs, observe_repairs: &self.observe_repairs }
    }

    /// Expected cost of repairing by the odds alone, with no further observation.
    pub(super) fn repairs_only_cost(&self) -> f64 {
        let observe_repairs = ObserveRepairs::none(&self.costs, &self.posterior.sets);
        let context = PlanContext { costs: &self.costs, observe_repairs: &observe_repairs };
        let sets = CauseSets::new(&self.posterior.sets, context);
        plan::expected_cost(context, BeliefState { sets: &sets, ..self.belief() })
    }

    /// Expected cost with perfect information about the causes.
    pub(super) fn perfect_information_cost(&self) -> f64 {
        let SetPosterior { sets, p, .. } = &self.posterior;
        sets.iter().zip(p).map(|(set, p)| p * self.costs.known(*set, self.open).cost).sum()
    }

    /// The present belief.
    pub(super) fn belief(&self) -> BeliefState<'_> {
        BeliefState {
            sets: &self.plan_sets,
            weights: &self.posterior.p,
            open: self.open,
            seen: 0,
            done: None,
        }
    }

    /// The belief after a repair without an attempt.
    pub(super) fn untried(&self, repair: usize) -> BeliefState<'_> {
        let open = self.open | self.costs.repairs[repair].setups;
        BeliefState { done: Some(repair), open, ..self.belief() }
    }

    /// The belief after each result of an observation, without engines that run because nothing stops them.
    pub(super) fn after_observing(&self, at: usize) -> Vec<AfterObservation<'_>> {
        let observation = &self.observations[at];
        let results = observation.results.iter().enumerate();
        let after = |(r, result): (usize, &ResultPosterior)| {
            let runs = observation.is_plain_attempt() && r == 0;
            AfterObservation {
                sets: &self.plan_sets,
                weights: if runs { self.runs_by_luck(result) } else { result.with_set.clone() },
                open: observation.open_after(self.open),
                seen: observation_bit(at),
            }
        };
        results.map(after).collect()
    }

    /// Chance that an observation shows an engine that runs because nothing stops it.
    pub(super) fn runs_cured(&self, at: usize) -> f64 {
        let observation = &self.observations[at];
        match observation.results.first() {
            Some(runs) if observation.is_plain_attempt() => {
                runs.p - self.runs_by_luck(runs).iter().sum::<f64>()
            }
            _ => 0.0,
        }
    }

    /// The weights of the sets whose causes are still present although the engine runs. The engine ran by
    /// luck and will not run again; trying until it does is no repair.
    fn runs_by_luck(&self, runs: &ResultPosterior) -> Vec<f64> {
        let causes = self.posterior.sets.iter().zip(&runs.with_set);
        causes.map(|(set, p)| if *set == 0 { 0.0 } else { *p }).collect()
    }

    /// The weights of a belief together with a result of an observation. The observation is assumed to show
    /// what it would show now, given the same causes.
    pub(super) fn weights_given(&self, belief: &BeliefState, result: &ResultPosterior) -> Vec<f64> {
        let p = &self.posterior.p;
        let shown = |(from, weight): (&usize, &f64)| {
            if p[*from] > 0.0 { weight * result.with_set[*from] / p[*from] } else { 0.0 }
        };
        belief.sets.from.iter().zip(belief.weights).map(shown).collect()
    }

    /// A belief after a further observation, with the weights given its result.
    pub(super) fn observed<'s>(
        &self,
        belief: &BeliefState<'s>,
        at: usize,
        weights: &'s [f64],
    ) -> BeliefState<'s> {
        let open = self.observations[at].open_after(belief.open);
        let seen = belief.seen | observation_bit(at);
        BeliefState { sets: belief.sets, weights, open, seen, done: None }
    }

    /// The belief after a repair that did not help.
    pub(super) fn failed(&self, repair: usize) -> FailedRepair {
        let SetPosterior { sets, p, .. } = &self.posterior;
        let cost = &self.costs.repairs[repair];
        let (mut left, mut from, mut weights) = (Vec::new(), Vec::new(), Vec::new());
        for (at, set) in sets.iter().enumerate() {
            let remains = set & !cost.cures;
            // A repair that did not take leaves the set as it was.
            let cases = match (*set, remains) {
                (0, _) => &[][..],
                (_, 0) => &[(*set, 1.0 - cost.takes)],
                _ if remains == *set => &[(*set, 1.0)],
                _ => &[(remains, cost.takes), (*set, 1.0 - cost.takes)],
            };
            for (set, chance) in cases.iter().filter(|(_, chance)| *chance > 0.0) {
                left.push(*set);
                from.push(at);
                weights.push(p[at] * chance);
            }
        }
        let subsets = left.iter().zip(&from).map(|(left, from)| subset(sets[*from], *left)).collect();
        FailedRepair {
            left: CauseSets::left(from, subsets, self.plan_context()),
            sets: left,
            p: weights.iter().sum(),
            weights,
        }
    }

    /// The most likely cause under some weights of sets.
    pub(super) fn leader(&self, sets: &[CauseSet], weights: &[f64]) -> Option<CauseChance> {
        let total: f64 = weights.iter().sum();
        let mut chances = vec![0.0; self.conditions];
        for (set, weight) in sets.iter().zip(weights) {
            for condition in conditions(*set) {
                chances[condition] += weight / total;
            }
        }
        let best = largest(chances.iter().copied())?;
        (total > 0.0).then(|| CauseChance { condition: ConditionId::new(best), p: chances[best] })
    }

    /// Entropy of the set of causes, in bits.
    pub(super) fn doubt(&self) -> f64 {
        let p = self.posterior.p.iter().filter(|p| **p > 0.0);
        p.map(|p| -p * p.log2()).sum()
    }

    /// Mutual information between the result and the set of causes, in bits.
    pub(super) fn information(&self, results: &[ResultPosterior]) -> f64 {
        let term = |joint: f64, p_result: f64, p_set: f64| {
            if joint > 0.0 && p_result > 0.0 && p_set > 0.0 {
                joint * (joint / (p_result * p_set)).log2()
            } else {
                0.0
            }
        };
        let of_result = |result: &ResultPosterior| {
            let joints = result.with_set.iter().zip(&self.posterior.p);
            joints.map(|(joint, p)| term(*joint, result.p, *p)).sum::<f64>()
        };
        let bits = results.iter().map(of_result).sum::<f64>();
        if bits > ROUNDED_BITS { bits } else { 0.0 }
    }

    /// Cost of a further observation in some state of belief, with the set-up work that is not open.
    pub(super) fn cost_in(&self, belief: &BeliefState, at: usize) -> Cost {
        let observation = &self.observations[at];
        observation.cost + self.costs.opening(observation.setups & !belief.open)
    }
}

/// An action as an observation; none for a repair.
fn observation(job: &Job, posterior: &SetPosterior, action: &Action) -> Option<Observation> {
    let results = match action {
        Action::Check(check) => posterior.checks.iter().find(|(c, _)| c == check)?.1.clone(),
        Action::Attempt(bypasses) => posterior.attempt(job, bypasses),
        Action::Repair(_) => return None,
    };
    let facts = steps::facts(job.machine, action);
    Some(Observation {
        action: action.clone(),
        results,
        cost: steps::cost(job, facts.effort),
        setups: steps::bits(&facts.setups),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{FindingsNetwork, JobFile, LookaheadNetwork, Outcome, StepRecord};
    use crate::lesson::mower;
    use halfsplit_bayes::VarId;

    /// Logarithm of the probability of the findings of a job.
    fn log_p(file: &JobFile) -> f64 {
        let job = Job::new(mower(), file).expect("valid");
        let (bench, work) = FindingsNetwork::new(&job).expect("possible");
        bench.tree.log_p_evidence(&work)
    }

    #[test]
    fn an_attempt_with_several_bypasses_is_predicted_as_it_is_judged() {
        let text = r#"{"machine": "mower-recoil", "steps": [{"do": "attempt", "outcome": "nothing"}]}"#;
        let file = JobFile::from_json(text).expect("a job");
        let job = Job::new(mower(), &file).expect("valid");
        let (bench, work) = FindingsNetwork::new(&job).expect("possible");
        let marginals = |var: VarId| bench.tree.marginal(&work, var);
        let given = LookaheadNetwork::all(&job).expect("small enough");
        let chances = job.chances_to_act(&bench, &marginals);
        let posterior = SetPosterior::new(&job, &given, &chances, log_p(&file)).expect("possible");
        let bypass = |id: &str| mower().find_bypass("bypass", id).expect("a bypass");
        let mut runs = Vec::new();
        for ids in
            [&["good-plug", "stop-lead-off"][..], &["good-plug"], &["stop-lead-off"], &["dose", "good-plug"]]
        {
            let Action::Attempt(bypasses) = Action::attempt(ids.iter().map(|id| bypass(id)).collect()) else {
                panic!("an attempt")
            };
            let predicted = posterior.attempt(&job, &bypasses);
            for (outcome, predicted) in Outcome::ALL.into_iter().zip(&predicted) {
                let bypass = ids.iter().map(|id| (*id).to_owned()).collect();
                let mut made = file.clone();
                made.steps.push(StepRecord::Attempt { bypass, outcome, known: None });
                let p = (log_p(&made) - log_p(&file)).exp();
                // Sampled sets, and severities from the description, keep the two apart.
                assert!((predicted.p - p).abs() < 0.02, "{ids:?} {outcome:?}: {} and {p}", predicted.p);
            }
            runs.push(predicted[0].p);
        }
        assert!(runs[0] > runs[1].max(runs[2]) + 0.02, "both bypasses count: {runs:?}");
    }
}
