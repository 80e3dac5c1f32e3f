//! Sizes that a description is held to, and ranges that the circumstances of a job are held to.

use crate::machine::MachineError;
use crate::machine::error::Result;

/// Lowest and highest pressure of the air, as a share of that at the sea, that a job can ask for
/// (heights of about -500 m to 5,600 m).
pub(crate) const AIR_RANGE: [f64; 2] = [0.5, 1.1];

/// Lowest and highest temperature of something measured, in degrees Celsius, that a job can give.
pub(crate) const TEMPERATURE_RANGE: [f64; 2] = [-60.0, 200.0];

/// Conditions of a machine, at most: a set of causes has a bit for each.
pub(crate) const MAX_CONDITIONS: usize = 128;

/// Set-ups of a machine, at most: what is open has a bit for each.
pub(crate) const MAX_SETUPS: usize = 64;

/// Checks and bypasses of a machine together, at most: a plan has a bit for each and one for the plain attempt.
pub(crate) const MAX_OBSERVATIONS: usize = 127;

/// Refuses a list that is too long.
pub(super) fn at_most(place: &str, what: &str, count: usize, limit: usize) -> Result<()> {
    if count <= limit {
        return Ok(());
    }
    Err(MachineError::rule(place, format!("{count} {what}; at most {limit} fit")))
}
