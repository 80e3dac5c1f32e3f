//! Precedence: the order of work that holds before expected costs are compared.
//!
//! A careful mechanic does some things at once, because they cost next to nothing and spoil nothing:
//!
//! 1. the step that lifts a gate (`gate.rs`),
//! 2. the repair of a fault that was found, if it is quick: the fault has to be put right anyway,
//! 3. a start attempt after something was put right,
//! 4. free looks, the most informative for their time first.
//!
//! Every other step follows in the order of its expected cost. Among steps whose expected costs differ by less than
//! the accuracy of the estimate, the one with the lightest burden comes first.

use super::answer::{Abnormal, CauseOdds};
use super::candidate::Candidate;
use super::context::RankingContext;
use super::steps::{self, Effort};
use crate::job::{Action, Job, Provenance, Step};
use crate::machine::file::CheckKind;
use crate::machine::model::Source;
use crate::machine::{CheckId, ConditionId, Machine, RepairId};
use halfsplit_bayes::support::order::rounded;

/// A condition counts as found if an abnormal finding speaks for it and it is present with at least this chance.
const FOUND: f64 = 0.5;
/// A repair of a fault that was found is quick if it costs at most this many minutes at the rate, parts included.
/// Common practice, no source.
const QUICK_MINUTES: f64 = 20.0;
/// A free look takes at most this many minutes, with the set-up work that is not open yet.
const FREE_MINUTES: f64 = 3.0;
/// A free look tells at least this many bits about the causes.
const FREE_BITS: f64 = 0.02;
/// A free look comes first if its expected cost is above that of the best step by at most this share.
static FREE: std::sync::LazyLock<f64> = std::sync::LazyLock::new(|| std::env::var("F").map_or(0.05, |x| x.parse().unwrap()));
static PAYS: std::sync::LazyLock<f64> = std::sync::LazyLock::new(|| std::env::var("P").map_or(1.0, |x| x.parse().unwrap()));
/// Accuracy of an expected cost, as a share of it.
const ACCURACY: f64 = 0.01;

/// What the job says about the order of work.
#[derive(Debug)]
pub(super) struct Precedence {
    /// Quick repairs of faults that were found and are still there.
    mends: Vec<RepairId>,
    /// Whether something was put right since the last start attempt.
    put_right: bool,
    /// The checks that somebody has made on this job.
    made: Vec<CheckId>,
}

/// The class of a candidate. Classes come one after the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Class {
    /// A step that opens a gate, by its place.
    Opens(usize),
    /// The quick repair of a fault that was found.
    Mends,
    /// A start attempt after something was put right.
    TriesRepair,
    /// A free look.
    FreeLook,
    /// Any other step, and stopping.
    ByCost,
}

/// The burden of a step, lightest first: danger, opening work, tools, minutes, cost.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
struct Burden {
    cautions: usize,
    setups: u32,
    tools: usize,
    minutes: f64,
    cost: f64,
}

impl Precedence {
    /// The order of work for a job with these odds and findings.
    pub(super) fn new(
        job: &Job,
        causes: &[CauseOdds],
        abnormal: &[Abnormal],
    ) -> Self {
        let found = found(job, causes, abnormal);
        let most = steps::cost(job, Effort::minutes(QUICK_MINUTES)).money;
        let costs = |r: RepairId| {
            let repair = job.machine.repair(r);
            steps::cost(job, Effort::of_repair(repair)).money
        };
        let mends = |r: &RepairId| {
            let cures = &job.machine.model.repairs[*r].cures;
            costs(*r) <= most && cures.iter().any(|c| found.contains(c))
        };
        Precedence {
            mends: job.machine.model.repairs.keys().filter(mends).collect(),
            made: job.steps.iter().filter_map(own_check).collect(),
            put_right: job
                .steps
                .iter()
                .rev()
                .take_while(|s| !matches!(s, Step::Attempt { bypasses, .. } if bypasses.is_empty()))
                .any(|s| matches!(s, Step::Repair { .. })),
        }
    }

