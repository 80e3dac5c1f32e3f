//! Resolution of the needs and the effects of a step.

use crate::machine::MachineError;
use crate::machine::error::Result;
use crate::machine::file::{After, Effect, HoldOff, MachineFile};
use crate::machine::ids::{CheckId, ConditionId, SetupId, ToolId};
use crate::machine::model::{EffectModel, HoldOffModel, Needs, Predicate, Source};
use crate::machine::predicate::Names;
use halfsplit_bayes::support::suggest::{NoSuchId, find};

pub(super) fn needs(
    names: &Names,
    place: &str,
    tools: &[String],
    setups: &[String],
    fits: &[String],
    after: &[After],
    hold_off: &[HoldOff],
) -> Result<Needs> {
    let file = names.file;
    let tools = tools
        .iter()
        .map(|id| {
            find(&format!("{place}.tools"), "tool", id, file.tools.iter().map(|t| t.id.as_str()))
                .map(ToolId::new)
        })
        .collect::<std::result::Result<_, NoSuchId>>()?;
    let setups = setups
        .iter()
        .map(|id| {
            find(&format!("{place}.setups"), "set-up", id, file.setups.iter().map(|t| t.id.as_str()))
                .map(SetupId::new)
        })
        .collect::<std::result::Result<_, NoSuchId>>()?;
    let fits =
        fits.iter().map(|text| names.predicate(&format!("{place}.fits"), text)).collect::<Result<_>>()?;
    let after = self::after(file, &format!("{place}.after"), after)?;
    let hold_off = hold_off
        .iter()
        .enumerate()
        .map(|(i, h)| {
            let place = format!("{place}.hold_off[{i}]");
            let (predicate, over) = likely(names, &place, &h.when, h.over)?;
            Ok(HoldOffModel { predicate, over, why: h.why.clone() })
        })
        .collect::<Result<_>>()?;
    Ok(Needs { tools, setups, fits, after, hold_off })
}

/// Checks with the places of their results.
pub(super) fn after(file: &MachineFile, place: &str, list: &[After]) -> Result<Vec<(CheckId, Vec<usize>)>> {
    list.iter()
        .map(|a| {
            let check = find(place, "check", &a.check, file.checks.iter().map(|c| c.id.as_str()))?;
            let known = || file.checks[check].results.iter().map(|r| r.id.as_str());
            let results = a
                .results
                .iter()
                .map(|r| find(place, "result", r, known()))
                .collect::<std::result::Result<_, NoSuchId>>()?;
            Ok((CheckId::new(check), results))
        })
        .collect()
}

/// A state of the machine, and the chance from which it counts as likely.
pub(super) fn likely(names: &Names, place: &str, when: &str, over: f64) -> Result<(Predicate, f64)> {
    let predicate = names.predicate(place, when)?;
    if matches!(predicate.source, Source::Function(_)) {
        return Err(MachineError::rule(place, "it looks at conditions and contexts"));
    }
    if !(0.0..1.0).contains(&over) {
        return Err(MachineError::rule(place, format!("over = {over} is not a probability below 1")));
    }
    Ok((predicate, over))
}

/// `results` are the ids that `only_after` may name.
pub(super) fn effects(
    names: &Names,
    place: &str,
    list: &[Effect],
    results: &[&str],
) -> Result<Vec<EffectModel>> {
    let mut models = Vec::new();
    for (i, effect) in list.iter().enumerate() {
        let place = format!("{place}.effects[{i}]");
        let predicate = names.predicate(&format!("{place}.when"), &effect.when)?;
        let Source::Part(part) = predicate.source else {
            return Err(MachineError::rule(&place, "a step changes parts; name a condition, or sound"));
        };
        let id = &names.file.part(part).id;
        let target = names.predicate(&format!("{place}.becomes"), &format!("{id}/{}", effect.becomes))?;
        let (Some(to), 1) =
            (target.holds.iter().position(|h| *h), target.holds.iter().filter(|h| **h).count())
        else {
            return Err(MachineError::rule(
                &format!("{place}.becomes"),
                format!(
                    "\"{}\" is not one state; write sound, condition/acting or condition/harmless",
                    effect.becomes
                ),
            ));
        };
        if !(effect.chance > 0.0 && effect.chance <= 1.0) {
            return Err(MachineError::rule(
                &format!("{place}.chance"),
                "a chance above 0 and up to 1 is needed",
            ));
        }
        let only_after = effect
            .only_after
            .iter()
            .map(|r| find(&format!("{place}.only_after"), "result", r, results.iter().copied()))
            .collect::<std::result::Result<_, NoSuchId>>()?;
        models.push(EffectModel {
            part,
            from: predicate.holds,
            to,
            chance: effect.chance,
            only_after,
            from_time: effect.from_time as usize,
        });
    }
    Ok(models)
}

pub(super) fn condition_list(names: &Names, place: &str, texts: &[String]) -> Result<Vec<ConditionId>> {
    if texts.is_empty() {
        return Err(MachineError::rule(place, "at least one condition is needed"));
    }
    let mut list = Vec::new();
    for text in texts {
        let predicate = names.predicate(place, text)?;
        let Source::Part(part) = predicate.source else {
            return Err(MachineError::rule(place, format!("\"{text}\" is not a condition of a part")));
        };
        for (state, holds) in names.parts[part].states.iter().zip(&predicate.holds) {
            if let (Some(c), true) = (state.condition(), holds)
                && !list.contains(&c)
            {
                list.push(c);
            }
        }
    }
    Ok(list)
}
