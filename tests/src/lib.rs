//! Helpers shared by the checks: building jobs and networks, reading answers, comparing numbers.
//!
//! They stop with a message where something is not there at all; what a value should be is said in
//! the tests.

pub mod draw;
pub mod optimum;
pub mod small;
pub mod trade;

use std::io::Read;
use std::path::PathBuf;
use std::sync::OnceLock;

use flate2::read::GzDecoder;
use halfsplit::advise::{Assessment, CauseOdds, StepAdvice};
use halfsplit::job::{Job, JobError, JobFile, Outcome, Provenance, ReadingRecord, StepRecord};
use halfsplit::machine::Machine;
use halfsplit::reading::Unit;
use halfsplit_bayes::{Evidence, InferenceError, JunctionTree, Network, NetworkBuilder, Posterior, VarId};
use serde_json::Value;

/// Asserts that two numbers agree within `tolerance`.
///
/// # Panics
/// If they do not.
#[track_caller]
pub fn close(what: &str, got: f64, expected: f64, tolerance: f64) {
    assert!((got - expected).abs() <= tolerance, "{what}: {got} is not {expected} within {tolerance:e}");
}

/// A length in inches, in millimetres.
///
/// # Panics
/// Never: both are lengths.
#[must_use]
pub fn inch(inches: f64) -> f64 {
    Unit::In.convert(inches, Unit::Mm).expect("lengths")
}

/// Asserts that a number agrees with one printed with so many decimals.
///
/// # Panics
/// If it does not round to it.
#[track_caller]
pub fn printed(what: &str, got: f64, expected: f64, decimals: i32) {
    close(what, got, expected, 0.5 * 10_f64.powi(-decimals) * (1.0 + 1e-9));
}

/// Odds of a probability.
#[must_use]
pub fn odds(p: f64) -> f64 {
    p / (1.0 - p)
}

/// A file under `tests/`.
#[must_use]
pub fn path(relative: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(relative)
}

/// The text of a file under `tests/`.
///
/// # Panics
/// If it cannot be read.
#[must_use]
pub fn text(relative: &str) -> String {
    let path = path(relative);
    std::fs::read_to_string(&path).unwrap_or_else(|e| {
        assert!(path.exists(), "{} is missing: {e}", path.display());
        String::new()
    })
}

/// The text of a JSON file under `tests/peers`, plain or gzipped, by its name without the ending.
///
/// # Panics
/// If there is none, or it cannot be read.
#[must_use]
pub fn peers_text(name: &str) -> String {
    let packed = path(&format!("peers/{name}.json.gz"));
    if !packed.exists() {
        return text(&format!("peers/{name}.json"));
    }
    let bytes = std::fs::read(&packed).expect("a file that can be read");
    let mut text = String::new();
    GzDecoder::new(bytes.as_slice()).read_to_string(&mut text).expect("gzipped text");
    text
}

/// A published network, by its name.
///
/// # Panics
/// If there is none.
#[must_use]
pub fn published(name: &str) -> Network {
    Network::from_json(&peers_text(&format!("networks/{name}"))).expect("a network")
}

// Networks.

/// Adds a variable with the states `yes` and `no`; `p_yes` is the chance of `yes` in each row, all
/// parents at `yes` first, the last parent changing fastest.
///
/// # Panics
/// If the table is wrong.
pub fn yes_no(builder: &mut NetworkBuilder, name: &str, parents: &[VarId], p_yes: &[f64]) -> VarId {
    let table = p_yes.iter().flat_map(|p| [*p, 1.0 - *p]).collect();
    builder.add(name, ["yes", "no"], parents, table).expect("a valid table")
}

/// Hard evidence from names.
///
/// # Panics
/// On a name that the network does not have.
#[must_use]
pub fn evidence(network: &Network, found: &[(&str, &str)]) -> Evidence {
    let mut evidence = Evidence::new();
    for (name, state) in found {
        let var = network.require(name).expect("a variable of the network");
        evidence.observe(network, var, state).expect("a state of the variable");
    }
    evidence
}

/// Everything after some hard evidence.
///
/// # Errors
/// Impossible evidence.
pub fn given(network: &Network, found: &[(&str, &str)]) -> Result<Posterior, InferenceError> {
    JunctionTree::compile(network)?.posterior(&evidence(network, found))
}

/// Probability of a state after some hard evidence.
///
/// # Panics
/// On an unknown name, or impossible evidence.
#[must_use]
pub fn p(network: &Network, name: &str, state: &str, found: &[(&str, &str)]) -> f64 {
    let var = network.require(name).expect("a variable of the network");
    let at = network.variable(var).state(state).expect("a state of the variable").index();
    given(network, found).expect("possible evidence").marginal(var)[at]
}

/// Probability of some hard evidence.
///
/// # Panics
/// On an unknown name, or impossible evidence.
#[must_use]
pub fn p_evidence(network: &Network, found: &[(&str, &str)]) -> f64 {
    given(network, found).expect("possible evidence").log_p_evidence().exp()
}

// Jobs.

