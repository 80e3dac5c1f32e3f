//! Actions with their names and costs, and the time and money spent on the steps so far.

use std::borrow::Cow;

use super::answer::{Spent, StepKind};
use super::cost::{Cost, Setups};
use crate::job::{Action, Job, Step};
use crate::machine::file::{Involvement, Repair};
use crate::machine::model::Needs;
use crate::machine::resolve::MAX_SETUPS;
use crate::machine::{BypassId, ConditionId, Machine, RepairId, SetupId};

/// The work, the waiting and the parts of a step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Effort {
    /// Minutes at the machine.
    pub(super) minutes: f64,
    /// Hours of waiting.
    pub(super) wait_hours: f64,
    /// Price of parts, typical.
    pub(super) parts_cost: f64,
}

impl Effort {
    /// Minutes at the machine, without waiting or parts.
    pub(super) fn minutes(minutes: f64) -> Self {
        Effort { minutes, ..Effort::default() }
    }

    /// A repair without set-up work.
    pub(super) fn of_repair(repair: &Repair) -> Self {
        let Repair { minutes, wait_hours, parts_cost, .. } = repair;
        Effort { minutes: *minutes, wait_hours: *wait_hours, parts_cost: parts_cost.typical }
    }

    /// Price of the time and the parts.
    fn price(self, job: &Job) -> f64 {
        self.time_price(job) + self.parts_cost
    }

    /// Price of the time: minutes at the rate, and waiting.
    fn time_price(self, job: &Job) -> f64 {
        self.minutes / 60.0 * job.rate_per_hour + self.wait_hours * job.wait_cost_per_hour
    }
}

/// The facts of the machine description about an action.
pub(super) struct ActionFacts<'a> {
    pub(super) kind: StepKind,
    pub(super) id: &'a str,
    pub(super) name: &'a str,
    pub(super) effort: Effort,
    /// What stands in its way.
    pub(super) needs: &'a Needs,
    /// The set-up work that it needs.
    pub(super) setups: Cow<'a, [SetupId]>,
    /// What the action involves, and a gate may hold.
    pub(super) involves: Vec<Involvement>,
}

/// The facts of the machine description about an action. An attempt with several bypasses is recorded but never advised;
/// its id, its name and its needs are those of the first.
pub(super) fn facts<'a>(machine: &'a Machine, action: &Action) -> ActionFacts<'a> {
    let file = machine.file();
    let model = &machine.model;
    match action {
        Action::Check(c) => {
            let check = file.check(*c);
            ActionFacts {
                kind: StepKind::Check,
                id: &check.id,
                name: &check.name,
                effort: Effort { wait_hours: check.wait_hours, ..Effort::minutes(check.minutes) },
                needs: &model.checks[*c].needs,
                setups: Cow::Borrowed(&model.checks[*c].needs.setups),
                involves: involves(&check.involves, StepKind::Check),
            }
        }
        Action::Attempt(bypasses) => match bypasses.first() {
            None => ActionFacts {
                kind: StepKind::Attempt,
                id: "attempt",
                name: "Try to start it",
                effort: Effort::minutes(file.attempt.minutes),
                needs: &model.attempt_needs,
                setups: Cow::Borrowed(&model.attempt_needs.setups),
                involves: involves(&[], StepKind::Attempt),
            },
            Some(first) => {
                let bypass = file.bypass(*first);
                ActionFacts {
                    kind: StepKind::Bypass,
                    id: &bypass.id,
                    name: &bypass.name,
                    effort: bypassed_effort(machine, bypasses),
                    needs: &model.bypasses[*first].needs,
                    setups: bypassed_setups(machine, bypasses),
                    involves: involves(&bypass.involves, StepKind::Bypass),
                }
            }
        },
        Action::Repair(r) => {
            let repair = file.repair(*r);
            ActionFacts {
                kind: StepKind::Repair,
                id: &repair.id,
                name: &repair.name,
                effort: Effort::of_repair(repair),
                needs: &model.repairs[*r].needs,
                setups: Cow::Borrowed(&model.repairs[*r].needs.setups),
                involves: involves(&repair.involves, StepKind::Repair),
            }
        }
    }
}

/// The effort of an attempt with bypasses: that of the attempt, and what each bypass adds to it. The minutes of one
/// bypass include the attempt.
fn bypassed_effort(machine: &Machine, bypasses: &[BypassId]) -> Effort {
    let file = machine.file();
    let all = || bypasses.iter().map(|b| file.bypass(*b));
    let attempts = bypasses.len().saturating_sub(1) as f64 * file.attempt.minutes;
    let together = all().map(|b| b.minutes).sum::<f64>() - attempts;
    Effort {
        minutes: all().map(|b| b.minutes).fold(together, f64::max),
        wait_hours: all().map(|b| b.wait_hours).sum(),
        parts_cost: 0.0,
    }
}

/// The set-up work that the bypasses of an attempt need together.
fn bypassed_setups<'a>(machine: &'a Machine, bypasses: &[BypassId]) -> Cow<'a, [SetupId]> {
    let setups = |bypass: BypassId| &machine.model.bypasses[bypass].needs.setups;
    if let [only] = bypasses {
        return Cow::Borrowed(setups(*only));
    }
    let mut all: Vec<SetupId> = bypasses.iter().flat_map(|b| setups(*b)).copied().collect();
    all.sort_unstable();
    all.dedup();
    Cow::Owned(all)
}

