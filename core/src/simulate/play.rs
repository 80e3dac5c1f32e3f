//! A policy plays jobs to their end.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::calibration::Score;
use super::policy::{Decision, Policy, Situation};
use super::simulated_machine::SimulatedMachine;
use crate::advise::{Estimate, Possible, Spent};
use crate::job::{Action, Job, JobError, JobFile};
use crate::machine::{ConditionId, Machine};

use serde::Serialize;

/// Limit on the steps of a job. A longer job is handed over.
const LONGEST: usize = 60;

/// How a job ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ending {
    /// The engine runs.
    Running,
    /// The policy gave up.
    HandedOver,
    /// The job is too long, or exact inference on it too large. It counts as handed over.
    BrokenOff,
}

/// A job played to its end, with its time and cost.
#[derive(Debug, Clone, PartialEq)]
pub struct SimulatedJob {
    /// How it ended.
    pub ending: Ending,
    /// Minutes at the bench, with those of putting right what was found.
    pub minutes: f64,
    /// Hours of waiting.
    pub wait_hours: f64,
    /// Price of minutes, waiting and parts, of handing over if the job ended so, and of putting right what was found.
    pub cost: f64,
    /// Price of putting right what was found and still there when the engine ran.
    pub put_right_cost: f64,
    /// Number of repairs with bought parts for conditions that were not there at the time.
    pub wrong_parts: u32,
    /// The predicted rest of the job at some decisions, with the rest as it came.
    pub forecasts: Vec<Forecast>,
    /// The calibration of the odds at every decision.
    pub score: Score,
    /// The conditions that stopped the engine on arrival, as `part/condition`.
    pub reasons: Vec<String>,
    /// The job with all its steps.
    pub job: JobFile,
}

/// Jobs played by one policy.
///
/// Decisions are cached by the steps before them, and all jobs share the cache. A decision depends on the
/// steps alone, so the order in which jobs are played changes nothing.
#[derive(Debug)]
pub struct Simulation<'m> {
    believed: &'m Machine,
    real: &'m Machine,
    policy: &'static dyn Policy,
    seed: String,
    decided: Mutex<HashMap<String, Arc<Decision>>>,
}

impl<'m> Simulation<'m> {
    /// Simulates a policy on machines drawn from `real`. The policy knows `believed`, which differs in rates only.
    #[must_use]
    pub fn new(believed: &'m Machine, real: &'m Machine, policy: &'static dyn Policy, seed: &str) -> Self {
        Simulation { believed, real, policy, seed: seed.to_owned(), decided: Mutex::default() }
    }

