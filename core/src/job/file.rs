//! The recorded form of a job, as job files, links and the page's memory hold it.

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
    /// Cost of an hour of waiting, during which nobody works on the machine; the machine's default where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wait_cost_per_hour: Option<f64>,
    /// Price of handing over or replacing; the machine's default where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hand_over_cost: Option<f64>,
    /// Value of the machine once it runs. Giving the machine up counts as a loss of this value. If absent,
    /// giving up is not considered.
    #[serde(default, alias = "worth", skip_serializing_if = "Option::is_none")]
    pub machine_value: Option<f64>,
    /// The costs that the advice minimises; time and money if absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spare: Option<Objective>,
    /// Height above sea level in metres; 0 where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub altitude_m: Option<f64>,
    /// Which population the machine comes from: by id of a setting, the id of a choice.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub settings: BTreeMap<String, String>,
    /// Facts of the build, where known: by id of a context of that kind, the id of its state.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub fitted: BTreeMap<String, String>,
    /// Whether the whole story is told, as on the phone or in a forum. A step that does not say how it is known is then
    /// told. What is told has cost nothing so far.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub told: bool,
    /// The steps done, in order.
    #[serde(default)]
    pub steps: Vec<StepRecord>,
}

/// The costs that the advice minimises. The other costs count a thousandth of their price, which decides
/// between two steps that otherwise cost the same.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum Objective {
    /// Minutes at the machine, at the rate, hours of waiting, and the price of parts.
    #[default]
    Both,
    /// Minutes at the machine and hours of waiting only.
    Minutes,
    /// The price of parts only, for somebody who does not charge for time.
    Money,
}

/// Weight of a cost that the job does not minimise.
const HARDLY: f64 = 1e-3;

impl Objective {
    /// Weights of time (work and waiting) and of the price of parts.
    pub(crate) fn shares(self) -> (f64, f64) {
        match self {
            Objective::Both => (1.0, 1.0),
            Objective::Minutes => (1.0, HARDLY),
            Objective::Money => (HARDLY, 1.0),
        }
    }
}

/// A step of a job, as recorded.
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
        /// The reading of the gauge.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reading: Option<ReadingRecord>,
        /// How it is known. Where absent, `told` for questions and in a job that is told; otherwise `seen`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        known: Option<Provenance>,
    },
    /// A repair.
    Repair {
        /// Id of the repair.
        repair: String,
        /// How it is known to be done. Where absent, `told` in a job that is told; otherwise `seen`. A repair that is only
        /// told has taken with its usual chance times the trust in what is told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        known: Option<KnownAct>,
    },
    /// A start attempt.
    Attempt {
        /// Ids of the bypasses in place; none for a plain attempt. Their order does not matter: where two of them
        /// affect the same condition, the one that comes first in the description decides.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        bypass: Vec<String>,
        /// The outcome of the attempt.
        outcome: Outcome,
        /// How it is known. Where absent, `told` in a job that is told; otherwise `seen`. The outcome of a told attempt
        /// counts in full.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        known: Option<KnownAct>,
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

/// The kind of a step, from its field `do`.
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
            StepTag::Repair => &["do", "repair", "known"],
            StepTag::Attempt => &["do", "bypass", "outcome", "known"],
        }
    }
}

/// Reads a field that is present, even if its value is null.
fn present<'de, D: Deserializer<'de>, T: Deserialize<'de>>(deserializer: D) -> Result<Option<T>, D::Error> {
    T::deserialize(deserializer).map(Some)
}

impl StepFields {
    /// Names of the fields that are present, without `do`.
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
            StepTag::Repair => StepRecord::Repair {
                repair: fields.repair.ok_or_else(|| missing("repair"))?,
                known: known_act(fields.known.flatten())?,
            },
            StepTag::Attempt => StepRecord::Attempt {
                bypass: fields.bypass.unwrap_or_default(),
                outcome: fields.outcome.ok_or_else(|| missing("outcome"))?,
                known: known_act(fields.known.flatten())?,
            },
        })
    }
}

/// How a repair or an attempt is known, from the field that checks share with them.
fn known_act<E: serde::de::Error>(known: Option<Provenance>) -> Result<Option<KnownAct>, E> {
    match known {
        None => Ok(None),
        Some(Provenance::Seen) => Ok(Some(KnownAct::Seen)),
        Some(Provenance::Told) => Ok(Some(KnownAct::Told)),
        Some(Provenance::Unsure) => Err(E::unknown_variant("unsure", &["seen", "told"])),
    }
}

/// A reading of a gauge: give one of `value`, `over` and `between`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ReadingRecord {
    /// The value shown.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// The reading went past this value. A value beyond the end of the scale counts as its end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub over: Option<f64>,
    /// The reading stayed between these values.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub between: Option<[f64; 2]>,
    /// Unit of the numbers above, by one of its usual names.
    pub unit: Unit,
    /// Temperature of the object measured, for readings that depend on temperature; the reference temperature
    /// of the check where absent.
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
///
/// A second finding of a check on an unchanged machine is not a second independent look. Of the two findings the better
/// known one counts (seen before unsure before told), and of two that are known equally well the newer one. The other
/// finding stays in the record and is no evidence. What the better known look itself changed does not make the machine
/// another one: somebody looks at the lead and pushes it home, and what is told about it later counts no more.
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

impl Provenance {
    /// How well the finding is known: more for a better known one.
    pub(crate) fn certainty(self) -> u8 {
        match self {
            Provenance::Told => 0,
            Provenance::Unsure => 1,
            Provenance::Seen => 2,
        }
    }
}

/// How it is known that something was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum KnownAct {
    /// Whoever keeps the job did it, or saw it done.
    Seen,
    /// Somebody else says that it was done.
    Told,
}

/// The outcome of a start attempt, from best to worst.
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

    /// Id of the outcome, as in files.
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
