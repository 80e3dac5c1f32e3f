//! Resolution of checks: the parents of a finding, and the distribution of results or readings.

use super::limits::{AIR_RANGE, TEMPERATURE_RANGE};
use super::meanings::meanings;
use super::rules::{cautions, distribution, not_negative, positive, source, trust, unique};
use super::steps::{effects, needs};
use crate::machine::MachineError;
use crate::machine::error::Result;
use crate::machine::file::{Check, LawTerm, ReadingFile};
use crate::machine::ids::CheckId;
use crate::machine::model::{CheckModel, ObservationKind, ObservationModel, Predicate, ReadingModel, Source};
use crate::machine::predicate::Names;
use crate::machine::prior;
use crate::reading::{Law, LawShape};
use halfsplit_bayes::for_each_configuration;
use halfsplit_bayes::support::suggest::{NoSuchId, find};

/// Limit on the configurations of a check's parents. Above it, the description needs a function in between.
const MOST_CONFIGURATIONS: usize = 20_000;

pub(super) fn check(names: &Names, i: usize, check: &Check) -> Result<CheckModel> {
    let file = names.file;
    let place = format!("checks[{i}] \"{}\"", check.id);
    not_negative(&format!("{place}.minutes"), check.minutes)?;
    not_negative(&format!("{place}.wait_hours"), check.wait_hours)?;
    cautions(file, &place, &check.cautions)?;
    source(&place, &check.source)?;
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
            ObservationModel { parents, kind: ObservationKind::Table(table) }
        }
        _ => return Err(MachineError::rule(&place, "a check has either rows or a reading")),
    };
    let results: Vec<&str> = check.results.iter().map(|r| r.id.as_str()).collect();
    let effects = effects(names, &place, &check.effects, &results)?;
    let means = meanings(names, &place, check)?;
    let known = || file.checks.iter().map(|c| c.id.as_str());
    let follows = check
        .follows
        .iter()
        .map(|id| find(&format!("{place}.follows"), "check", id, known()).map(CheckId::new));
    let follows = follows.collect::<std::result::Result<_, NoSuchId>>()?;
    Ok(CheckModel { needs, observation, effects, follows, means })
}

fn reading_model(
    names: &Names,
    place: &str,
    check: &Check,
    reading: &ReadingFile,
) -> Result<ObservationModel> {
    let place = format!("{place}.reading");
    if reading.unit.quantity() != reading.quantity {
        let wrong = crate::reading::UnitError { given: reading.unit, wanted: reading.quantity };
        return Err(MachineError::rule(&format!("{place}.unit"), wrong.to_string()));
    }
    positive(&format!("{place}.resolution"), reading.resolution)?;
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
    Ok(ObservationModel { parents, kind: ObservationKind::Reading(model) })
}

fn law_term(place: &str, term: &LawTerm) -> Result<(f64, LawShape)> {
    let shape = match (term.mean, term.sd, term.median, term.ratio) {
        (Some(mean), Some(sd), None, None) => LawShape::Normal { mean, sd },
        (None, None, Some(median), Some(ratio)) => LawShape::LogNormal { median, ratio },
        _ => return Err(MachineError::rule(place, "give mean and sd, or median and ratio")),
    };
    Ok((term.weight, shape))
}

/// The variables on which rows depend and, by configuration of their states, the first row that applies.
fn first_match(names: &Names, place: &str, whens: &[&[String]]) -> Result<(Vec<Source>, Vec<usize>)> {
    match whens.split_last() {
        Some((last, before)) if last.is_empty() && before.iter().all(|w| !w.is_empty()) => {}
        _ => return Err(MachineError::rule(place, "the last row, and only the last, has an empty when")),
    }
    let mut rows: Vec<Vec<Vec<Predicate>>> = Vec::new();
    let mut parents: Vec<Source> = Vec::new();
    for (r, when) in whens.iter().enumerate() {
        let alternatives = when
            .iter()
            .map(|text| names.all_of(&format!("{place}[{r}].when"), text))
            .collect::<Result<Vec<_>>>()?;
        for predicate in alternatives.iter().flatten() {
            if !parents.contains(&predicate.source) {
                parents.push(predicate.source);
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
    for_each_configuration(&cards, |states| {
        let holds = |predicate: &Predicate| {
            parents.iter().zip(states).any(|(p, s)| *p == predicate.source && predicate.holds[*s])
        };
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