/// What an action involves.
fn involves(authored: &[Involvement], kind: StepKind) -> Vec<Involvement> {
    let own: &[Involvement] = match kind {
        StepKind::Attempt | StepKind::Bypass => &crate::machine::OF_ATTEMPTS,
        _ => &[],
    };
    own.iter().chain(authored).copied().collect()
}

/// By set-up work: whether it is open after the steps so far. A start attempt closes the machine.
pub(super) fn open_setups(job: &Job) -> Vec<bool> {
    walk(job).1
}

const _: () = assert!(MAX_SETUPS <= Setups::BITS as usize);

/// Set-up work as bits.
pub(super) fn bits(setups: &[SetupId]) -> Setups {
    setups.iter().fold(0, |bits, s| bits | 1 << s.index())
}

/// The set-up work that is open after the steps so far, as bits.
pub(super) fn open_bits(job: &Job) -> Setups {
    let open = open_setups(job);
    open.iter().enumerate().filter(|(_, open)| **open).fold(0, |bits, (s, _)| bits | 1 << s)
}

/// Cost of a step without set-up work, weighted by the costs that the job minimises.
pub(super) fn cost(job: &Job, effort: Effort) -> Cost {
    let (of_time, of_parts) = job.spare.shares();
    Cost {
        money: of_time * effort.time_price(job) + of_parts * effort.parts_cost,
        minutes: effort.minutes,
        wait_hours: effort.wait_hours,
    }
}

/// Cost of an action with the set-up work that is not open yet.
pub(super) fn cost_now(job: &Job, facts: &ActionFacts, open: &[bool]) -> Cost {
    let minutes = facts.effort.minutes + setup_minutes(job, &facts.setups, open);
    cost(job, Effort { minutes, ..facts.effort })
}

/// Time and money spent on the job so far, by the descriptions of its steps.
pub(super) fn spent(job: &Job) -> Spent {
    walk(job).0
}

/// Time and money of putting faults right on the closed machine, each by its cheapest repair with the tools at hand.
pub(super) fn putting_right(job: &Job, faults: &[ConditionId]) -> Spent {
    let model = &job.machine.model;
    let effort = |repair: RepairId| Effort::of_repair(job.machine.repair(repair));
    let closed = vec![false; job.machine.file().setups.len()];
    let price = |repair: &RepairId| {
        let opening = Effort::minutes(setup_minutes(job, &model.repairs[*repair].needs.setups, &closed));
        effort(*repair).price(job) + opening.price(job)
    };
    let cheapest = |fault: &ConditionId| {
        let cures = |r: &RepairId| model.repairs[*r].cures.contains(fault);
        let possible = |r: &RepairId| model.repairs[*r].needs.tools.iter().all(|tool| job.has(*tool));
        let repairs = model.repairs.keys().filter(cures).filter(possible);
        repairs.min_by(|a, b| price(a).total_cmp(&price(b)))
    };
    let mut repairs: Vec<RepairId> = faults.iter().filter_map(cheapest).collect();
    repairs.sort_unstable();
    repairs.dedup();
    let mut open = closed.clone();
    let mut all = Effort::default();
    for repair in repairs {
        let setups = &model.repairs[repair].needs.setups;
        let Effort { minutes, wait_hours, parts_cost } = effort(repair);
        all.minutes += minutes + setup_minutes(job, setups, &open);
        all.wait_hours += wait_hours;
        all.parts_cost += parts_cost;
        setups.iter().for_each(|s| open[s.index()] = true);
    }
    let Effort { minutes, wait_hours, parts_cost } = all;
    Spent { minutes, wait_hours, parts_cost, cost: all.price(job) }
}

/// Time and money spent on the steps so far, and the set-up work that is open after them. A step that was only
/// told costs nothing and opens nothing; an attempt needs the machine closed, whoever makes it.
fn walk(job: &Job) -> (Spent, Vec<bool>) {
    let mut open = vec![false; job.machine.file().setups.len()];
    let mut spent = Effort::default();
    for step in &job.steps {
        let is_attempt = matches!(step, Step::Attempt { .. });
        if step.was_told() {
            if is_attempt {
                open.fill(false);
            }
            continue;
        }
        let facts = self::facts(job.machine, &step.action());
        spent.minutes += facts.effort.minutes + setup_minutes(job, &facts.setups, &open);
        spent.wait_hours += facts.effort.wait_hours;
        spent.parts_cost += facts.effort.parts_cost;
        if is_attempt {
            open.fill(false);
        } else {
            facts.setups.iter().for_each(|s| open[s.index()] = true);
        }
    }
    let Effort { minutes, wait_hours, parts_cost } = spent;
    (Spent { minutes, wait_hours, parts_cost, cost: spent.price(job) }, open)
}

/// Minutes of the set-up work that is not open yet.
fn setup_minutes(job: &Job, setups: &[SetupId], open: &[bool]) -> f64 {
    setups.iter().filter(|s| !open[s.index()]).map(|s| job.machine.setup(*s).minutes).sum()
}
