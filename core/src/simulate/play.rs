//! A policy plays jobs to their end.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::calibration::Score;
use super::policy::{self, Next, Policy};
use super::truth::{Doing, Truth};
use super::{checklist, clairvoyant};
use crate::job::{Job, JobError, JobFile};
use crate::machine::Machine;

/// A job longer than this is handed over.
const LONGEST: usize = 60;

/// How a job ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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
    /// Bench minutes.
    pub minutes: f64,
    /// Price of minutes and parts, and of handing over where it was.
    pub cost: f64,
    /// Repairs with parts to be bought, of which none was for a condition that stopped the engine then.
    pub wrong_parts: u32,
    /// How right the odds were, at every step at which they were asked for.
    pub score: Score,
}

/// What is decided after some steps, and the chance of each condition to act.
#[derive(Debug)]
struct Decided {
    next: Next,
    chances: Vec<f64>,
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
    /// A machine that nearly always starts.
    pub fn play(&self, number: usize) -> Result<Ended, JobError> {
        let mut truth = Truth::not_starting(self.real, &format!("{} {number}", self.seed), false)?;
        let mut file = JobFile::from_json(r#"{"machine": ""}"#)?;
        self.believed.id().clone_into(&mut file.machine);
        let (mut score, mut wrong_parts) = (Score::default(), 0);
        let mut doing = Doing::Attempt(Vec::new());
        loop {
            let before = Job::new(self.believed, &file)?;
            file.steps.push(truth.take(&before, &doing));
            let job = Job::new(self.believed, &file)?;
            let repaired = match &doing {
                Doing::Repair(repair) => {
                    let cures = &self.believed.model.repairs[repair.index()].cures;
                    let bought = self.believed.file().repairs[repair.index()].parts_cost.typical > 0.0;
                    let needed = truth.acting().any(|c| cures.contains(&c));
                    wrong_parts += u32::from(bought && !needed);
                    true
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
            } else if repaired && self.policy != Policy::Clairvoyant {
                // A repair is followed by a try: that is what the advice prices.
                doing = Doing::Attempt(Vec::new());
                None
            } else {
                match self.decide(&job, &file, &truth) {
                    Err(_) => Some(end(Ending::BrokenOff)),
                    Ok(decided) => {
                        let acting: Vec<usize> = truth.acting().map(|c| c.index()).collect();
                        for (condition, p) in decided.chances.iter().enumerate() {
                            score.enter(*p, acting.contains(&condition));
                        }
                        match &decided.next {
                            Some(next) => {
                                doing = next.clone();
                                None
                            }
                            None => Some(end(Ending::HandedOver)),
                        }
                    }
                }
            };
            if let Some((ending, minutes, cost)) = ended {
                return Ok(Ended { ending, minutes, cost, wrong_parts, score });
            }
        }
    }

    fn decide(&self, job: &Job, file: &JobFile, truth: &Truth) -> Result<Arc<Decided>, JobError> {
        if self.policy == Policy::Clairvoyant {
            let acting: Vec<_> = truth.acting().collect();
            return Ok(Arc::new(Decided { next: clairvoyant::next(job, &acting), chances: Vec::new() }));
        }
        let key = file.to_json();
        if let Some(decided) = self.decided.lock().unwrap_or_else(PoisonError::into_inner).get(&key) {
            return Ok(decided.clone());
        }
        let answer = job.assess()?;
        let next = match self.policy {
            Policy::Checklist if policy::is_spent(job) => None,
            Policy::Checklist => checklist::next(job, &policy::possible(job, &answer)?),
            policy => policy::by_ranking(policy, job, &answer)?,
        };
        let mut chances = vec![0.0; self.believed.condition_count()];
        for id in self.believed.condition_ids() {
            let (part, condition) = self.believed.condition(id);
            let odds = answer.causes.iter().find(|c| c.part == part.id && c.condition == condition.id);
            chances[id.index()] = odds.map_or(0.0, |c| c.p_cause);
        }
        let decided = Arc::new(Decided { next, chances });
        self.decided.lock().unwrap_or_else(PoisonError::into_inner).insert(key, decided.clone());
        Ok(decided)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lesson::mower;
    use crate::simulate::Summary;

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
}
