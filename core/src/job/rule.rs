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
    /// A machine has what is named.
    #[error("{}", said(.what, .id, .nearest.as_deref(), ""))]
    NoSuch {
        /// What was looked for.
        what: &'static str,
        /// The id that nothing has.
        id: String,
        /// The known one that may have been meant.
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
    /// A price is above nothing.
    #[error("{given} is not above 0")]
    NotAboveNothing {
        /// The price given.
        given: f64,
    },
    /// The air at a height is known between two heights.
    #[error("{given_m} m; heights from {lowest_m} to {highest_m} m are reckoned with")]
    Height {
        /// The height given, in metres.
        given_m: f64,
        /// In metres.
        lowest_m: f64,
        /// In metres.
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
    /// A temperature is for readings that follow it.
    #[error("this check does not follow temperature; leave it out")]
    NoTemperature,
    /// How a reading follows temperature is known between two temperatures.
    #[error("{celsius} degrees Celsius; {lowest} to {highest} are reckoned with")]
    Temperature {
        /// The temperature given, in degrees Celsius.
        celsius: f64,
        /// In degrees Celsius.
        lowest: f64,
        /// In degrees Celsius.
        highest: f64,
    },
    /// A reading is a number.
    #[error("a finite number is needed")]
    NotFinite,
    /// A reading has a unit of what is measured.
    #[error("{}", UnitError { given: *.given, wanted: *.wanted })]
    WrongUnit {
        /// The unit given.
        given: Unit,
        /// What is measured.
        wanted: Quantity,
    },
    /// A reading is on the scale of its gauge.
    #[error(
        "{given} {}{} is off the scale, which goes from {lowest} to {highest} {}",
        .given_unit.id(), converted(*.given_unit, *.own, *.unit), .unit.id()
    )]
    OffScale {
        /// The number given.
        given: f64,
        /// Its unit.
        given_unit: Unit,
        /// The same in the unit of the scale.
        own: f64,
        /// Unit of the scale.
        unit: Unit,
        /// Where the scale begins.
        lowest: f64,
        /// Where it ends.
        highest: f64,
    },
    /// What a reading went past is below the end of the scale.
    #[error("nothing on the scale lies over that")]
    NothingOver,
    /// The lower edge of a reading is the first.
    #[error("between needs the lower number first")]
    EdgesTurned,
    /// A reading is given in one way.
    #[error("give one of value, over and between")]
    OneWay,
    /// Exact inference on the findings of a job must not be too large.
    #[error(
        "they hang together in too many ways to be reckoned with exactly ({entries:.1e} table entries, the limit \
         is {limit:.0e}); a repair done again and again does that: keep its last time"
    )]
    Tangled {
        /// Entries of tables that would be needed.
        entries: f64,
        /// The most there may be.
        limit: f64,
    },
    /// What odds are multiplied by is above nothing.
    #[error("{given} is not a factor above 0")]
    Factor {
        /// The factor given.
        given: f64,
    },
    /// Trust is a share.
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
        /// How many there are.
        steps: usize,
    },
    /// An exercise needs a machine that does not start.
    #[error("this machine nearly always starts")]
    AlwaysStarts,
}

/// What was read, in the unit of the scale, where that is another one.
fn converted(given: Unit, own: f64, unit: Unit) -> String {
    if given == unit { String::new() } else { format!(" ({own} {})", unit.id()) }
}

impl From<NoSuchId> for JobRule {
    fn from(NoSuchId { what, id, nearest, .. }: NoSuchId) -> Self {
        JobRule::NoSuch { what, id, nearest }
    }
}
