//! What can be done now: tools, what is fitted, what must come first, what would be unwise.

use super::answer::{Spent, StepKind};
use super::price::{Setups, Toll};
use crate::job::{Action, Job, Step};
use crate::machine::SetupId;
use crate::machine::file::MachineFile;
use crate::machine::model::Needs;

/// Name, id, minutes, set-up and needs of an action.
pub(super) struct Described<'a> {
    pub(super) kind: StepKind,
    pub(super) id: &'a str,
    pub(super) name: &'a str,
    pub(super) minutes: f64,
    pub(super) parts_cost: f64,
    pub(super) needs: &'a Needs,
}

pub(super) fn describe<'a>(job: &Job<'a>, action: &Action) -> Described<'a> {
    let file: &'a MachineFile = job.machine.file();
    let model = &job.machine.model;
    match action {
        Action::Check(c) => {
            let check = &file.checks[c.index()];
            Described {
                kind: StepKind::Check,
                id: &check.id,
                name: &check.name,
                minutes: check.minutes,
                parts_cost: 0.0,
                needs: &model.checks[c.index()].needs,
            }
        }
        Action::Attempt(bypasses) => match bypasses.first() {
            None => Described {
                kind: StepKind::Attempt,
                id: "attempt",
                name: "Try to start it",
                minutes: file.attempt.minutes,
                parts_cost: 0.0,
                needs: &model.attempt_needs,
            },
            Some(b) => {
                let bypass = &file.bypasses[b.index()];
                Described {
                    kind: StepKind::Bypass,
                    id: &bypass.id,
                    name: &bypass.name,
                    minutes: bypass.minutes,
                    parts_cost: 0.0,
                    needs: &model.bypasses[b.index()].needs,
                }
            }
        },
        Action::Repair(r) => {
            let repair = &file.repairs[r.index()];
            Described {
                kind: StepKind::Repair,
                id: &repair.id,
                name: &repair.name,
                minutes: repair.minutes,
                parts_cost: repair.parts_cost.typical,
                needs: &model.repairs[r.index()].needs,
            }
        }
    }
}

/// Whether each set-up is open after the steps so far. A start attempt needs the machine closed.
pub(super) fn open_setups(job: &Job) -> Vec<bool> {
    walk(job).1
}

/// Set-up work as bits.
pub(super) fn bits(setups: &[SetupId]) -> Setups {
    setups.iter().fold(0, |bits, s| bits | 1 << s.index().min(63))
}

/// What is open after the steps so far, as bits.
pub(super) fn open_bits(job: &Job) -> Setups {
    let open = open_setups(job);
    open.iter().enumerate().filter(|(_, open)| **open).fold(0, |bits, (s, _)| bits | 1 << s.min(63))
}

/// What some minutes and parts come to, as far as they are to be spared.
pub(super) fn toll(job: &Job, minutes: f64, parts_cost: f64) -> Toll {
    let (of_time, of_parts) = job.spare.shares();
    Toll { cost: of_time * money(job, minutes) + of_parts * parts_cost, minutes }
}

/// What an action comes to with the set-up work that is not open yet.
pub(super) fn toll_of(job: &Job, described: &Described, open: &[bool]) -> Toll {
    toll(job, described.minutes + setup_minutes(job, &described.needs.setups, open), described.parts_cost)
}

/// What the job took so far, by the descriptions of its steps.
pub(super) fn spent(job: &Job) -> Spent {
    walk(job).0
}

fn walk(job: &Job) -> (Spent, Vec<bool>) {
    let mut open = vec![false; job.machine.file().setups.len()];
    let mut spent = Spent { minutes: 0.0, parts_cost: 0.0, cost: 0.0 };
    for step in &job.steps {
        let described = describe(job, &step.action());
        spent.minutes += described.minutes + setup_minutes(job, &described.needs.setups, &open);
        spent.parts_cost += described.parts_cost;
        if matches!(step, Step::Attempt { .. }) {
            open.fill(false);
        } else {
            described.needs.setups.iter().for_each(|s| open[s.index()] = true);
        }
    }
    spent.cost = money(job, spent.minutes) + spent.parts_cost;
    (spent, open)
}

/// Minutes of the set-up work that is not open yet.
fn setup_minutes(job: &Job, setups: &[SetupId], open: &[bool]) -> f64 {
    setups.iter().filter(|s| !open[s.index()]).map(|s| job.machine.file().setups[s.index()].minutes).sum()
}

/// Price of some minutes at the job's rate.
pub(super) fn money(job: &Job, minutes: f64) -> f64 {
    minutes / 60.0 * job.rate_per_hour
}
