//! Composition of a family and its blocks into a plain description.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

use super::MachineError;
use super::error::Result;
use super::family_file::{BlockFile, FAMILY_SCHEMA, FamilyFile, Pieces, RateShift};
use super::file::{MachineFile, Part, SCHEMA};
use super::prune::{self, IdSets, conditions};
use crate::json::{self, ShapeError};
use halfsplit_bayes::support::suggest::{NoSuchId, find};

/// The plain description of a family. The blocks come with the names of their files.
pub(super) fn compose(
    blocks: &[(String, BlockFile)],
    name: &str,
    family: FamilyFile,
) -> Result<(MachineFile, Origins)> {
    if family.schema != FAMILY_SCHEMA {
        return Err(MachineError::Schema { wanted: FAMILY_SCHEMA.into(), found: family.schema });
    }
    let mut whole = Whole::default();
    for (i, id) in family.blocks.iter().enumerate() {
        let place = format!("{name}: blocks[{i}]");
        if family.blocks[..i].contains(id) {
            return Err(MachineError::Duplicate { place, id: id.clone() });
        }
        let at = find(&place, "block", id, blocks.iter().map(|(_, b)| b.id.as_str()))?;
        let (file, block) = &blocks[at];
        whole.add(file, "has", &block.has)?;
    }
    whole.add(name, "adds", &family.adds)?;
    let known = IdSets::new(blocks.iter().map(|(_, block)| &block.has).chain([&family.adds]));
    whole.change(name, &family)?;
    whole.omit(name, &family)?;
    let Whole { pieces, origins } = whole;
    let missing = |what: &str| {
        MachineError::rule(&format!("{name}: adds"), format!("no file of the machine has {what}"))
    };
    let mut sources = pieces.sources;
    sources.extend(family.sources);
    let mut file = MachineFile {
        json_schema: None,
        schema: SCHEMA.to_owned(),
        id: family.id,
        name: family.name,
        about: family.about,
        sources,
        equivalent_sample_size: pieces.equivalent_sample_size.unwrap_or_default(),
        trust: pieces.trust.ok_or_else(|| missing("trust"))?,
        tools: pieces.tools,
        cautions: pieces.cautions,
        setups: pieces.setups,
        subsystems: pieces.subsystems,
        settings: pieces.settings,
        thin_air: pieces.thin_air,
        context: pieces.context,
        parts: pieces.parts,
        functions: pieces.functions,
        checks: pieces.checks,
        attempt: pieces.attempt.ok_or_else(|| missing("an attempt"))?,
        bypasses: pieces.bypasses,
        repairs: pieces.repairs,
        gates: pieces.gates,
        defaults: pieces.defaults.ok_or_else(|| missing("defaults"))?,
    };
    prune::fix(&format!("{name}: fixed"), &mut file, &family.fixed)?;
    prune::references(&mut file, &known, &family.fixed);
    prune::warnings(&mut file, &known);
    if let Some(shift) = &family.rates {
        shift_rates(&format!("{name}: rates"), &mut file, shift)?;
    }
    order_parts(&mut file.parts);
    prune::idle(&mut file);
    Ok((file, origins))
}

