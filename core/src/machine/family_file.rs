//! The authored form of families and blocks.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::authored::authored;
use super::file::{
    Attempt, Bypass, Caution, Check, Context, Defaults, EquivalentSampleSize, Function, Gate, Named, Part,
    Repair, Setting, Setup, ThinAir, Tool, Trust,
};

/// The `schema` of a block.
pub const BLOCK_SCHEMA: &str = "halfsplit-block/1";
/// The `schema` of a family.
pub const FAMILY_SCHEMA: &str = "halfsplit-family/1";

authored! {
    /// A building block that several machines share.
    pub struct BlockFile {
        /// Where an editor finds the JSON Schema of this form; not read.
        #[serde(rename = "$schema", default, skip_serializing_if = "Option::is_none")]
        pub json_schema: Option<String>,
        /// Must be [`BLOCK_SCHEMA`].
        pub schema: String,
        /// Short name used by families.
        pub id: String,
        /// What the block stands for and what it assumes.
        pub about: String,
        /// The content of the block.
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
        /// Sources of the figures in this file; the sources of the blocks come before them.
        #[serde(default)]
        pub sources: Vec<String>,
        /// Ids of blocks, in the order in which their contents are listed.
        pub blocks: Vec<String>,
        /// Facts that are the same for all machines of this kind: by id of a context, its state. The context
        /// is removed, and so is everything that is then not fitted.
        #[serde(default)]
        pub fixed: BTreeMap<String, String>,
        /// Items of the blocks that this machine does not have.
        #[serde(default)]
        pub leaves_out: Omissions,
        /// The shift of the rates; the rates of the blocks where absent.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub rates: Option<RateShift>,
        /// By list (`checks`, `repairs`, ...) and id: a merge patch (RFC 7396) for an item of a block. A machine
        /// has `attempt` and `defaults` once, so there the name of a field takes the place of the id.
        #[serde(default)]
        pub changes: BTreeMap<String, BTreeMap<String, Value>>,
        /// Items that this machine has in addition to the blocks.
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
        /// Gates.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub gates: Vec<String>,
    }

    /// Frequencies of the causes that stop a machine of this kind. Severities other than harmless shift
    /// together.
    pub struct RateShift {
        /// Total number of stopping causes per incoming machine.
        pub total: f64,
        /// By `part/condition`, part or subsystem: factor on the rate in the blocks, before the rates are
        /// scaled to the total.
        #[serde(default)]
        pub times: BTreeMap<String, f64>,
        /// By `part/condition`: its share of the stopping causes. The other conditions share the rest.
        #[serde(default)]
        pub shares: BTreeMap<String, f64>,
    }

    /// Contents, each list as in a machine description.
    #[derive(Default)]
    pub struct Pieces {
        /// Sources of the figures.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub sources: Vec<String>,
        /// Equivalent sample size of the figures; at most one file of a machine states it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[serde(alias = "worth")]
        pub equivalent_sample_size: Option<EquivalentSampleSize>,
        /// Trust in findings; one file of a machine states it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub trust: Option<Trust>,
        /// Tools. Tools, warnings and set-up work that no step needs are removed.
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
        /// The effects of thin air; at most one file of a machine states them.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub thin_air: Option<ThinAir>,
        /// Contexts: what is fitted, and history.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        #[serde(alias = "background")]
        pub context: Vec<Context>,
        /// Parts, in any order.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub parts: Vec<Part>,
        /// Functions. A function that an earlier block declares gains the rows of this one; its levels are
        /// left empty here.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub functions: Vec<Function>,
        /// Observations.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub checks: Vec<Check>,
        /// One start attempt by the proper routine; one file of a machine states it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub attempt: Option<Attempt>,
        /// Temporary measures for one attempt.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub bypasses: Vec<Bypass>,
        /// Repairs, which make parts sound.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub repairs: Vec<Repair>,
        /// Findings and beliefs after which some steps wait. A gate that nothing on the machine closes is removed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub gates: Vec<Gate>,
        /// Limits and prices; one file of a machine states them.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub defaults: Option<Defaults>,
    }
}
