//! Exact figures of the steps that people see: chances of results, the odds after them, and information.
//!
//! The values of candidates rest on sets of causes, of which some are drawn at random (`sets.rs`). The figures here rest
//! on no drawn set. Networks of the findings have a leaf for each observation that leads the ranking. One propagation
//! gives the chances of the results. One more for each result gives the odds after it, with the changes that the step
//! makes. One for each repair gives the chance that nothing stops the engine after it. Networks for all observations
//! would take longer than the rest of the answer, so observations further down the ranking have no figures.

use super::candidate::CauseChance;
use super::context::RankingContext;
use super::sets::SetPosterior;
use crate::job::{Action, FindingsNetwork, Job, JobError, Outcome, PredictionNetwork, StepEffects};
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
    /// By result: the most likely cause after the step; none where the engine runs.
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
    /// The figures of some observations, and of all repairs of a context.
    ///
    /// # Errors
    /// None for findings that are possible.
    pub(super) fn new(
        job: &Job,
        bench: &FindingsNetwork,
        log_p: f64,
        marginals: &[Vec<f64>],
        context: &RankingContext,
        observations: &[Action],
    ) -> Result<Self, JobError> {
        let (observations, repairs) = parallel::both(
            || predicted(job, context, observations),
            || Ok(repairs(job, bench, log_p, marginals, &context.actions)),
        )?;
        Ok(Predictions { observations, repairs })
    }

    /// Replaces the figures of observations by those of others. All come from the same networks then, so that they agree
    /// to the last digit with figures that are computed at once.
    ///
    /// # Errors
    /// None for findings that are possible.
    pub(super) fn replace_observations(
        &mut self,
        job: &Job,
        context: &RankingContext,
        observations: &[Action],
    ) -> Result<(), JobError> {
        self.observations = predicted(job, context, observations)?;
        Ok(())
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

/// The figures of some observations. An observation whose network is too large has none.
fn predicted(
    job: &Job,
    context: &RankingContext,
    observations: &[Action],
) -> Result<Vec<(Action, ObservationPrediction)>, JobError> {
    let of_group = |group: Vec<Action>| -> Result<Vec<(Action, ObservationPrediction)>, JobError> {
        let mut figures = Vec::new();
        for network in PredictionNetwork::all(job, &group)? {
            for ((action, _), (p, leaders)) in network.leaves.iter().zip(results(job, &network)) {
                let information_bits = information(job, context, action, &p);
                figures.push((action.clone(), ObservationPrediction { p, leaders, information_bits }));
            }
        }
        Ok(figures)
    };
    let groups = parallel::each(PredictionNetwork::groups(job, observations), of_group);
    Ok(groups.into_iter().collect::<Result<Vec<_>, JobError>>()?.into_iter().flatten().collect())
}

/// By result of an observation: its chance, and the most likely cause after it.
type Results = (Vec<f64>, Vec<Option<CauseChance>>);

/// By observation of a network: its results.
fn results(job: &Job, network: &PredictionNetwork) -> Vec<Results> {
    let tree = &network.tree;
    let states = |at: usize| tree.network().variable(network.leaves[at].1).cardinality();
    let questions: Vec<(usize, usize)> =
        (0..network.leaves.len()).flat_map(|at| (0..states(at)).map(move |result| (at, result))).collect();
    let now: Vec<VarId> = job.machine.model.parts.keys().map(|part| network.variables.now(part)).collect();
    let targets = tree.targets(&now);
    let answer = |some: &[(usize, usize)]| {
        let mut work = tree.lane_workspace::<LANES>();
        let evidence: Vec<Evidence> = some
            .iter()
            .map(|(at, result)| {
                let mut evidence = Evidence::new();
                evidence.set_state(network.leaves[*at].1, *result, states(*at));
                evidence
            })
            .collect();
        let possible = tree.propagate_lanes(&mut work, &evidence.iter().collect::<Vec<_>>(), Some(&targets));
        let result = |(lane, (at, result)): (usize, &(usize, usize))| {
            let action = &network.leaves[*at].0;
            let after = job.followed_by(action, *result);
            let marginal = |part: PartId| tree.lane_marginal(&work, lane, now[part.index()]);
            let runs = *action == Action::PLAIN_ATTEMPT && Outcome::ALL[*result] == Outcome::Runs;
            let leader =
                if possible[lane] && !runs { most_likely(&chances_after(&after, marginal)) } else { None };
            (*at, tree.lane_log_p_evidence(&work, lane), leader)
        };
        some.iter().enumerate().map(result).collect::<Vec<_>>()
    };
    let mut all: Vec<Results> = vec![(Vec::new(), Vec::new()); network.leaves.len()];
    let chunks = parallel::each(questions.chunks(LANES).collect(), answer);
    for (at, log_p, leader) in chunks.into_iter().flatten() {
        all[at].0.push(log_p);
        all[at].1.push(leader);
    }
    for (chances, leaders) in &mut all {
        let most = chances.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        chances.iter_mut().for_each(|log_p| *log_p = (*log_p - most).exp());
        let total: f64 = chances.iter().sum();
        chances.iter_mut().for_each(|p| *p /= total);
        leaders.iter_mut().zip(chances).filter(|(_, p)| **p <= IMPOSSIBLE).for_each(|(l, _)| *l = None);
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
    marginals: &[Vec<f64>],
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
    let now = bench.variables.now(PartId::new(0));
    let answer = |some: &[RepairId]| {
        let after: Vec<Job> =
            some.iter().map(|repair| job.followed_by(&Action::Repair(*repair), 0)).collect();
        let evidence: Vec<Evidence> = after.iter().map(|after| nothing_acts(after, bench)).collect();
        let mut work = tree.lane_workspace::<LANES>();
        tree.propagate_lanes(&mut work, &evidence.iter().collect::<Vec<_>>(), Some(&tree.targets(&[now])));
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advise::session::Figures;
    use crate::advise::{AdviceSession, Assessment, Leader, StepKind};
    use crate::job::{JobFile, StepRecord};
    use crate::machine::Machine;
    use crate::precision::EXACT;

    /// A machine's job after a failed attempt, a repair that did not help and another attempt.
    fn after_some_steps(machine: &Machine) -> JobFile {
        let file = format!(r#"{{"machine": "{}"}}"#, machine.id());
        let mut file = JobFile::from_json(&file).expect("a job");
        let attempt = |outcome| StepRecord::Attempt { bypass: Vec::new(), outcome, known: None };
        file.steps.push(attempt(Outcome::Nothing));
        file.steps.push(StepRecord::Repair { repair: "new-plug".into(), known: None });
        file.steps.push(attempt(Outcome::Tries));
        file
    }

    fn with_step(file: &JobFile, step: StepRecord) -> JobFile {
        let mut longer = file.clone();
        longer.steps.push(step);
        longer
    }

    /// Logarithm of the probability of the findings of a job, and the odds of its causes, largest first.
    fn recorded(machine: &Machine, file: &JobFile) -> Option<(f64, Vec<f64>)> {
        let job = Job::new(machine, file).expect("valid");
        let (bench, work) = FindingsNetwork::new(&job).ok()?;
        let chances = job.chances_to_act(&bench, &|var| bench.tree.marginal(&work, var));
        Some((bench.tree.log_p_evidence(&work), chances))
    }

    fn close(what: &str, a: f64, b: f64) {
        assert!((a - b).abs() < EXACT, "{what}: {a} against {b}");
    }

    /// Compares a leader with the odds once the result is recorded.
    fn leads(machine: &Machine, what: &str, leader: Option<&Leader>, chances: &[f64]) {
        let best = chances.iter().copied().fold(0.0, f64::max);
        let Some(leader) = leader else { return close(what, best, 0.0) };
        close(what, leader.p_cause, best);
        let named = |c: &ConditionId| {
            let (part, condition) = machine.condition(*c);
            part.id == leader.part && condition.id == leader.condition
        };
        let named = machine.condition_ids().find(named).expect("a condition");
        close(what, chances[named.index()], best);
    }

    fn compare_observations(machine: &Machine, file: &JobFile, answer: &Assessment, some: usize) -> usize {
        let (log_p, _) = recorded(machine, file).expect("possible");
        let mut compared = 0;
        let observations =
            answer.ranking.iter().filter(|s| !matches!(s.kind, StepKind::Repair | StepKind::HandOver));
        for step in observations.step_by(some) {
            let reading = machine.file().checks.iter().any(|c| c.id == step.id && c.reading.is_some());
            let total: f64 = step.results.iter().map(|r| r.p).sum();
            close(&step.id, total, 1.0);
            for (result, outcome) in step.results.iter().zip(Outcome::ALL.iter().cycle()) {
                let record = match step.kind {
                    StepKind::Check => StepRecord::Check {
                        check: step.id.clone(),
                        result: Some(result.id.clone()),
                        reading: None,
                        known: None,
                    },
                    StepKind::Bypass => {
                        StepRecord::Attempt { bypass: vec![step.id.clone()], outcome: *outcome, known: None }
                    }
                    _ => StepRecord::Attempt { bypass: Vec::new(), outcome: *outcome, known: None },
                };
                let what = format!("{} {} {}", machine.id(), step.id, result.id);
                let Some((then, chances)) = recorded(machine, &with_step(file, record)) else {
                    close(&what, result.p, 0.0);
                    continue;
                };
                // The likelihood of a reading is scaled and is not a probability.
                if !reading {
                    close(&what, result.p, (then - log_p).exp());
                }
                // Nothing leads where the engine runs.
                if result.p > 1e-9 && !(step.kind == StepKind::Attempt && *outcome == Outcome::Runs) {
                    leads(machine, &what, result.leader.as_ref(), &chances);
                }
                compared += 1;
            }
        }
        compared
    }

    #[test]
    fn chances_and_leaders_are_those_of_the_recorded_results() {
        let mut compared = 0;
        for machine in Machine::all_shipped().expect("shipped") {
            let file = after_some_steps(&machine);
            let job = Job::new(&machine, &file).expect("valid");
            let answer = AdviceSession::on(&job, 0, Figures::All).expect("possible").into_assessment();
            // All steps of the mower, some of the others.
            let some = if machine.id() == "mower-recoil" { 1 } else { 4 };
            compared += compare_observations(&machine, &file, &answer, some);
        }
        assert!(compared > 200, "{compared}");
    }

    #[test]
    fn repairs_run_where_nothing_acts_once_they_are_recorded() {
        let mut compared = 0;
        for id in ["mower-recoil", "riding-mower"] {
            let machine = Machine::shipped(id).expect("shipped");
            let file = after_some_steps(&machine);
            let job = Job::new(&machine, &file).expect("valid");
            let answer = AdviceSession::on(&job, 0, Figures::Leading).expect("possible").into_assessment();
            for step in answer.possible().filter(|s| s.kind == StepKind::Repair).step_by(3) {
                let record = StepRecord::Repair { repair: step.id.clone(), known: None };
                let longer = with_step(&file, record);
                let then = Job::new(&machine, &longer).expect("valid");
                let then = AdviceSession::on(&then, 0, Figures::Sampled).expect("possible").into_assessment();
                close(&step.id, step.results[0].p, then.p_no_cause);
                let (_, chances) = recorded(&machine, &longer).expect("possible");
                let left: Vec<f64> = chances.iter().map(|p| p / (1.0 - then.p_no_cause)).collect();
                leads(&machine, &step.id, step.results[1].leader.as_ref(), &left);
                compared += 1;
            }
        }
        assert!(compared > 10, "{compared}");
    }
}
