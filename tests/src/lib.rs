//! Functions shared by the tests: they build jobs and networks, read answers and compare numbers.
//!
//! A function panics with a message if the item it looks for does not exist. The expected values are in the
//! tests.

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
/// If they differ by more.
#[track_caller]
pub fn close(what: &str, got: f64, expected: f64, tolerance: f64) {
    assert!((got - expected).abs() <= tolerance, "{what}: {got} is not {expected} within {tolerance:e}");
}

/// Converts a length from inches to millimetres.
///
/// # Panics
/// Never: both units are units of length.
#[must_use]
pub fn inch(inches: f64) -> f64 {
    Unit::In.convert(inches, Unit::Mm).expect("lengths")
}

/// Asserts that `got` rounds to `expected`, a value printed with `decimals` decimals.
///
/// # Panics
/// If it does not.
#[track_caller]
pub fn printed(what: &str, got: f64, expected: f64, decimals: i32) {
    close(what, got, expected, 0.5 * 10_f64.powi(-decimals) * (1.0 + 1e-9));
}

/// Returns the odds p / (1 - p) of a probability.
#[must_use]
pub fn odds(p: f64) -> f64 {
    p / (1.0 - p)
}

/// Returns the path of a file under `tests/`.
#[must_use]
pub fn path(relative: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(relative)
}

/// Returns the text of a file under `tests/`.
///
/// # Panics
/// If the file does not exist.
#[must_use]
pub fn text(relative: &str) -> String {
    let path = path(relative);
    std::fs::read_to_string(&path).unwrap_or_else(|e| {
        assert!(path.exists(), "{} is missing: {e}", path.display());
        String::new()
    })
}

/// Returns the text of a JSON file under `tests/peers`, plain or gzipped. `name` has no extension.
///
/// # Panics
/// If the file does not exist or cannot be unpacked.
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

/// Returns the published network of this name.
///
/// # Panics
/// If `tests/peers/networks` has no such network.
#[must_use]
pub fn published(name: &str) -> Network {
    Network::from_json(&peers_text(&format!("networks/{name}"))).expect("a network")
}

// Networks.

/// Adds a variable with the states `yes` and `no`, and returns its id.
///
/// `p_yes` has the probability of `yes` in each row. In the first row all parents are `yes`; the last parent
/// changes fastest.
///
/// # Panics
/// If the table is invalid.
pub fn yes_no(builder: &mut NetworkBuilder, name: &str, parents: &[VarId], p_yes: &[f64]) -> VarId {
    let table = p_yes.iter().flat_map(|p| [*p, 1.0 - *p]).collect();
    builder.add(name, ["yes", "no"], parents, table).expect("a valid table")
}

/// Returns hard evidence from pairs of a variable's name and a state's name.
///
/// # Panics
/// If the network has no such variable or state.
#[must_use]
pub fn evidence(network: &Network, found: &[(&str, &str)]) -> Evidence {
    let mut evidence = Evidence::new();
    for (name, state) in found {
        let var = network.require(name).expect("a variable of the network");
        evidence.observe(network, var, state).expect("a state of the variable");
    }
    evidence
}

/// Returns the posterior of every variable given hard evidence.
///
/// # Errors
/// If the evidence is impossible.
pub fn given(network: &Network, found: &[(&str, &str)]) -> Result<Posterior, InferenceError> {
    JunctionTree::compile(network)?.posterior(&evidence(network, found))
}

/// Returns the probability of a state given hard evidence.
///
/// # Panics
/// If a name is unknown or the evidence is impossible.
#[must_use]
pub fn p(network: &Network, name: &str, state: &str, found: &[(&str, &str)]) -> f64 {
    let var = network.require(name).expect("a variable of the network");
    let at = network.variable(var).state(state).expect("a state of the variable").index();
    given(network, found).expect("possible evidence").marginal(var)[at]
}

/// Returns the probability of hard evidence.
///
/// # Panics
/// If a name is unknown or the evidence is impossible.
#[must_use]
pub fn p_evidence(network: &Network, found: &[(&str, &str)]) -> f64 {
    given(network, found).expect("possible evidence").log_p_evidence().exp()
}

// Jobs.

/// Returns the mower that is shipped with the program.
///
/// # Panics
/// If it does not load.
pub fn mower() -> &'static Machine {
    static MOWER: OnceLock<Machine> = OnceLock::new();
    MOWER.get_or_init(|| Machine::shipped("mower-recoil").expect("the shipped mower"))
}

/// Returns a job on the mower with these steps and all tools.
#[must_use]
pub fn job(steps: &[StepRecord]) -> JobFile {
    JobFile {
        machine: "mower-recoil".into(),
        kit: None,
        rate_per_hour: None,
        wait_cost_per_hour: None,
        hand_over_cost: None,
        machine_value: None,
        spare: None,
        altitude_m: None,
        settings: Default::default(),
        fitted: Default::default(),
        told: false,
        steps: steps.to_vec(),
    }
}

