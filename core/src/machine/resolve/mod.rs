//! Resolution of the authored form, which checks every rule on the way.

mod changed_parameters;
mod checks;
mod gates;
mod limits;
mod meanings;
mod parts;
mod rules;
mod steps;

use super::MachineError;
use super::file::{Apart, MachineFile, Move, Named, OutcomeLaw, SCHEMA, WAIT_COST_PER_HOUR};
use super::ids::ConditionId;
use super::model::{ApartModel, BypassModel, ChoiceModel, Model, RepairModel, Severity, Source};
use super::predicate::Names;
use crate::machine::error::Result;
pub(crate) use changed_parameters::ChangedParameters;
pub(super) use changed_parameters::with_parameters;
use checks::check;
use limits::at_most;
pub(crate) use limits::{AIR_RANGE, MAX_CONDITIONS, MAX_OBSERVATIONS, MAX_SETUPS, TEMPERATURE_RANGE};
use parts::{functions, parts};
use rules::{cautions, distribution, not_negative, positive, source, trust, unique};
use steps::{condition_list, effects, needs};
use typed_index_collections::TiVec;

const OUTCOMES: [&str; 4] = ["runs", "dies", "tries", "nothing"];

pub(super) fn resolve(file: &MachineFile) -> Result<Model> {
    if file.schema != SCHEMA {
        return Err(MachineError::Schema { wanted: SCHEMA.into(), found: file.schema.clone() });
    }
    all_ids(file)?;
    at_most("setups", "set-ups", file.setups.len(), MAX_SETUPS)?;
    let observations = file.checks.len() + file.bypasses.len();
    at_most("checks", "checks and bypasses", observations, MAX_OBSERVATIONS)?;
    positive("equivalent_sample_size.rates", file.equivalent_sample_size.rates)?;
    positive("equivalent_sample_size.rows", file.equivalent_sample_size.rows)?;
    trust("trust", &file.trust)?;
    positive("defaults.rate_per_hour", file.defaults.rate_per_hour)?;
    positive("defaults.hand_over_cost", file.defaults.hand_over_cost)?;
    positive("defaults.wait_cost_per_hour", file.defaults.wait_cost_per_hour.unwrap_or(WAIT_COST_PER_HOUR))?;
    for (i, s) in file.setups.iter().enumerate() {
        let place = format!("setups[{i}] \"{}\"", s.id);
        not_negative(&format!("{place}.minutes"), s.minutes)?;
        cautions(file, &place, &s.cautions)?;
    }
    for (i, t) in file.tools.iter().enumerate() {
        cautions(file, &format!("tools[{i}] \"{}\"", t.id), &t.cautions)?;
    }
    for (i, p) in file.parts.iter().enumerate() {
        cautions(file, &format!("parts[{i}] \"{}\"", p.id), &p.cautions)?;
    }
    for (i, b) in file.context.iter().enumerate() {
        let place = format!("context[{i}] \"{}\"", b.id);
        unique(&place, b.states.iter().map(|s| s.id.as_str()))?;
        distribution(
            &format!("{place}.states"),
            &b.states.iter().map(|s| s.share).collect::<Vec<_>>(),
            b.states.len(),
        )?;
    }
    let (conditions, parts) = parts(file)?;
    let names = Names { file, parts: &parts };
    let functions = functions(&names)?;
    let checks =
        file.checks.iter().enumerate().map(|(i, c)| check(&names, i, c)).collect::<Result<TiVec<_, _>>>()?;
    let attempt_law = outcome_law("attempt.law", &file.attempt.law)?;
    not_negative("attempt.minutes", file.attempt.minutes)?;
    cautions(file, "attempt", &file.attempt.cautions)?;
    source("attempt", &file.attempt.source)?;
    let attempt_effects = effects(&names, "attempt", &file.attempt.effects, &OUTCOMES)?;
    let setup_effects = file
        .setups
        .iter()
        .enumerate()
        .map(|(i, s)| effects(&names, &format!("setups[{i}] \"{}\"", s.id), &s.effects, &[]))
        .collect::<Result<TiVec<_, _>>>()?;
    let attempt_needs = needs(&names, "attempt", &[], &[], &[], &[], &file.attempt.hold_off)?;
    let mut bypasses = TiVec::new();
    for (i, b) in file.bypasses.iter().enumerate() {
        let place = format!("bypasses[{i}] \"{}\"", b.id);
        not_negative(&format!("{place}.minutes"), b.minutes)?;
        not_negative(&format!("{place}.wait_hours"), b.wait_hours)?;
        cautions(file, &place, &b.cautions)?;
        source(&place, &b.source)?;
        let lifts = condition_list(&names, &format!("{place}.lifts"), &b.lifts)?;
        bypasses.push(BypassModel {
            needs: needs(&names, &place, &b.tools, &b.setups, &b.fits, &b.after, &b.hold_off)?,
            apart: apart(&names, &place, &b.apart, &lifts)?,
            lifts,
            law: b.law.as_ref().map(|l| outcome_law(&format!("{place}.law"), l)).transpose()?,
            effects: effects(&names, &place, &b.effects, &OUTCOMES)?,
        });
    }
    let mut repairs = TiVec::new();
    for (i, r) in file.repairs.iter().enumerate() {
        let place = format!("repairs[{i}] \"{}\"", r.id);
        not_negative(&format!("{place}.minutes"), r.minutes)?;
        not_negative(&format!("{place}.wait_hours"), r.wait_hours)?;
        not_negative(&format!("{place}.parts_cost.low"), r.parts_cost.low)?;
        if !(r.parts_cost.low <= r.parts_cost.typical && r.parts_cost.typical <= r.parts_cost.high) {
            return Err(MachineError::rule(
                &format!("{place}.parts_cost"),
                "low, typical and high must not fall",
            ));
        }
        if !(r.takes > 0.0 && r.takes <= 1.0) {
            return Err(MachineError::rule(
                &format!("{place}.takes"),
                "a chance above 0 and up to 1 is needed",
            ));
        }
        cautions(file, &place, &r.cautions)?;
        repairs.push(RepairModel {
            needs: needs(&names, &place, &r.tools, &r.setups, &r.fits, &[], &r.hold_off)?,
            cures: if r.cures.is_empty() && (!r.effects.is_empty() || opens_gate(file, &r.id)) {
                Vec::new()
            } else {
                condition_list(&names, &format!("{place}.cures"), &r.cures)?
            },
            effects: effects(&names, &place, &r.effects, &[])?,
        });
    }
    let gates = gates::gates(&names)?;
    let settings = settings(&names)?;
    let thin_air = match &file.thin_air {
        Some(thin) => Some((thin.from_m, choice(&names, "thin_air", &thin.moves)?)),
        None => None,
    };
    Ok(Model {
        conditions,
        parts,
        functions,
        checks,
        attempt_law,
        attempt_needs,
        attempt_effects,
        setup_effects,
        settings,
        thin_air,
        bypasses,
        repairs,
        gates,
    })
}

