//! Resolution of what readings mean.

use crate::machine::MachineError;
use crate::machine::error::Result;
use crate::machine::file::{Check, CheckResult, ContextKind};
use crate::machine::model::{Alternatives, Source};
use crate::machine::predicate::Names;

/// By result, then by sentence: when it applies. Every band of a reading has a sentence that applies to every machine,
/// and results of other checks have none.
pub(super) fn meanings(names: &Names, place: &str, check: &Check) -> Result<Vec<Vec<Alternatives>>> {
    let of_result = |(i, result): (usize, &CheckResult)| {
        let place = format!("{place}.results[{i}] \"{}\".means", result.id);
        match (check.reading.is_some(), result.means.split_last()) {
            (false, None) => Ok(Vec::new()),
            (false, Some(_)) => Err(MachineError::rule(&place, "only a band of a reading has a meaning")),
            (true, Some((last, before)))
                if last.when.is_empty() && before.iter().all(|m| !m.when.is_empty()) =>
            {
                sentences(names, &place, result)
            }
            (true, _) => Err(MachineError::rule(
                &place,
                "say what a reading in this band means; the last sentence, and only the last, has no when",
            )),
        }
    };
    check.results.iter().enumerate().map(of_result).collect()
}

fn sentences(names: &Names, place: &str, result: &CheckResult) -> Result<Vec<Alternatives>> {
    let mut all = Vec::new();
    for (i, meaning) in result.means.iter().enumerate() {
        let place = format!("{place}[{i}]");
        if meaning.text.trim().is_empty() {
            return Err(MachineError::rule(&format!("{place}.text"), "a sentence is needed"));
        }
        let place = format!("{place}.when");
        let alternatives: Alternatives =
            meaning.when.iter().map(|text| names.all_of(&place, text)).collect::<Result<_>>()?;
        let fitted = |source| match source {
            Source::Context(context) => names.file.context(context).kind == ContextKind::Fitted,
            Source::Part(_) | Source::Function(_) => false,
        };
        if !alternatives.iter().flatten().all(|predicate| fitted(predicate.source)) {
            return Err(MachineError::rule(&place, "it looks at what is fitted only"));
        }
        all.push(alternatives);
    }
    Ok(all)
}
