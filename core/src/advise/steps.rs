//! Actions with their names and costs, and the time and money spent on the steps so far.

use std::borrow::Cow;

use super::answer::{Spent, StepKind};
use super::cost::{Cost, Setups};
use crate::job::{Action, Job, Step};
use crate::machine::model::Needs;
use crate::machine::resolve::MAX_SETUPS;
use crate::machine::{BypassId, Machine, SetupId};

/// The facts of the machine description about an action.
pub(super) struct ActionFacts<'a> {
    pub(super) kind: StepKind,
    pub(super) id: &'a str,
    pub(super) name: &'a str,
    pub(super) minutes: f64,
    pub(super) parts_cost: f64,
    /// What stands in its way.
    pub(super) needs: &'a Needs,
    /// The set-up work that it needs.
    pub(super) setups: Cow<'a, [SetupId]>,
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
                minutes: check.minutes,
                parts_cost: 0.0,
                needs: &model.checks[*c].needs,
                setups: Cow::Borrowed(&model.checks[*c].needs.setups),
            }
        }
        Action::Attempt(bypasses) => match bypasses.first() {
            None => ActionFacts {
                kind: StepKind::Attempt,
                id: "attempt",
                name: "Try to start it",
                minutes: file.attempt.minutes,
                parts_cost: 0.0,
                needs: &model.attempt_needs,
                setups: Cow::Borrowed(&model.attempt_needs.setups),
            },
            Some(first) => {
                let bypass = file.bypass(*first);
                ActionFacts {
                    kind: StepKind::Bypass,
                    id: &bypass.id,
                    name: &bypass.name,
                    minutes: bypassed_minutes(machine, bypasses),
                    parts_cost: 0.0,
                    needs: &model.bypasses[*first].needs,
                    setups: bypassed_setups(machine, bypasses),
                }
            }
        },
        Action::Repair(r) => {
            let repair = file.repair(*r);
            ActionFacts {
                kind: StepKind::Repair,
                id: &repair.id,
                name: &repair.name,
                minutes: repair.minutes,
                parts_cost: repair.parts_cost.typical,
                needs: &model.repairs[*r].needs,
                setups: Cow::Borrowed(&model.repairs[*r].needs.setups),
            }
        }
    }
}

/// Minutes of an attempt with bypasses: those of the attempt, and what each bypass adds to it. The minutes of one bypass
/// include the attempt.
fn bypassed_minutes(machine: &Machine, bypasses: &[BypassId]) -> f64 {
    let file = machine.file();
    let minutes = || bypasses.iter().map(|b| file.bypass(*b).minutes);
    let attempts = bypasses.len().saturating_sub(1) as f64 * file.attempt.minutes;
    minutes().fold(minutes().sum::<f64>() - attempts, f64::max)
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

/// Cost of some minutes and parts, weighted by the costs that the job minimises.
pub(super) fn cost(job: &Job, minutes: f64, parts_cost: f64) -> Cost {
    let (of_time, of_parts) = job.spare.shares();
    Cost { money: of_time * money(job, minutes) + of_parts * parts_cost, minutes }
}

/// Cost of an action with the set-up work that is not open yet.
pub(super) fn cost_now(job: &Job, facts: &ActionFacts, open: &[bool]) -> Cost {
    cost(job, facts.minutes + setup_minutes(job, &facts.setups, open), facts.parts_cost)
}

/// Time and money spent on the job so far, by the descriptions of its steps.
pub(super) fn spent(job: &Job) -> Spent {
    walk(job).0
}

/// Time and money spent on the steps so far, and the set-up work that is open after them. A check that was told and not
/// made costs nothing and opens nothing.
fn walk(job: &Job) -> (Spent, Vec<bool>) {
    let mut open = vec![false; job.machine.file().setups.len()];
    let mut spent = Spent { minutes: 0.0, parts_cost: 0.0, cost: 0.0 };
    for step in &job.steps {
        if matches!(step, Step::Check { made: false, .. }) {
            continue;
        }
        let facts = self::facts(job.machine, &step.action());
        spent.minutes += facts.minutes + setup_minutes(job, &facts.setups, &open);
        spent.parts_cost += facts.parts_cost;
        if matches!(step, Step::Attempt { .. }) {
            open.fill(false);
        } else {
            facts.setups.iter().for_each(|s| open[s.index()] = true);
        }
    }
    spent.cost = money(job, spent.minutes) + spent.parts_cost;
    (spent, open)
}

/// Minutes of the set-up work that is not open yet.
fn setup_minutes(job: &Job, setups: &[SetupId], open: &[bool]) -> f64 {
    setups.iter().filter(|s| !open[s.index()]).map(|s| job.machine.setup(*s).minutes).sum()
}

/// Price of some minutes at the job's rate.
pub(super) fn money(job: &Job, minutes: f64) -> f64 {
    minutes / 60.0 * job.rate_per_hour
}
