//! A job whose network is too large is answered without the outcomes of some of its start attempts.

use crate::job::{Job, JobError};

/// Limit on the outcomes left out of a job. Each trial takes seconds, and a link may hold a job with hundreds
/// of attempts.
const MOST: usize = 8;

/// The answer about a job without some outcomes of start attempts. It leaves out the fewest that make the job
/// small enough, but at least `at_least`, the number left out of the job that this one continues.
///
/// # Errors
/// The error of the answer, or that the job is too large even without these outcomes.
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{JobFile, JobRule};
    use crate::lesson::mower;

    /// Number of outcomes left out of a job with `attempts` attempts that is small enough once `takes`
    /// outcomes are left out.
    fn left_out(attempts: usize, at_least: usize, takes: usize) -> Result<usize, JobError> {
        let steps = vec![r#"{"do": "attempt", "outcome": "nothing"}"#; attempts].join(", ");
        let file = JobFile::from_json(&format!(r#"{{"machine": "mower-recoil", "steps": [{steps}]}}"#))?;
        answered(&Job::new(mower(), &file)?, at_least, |job| match job.left_out().len() {
            enough if enough >= takes => Ok(enough),
            _ => Err(JobError::rule("steps", JobRule::Tangled { entries: 2.0, limit: 1.0 })),
        })
    }

    #[test]
    fn as_few_are_left_out_as_it_takes() {
        assert_eq!(left_out(12, 0, 0), Ok(0));
        assert_eq!(left_out(12, 0, 3), Ok(3));
        assert_eq!(left_out(12, 5, 3), Ok(5));
        assert_eq!(left_out(12, 5, MOST), Ok(MOST));
        // All outcomes but the last can be left out.
        assert_eq!(left_out(4, 9, 0), Ok(3));
        assert!(left_out(4, 0, 4).is_err_and(|error| error.is_tangled()));
        assert!(left_out(12, 5, MOST + 1).is_err_and(|error| error.is_tangled()));
        assert!(left_out(12, 0, MOST + 1).is_err_and(|error| error.is_tangled()));
    }
}
