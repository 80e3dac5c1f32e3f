//! What is asked of a job alone.

use halfsplit::job::{Job, JobError, JobFile};
use serde::Serialize;
use tsify::{Ts, Tsify};

use crate::cross::to_page;
use crate::machines::with_job;
use crate::trouble::Thrown;

/// What something says of a job, for the page.
pub(crate) fn on_job<T: Tsify + Serialize>(
    job: &Ts<JobFile>,
    then: impl FnOnce(&Job) -> Result<T, JobError>,
) -> Thrown<Ts<T>> {
    with_job(job, |_, _, job| to_page(&then(job)?))
}
