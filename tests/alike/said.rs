//! Random jobs, and digests of the engine's answers about them. This file is compiled twice: into a native program
//! and into the tests in the browser, which must give the same digests.

use halfsplit::job::{Job, JobFile, StepRecord};
use halfsplit::lesson::{ActionRecord, exercise, take};
use halfsplit::machine::Machine;
use serde_json::Value;

/// Number of jobs.
pub(crate) const JOBS: u64 = 1000;

/// SplitMix64 (Steele, Lea and Flood 2014): integer arithmetic, which is the same on every platform.
struct Draw(u64);

impl Draw {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % n as u64) as usize
    }
}

/// A job on a machine with hidden faults: an attempt and up to five random steps, repairs followed by an attempt.
fn job(machine: &Machine, number: u64) -> JobFile {
    let mut draw = Draw(number);
    let seed = u32::try_from(number).expect("a small number");
    let mut job = exercise(machine, seed).expect("a machine that does not start");
    let file = machine.file();
    for _ in 0..draw.below(6) {
        let pick = match draw.below(8) {
            0 => ActionRecord::Repair(file.repairs[draw.below(file.repairs.len())].id.clone()),
            1 => ActionRecord::Attempt(vec![file.bypasses[draw.below(file.bypasses.len())].id.clone()]),
            _ => ActionRecord::Check(file.checks[draw.below(file.checks.len())].id.clone()),
        };
        let record = take(machine, seed, &job, &pick).expect("a step of the machine");
        let repaired = matches!(record, StepRecord::Repair { .. });
        job.steps.push(record);
        if repaired {
            let tried = take(machine, seed, &job, &ActionRecord::Attempt(Vec::new())).expect("an attempt");
            job.steps.push(tried);
        }
    }
    job
}

/// The digest of the answer about job `number`: a hash of all texts in order, and the sum of all numbers. The
/// machines take turns.
pub(crate) fn said(machines: &[Machine], number: u64) -> (u64, f64) {
    let machine = &machines[(number % machines.len() as u64) as usize];
    let file = job(machine, number);
    let answer = Job::new(machine, &file).and_then(|j| j.assess()).expect("what was found can be");
    let mut said = (0xcbf2_9ce4_8422_2325, 0.0);
    add(&mut said, &serde_json::to_value(&answer).expect("an answer is JSON"));
    said
}

fn add(said: &mut (u64, f64), value: &Value) {
    match value {
        Value::Null => mark(said, "null"),
        Value::Bool(true) => mark(said, "true"),
        Value::Bool(false) => mark(said, "false"),
        Value::String(text) => mark(said, text),
        Value::Number(number) => {
            mark(said, "number");
            said.1 += number.as_f64().unwrap_or_default();
        }
        Value::Array(values) => {
            mark(said, "list");
            values.iter().for_each(|v| add(said, v));
        }
        Value::Object(fields) => {
            // A feature of another crate may make maps keep their insertion order, so the fields are sorted.
            let mut fields: Vec<_> = fields.iter().collect();
            fields.sort_unstable_by_key(|(name, _)| *name);
            for (name, value) in fields {
                mark(said, name);
                add(said, value);
            }
        }
    }
}

/// Adds a text to the hash (FNV-1a).
fn mark(said: &mut (u64, f64), text: &str) {
    let bytes = text.bytes().chain([0]);
    said.0 = bytes.fold(said.0, |mark, b| (mark ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3));
}

/// Writes a digest as text: the hash and all bits of the sum, 32 characters. An environment variable holds 32,767
/// characters on Windows, enough for a thousand digests.
#[cfg(not(target_arch = "wasm32"))]
pub(crate) fn written((mark, sum): (u64, f64)) -> String {
    format!("{mark:016x}{:016x}", sum.to_bits())
}

/// Reads the digests from such a text, job by job.
#[cfg(target_arch = "wasm32")]
pub(crate) fn read(written: &str) -> impl Iterator<Item = (u64, f64)> {
    let hex = |digits: &[u8]| {
        let digits = std::str::from_utf8(digits).expect("digits");
        u64::from_str_radix(digits, 16).expect("a number")
    };
    written
        .trim_end()
        .as_bytes()
        .chunks(32)
        .map(move |job| (hex(&job[..16]), f64::from_bits(hex(&job[16..]))))
}
