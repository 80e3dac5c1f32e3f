//! Parser of predicates: short texts that refer to a state of the machine.

use super::MachineError;
use super::file::MachineFile;
use super::ids::{ContextId, FunctionId, PartId};
use super::model::{PartModel, PartState, Predicate, Source};
use halfsplit_bayes::support::suggest::{NoSuchId, find};
use typed_index_collections::TiSlice;

/// The names that predicates may use.
pub(super) struct Names<'a> {
    pub(super) file: &'a MachineFile,
    pub(super) parts: &'a TiSlice<PartId, PartModel>,
}

impl Names<'_> {
    /// Parses a predicate; the documentation of the file format has the grammar.
    pub(super) fn predicate(&self, place: &str, text: &str) -> Result<Predicate, MachineError> {
        let text = text.trim();
        match (text.split_once('='), text.split_once('/')) {
            (Some((name, state)), _) => self.level(place, name.trim(), state.trim()),
            (None, Some((part, rest))) => self.part_state(place, part.trim(), rest.trim()),
            (None, None) => Err(MachineError::rule(
                place,
                format!(
                    "\"{text}\" points at nothing; write part/condition, context=state or function=level"
                ),
            )),
        }
    }

    /// Parses predicates joined by `&`.
    pub(super) fn all_of(&self, place: &str, text: &str) -> Result<Vec<Predicate>, MachineError> {
        text.split('&').map(|t| self.predicate(place, t)).collect()
    }

    fn level(&self, place: &str, name: &str, state: &str) -> Result<Predicate, MachineError> {
        let contexts = &self.file.context;
        let functions = &self.file.functions;
        let (source, states): (_, Vec<&str>) = if let Some(i) = contexts.iter().position(|b| b.id == name) {
            (Source::Context(ContextId::new(i)), contexts[i].states.iter().map(|s| s.id.as_str()).collect())
        } else if let Some(i) = functions.iter().position(|f| f.id == name) {
            (
                Source::Function(FunctionId::new(i)),
                functions[i].levels.iter().map(|l| l.id.as_str()).collect(),
            )
        } else {
            let known = contexts.iter().map(|b| b.id.as_str()).chain(functions.iter().map(|f| f.id.as_str()));
            return Err(NoSuchId::new(place, "context or function", name, known).into());
        };
        if !states.contains(&state) {
            let no_such = NoSuchId::new(place, "state or level", state, states);
            return Err(NoSuchId { id: format!("{name}={state}"), ..no_such }.into());
        }
        Ok(Predicate { source, holds: states.iter().map(|s| *s == state).collect() })
    }

    fn part_state(&self, place: &str, part: &str, rest: &str) -> Result<Predicate, MachineError> {
        let parts = &self.file.parts;
        let at = find(place, "part", part, parts.iter().map(|p| p.id.as_str()))?;
        let Some(model) = self.parts.get(PartId::new(at)) else {
            return Err(MachineError::rule(
                place,
                format!("the part \"{part}\" comes later; a part can only be raised by parts before it"),
            ));
        };
        let source = Source::Part(PartId::new(at));
        if rest == "sound" {
            return Ok(Predicate {
                source,
                holds: model.states.iter().map(|s| *s == PartState::Sound).collect(),
            });
        }
        let (condition, wanted) = match rest.split_once('/') {
            None => (rest, None),
            Some((condition, "acting")) => (condition, Some(true)),
            Some((condition, "harmless")) => (condition, Some(false)),
            Some((_, other)) => {
                let no_such = NoSuchId::new(place, "severity word", other, []);
                return Err(NoSuchId { note: "; it is acting or harmless", ..no_such }.into());
            }
        };
        let conditions = &parts[at].conditions;
        let index = find(place, "condition", condition, conditions.iter().map(|c| c.id.as_str()))
            .map_err(|no_such| NoSuchId { id: format!("{part}/{condition}"), ..no_such })?;
        // Conditions are numbered over all parts. The states of the part give its first number.
        let first = model.states.iter().filter_map(|s| s.condition()).map(|c| c.index()).min().unwrap_or(0);
        let holds = model
            .states
            .iter()
            .map(|s| {
                s.condition().is_some_and(|c| c.index() == first + index)
                    && wanted.is_none_or(|acting| s.acts() == acting)
            })
            .collect();
        Ok(Predicate { source, holds })
    }
}
