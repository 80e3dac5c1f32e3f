//! Times rankings on the shipped machines, and prints how they grow with the size of the job and machine.

use std::hint::black_box;
use std::time::{Duration, Instant};

use halfsplit::advise::AdviceSession;
use halfsplit::job::{Job, JobFile, Outcome, StepRecord};
use halfsplit::machine::Machine;
use halfsplit_bayes::{Evidence, JunctionTree};
use halfsplit_tests::mower;
use serde_json::json;

type Done<T> = Result<T, Box<dyn std::error::Error>>;

/// Numbers of start attempts in the timed jobs.
const ATTEMPTS: [usize; 4] = [0, 2, 4, 8];

/// The job after a number of failed attempts: the first on the machine as it came, each of the others after one
/// more repair without success.
fn after(machine: &Machine, attempts: usize) -> Done<JobFile> {
    let mut job = JobFile::from_json(&json!({ "machine": machine.id() }).to_string())?;
    let mut repairs = machine.file().repairs.iter();
    for attempt in 0..attempts {
        if attempt > 0 {
            job.steps
                .extend(repairs.next().map(|r| StepRecord::Repair { repair: r.id.clone(), known: None }));
        }
        job.steps.push(StepRecord::Attempt { bypass: Vec::new(), outcome: Outcome::Nothing, known: None });
    }
    Ok(job)
}

/// Milliseconds of repeated rankings: to the first answer of each, and to the last.
fn times(machine: &Machine, file: &JobFile, budget: Duration) -> Done<(Vec<f64>, Vec<f64>)> {
    let (mut first, mut last) = (Vec::new(), Vec::new());
    let begun = Instant::now();
    while begun.elapsed() < budget || last.is_empty() {
        let started = Instant::now();
        black_box(AdviceSession::new(machine, black_box(file))?.assessment().expected_cost);
        first.push(started.elapsed().as_secs_f64() * 1e3);
        let started = Instant::now();
        let job = Job::new(machine, black_box(file))?;
        black_box(job.assess()?);
        last.push(started.elapsed().as_secs_f64() * 1e3);
    }
    Ok((first, last))
}

/// Prints the jobs, each with the times of repeated rankings: `ms` to the first answer, and `last_ms` to the last
/// one, after the lookahead.
pub(crate) fn rank(budget: Duration) -> Done<()> {
    for attempts in ATTEMPTS {
        let file = after(mower(), attempts)?;
        let (first, last) = times(mower(), &file, budget)?;
        let line =
            json!({ "task": "ranking", "attempts": attempts, "ms": first, "last_ms": last, "job": file });
        println!("{line}");
    }
    Ok(())
}

/// Prints how the work grows with attempts, with findings, and from machine to machine: the table
/// entries of the network with all possible next checks, the entries visited for all its marginals,
/// and the median time of rankings.
pub(crate) fn grow(budget: Duration) -> Done<()> {
    println!(
        "{:34}{:>12}{:>12}{:>12}",
        "(machines: conditions / checks)", "entries", "touched", "ranking/ms"
    );
    let line = |what: String, machine: &Machine, file: &JobFile| -> Done<()> {
        let (network, found) = Job::new(machine, file)?.network()?;
        let tree = JunctionTree::compile_with_evidence(&network, &found)?;
        let mut space = tree.workspace();
        tree.propagate(&mut space, &Evidence::new());
        let (mut took, _) = times(machine, file, budget)?;
        took.sort_by(f64::total_cmp);
        let median = took[took.len() / 2];
        println!("{what:34}{:12}{:12}{median:12.1}", tree.entries(), space.entries_visited());
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
