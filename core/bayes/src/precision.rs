//! The tolerances of this crate.

/// Maximum deviation of a row's sum from 1 in a table. Rounding a dozen entries to six decimal places
/// deviates by at most half a millionth for each.
pub const ROW_SUM: f64 = 1e-6;

/// Maximum difference between two exact computations of the same probability: some thousand roundings of
/// 1.1e-16 each, with a wide margin.
pub const EXACT: f64 = 1e-9;
