//! Why: what an answer rests on.

use std::cell::RefCell;

use halfsplit::explain::{self, Reasons, SensitivityAnalysis, SensitivityReport};
use halfsplit::job::JobFile;
use tsify::Ts;
use wasm_bindgen::prelude::*;

use crate::asked::on_job;
use crate::begun::{Kept, with_begun};
use crate::cross::to_page;
use crate::trouble::Thrown;

thread_local! {
    static ANALYSIS: Kept<SensitivityAnalysis> = const { RefCell::new(None) };
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
pub fn sensitivity(job: Ts<JobFile>) -> Thrown<Ts<SensitivityReport>> {
    with_begun(&ANALYSIS, &job, SensitivityAnalysis::new, |analysis, job| {
        analysis.go_on(job)?;
        to_page(&analysis.so_far())
    })
}
