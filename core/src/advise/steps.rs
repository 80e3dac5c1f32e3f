//! Actions with their names and costs, and the time and money spent on the steps so far.

use super::answer::{Spent, StepKind};
use super::cost::{Cost, Setups};
use super::gate;
use crate::job::{Action, Job, Step};
use crate::machine::file::Involvement;
use crate::machine::model::Needs;
use crate::machine::resolve::MAX_SETUPS;
use crate::machine::{Machine, SetupId};

/// The facts of the machine description about an action.
pub(super) struct ActionFacts<'a> {
    pub(super) kind: StepKind,
    pub(super) id: &'a str,
    pub(super) name: &'a str,
    pub(super) minutes: f64,
    pub(super) parts_cost: f64,
    pub(super) needs: &'a Needs,
    /// What the action involves, and a gate may hold.
    pub(super) involves: Vec<Involvement>,
}

/// The facts of the machine description about an action.
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
                involves: gate::involves(&check.involves, StepKind::Check),
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
                involves: gate::involves(&[], StepKind::Attempt),
            },
            Some(b) => {
                let bypass = file.bypass(*b);
                ActionFacts {
                    kind: StepKind::Bypass,
                    id: &bypass.id,
                    name: &bypass.name,
                    minutes: bypass.minutes,
                    parts_cost: 0.0,
                    needs: &model.bypasses[*b].needs,
                    involves: gate::involves(&bypass.involves, StepKind::Bypass),
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
                involves: gate::involves(&repair.involves, StepKind::Repair),
            }
        }
    }
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
    cost(job, facts.minutes + setup_minutes(job, &facts.needs.setups, open), facts.parts_cost)
}

/// Time and money spent on the job so far, by the descriptions of its steps.
pub(super) fn spent(job: &Job) -> Spent {
    walk(job).0
}

/// Time and money spent on the steps so far, and the set-up work that is open after them.
fn walk(job: &Job) -> (Spent, Vec<bool>) {
    let mut open = vec![false; job.machine.file().setups.len()];
    let mut spent = Spent { minutes: 0.0, parts_cost: 0.0, cost: 0.0 };
    for step in &job.steps {
        let facts = self::facts(job.machine, &step.action());
        spent.minutes += facts.minutes + setup_minutes(job, &facts.needs.setups, &open);
        spent.parts_cost += facts.parts_cost;
        if matches!(step, Step::Attempt { .. }) {
            open.fill(false);
        } else {
            facts.needs.setups.iter().for_each(|s| open[s.index()] = true);
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
