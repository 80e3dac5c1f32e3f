//! What can be done now: tools, what is fitted, what must come first, what would be unwise.

use super::answer::{NotNow, Obstacle, Spent, StepKind};
use super::price::{Setups, Toll};
use crate::job::{Action, FindingsNetwork, Job, Step};
use crate::machine::SetupId;
use crate::machine::file::MachineFile;
use crate::machine::model::{Needs, Predicate};
use crate::machine::resolve::MAX_SETUPS;
use halfsplit_bayes::VarId;

/// What a fitted thing must at least be likely for a check on it to be offered.
const FITTED: f64 = 0.02;

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
            let check = file.check(*c);
            Described {
                kind: StepKind::Check,
                id: &check.id,
                name: &check.name,
                minutes: check.minutes,
                parts_cost: 0.0,
                needs: &model.checks[*c].needs,
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
                let bypass = file.bypass(*b);
                Described {
                    kind: StepKind::Bypass,
                    id: &bypass.id,
                    name: &bypass.name,
                    minutes: bypass.minutes,
                    parts_cost: 0.0,
                    needs: &model.bypasses[*b].needs,
                }
            }
        },
        Action::Repair(r) => {
            let repair = file.repair(*r);
            Described {
                kind: StepKind::Repair,
                id: &repair.id,
                name: &repair.name,
                minutes: repair.minutes,
                parts_cost: repair.parts_cost.typical,
                needs: &model.repairs[*r].needs,
            }
        }
    }
}

/// Whether each set-up is open after the steps so far. A start attempt needs the machine closed.
pub(super) fn open_setups(job: &Job) -> Vec<bool> {
    walk(job).1
}

const _: () = assert!(MAX_SETUPS <= Setups::BITS as usize);

/// Set-up work as bits.
pub(super) fn bits(setups: &[SetupId]) -> Setups {
    setups.iter().fold(0, |bits, s| bits | 1 << s.index())
}

/// What is open after the steps so far, as bits.
pub(super) fn open_bits(job: &Job) -> Setups {
    let open = open_setups(job);
    open.iter().enumerate().filter(|(_, open)| **open).fold(0, |bits, (s, _)| bits | 1 << s)
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
    setups.iter().filter(|s| !open[s.index()]).map(|s| job.machine.setup(*s).minutes).sum()
}

/// Price of some minutes at the job's rate.
pub(super) fn money(job: &Job, minutes: f64) -> f64 {
    minutes / 60.0 * job.rate_per_hour
}

/// Why an action cannot or should not be done now; none if it can.
pub(super) fn obstacle(
    job: &Job,
    bench: &FindingsNetwork,
    marginals: &dyn Fn(VarId) -> Vec<f64>,
    described: &Described,
) -> Option<NotNow> {
    let file = job.machine.file();
    let chance = |predicate: &Predicate| -> f64 {
        bench.variables.of_predicate(predicate).map_or(1.0, |var| {
            marginals(var).iter().zip(&predicate.holds).filter(|(_, h)| **h).map(|(p, _)| p).sum()
        })
    };
    let none = String::new;
    let (obstacle, detail) = if let Some(missing) = described.needs.tools.iter().find(|t| !job.has(**t)) {
        (Obstacle::Tool, file.tool(*missing).name.clone())
    } else if described.needs.fits.iter().any(|predicate| chance(predicate) < FITTED) {
        (Obstacle::NotFitted, none())
    } else if described.kind == StepKind::Bypass && !job.was_tried() {
        (Obstacle::TryFirst, none())
    } else if let Some(text) = missing_finding(job, described) {
        (Obstacle::ComesAfter, text)
    } else {
        let held = described.needs.hold_off.iter().find(|h| chance(&h.predicate) > h.over)?;
        (Obstacle::HeldOff, held.why.clone())
    };
    let why = match obstacle {
        Obstacle::Tool => format!("needs a tool that is not at hand: {detail}"),
        Obstacle::NotFitted => "not fitted to this machine".to_owned(),
        // A bypass shows a difference, so there must be something that it differs from.
        Obstacle::TryFirst => "comes after a plain try to start".to_owned(),
        Obstacle::ComesAfter => format!("comes after: {detail}"),
        Obstacle::HeldOff => detail.clone(),
    };
    let (id, name) = (described.id.to_owned(), described.name.to_owned());
    Some(NotNow { kind: described.kind, id, name, obstacle, detail, why })
}

/// What must have been found first and has not been.
fn missing_finding(job: &Job, described: &Described) -> Option<String> {
    let wanted = &described.needs.after;
    if wanted.is_empty() {
        return None;
    }
    let found = wanted.iter().any(|(check, results)| {
        job.steps.iter().any(|s| match s {
            Step::Check { check: done, finding, .. } => {
                done == check && (results.is_empty() || results.contains(&finding.result()))
            }
            _ => false,
        })
    });
    if found {
        return None;
    }
    let file = job.machine.file();
    let list: Vec<String> = wanted
        .iter()
        .map(|(check, results)| {
            let check = file.check(*check);
            let names: Vec<&str> = results.iter().map(|r| check.results[*r].name.as_str()).collect();
            if names.is_empty() {
                check.name.clone()
            } else {
                format!("{}: {}", check.name, names.join(" or "))
            }
        })
        .collect();
    Some(list.join("; "))
}
