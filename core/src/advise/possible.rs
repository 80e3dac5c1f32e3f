//! What can be done now and what is believed, for those who decide without a ranking.

use super::answer::Abnormal;
use super::steps;
use super::{left_out, verdict};
use crate::job::{Action, FindingsNetwork, Job, JobError};
use halfsplit_bayes::VarId;
use halfsplit_bayes::Workspace;

/// A job as it stands, with what may be done on it.
pub(crate) struct Possible<'m> {
    job: Job<'m>,
    bench: FindingsNetwork,
    work: Workspace,
    /// By set-up work: whether it is done.
    open: Vec<bool>,
}

impl<'m> Possible<'m> {
    /// Works out what is believed, with as many outcomes left out as it takes and `at_least` some.
    ///
    /// # Errors
    /// As with [`Job::cause_chances`].
    pub(crate) fn leaving_out(job: &Job<'m>, at_least: usize) -> Result<Self, JobError> {
        left_out::answered(job, at_least, |job| {
            let (bench, work) = FindingsNetwork::new(job)?;
            Ok(Possible { job: job.clone(), bench, work, open: steps::open_setups(job) })
        })
    }

    /// How many outcomes were left out.
    pub(crate) fn left_out(&self) -> usize {
        self.job.left_out().len()
    }

    /// What an action comes to with the set-up work that is not open yet; none where something stands in its way.
    pub(crate) fn cost(&self, action: &Action) -> Option<f64> {
        let described = steps::describe(&self.job, action);
        let obstacle = steps::obstacle(&self.job, &self.bench, &|var| self.marginal(var), &described);
        obstacle.is_none().then(|| steps::toll_of(&self.job, &described, &self.open).cost)
    }

    /// What was found not to be right.
    pub(crate) fn abnormal(&self) -> Vec<Abnormal> {
        verdict::abnormal_findings(&self.job, &self.bench, &|var| self.marginal(var))
    }

    /// Chance of each condition to be there now and stop the engine, in the order of the description.
    pub(crate) fn chances(&self) -> Vec<f64> {
        self.job.chances_to_act(&self.bench, &|var| self.marginal(var))
    }

    fn marginal(&self, var: VarId) -> Vec<f64> {
        self.bench.tree.marginal(&self.work, var)
    }
}
