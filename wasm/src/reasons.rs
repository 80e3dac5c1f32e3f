//! Functions for the explanation of an answer.

use std::rc::Rc;

use halfsplit::explain::{self, Reasons, SensitivityReport};
use halfsplit::job::JobFile;
use halfsplit::machine::Machine;
use tsify::Ts;
use wasm_bindgen::prelude::*;

use crate::asked::on_job;
use crate::cross::{from_page, to_page};
use crate::machines::machine;
use crate::trouble::Thrown;

/// The explanation of the odds of a job.
///
/// # Errors
/// Anything wrong with the job, or findings that cannot all be true.
#[wasm_bindgen]
pub fn reasons(job: Ts<JobFile>) -> Thrown<Ts<Reasons>> {
    on_job(&job, explain::reasons)
}

/// How the most likely cause and the advice depend on the numbers of the machine description. The page frees the
/// analysis when it no longer needs it.
#[wasm_bindgen]
pub struct SensitivityAnalysis {
    analysis: explain::SensitivityAnalysis<Rc<Machine>>,
}

#[wasm_bindgen]
impl SensitivityAnalysis {
    /// Begins an analysis of a job.
    ///
    /// # Errors
    /// Anything wrong with the job, and findings that cannot all be true.
    #[wasm_bindgen(constructor)]
    pub fn new(job: Ts<JobFile>) -> Thrown<SensitivityAnalysis> {
        let job = from_page(&job, JobFile::from_value)?;
        Ok(SensitivityAnalysis { analysis: explain::SensitivityAnalysis::new(machine(&job.machine)?, job)? })
    }

    /// Does one more step, which takes about as long as a ranking. Returns the report on the work done so
    /// far; the work is done when its progress is 1.
    ///
    /// # Errors
    /// None for a job that began well.
    pub fn step(&mut self) -> Thrown<Ts<SensitivityReport>> {
        self.analysis.step()?;
        to_page(&self.analysis.report())
    }
}
