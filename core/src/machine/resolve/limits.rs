//! Limits on the size of a description, and ranges of the circumstances of a job.

use crate::machine::MachineError;
use crate::machine::error::Result;

/// Lowest and highest air pressure that a job can have, as a share of the pressure at sea level (heights of
/// about -500 m to 5,600 m).
pub(crate) const AIR_RANGE: [f64; 2] = [0.5, 1.1];

/// Lowest and highest temperature of a measured object that a job can state, in degrees Celsius.
pub(crate) const TEMPERATURE_RANGE: [f64; 2] = [-60.0, 200.0];

/// Limit on the conditions of a machine: a set of causes has a bit for each.
pub(crate) const MAX_CONDITIONS: usize = 128;

/// Limit on the set-ups of a machine: the open set-up work has a bit for each.
pub(crate) const MAX_SETUPS: usize = 64;

/// Limit on the checks and bypasses of a machine together: a plan has a bit for each and one for the plain
/// attempt.
pub(crate) const MAX_OBSERVATIONS: usize = 127;

/// Refuses a list that is too long.
pub(super) fn at_most(place: &str, what: &str, count: usize, limit: usize) -> Result<()> {
    if count <= limit {
        return Ok(());
    }
    Err(MachineError::rule(place, format!("{count} {what}; at most {limit} fit")))
}
