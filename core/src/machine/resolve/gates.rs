//! Resolution of gates.

use super::rules::unique;
use super::steps::{after, likely};
use crate::machine::MachineError;
use crate::machine::error::Result;
use crate::machine::file::MachineFile;
use crate::machine::gate_file::{Gate, Involvement, Lift};
use crate::machine::ids::{CheckId, RepairId};
use crate::machine::model::{GateModel, LiftModel};
use crate::machine::predicate::Names;
use halfsplit_bayes::support::suggest::{NoSuchId, find};

/// The gates of a machine.
pub(super) fn gates(names: &Names) -> Result<Vec<GateModel>> {
    let file = names.file;
    unique("gates", file.gates.iter().map(|g| g.id.as_str()))?;
    let mut all = Vec::new();
    for (i, gate) in file.gates.iter().enumerate() {
        all.push(resolved(names, i, gate)?);
    }
    match dead_end(file, &all) {
        Some(i) => Err(MachineError::rule(
            &format!("gates[{i}] \"{}\".until", file.gates[i].id),
            "no step can open this gate: each waits at a gate that cannot be opened before",
        )),
        None => Ok(all),
    }
}

/// A gate that no order of steps opens if all gates are closed; none if every gate can be opened.
fn dead_end(file: &MachineFile, gates: &[GateModel]) -> Option<usize> {
    let mut closed: Vec<usize> = (0..gates.len()).collect();
    loop {
        // A gate holds none of the steps that open it.
        let free = |gate: usize, lift: &LiftModel| {
            let holds = |other: &usize| gates[*other].holds.iter().any(|i| involves(file, lift).contains(i));
            !closed.iter().any(|other| *other != gate && holds(other))
        };
        let stuck = |gate: &usize| !gates[*gate].until.iter().any(|lift| free(*gate, lift));
        let left: Vec<usize> = closed.iter().copied().filter(stuck).collect();
        if left.len() == closed.len() {
            return left.first().copied();
        }
        closed = left;
    }
}

fn resolved(names: &Names, i: usize, gate: &Gate) -> Result<GateModel> {
    let place = format!("gates[{i}] \"{}\"", gate.id);
    let rule = |field: &str, rule: &str| Err(MachineError::rule(&format!("{place}.{field}"), rule));
    if gate.after.is_empty() && gate.likely.is_empty() {
        return rule("after", "a gate needs a finding or a likely state that closes it");
    }
    if gate.holds.is_empty() {
        return rule("holds", "a gate holds something");
    }
    let mut until = Vec::new();
    for (l, lift) in gate.until.iter().enumerate() {
        until.push(self::lift(names.file, &format!("{place}.until[{l}]"), lift)?);
    }
    Ok(GateModel {
        after: after(names.file, &format!("{place}.after"), &gate.after)?,
        likely: gate
            .likely
            .iter()
            .enumerate()
            .map(|(l, likely_state)| {
                likely(names, &format!("{place}.likely[{l}]"), &likely_state.when, likely_state.over)
            })
            .collect::<Result<_>>()?,
        holds: gate.holds.clone(),
        why: gate.why.clone(),
        until,
    })
}

fn lift(file: &MachineFile, place: &str, lift: &Lift) -> Result<LiftModel> {
    match (&lift.check, &lift.repair) {
        (Some(id), None) => {
            let check = find(place, "check", id, file.checks.iter().map(|c| c.id.as_str()))?;
            let known = || file.checks[check].results.iter().map(|r| r.id.as_str());
            let results = lift.results.iter().map(|r| find(place, "result", r, known()));
            let results = results.collect::<std::result::Result<_, NoSuchId>>()?;
            Ok(LiftModel::Check(CheckId::new(check), results))
        }
        (None, Some(id)) if lift.results.is_empty() => {
            let repair = find(place, "repair", id, file.repairs.iter().map(|r| r.id.as_str()))?;
            Ok(LiftModel::Repair(RepairId::new(repair)))
        }
        _ => Err(MachineError::rule(place, "give either a check, with results or without, or a repair")),
    }
}

fn involves<'f>(file: &'f MachineFile, lift: &LiftModel) -> &'f [Involvement] {
    match lift {
        LiftModel::Check(check, _) => &file.check(*check).involves,
        LiftModel::Repair(repair) => &file.repair(*repair).involves,
    }
}
