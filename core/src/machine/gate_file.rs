//! The authored form of gates: findings and beliefs after which some steps wait.

use serde::{Deserialize, Serialize};

use super::authored::authored;

authored! {
    /// A gate: while it is closed, the steps that involve what it holds wait.
    ///
    /// A finding in `after` closes the gate until one of the steps in `until` is done. A state in `likely` closes it
    /// as long as that state is likely.
    pub struct Gate {
        /// Short name.
        pub id: String,
        /// Findings that close the gate. A check without results stands for any finding of it.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub after: Vec<After>,
        /// States of the machine that close the gate while they are likely.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub likely: Vec<Likely>,
        /// What the waiting steps involve.
        pub holds: Vec<Involvement>,
        /// The reason, for people.
        pub why: String,
        /// The steps that open the gate, the one to do first in front. If all gates are closed, there is an order in
        /// which they can be opened.
        pub until: Vec<Lift>,
    }

    /// A finding that must come before a step.
    pub struct After {
        /// Id of a check.
        pub check: String,
        /// Ids of results; empty for any.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub results: Vec<String>,
    }

    /// A state of the machine, and the chance from which it counts as likely.
    pub struct Likely {
        /// A predicate on a part or a context.
        pub when: String,
        /// The state is likely while its probability is above this.
        pub over: f64,
    }

    /// A step that opens a gate: either a check or a repair.
    pub struct Lift {
        /// Id of a check.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub check: Option<String>,
        /// Ids of the results of the check that open the gate; empty for any.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub results: Vec<String>,
        /// Id of a repair.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub repair: Option<String>,
    }
}

/// Something that a step involves, and that a gate may hold. Every start attempt involves turning and spark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum Involvement {
    /// The engine is turned, by rope, key, drill or hand, as fast as for a start.
    Turning,
    /// A spark is made.
    Spark,
    /// Fuel is poured, drawn off or opened.
    Fuel,
    /// The battery is charged, jumped or loaded.
    Battery,
    /// A mains lead is plugged in.
    Mains,
}

/// What every start attempt involves.
pub(crate) const OF_ATTEMPTS: [Involvement; 2] = [Involvement::Turning, Involvement::Spark];
