//! Times the engine on the work that `tests/peers/compare.py` gives to every library, and prints one
//! JSON object per line: see `tests/peers/peer_times.py` for the tasks and their meaning.
//!
//! `bench_work WORK.json` reads a network and its evidence sets; `bench_work mower` takes the demo job
//! on the shipped mower, four attempts in. `bench_work mower --export chain` (or `tree`) writes that
//! job as work for libraries without noisy-MAX rules. `bench_work rankings` times the full ranking on the
//! mower; `bench_work growth` prints how the work grows with attempts, findings and machines.

mod maxima;
mod rankings;

use std::hint::black_box;
use std::time::{Duration, Instant};

use halfsplit::job::{Job, JobFile};
use halfsplit_bayes::{Evidence, EvidenceFile, JunctionTree, Network, NetworkFile, VarId, predictions};
use halfsplit_tests::mower;
use serde::Deserialize;
use serde_json::{Value, json};

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

/// Most measurements of one task.
const REPEATS: usize = 5;

/// The work file that `compare.py` writes.
#[derive(Deserialize)]
struct WorkFile {
    network: NetworkFile,
    sets: Vec<EvidenceFile>,
    again: Vec<EvidenceFile>,
}

struct Work {
    network: Network,
    sets: Vec<Evidence>,
    again: Vec<Evidence>,
}

struct Options {
    work: String,
    tasks: Vec<String>,
    export: Option<String>,
    budget: Duration,
}

fn options() -> Outcome<Options> {
    let mut args = std::env::args().skip(1);
    let work = args
        .next()
        .ok_or("usage: bench_work WORK.json|mower|rankings|growth [--tasks LIST] [--seconds N]")?;
    let mut options = Options {
        work,
        tasks: ["compile", "first", "new", "again", "sweep"].map(String::from).to_vec(),
        export: None,
        budget: Duration::from_secs(5),
    };
    while let Some(flag) = args.next() {
        let value = args.next().ok_or("a flag needs a value")?;
        match flag.as_str() {
            "--tasks" => options.tasks = value.split(',').map(String::from).collect(),
            "--seconds" => options.budget = Duration::try_from_secs_f64(value.parse()?)?,
            "--export" => options.export = Some(value),
            other => return Err(format!("unknown flag {other}").into()),
        }
    }
    Ok(options)
}

fn main() -> Outcome<()> {
    let options = options()?;
    match options.work.as_str() {
        "rankings" => return rankings::rank(options.budget),
        "growth" => return rankings::grow(options.budget),
        _ => {}
    }
    let work = if options.work == "mower" {
        let (network, evidence) = Job::new(mower(), &JobFile::demo()?)?.network()?;
        Work { network, sets: vec![evidence], again: Vec::new() }
    } else {
        let file: WorkFile = serde_json::from_str(&std::fs::read_to_string(&options.work)?)?;
        let network = Network::try_from(file.network)?;
        let on = |sets: &[EvidenceFile]| sets.iter().map(|e| e.on(&network)).collect::<Result<Vec<_>, _>>();
        Work { sets: on(&file.sets)?, again: on(&file.again)?, network }
    };
    if let Some(shape) = &options.export {
        let network = maxima::written_out(&work.network, shape.parse()?);
        let sets: Vec<EvidenceFile> = work.sets.iter().map(|e| maxima::by_name(&work.network, e)).collect();
        let asked: Vec<&str> = work.network.iter().map(|(_, v)| v.name()).collect();
        println!("{}", json!({ "network": network, "sets": sets, "again": [], "asked": asked }));
        return Ok(());
    }
    for task in &options.tasks {
        let done = match task.as_str() {
            "compile" => compiled(&work, &Evidence::new(), task, options.budget),
            "first" => compiled(&work, &work.sets[0], task, options.budget),
            "new" => answered(&work, &work.sets[1..], task, options.budget),
            "again" => answered(&work, &work.again, task, options.budget),
            "sweep" => lookahead(&work, options.budget),
            other => Err(format!("unknown task {other}").into()),
        };
        if let Err(error) = done {
            println!("{}", json!({ "task": "failed", "of": task, "reason": error.to_string() }));
        }
    }
    Ok(())
}

