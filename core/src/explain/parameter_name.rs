//! Names of the numbers of a description.

use serde::Serialize;

use super::parameter::Parameter;
use crate::job::{Job, Outcome, Step};
use crate::machine::file::MachineFile;
use crate::machine::model::ObservationKind;
use crate::machine::{CheckId, ConditionId, Severity};
use crate::reading::Unit;

/// The kind of number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub enum ParameterKind {
    /// Share of incoming machines with a condition.
    Rate,
    /// Share of incoming machines with a piece of history or a fact of the build.
    Share,
    /// Share of machines with a condition in which the condition does not stop the engine.
    Harmless,
    /// Share of machines stopped by a condition in which it acts with this severity.
    Severity,
    /// Chance that a condition brings a function to a level.
    Spoils,
    /// Chance of a result of a check in some state of the machine.
    Finding,
    /// Middle of the readings in some state of the machine.
    Middle,
    /// Spread of the readings in some state of the machine: a standard deviation, or a ratio.
    Spread,
    /// Chance of an outcome of an attempt, given the worst severity that acts.
    Ends,
    /// Chance of an outcome of an attempt with a bypass.
    BypassEnds,
    /// Chance that a repair takes.
    Takes,
    /// Trust in a finding.
    Trust,
}

/// A number of the description or the job.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct ParameterName {
    /// The kind of number.
    pub kind: ParameterKind,
    /// Name of the condition, context, function, check, bypass or repair, for people; empty for a plain
    /// attempt.
    pub of: String,
    /// Name of the state, level or result; id of the severity or outcome; or empty.
    pub result: String,
    /// The states of the machine in which the number counts, in words, or the id of a severity; empty for
    /// "any other" and where the number always counts.
    pub when: Vec<String>,
    /// Unit of the number, where it has one.
    pub unit: Option<Unit>,
}

impl Parameter {
    /// The name of the number.
    pub(super) fn name(self, job: &Job) -> ParameterName {
        let file = job.machine.file();
        let condition = |c: ConditionId| job.machine.condition(c).1.name.clone();
        let severity = |s: usize| Severity::ALL[s].id().to_owned();
        let outcome = |o: usize| Outcome::ALL[o].id().to_owned();
        let named = |kind, of: String, result: String, when: Vec<String>| ParameterName {
            kind,
            of,
            result,
            when,
            unit: None,
        };
        let none = String::new;
        let law = |kind, check: CheckId, row: usize| {
            let authored = file.check(check);
            let reading = authored.reading.as_ref();
            ParameterName {
                unit: match &job.machine.model.checks[check].observation.kind {
                    ObservationKind::Reading(model) => Some(model.unit),
                    ObservationKind::Table(_) => None,
                },
                ..named(
                    kind,
                    authored.name.clone(),
                    none(),
                    reading.map_or_else(Vec::new, |r| in_words(file, &r.rows[row].when)),
                )
            }
        };
        match self {
            Parameter::Rate(c) => named(ParameterKind::Rate, condition(c), none(), Vec::new()),
            Parameter::Share(b, state) => {
                let context = file.context(b);
                named(
                    ParameterKind::Share,
                    context.name.clone(),
                    context.states[state].name.clone(),
                    Vec::new(),
                )
            }
            Parameter::Harmless(c) => named(ParameterKind::Harmless, condition(c), none(), Vec::new()),
            Parameter::Severity(c, s) => {
                named(ParameterKind::Severity, condition(c), severity(s), Vec::new())
            }
            Parameter::Spoils { function, row, level } => {
                let authored = file.function(function);
                let when = in_words(file, &authored.spoiled_by[row].when);
                named(ParameterKind::Spoils, authored.name.clone(), authored.levels[level].name.clone(), when)
            }
            Parameter::Finding { check, row, result } => {
                let authored = file.check(check);
                let when = in_words(file, &authored.rows[row].when);
                named(
                    ParameterKind::Finding,
                    authored.name.clone(),
                    authored.results[result].name.clone(),
                    when,
                )
            }
            Parameter::Middle { check, row, .. } => law(ParameterKind::Middle, check, row),
            Parameter::Spread { check, row, .. } => law(ParameterKind::Spread, check, row),
            Parameter::Ends { severity: s, outcome: o } => {
                named(ParameterKind::Ends, none(), outcome(o), vec![severity(s)])
            }
            Parameter::BypassEnds { bypass, severity: s, outcome: o } => {
                let name = file.bypass(bypass).name.clone();
                named(ParameterKind::BypassEnds, name, outcome(o), vec![severity(s)])
            }
            Parameter::Takes(repair) => {
                named(ParameterKind::Takes, file.repair(repair).name.clone(), none(), Vec::new())
            }
            Parameter::Trust(step) => {
                let name = match &job.steps[step] {
                    Step::Check { check, .. } => file.check(*check).name.clone(),
                    _ => none(),
                };
                named(ParameterKind::Trust, name, none(), Vec::new())
            }
        }
    }
}

/// Predicates in words: names of the conditions, levels and contexts.
fn in_words(file: &MachineFile, whens: &[String]) -> Vec<String> {
    let one = |text: &str| -> String {
        if let Some((name, state)) = text.split_once('=') {
            let (name, state) = (name.trim(), state.trim());
            let context = file.context.iter().find(|b| b.id == name);
            let function = file.functions.iter().find(|f| f.id == name);
            let of = context.map(|b| &b.name).or(function.map(|f| &f.name));
            let states = context.and_then(|b| b.states.iter().find(|s| s.id == state)).map(|s| &s.name);
            let levels = function.and_then(|f| f.levels.iter().find(|l| l.id == state)).map(|l| &l.name);
            return match (of, states.or(levels)) {
                (Some(of), Some(state)) => format!("{of}: {state}"),
                _ => text.to_owned(),
            };
        }
        let mut ids = text.trim().split('/');
        let part = ids.next().and_then(|id| file.parts.iter().find(|p| p.id == id));
        let id = ids.next().unwrap_or_default();
        match (part, part.and_then(|p| p.conditions.iter().find(|c| c.id == id))) {
            (_, Some(condition)) => condition.name.clone(),
            (Some(part), None) => format!("{}: OK", part.name),
            _ => text.to_owned(),
        }
    };
    whens.iter().map(|w| w.split('&').map(one).collect::<Vec<_>>().join(" + ")).collect()
}
