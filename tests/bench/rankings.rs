//! Rankings on the shipped machines, and how they grow with what goes into them.

use std::hint::black_box;
use std::time::{Duration, Instant};

use halfsplit::job::{Job, JobFile, Outcome, StepRecord};
use halfsplit::machine::Machine;
use halfsplit::{Evidence, JunctionTree};
use halfsplit_tests::mower;
use serde_json::json;

use crate::Outcome as Done;

/// Start attempts made.
const ATTEMPTS: [usize; 4] = [0, 2, 4, 8];

/// The job after so many failed attempts: the first on the machine as it came, each of the others after one
/// more repair that did not help.
fn after(machine: &Machine, attempts: usize) -> Done<JobFile> {
    let mut job = JobFile::from_json(&json!({ "machine": machine.id() }).to_string())?;
    let mut repairs = machine.file().repairs.iter();
    for attempt in 0..attempts {
        if attempt > 0 {
            job.steps.extend(repairs.next().map(|r| StepRecord::Repair { repair: r.id.clone() }));
        }
        job.steps.push(StepRecord::Attempt { bypass: Vec::new(), outcome: Outcome::Nothing });
    }
    Ok(job)
}

/// Milliseconds of one ranking after the other.
fn times(machine: &Machine, file: &JobFile, budget: Duration) -> Done<Vec<f64>> {
    let mut took = Vec::new();
    let begun = Instant::now();
    while begun.elapsed() < budget || took.is_empty() {
        let started = Instant::now();
        let job = Job::new(machine, black_box(file))?;
        black_box(job.assess()?);
        took.push(started.elapsed().as_secs_f64() * 1e3);
    }
    Ok(took)
}

/// Prints the jobs, each with what one ranking after the other took.
pub(crate) fn rank(budget: Duration) -> Done<()> {
    for attempts in ATTEMPTS {
        let file = after(mower(), attempts)?;
        let took = times(mower(), &file, budget)?;
        println!("{}", json!({ "task": "ranking", "attempts": attempts, "ms": took, "job": file }));
    }
    Ok(())
}

/// Prints how the work grows with attempts, with findings, and from machine to machine: table
/// entries of the network with all that could be checked next, those gone through for all its marginals,
/// and the median of rankings.
pub(crate) fn grow(budget: Duration) -> Done<()> {
    println!(
        "{:34}{:>12}{:>12}{:>12}",
        "(machines: conditions / checks)", "entries", "touched", "ranking/ms"
    );
    let line = |what: String, machine: &Machine, file: &JobFile| -> Done<()> {
        let (network, found) = Job::new(machine, file)?.network()?;
        let tree = JunctionTree::compile_given(&network, &found)?;
        let mut space = tree.workspace();
        tree.propagate(&mut space, &Evidence::new());
        let mut took = times(machine, file, budget)?;
        took.sort_by(f64::total_cmp);
        let median = took[took.len() / 2];
        println!("{what:34}{:12}{:12}{median:12.1}", tree.entries(), space.touched());
        Ok(())
    };
    for attempts in 0..=8 {
        line(format!("mower, attempts: {attempts}"), mower(), &after(mower(), attempts)?)?;
    }
    let demo = JobFile::demo()?;
    for steps in 0..=demo.steps.len() {
        let file = JobFile { steps: demo.steps[..steps].to_vec(), ..demo.clone() };
        line(format!("demo job, steps: {steps}"), mower(), &file)?;
    }
    for machine in Machine::all_shipped()? {
        let conditions: usize = machine.file().parts.iter().map(|part| part.conditions.len()).sum();
        let checks = machine.file().checks.len();
        let what = format!("{}: {conditions} / {checks}", machine.id());
        line(what, &machine, &after(&machine, 4)?)?;
    }
    Ok(())
}
