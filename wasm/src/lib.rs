//! halfsplit for the browser: a thin shell that turns values over and holds no logic.
//!
//! Every type that crosses is declared in TypeScript from the Rust type, and crosses as JSON: the
//! engine reads and writes JSON anyway, and a second way of doing so would weigh more than all of its
//! inference. Every failure is thrown as a [`Trouble`]: its kind, place, rule and
//! figures, for the page to put into words.
//!
//! Machine descriptions are no part of the engine. The page fetches the one it needs and hands it
//! over with [`load_machine`]; every later call finds it by its id.

mod cross;
mod trouble;

use std::cell::RefCell;
use std::rc::Rc;

use halfsplit::advise::Assessment;
use halfsplit::job::{Job, JobError, JobFile, StepRecord};
use halfsplit::lesson::{self, Arithmetic, Course, Graph, Hidden, Pick, Played, Supposition};
use halfsplit::link::{self, Fit, Linked};
use halfsplit::machine::Machine;
use halfsplit::report::{self, Sheet, Text};
use serde::Serialize;
use tsify::{Ts, Tsify};
use wasm_bindgen::prelude::*;

use cross::{from_page, to_page};
pub use trouble::Trouble;

type Thrown<T> = Result<T, Trouble>;

thread_local! {
    /// The machines handed over so far, checked and calibrated once each, with their texts.
    static MACHINES: RefCell<Vec<(Rc<Machine>, String)>> = const { RefCell::new(Vec::new()) };
}

fn machine(id: &str) -> Thrown<Rc<Machine>> {
    with_machine(id, |machine, _| Ok(Rc::clone(machine)))
}

fn with_machine<T>(id: &str, then: impl FnOnce(&Rc<Machine>, &str) -> Thrown<T>) -> Thrown<T> {
    MACHINES.with_borrow(|all| match all.iter().find(|(m, _)| m.id() == id) {
        Some((machine, text)) => then(machine, text),
        None => Err(Machine::unknown(id, all.iter().map(|(m, _)| m.id())).into()),
    })
}

/// Takes a machine description in; one of the same id is replaced.
///
/// # Errors
/// A description that breaks a rule.
#[wasm_bindgen]
pub fn load_machine(text: &str) -> Thrown<()> {
    let machine = Machine::from_json(text)?;
    MACHINES.with_borrow_mut(|all| {
        all.retain(|(m, _)| m.id() != machine.id());
        all.push((Rc::new(machine), text.to_owned()));
    });
    Ok(())
}

/// Mark of everything in a description that answers depend on, whatever language it is in.
///
/// # Errors
/// Text that is no JSON.
#[wasm_bindgen]
pub fn fingerprint(text: &str) -> Thrown<String> {
    Ok(link::fingerprint(text)?)
}

/// Runs something on a job checked against its machine.
fn on_job<T: Tsify + Serialize>(
    job: &Ts<JobFile>,
    then: impl FnOnce(&Job) -> Result<T, JobError>,
) -> Thrown<Ts<T>> {
    let file = from_page(job, JobFile::from_json)?;
    let machine = machine(&file.machine)?;
    to_page(&then(&Job::new(&machine, &file)?)?)
}

/// The odds and the advice on a job.
///
/// # Errors
/// Anything wrong with the job, or findings that cannot all be true.
#[wasm_bindgen]
pub fn assess(job: Ts<JobFile>) -> Thrown<Ts<Assessment>> {
    on_job(&job, |job| job.assess())
}

/// The figures of a work sheet.
///
/// # Errors
/// As with [`assess`].
#[wasm_bindgen]
pub fn sheet(job: Ts<JobFile>) -> Thrown<Ts<Sheet>> {
    on_job(&job, report::sheet)
}

/// A text to paste, in its markup.
///
/// # Errors
/// A value that is no text.
#[wasm_bindgen]
pub fn paste(text: Ts<Text>) -> Thrown<String> {
    Ok(report::paste(&from_page(&text, Text::from_json)?))
}

