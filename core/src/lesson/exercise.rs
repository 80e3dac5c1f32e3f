//! An exercise: a machine with hidden faults that does not start, and a clock of bench minutes.

use serde::{Deserialize, Serialize};

use crate::advise::{JobStatus, Spent};
use crate::job::{Action, Job, JobError, JobFile, StepRecord};
use crate::machine::Machine;
use crate::simulate::{SimulatedMachine, action_of};
use halfsplit_bayes::support::suggest::NoSuchId;

/// Limit on the steps of a run by the advice.
const LONGEST: usize = 40;

/// The recorded form of an [`Action`]: a step to take, with its result still unknown.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub enum ActionRecord {
    /// A check, by its id.
    Check(String),
    /// A repair, by its id.
    Repair(String),
    /// A start attempt, with the ids of the bypasses in place.
    Attempt(Vec<String>),
}

impl ActionRecord {
    /// Returns the action on a machine.
    ///
    /// # Errors
    /// An id that the machine does not have.
    pub fn on(&self, machine: &Machine) -> Result<Action, NoSuchId> {
        Ok(match self {
            ActionRecord::Check(check) => Action::Check(machine.find_check("check", check)?),
            ActionRecord::Repair(repair) => Action::Repair(machine.find_repair("repair", repair)?),
            ActionRecord::Attempt(bypasses) => {
                let bypasses = bypasses.iter().map(|id| machine.find_bypass("bypass", id));
                Action::attempt(bypasses.collect::<Result<_, _>>()?)
            }
        })
    }
}

/// The hidden faults of the machine of an exercise, and the state of the job.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Hidden {
    /// All hidden conditions, those that stopped the engine first.
    pub conditions: Vec<HiddenCondition>,
    /// Whether the last plain attempt ended with the engine running.
    pub runs: bool,
    /// Time and money spent on the job.
    pub spent: Spent,
}

/// A hidden condition of the machine of an exercise.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct HiddenCondition {
    /// Id of the part.
    pub part: String,
    /// Id of the condition.
    pub condition: String,
    /// Name for people.
    pub name: String,
    /// Whether it stopped the engine.
    pub cause: bool,
    /// Whether it has been repaired.
    pub mended: bool,
}

/// An exercise played from its first attempt to its end.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Played {
    /// The job with all its steps.
    pub job: JobFile,
    /// Whether the engine runs at the end. Otherwise the advice was to hand over, or the run reached its
    /// limit.
    pub runs: bool,
    /// Time and money spent on the job.
    pub spent: Spent,
}

/// The machine of a seed: the first drawn machine that does not start.
fn hidden(machine: &Machine, seed: u32) -> Result<SimulatedMachine<'_>, JobError> {
    SimulatedMachine::not_starting(machine, &seed.to_string(), true)
}

/// The machine of a seed after some steps.
fn after<'m>(job: &Job<'m>, seed: u32) -> Result<SimulatedMachine<'m>, JobError> {
    let mut truth = hidden(job.machine, seed)?;
    truth.replay(job);
    Ok(truth)
}

/// The job of an exercise at its beginning, with one attempt at which the engine did not run.
///
/// # Errors
/// A machine that nearly always starts.
pub fn exercise(machine: &Machine, seed: u32) -> Result<JobFile, JobError> {
    let outcome = hidden(machine, seed)?.attempt(&[]);
    Ok(JobFile {
        steps: vec![StepRecord::Attempt { bypass: Vec::new(), outcome, known: None }],
        ..empty(machine)?
    })
}

