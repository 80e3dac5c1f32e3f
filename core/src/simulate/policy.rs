//! Ways to decide what to do next.

use super::truth::Doing;
use crate::advise::{Assessment, StepAdvice, StepKind};
use crate::job::{Job, JobError};
use crate::machine::{BypassId, CheckId, Machine, RepairId};
use halfsplit_bayes::support::suggest::find;

/// Who decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "cli", derive(clap::ValueEnum))]
pub enum Policy {
    /// The first of the ranking, to the end.
    Advice,
    /// Nothing is looked at: always the repair with the best chance for its cost, as long as that chance is
    /// worth it.
    RepairsOnly,
    /// What tells most bits per minute, until a repair is likely enough to do.
    Information,
    /// A fixed list of the trade.
    Checklist,
    /// The cheapest step first; what is found not to be right is repaired.
    Cheapest,
    /// Knows the causes: the floor.
    Clairvoyant,
}

impl Policy {
    /// All of them.
    pub const ALL: [Policy; 6] = [
        Policy::Advice,
        Policy::RepairsOnly,
        Policy::Information,
        Policy::Checklist,
        Policy::Cheapest,
        Policy::Clairvoyant,
    ];

    /// Its name, as on the command line.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            Policy::Advice => "advice",
            Policy::RepairsOnly => "repairs-only",
            Policy::Information => "information",
            Policy::Checklist => "checklist",
            Policy::Cheapest => "cheapest",
            Policy::Clairvoyant => "clairvoyant",
        }
    }
}

/// What to do next; none where the job is to be handed over.
pub(super) type Next = Option<Doing>;

/// From this chance on that a repair gets it running, it is done and not looked any further; and what tells
/// less than this many bits is not looked at. The best of a few for the policy that uses them, on the mower.
const LIKELY: f64 = 0.7;
const LEAST_BITS: f64 = 0.02;

/// What a policy that goes by the ranking does.
pub(super) fn by_ranking(policy: Policy, job: &Job, answer: &Assessment) -> Result<Next, JobError> {
    let ranking = &answer.ranking;
    let next = match policy {
        Policy::RepairsOnly => best_repair(job, ranking).filter(|best| best.pays(job)).map(|best| best.step),
        Policy::Information => {
            let repair = best_repair(job, ranking);
            let per_minute = |s: &StepAdvice| s.information_bits / s.minutes.max(f64::MIN_POSITIVE);
            let most_informative = ranking
                .iter()
                .filter(|s| s.kind != StepKind::Repair && s.information_bits >= LEAST_BITS)
                .max_by(|a, b| per_minute(a).total_cmp(&per_minute(b)));
            match (repair, most_informative) {
                (Some(best), _) if best.chance >= LIKELY => Some(best.step),
                (_, Some(most_informative)) => Some(most_informative),
                (best, None) => best.filter(|best| best.pays(job)).map(|best| best.step),
            }
        }
        Policy::Advice | Policy::Checklist | Policy::Cheapest | Policy::Clairvoyant => answer.next.as_ref(),
    };
    next.map_or(Ok(None), |step| doing(job.machine, step))
}

/// Whether as much was spent as handing over costs: the rule of thumb of those who reckon no odds.
pub(super) fn is_spent(job: &Job) -> bool {
    job.spent().cost >= job.hand_over_cost
}

/// A step with its chance to get the engine running and its cost with the attempt after it.
struct Best<'a> {
    step: &'a StepAdvice,
    chance: f64,
    cost: f64,
}

impl Best<'_> {
    /// Whether the chance is worth the cost, where the rest is handed over.
    fn pays(&self, job: &Job) -> bool {
        self.chance * job.hand_over_cost > self.cost
    }
}

fn best_repair<'a>(job: &Job, ranking: &'a [StepAdvice]) -> Option<Best<'a>> {
    let attempt = job.attempt_cost();
    ranking
        .iter()
        .filter_map(|step| {
            let cost = match step.kind {
                StepKind::Repair => step.cost + attempt,
                StepKind::Attempt => step.cost,
                _ => return None,
            };
            let chance = step.results.iter().find(|r| r.id == "runs")?.p;
            Some(Best { step, chance, cost })
        })
        .max_by(|a, b| (a.chance * b.cost).total_cmp(&(b.chance * a.cost)))
}

/// A step of the ranking as something to do.
fn doing(machine: &Machine, step: &StepAdvice) -> Result<Next, JobError> {
    let file = machine.file();
    let find = |what, known: &mut dyn Iterator<Item = &str>| {
        let known: Vec<&str> = known.collect();
        find("ranking", what, &step.id, known.iter().copied())
    };
    Ok(Some(match step.kind {
        StepKind::Check => {
            Doing::Check(CheckId::new(find("check", &mut file.checks.iter().map(|c| c.id.as_str()))?))
        }
        StepKind::Repair => {
            Doing::Repair(RepairId::new(find("repair", &mut file.repairs.iter().map(|r| r.id.as_str()))?))
        }
        StepKind::Bypass => {
            let at = find("bypass", &mut file.bypasses.iter().map(|b| b.id.as_str()))?;
            Doing::Attempt(vec![BypassId::new(at)])
        }
        StepKind::Attempt => Doing::Attempt(Vec::new()),
        StepKind::HandOver => return Ok(None),
    }))
}
