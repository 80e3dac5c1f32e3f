//! Functions for the first screen and the bench.

use std::rc::Rc;

use halfsplit::advise::{self, Assessment, LookaheadProgress};
use halfsplit::job::JobFile;
use halfsplit::link::{self, Fit, Linked};
use halfsplit::machine::Machine;
use tsify::Ts;
use wasm_bindgen::prelude::*;

use crate::cross::{from_page, to_page};
use crate::machines::machine;
use crate::trouble::Thrown;

/// The fingerprint of everything in a machine description that answers depend on. It is the same in every language.
///
/// # Errors
/// Text that is not JSON.
#[wasm_bindgen]
pub fn fingerprint(text: &str) -> Thrown<String> {
    Ok(link::fingerprint(text)?)
}

/// Advice on one job, which gets better with every step. The page frees the session when it no longer needs it.
#[wasm_bindgen]
pub struct AdviceSession {
    session: advise::AdviceSession<Rc<Machine>>,
}

#[wasm_bindgen]
impl AdviceSession {
    /// Begins a session with the first assessment of a job.
    ///
    /// # Errors
    /// Anything wrong with the job, and findings that cannot all be true.
    #[wasm_bindgen(constructor)]
    pub fn new(job: Ts<JobFile>) -> Thrown<AdviceSession> {
        let job = from_page(&job, JobFile::from_value)?;
        Ok(AdviceSession { session: advise::AdviceSession::new(machine(&job.machine)?, &job)? })
    }

    /// The best assessment so far.
    ///
    /// # Errors
    /// None: an assessment is plain data.
    pub fn assessment(&self) -> Thrown<Ts<Assessment>> {
        to_page(self.session.assessment())
    }

    /// Looks ahead for some milliseconds. Returns how far the lookahead is; [`AdviceSession::assessment`] changes
    /// when a round is over.
    ///
    /// # Errors
    /// None: the progress is plain data.
    pub fn step(&mut self) -> Thrown<Ts<LookaheadProgress>> {
        self.session.step();
        to_page(&self.session.assessment().lookahead)
    }
}

/// The text of a link that reopens a job, before it is packed.
///
/// # Errors
/// A value that is not a job, and a note that is too long.
#[wasm_bindgen]
pub fn link_text(job: Ts<JobFile>, fingerprint: &str, note: Option<String>) -> Thrown<String> {
    Ok(link::shorten(&from_page(&job, JobFile::from_value)?, fingerprint, note.as_deref())?)
}

/// The content of a link from its unpacked text. [`fit`] tells whether the job fits the machine that is loaded.
///
/// # Errors
/// A broken link.
#[wasm_bindgen]
pub fn linked(text: &str, first_version: bool) -> Thrown<Ts<Linked>> {
    to_page(&if first_version { link::lengthen_first(text)? } else { link::lengthen(text)? })
}

/// How a linked job fits the machine description that is loaded.
///
/// # Errors
/// A machine that is not loaded, and tools, prices or heights that are not valid.
#[wasm_bindgen]
pub fn fit(job: Ts<JobFile>, theirs: Option<String>, here: &str) -> Thrown<Ts<Fit>> {
    let job = from_page(&job, JobFile::from_value)?;
    let machine = machine(&job.machine)?;
    to_page(&link::fit(&Linked { job, fingerprint: theirs, note: None }, &machine, here)?)
}

/// A job from the text of a file. Its shape is checked, its ids are not.
///
/// # Errors
/// Text that is not a job.
#[wasm_bindgen]
pub fn parse_job(text: &str) -> Thrown<Ts<JobFile>> {
    to_page(&JobFile::from_json(text)?)
}