/// Whether a repair opens a gate.
fn opens_gate(file: &MachineFile, repair: &str) -> bool {
    file.gates.iter().flat_map(|g| &g.until).any(|lift| lift.repair.as_deref() == Some(repair))
}

/// Checks that ids are unique in every list. Functions and contexts share one set of ids.
fn all_ids(file: &MachineFile) -> Result<()> {
    fn of(list: &[Named]) -> impl Iterator<Item = &str> {
        list.iter().map(|n| n.id.as_str())
    }
    unique("tools", file.tools.iter().map(|t| t.id.as_str()))?;
    unique("cautions", file.cautions.iter().map(|t| t.id.as_str()))?;
    unique("setups", file.setups.iter().map(|t| t.id.as_str()))?;
    unique("subsystems", of(&file.subsystems))?;
    unique("settings", file.settings.iter().map(|t| t.id.as_str()))?;
    unique("parts", file.parts.iter().map(|t| t.id.as_str()))?;
    unique("checks", file.checks.iter().map(|t| t.id.as_str()))?;
    unique("bypasses", file.bypasses.iter().map(|t| t.id.as_str()))?;
    unique("repairs", file.repairs.iter().map(|t| t.id.as_str()))?;
    unique(
        "context and functions",
        file.context.iter().map(|b| b.id.as_str()).chain(file.functions.iter().map(|f| f.id.as_str())),
    )?;
    for word in [&file.id].into_iter().chain(file.parts.iter().map(|p| &p.id)) {
        if word.is_empty() || word.contains(['/', '=', '&', ' ']) {
            return Err(MachineError::rule(
                "ids",
                format!("\"{word}\" is no id; leave out spaces and / = &"),
            ));
        }
    }
    Ok(())
}

