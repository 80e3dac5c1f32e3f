//! Removal of the items of a composed machine that refer to missing things.

use std::collections::{BTreeMap, BTreeSet};

use super::MachineError;
use super::family_file::Pieces;
use super::file::{After, Effect, Function, Gate, HoldOff, MachineFile, Part, Repair};
use halfsplit_bayes::support::suggest::find;

/// The ids that the files of a library declare.
pub(super) struct IdSets {
    conditions: BTreeSet<String>,
    parts: BTreeSet<String>,
    levels: BTreeSet<String>,
    checks: BTreeSet<String>,
    repairs: BTreeSet<String>,
    cautions: BTreeSet<String>,
}

impl IdSets {
    pub(super) fn new<'a>(all: impl Iterator<Item = &'a Pieces>) -> Self {
        let mut known = IdSets {
            conditions: BTreeSet::new(),
            parts: BTreeSet::new(),
            levels: BTreeSet::new(),
            checks: BTreeSet::new(),
            repairs: BTreeSet::new(),
            cautions: BTreeSet::new(),
        };
        for pieces in all {
            known.conditions.extend(conditions(&pieces.parts));
            known.parts.extend(pieces.parts.iter().map(|p| p.id.clone()));
            known.levels.extend(
                pieces
                    .context
                    .iter()
                    .flat_map(|b| b.states.iter().map(move |s| format!("{}={}", b.id, s.id))),
            );
            known.levels.extend(levels(&pieces.functions));
            known.cautions.extend(pieces.cautions.iter().map(|c| c.id.clone()));
            known.checks.extend(pieces.checks.iter().map(|c| c.id.clone()));
            known.repairs.extend(pieces.repairs.iter().map(|r| r.id.clone()));
        }
        known
    }
}

/// Every condition as `part/condition`.
pub(super) fn conditions(parts: &[Part]) -> impl Iterator<Item = String> {
    parts.iter().flat_map(|p| p.conditions.iter().map(move |c| format!("{}/{}", p.id, c.id)))
}

fn levels(functions: &[Function]) -> impl Iterator<Item = String> {
    functions.iter().flat_map(|f| f.levels.iter().map(move |l| format!("{}={}", f.id, l.id)))
}

/// Fixes facts: removes their contexts, and with them the conditions that become impossible.
pub(super) fn fix(
    place: &str,
    file: &mut MachineFile,
    fixed: &BTreeMap<String, String>,
) -> Result<(), MachineError> {
    for (id, state) in fixed {
        let at = find(place, "context", id, file.context.iter().map(|b| b.id.as_str()))?;
        find(place, "state", state, file.context[at].states.iter().map(|s| s.id.as_str()))?;
        let so = format!("{id}={state}");
        for part in &mut file.parts {
            part.conditions.retain(|c| !c.raised_by.iter().any(|r| r.factor == 0.0 && plain(&r.when) == so));
        }
        file.parts.retain(|p| !p.conditions.is_empty());
        file.context.retain(|b| b.id != *id);
    }
    Ok(())
}

/// A predicate without spaces around its equals sign.
fn plain(predicate: &str) -> String {
    predicate.split('=').map(str::trim).collect::<Vec<_>>().join("=")
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum TruthValue {
    Always,
    Never,
    Open,
}

/// The known truth values of predicates on one machine.
struct Facts<'a> {
    known: &'a IdSets,
    fixed: &'a BTreeMap<String, String>,
    conditions: BTreeSet<String>,
    parts: BTreeSet<String>,
    names: BTreeSet<String>,
    checks: BTreeSet<String>,
}