fn say(task: &str, took: Duration, more: &Value) {
    let mut line = json!({ "task": task, "ms": took.as_secs_f64() * 1e3 });
    if let (Some(line), Some(more)) = (line.as_object_mut(), more.as_object()) {
        line.extend(more.clone());
    }
    println!("{line}");
}

/// A checksum of an answer: the sum of every probability times the number of its state.
fn sum(marginals: &[Vec<f64>]) -> f64 {
    let one = |m: &Vec<f64>| -> f64 { m.iter().zip(1..).map(|(p, at)| p * f64::from(at)).sum() };
    marginals.iter().map(one).sum()
}

fn unobserved(network: &Network, evidence: &Evidence) -> Vec<VarId> {
    network.iter().map(|(v, _)| v).filter(|v| evidence.get(*v).is_none()).collect()
}

/// Times compiling a tree, making a workspace and the first answer.
fn compiled(work: &Work, evidence: &Evidence, task: &str, budget: Duration) -> Outcome<()> {
    let begun = Instant::now();
    let asked = unobserved(&work.network, evidence);
    for _ in 0..REPEATS {
        let started = Instant::now();
        let tree = JunctionTree::compile_with_evidence(&work.network, evidence)?;
        let mut space = tree.workspace();
        let answer = tree.posterior_in(&mut space, &Evidence::new())?;
        let marginals: Vec<Vec<f64>> = asked.iter().map(|v| answer.marginal(*v).to_vec()).collect();
        say(
            task,
            started.elapsed(),
            &json!({ "check": sum(&marginals), "entries": tree.entries(), "touched": space.entries_visited() }),
        );
        if begun.elapsed() > budget {
            break;
        }
    }
    Ok(())
}

/// Times all marginals for other findings.
fn answered(work: &Work, sets: &[Evidence], task: &str, budget: Duration) -> Outcome<()> {
    let tree = JunctionTree::compile(&work.network)?;
    let mut space = tree.workspace();
    if !tree.propagate(&mut space, &work.sets[0]) {
        return Err("impossible evidence".into());
    }
    let begun = Instant::now();
    for _ in 0..REPEATS {
        for (at, evidence) in sets.iter().enumerate() {
            let asked = unobserved(&work.network, evidence);
            let before = space.entries_visited();
            let started = Instant::now();
            let answer = tree.posterior_in(&mut space, black_box(evidence))?;
            let marginals: Vec<Vec<f64>> = asked.iter().map(|v| answer.marginal(*v).to_vec()).collect();
            let took = started.elapsed();
            let touched = space.entries_visited() - before;
            say(task, took, &json!({ "check": sum(&marginals), "set": at, "touched": touched }));
            if begun.elapsed() > budget {
                return Ok(());
            }
        }
    }
    Ok(())
}

/// Times the predictions for all leaves.
fn lookahead(work: &Work, budget: Duration) -> Outcome<()> {
    let begun = Instant::now();
    let given = &work.sets[0];
    for _ in 0..REPEATS {
        let started = Instant::now();
        let outlooks = predictions(&work.network, given)?;
        let took = started.elapsed();
        let mut check = 0.0;
        for outlook in &outlooks {
            let read = outlook.roots.iter().filter(|(r, _)| given.get(*r).is_none() && *r != outlook.leaf);
            check += sum(&read.map(|(_, m)| m.clone()).collect::<Vec<_>>());
        }
        say("sweep", took, &json!({ "way": "all", "of": outlooks.len(), "check": check }));
        if begun.elapsed() > budget {
            break;
        }
    }
    Ok(())
}
