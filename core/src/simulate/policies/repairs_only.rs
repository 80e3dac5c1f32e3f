use crate::job::JobError;
use crate::simulate::policy::{Decision, Policy, Situation};
use crate::simulate::ranking::{best_repair, decide_by_ranking};

/// Observes nothing: repairs by the odds alone.
#[derive(Debug)]
pub(super) struct RepairsOnly;

impl Policy for RepairsOnly {
    fn id(&self) -> &'static str {
        "repairs-only"
    }

    fn about(&self) -> &'static str {
        "No checks: the repair with the best chance for its cost, as long as that chance is worth it"
    }

    fn decide(&self, situation: &Situation) -> Result<Decision, JobError> {
        decide_by_ranking(situation, |job, ranking| {
            best_repair(job, ranking).filter(|best| best.pays(job)).map(|best| best.step)
        })
    }
}