    /// Plays the job with a number. The same number gives every policy the same machine.
    ///
    /// # Errors
    /// A machine that nearly always starts. Findings that are impossible for the policy; a machine that
    /// differs in rates only shows none.
    pub fn play(&self, number: usize) -> Result<SimulatedJob, JobError> {
        let mut truth = SimulatedMachine::not_starting(self.real, &format!("{} {number}", self.seed), false)?;
        let mut file = JobFile::from_json(r#"{"machine": ""}"#)?;
        self.believed.id().clone_into(&mut file.machine);
        let name = |condition| {
            let (part, condition) = self.real.condition(condition);
            format!("{}/{}", part.id, condition.id)
        };
        let reasons: Vec<String> = truth.acting().map(name).collect();
        let (mut score, mut wrong_parts, mut predicted) = (Score::default(), 0, Vec::new());
        let (mut action, mut then_try) = (Action::PLAIN_ATTEMPT, false);
        // Outcomes that are left out once stay left out.
        let mut left_out = 0;
        loop {
            let before = Job::new(self.believed, &file)?;
            file.steps.push(truth.take(&before, &action));
            let job = Job::new(self.believed, &file)?;
            let try_now = match &action {
                Action::Repair(repair) => {
                    let cures = &self.believed.model.repairs[*repair].cures;
                    let bought = self.believed.repair(*repair).parts_cost.typical > 0.0;
                    let needed = truth.present().any(|c| cures.contains(&c));
                    wrong_parts += u32::from(bought && !needed);
                    then_try
                }
                _ => false,
            };
            truth.act(&job);
            let ended = if job.is_running() {
                Some(Ending::Running)
            } else if file.steps.len() >= LONGEST {
                Some(Ending::BrokenOff)
            } else if try_now {
                action = Action::PLAIN_ATTEMPT;
                None
            } else {
                match self.decide(&job, &file, &truth, left_out) {
                    Err(error) if error.is_tangled() => Some(Ending::BrokenOff),
                    Err(error) => return Err(error),
                    Ok(decided) => {
                        let acting: Vec<usize> = truth.acting().map(|c| c.index()).collect();
                        for (condition, p) in decided.chances.iter().enumerate() {
                            score.enter(*p, acting.contains(&condition));
                        }
                        left_out = decided.left_out;
                        predicted.push((job.spent(), decided.estimate.clone()));
                        match &decided.next {
                            Some(next) => {
                                (action, then_try) = (next.clone(), decided.then_try);
                                None
                            }
                            None => Some(Ending::HandedOver),
                        }
                    }
                }
            };
            if let Some(ending) = ended {
                let spent = job.spent();
                let put_right = match ending {
                    Ending::Running => job.putting_right(&still_to_mend(&job, &truth, left_out)?),
                    Ending::HandedOver | Ending::BrokenOff => job.putting_right(&[]),
                };
                let handed_over = if ending == Ending::Running { 0.0 } else { job.hand_over_cost };
                let until_end = spent.cost + handed_over;
                drop(job);
                return Ok(SimulatedJob {
                    ending,
                    minutes: spent.minutes + put_right.minutes,
                    wait_hours: spent.wait_hours + put_right.wait_hours,
                    cost: until_end + put_right.cost,
                    put_right_cost: put_right.cost,
                    wrong_parts,
                    forecasts: forecasts(&predicted, &spent, until_end, ending),
                    score,
                    reasons,
                    job: file,
                });
            }
        }
    }

    /// The decision of the policy. Decisions that depend on the steps alone are cached.
    fn decide(
        &self,
        job: &Job,
        file: &JobFile,
        truth: &SimulatedMachine,
        left_out: usize,
    ) -> Result<Arc<Decision>, JobError> {
        if self.policy.is_clairvoyant() {
            let acting: Vec<ConditionId> = truth.acting().collect();
            return Ok(Arc::new(self.policy.decide(&Situation { job, left_out, acting: &acting })?));
        }
        let key = file.to_json()?;
        if let Some(decided) = self.decided.lock().unwrap_or_else(PoisonError::into_inner).get(&key) {
            return Ok(decided.clone());
        }
        let decided = Arc::new(self.policy.decide(&Situation { job, left_out, acting: &[] })?);
        self.decided.lock().unwrap_or_else(PoisonError::into_inner).insert(key, decided.clone());
        Ok(decided)
    }
}

/// The faults that the job's own findings have shown and that are really still there.
fn still_to_mend(job: &Job, truth: &SimulatedMachine, left_out: usize) -> Result<Vec<ConditionId>, JobError> {
    let mut found = match Possible::leaving_out(job, left_out) {
        Err(error) if error.is_tangled() => Vec::new(),
        possible => possible?.found(),
    };
    found.retain(|fault| truth.present().any(|there| there == *fault));
    Ok(found)
}

/// The rest of a job as it was predicted at a decision, and as it came.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// Number of the decision, from 1.
    pub decision: usize,
    /// The prediction.
    pub estimate: Estimate,
    /// Cost from the decision to the end, with that of handing over, without putting right what was found besides.
    pub cost: f64,
    /// Minutes at the bench from the decision to the end, without putting right what was found besides.
    pub minutes: f64,
    /// Whether the engine ran in the end.
    pub runs: bool,
}

impl Forecast {
    /// The decisions whose predictions are compared.
    pub const DECISIONS: [usize; 3] = [1, 5, 9];
}