/// The origins of the items of a composed machine: by list and id, the file and the place in it.
#[derive(Debug, Clone, Default)]
pub(super) struct Origins(BTreeMap<(&'static str, String), String>);

impl Origins {
    /// Translates a place in the composed machine (`checks[3] "x".rows[0]`) into the place in the file that
    /// holds it.
    pub(super) fn locate(&self, place: &str) -> String {
        let list = place.split(['[', '.', ' ', ',']).next().unwrap_or_default();
        // Items of the composed machine are named with their id in quotes right after the list.
        let quoted = place.find('"').and_then(|from| {
            let rest = &place[from + 1..];
            rest.find('"').map(|to| (&rest[..to], &rest[to + 1..]))
        });
        let found = |id: &str| self.0.iter().find(|((l, i), _)| *l == list && i == id).map(|(_, at)| at);
        match quoted {
            Some((id, rest)) if place.starts_with(&format!("{list}[")) => match found(id) {
                Some(at) => format!("{at}{rest}"),
                None => place.to_owned(),
            },
            _ => found("").map_or_else(|| place.to_owned(), |at| format!("{at}{}", &place[list.len()..])),
        }
    }
}

/// The machine composed so far.
#[derive(Default)]
struct Whole {
    pieces: Pieces,
    origins: Origins,
}

impl Whole {
    fn add(&mut self, file: &str, field: &str, more: &Pieces) -> Result<()> {
        let Whole { pieces, origins } = self;
        macro_rules! lists {
            ($($list:ident),*) => {$(
                for (i, item) in more.$list.iter().enumerate() {
                    let place = format!("{file}: {field}.{}[{i}] \"{}\"", stringify!($list), item.id);
                    if origins.0.insert((stringify!($list), item.id.clone()), place.clone()).is_some() {
                        return Err(MachineError::Duplicate { place, id: item.id.clone() });
                    }
                    pieces.$list.push(item.clone());
                }
            )*};
        }
        lists!(
            tools, cautions, setups, subsystems, settings, context, parts, checks, bypasses, repairs, gates
        );
        for (i, function) in more.functions.iter().enumerate() {
            let place = format!("{file}: {field}.functions[{i}] \"{}\"", function.id);
            match pieces.functions.iter_mut().find(|f| f.id == function.id) {
                Some(earlier) if function.levels.is_empty() => {
                    earlier.spoiled_by.extend(function.spoiled_by.iter().cloned());
                    if !earlier.source.contains(&function.source) {
                        earlier.source = format!("{} {}", earlier.source, function.source);
                    }
                }
                Some(_) => return Err(MachineError::Duplicate { place, id: function.id.clone() }),
                None => {
                    origins.0.insert(("functions", function.id.clone()), place);
                    pieces.functions.push(function.clone());
                }
            }
        }
        macro_rules! once {
            ($($only:ident),*) => {$(
                if let Some(value) = &more.$only {
                    let place = format!("{file}: {field}.{}", stringify!($only));
                    if pieces.$only.is_some() {
                        return Err(MachineError::rule(&place, "another file of the machine says this already"));
                    }
                    origins.0.insert((stringify!($only), String::new()), place);
                    pieces.$only = Some(value.clone());
                }
            )*};
        }
        once!(equivalent_sample_size, trust, thin_air, attempt, defaults);
        pieces
            .sources
            .extend(more.sources.iter().filter(|s| !pieces.sources.contains(s)).cloned().collect::<Vec<_>>());
        Ok(())
    }

    /// Applies the merge patches of the family.
    fn change(&mut self, name: &str, family: &FamilyFile) -> Result<()> {
        let pieces = &mut self.pieces;
        for (list, patches) in &family.changes {
            for (id, patch) in patches {
                let place = format!("{name}: changes.{list}.{id}");
                macro_rules! one_of {
                    ($($known:ident),*) => {
                        match list.as_str() {
                            $(stringify!($known) => {
                                let ids: Vec<String> = pieces.$known.iter().map(|item| item.id.clone()).collect();
                                let at = find(&place, "item of the blocks", id, ids.iter().map(String::as_str))?;
                                pieces.$known[at] = patched(&place, &pieces.$known[at], patch)?;
                                self.origins.0.insert((stringify!($known), id.clone()), place);
                            })*
                            "attempt" | "defaults" => {
                                let place = format!("{name}: changes.{list}");
                                let changed = change_once(pieces, list, id, patch, &place)?;
                                self.origins.0.insert((changed, String::new()), place);
                            }
                            _ => {
                                let lists = [$(stringify!($known)),*, "attempt", "defaults"];
                                return Err(NoSuchId::new(format!("{name}: changes"), "list", list, lists).into());
                            }
                        }
                    };
                }
                one_of!(
                    tools, cautions, setups, subsystems, settings, context, parts, functions, checks,
                    bypasses, repairs, gates
                );
            }
        }
        Ok(())
    }

    fn omit(&mut self, name: &str, family: &FamilyFile) -> Result<()> {
        let out = &family.leaves_out;
        let pieces = &mut self.pieces;
        macro_rules! omit {
            ($($list:ident),*) => {$(
                for id in &out.$list {
                    let place = format!("{name}: leaves_out.{}", stringify!($list));
                    find(&place, "item of the blocks", id, pieces.$list.iter().map(|item| item.id.as_str()))?;
                    pieces.$list.retain(|item| item.id != *id);
                }
            )*};
        }
        omit!(context, parts, checks, bypasses, repairs, gates);
        for text in &out.conditions {
            let gone = pieces.parts.iter_mut().any(|part| {
                let before = part.conditions.len();
                part.conditions.retain(|c| format!("{}/{}", part.id, c.id) != *text);
                part.conditions.len() < before
            });
            if !gone {
                let known: Vec<String> = conditions(&pieces.parts).collect();
                let place = format!("{name}: leaves_out.conditions");
                let known = known.iter().map(String::as_str);
                return Err(NoSuchId::new(place, "condition of the blocks", text, known).into());
            }
        }
        pieces.parts.retain(|p| !p.conditions.is_empty());
        Ok(())
    }
}

/// The name of what was changed: a field of the attempt or of the defaults, which a machine has once and without an id.
fn change_once(
    pieces: &mut Pieces,
    list: &str,
    field: &str,
    patch: &Value,
    place: &str,
) -> Result<&'static str> {
    let patch = Value::Object([(field.to_owned(), patch.clone())].into_iter().collect());
    if list == "attempt" {
        pieces.attempt = Some(patched_once(place, pieces.attempt.as_ref(), &patch)?);
        return Ok("attempt");
    }
    pieces.defaults = Some(patched_once(place, pieces.defaults.as_ref(), &patch)?);
    Ok("defaults")
}

/// The one item of its kind after a merge patch is applied.
fn patched_once<T: Serialize + DeserializeOwned>(place: &str, item: Option<&T>, patch: &Value) -> Result<T> {
    match item {
        Some(item) => patched(place, item, patch),
        None => Err(MachineError::rule(place, "no block states what is changed here")),
    }
}

/// An item after a merge patch is applied.
fn patched<T: Serialize + DeserializeOwned>(place: &str, item: &T, patch: &Value) -> Result<T> {
    let shape = |rule: String| MachineError::Shape { place: place.to_owned(), rule };
    let mut value = serde_json::to_value(item).map_err(|e| shape(e.to_string()))?;
    merge(&mut value, patch);
    json::read_value(&value).map_err(|e| ShapeError { place: format!("{place}.{}", e.place), ..e }.into())
}

/// RFC 7396: objects merge, null removes, any other value replaces.
fn merge(target: &mut Value, patch: &Value) {
    let Value::Object(patch) = patch else {
        target.clone_from(patch);
        return;
    };
    if !target.is_object() {
        *target = Value::Object(serde_json::Map::new());
    }
    if let Value::Object(target) = target {
        for (key, value) in patch {
            if value.is_null() {
                target.remove(key);
            } else {
                merge(target.entry(key.clone()).or_insert(Value::Null), value);
            }
        }
    }
}

/// Shifts the rates as a family states.
fn shift_rates(place: &str, file: &mut MachineFile, shift: &RateShift) -> Result<()> {
    let mut names: BTreeSet<String> = conditions(&file.parts).collect();
    let known = |field: &str, id: &String, names: &BTreeSet<String>| {
        find(&format!("{place}.{field}"), "rate", id, names.iter().map(String::as_str))
    };
    for id in shift.shares.keys() {
        known("shares", id, &names)?;
    }
    names.extend(file.parts.iter().flat_map(|p| [p.id.clone(), p.subsystem.clone()]));
    for id in shift.times.keys() {
        known("times", id, &names)?;
    }
    let numbers = shift.times.values().chain(shift.shares.values()).chain([&shift.total]);
    if numbers.clone().any(|x| !(*x > 0.0 && x.is_finite())) {
        return Err(MachineError::rule(place, "every number must be above 0"));
    }
    let apart: f64 = shift.shares.values().sum();
    if apart >= 1.0 {
        return Err(MachineError::rule(
            &format!("{place}.shares"),
            format!("they sum to {apart}; something less than 1 is left for the others"),
        ));
    }
    let times = |part: &Part, id: &str| -> f64 {
        [id, &part.id, &part.subsystem].iter().filter_map(|key| shift.times.get(*key)).product()
    };
    let mut others = 0.0;
    for part in &file.parts {
        for condition in &part.conditions {
            let id = format!("{}/{}", part.id, condition.id);
            if !shift.shares.contains_key(&id) {
                others += condition.rate.acting() * times(part, &id);
            }
        }
    }
    for part in &mut file.parts {
        for c in 0..part.conditions.len() {
            let id = format!("{}/{}", part.id, part.conditions[c].id);
            let factor = match shift.shares.get(&id) {
                Some(share) => shift.total * share / part.conditions[c].rate.acting(),
                None => shift.total * (1.0 - apart) / others * times(part, &id),
            };
            let rate = &mut part.conditions[c].rate;
            if !factor.is_finite() {
                return Err(MachineError::rule(
                    &format!("{place}.shares.{id}"),
                    "a condition that only ever is harmless has no share",
                ));
            }
            rate.dies *= factor;
            rate.tries *= factor;
            rate.nothing *= factor;
        }
    }
    Ok(())
}

/// Sorts the parts so that every part comes after the parts that raise it; otherwise the order stays.
fn order_parts(parts: &mut Vec<Part>) {
    let mut left: Vec<Part> = std::mem::take(parts);
    while !left.is_empty() {
        let waits = |part: &Part| {
            let raisers =
                part.conditions.iter().flat_map(|c| &c.raised_by).filter_map(|r| r.when.split_once('/'));
            let mut raisers = raisers.map(|(raiser, _)| raiser);
            raisers.any(|raiser| raiser != part.id && left.iter().any(|p| p.id == raiser))
        };
        // In a circle no part comes first; `Machine::new` then refuses the order.
        let next = left.iter().position(|p| !waits(p)).unwrap_or(0);
        parts.push(left.remove(next));
    }
}
