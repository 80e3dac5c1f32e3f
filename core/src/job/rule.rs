use serde::Serialize;
use thiserror::Error;

use crate::reading::{Quantity, Unit, UnitError};
use halfsplit_bayes::support::suggest::{NoSuchId, said};

/// A rule that a value of a job breaks, with the numbers it is about, so that a program can say it in
/// another language.
#[derive(Debug, Clone, PartialEq, Error, Serialize)]
#[serde(tag = "is", rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[non_exhaustive]
pub enum JobRule {
    /// The machine has the thing that is named.
    #[error("{}", said(.what, .id, .nearest.as_deref(), ""))]
    NoSuch {
        /// The kind of thing.
        what: &'static str,
        /// The unknown id.
        id: String,
        /// The nearest known id, if one is near.
        nearest: Option<String>,
    },
    /// A job is about the machine that is described.
    #[error("the job is about \"{job}\", the description about \"{description}\"")]
    AnotherMachine {
        /// Id in the job.
        job: String,
        /// Id of the description.
        description: String,
    },
    /// A price is above 0.
    #[error("{given} is not above 0")]
    NotAboveNothing {
        /// The price given.
        given: f64,
    },
    /// A height lies within the supported range.
    #[error("{given_m} m; heights from {lowest_m} to {highest_m} m are supported")]
    Height {
        /// The height given, in metres.
        given_m: f64,
        /// Lowest height, in metres.
        lowest_m: f64,
        /// Highest height, in metres.
        highest_m: f64,
    },
    /// A check without a gauge takes a result.
    #[error("the check \"{check}\" gives no number; give a result")]
    NoNumber {
        /// Id of the check.
        check: String,
    },
    /// A check takes a result or a reading.
    #[error("the check \"{check}\" needs either a result or a reading")]
    ResultOrReading {
        /// Id of the check.
        check: String,
    },
    /// Only a reading that depends on temperature has a temperature.
    #[error("this check does not follow temperature; leave it out")]
    NoTemperature,
    /// A temperature lies within the supported range.
    #[error("{celsius} degrees Celsius; {lowest} to {highest} are supported")]
    Temperature {
        /// The temperature given, in degrees Celsius.
        celsius: f64,
        /// Lowest temperature, in degrees Celsius.
        lowest: f64,
        /// Highest temperature, in degrees Celsius.
        highest: f64,
    },
    /// A reading is a finite number.
    #[error("a finite number is needed")]
    NotFinite,
    /// The unit of a reading fits the quantity measured.
    #[error("{}", UnitError { given: *.given, wanted: *.wanted })]
    WrongUnit {
        /// The unit given.
        given: Unit,
        /// The quantity measured.
        wanted: Quantity,
    },
    /// A reading lies on the scale of its gauge.
    #[error(
        "{given} {}{} is off the scale, which goes from {lowest} to {highest} {}; read it again{}",
        .given_unit.id(), converted(*.given_unit, *.own, *.unit), .unit.id(), past_the_end(*.own, *.highest, *.unit)
    )]
    OffScale {
        /// The number given.
        given: f64,
        /// Its unit.
        given_unit: Unit,
        /// The number in the unit of the scale.
        own: f64,
        /// Unit of the scale.
        unit: Unit,
        /// Lower end of the scale.
        lowest: f64,
        /// Upper end of the scale.
        highest: f64,
    },
    /// A percentage lies below 100.
    #[error("nothing lies over that; read it again")]
    NothingOver,
    /// The lower edge of a reading comes first.
    #[error("between needs the lower number first")]
    EdgesTurned,
    /// A reading has exactly one form.
    #[error("give one of value, over and between")]
    OneWay,
    /// Exact inference on the findings of a job must not be too large.
    #[error(
        "the findings depend on each other in too many ways for an exact answer ({entries:.1e} table entries, the limit \
         is {limit:.0e}); if a repair was recorded several times, keep the last one"
    )]
    Tangled {
        /// Table entries needed.
        entries: f64,
        /// Limit on the table entries.
        limit: f64,
    },
    /// A factor on odds is above 0.
    #[error("{given} is not a factor above 0")]
    Factor {
        /// The factor given.
        given: f64,
    },
    /// A trust lies between 0 and 1.
    #[error("{given} is not between 0 and 1")]
    Share {
        /// The trust given.
        given: f64,
    },
    /// A machine has the condition that is asked about.
    #[error("the machine has no condition \"{part}/{condition}\"")]
    NoCondition {
        /// Id of the part.
        part: String,
        /// Id of the condition.
        condition: String,
    },
    /// A job has the step that is asked about.
    #[error("the job has {steps} steps")]
    NoStep {
        /// Number of steps of the job.
        steps: usize,
    },
    /// An exercise needs a machine that does not start.
    #[error("this machine nearly always starts")]
    AlwaysStarts,
}

/// The reading in the unit of the scale, in brackets; empty if it was given in that unit.
fn converted(given: Unit, own: f64, unit: Unit) -> String {
    if given == unit { String::new() } else { format!(" ({own} {})", unit.id()) }
}

/// How to give a reading that went past the end of the scale; empty for a number below the scale.
fn past_the_end(own: f64, highest: f64, unit: Unit) -> String {
    match own > highest {
        true => format!(", or record over {highest} {} if the gauge went past its end", unit.id()),
        false => String::new(),
    }
}

impl From<NoSuchId> for JobRule {
    fn from(NoSuchId { what, id, nearest, .. }: NoSuchId) -> Self {
        JobRule::NoSuch { what, id, nearest }
    }
}
