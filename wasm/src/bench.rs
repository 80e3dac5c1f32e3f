//! What the first screen and the bench ask.

use std::cell::RefCell;

use halfsplit::advise::{Adviser, Assessment, LookaheadProgress};
use halfsplit::job::JobFile;
use halfsplit::link::{self, Fit, Linked};
use tsify::Ts;
use wasm_bindgen::prelude::*;

use crate::begun::{Kept, with_begun};
use crate::cross::{from_page, to_page};
use crate::machines::machine;
use crate::trouble::Thrown;

/// Mark of everything in a description that answers depend on, whatever language it is in.
///
/// # Errors
/// Text that is no JSON.
#[wasm_bindgen]
pub fn fingerprint(text: &str) -> Thrown<String> {
    Ok(link::fingerprint(text)?)
}

thread_local! {
    static ADVICE: Kept<Adviser> = const { RefCell::new(None) };
}

/// The odds and the advice on a job: the first answer, and after some [`look_ahead`] with the same job a better one.
///
/// # Errors
/// Anything wrong with the job, or findings that cannot all be true.
#[wasm_bindgen]
pub fn advise(job: Ts<JobFile>) -> Thrown<Ts<Assessment>> {
    with_begun(&ADVICE, &job, Adviser::new, |adviser, _| to_page(adviser.so_far()))
}

/// Looks some milliseconds further ahead, and says how far that is now: once a round of looks is over,
/// [`advise`] has a better answer.
///
/// # Errors
/// As with [`advise`].
#[wasm_bindgen]
pub fn look_ahead(job: Ts<JobFile>) -> Thrown<Ts<LookaheadProgress>> {
    with_begun(&ADVICE, &job, Adviser::new, |adviser, job| {
        adviser.go_on(job);
        to_page(&adviser.so_far().lookahead)
    })
}

/// What a link that reopens a job packs.
///
/// # Errors
/// A value that is no job, and a note that is too long.
#[wasm_bindgen]
pub fn link_text(job: Ts<JobFile>, fingerprint: &str, note: Option<String>) -> Thrown<String> {
    Ok(link::shorten(&from_page(&job, JobFile::from_value)?, fingerprint, note.as_deref())?)
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
    let job = from_page(&job, JobFile::from_value)?;
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
