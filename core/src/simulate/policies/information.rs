use crate::advise::{StepAdvice, StepKind};
use crate::job::JobError;
use crate::simulate::policy::{Decision, Policy, Situation};
use crate::simulate::ranking::{best_repair, decide_by_ranking};

/// A repair with at least this chance of a running engine is done without further observation. The best of a
/// few values on the mower.
const LIKELY: f64 = 0.7;
/// Observations with fewer bits than this are not made. The best of a few values on the mower.
const LEAST_BITS: f64 = 0.02;

/// Makes the observation with the most information per minute, until a repair is likely enough to do.
#[derive(Debug)]
pub(super) struct Information;

impl Policy for Information {
    fn id(&self) -> &'static str {
        "information"
    }

    fn about(&self) -> &'static str {
        "The observation with the most bits per minute, until a repair is likely enough"
    }

    fn decide(&self, situation: &Situation) -> Result<Decision, JobError> {
        decide_by_ranking(situation, |job, ranking| {
            let repair = best_repair(job, ranking);
            match (repair, most_informative(ranking)) {
                (Some(best), _) if best.chance >= LIKELY => Some(best.step),
                (_, Some(observation)) => Some(observation),
                (best, None) => best.filter(|best| best.pays(job)).map(|best| best.step),
            }
        })
    }
}

/// The observation with the most bits per minute; none if all have too few bits.
fn most_informative(ranking: &[StepAdvice]) -> Option<&StepAdvice> {
    let bits = |s: &StepAdvice| s.information_bits.unwrap_or(0.0);
    let per_minute = |s: &StepAdvice| bits(s) / s.minutes.max(f64::MIN_POSITIVE);
    let observations = ranking.iter().filter(|s| s.kind != StepKind::Repair);
    let telling = observations.filter(|s| bits(s) >= LEAST_BITS);
    telling.max_by(|a, b| per_minute(a).total_cmp(&per_minute(b)))
}
