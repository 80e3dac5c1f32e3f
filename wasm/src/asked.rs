//! Questions about a job alone.

use halfsplit::job::{Job, JobError, JobFile};
use serde::Serialize;
use tsify::{Ts, Tsify};

use crate::cross::{from_page, to_page};
use crate::machines::machine;
use crate::trouble::Thrown;

/// The answer to a question about a job, for the page.
pub(crate) fn on_job<T: Tsify + Serialize>(
    job: &Ts<JobFile>,
    answer: impl FnOnce(&Job) -> Result<T, JobError>,
) -> Thrown<Ts<T>> {
    let file = from_page(job, JobFile::from_value)?;
    let machine = machine(&file.machine)?;
    to_page(&answer(&Job::new(&machine, &file)?)?)
}
