//! halfsplit for the browser: a thin shell that turns values over and holds no logic.
//!
//! Every type that crosses is declared in TypeScript from the Rust type. Every failure is thrown as
//! a [`Trouble`] with the same text as on the command line.

use std::cell::OnceCell;

use halfsplit::advise::Assessment;
use halfsplit::job::{Job, JobError, JobFile};
use halfsplit::link::{self, LinkError};
use halfsplit::machine::file::MachineFile;
use halfsplit::machine::{Machine, MachineError, MachineSummary};
use serde::Serialize;
use tsify::{Ts, Tsify};
use wasm_bindgen::prelude::*;

/// What went wrong.
#[derive(Debug, Clone, PartialEq, Serialize, Tsify)]
pub struct Trouble {
    /// Which part of the program says so.
    pub kind: TroubleKind,
    /// What is wrong, where, and the rule it breaks.
    pub message: String,
}

/// Which part of the program says so.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Tsify)]
#[serde(rename_all = "kebab-case")]
pub enum TroubleKind {
    /// A machine description.
    Machine,
    /// A job.
    Job,
    /// Findings that cannot all be true.
    Impossible,
    /// A link.
    Link,
}

impl From<MachineError> for Trouble {
    fn from(error: MachineError) -> Self {
        Trouble { kind: TroubleKind::Machine, message: error.to_string() }
    }
}

impl From<JobError> for Trouble {
    fn from(error: JobError) -> Self {
        let kind = match error {
            JobError::Impossible { .. } => TroubleKind::Impossible,
            _ => TroubleKind::Job,
        };
        Trouble { kind, message: error.to_string() }
    }
}

impl From<LinkError> for Trouble {
    fn from(error: LinkError) -> Self {
        Trouble { kind: TroubleKind::Link, message: error.to_string() }
    }
}

thread_local! {
    /// The shipped machines, read and calibrated once.
    static MACHINES: OnceCell<Result<Vec<Machine>, MachineError>> = const { OnceCell::new() };
}

fn with_machines<T>(then: impl FnOnce(&[Machine]) -> Result<T, Trouble>) -> Result<T, Trouble> {
    MACHINES.with(|cell| match cell.get_or_init(Machine::all_shipped) {
        Ok(machines) => then(machines),
        Err(error) => Err(error.clone().into()),
    })
}

fn with_machine<T>(id: &str, then: impl FnOnce(&Machine) -> Result<T, Trouble>) -> Result<T, Trouble> {
    with_machines(|machines| match machines.iter().find(|m| m.id() == id) {
        Some(machine) => then(machine),
        // Not among them: the error with the nearest id.
        None => then(&Machine::shipped(id)?),
    })
}

impl From<tsify::Error> for Trouble {
    fn from(error: tsify::Error) -> Self {
        Trouble { kind: TroubleKind::Job, message: error.to_string() }
    }
}

impl From<Trouble> for JsValue {
    fn from(trouble: Trouble) -> Self {
        serde_wasm_bindgen::to_value(&trouble).unwrap_or_else(|_| JsValue::from_str(&trouble.message))
    }
}

type Thrown<T> = Result<T, Trouble>;

/// The machines that come with the program.
///
/// # Errors
/// None in a program that passes its tests.
#[wasm_bindgen]
pub fn machines() -> Thrown<Vec<Ts<MachineSummary>>> {
    with_machines(|all| Ok(all.iter().map(|m| m.summary().into_ts()).collect::<Result<_, _>>()?))
}

/// A machine's description.
///
/// # Errors
/// An id that no machine has.
#[wasm_bindgen]
pub fn machine(id: &str) -> Thrown<Ts<MachineFile>> {
    with_machine(id, |machine| Ok(machine.file().into_ts()?))
}

/// The odds and the advice on a job.
///
/// # Errors
/// Anything wrong with the job, or findings that cannot all be true.
#[wasm_bindgen]
pub fn assess(job: Ts<JobFile>) -> Thrown<Ts<Assessment>> {
    let file = job.to_rust()?;
    with_machine(&file.machine, |machine| Ok(Job::new(machine, &file)?.assess()?.into_ts()?))
}

/// A job of our own invention, for people who want to see one.
///
/// # Errors
/// None in a program that passes its tests.
#[wasm_bindgen]
pub fn demo_job() -> Thrown<Ts<JobFile>> {
    Ok(JobFile::demo()?.into_ts()?)
}

/// The text of a link that reopens a job.
///
/// # Errors
/// A value that is no job.
#[wasm_bindgen]
pub fn encode_link(job: Ts<JobFile>) -> Thrown<String> {
    Ok(link::encode(&job.to_rust()?))
}

/// The job of a link, checked against its machine.
///
/// # Errors
/// A broken link, or a job that the machine does not know.
#[wasm_bindgen]
pub fn decode_link(text: &str) -> Thrown<Ts<JobFile>> {
    checked(&link::decode(text)?)
}

/// A job from JSON text, checked against its machine.
///
/// # Errors
/// Text that is no job, or a job that the machine does not know.
#[wasm_bindgen]
pub fn parse_job(text: &str) -> Thrown<Ts<JobFile>> {
    checked(&JobFile::from_json(text)?)
}

fn checked(file: &JobFile) -> Thrown<Ts<JobFile>> {
    with_machine(&file.machine, |machine| {
        Job::new(machine, file)?;
        Ok(file.into_ts()?)
    })
}
