//! A job that hangs together in too many ways is answered without the outcomes of some of its start attempts.

use crate::job::{Job, JobError};

/// Outcomes left out of a job that is too large, at most: each is seconds of work, and a link from anywhere may bring
/// some hundreds.
const MOST: usize = 8;

/// An answer about a job, with as few outcomes left out as it takes, and `at_least` some: those of a job of which
/// this one is the continuation.
///
/// # Errors
/// Those of the answer; where the job is too large even so, that it is.
pub(super) fn answered<'m, T>(
    job: &Job<'m>,
    at_least: usize,
    answer: impl Fn(&Job<'m>) -> Result<T, JobError>,
) -> Result<T, JobError> {
    let dispensable = job.dispensable();
    let mut job = job.clone();
    let (first, more) = dispensable.split_at(at_least.min(dispensable.len()));
    first.iter().for_each(|step| job.leave_out(*step));
    let mut answered = answer(&job);
    for step in more.iter().take(MOST.saturating_sub(at_least)) {
        if !answered.as_ref().is_err_and(JobError::is_tangled) {
            break;
        }
        job.leave_out(*step);
        answered = answer(&job);
    }
    answered
}
