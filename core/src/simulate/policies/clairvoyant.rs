use crate::job::{Action, JobError};
use crate::simulate::policy::{Decision, Policy, Situation};

/// Knows the causes and observes nothing. No policy has a lower cost, except by luck.
///
/// It does the first of the cheapest repairs that cure everything that acts. If nothing acts, it makes an
/// attempt. It hands over where that is cheaper.
#[derive(Debug)]
pub(super) struct Clairvoyant;

impl Policy for Clairvoyant {
    fn id(&self) -> &'static str {
        "clairvoyant"
    }

    fn about(&self) -> &'static str {
        "Knows the causes: the lowest cost possible"
    }

    fn is_clairvoyant(&self) -> bool {
        true
    }

    fn decide(&self, situation: &Situation) -> Result<Decision, JobError> {
        let Situation { job, left_out, acting } = *situation;
        let next = if acting.is_empty() {
            Some(Action::PLAIN_ATTEMPT)
        } else {
            job.best_for(acting).map(Action::Repair)
        };
        Ok(Decision { next, then_try: false, chances: Vec::new(), estimate: None, left_out })
    }
}