impl Facts<'_> {
    /// The truth value of a predicate. A predicate on something that this machine lacks never holds, except
    /// that a missing part is sound. A predicate on an unknown thing stays open, so that the error is reported.
    fn predicate(&self, text: &str) -> TruthValue {
        let text = text.trim();
        if let Some((name, state)) = text.split_once('=') {
            let (name, state) = (name.trim(), state.trim());
            return match self.fixed.get(name) {
                Some(fixed) if fixed == state => TruthValue::Always,
                Some(_) => TruthValue::Never,
                None if self.names.contains(name) || !self.known.levels.contains(&plain(text)) => {
                    TruthValue::Open
                }
                None => TruthValue::Never,
            };
        }
        let mut words = text.split('/').map(str::trim);
        let (part, condition) = (words.next().unwrap_or_default(), words.next().unwrap_or_default());
        if condition == "sound" {
            let lacking = !self.parts.contains(part) && self.known.parts.contains(part);
            return if lacking { TruthValue::Always } else { TruthValue::Open };
        }
        let id = format!("{part}/{condition}");
        let lacking = !self.conditions.contains(&id) && self.known.conditions.contains(&id);
        if lacking { TruthValue::Never } else { TruthValue::Open }
    }

    fn keep(&self, list: &mut Vec<String>) {
        list.retain(|text| self.predicate(text) != TruthValue::Never);
    }

    /// The remaining alternatives of a row; none if the row never holds, an empty list if it always holds.
    fn row(&self, when: &[String]) -> Option<Vec<String>> {
        let mut kept = Vec::new();
        for alternative in when {
            let predicates: Vec<(&str, TruthValue)> =
                alternative.split('&').map(|t| (t.trim(), self.predicate(t))).collect();
            if predicates.iter().any(|(_, t)| *t == TruthValue::Never) {
                continue;
            }
            let open: Vec<&str> =
                predicates.iter().filter(|(_, t)| *t == TruthValue::Open).map(|(a, _)| *a).collect();
            if open.is_empty() {
                return Some(Vec::new());
            }
            kept.push(open.join(" & "));
        }
        if kept.is_empty() { None } else { Some(kept) }
    }

    /// Keeps the rows that can still hold, in order. `when` gives access to the alternatives of a row.
    fn rows<T>(&self, rows: &mut Vec<T>, when: impl Fn(&mut T) -> &mut Vec<String>) {
        let mut seen: BTreeSet<String> = BTreeSet::new();
        let mut closed = false;
        rows.retain_mut(|row| {
            let list = when(row);
            if closed {
                return false;
            }
            if !list.is_empty() {
                let Some(mut kept) = self.row(list) else { return false };
                let always = kept.is_empty();
                kept.retain(|alternative| seen.insert(alternative.clone()));
                *list = kept;
                if list.is_empty() && !always {
                    return false;
                }
            }
            closed = list.is_empty();
            true
        });
    }

    /// Whether an item that needs these facts is possible on this machine. Removes the facts that are
    /// certain.
    fn fits(&self, fits: &mut Vec<String>) -> bool {
        let possible = fits.iter().all(|text| self.predicate(text) != TruthValue::Never);
        fits.retain(|text| self.predicate(text) == TruthValue::Open);
        possible
    }

    fn after(&self, after: &mut Vec<After>) -> bool {
        let before = after.len();
        after.retain(|a| self.checks.contains(&a.check) || !self.known.checks.contains(&a.check));
        before == 0 || !after.is_empty()
    }

    fn hold_off(&self, list: &mut Vec<HoldOff>) {
        list.retain(|h| self.predicate(&h.when) != TruthValue::Never);
    }

    /// Whether a gate can close on this machine. Removes what it lacks.
    fn gate(&self, gate: &mut Gate, repairs: &BTreeSet<String>) -> bool {
        let has = |check: &String| self.checks.contains(check) || !self.known.checks.contains(check);
        gate.after.retain(|a| has(&a.check));
        gate.likely.retain(|l| self.predicate(&l.when) != TruthValue::Never);
        gate.until.retain(|lift| {
            lift.check.as_ref().is_none_or(has)
                && lift.repair.as_ref().is_none_or(|r| repairs.contains(r) || !self.known.repairs.contains(r))
        });
        !gate.after.is_empty() || !gate.likely.is_empty()
    }

    fn effects(&self, list: &mut Vec<Effect>) {
        let there = |e: &Effect| {
            let part = e.when.split('/').next().unwrap_or_default().trim();
            let becomes = if e.becomes == "sound" {
                self.parts.contains(part) || !self.known.parts.contains(part)
            } else {
                self.predicate(&format!("{part}/{}", e.becomes)) == TruthValue::Open
            };
            becomes && self.predicate(&e.when) == TruthValue::Open
        };
        list.retain(there);
    }
}