fn outcome_law(place: &str, law: &OutcomeLaw) -> Result<[[f64; 4]; 4]> {
    let rows = [law.harmless, law.dies, law.tries, law.nothing];
    for (row, severity) in rows.iter().zip(Severity::ALL) {
        distribution(&format!("{place}.{}", severity.id()), row, 4)?;
    }
    Ok(rows)
}

/// Resolves conditions with their own law. Each is named once, and the bypass lifts none of them.
fn apart(names: &Names, place: &str, groups: &[Apart], lifts: &[ConditionId]) -> Result<Vec<ApartModel>> {
    let mut taken = lifts.to_vec();
    let mut all = Vec::new();
    for (i, group) in groups.iter().enumerate() {
        let place = format!("{place}.apart[{i}]");
        let conditions = condition_list(names, &format!("{place}.conditions"), &group.conditions)?;
        if let Some(twice) = conditions.iter().position(|c| taken.contains(c)) {
            let rule = format!("\"{}\" stands twice here, or is lifted", group.conditions[twice]);
            return Err(MachineError::rule(&format!("{place}.conditions"), rule));
        }
        taken.extend(&conditions);
        all.push((conditions, outcome_law(&format!("{place}.law"), &group.law)?));
    }
    Ok(all)
}

/// Resolves the differences of a population from all incoming machines.
fn choice(names: &Names, place: &str, moves: &[Move]) -> Result<ChoiceModel> {
    let mut model = ChoiceModel { conditions: Vec::new(), contexts: Vec::new() };
    for (m, moved) in moves.iter().enumerate() {
        let place = format!("{place}.moves[{m}]");
        positive(&format!("{place}.factor"), moved.factor)?;
        let predicate = names.predicate(&place, &moved.of)?;
        match predicate.source {
            Source::Context(b) => {
                let state = predicate.holds.iter().position(|h| *h).unwrap_or(0);
                model.contexts.push((b, state, moved.factor));
            }
            Source::Part(_) => {
                let list = condition_list(names, &place, std::slice::from_ref(&moved.of))?;
                model.conditions.extend(list.into_iter().map(|c| (c, moved.factor)));
            }
            Source::Function(_) => {
                return Err(MachineError::rule(&place, "it moves conditions and contexts"));
            }
        }
    }
    Ok(model)
}

fn settings(names: &Names) -> Result<Vec<Vec<ChoiceModel>>> {
    let mut all = Vec::new();
    for (i, setting) in names.file.settings.iter().enumerate() {
        let place = format!("settings[{i}] \"{}\"", setting.id);
        unique(&format!("{place}.choices"), setting.choices.iter().map(|c| c.id.as_str()))?;
        let choices = setting
            .choices
            .iter()
            .enumerate()
            .map(|(c, authored)| {
                choice(names, &format!("{place}.choices[{c}] \"{}\"", authored.id), &authored.moves)
            })
            .collect::<Result<_>>()?;
        all.push(choices);
    }
    Ok(all)
}
