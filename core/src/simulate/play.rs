//! A policy plays jobs to their end.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::calibration::Score;
use super::policy::{self, Next, Policy};
use super::truth::{Doing, Truth};
use super::{cheapest, checklist, clairvoyant};
use crate::advise::{Adviser, Possible};
use crate::job::{Job, JobError, JobFile};
use crate::machine::Machine;

use serde::Serialize;

/// A job longer than this is handed over.
const LONGEST: usize = 60;

/// How a job ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ending {
    /// The engine runs.
    Running,
    /// The policy gave up.
    HandedOver,
    /// The job was too long, or hung together in too many ways to be reckoned with: handed over too.
    BrokenOff,
}

/// What a job took.
#[derive(Debug, Clone, PartialEq)]
pub struct Ended {
    /// How it ended.
    pub ending: Ending,
    /// CompiledJob minutes.
    pub minutes: f64,
    /// Price of minutes and parts, and of handing over where it was.
    pub cost: f64,
    /// Repairs with parts to be bought, of which none was for a condition that stopped the engine then.
    pub wrong_parts: u32,
    /// How right the odds were, at every step at which they were asked for.
    pub score: Score,
    /// What stopped the engine when the machine came in, as `part/condition`.
    pub reasons: Vec<String>,
    /// Everything that was done.
    pub job: JobFile,
}

/// What is decided after some steps, and the chance of each condition to act.
#[derive(Debug)]
struct Decided {
    next: Next,
    /// Whether a repair is followed by a try.
    then_try: bool,
    chances: Vec<f64>,
    /// How many outcomes of the job were left out, as it was too large.
    left_out: usize,
}

/// Jobs by one policy. What was decided after the same steps is kept and shared by all jobs; it follows from
/// the steps alone, so that the order in which jobs are played changes nothing.
#[derive(Debug)]
pub struct Simulation<'m> {
    believed: &'m Machine,
    real: &'m Machine,
    policy: Policy,
    seed: String,
    decided: Mutex<HashMap<String, Arc<Decided>>>,
}

impl<'m> Simulation<'m> {
    /// Machines are drawn from `real`; the policy reckons with `believed`, which differs in rates only.
    #[must_use]
    pub fn new(believed: &'m Machine, real: &'m Machine, policy: Policy, seed: &str) -> Self {
        Simulation { believed, real, policy, seed: seed.to_owned(), decided: Mutex::default() }
    }

