//! Why: what an answer rests on.

use std::cell::RefCell;
use std::rc::Rc;

use halfsplit::explain::{self, Firm, Firmness, Reasons};
use halfsplit::job::{Job, JobFile};
use halfsplit::machine::Machine;
use tsify::Ts;
use wasm_bindgen::prelude::*;

use crate::cross::{from_page, to_page};
use crate::machines::{machine, on_job};
use crate::trouble::Thrown;

/// A job whose numbers are being looked at, and how far that is.
struct Begun {
    machine: Rc<Machine>,
    file: JobFile,
    firm: Firm,
}

thread_local! {
    static BEGUN: RefCell<Option<Begun>> = const { RefCell::new(None) };
}

/// What the odds of a job rest on.
///
/// # Errors
/// Anything wrong with the job, or findings that cannot all be true.
#[wasm_bindgen]
pub fn reasons(job: Ts<JobFile>) -> Thrown<Ts<Reasons>> {
    on_job(&job, explain::reasons)
}

/// How far leader and advice hang on the numbers: one more piece of the work, about a ranking long. Called
/// with the same job again and again until its progress is 1; another job or machine begins anew.
///
/// # Errors
/// As with [`reasons`], and a leader that what was found proves.
#[wasm_bindgen]
pub fn firmness(job: Ts<JobFile>) -> Thrown<Ts<Firmness>> {
    let file = from_page(&job, JobFile::from_json)?;
    let machine = machine(&file.machine)?;
    let job = Job::new(&machine, &file)?;
    let same = |begun: &Begun| begun.file == file && Rc::ptr_eq(&begun.machine, &machine);
    let mut firm = match BEGUN.take().filter(same) {
        Some(begun) => begun.firm,
        None => Firm::new(&job)?,
    };
    firm.go_on(&job)?;
    let so_far = firm.so_far();
    BEGUN.replace(Some(Begun { machine: Rc::clone(&machine), file, firm }));
    to_page(&so_far)
}