/// Ids of all contexts and functions.
fn names(file: &MachineFile) -> BTreeSet<String> {
    let contexts = file.context.iter().map(|b| b.id.clone());
    contexts.chain(file.functions.iter().map(|f| f.id.clone())).collect()
}

/// Removes everything that can never hold on this machine.
pub(super) fn references(file: &mut MachineFile, known: &IdSets, fixed: &BTreeMap<String, String>) {
    let mut facts = Facts {
        known,
        fixed,
        conditions: conditions(&file.parts).collect(),
        parts: file.parts.iter().map(|p| p.id.clone()).collect(),
        names: names(file),
        checks: file.checks.iter().map(|c| c.id.clone()).collect(),
    };
    for condition in file.parts.iter_mut().flat_map(|p| &mut p.conditions) {
        condition.raised_by.retain(|r| facts.predicate(&r.when) == TruthValue::Open);
    }
    for function in &mut file.functions {
        function.spoiled_by.iter_mut().for_each(|s| facts.keep(&mut s.when));
        function.spoiled_by.retain(|s| !s.when.is_empty());
    }
    // A function that nothing spoils is always at its best level.
    file.functions.retain(|f| !f.spoiled_by.is_empty());
    facts.names = names(file);
    file.checks.retain_mut(|c| {
        let spoke = c.rows.len() > 1 || c.reading.as_ref().is_some_and(|r| r.rows.len() > 1);
        facts.rows(&mut c.rows, |r| &mut r.when);
        if let Some(reading) = &mut c.reading {
            facts.rows(&mut reading.rows, |r| &mut r.when);
        }
        c.results.iter_mut().for_each(|r| facts.rows(&mut r.means, |m| &mut m.when));
        let speaks = c.rows.len() > 1 || c.reading.as_ref().is_some_and(|r| r.rows.len() > 1);
        facts.hold_off(&mut c.hold_off);
        facts.effects(&mut c.effects);
        facts.fits(&mut c.fits) && (speaks || !spoke)
    });
    facts.checks = file.checks.iter().map(|c| c.id.clone()).collect();
    file.checks.retain_mut(|c| facts.after(&mut c.after));
    let left: BTreeSet<String> = file.checks.iter().map(|c| c.id.clone()).collect();
    file.checks
        .iter_mut()
        .for_each(|c| c.follows.retain(|id| left.contains(id) || !known.checks.contains(id)));
    facts.checks = file.checks.iter().map(|c| c.id.clone()).collect();
    facts.effects(&mut file.attempt.effects);
    facts.hold_off(&mut file.attempt.hold_off);
    file.setups.iter_mut().for_each(|s| facts.effects(&mut s.effects));
    file.bypasses.retain_mut(|b| {
        facts.keep(&mut b.lifts);
        b.apart.iter_mut().for_each(|a| facts.keep(&mut a.conditions));
        b.apart.retain(|a| !a.conditions.is_empty());
        facts.hold_off(&mut b.hold_off);
        facts.effects(&mut b.effects);
        facts.fits(&mut b.fits) && facts.after(&mut b.after) && !b.lifts.is_empty()
    });
    file.repairs.retain_mut(|r| {
        let had_none = r.cures.is_empty();
        facts.keep(&mut r.cures);
        facts.hold_off(&mut r.hold_off);
        facts.effects(&mut r.effects);
        let idle = r.cures.is_empty() && r.effects.is_empty();
        facts.fits(&mut r.fits) && (!idle || had_none)
    });
    let repairs = file.repairs.iter().map(|r| r.id.clone()).collect();
    file.gates.retain_mut(|g| facts.gate(g, &repairs));
    // A repair that cures nothing is there for a gate.
    let opens =
        |r: &Repair| file.gates.iter().flat_map(|g| &g.until).any(|l| l.repair.as_ref() == Some(&r.id));
    file.repairs.retain(|r| !(r.cures.is_empty() && r.effects.is_empty()) || opens(r));
    let choices = file.settings.iter_mut().flat_map(|s| &mut s.choices).map(|c| &mut c.moves);
    for moves in choices.chain(file.thin_air.as_mut().map(|t| &mut t.moves)) {
        moves.retain(|m| facts.predicate(&m.of) == TruthValue::Open);
    }
}

