//! The figures of a work sheet: the steps with their time and cost, the reason, and what is left to repair.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::advise::{Assessment, CauseOdds, JobStatus, Spent};
use crate::job::{Job, JobError, Step};
use crate::machine::file::{ContextKind, MachineFile};
use crate::machine::{BypassId, RepairId};
use halfsplit_bayes::support::order::{descending, largest_first};

/// A cause with at least this chance is called the reason.
const SETTLED: f64 = 0.7;
/// A condition with at least this chance is called present.
const THERE: f64 = 0.5;
/// Where no reason is settled, a cause is named with at least this chance.
const WORTH_NAMING: f64 = 0.1;
/// Minimum factor on the odds of a piece of history that is worth avoiding.
const WORTH_AVOIDING: f64 = 1.5;
/// Limit on the pieces of history named with a condition.
const CIRCUMSTANCES: usize = 3;
/// Limit on the causes named while no reason is settled.
const NAMED: usize = 4;

/// A work sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Sheet {
    /// Time and cost of every step, in order.
    pub lines: Vec<SheetLine>,
    /// Time and money spent on the job.
    pub spent: Spent,
    /// Whether a reason is settled. If so, `reasons` holds the reason (or several at once), otherwise the
    /// most likely causes.
    pub settled: bool,
    /// The reasons why the engine did not run, most likely first.
    pub reasons: Vec<SheetCondition>,
    /// Conditions that were present but not the reason.
    pub there: Vec<SheetCondition>,
    /// Conditions that are still present and worth repairing, with their repairs.
    pub mend: Vec<OpenCondition>,
    /// What the repairs leave behind or require afterwards.
    pub leaves: Vec<String>,
    /// Names of the bypasses that were used.
    pub bypasses: Vec<String>,
    /// What brings on the conditions found, by their history: what to do differently next season.
    pub brought_on: Vec<Prevention>,
}

/// What to do about a condition before the next season.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Prevention {
    /// Name of the condition for people.
    pub name: String,
    /// How to prevent it from coming again, in the words of the description; may be empty.
    pub prevent: String,
    /// The history that makes it more likely, strongest first.
    pub by: Vec<HistoryFactor>,
}

/// A piece of history.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct HistoryFactor {
    /// Id of the context.
    pub context: String,
    /// Id of its state.
    pub state: String,
    /// Name of the context for people.
    pub of: String,
    /// Name of its state for people.
    pub name: String,
    /// Factor on the odds of the condition.
    pub factor: f64,
}

/// Time and cost of a step.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct SheetLine {
    /// Minutes, with the set-up work that the step needed.
    pub minutes: f64,
    /// Hours of waiting.
    pub wait_hours: f64,
    /// Price of parts, typical.
    pub parts_cost: f64,
}

/// A condition on a sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct SheetCondition {
    /// Id of the part.
    pub part: String,
    /// Id of the condition.
    pub condition: String,
    /// Name for people.
    pub name: String,
    /// Chance of what the list states about it.
    pub p: f64,
    /// Whether it has been repaired, and the repair has most likely taken.
    pub mended: bool,
}

/// A condition that is still present.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct OpenCondition {
    /// The condition.
    pub condition: SheetCondition,
    /// Its repairs, cheapest parts first.
    pub repairs: Vec<SheetRepair>,
}

/// A repair on a sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct SheetRepair {
    /// Id of the repair.
    pub repair: String,
    /// Name for people.
    pub name: String,
    /// Minutes without set-up work.
    pub minutes: f64,
    /// Hours of waiting.
    pub wait_hours: f64,
    /// Price of parts, typical.
    pub parts_cost: f64,
}

