//! The recorded form of a job: what a job file, a link and the page's memory hold.

use std::collections::BTreeMap;

use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize};

use crate::reading::{TemperatureUnit, Unit};

/// One machine on the bench: everything done so far, in order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct JobFile {
    /// Id of the machine description.
    pub machine: String,
    /// Ids of the tools at hand; all of them where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kit: Option<Vec<String>>,
    /// Price of an hour of work; the machine's default where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rate_per_hour: Option<f64>,
    /// Price of handing over or replacing; the machine's default where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hand_over_cost: Option<f64>,
    /// What the machine is worth once it runs: putting more than that into it is not worth while. Where absent,
    /// that is not asked.
    #[serde(default, alias = "worth", skip_serializing_if = "Option::is_none")]
    pub machine_value: Option<f64>,
    /// What the advice is to spare; minutes and money where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spare: Option<Objective>,
    /// Height above the sea in metres; 0 where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub altitude_m: Option<f64>,
    /// Which population the machine comes from: by id of a setting, the id of a choice.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub settings: BTreeMap<String, String>,
    /// What is fitted, where that is known: by id of a context of that kind, the id of its state.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub fitted: BTreeMap<String, String>,
    /// What was done, in order.
    #[serde(default)]
    pub steps: Vec<StepRecord>,
}

/// What the advice is to spare. The other counts a thousandth, so that of two ways that cost the same of the one the
/// one with less of the other is better.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum Objective {
    /// Minutes at the machine, at the rate, and what parts cost.
    #[default]
    Both,
    /// Minutes.
    Minutes,
    /// What parts cost: the time is somebody's own.
    Money,
}

/// What is not to be spared counts this share of its price.
const HARDLY: f64 = 1e-3;

impl Objective {
    /// How much an hour at the rate counts, and how much the price of a part.
    pub(crate) fn shares(self) -> (f64, f64) {
        match self {
            Objective::Both => (1.0, 1.0),
            Objective::Minutes => (1.0, HARDLY),
            Objective::Money => (HARDLY, 1.0),
        }
    }
}

/// Something done.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "do", rename_all = "kebab-case", deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum StepRecord {
    /// A check with its finding: either `result` or `reading`.
    Check {
        /// Id of the check.
        check: String,
        /// Id of the result.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        result: Option<String>,
        /// The number read off.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reading: Option<ReadingRecord>,
        /// How it is known; `seen` where absent, `told` for questions.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        known: Option<Provenance>,
    },
    /// A repair.
    Repair {
        /// Id of the repair.
        repair: String,
    },
    /// A try to start.
    Attempt {
        /// Ids of the bypasses in place; none for a plain attempt.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        bypass: Vec<String>,
        /// What the engine did.
        outcome: Outcome,
    },
}

/// The fields of steps of all kinds. A step is read as this record, field by field; an enum with a tag would be
/// buffered until the tag is known, and an error inside it would lose its path.
#[derive(Deserialize)]
#[serde(deny_unknown_fields, expecting = "a step")]
struct StepFields {
    r#do: StepTag,
    #[serde(default, deserialize_with = "present")]
    check: Option<String>,
    #[serde(default, deserialize_with = "present")]
    result: Option<Option<String>>,
    #[serde(default, deserialize_with = "present")]
    reading: Option<Option<ReadingRecord>>,
    #[serde(default, deserialize_with = "present")]
    known: Option<Option<Provenance>>,
    #[serde(default, deserialize_with = "present")]
    repair: Option<String>,
    #[serde(default, deserialize_with = "present")]
    bypass: Option<Vec<String>>,
    #[serde(default, deserialize_with = "present")]
    outcome: Option<Outcome>,
}

/// The kind of a step, as its `do` says.
#[derive(Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum StepTag {
    Check,
    Repair,
    Attempt,
}

impl StepTag {
    /// The fields of a step of this kind.
    fn fields(self) -> &'static [&'static str] {
        match self {
            StepTag::Check => &["do", "check", "result", "reading", "known"],
            StepTag::Repair => &["do", "repair"],
            StepTag::Attempt => &["do", "bypass", "outcome"],
        }
    }
}

/// A field that is there, even if it is null.
fn present<'de, D: Deserializer<'de>, T: Deserialize<'de>>(deserializer: D) -> Result<Option<T>, D::Error> {
    T::deserialize(deserializer).map(Some)
}

impl StepFields {
    /// Names of the fields that are there, `do` left out.
    fn names(&self) -> impl Iterator<Item = &'static str> {
        let all = [
            ("check", self.check.is_some()),
            ("result", self.result.is_some()),
            ("reading", self.reading.is_some()),
            ("known", self.known.is_some()),
            ("repair", self.repair.is_some()),
            ("bypass", self.bypass.is_some()),
            ("outcome", self.outcome.is_some()),
        ];
        all.into_iter().filter_map(|(name, there)| there.then_some(name))
    }
}

impl<'de> Deserialize<'de> for StepRecord {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let fields = StepFields::deserialize(deserializer)?;
        let known = fields.r#do.fields();
        if let Some(name) = fields.names().find(|name| !known.contains(name)) {
            return Err(D::Error::unknown_field(name, known));
        }
        let missing = |name| D::Error::missing_field(name);
        Ok(match fields.r#do {
            StepTag::Check => StepRecord::Check {
                check: fields.check.ok_or_else(|| missing("check"))?,
                result: fields.result.flatten(),
                reading: fields.reading.flatten(),
                known: fields.known.flatten(),
            },
            StepTag::Repair => StepRecord::Repair { repair: fields.repair.ok_or_else(|| missing("repair"))? },
            StepTag::Attempt => StepRecord::Attempt {
                bypass: fields.bypass.unwrap_or_default(),
                outcome: fields.outcome.ok_or_else(|| missing("outcome"))?,
            },
        })
    }
}

/// A number read off: give `value`, or `over`, or `between`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ReadingRecord {
    /// The value shown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// It went past this.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over: Option<f64>,
    /// It stayed between these.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub between: Option<[f64; 2]>,
    /// Unit of the numbers above.
    pub unit: Unit,
    /// How warm the thing measured was, for readings that follow temperature; the check's reference
    /// where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub temperature: Option<TemperatureRecord>,
}

/// A temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct TemperatureRecord {
    /// The number.
    pub value: f64,
    /// Its scale.
    pub unit: TemperatureUnit,
}

/// How a finding is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum Provenance {
    /// Seen by whoever keeps the job.
    Seen,
    /// Told by somebody else.
    Told,
    /// Seen, but not clearly.
    Unsure,
}

/// What the engine did at an attempt, from best to worst.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum Outcome {
    /// Still running at 30 s.
    Runs,
    /// Fires up and stops within about 10 s.
    Dies,
    /// Coughs or pops.
    Tries,
    /// Turns over, not one cough; or does not turn.
    Nothing,
}

impl Outcome {
    /// All four, from best to worst.
    pub const ALL: [Outcome; 4] = [Outcome::Runs, Outcome::Dies, Outcome::Tries, Outcome::Nothing];

    /// Its id, as in files.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            Outcome::Runs => "runs",
            Outcome::Dies => "dies",
            Outcome::Tries => "tries",
            Outcome::Nothing => "nothing",
        }
    }
}
