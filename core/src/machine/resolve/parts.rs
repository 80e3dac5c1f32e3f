//! Resolution of parts, with the odds of their conditions, and of the functions that they spoil.

use std::collections::HashSet;

use super::limits::{MAX_CONDITIONS, at_most};
use super::rules::{distribution, source, unique};
use crate::machine::MachineError;
use crate::machine::error::Result;
use crate::machine::file::{MachineFile, Part};
use crate::machine::ids::{ConditionId, FunctionId, PartId};
use crate::machine::model::{
    ConditionModel, FunctionModel, PartModel, PartState, Predicate, Severity, Source,
};
use crate::machine::predicate::Names;
use crate::machine::prior;
use halfsplit_bayes::support::suggest::find;
use typed_index_collections::{TiSlice, TiVec};

pub(super) fn parts(
    file: &MachineFile,
) -> Result<(TiVec<ConditionId, ConditionModel>, TiVec<PartId, PartModel>)> {
    let mut conditions = TiVec::new();
    let mut parts: TiVec<PartId, PartModel> = TiVec::new();
    for (i, part) in file.parts.iter().enumerate() {
        let place = format!("parts[{i}] \"{}\"", part.id);
        find(&place, "subsystem", &part.subsystem, file.subsystems.iter().map(|s| s.id.as_str()))?;
        if part.conditions.is_empty() {
            return Err(MachineError::rule(&place, "a part needs at least one condition"));
        }
        unique(&format!("{place}.conditions"), part.conditions.iter().map(|c| c.id.as_str()))?;
        let model = part_model(file, &place, part, parts.next_key(), &parts, &mut conditions)?;
        parts.push(model);
    }
    at_most("parts", "conditions", conditions.len(), MAX_CONDITIONS)?;
    Ok((conditions, parts))
}

fn part_model(
    file: &MachineFile,
    place: &str,
    part: &Part,
    id: PartId,
    earlier: &TiSlice<PartId, PartModel>,
    conditions: &mut TiVec<ConditionId, ConditionModel>,
) -> Result<PartModel> {
    let names = Names { file, parts: earlier };
    let mut states = vec![PartState::Sound];
    let mut state_names = vec!["sound".to_owned()];
    let mut parents: Vec<Source> = Vec::new();
    let mut raises: Vec<Vec<(Predicate, f64)>> = Vec::new();
    for (index, condition) in part.conditions.iter().enumerate() {
        let place = format!("{place}.conditions[{index}] \"{}\"", condition.id);
        if condition.id == "sound" {
            return Err(MachineError::rule(&place, "\"sound\" is the state without a condition"));
        }
        let rates = condition.rate.by_severity();
        for (severity, rate) in Severity::ALL.into_iter().zip(rates) {
            if !(0.0..1.0).contains(&rate) {
                return Err(MachineError::rule(
                    &format!("{place}.rate.{}", severity.id()),
                    format!("{rate} is not a share of incoming machines"),
                ));
            }
        }
        if rates.iter().all(|r| *r == 0.0) {
            return Err(MachineError::rule(
                &format!("{place}.rate"),
                "all rates are zero; leave the condition out",
            ));
        }
        let this = conditions.next_key();
        let acting = condition.rate.acting();
        let shares = rates.map(|r| if acting > 0.0 { r / acting } else { 0.0 });
        conditions.push(ConditionModel { part: id, index, severity: [0.0, shares[1], shares[2], shares[3]] });
        for (acts, rate, word) in [(false, condition.rate.harmless, "harmless"), (true, acting, "acting")] {
            if rate > 0.0 {
                states.push(PartState::In { condition: this, acts });
                state_names.push(format!("{}/{word}", condition.id));
            }
        }
        let mut own = Vec::new();
        for (r, raise) in condition.raised_by.iter().enumerate() {
            let place = format!("{place}.raised_by[{r}]");
            let predicate = names.predicate(&place, &raise.when)?;
            if matches!(predicate.source, Source::Function(_)) {
                return Err(MachineError::rule(
                    &place,
                    "a condition is raised by contexts and by other conditions",
                ));
            }
            if !(raise.factor >= 0.0 && raise.factor.is_finite()) {
                return Err(MachineError::rule(&place, format!("{} is not an odds factor", raise.factor)));
            }
            if !parents.contains(&predicate.source) {
                parents.push(predicate.source);
            }
            own.push((predicate, raise.factor));
        }
        raises.push(own);
    }
    let table = prior::table(place, file, earlier, part, &parents, &raises)?;
    Ok(PartModel { states, state_names, parents, table })
}

pub(super) fn functions(names: &Names) -> Result<TiVec<FunctionId, FunctionModel>> {
    let mut functions = TiVec::new();
    for (i, function) in names.file.functions.iter().enumerate() {
        let place = format!("functions[{i}] \"{}\"", function.id);
        source(&place, &function.source)?;
        unique(&format!("{place}.levels"), function.levels.iter().map(|l| l.id.as_str()))?;
        if function.levels.len() < 2 {
            return Err(MachineError::rule(&format!("{place}.levels"), "at least two levels are needed"));
        }
        let count = function.levels.len();
        let best: Vec<f64> = (0..count).map(|l| f64::from(u8::from(l == 0))).collect();
        let mut spoilers: Vec<(PartId, Vec<Vec<f64>>)> = Vec::new();
        let mut set: HashSet<(PartId, usize)> = HashSet::new();
        for (s, spoil) in function.spoiled_by.iter().enumerate() {
            let place = format!("{place}.spoiled_by[{s}]");
            distribution(&format!("{place}.levels"), &spoil.levels, count)?;
            for text in &spoil.when {
                let predicate = names.predicate(&format!("{place}.when"), text)?;
                let Source::Part(part) = predicate.source else {
                    return Err(MachineError::rule(
                        &place,
                        format!("\"{text}\": only conditions of parts spoil a function"),
                    ));
                };
                let at = spoilers.iter().position(|(p, _)| *p == part).unwrap_or_else(|| {
                    spoilers.push((part, vec![best.clone(); predicate.holds.len()]));
                    spoilers.len() - 1
                });
                for state in (0..predicate.holds.len()).filter(|s| predicate.holds[*s]) {
                    if !set.insert((part, state)) {
                        return Err(MachineError::rule(
                            &place,
                            format!("\"{text}\" is in an earlier row already"),
                        ));
                    }
                    spoilers[at].1[state].clone_from(&spoil.levels);
                }
            }
        }
        functions.push(FunctionModel {
            level_names: function.levels.iter().map(|l| l.id.clone()).collect(),
            spoilers,
        });
    }
    Ok(functions)
}
