//! A description with some numbers changed. Only the data that depend on them are resolved again.

use super::checks::check;
use super::outcome_law;
use super::parts::functions;
use crate::machine::error::Result;
use crate::machine::file::MachineFile;
use crate::machine::ids::{BypassId, CheckId, ConditionId};
use crate::machine::model::{Model, PartState};
use crate::machine::predicate::Names;

/// The numbers that were changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ChangedParameters {
    /// The rates of a condition by severity, with the same sum.
    Severities(ConditionId),
    /// The rows of functions.
    Functions,
    /// The table or law of a check.
    Check(CheckId),
    /// The law of attempts.
    Attempt,
    /// The laws of attempts with a bypass.
    Bypass(BypassId),
    /// Numbers that are read from the description itself.
    AsAuthored,
}

/// Returns the model of a description that differs in some numbers.
pub(crate) fn with_parameters(
    file: &MachineFile,
    before: &Model,
    figures: ChangedParameters,
) -> Result<Model> {
    let mut model = before.clone();
    let names = Names { file, parts: &before.parts };
    match figures {
        ChangedParameters::Severities(condition) => severities(file, &mut model, condition),
        ChangedParameters::Functions => model.functions = functions(&names)?,
        ChangedParameters::Check(id) => {
            let i = id.index();
            model.checks[id] = check(&names, i, file.check(id))?;
        }
        ChangedParameters::Attempt => model.attempt_law = outcome_law("attempt.law", &file.attempt.law)?,
        ChangedParameters::Bypass(id) => {
            let bypass = file.bypass(id);
            let place = format!("bypasses[{}] \"{}\".law", id.index(), bypass.id);
            model.bypasses[id].law = bypass.law.as_ref().map(|l| outcome_law(&place, l)).transpose()?;
        }
        ChangedParameters::AsAuthored => {}
    }
    Ok(model)
}

/// Updates the split of a condition between acting and harmless, and its severities. The chance that the
/// condition is present stays the same.
fn severities(file: &MachineFile, model: &mut Model, id: ConditionId) {
    let condition = &mut model.conditions[id];
    let part = &mut model.parts[condition.part];
    let rate = &file.part(condition.part).conditions[condition.index].rate;
    let acting = rate.acting();
    if acting > 0.0 {
        condition.severity = [0.0, rate.dies / acting, rate.tries / acting, rate.nothing / acting];
    }
    let place = |acts: bool| part.states.iter().position(|s| *s == PartState::In { condition: id, acts });
    if let (Some(harmless), Some(acts)) = (place(false), place(true)) {
        let share = acting / (acting + rate.harmless);
        for row in part.table.chunks_mut(part.states.len()) {
            let whole = row[harmless] + row[acts];
            row[acts] = whole * share;
            row[harmless] = whole * (1.0 - share);
        }
    }
}