/// Returns the demo job with only its first `steps` steps.
///
/// # Panics
/// If the demo does not load or has fewer steps.
#[must_use]
pub fn demo_after(steps: usize) -> JobFile {
    let mut demo = JobFile::demo().expect("the demo job");
    assert!(steps <= demo.steps.len(), "the demo has {} steps", demo.steps.len());
    demo.steps.truncate(steps);
    demo
}

/// Returns the step of a check with this result and the check's usual provenance.
#[must_use]
pub fn found(check: &str, result: &str) -> StepRecord {
    StepRecord::Check { check: check.into(), result: Some(result.into()), reading: None, known: None }
}

/// Returns the step of a check with this result and this provenance.
#[must_use]
pub fn found_as(check: &str, result: &str, known: Provenance) -> StepRecord {
    StepRecord::Check { check: check.into(), result: Some(result.into()), reading: None, known: Some(known) }
}

/// Returns the step of a check with a measured value.
#[must_use]
pub fn read(check: &str, value: f64, unit: Unit) -> StepRecord {
    let reading = ReadingRecord { value: Some(value), over: None, between: None, unit, temperature: None };
    StepRecord::Check { check: check.into(), result: None, reading: Some(reading), known: None }
}

/// Returns the step of a check whose reading lies within `span`.
#[must_use]
pub fn between(check: &str, span: [f64; 2], unit: Unit) -> StepRecord {
    let reading = ReadingRecord { value: None, over: None, between: Some(span), unit, temperature: None };
    StepRecord::Check { check: check.into(), result: None, reading: Some(reading), known: None }
}

/// Returns the step of a repair.
#[must_use]
pub fn repair(id: &str) -> StepRecord {
    StepRecord::Repair { repair: id.into(), known: None }
}

/// Returns the step of a start attempt without a bypass.
#[must_use]
pub fn attempt(outcome: Outcome) -> StepRecord {
    StepRecord::Attempt { bypass: Vec::new(), outcome, known: None }
}

/// Returns the step of a start attempt with one bypass.
#[must_use]
pub fn bypass(id: &str, outcome: Outcome) -> StepRecord {
    StepRecord::Attempt { bypass: vec![id.into()], outcome, known: None }
}

/// Returns the assessment of a job on the mower.
///
/// # Panics
/// If the job cannot be assessed.
#[must_use]
#[track_caller]
pub fn assess(file: &JobFile) -> Assessment {
    assess_on(mower(), file).expect("an assessment")
}

/// Returns the assessment of a job on `machine`, with the figures of every observation.
///
/// # Errors
/// If the job is invalid or its findings are impossible.
pub fn assess_on(machine: &Machine, file: &JobFile) -> Result<Assessment, JobError> {
    Job::new(machine, file)?.assess_in_full()
}

/// Returns the entry of the cause `part/condition` in an assessment.
///
/// # Panics
/// If the assessment does not list the cause.
#[must_use]
#[track_caller]
pub fn cause<'a>(answer: &'a Assessment, id: &str) -> &'a CauseOdds {
    let found = answer.causes.iter().find(|c| format!("{}/{}", c.part, c.condition) == id);
    found.expect(id)
}

/// Returns the most likely cause as `part/condition`.
#[must_use]
pub fn leader(answer: &Assessment) -> String {
    answer.causes.first().map_or_else(String::new, |c| format!("{}/{}", c.part, c.condition))
}

/// Returns the step with this id among those that can be done.
///
/// # Panics
/// If the step cannot be done.
#[must_use]
#[track_caller]
pub fn ranked<'a>(answer: &'a Assessment, id: &str) -> &'a StepAdvice {
    answer.possible().find(|s| s.id == id).expect(id)
}

/// Returns the predicted probability of a result of a step that can be done.
///
/// # Panics
/// If the step cannot be done or has no such result.
#[must_use]
#[track_caller]
pub fn predicted(answer: &Assessment, step: &str, result: &str) -> f64 {
    ranked(answer, step).results.iter().find(|r| r.id == result).expect(result).p
}

// A machine small enough to compute by hand.

/// Returns the description of the small machine in `tests/rust/machines/car.json`. Tests may change it.
///
/// # Panics
/// If the file is not valid JSON.
#[must_use]
pub fn car_file() -> Value {
    serde_json::from_str(&text("rust/machines/car.json")).expect("valid JSON")
}

/// Builds a machine from a description.
///
/// # Panics
/// If the description is invalid.
#[must_use]
#[track_caller]
pub fn machine(file: &Value) -> Machine {
    Machine::from_json(&file.to_string()).expect("a valid description")
}

/// Returns a job on the machine of [`car_file`] with these steps.
#[must_use]
pub fn car_job(steps: &[StepRecord]) -> JobFile {
    JobFile { machine: "car".into(), ..job(steps) }
}