    /// Plays the job of a number. The same number is the same machine for every policy.
    ///
    /// # Errors
    /// A machine that nearly always starts; findings that the policy holds to be impossible, which none is that
    /// a machine with other rates can show.
    pub fn play(&self, number: usize) -> Result<Ended, JobError> {
        let mut truth = Truth::not_starting(self.real, &format!("{} {number}", self.seed), false)?;
        let mut file = JobFile::from_json(r#"{"machine": ""}"#)?;
        self.believed.id().clone_into(&mut file.machine);
        let name = |condition| {
            let (part, condition) = self.real.condition(condition);
            format!("{}/{}", part.id, condition.id)
        };
        let reasons: Vec<String> = truth.acting().map(name).collect();
        let (mut score, mut wrong_parts) = (Score::default(), 0);
        let (mut doing, mut then_try) = (Doing::Attempt(Vec::new()), false);
        // What makes a job too large stays with it.
        let mut left_out = 0;
        loop {
            let before = Job::new(self.believed, &file)?;
            file.steps.push(truth.take(&before, &doing));
            let job = Job::new(self.believed, &file)?;
            let try_now = match &doing {
                Doing::Repair(repair) => {
                    let cures = &self.believed.model.repairs[repair.index()].cures;
                    let bought = self.believed.file().repairs[repair.index()].parts_cost.typical > 0.0;
                    let needed = truth.acting().any(|c| cures.contains(&c));
                    wrong_parts += u32::from(bought && !needed);
                    then_try
                }
                _ => false,
            };
            truth.act(&job);
            let end = |ending| {
                let spent = job.spent();
                let handed_over = if ending == Ending::Running { 0.0 } else { job.hand_over_cost };
                (ending, spent.minutes, spent.cost + handed_over)
            };
            let ended = if job.is_running() {
                Some(end(Ending::Running))
            } else if file.steps.len() >= LONGEST {
                Some(end(Ending::BrokenOff))
            } else if try_now {
                doing = Doing::Attempt(Vec::new());
                None
            } else {
                match self.decide(&job, &file, &truth, left_out) {
                    Err(error) if error.is_tangled() => Some(end(Ending::BrokenOff)),
                    Err(error) => return Err(error),
                    Ok(decided) => {
                        let acting: Vec<usize> = truth.acting().map(|c| c.index()).collect();
                        for (condition, p) in decided.chances.iter().enumerate() {
                            score.enter(*p, acting.contains(&condition));
                        }
                        left_out = decided.left_out;
                        match &decided.next {
                            Some(next) => {
                                (doing, then_try) = (next.clone(), decided.then_try);
                                None
                            }
                            None => Some(end(Ending::HandedOver)),
                        }
                    }
                }
            };
            if let Some((ending, minutes, cost)) = ended {
                drop(job);
                return Ok(Ended { ending, minutes, cost, wrong_parts, score, reasons, job: file });
            }
        }
    }

    fn decide(
        &self,
        job: &Job,
        file: &JobFile,
        truth: &Truth,
        left_out: usize,
    ) -> Result<Arc<Decided>, JobError> {
        if self.policy == Policy::Clairvoyant {
            let acting: Vec<_> = truth.acting().collect();
            let next = clairvoyant::next(job, &acting);
            return Ok(Arc::new(Decided { next, then_try: false, chances: Vec::new(), left_out }));
        }
        let key = file.to_json()?;
        if let Some(decided) = self.decided.lock().unwrap_or_else(PoisonError::into_inner).get(&key) {
            return Ok(decided.clone());
        }
        let decided = match self.policy {
            Policy::Checklist | Policy::Cheapest => {
                let possible = Possible::leaving_out(job, left_out)?;
                let next = match self.policy {
                    _ if policy::is_spent(job) => None,
                    Policy::Cheapest => cheapest::next(job, &possible),
                    _ => checklist::next(job, &possible),
                };
                Decided { next, then_try: true, chances: possible.chances(), left_out: possible.left_out() }
            }
            policy => {
                let adviser = Adviser::leaving_out(job, left_out)?;
                // Looking ahead changes nothing of what the others go by.
                let answer = if policy == Policy::Advice { adviser.at_last(job) } else { adviser.at_once() };
                let mut chances = vec![0.0; self.believed.condition_count()];
                for id in self.believed.condition_ids() {
                    let (part, condition) = self.believed.condition(id);
                    let odds =
                        answer.causes.iter().find(|c| c.part == part.id && c.condition == condition.id);
                    chances[id.index()] = odds.map_or(0.0, |c| c.p_cause);
                }
                let advised = answer.next.as_ref().filter(|_| policy == Policy::Advice);
                let then_try = advised.is_none_or(|step| step.then_try);
                Decided {
                    next: policy::by_ranking(policy, job, &answer)?,
                    then_try,
                    chances,
                    left_out: answer.left_out.len(),
                }
            }
        };
        let decided = Arc::new(decided);
        self.decided.lock().unwrap_or_else(PoisonError::into_inner).insert(key, decided.clone());
        Ok(decided)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lesson::mower;
    use crate::simulate::{Calibration, Summary, disturbed};
    use halfsplit_bayes::support::parallel;

    fn played(policy: Policy, jobs: std::ops::Range<usize>) -> Vec<Ended> {
        let simulation = Simulation::new(mower(), mower(), policy, "1");
        jobs.map(|n| simulation.play(n).expect("a machine")).collect()
    }

    #[test]
    fn jobs_do_not_hang_on_what_was_played_before() {
        let all = played(Policy::Advice, 0..6);
        assert_eq!(all[4..], played(Policy::Advice, 4..6));
        assert!(all.iter().all(|e| e.minutes > 0.0 && e.cost > 0.0));
    }

    #[test]
    fn who_knows_the_causes_pays_less_than_who_goes_by_a_list() {
        let cost = |policy| Summary::of(policy, &played(policy, 0..20)).cost.mean;
        assert!(cost(Policy::Clairvoyant) < cost(Policy::Checklist));
    }

    /// How far the shares of what was so are from the chances given, in standard errors, in every tenth in which
    /// a hundred chances were given; on machines drawn by other rates than those believed, or not.
    fn misses(real: &Machine, jobs: usize) -> Vec<f64> {
        let simulation = Simulation::new(mower(), real, Policy::Checklist, "calibration");
        let jobs =
            parallel::each((0..jobs).collect(), |number| simulation.play(number).expect("a machine").score);
        let table = Calibration::of(&jobs);
        let often = table.bins.iter().filter(|b| b.said >= 100);
        often.map(|b| (b.was_so - b.p).abs() / b.error.max(b.binomial)).collect()
    }

    #[test]
    fn causes_are_the_reason_as_often_as_is_said() {
        // At every step the sum of what was so less what was said has mean 0, whatever came before. One step of a
        // job hangs together with the next, so the error is taken over jobs; never below the binomial one, as a
        // tenth with few jobs in it may seem surer than it is. Ten tenths at four standard errors: one draw of 1,600.
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
