//! From the authored form to the resolved one, checking every rule on the way.

use std::collections::HashSet;

use super::MachineError;
use super::atom::Names;
use super::file::{
    After, Check, Effect, HoldOff, LawTerm, MachineFile, Named, OutcomeLaw, Part, ReadingFile, SCHEMA, Trust,
};
use super::ids::{CheckId, ConditionId, PartId, SetupId, ToolId};
use super::model::{
    Atom, BypassModel, CheckModel, ChoiceModel, ConditionModel, EffectModel, FunctionModel, HoldOffModel,
    Model, Needs, Observation, ObservationKind, PartModel, PartState, ReadingModel, RepairModel, Severity,
    Source,
};
use super::prior;
use crate::network::for_each_row;
use crate::precision::ROW_SUM;
use crate::reading::{Law, LawShape};
use crate::suggest::hint;

type Result<T> = std::result::Result<T, MachineError>;

/// Conditions that fit the sets in which the advice reckons.
const MOST_CONDITIONS: usize = 128;
/// Configurations of a check's parents above which a function belongs between.
const MOST_CONFIGURATIONS: usize = 20_000;
/// Lowest and highest pressure of the air, as a share of that at the sea, that a job can ask for
/// (heights of about -500 m to 5,600 m).
pub(crate) const AIR_RANGE: [f64; 2] = [0.5, 1.1];

/// Lowest and highest temperature of something measured, in degrees Celsius, that a job can give.
pub(crate) const TEMPERATURE_RANGE: [f64; 2] = [-60.0, 200.0];
const OUTCOMES: [&str; 4] = ["runs", "dies", "tries", "nothing"];

pub(super) fn resolve(file: &MachineFile) -> Result<Model> {
    if file.schema != SCHEMA {
        return Err(MachineError::Schema { wanted: SCHEMA.into(), found: file.schema.clone() });
    }
    all_ids(file)?;
    trust("trust", &file.trust)?;
    positive("defaults.rate_per_hour", file.defaults.rate_per_hour)?;
    positive("defaults.hand_over_cost", file.defaults.hand_over_cost)?;
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
    for (i, b) in file.background.iter().enumerate() {
        let place = format!("background[{i}] \"{}\"", b.id);
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
        file.checks.iter().enumerate().map(|(i, c)| check(&names, i, c)).collect::<Result<Vec<_>>>()?;
    let attempt_law = outcome_law("attempt.law", &file.attempt.law)?;
    not_negative("attempt.minutes", file.attempt.minutes)?;
    cautions(file, "attempt", &file.attempt.cautions)?;
    let attempt_effects = effects(&names, "attempt", &file.attempt.effects, &OUTCOMES)?;
    let setup_effects = file
        .setups
        .iter()
        .enumerate()
        .map(|(i, s)| effects(&names, &format!("setups[{i}] \"{}\"", s.id), &s.effects, &[]))
        .collect::<Result<Vec<_>>>()?;
    let attempt_needs = needs(&names, "attempt", &[], &[], &[], &[], &file.attempt.hold_off)?;
    let mut bypasses = Vec::new();
    for (i, b) in file.bypasses.iter().enumerate() {
        let place = format!("bypasses[{i}] \"{}\"", b.id);
        not_negative(&format!("{place}.minutes"), b.minutes)?;
        cautions(file, &place, &b.cautions)?;
        bypasses.push(BypassModel {
            needs: needs(&names, &place, &b.tools, &b.setups, &b.fits, &b.after, &b.hold_off)?,
            lifts: condition_list(&names, &format!("{place}.lifts"), &b.lifts)?,
            law: b.law.as_ref().map(|l| outcome_law(&format!("{place}.law"), l)).transpose()?,
            effects: effects(&names, &place, &b.effects, &OUTCOMES)?,
        });
    }
    let mut repairs = Vec::new();
    for (i, r) in file.repairs.iter().enumerate() {
        let place = format!("repairs[{i}] \"{}\"", r.id);
        not_negative(&format!("{place}.minutes"), r.minutes)?;
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
            cures: if r.cures.is_empty() && !r.effects.is_empty() {
                Vec::new()
            } else {
                condition_list(&names, &format!("{place}.cures"), &r.cures)?
            },
            effects: effects(&names, &place, &r.effects, &[])?,
        });
    }
    let settings = settings(&names)?;
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
        bypasses,
        repairs,
    })
}

/// Every list has ids of its own; functions and backgrounds share one set.
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
        "background and functions",
        file.background.iter().map(|b| b.id.as_str()).chain(file.functions.iter().map(|f| f.id.as_str())),
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

