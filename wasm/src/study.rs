//! Functions for lessons and exercises.

use std::rc::Rc;

use halfsplit::job::{Job, JobFile, StepRecord};
use halfsplit::json;
use halfsplit::lesson::{self, ActionRecord, Arithmetic, Graph, Hidden, OddsHistory, Played, Supposition};
use halfsplit::machine::Machine;
use tsify::Ts;
use wasm_bindgen::prelude::*;

use crate::asked::on_job;
use crate::cross::{from_page, to_page};
use crate::machines::{machine, with_machine};
use crate::trouble::Thrown;

/// The odds after every step of a job, on the machine as described or with suppositions.
///
/// # Errors
/// The errors of [`Job::assess`], and suppositions that are not valid.
#[wasm_bindgen]
pub fn odds_history(job: Ts<JobFile>, supposition: Ts<Supposition>) -> Thrown<Ts<OddsHistory>> {
    let file = from_page(&job, JobFile::from_value)?;
    let what = from_page(&supposition, json::read_value)?;
    let machine = if what == Supposition::default() {
        machine(&file.machine)?
    } else {
        let authored = with_machine(&file.machine, |_, text| Ok(Machine::read(text)?))?;
        Rc::new(lesson::suppose(authored, &what)?)
    };
    to_page(&lesson::odds_history(&Job::new(&machine, &file)?)?)
}

/// The change of the odds of one cause by one step.
///
/// # Errors
/// The errors of [`Job::assess`], and a step or cause that does not exist.
#[wasm_bindgen]
pub fn arithmetic(job: Ts<JobFile>, step: usize, part: &str, condition: &str) -> Thrown<Ts<Arithmetic>> {
    on_job(&job, |job| lesson::arithmetic(job, step, part, condition))
}

/// The part of a job's network that a class can follow.
///
/// # Errors
/// The errors of [`Job::assess`].
#[wasm_bindgen]
pub fn graph(job: Ts<JobFile>, most: usize) -> Thrown<Ts<Graph>> {
    on_job(&job, |job| lesson::graph(job, most))
}

/// The job of an exercise at its beginning.
///
/// # Errors
/// A machine that is not loaded.
#[wasm_bindgen]
pub fn exercise(machine_id: &str, seed: u32) -> Thrown<Ts<JobFile>> {
    to_page(&lesson::exercise(&*machine(machine_id)?, seed)?)
}

/// The record of a step of an exercise, with what it shows.
///
/// # Errors
/// A step that the machine does not have.
#[wasm_bindgen]
pub fn take(job: Ts<JobFile>, seed: u32, pick: Ts<ActionRecord>) -> Thrown<Ts<StepRecord>> {
    let file = from_page(&job, JobFile::from_value)?;
    let pick = from_page(&pick, json::read_value)?;
    to_page(&lesson::take(&*machine(&file.machine)?, seed, &file, &pick)?)
}

/// The hidden faults of the machine of an exercise.
///
/// # Errors
/// The errors of [`Job::assess`].
#[wasm_bindgen]
pub fn reveal(job: Ts<JobFile>, seed: u32) -> Thrown<Ts<Hidden>> {
    let file = from_page(&job, JobFile::from_value)?;
    to_page(&lesson::reveal(&*machine(&file.machine)?, seed, &file)?)
}

/// An exercise played by the advice.
///
/// # Errors
/// A machine that is not loaded.
#[wasm_bindgen]
pub fn play(machine_id: &str, seed: u32) -> Thrown<Ts<Played>> {
    to_page(&lesson::play(&*machine(machine_id)?, seed)?)
}
