//! Machines put together from blocks.
//!
//! What several machines have in common stands once, in a [`BlockFile`]: a magneto ignition, a float
//! carburettor, the owner's account. A [`FamilyFile`] names the blocks that a kind of machine is made
//! of and says what differs: facts that are fixed, what is left out, what is changed or added, and how
//! the rates shift. [`Library::compose`] makes a plain [`MachineFile`] of it.
//!
//! A block may mention a part, context or check that some machines lack. Where it is missing, what
//! mentions it falls away: a row that looks at it, a raise, a cure, an entry among what a bypass lifts.
//! A check whose rows all fell away says nothing and goes, and so does a repair that cures nothing. An
//! id that no file of the library knows is a mistake all the same.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::MachineError;
use super::compose;
use super::file::{
    Attempt, Bypass, Caution, Check, Context, Defaults, EquivalentSampleSize, Function, MachineFile, Named,
    Part, Repair, Setting, Setup, ThinAir, Tool, Trust, authored,
};
use crate::json::{self, ShapeError};
use halfsplit_bayes::support::suggest::find;

/// The `schema` of a block.
pub const BLOCK_SCHEMA: &str = "halfsplit-block/1";
/// The `schema` of a family.
pub const FAMILY_SCHEMA: &str = "halfsplit-family/1";

authored! {
    /// Something that several machines are made of.
    pub struct BlockFile {
        /// Where an editor finds the JSON Schema of this form; not read.
        #[serde(rename = "$schema", default, skip_serializing_if = "Option::is_none")]
        pub json_schema: Option<String>,
        /// Must be [`BLOCK_SCHEMA`].
        pub schema: String,
        /// Short name used by families.
        pub id: String,
        /// What it stands for and what it assumes.
        pub about: String,
        /// What it brings.
        pub has: Pieces,
    }

    /// A kind of machine.
    pub struct FamilyFile {
        /// Where an editor finds the JSON Schema of this form; not read.
        #[serde(rename = "$schema", default, skip_serializing_if = "Option::is_none")]
        pub json_schema: Option<String>,
        /// Must be [`FAMILY_SCHEMA`].
        pub schema: String,
        /// Short name used by jobs and on the command line.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// One paragraph: what kind of machine, and what is assumed about it.
        pub about: String,
        /// Where the figures of this file come from; those of the blocks come before them.
        #[serde(default)]
        pub sources: Vec<String>,
        /// Ids of blocks, in the order in which their contents are listed.
        pub blocks: Vec<String>,
        /// Facts that are the same for all machines of this kind: by id of a context, its state.
        /// The context falls away, and with it what is not fitted.
        #[serde(default)]
        pub fixed: BTreeMap<String, String>,
        /// What the blocks have and this machine has not.
        #[serde(default)]
        pub leaves_out: Omissions,
        /// How the rates shift; as they stand in the blocks where absent.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub rates: Option<RateShift>,
        /// By list (`checks`, `repairs`, ...) and id: a merge patch (RFC 7396) for what a block says.
        #[serde(default)]
        pub changes: BTreeMap<String, BTreeMap<String, Value>>,
        /// What this machine has beyond the blocks.
        #[serde(default)]
        pub adds: Pieces,
    }

    /// What a family leaves out, by id.
    #[derive(Default)]
    pub struct Omissions {
        /// Contexts.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        #[serde(alias = "context")]
        pub context: Vec<String>,
        /// Parts.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub parts: Vec<String>,
        /// Conditions, as `part/condition`.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub conditions: Vec<String>,
        /// Checks.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub checks: Vec<String>,
        /// Bypasses.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub bypasses: Vec<String>,
        /// Repairs.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub repairs: Vec<String>,
    }

    /// How often what stops a machine of this kind. Severities other than harmless shift together.
    pub struct RateShift {
        /// Stopping causes per incoming machine, all together.
        pub total: f64,
        /// By `part/condition`, part or subsystem: how many times as often as in the blocks, before
        /// everything is brought to the total.
        #[serde(default)]
        pub times: BTreeMap<String, f64>,
        /// By `part/condition`: its share of what stops these machines. The others share the rest.
        #[serde(default)]
        pub shares: BTreeMap<String, f64>,
    }

    /// Contents, each list as in a machine description.
    #[derive(Default)]
    pub struct Pieces {
        /// Where the figures come from.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub sources: Vec<String>,
        /// How many cases of one's own the figures are worth; one file of a machine says so, or none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[serde(alias = "worth")]
        pub equivalent_sample_size: Option<EquivalentSampleSize>,
        /// How far a finding is believed; one file of a machine says so.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub trust: Option<Trust>,
        /// Tools. Those that no step needs fall away, as do warnings and set-up work.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub tools: Vec<Tool>,
        /// Warnings.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub cautions: Vec<Caution>,
        /// Set-up work.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub setups: Vec<Setup>,
        /// Groups of parts.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub subsystems: Vec<Named>,
        /// Populations that a job can name.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub settings: Vec<Setting>,
        /// What thin air changes; one file of a machine says so, or none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub thin_air: Option<ThinAir>,
        /// What is fitted, and history.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        #[serde(alias = "context")]
        pub context: Vec<Context>,
        /// Parts, in any order.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub parts: Vec<Part>,
        /// Functions. One that an earlier block has already gains the rows of this one; its levels are
        /// then left empty.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub functions: Vec<Function>,
        /// Observations.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub checks: Vec<Check>,
        /// One honest try to start; one file of a machine says so.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub attempt: Option<Attempt>,
        /// Temporary acts for one attempt.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub bypasses: Vec<Bypass>,
        /// StepEffects that make parts sound.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub repairs: Vec<Repair>,
        /// Limits and prices; one file of a machine says so.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub defaults: Option<Defaults>,
    }
}

