//! The tolerances of this crate, in one place.

pub use halfsplit_bayes::precision::{EXACT, ROW_SUM};

/// Relative agreement required between a calibrated rate and its authored average.
pub const CALIBRATION: f64 = 1e-12;

/// Steps whose costs differ by less than this share of the best expected cost are equally good. The order of
/// the description decides between them, so that rounding cannot change the advice.
pub const TIE: f64 = 1e-9;