/// The predictions at the decisions that [`Forecast::DECISIONS`] names, each with the rest of the job as it came.
fn forecasts(
    predicted: &[(Spent, Option<Estimate>)],
    spent: &Spent,
    until_end: f64,
    ending: Ending,
) -> Vec<Forecast> {
    let forecast = |decision: usize| {
        let (before, estimate) = predicted.get(decision - 1)?;
        Some(Forecast {
            decision,
            estimate: estimate.clone()?,
            cost: until_end - before.cost,
            minutes: spent.minutes - before.minutes,
            runs: ending == Ending::Running,
        })
    };
    Forecast::DECISIONS.into_iter().filter_map(forecast).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::StepRecord;
    use crate::lesson::mower;
    use crate::simulate::{Calibration, Summary, disturbed, policy};
    use halfsplit_bayes::support::parallel;

    fn played(id: &str, jobs: std::ops::Range<usize>) -> Vec<SimulatedJob> {
        let simulation = Simulation::new(mower(), mower(), policy(id).expect("a policy"), "1");
        jobs.map(|n| simulation.play(n).expect("a machine")).collect()
    }

    #[test]
    fn jobs_do_not_hang_on_what_was_played_before() {
        let all = played("advice", 0..6);
        assert_eq!(all[4..], played("advice", 4..6));
        assert!(all.iter().all(|e| e.minutes > 0.0 && e.cost > 0.0));
    }

    #[test]
    fn hours_of_waiting_are_those_of_the_steps() {
        let jobs = played("clairvoyant", 0..20);
        let of_step = |step: &StepRecord| {
            let file = mower().file();
            match step {
                StepRecord::Check { check, .. } => {
                    file.checks.iter().find(|c| c.id == *check).map(|c| c.wait_hours)
                }
                StepRecord::Repair { repair, .. } => {
                    file.repairs.iter().find(|r| r.id == *repair).map(|r| r.wait_hours)
                }
                StepRecord::Attempt { .. } => Some(0.0),
            }
        };
        let hours = |e: &SimulatedJob| e.job.steps.iter().filter_map(of_step).sum::<f64>();
        assert!(jobs.iter().any(|e| e.wait_hours > 0.0));
        assert!(jobs.iter().all(|e| (e.wait_hours - hours(e)).abs() < 1e-9));
        let mean = jobs.iter().map(hours).sum::<f64>() / 20.0;
        assert!((Summary::of("clairvoyant", &jobs).wait_hours.mean - mean).abs() < 1e-9);
    }

    #[test]
    fn who_knows_the_causes_pays_less_than_who_goes_by_a_list() {
        let cost = |id| Summary::of(id, &played(id, 0..20)).cost.mean;
        assert!(cost("clairvoyant") < cost("checklist"));
    }

    /// By tenth in which a hundred chances were given: the distance, in standard errors, between the share
    /// that came true and the chances. The rates of the real machine may differ from those believed.
    fn misses(real: &Machine, jobs: usize) -> Vec<f64> {
        let simulation =
            Simulation::new(mower(), real, policy("checklist").expect("a policy"), "calibration");
        let jobs =
            parallel::each((0..jobs).collect(), |number| simulation.play(number).expect("a machine").score);
        let table = Calibration::of(&jobs);
        let often = table.bins.iter().filter(|b| b.said >= 100);
        often.map(|b| (b.was_so - b.p).abs() / b.error.max(b.binomial)).collect()
    }

    #[test]
    fn causes_are_the_reason_as_often_as_is_said() {
        // At every step, the sum of the truths minus the sum of the chances has mean 0, whatever came before.
        // The steps of one job are correlated, so the error is taken over jobs. It is never below the
        // binomial one, because a tenth with few jobs may seem more certain than it is. Ten tenths at four
        // standard errors: one draw of 1,600.
        let misses = misses(mower(), 200);
        assert!(misses.len() >= 7 && misses.iter().all(|m| *m < 4.0), "{misses:?}");
    }

    #[test]
    fn wrong_rates_show_in_the_calibration() {
        let wrong = disturbed(mower(), 10.0, "wrong").expect("valid");
        let misses = misses(&wrong, 80);
        assert!(misses.iter().any(|m| *m > 4.0), "{misses:?}");
    }
}