fn parts(file: &MachineFile) -> Result<(Vec<ConditionModel>, Vec<PartModel>)> {
    let mut conditions = Vec::new();
    let mut parts: Vec<PartModel> = Vec::new();
    for (i, part) in file.parts.iter().enumerate() {
        let place = format!("parts[{i}] \"{}\"", part.id);
        if !file.subsystems.iter().any(|s| s.id == part.subsystem) {
            return Err(unknown(
                &place,
                "subsystem",
                &part.subsystem,
                file.subsystems.iter().map(|s| s.id.as_str()),
            ));
        }
        if part.conditions.is_empty() {
            return Err(MachineError::rule(&place, "a part needs at least one condition"));
        }
        unique(&format!("{place}.conditions"), part.conditions.iter().map(|c| c.id.as_str()))?;
        let model = part_model(file, &place, part, PartId::new(i), &parts, &mut conditions)?;
        parts.push(model);
    }
    if conditions.len() > MOST_CONDITIONS {
        return Err(MachineError::rule(
            "parts",
            format!("{} conditions; at most {MOST_CONDITIONS} fit", conditions.len()),
        ));
    }
    Ok((conditions, parts))
}

fn part_model(
    file: &MachineFile,
    place: &str,
    part: &Part,
    id: PartId,
    earlier: &[PartModel],
    conditions: &mut Vec<ConditionModel>,
) -> Result<PartModel> {
    let names = Names { file, parts: earlier };
    let mut states = vec![PartState::Sound];
    let mut state_names = vec!["sound".to_owned()];
    let mut parents: Vec<Source> = Vec::new();
    let mut raises: Vec<Vec<(Atom, f64)>> = Vec::new();
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
        let this = ConditionId::new(conditions.len());
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
            let atom = names.atom(&place, &raise.when)?;
            if matches!(atom.source, Source::Function(_)) {
                return Err(MachineError::rule(
                    &place,
                    "a condition is raised by backgrounds and by other conditions",
                ));
            }
            if !(raise.factor >= 0.0 && raise.factor.is_finite()) {
                return Err(MachineError::rule(&place, format!("{} is not an odds factor", raise.factor)));
            }
            if !parents.contains(&atom.source) {
                parents.push(atom.source);
            }
            own.push((atom, raise.factor));
        }
        raises.push(own);
    }
    let table = prior::table(place, file, earlier, part, &parents, &raises)?;
    Ok(PartModel { states, state_names, parents, table })
}