/// The blocks that families can name.
#[derive(Debug, Clone, Default)]
pub struct Library {
    pub(super) blocks: Vec<(String, BlockFile)>,
}

impl Library {
    /// A library from `(file name, text)`.
    ///
    /// # Errors
    /// [`MachineError`] with the name of the file and the place in it.
    pub fn from_texts<'a>(texts: impl IntoIterator<Item = (&'a str, &'a str)>) -> Result<Self, MachineError> {
        let mut blocks: Vec<(String, BlockFile)> = Vec::new();
        for (name, text) in texts {
            let block: BlockFile = json::read(text).map_err(|e| in_file(name, e))?;
            if block.schema != BLOCK_SCHEMA {
                return Err(MachineError::Schema { wanted: BLOCK_SCHEMA.into(), found: block.schema });
            }
            if blocks.iter().any(|(_, b)| b.id == block.id) {
                return Err(MachineError::Duplicate { place: format!("{name}: id"), id: block.id });
            }
            blocks.push((name.to_owned(), block));
        }
        Ok(Library { blocks })
    }

    /// The description of a family, from the name of its file and its text.
    ///
    /// # Errors
    /// [`MachineError`] with the name of the file and the place in it. What only shows in the whole is
    /// told by [`Machine::new`](super::Machine::new), which does not know the files.
    pub fn compose(&self, name: &str, text: &str) -> Result<MachineFile, MachineError> {
        let family = json::parse(text).map_err(|e| in_file(name, e))?;
        self.compose_with_origins(name, &family).map(|(file, _)| file)
    }

    pub(super) fn compose_with_origins(
        &self,
        name: &str,
        family: &Value,
    ) -> Result<(MachineFile, Origins), MachineError> {
        let family: FamilyFile = json::read_value(family).map_err(|e| in_file(name, e))?;
        compose::compose(self, name, family)
    }

    pub(super) fn block(&self, place: &str, id: &str) -> Result<&(String, BlockFile), MachineError> {
        let at = find(place, "block", id, self.blocks.iter().map(|(_, b)| b.id.as_str()))?;
        Ok(&self.blocks[at])
    }
}

/// An error in the shape of a file, with the name of the file before its place.
fn in_file(name: &str, error: ShapeError) -> MachineError {
    ShapeError { place: format!("{name}: {}", error.place), ..error }.into()
}

/// Where the items of a composed machine were written: by list and id, the file and the place in it.
#[derive(Debug, Clone, Default)]
pub(super) struct Origins(pub(super) BTreeMap<(&'static str, String), String>);

impl Origins {
    /// A place of the composed machine (`checks[3] "x".rows[0]`) as one in the file that says so.
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
