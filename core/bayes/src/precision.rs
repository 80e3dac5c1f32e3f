//! The tolerances of this crate, in one place.

/// How far a row of an authored table may sum from 1: decimal fractions of a dozen entries written
/// to six places miss it by at most half a millionth each.
pub const ROW_SUM: f64 = 1e-6;

/// Agreement expected between two ways of computing the same probability exactly in double
/// precision: some thousand roundings of 1.1e-16 each, with room for their unlucky sum.
pub const EXACT: f64 = 1e-9;