/// The work sheet of a job.
///
/// # Errors
/// [`JobError::Impossible`].
pub fn sheet(job: &Job) -> Result<Sheet, JobError> {
    let answer = job.assess()?;
    let (settled, reasons) = reasons(&answer);
    let there: Vec<SheetCondition> = answer
        .causes
        .iter()
        .filter(|c| c.p_was_present >= THERE && c.p_was_present - c.p_was_cause >= THERE)
        .map(|c| condition(c, c.p_was_present - c.p_was_cause))
        .collect();
    let mend = answer
        .causes
        .iter()
        .filter(|c| c.p_present >= THERE && !c.left_over && answer.status == JobStatus::Running)
        .map(|c| OpenCondition { condition: condition(c, c.p_present), repairs: repairs_of(job, c) })
        .collect();
    let totals: Vec<Spent> = (0..=job.steps.len()).map(|n| job.first(n).spent()).collect();
    let lines = totals
        .windows(2)
        .map(|w| SheetLine {
            minutes: w[1].minutes - w[0].minutes,
            wait_hours: w[1].wait_hours - w[0].wait_hours,
            parts_cost: w[1].parts_cost - w[0].parts_cost,
        })
        .collect();
    let (leaves, bypasses) = left_behind(job);
    let wrong = if settled { reasons.iter().chain(&there) } else { [].iter().chain(&there) };
    let brought_on = brought_on(job.machine.file(), wrong);
    Ok(Sheet { lines, spent: job.spent(), settled, reasons, there, mend, leaves, bypasses, brought_on })
}

/// How to prevent these conditions from coming again, and the history that brings them on. What is fitted is
/// left out, because nobody can change that for next season.
fn brought_on<'c>(file: &MachineFile, wrong: impl Iterator<Item = &'c SheetCondition>) -> Vec<Prevention> {
    let conditions = wrong.filter_map(|c| {
        let part = file.parts.iter().find(|p| p.id == c.part)?;
        part.conditions.iter().find(|authored| authored.id == c.condition)
    });
    let listed = conditions.map(|condition| {
        let raising = condition.raised_by.iter().filter(|r| r.factor >= WORTH_AVOIDING);
        let circumstances = raising.filter_map(|r| circumstance(file, &r.when, r.factor)).collect();
        let mut by = largest_first(circumstances, |c: &HistoryFactor| c.factor);
        by.truncate(CIRCUMSTANCES);
        Prevention { name: condition.name.clone(), prevent: condition.prevent.clone(), by }
    });
    listed.filter(|b| !b.by.is_empty() || !b.prevent.is_empty()).collect()
}

fn circumstance(file: &MachineFile, predicate: &str, factor: f64) -> Option<HistoryFactor> {
    let (context, state) = predicate.split_once('=')?;
    let context = file.context.iter().find(|b| b.id == context)?;
    let state = context.states.iter().find(|s| s.id == state)?;
    let known = || HistoryFactor {
        context: context.id.clone(),
        state: state.id.clone(),
        of: context.name.clone(),
        name: state.name.clone(),
        factor,
    };
    (context.kind == ContextKind::History).then(known)
}

fn reasons(answer: &Assessment) -> (bool, Vec<SheetCondition>) {
    let p: Vec<f64> = answer.causes.iter().map(|c| c.p_was_cause).collect();
    let causes: Vec<&CauseOdds> = descending(&p).into_iter().map(|at| &answer.causes[at]).collect();
    let over = |least: f64| causes.iter().filter(move |c| c.p_was_cause >= least);
    let listed = |c: &&CauseOdds| condition(c, c.p_was_cause);
    let settled: Vec<SheetCondition> = over(SETTLED).map(listed).collect();
    if settled.is_empty() {
        (false, over(WORTH_NAMING).take(NAMED).map(listed).collect())
    } else {
        (true, settled)
    }
}

fn condition(c: &CauseOdds, p: f64) -> SheetCondition {
    SheetCondition {
        part: c.part.clone(),
        condition: c.condition.clone(),
        name: c.name.clone(),
        p,
        mended: c.repaired && c.p_present < THERE,
    }
}

fn repairs_of(job: &Job, cause: &CauseOdds) -> Vec<SheetRepair> {
    let text = format!("{}/{}", cause.part, cause.condition);
    let cures: Vec<_> = job.machine.file().repairs.iter().filter(|r| r.cures.contains(&text)).collect();
    let cheapness: Vec<f64> = cures.iter().map(|r| -r.parts_cost.typical).collect();
    let mending = |at: usize| SheetRepair {
        repair: cures[at].id.clone(),
        name: cures[at].name.clone(),
        minutes: cures[at].minutes,
        wait_hours: cures[at].wait_hours,
        parts_cost: cures[at].parts_cost.typical,
    };
    descending(&cheapness).into_iter().map(mending).collect()
}