/// Removes warnings about things that this machine lacks (a blade). Adds the warnings of the plain attempt to
/// every bypass, because a bypass includes an attempt.
pub(super) fn warnings(file: &mut MachineFile, known: &IdSets) {
    let there: BTreeSet<String> = file.cautions.iter().map(|c| c.id.clone()).collect();
    let keep = |list: &mut Vec<String>| list.retain(|c| there.contains(c) || !known.cautions.contains(c));
    keep(&mut file.attempt.cautions);
    file.tools.iter_mut().for_each(|t| keep(&mut t.cautions));
    file.setups.iter_mut().for_each(|s| keep(&mut s.cautions));
    file.parts.iter_mut().for_each(|p| keep(&mut p.cautions));
    file.checks.iter_mut().for_each(|c| keep(&mut c.cautions));
    file.repairs.iter_mut().for_each(|r| keep(&mut r.cautions));
    for bypass in &mut file.bypasses {
        keep(&mut bypass.cautions);
        for caution in &file.attempt.cautions {
            if !bypass.cautions.contains(caution) {
                bypass.cautions.push(caution.clone());
            }
        }
    }
}

/// Removes tools, set-up work, warnings and groups that are no longer used.
pub(super) fn idle(file: &mut MachineFile) {
    let mut tools: BTreeSet<&str> = BTreeSet::new();
    let mut setups: BTreeSet<&str> = BTreeSet::new();
    let mut cautions: BTreeSet<&str> = BTreeSet::new();
    macro_rules! needs {
        ($($list:ident),*) => {$(
            for step in &file.$list {
                tools.extend(step.tools.iter().map(String::as_str));
                setups.extend(step.setups.iter().map(String::as_str));
                cautions.extend(step.cautions.iter().map(String::as_str));
            }
        )*};
    }
    needs!(checks, bypasses, repairs);
    cautions.extend(file.attempt.cautions.iter().map(String::as_str));
    cautions.extend(file.parts.iter().flat_map(|p| &p.cautions).map(String::as_str));
    let by_setups = file.setups.iter().filter(|s| setups.contains(s.id.as_str())).flat_map(|s| &s.cautions);
    let by_tools = file.tools.iter().filter(|t| tools.contains(t.id.as_str())).flat_map(|t| &t.cautions);
    cautions.extend(by_setups.chain(by_tools).map(String::as_str));
    let owned = |set: BTreeSet<&str>| set.into_iter().map(str::to_owned).collect::<BTreeSet<String>>();
    let (tools, setups, cautions) = (owned(tools), owned(setups), owned(cautions));
    file.tools.retain(|t| tools.contains(&t.id));
    file.setups.retain(|s| setups.contains(&s.id));
    file.cautions.retain(|c| cautions.contains(&c.id));
    let groups: BTreeSet<String> = file.parts.iter().map(|p| p.subsystem.clone()).collect();
    file.subsystems.retain(|s| groups.contains(&s.id));
}