fn functions(names: &Names) -> Result<Vec<FunctionModel>> {
    let mut functions = Vec::new();
    for (i, function) in names.file.functions.iter().enumerate() {
        let place = format!("functions[{i}] \"{}\"", function.id);
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
                let atom = names.atom(&format!("{place}.when"), text)?;
                let Source::Part(part) = atom.source else {
                    return Err(MachineError::rule(
                        &place,
                        format!("\"{text}\": only conditions of parts spoil a function"),
                    ));
                };
                let at = spoilers.iter().position(|(p, _)| *p == part).unwrap_or_else(|| {
                    spoilers.push((part, vec![best.clone(); atom.holds.len()]));
                    spoilers.len() - 1
                });
                for state in (0..atom.holds.len()).filter(|s| atom.holds[*s]) {
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

fn check(names: &Names, i: usize, check: &Check) -> Result<CheckModel> {
    let file = names.file;
    let place = format!("checks[{i}] \"{}\"", check.id);
    not_negative(&format!("{place}.minutes"), check.minutes)?;
    cautions(file, &place, &check.cautions)?;
    if let Some(own) = &check.trust {
        trust(&format!("{place}.trust"), own)?;
    }
    unique(&format!("{place}.results"), check.results.iter().map(|r| r.id.as_str()))?;
    if check.results.len() < 2 {
        return Err(MachineError::rule(&format!("{place}.results"), "at least two results are needed"));
    }
    let needs =
        needs(names, &place, &check.tools, &check.setups, &check.fits, &check.after, &check.hold_off)?;
    let observation = match (&check.reading, check.rows.is_empty()) {
        (Some(reading), true) => reading_model(names, &place, check, reading)?,
        (None, false) => {
            let whens: Vec<&[String]> = check.rows.iter().map(|r| r.when.as_slice()).collect();
            for (r, row) in check.rows.iter().enumerate() {
                distribution(&format!("{place}.rows[{r}].p"), &row.p, check.results.len())?;
            }
            let (parents, row_of) = first_match(names, &format!("{place}.rows"), &whens)?;
            let table = row_of.iter().map(|r| check.rows[*r].p.clone()).collect();
            Observation { parents, kind: ObservationKind::Table(table) }
        }
        _ => return Err(MachineError::rule(&place, "a check has either rows or a reading")),
    };
    let results: Vec<&str> = check.results.iter().map(|r| r.id.as_str()).collect();
    let effects = effects(names, &place, &check.effects, &results)?;
    Ok(CheckModel { needs, observation, effects })
}

fn reading_model(names: &Names, place: &str, check: &Check, reading: &ReadingFile) -> Result<Observation> {
    let place = format!("{place}.reading");
    if reading.unit.quantity() != reading.quantity {
        let wrong = crate::reading::UnitError { given: reading.unit, wanted: reading.quantity };
        return Err(MachineError::rule(&format!("{place}.unit"), wrong.to_string()));
    }
    positive(&format!("{place}.resolution"), reading.resolution)?;
    if reading.source.trim().is_empty() {
        return Err(MachineError::rule(
            &format!("{place}.source"),
            "say where the figures come from, be it \"common practice, no source\"",
        ));
    }
    if let Some(rule) = &reading.follows_temperature
        && TEMPERATURE_RANGE.iter().any(|t| {
            let growth = crate::reading::matter::growth(rule.per_kelvin, rule.reference_c, *t);
            !(growth.is_finite() && growth > 0.0)
        })
    {
        return Err(MachineError::rule(
            &format!("{place}.follows_temperature"),
            "within -60 to 200 degrees Celsius the reading must stay above 0",
        ));
    }
    let mut terms = Vec::new();
    for (r, row) in reading.rows.iter().enumerate() {
        let place = format!("{place}.rows[{r}].law");
        let row_terms = row.law.iter().map(|t| law_term(&place, t)).collect::<Result<Vec<_>>>()?;
        for air in AIR_RANGE {
            let factor = if reading.follows_air { air } else { 1.0 };
            let scaled: Vec<_> = row_terms.iter().map(|(w, shape)| (*w, shape.scaled(factor))).collect();
            Law::new(&scaled, reading.range[0], reading.range[1], reading.slip)
                .map_err(|e| MachineError::rule(&place, e.to_string()))?;
        }
        terms.push(row_terms);
    }
    let (last, before) = check.results.split_last().unwrap_or((&check.results[0], &[]));
    let edges: Vec<f64> = before.iter().filter_map(|r| r.up_to).collect();
    let rising = edges.windows(2).all(|e| e[0] < e[1]);
    let inside = edges.iter().all(|e| reading.range[0] < *e && *e < reading.range[1]);
    if edges.len() != before.len() || last.up_to.is_some() || !rising || !inside {
        return Err(MachineError::rule(
            &format!("{place}, results"),
            "every band but the last needs a rising up_to within the range, and the last none",
        ));
    }
    let whens: Vec<&[String]> = reading.rows.iter().map(|r| r.when.as_slice()).collect();
    let (parents, row_of) = first_match(names, &format!("{place}.rows"), &whens)?;
    let model = ReadingModel {
        unit: reading.unit,
        resolution: reading.resolution,
        range: reading.range,
        follows_air: reading.follows_air,
        follows_temperature: reading.follows_temperature.as_ref().map(|t| (t.reference_c, t.per_kelvin)),
        slip: reading.slip,
        row_of,
        terms,
        edges,
    };
    Ok(Observation { parents, kind: ObservationKind::Reading(model) })
}

fn law_term(place: &str, term: &LawTerm) -> Result<(f64, LawShape)> {
    let shape = match (term.mean, term.sd, term.median, term.ratio) {
        (Some(mean), Some(sd), None, None) => LawShape::Normal { mean, sd },
        (None, None, Some(median), Some(ratio)) => LawShape::LogNormal { median, ratio },
        _ => return Err(MachineError::rule(place, "give mean and sd, or median and ratio")),
    };
    Ok((term.weight, shape))
}

/// `results` are the ids that `only_after` may name.
fn effects(names: &Names, place: &str, list: &[Effect], results: &[&str]) -> Result<Vec<EffectModel>> {
    let mut models = Vec::new();
    for (i, effect) in list.iter().enumerate() {
        let place = format!("{place}.effects[{i}]");
        let atom = names.atom(&format!("{place}.when"), &effect.when)?;
        let Source::Part(part) = atom.source else {
            return Err(MachineError::rule(&place, "a step changes parts; name a condition, or sound"));
        };
        let id = &names.file.parts[part.index()].id;
        let target = names.atom(&format!("{place}.becomes"), &format!("{id}/{}", effect.becomes))?;
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
            .collect::<Result<_>>()?;
        models.push(EffectModel {
            part,
            from: atom.holds,
            to,
            chance: effect.chance,
            only_after,
            from_time: effect.from_time as usize,
        });
    }
    Ok(models)
}

fn settings(names: &Names) -> Result<Vec<Vec<ChoiceModel>>> {
    let choice = |place: &str, choice: &super::file::Choice| {
        let mut model = ChoiceModel { conditions: Vec::new(), backgrounds: Vec::new() };
        for (m, moved) in choice.moves.iter().enumerate() {
            let place = format!("{place}.moves[{m}]");
            positive(&format!("{place}.factor"), moved.factor)?;
            let atom = names.atom(&place, &moved.of)?;
            match atom.source {
                Source::Background(b) => {
                    let state = atom.holds.iter().position(|h| *h).unwrap_or(0);
                    model.backgrounds.push((b, state, moved.factor));
                }
                Source::Part(_) => {
                    let list = condition_list(names, &place, std::slice::from_ref(&moved.of))?;
                    model.conditions.extend(list.into_iter().map(|c| (c, moved.factor)));
                }
                Source::Function(_) => {
                    return Err(MachineError::rule(&place, "it moves conditions and backgrounds"));
                }
            }
        }
        Ok(model)
    };
    let mut all = Vec::new();
    for (i, setting) in names.file.settings.iter().enumerate() {
        let place = format!("settings[{i}] \"{}\"", setting.id);
        unique(&format!("{place}.choices"), setting.choices.iter().map(|c| c.id.as_str()))?;
        let choices = setting
            .choices
            .iter()
            .enumerate()
            .map(|(c, authored)| choice(&format!("{place}.choices[{c}] \"{}\"", authored.id), authored))
            .collect::<Result<_>>()?;
        all.push(choices);
    }
    Ok(all)
}

/// The variables that rows look at, and for every combination of their states the first row that
/// holds.
fn first_match(names: &Names, place: &str, whens: &[&[String]]) -> Result<(Vec<Source>, Vec<usize>)> {
    match whens.split_last() {
        Some((last, before)) if last.is_empty() && before.iter().all(|w| !w.is_empty()) => {}
        _ => return Err(MachineError::rule(place, "the last row, and only the last, has an empty when")),
    }
    let mut rows: Vec<Vec<Vec<Atom>>> = Vec::new();
    let mut parents: Vec<Source> = Vec::new();
    for (r, when) in whens.iter().enumerate() {
        let alternatives = when
            .iter()
            .map(|text| names.all_of(&format!("{place}[{r}].when"), text))
            .collect::<Result<Vec<_>>>()?;
        for atom in alternatives.iter().flatten() {
            if !parents.contains(&atom.source) {
                parents.push(atom.source);
            }
        }
        rows.push(alternatives);
    }
    let cards = prior::cards(names.file, names.parts, &parents);
    let configurations = cards.iter().try_fold(1_usize, |n, c| n.checked_mul(*c)).unwrap_or(usize::MAX);
    if configurations > MOST_CONFIGURATIONS {
        return Err(MachineError::rule(
            place,
            format!(
                "the rows look at {} things with {configurations} combinations; put a function between",
                parents.len()
            ),
        ));
    }
    let mut row_of = Vec::with_capacity(configurations);
    for_each_row(&cards, |states| {
        let holds =
            |atom: &Atom| parents.iter().zip(states).any(|(p, s)| *p == atom.source && atom.holds[*s]);
        let row = rows.iter().position(|alternatives| {
            alternatives.is_empty() || alternatives.iter().any(|all| all.iter().all(holds))
        });
        row_of.push(row.unwrap_or(rows.len() - 1));
    });
    if let Some(idle) = (0..rows.len() - 1).find(|r| !row_of.contains(r)) {
        return Err(MachineError::rule(
            &format!("{place}[{idle}]"),
            "the rows before it leave nothing for this one",
        ));
    }
    Ok((parents, row_of))
}

fn needs(
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
        .collect::<Result<_>>()?;
    let setups = setups
        .iter()
        .map(|id| {
            find(&format!("{place}.setups"), "set-up", id, file.setups.iter().map(|t| t.id.as_str()))
                .map(SetupId::new)
        })
        .collect::<Result<_>>()?;
    let fits = fits.iter().map(|text| names.atom(&format!("{place}.fits"), text)).collect::<Result<_>>()?;
    let after = after
        .iter()
        .map(|a| {
            let place = format!("{place}.after");
            let check = find(&place, "check", &a.check, file.checks.iter().map(|c| c.id.as_str()))?;
            let known = || file.checks[check].results.iter().map(|r| r.id.as_str());
            let results =
                a.results.iter().map(|r| find(&place, "result", r, known())).collect::<Result<_>>()?;
            Ok((CheckId::new(check), results))
        })
        .collect::<Result<_>>()?;
    let hold_off = hold_off
        .iter()
        .enumerate()
        .map(|(i, h)| {
            let place = format!("{place}.hold_off[{i}]");
            let atom = names.atom(&place, &h.when)?;
            if matches!(atom.source, Source::Function(_)) {
                return Err(MachineError::rule(&place, "it looks at conditions and backgrounds"));
            }
            if !(0.0..1.0).contains(&h.over) {
                return Err(MachineError::rule(
                    &place,
                    format!("over = {} is not a probability below 1", h.over),
                ));
            }
            Ok(HoldOffModel { atom, over: h.over, why: h.why.clone() })
        })
        .collect::<Result<_>>()?;
    Ok(Needs { tools, setups, fits, after, hold_off })
}

fn condition_list(names: &Names, place: &str, texts: &[String]) -> Result<Vec<ConditionId>> {
    if texts.is_empty() {
        return Err(MachineError::rule(place, "at least one condition is needed"));
    }
    let mut list = Vec::new();
    for text in texts {
        let atom = names.atom(place, text)?;
        let Source::Part(part) = atom.source else {
            return Err(MachineError::rule(place, format!("\"{text}\" is not a condition of a part")));
        };
        for (state, holds) in names.parts[part.index()].states.iter().zip(&atom.holds) {
            if let (Some(c), true) = (state.condition(), holds)
                && !list.contains(&c)
            {
                list.push(c);
            }
        }
    }
    Ok(list)
}

fn outcome_law(place: &str, law: &OutcomeLaw) -> Result<[[f64; 4]; 4]> {
    let rows = [law.harmless, law.dies, law.tries, law.nothing];
    for (row, severity) in rows.iter().zip(Severity::ALL) {
        distribution(&format!("{place}.{}", severity.id()), row, 4)?;
    }
    Ok(rows)
}

fn trust(place: &str, trust: &Trust) -> Result<()> {
    for (name, value) in [("seen", trust.seen), ("told", trust.told), ("unsure", trust.unsure)] {
        if !(0.0..=1.0).contains(&value) {
            return Err(MachineError::rule(
                &format!("{place}.{name}"),
                format!("{value} does not lie in [0, 1]"),
            ));
        }
    }
    Ok(())
}

fn cautions(file: &MachineFile, place: &str, ids: &[String]) -> Result<()> {
    ids.iter().try_for_each(|id| {
        find(&format!("{place}.cautions"), "caution", id, file.cautions.iter().map(|c| c.id.as_str()))
            .map(|_| ())
    })
}

fn distribution(place: &str, p: &[f64], length: usize) -> Result<()> {
    if p.len() != length {
        return Err(MachineError::rule(place, format!("{} numbers where {length} are needed", p.len())));
    }
    if let Some(x) = p.iter().find(|x| !(0.0..=1.0).contains(*x)) {
        return Err(MachineError::rule(place, format!("{x} is not a probability")));
    }
    let sum: f64 = p.iter().sum();
    if (sum - 1.0).abs() > ROW_SUM {
        return Err(MachineError::rule(place, format!("the numbers sum to {sum}, not to 1")));
    }
    Ok(())
}

fn positive(place: &str, x: f64) -> Result<()> {
    if x > 0.0 && x.is_finite() {
        Ok(())
    } else {
        Err(MachineError::rule(place, format!("{x} is not above 0")))
    }
}

fn not_negative(place: &str, x: f64) -> Result<()> {
    if x >= 0.0 && x.is_finite() {
        Ok(())
    } else {
        Err(MachineError::rule(place, format!("{x} is below 0 or no number")))
    }
}

fn unique<'a>(place: &str, ids: impl Iterator<Item = &'a str>) -> Result<()> {
    let mut seen = HashSet::new();
    for id in ids {
        if !seen.insert(id) {
            return Err(MachineError::Duplicate { place: place.to_owned(), id: id.to_owned() });
        }
    }
    Ok(())
}

fn unknown<'a>(
    place: &str,
    what: &'static str,
    id: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> MachineError {
    MachineError::Unknown { place: place.to_owned(), what, id: id.to_owned(), hint: hint(id, known) }
}

fn find<'a>(
    place: &str,
    what: &'static str,
    id: &str,
    known: impl Iterator<Item = &'a str> + Clone,
) -> Result<usize> {
    known.clone().position(|k| k == id).ok_or_else(|| unknown(place, what, id, known))
}