fn empty(machine: &Machine) -> Result<JobFile, JobError> {
    let mut file = JobFile::from_json(r#"{"machine": ""}"#)?;
    machine.id().clone_into(&mut file.machine);
    Ok(file)
}

/// The record of a step of an exercise, with its result. `job` holds the steps so far.
///
/// # Errors
/// A step that the machine does not have.
pub fn take(
    machine: &Machine,
    seed: u32,
    job: &JobFile,
    action: &ActionRecord,
) -> Result<StepRecord, JobError> {
    let checked = Job::new(machine, job)?;
    let mut truth = after(&checked, seed)?;
    Ok(truth.take(&checked, &action.on(machine)?))
}

/// The hidden faults of the machine of an exercise, and the state of the job.
///
/// # Errors
/// A job that is not of this machine.
pub fn reveal(machine: &Machine, seed: u32, job: &JobFile) -> Result<Hidden, JobError> {
    let job = Job::new(machine, job)?;
    let conditions: Vec<HiddenCondition> = after(&job, seed)?
        .conditions()
        .map(|(id, cause, still)| {
            let (part, condition) = machine.condition(id);
            HiddenCondition {
                part: part.id.clone(),
                condition: condition.id.clone(),
                name: condition.name.clone(),
                cause,
                mended: !still,
            }
        })
        .collect();
    // Conditions that stopped the engine come first.
    let (mut first, rest): (Vec<_>, Vec<_>) = conditions.into_iter().partition(|c: &HiddenCondition| c.cause);
    first.extend(rest);
    Ok(Hidden { conditions: first, runs: job.is_running(), spent: job.spent() })
}

/// Plays an exercise from its first attempt by the advice alone.
///
/// # Errors
/// A machine that nearly always starts.
pub fn play(machine: &Machine, seed: u32) -> Result<Played, JobError> {
    let mut file = exercise(machine, seed)?;
    while file.steps.len() < LONGEST {
        let job = Job::new(machine, &file)?;
        // The advice ends where exact inference on the job is too large.
        let Ok(answer) = job.assess() else { break };
        let next = match (answer.status, &answer.next) {
            (JobStatus::Open, Some(step)) => step,
            _ => break,
        };
        let Some(action) = action_of(machine, next)? else { break };
        let attempt = next.then_try.then_some(Action::PLAIN_ATTEMPT);
        for action in [Some(action), attempt].into_iter().flatten() {
            let so_far = Job::new(machine, &file)?;
            let record = after(&so_far, seed)?.take(&so_far, &action);
            file.steps.push(record);
        }
    }
    let job = Job::new(machine, &file)?;
    let (runs, spent) = (job.is_running(), job.spent());
    Ok(Played { job: file, runs, spent })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Outcome;
    use crate::lesson::mower;

    #[test]
    fn an_exercise_begins_with_a_machine_that_does_not_run_and_can_be_repeated() {
        let mut firsts = Vec::new();
        for seed in 1..=12 {
            let job = exercise(mower(), seed).expect("some machine does not start");
            assert_eq!(job, exercise(mower(), seed).expect("the same"));
            let [StepRecord::Attempt { outcome, bypass, known: None }] = job.steps.as_slice() else {
                panic!("{job:?}")
            };
            assert!(bypass.is_empty() && *outcome != Outcome::Runs);
            let hidden = reveal(mower(), seed, &job).expect("valid");
            assert!(hidden.conditions[0].cause && !hidden.runs);
            assert!(hidden.conditions.iter().all(|c| !c.mended));
            firsts.push(hidden.conditions[0].name.clone());
        }
        firsts.sort();
        firsts.dedup();
        assert!(firsts.len() > 3, "{firsts:?}");
    }

    #[test]
    fn the_order_of_steps_does_not_change_what_they_show() {
        let start = exercise(mower(), 3).expect("a machine");
        let look = |id: &str| ActionRecord::Check(id.into());
        let alone = take(mower(), 3, &start, &look("filter-look")).expect("a check");
        let mut later = start.clone();
        for id in ["tank-look", "spark-gap-tester"] {
            let record = take(mower(), 3, &later, &look(id)).expect("a check");
            later.steps.push(record);
        }
        assert_eq!(take(mower(), 3, &later, &look("filter-look")).as_ref(), Ok(&alone));
    }

    #[test]
    fn the_advice_gets_most_machines_running_and_mends_what_stopped_them() {
        let mut ran = 0;
        for seed in 1..=8 {
            let played = play(mower(), seed).expect("a machine");
            // A repair and its attempt are two.
            assert!(played.job.steps.len() <= LONGEST + 1);
            let hidden = reveal(mower(), seed, &played.job).expect("valid");
            assert_eq!(hidden.runs, played.runs);
            assert_eq!(hidden.spent, played.spent);
            assert!(played.spent.minutes > 0.0);
            ran += usize::from(played.runs);
        }
        assert!(ran >= 4, "{ran} of 8");
    }

    #[test]
    fn a_step_that_is_none_is_told() {
        let start = exercise(mower(), 3).expect("a machine");
        let wrong = ActionRecord::Check("filter-lok".into());
        let error = take(mower(), 3, &start, &wrong).expect_err("no such check");
        assert_eq!(
            error.to_string(),
            "at check: there is no check \"filter-lok\"; did you mean \"filter-look\"?"
        );
    }
}
