//! The work sheet, and text to paste.

use halfsplit::job::JobFile;
use halfsplit::json;
use halfsplit::report::{self, Sheet, Text};
use tsify::Ts;
use wasm_bindgen::prelude::*;

use crate::asked::on_job;
use crate::cross::from_page;
use crate::trouble::Thrown;

/// The figures of a work sheet.
///
/// # Errors
/// Anything wrong with the job, or findings that cannot all be true.
#[wasm_bindgen]
pub fn sheet(job: Ts<JobFile>) -> Thrown<Ts<Sheet>> {
    on_job(&job, report::sheet)
}

/// A text to paste, in its markup.
///
/// # Errors
/// A value that is not a text.
#[wasm_bindgen]
pub fn paste(text: Ts<Text>) -> Thrown<String> {
    Ok(report::paste(&from_page(&text, json::read_value)?))
}
