use crate::advise::{AdviceSession, Figures};
use crate::job::JobError;
use crate::simulate::policy::{Decision, Policy, Situation};
use crate::simulate::ranking::decision;

/// Takes the best step of the advice, with its whole lookahead.
#[derive(Debug)]
pub(super) struct Advice;

impl Policy for Advice {
    fn id(&self) -> &'static str {
        "advice"
    }

    fn about(&self) -> &'static str {
        "The first step of the ranking, to the end"
    }

    fn decide(&self, situation: &Situation) -> Result<Decision, JobError> {
        let answer = AdviceSession::on(situation.job, situation.left_out, Figures::Sampled)?.finish();
        let next = answer.next.as_ref();
        let decided = decision(situation, &answer, next, next.is_none_or(|step| step.then_try))?;
        Ok(Decision { estimate: answer.estimate, ..decided })
    }
}
