//! Actions that can be done now, and the present belief, for policies that decide without a ranking.

use super::answer::Abnormal;
use super::gate::ClosedGates;
use super::{left_out, obstacle, precedence, steps, verdict};
use crate::job::{Action, FindingsNetwork, Job, JobError};
use crate::machine::ConditionId;
use halfsplit_bayes::VarId;
use halfsplit_bayes::Workspace;

/// A job with its present belief.
pub(crate) struct Possible<'m> {
    job: Job<'m>,
    bench: FindingsNetwork,
    work: Workspace,
    /// By set-up work: whether it is open.
    open: Vec<bool>,
}

impl<'m> Possible<'m> {
    /// Computes the belief, with at least some outcomes left out.
    ///
    /// # Errors
    /// As with [`Job::cause_chances`].
    pub(crate) fn leaving_out(job: &Job<'m>, at_least: usize) -> Result<Self, JobError> {
        left_out::answered(job, at_least, |job| {
            let (bench, work) = FindingsNetwork::new(job)?;
            Ok(Possible { job: job.clone(), bench, work, open: steps::open_setups(job) })
        })
    }

    /// Number of outcomes that are left out.
    pub(crate) fn left_out(&self) -> usize {
        self.job.left_out().len()
    }

    /// Cost of an action in money, with the set-up work that is not open yet; none where something stands in its way.
    pub(crate) fn cost(&self, action: &Action) -> Option<f64> {
        let facts = steps::facts(self.job.machine, action);
        let marginals = |var| self.marginal(var);
        let gates = ClosedGates::new(&self.job, &self.bench, &marginals);
        let obstacle = obstacle::obstacle(&self.job, &self.bench, &marginals, &gates, action);
        obstacle.is_none().then(|| steps::cost_now(&self.job, &facts, &self.open).money)
    }

    /// Findings that were not normal.
    pub(crate) fn abnormal(&self) -> Vec<Abnormal> {
        verdict::abnormal_findings(&self.job, &self.bench, &|var| self.marginal(var))
    }

    /// The faults that the job's own findings have shown, that are most likely still there, and that no repair since was
    /// for.
    pub(crate) fn found(&self) -> Vec<ConditionId> {
        let causes = self.job.causes(&self.bench, &|var| self.marginal(var), None);
        precedence::found(&self.job, &causes, &self.abnormal())
    }

    /// By condition, in the order of the description: the chance that it is there now and stops the engine.
    pub(crate) fn chances(&self) -> Vec<f64> {
        self.job.chances_to_act(&self.bench, &|var| self.marginal(var))
    }

    fn marginal(&self, var: VarId) -> Vec<f64> {
        self.bench.tree.marginal(&self.work, var)
    }
}
