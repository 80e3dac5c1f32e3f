//! Every tolerance used in this crate, in one place.

/// How far a row of an authored table may sum from 1: decimal fractions of a dozen entries written
/// to six places miss it by at most half a millionth each.
pub const ROW_SUM: f64 = 1e-6;

/// Agreement expected between two ways of computing the same probability exactly in double
/// precision: some thousand roundings of 1.1e-16 each, with room for their unlucky sum.
pub const EXACT: f64 = 1e-9;

/// Relative agreement asked of a rate calibrated against its authored average.
pub const CALIBRATION: f64 = 1e-12;

/// Steps that differ by less than this share of the best expected cost are equally good; their
/// order is then the order of the description, so that rounding cannot change the advice.
pub const TIE: f64 = 1e-9;