/// What the repairs leave behind, and the names of the bypasses used, both in the order of the description.
fn left_behind(job: &Job) -> (Vec<String>, Vec<String>) {
    let file = job.machine.file();
    let mut repairs: BTreeSet<RepairId> = BTreeSet::new();
    let mut bypasses: BTreeSet<BypassId> = BTreeSet::new();
    for step in &job.steps {
        match step {
            Step::Repair { repair: r, .. } => {
                repairs.insert(*r);
            }
            Step::Attempt { bypasses: used, .. } => bypasses.extend(used),
            Step::Check { .. } => {}
        }
    }
    let leaves = repairs.iter().map(|r| file.repair(*r).leaves.clone()).filter(|t| !t.is_empty());
    let names = bypasses.iter().map(|b| file.bypass(*b).name.clone());
    (leaves.collect(), names.collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{JobFile, Outcome, StepRecord};
    use crate::lesson::mower;

    fn finished() -> JobFile {
        let mut file = JobFile::demo().expect("the demo job is valid");
        file.steps.push(StepRecord::Repair { repair: "free-stop-lead".into(), known: None });
        file.steps.push(StepRecord::Attempt { bypass: Vec::new(), outcome: Outcome::Runs, known: None });
        file
    }

    #[test]
    fn a_finished_job_names_the_reason_and_what_was_there_besides() {
        let file = finished();
        let job = Job::new(mower(), &file).expect("valid");
        let sheet = sheet(&job).expect("possible");
        assert!(sheet.settled);
        assert_eq!(sheet.reasons[0].part, "stop-lead");
        assert!(sheet.reasons[0].mended);
        let there: Vec<&str> = sheet.there.iter().map(|c| c.part.as_str()).collect();
        assert!(there.contains(&"filter"), "{there:?}");
        // A condition that has been repaired is not left to repair.
        assert!(sheet.mend.iter().all(|m| !m.condition.mended && !m.repairs.is_empty()), "{:?}", sheet.mend);
        assert_eq!(sheet.bypasses.len(), 1);
    }

    #[test]
    fn what_brings_on_what_was_wrong_is_history_and_comes_from_the_description() {
        let file = finished();
        let job = Job::new(mower(), &file).expect("valid");
        let sheet = sheet(&job).expect("possible");
        let authored = job.machine.file();
        assert!(!sheet.brought_on.is_empty());
        for Prevention { name, prevent, by } in &sheet.brought_on {
            let condition = authored
                .parts
                .iter()
                .flat_map(|p| &p.conditions)
                .find(|c| c.name == *name)
                .expect("a condition of the machine");
            assert_eq!(*prevent, condition.prevent);
            assert!(sheet.reasons.iter().chain(&sheet.there).any(|c| c.name == *name));
            assert!(by.len() <= CIRCUMSTANCES && by.windows(2).all(|w| w[0].factor >= w[1].factor));
            for c in by {
                let predicate = format!("{}={}", c.context, c.state);
                assert!(
                    condition.raised_by.iter().any(|r| r.when == predicate && r.factor == c.factor),
                    "{predicate}"
                );
                let context = authored.context.iter().find(|b| b.id == c.context).expect("known");
                assert_eq!(context.kind, ContextKind::History);
            }
        }
    }

    #[test]
    fn lines_add_up_to_what_was_spent() {
        let file = finished();
        let job = Job::new(mower(), &file).expect("valid");
        let sheet = sheet(&job).expect("possible");
        assert_eq!(sheet.lines.len(), file.steps.len());
        let minutes: f64 = sheet.lines.iter().map(|l| l.minutes).sum();
        let parts: f64 = sheet.lines.iter().map(|l| l.parts_cost).sum();
        assert!((minutes - sheet.spent.minutes).abs() < 1e-9);
        assert!((parts - sheet.spent.parts_cost).abs() < 1e-9);
        assert!(sheet.lines.iter().all(|l| l.minutes >= 0.0));
    }

    #[test]
    fn an_open_job_names_the_likeliest() {
        let file = JobFile::from_json(
            r#"{"machine": "mower-recoil", "steps": [{"do": "attempt", "outcome": "nothing"}]}"#,
        )
        .expect("a job");
        let sheet = sheet(&Job::new(mower(), &file).expect("valid")).expect("possible");
        assert!(!sheet.settled && sheet.mend.is_empty());
        assert!(sheet.reasons.len() <= NAMED);
        assert!(sheet.reasons.windows(2).all(|w| w[0].p >= w[1].p));
    }
}
