//! Work in the making: it goes on as long as the same job on the same machine is asked about.

use std::cell::RefCell;
use std::rc::Rc;
use std::thread::LocalKey;

use halfsplit::job::{Job, JobError, JobFile};
use halfsplit::machine::Machine;
use tsify::Ts;

use crate::machines::with_job;
use crate::trouble::Thrown;

/// Where work is kept between two calls.
pub(crate) type Kept<T> = RefCell<Option<Begun<T>>>;

/// Work on a job, and the job.
pub(crate) struct Begun<T> {
    machine: Rc<Machine>,
    file: JobFile,
    work: T,
}

/// Does something to the work kept on a job; another job or machine begins anew, and so does work that failed.
pub(crate) fn with_begun<T, R>(
    kept: &'static LocalKey<Kept<T>>,
    job: &Ts<JobFile>,
    begin: impl FnOnce(&Job) -> Result<T, JobError>,
    then: impl FnOnce(&mut T, &Job) -> Thrown<R>,
) -> Thrown<R> {
    with_job(job, |machine, file, job| {
        let same = |begun: &Begun<T>| begun.file == *file && Rc::ptr_eq(&begun.machine, machine);
        let mut begun = match kept.take().filter(same) {
            Some(begun) => begun,
            None => Begun { machine: Rc::clone(machine), file: file.clone(), work: begin(job)? },
        };
        let value = then(&mut begun.work, job)?;
        kept.replace(Some(begun));
        Ok(value)
    })
}