/// How the odds shifted over a job, on the machine as it is or as it is supposed to be.
///
/// # Errors
/// As with [`assess`], and suppositions that make no sense.
#[wasm_bindgen]
pub fn course(job: Ts<JobFile>, supposition: Ts<Supposition>) -> Thrown<Ts<Course>> {
    let file = from_page(&job, JobFile::from_json)?;
    let what = from_page(&supposition, Supposition::from_json)?;
    let machine = if what == Supposition::default() {
        machine(&file.machine)?
    } else {
        let authored = with_machine(&file.machine, |_, text| Ok(Machine::read(text)?))?;
        Rc::new(lesson::suppose(authored, &what)?)
    };
    to_page(&lesson::course(&Job::new(&machine, &file)?)?)
}

/// What one step did to the odds of one cause.
///
/// # Errors
/// As with [`assess`], and a step or cause that is not there.
#[wasm_bindgen]
pub fn arithmetic(job: Ts<JobFile>, step: usize, part: &str, condition: &str) -> Thrown<Ts<Arithmetic>> {
    on_job(&job, |job| lesson::arithmetic(job, step, part, condition))
}

/// The part of a job's network that a class can follow.
///
/// # Errors
/// As with [`assess`].
#[wasm_bindgen]
pub fn graph(job: Ts<JobFile>, most: usize) -> Thrown<Ts<Graph>> {
    on_job(&job, |job| lesson::graph(job, most))
}

/// An exercise as it begins.
///
/// # Errors
/// A machine that is not there.
#[wasm_bindgen]
pub fn exercise(machine_id: &str, seed: u32) -> Thrown<Ts<JobFile>> {
    to_page(&lesson::exercise(&*machine(machine_id)?, seed)?)
}

/// The record of a step of an exercise, with what it shows.
///
/// # Errors
/// A step that the machine does not have.
#[wasm_bindgen]
pub fn take(job: Ts<JobFile>, seed: u32, pick: Ts<Pick>) -> Thrown<Ts<StepRecord>> {
    let file = from_page(&job, JobFile::from_json)?;
    let pick = from_page(&pick, Pick::from_json)?;
    to_page(&lesson::take(&*machine(&file.machine)?, seed, &file, &pick)?)
}

/// What was wrong with the machine of an exercise.
///
/// # Errors
/// As with [`assess`].
#[wasm_bindgen]
pub fn reveal(job: Ts<JobFile>, seed: u32) -> Thrown<Ts<Hidden>> {
    let file = from_page(&job, JobFile::from_json)?;
    to_page(&lesson::reveal(&*machine(&file.machine)?, seed, &file)?)
}

/// An exercise played by the advice.
///
/// # Errors
/// A machine that is not there.
#[wasm_bindgen]
pub fn play(machine_id: &str, seed: u32) -> Thrown<Ts<Played>> {
    to_page(&lesson::play(&*machine(machine_id)?, seed)?)
}

/// A job of our own invention, for people who want to see one.
///
/// # Errors
/// None in a program that passes its tests.
#[wasm_bindgen]
pub fn demo_job() -> Thrown<Ts<JobFile>> {
    to_page(&JobFile::demo()?)
}

/// What a link that reopens a job packs.
///
/// # Errors
/// A value that is no job, and a note that is too long.
#[wasm_bindgen]
pub fn link_text(job: Ts<JobFile>, fingerprint: &str, note: Option<String>) -> Thrown<String> {
    Ok(link::shorten(&from_page(&job, JobFile::from_json)?, fingerprint, note.as_deref())?)
}

/// What a link holds, from what it packed. Whether the job fits the machine that is here is for [`fit`]
/// to say.
///
/// # Errors
/// A broken link.
#[wasm_bindgen]
pub fn linked(text: &str, first_version: bool) -> Thrown<Ts<Linked>> {
    to_page(&if first_version { link::lengthen_first(text)? } else { link::lengthen(text)? })
}

/// How a linked job fits the machine description that is here.
///
/// # Errors
/// A machine that is not here, and tools, prices or heights that are none.
#[wasm_bindgen]
pub fn fit(job: Ts<JobFile>, theirs: Option<String>, here: &str) -> Thrown<Ts<Fit>> {
    let job = from_page(&job, JobFile::from_json)?;
    let machine = machine(&job.machine)?;
    to_page(&link::fit(&Linked { job, fingerprint: theirs, note: None }, &machine, here)?)
}

/// A job from the text of a file, its shape checked.
///
/// # Errors
/// Text that is no job.
#[wasm_bindgen]
pub fn parse_job(text: &str) -> Thrown<Ts<JobFile>> {
    to_page(&JobFile::from_json(text)?)
}
