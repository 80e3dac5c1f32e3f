//! Ranges that the circumstances of a job are held to.

/// Lowest and highest pressure of the air, as a share of that at the sea, that a job can ask for
/// (heights of about -500 m to 5,600 m).
pub(crate) const AIR_RANGE: [f64; 2] = [0.5, 1.1];

/// Lowest and highest temperature of something measured, in degrees Celsius, that a job can give.
pub(crate) const TEMPERATURE_RANGE: [f64; 2] = [-60.0, 200.0];
