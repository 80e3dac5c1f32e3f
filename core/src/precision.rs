//! The tolerances of this crate, in one place.

pub use halfsplit_bayes::precision::{EXACT, ROW_SUM};

/// Relative agreement asked of a rate calibrated against its authored average.
pub const CALIBRATION: f64 = 1e-12;

/// Steps that differ by less than this share of the best expected cost are equally good; their
/// order is then the order of the description, so that rounding cannot change the advice.
pub const TIE: f64 = 1e-9;
