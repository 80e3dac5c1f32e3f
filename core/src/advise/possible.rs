//! What can be done now and what is believed, for those who decide without a ranking.

use super::steps::{self, Action};
use crate::inference::Workspace;
use crate::job::{Bench, Job, JobError};
use crate::machine::{BypassId, CheckId, RepairId};

/// A job as it stands, with what may be done on it.
pub(crate) struct Possible<'j> {
    job: &'j Job<'j>,
    bench: Bench,
    work: Workspace,
}

impl<'j> Possible<'j> {
    /// Works out what is believed.
    ///
    /// # Errors
    /// As with [`Job::cause_chances`].
    pub(crate) fn new(job: &'j Job<'j>) -> Result<Self, JobError> {
        let (bench, work) = Bench::new(job)?;
        Ok(Possible { job, bench, work })
    }

    /// Whether nothing stands in the way of a check.
    pub(crate) fn check(&self, check: CheckId) -> bool {
        self.free(&Action::Check(check))
    }

    /// Whether nothing stands in the way of a repair.
    pub(crate) fn repair(&self, repair: RepairId) -> bool {
        self.free(&Action::Repair(repair))
    }

    /// Whether nothing stands in the way of a try to start, plain or with a bypass.
    pub(crate) fn attempt(&self, bypass: Option<BypassId>) -> bool {
        self.free(&Action::Attempt(bypass))
    }

    fn free(&self, action: &Action) -> bool {
        let marginals = |var| self.bench.tree.marginal(&self.work, var);
        steps::obstacle(self.job, &self.bench, &marginals, &steps::describe(self.job, action)).is_none()
    }

    /// Chance of each condition to be there now and stop the engine, in the order of the description.
    pub(crate) fn chances(&self) -> Vec<f64> {
        self.job.chances_to_act(&self.bench, &|var| self.bench.tree.marginal(&self.work, var))
    }
}
