//! The authored form of families and blocks.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::file::{
    Attempt, Bypass, Caution, Check, Context, Defaults, EquivalentSampleSize, Function, Named, Part, Repair,
    Setting, Setup, ThinAir, Tool, Trust, authored,
};

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
        #[serde(alias = "background")]
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
        #[serde(alias = "background")]
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
        /// Repairs: acts that make parts sound.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub repairs: Vec<Repair>,
        /// Limits and prices; one file of a machine says so.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub defaults: Option<Defaults>,
    }
}
