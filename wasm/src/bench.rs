//! What the first screen and the bench ask.

use std::cell::RefCell;
use std::rc::Rc;

use halfsplit::advise::{Adviser, Assessment};
use halfsplit::job::{Job, JobFile};
use halfsplit::link::{self, Fit, Linked};
use halfsplit::machine::Machine;
use tsify::Ts;
use wasm_bindgen::prelude::*;

use crate::cross::{from_page, to_page};
use crate::machines::{machine, on_job};
use crate::trouble::Thrown;

/// Mark of everything in a description that answers depend on, whatever language it is in.
///
/// # Errors
/// Text that is no JSON.
#[wasm_bindgen]
pub fn fingerprint(text: &str) -> Thrown<String> {
    Ok(link::fingerprint(text)?)
}

/// Advice in the making on some job.
struct Begun {
    machine: Rc<Machine>,
    file: JobFile,
    adviser: Adviser,
}

thread_local! {
    static BEGUN: RefCell<Option<Begun>> = const { RefCell::new(None) };
}

/// The odds and the advice on a job, at once; called again with the same job, the advice after some more
/// milliseconds of looking ahead, until there is no more to look at. Another job or machine begins anew.
///
/// # Errors
/// As with [`assess`].
#[wasm_bindgen]
pub fn advise(job: Ts<JobFile>) -> Thrown<Ts<Assessment>> {
    let file = from_page(&job, JobFile::from_json)?;
    let machine = machine(&file.machine)?;
    let job = Job::new(&machine, &file)?;
    let same = |begun: &Begun| begun.file == file && Rc::ptr_eq(&begun.machine, &machine);
    let mut adviser = match BEGUN.take().filter(same) {
        Some(Begun { mut adviser, .. }) => {
            adviser.go_on(&job);
            adviser
        }
        None => Adviser::new(&job)?,
    };
    let said = to_page(adviser.so_far(&job))?;
    BEGUN.replace(Some(Begun { machine: Rc::clone(&machine), file, adviser }));
    Ok(said)
}

/// The odds and the advice on a job, with all that leads looked at ahead.
///
/// # Errors
/// Anything wrong with the job, or findings that cannot all be true.
#[wasm_bindgen]
pub fn assess(job: Ts<JobFile>) -> Thrown<Ts<Assessment>> {
    on_job(&job, |job| job.assess())
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
