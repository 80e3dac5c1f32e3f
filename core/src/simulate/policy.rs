use std::fmt::Debug;

use crate::advise::Estimate;
use crate::job::{Action, Job, JobError};
use crate::machine::ConditionId;

/// A way to decide what to do next on a job.
pub trait Policy: Debug + Send + Sync {
    /// Its id, as on the command line.
    fn id(&self) -> &'static str;

    /// What it does, in one sentence for people.
    fn about(&self) -> &'static str;

    /// Whether the policy knows what stops the engine.
    fn is_clairvoyant(&self) -> bool {
        false
    }

    /// Decides what to do next. The same situation always gets the same decision.
    ///
    /// # Errors
    /// Findings that exclude each other; a job that is too large.
    fn decide(&self, situation: &Situation) -> Result<Decision, JobError>;
}

/// The information that a policy has when it decides.
#[derive(Debug)]
pub struct Situation<'s, 'm> {
    /// The job so far, on the machine that the policy assumes.
    pub job: &'s Job<'m>,
    /// Minimum number of outcomes of start attempts to leave out, because the job was too large before.
    pub left_out: usize,
    /// What stops the engine now; empty unless the policy [knows it](Policy::is_clairvoyant).
    pub acting: &'s [ConditionId],
}

/// The decision of a policy.
#[derive(Debug)]
pub struct Decision {
    /// The next action; none for handing over.
    pub next: Option<Action>,
    /// Whether a start attempt follows at once, if the next action is a repair.
    pub then_try: bool,
    /// Chance of each condition to stop the engine now, in the order of the description; empty where the policy
    /// computes none.
    pub chances: Vec<f64>,
    /// The predicted rest of the job; none where the policy predicts nothing.
    pub estimate: Option<Estimate>,
    /// Number of outcomes of start attempts that were left out, because the job is too large.
    pub left_out: usize,
}
