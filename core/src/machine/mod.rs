//! Machines: from an authored description to variables and tables.
//!
//! A [`Machine`] is made from a [`file::MachineFile`] and validated once. Severity is part of the state of a
//! part and is drawn once per machine. A part is sound, or in a condition of one severity, and stays so until
//! somebody acts on it. So *there, and the reason* and *there, but not the reason* are two probabilities, and
//! a start attempt repeated unchanged is no new evidence.

#[cfg(feature = "shipped")]
mod audit;
mod authored;
#[cfg(feature = "shipped")]
mod compose;
mod error;
#[cfg(feature = "shipped")]
pub mod family;
#[cfg(feature = "shipped")]
mod family_file;
pub mod file;
mod gate_file;
mod ids;
mod lookup;
pub(crate) mod model;
mod predicate;
mod prior;
#[cfg(feature = "shipped")]
mod prune;
pub(crate) mod resolve;
#[cfg(feature = "shipped")]
mod shipped;

use serde::Serialize;

#[cfg(feature = "shipped")]
pub use audit::Problem;
pub use error::MachineError;
pub(crate) use gate_file::OF_ATTEMPTS;
pub use ids::{BypassId, CheckId, ConditionId, ContextId, FunctionId, PartId, RepairId, SetupId, ToolId};
pub use model::Severity;

use crate::json;
#[cfg(feature = "shipped")]
use family::Library;
use file::MachineFile;
use halfsplit_bayes::support::suggest::NoSuchId;
use model::Model;
pub(crate) use resolve::ChangedParameters;
#[cfg(feature = "shipped")]
use shipped::SHIPPED;

/// A validated machine description.
pub struct Machine {
    file: MachineFile,
    pub(crate) model: Model,
}

/// The summary of a machine, for a list.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct MachineSummary {
    /// Its id.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Its description for people.
    pub about: String,
}

impl Machine {
    /// Resolves and validates a description.
    ///
    /// # Errors
    /// [`MachineError`] with the place of the first mistake.
    pub fn new(file: MachineFile) -> Result<Self, MachineError> {
        let model = resolve::resolve(&file)?;
        Ok(Machine { file, model })
    }

    /// The same machine with some numbers of its description changed. Everything that depends on them is
    /// resolved again.
    ///
    /// # Errors
    /// [`MachineError`] where the new numbers break a rule.
    pub(crate) fn with_figures(
        &self,
        of: ChangedParameters,
        change: impl FnOnce(&mut MachineFile),
    ) -> Result<Self, MachineError> {
        let mut file = self.file.clone();
        change(&mut file);
        let model = resolve::with_parameters(&file, &self.model, of)?;
        Ok(Machine { file, model })
    }

    /// Reads a description: a whole machine or, if the crate has the shipped blocks, a family composed of
    /// them.
    ///
    /// # Errors
    /// [`MachineError`] with the place of the first mistake.
    pub fn from_json(text: &str) -> Result<Self, MachineError> {
        #[cfg(feature = "shipped")]
        let machine = Self::from_json_with(&shipped::library()?, "the description", text);
        #[cfg(not(feature = "shipped"))]
        let machine = Self::new(Self::read(text)?);
        machine
    }

    /// Reads a description, with the blocks of a library for families; `name` is the file name in errors.
    ///
    /// # Errors
    /// [`MachineError`] with the place of the first mistake.
    #[cfg(feature = "shipped")]
    pub fn from_json_with(library: &Library, name: &str, text: &str) -> Result<Self, MachineError> {
        let value = json::parse(text)?;
        if value.get("schema").is_some_and(|schema| schema == family::FAMILY_SCHEMA) {
            let (file, origins) = library.compose_with_origins(name, &value)?;
            return Self::new(file).map_err(|e| e.relocated(|place| origins.locate(place)));
        }
        Self::new(json::read_value(&value)?)
    }

    /// Reads a whole machine, and checks its shape only.
    ///
    /// # Errors
    /// [`MachineError::Shape`] with the place of the first mistake.
    pub fn read(text: &str) -> Result<MachineFile, MachineError> {
        Ok(json::read(text)?)
    }

    /// A machine that comes with the crate.
    ///
    /// # Errors
    /// [`MachineError::Unknown`] with the nearest id.
    #[cfg(feature = "shipped")]
    pub fn shipped(id: &str) -> Result<Self, MachineError> {
        match SHIPPED.iter().find(|(known, _)| *known == id) {
            Some((_, text)) => Self::from_json_with(&shipped::library()?, &shipped::file_name(id), text),
            None => Err(Self::unknown(id, SHIPPED.iter().map(|(known, _)| *known))),
        }
    }

    /// The error for a machine that is not known.
    pub fn unknown<'a>(id: &str, known: impl Iterator<Item = &'a str>) -> MachineError {
        NoSuchId::new("machine", "machine", id, known).into()
    }

    /// All machines that come with the crate.
    ///
    /// # Errors
    /// None in a crate that passes its tests.
    #[cfg(feature = "shipped")]
    pub fn all_shipped() -> Result<Vec<Self>, MachineError> {
        let library = shipped::library()?;
        SHIPPED
            .iter()
            .map(|(id, text)| Self::from_json_with(&library, &shipped::file_name(id), text))
            .collect()
    }

    /// Id of the machine.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.file.id
    }

    /// The description from which the machine was made.
    #[must_use]
    pub fn file(&self) -> &MachineFile {
        &self.file
    }

    /// Id, name and description of the machine.
    #[must_use]
    pub fn summary(&self) -> MachineSummary {
        MachineSummary {
            id: self.file.id.clone(),
            name: self.file.name.clone(),
            about: self.file.about.clone(),
        }
    }

    /// Number of conditions over all parts.
    #[must_use]
    pub fn condition_count(&self) -> usize {
        self.model.conditions.len()
    }

    /// The part with a condition, and the condition, as authored.
    #[must_use]
    pub fn condition(&self, id: ConditionId) -> (&file::Part, &file::Condition) {
        let model = &self.model.conditions[id];
        let part = self.file.part(model.part);
        (part, &part.conditions[model.index])
    }

    /// The part that a condition belongs to.
    pub(crate) fn part_of(&self, id: ConditionId) -> PartId {
        self.model.conditions[id].part
    }

    pub(crate) fn condition_ids(&self) -> impl ExactSizeIterator<Item = ConditionId> + use<> {
        self.model.conditions.keys()
    }
}

impl std::fmt::Debug for Machine {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Machine").field("id", &self.file.id).finish_non_exhaustive()
    }
}
