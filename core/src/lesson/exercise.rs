//! An exercise: a machine with hidden faults that does not start, and a clock of bench minutes.

use serde::{Deserialize, Serialize};

use crate::advise::{JobStatus, Spent, StepAdvice, StepKind};
use crate::job::{Job, JobError, JobFile, StepRecord};
use crate::machine::{BypassId, CheckId, Machine, RepairId};
use crate::simulate::{Doing, Truth};
use halfsplit_bayes::support::suggest::find;

/// A run of the advice longer than this is broken off.
const LONGEST: usize = 40;

/// A step to be taken, its result still unknown.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub enum Pick {
    /// A check, by its id.
    Check(String),
    /// A repair, by its id.
    Repair(String),
    /// A try to start, with the ids of the bypasses in place.
    Attempt(Vec<String>),
}

/// What was wrong with the machine of an exercise, and how the job stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Hidden {
    /// Everything that was wrong, what stopped it first.
    pub conditions: Vec<HiddenCondition>,
    /// Whether the last plain attempt ended with the engine running.
    pub runs: bool,
    /// What the job took.
    pub spent: Spent,
}

/// Something that was wrong with the machine of an exercise.
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
    /// Whether it has been made good.
    pub mended: bool,
}

/// An exercise played from its first attempt to its end.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Played {
    /// Everything done.
    pub job: JobFile,
    /// Whether the engine ran in the end; otherwise the advice was to hand over, or came to its end.
    pub runs: bool,
    /// What it took.
    pub spent: Spent,
}

/// The machine of a seed: the first of a row of drawn machines that does not start.
fn hidden(machine: &Machine, seed: u32) -> Result<Truth<'_>, JobError> {
    Truth::not_starting(machine, &seed.to_string(), true)
}

/// The machine of a seed after some steps.
fn after<'m>(job: &Job<'m>, seed: u32) -> Result<Truth<'m>, JobError> {
    let mut truth = hidden(job.machine, seed)?;
    truth.replay(job);
    Ok(truth)
}

/// An exercise as it begins: one attempt, which did not get the engine running.
///
/// # Errors
/// A machine that nearly always starts.
pub fn exercise(machine: &Machine, seed: u32) -> Result<JobFile, JobError> {
    let outcome = hidden(machine, seed)?.attempt(&[]);
    Ok(JobFile { steps: vec![StepRecord::Attempt { bypass: Vec::new(), outcome }], ..empty(machine)? })
}

fn empty(machine: &Machine) -> Result<JobFile, JobError> {
    let mut file = JobFile::from_json(r#"{"machine": ""}"#)?;
    machine.id().clone_into(&mut file.machine);
    Ok(file)
}

/// Takes a step of an exercise: the record of it, with what it shows. `job` holds the steps so far.
///
/// # Errors
/// A step that the machine does not have.
pub fn take(machine: &Machine, seed: u32, job: &JobFile, pick: &Pick) -> Result<StepRecord, JobError> {
    let checked = Job::new(machine, job)?;
    let mut truth = after(&checked, seed)?;
    let file = machine.file();
    let doing = match pick {
        Pick::Check(check) => {
            let known = file.checks.iter().map(|c| c.id.as_str());
            Doing::Check(CheckId::new(find("check", "check", check, known)?))
        }
        Pick::Repair(repair) => {
            let known = file.repairs.iter().map(|r| r.id.as_str());
            Doing::Repair(RepairId::new(find("repair", "repair", repair, known)?))
        }
        Pick::Attempt(bypass) => {
            let mut bypasses = Vec::new();
            for id in bypass {
                let known = file.bypasses.iter().map(|b| b.id.as_str());
                bypasses.push(BypassId::new(find("bypass", "bypass", id, known)?));
            }
            // As in a job: which ones, not in what order.
            bypasses.sort_unstable();
            bypasses.dedup();
            Doing::Attempt(bypasses)
        }
    };
    Ok(truth.take(&checked, &doing))
}

/// What was wrong, and how the job stands.
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
    // What stopped it first.
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
        // A job that hangs together in too many ways to be reckoned with is where the advice ends.
        let Ok(answer) = job.assess() else { break };
        let next = match (answer.status, &answer.next) {
            (JobStatus::Open, Some(step)) if step.kind != StepKind::HandOver => step,
            _ => break,
        };
        let pick = picked(next);
        let then_try = next.then_try;
        let record = take(machine, seed, &file, &pick)?;
        file.steps.push(record);
        if then_try {
            let attempt = take(machine, seed, &file, &Pick::Attempt(Vec::new()))?;
            file.steps.push(attempt);
        }
    }
    let job = Job::new(machine, &file)?;
    let (runs, spent) = (job.is_running(), job.spent());
    Ok(Played { job: file, runs, spent })
}

fn picked(step: &StepAdvice) -> Pick {
    let id = step.id.clone();
    match step.kind {
        StepKind::Check => Pick::Check(id),
        StepKind::Repair => Pick::Repair(id),
        StepKind::Bypass => Pick::Attempt(vec![id]),
        StepKind::Attempt | StepKind::HandOver => Pick::Attempt(Vec::new()),
    }
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
            let [StepRecord::Attempt { outcome, bypass }] = job.steps.as_slice() else { panic!("{job:?}") };
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
        let look = |id: &str| Pick::Check(id.into());
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
        let wrong = Pick::Check("filter-lok".into());
        let error = take(mower(), 3, &start, &wrong).expect_err("no such check");
        assert_eq!(
            error.to_string(),
            "at check: there is no check \"filter-lok\"; did you mean \"filter-look\"?"
        );
    }
}