/// The mower that comes with the program.
///
/// # Panics
/// If it does not load.
pub fn mower() -> &'static Machine {
    static MOWER: OnceLock<Machine> = OnceLock::new();
    MOWER.get_or_init(|| Machine::shipped("mower-recoil").expect("the shipped mower"))
}

/// A job on the mower with all tools.
#[must_use]
pub fn job(steps: &[StepRecord]) -> JobFile {
    JobFile {
        machine: "mower-recoil".into(),
        kit: None,
        rate_per_hour: None,
        hand_over_cost: None,
        machine_value: None,
        spare: None,
        altitude_m: None,
        settings: Default::default(),
        fitted: Default::default(),
        steps: steps.to_vec(),
    }
}

/// The demo job cut off after some steps.
///
/// # Panics
/// If the demo does not load.
#[must_use]
pub fn demo_after(steps: usize) -> JobFile {
    let mut demo = JobFile::demo().expect("the demo job");
    assert!(steps <= demo.steps.len(), "the demo has {} steps", demo.steps.len());
    demo.steps.truncate(steps);
    demo
}

/// A result with the knowledge that is usual for the check.
#[must_use]
pub fn found(check: &str, result: &str) -> StepRecord {
    StepRecord::Check { check: check.into(), result: Some(result.into()), reading: None, known: None }
}

/// A result known in a certain way.
#[must_use]
pub fn found_as(check: &str, result: &str, known: Provenance) -> StepRecord {
    StepRecord::Check { check: check.into(), result: Some(result.into()), reading: None, known: Some(known) }
}

/// A number read off.
#[must_use]
pub fn read(check: &str, value: f64, unit: Unit) -> StepRecord {
    let reading = ReadingRecord { value: Some(value), over: None, between: None, unit, temperature: None };
    StepRecord::Check { check: check.into(), result: None, reading: Some(reading), known: None }
}

/// A number known to lie between two.
#[must_use]
pub fn between(check: &str, span: [f64; 2], unit: Unit) -> StepRecord {
    let reading = ReadingRecord { value: None, over: None, between: Some(span), unit, temperature: None };
    StepRecord::Check { check: check.into(), result: None, reading: Some(reading), known: None }
}

/// A repair.
#[must_use]
pub fn repair(id: &str) -> StepRecord {
    StepRecord::Repair { repair: id.into() }
}

/// A plain attempt.
#[must_use]
pub fn attempt(outcome: Outcome) -> StepRecord {
    StepRecord::Attempt { bypass: Vec::new(), outcome }
}

/// An attempt with one bypass.
#[must_use]
pub fn bypass(id: &str, outcome: Outcome) -> StepRecord {
    StepRecord::Attempt { bypass: vec![id.into()], outcome }
}

/// The answer on a job with the mower.
///
/// # Panics
/// If there is none.
#[must_use]
#[track_caller]
pub fn assess(file: &JobFile) -> Assessment {
    assess_on(mower(), file).expect("an assessment")
}

/// The answer on a job.
///
/// # Errors
/// Whatever is wrong with the job.
pub fn assess_on(machine: &Machine, file: &JobFile) -> Result<Assessment, JobError> {
    Job::new(machine, file)?.assess()
}

/// The odds of `part/condition` in an answer.
///
/// # Panics
/// If it is not there.
#[must_use]
#[track_caller]
pub fn cause<'a>(answer: &'a Assessment, id: &str) -> &'a CauseOdds {
    let found = answer.causes.iter().find(|c| format!("{}/{}", c.part, c.condition) == id);
    found.expect(id)
}

/// The likeliest cause as `part/condition`.
#[must_use]
pub fn leader(answer: &Assessment) -> String {
    answer.causes.first().map_or_else(String::new, |c| format!("{}/{}", c.part, c.condition))
}

/// A step of the ranking.
///
/// # Panics
/// If it is not there.
#[must_use]
#[track_caller]
pub fn ranked<'a>(answer: &'a Assessment, id: &str) -> &'a StepAdvice {
    answer.ranking.iter().find(|s| s.id == id).expect(id)
}

/// Predicted chance of a result of a step in the ranking.
///
/// # Panics
/// If it is not there.
#[must_use]
#[track_caller]
pub fn predicted(answer: &Assessment, step: &str, result: &str) -> f64 {
    ranked(answer, step).results.iter().find(|r| r.id == result).expect(result).p
}

// A machine small enough to reckon through by hand.

/// The small machine of `tests/rust/machines/car.json`, to be changed by a test.
///
/// # Panics
/// If the file is broken.
#[must_use]
pub fn car_file() -> Value {
    serde_json::from_str(&text("rust/machines/car.json")).expect("valid JSON")
}

/// A machine from a changed description.
///
/// # Panics
/// If it is not valid.
#[must_use]
#[track_caller]
pub fn machine(file: &Value) -> Machine {
    Machine::from_json(&file.to_string()).expect("a valid description")
}

/// A job on the small machine.
#[must_use]
pub fn car_job(steps: &[StepRecord]) -> JobFile {
    JobFile { machine: "car".into(), ..job(steps) }
}