    /// Places of the candidates, best first. Equally good ones stand in the order of their keys.
    pub(super) fn order<K: Ord>(
        &self,
        machine: &Machine,
        context: &RankingContext,
        candidates: &[&Candidate],
        key: impl Fn(&Candidate) -> K,
    ) -> Vec<usize> {
        let least = candidates.iter().map(|c| c.expected_cost()).fold(f64::INFINITY, f64::min);
        if std::env::var("D").is_ok() { for c in candidates { if let Candidate::Observe(o)=c { let a=&context.observations[o.observation].action; eprintln!("{:?} {:?} bits {:.3} min {:.1} v {:.4} cost {:.1}", steps::facts(machine,a).id, self.class(machine,context,c,least), o.information_bits,o.cost.minutes, context.observe_repairs.values[o.observation],o.expected_cost); } else if let Candidate::Repair(r)=c { let rc=&context.costs.repairs[r.repair.index()]; eprintln!("R {} p {:.3} idx {:.4} cost {:.1}", machine.repair(r.repair).id, 1.0-r.failed.p, (1.0-r.failed.p)/(rc.cost.money+context.costs.attempt.money), r.expected_cost);} } }
        let class = |c: &Candidate| self.class(machine, context, c, least);
        let rank = |c: &Candidate, class: Class| match (class, c) {
            (Class::FreeLook, Candidate::Observe(o)) => -context.observe_repairs.values[o.observation],
            (Class::Mends, Candidate::Repair(r)) => r.cost.money,
            (_, Candidate::Observe(o)) if !o.is_attempt => o.expected_cost.min(o.cost.money + least),
            _ => c.expected_cost(),
        };
        let mut places: Vec<(Class, f64, bool, K, usize)> = candidates
            .iter()
            .enumerate()
            .map(|(at, c)| {
                let class = class(c);
                (class, rounded(rank(c, class)), c.tells_nothing(), key(c), at)
            })
            .collect();
        places.sort_by(|a, b| {
            (a.0.cmp(&b.0)).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)).then_with(|| a.3.cmp(&b.3))
        });
        places.into_iter().map(|(.., at)| at).collect()
    }

    /// Whether an action looks at, smells or feels a part for the first time.
    fn is_look(&self, machine: &Machine, action: &Action) -> bool {
        let Action::Check(check) = action else { return false };
        let parents = &machine.model.checks[*check].observation.parents;
        matches!(machine.check(*check).kind, CheckKind::LookedAt | CheckKind::Smelt)
            && parents.iter().any(|source| !matches!(source, Source::Context(_)))
            && !self.made.contains(check)
    }

    fn class(&self, machine: &Machine, context: &RankingContext, candidate: &Candidate, least: f64) -> Class {
        if let Some(place) = opens(context, candidate) {
            return Class::Opens(place);
        }
        match candidate {
            Candidate::Repair(repair) if self.mends.contains(&repair.repair) => Class::Mends,
            Candidate::Observe(observe) if observe.is_attempt && self.put_right => Class::TriesRepair,
            Candidate::Observe(observe)
                if observe.cost.minutes <= FREE_MINUTES
                    && (observe.expected_cost <= least * (1.0 + *FREE) || observe.cost.money <= least * *FREE)
                    && context.observe_repairs.values[observe.observation] * least >= *PAYS
                    && self.is_look(machine, &context.observations[observe.observation].action) =>
            {
                Class::FreeLook
            }
            _ => Class::ByCost,
        }
    }
}

/// The place of a candidate among the actions that open a gate.
fn opens(context: &RankingContext, candidate: &Candidate) -> Option<usize> {
    context.lifts.iter().position(|lift| match (lift, candidate) {
        (Action::Repair(lift), Candidate::Repair(repair)) => *lift == repair.repair,
        (_, Candidate::Observe(observe)) => *lift == context.observations[observe.observation].action,
        _ => false,
    })
}

/// The check of a step, if whoever keeps the job made it.
fn own_check(step: &Step) -> Option<CheckId> {
    match step {
        Step::Check { check, made: true, .. } => Some(*check),
        _ => None,
    }
}

/// The conditions that the job's own findings have shown, that are still there, and that no repair since was for.
fn found(job: &Job, causes: &[CauseOdds], abnormal: &[Abnormal]) -> Vec<ConditionId> {
    let own = |a: &&Abnormal| matches!(job.steps[a.step], Step::Check { known: Provenance::Seen, .. });
    let is_found = |id: &ConditionId| {
        let (part, condition) = job.machine.condition(*id);
        let named = |p: &str, c: &str| part.id == p && condition.id == c;
        let shown = |a: &Abnormal| {
            let speaks = a.speaks_for.iter().any(|v| v.p_present >= FOUND && named(&v.part, &v.condition));
            speaks && !job.steps[a.step..].iter().any(|s| is_for(job, s, *id))
        };
        causes.iter().any(|c| named(&c.part, &c.condition) && c.p_present >= FOUND)
            && abnormal.iter().filter(own).any(shown)
    };
    job.machine.condition_ids().filter(is_found).collect()
}

/// Whether a step is a repair of a condition.
fn is_for(job: &Job, step: &Step, condition: ConditionId) -> bool {
    matches!(step, Step::Repair { repair: r, .. } if job.machine.model.repairs[*r].cures.contains(&condition))
}
