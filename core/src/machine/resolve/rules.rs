//! Rules that apply to many places of a description.

use std::collections::HashSet;

use crate::machine::MachineError;
use crate::machine::error::Result;
use crate::machine::file::{MachineFile, Trust};
use crate::precision::ROW_SUM;
use halfsplit_bayes::support::suggest::find;

pub(super) fn trust(place: &str, trust: &Trust) -> Result<()> {
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

pub(super) fn cautions(file: &MachineFile, place: &str, ids: &[String]) -> Result<()> {
    ids.iter().try_for_each(|id| {
        find(&format!("{place}.cautions"), "caution", id, file.cautions.iter().map(|c| c.id.as_str()))?;
        Ok(())
    })
}

/// Checks that figures name their source.
pub(super) fn source(place: &str, source: &str) -> Result<()> {
    if source.trim().is_empty() {
        return Err(MachineError::rule(
            &format!("{place}.source"),
            "say where the figures come from, be it \"common practice, no source\"",
        ));
    }
    Ok(())
}

pub(super) fn distribution(place: &str, p: &[f64], length: usize) -> Result<()> {
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

pub(super) fn positive(place: &str, x: f64) -> Result<()> {
    if x > 0.0 && x.is_finite() {
        Ok(())
    } else {
        Err(MachineError::rule(place, format!("{x} is not above 0")))
    }
}

pub(super) fn not_negative(place: &str, x: f64) -> Result<()> {
    if x >= 0.0 && x.is_finite() {
        Ok(())
    } else {
        Err(MachineError::rule(place, format!("{x} is below 0 or no number")))
    }
}

pub(super) fn unique<'a>(place: &str, ids: impl Iterator<Item = &'a str>) -> Result<()> {
    let mut seen = HashSet::new();
    for id in ids {
        if !seen.insert(id) {
            return Err(MachineError::Duplicate { place: place.to_owned(), id: id.to_owned() });
        }
    }
    Ok(())
}
