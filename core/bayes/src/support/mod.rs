//! Helpers shared with crate `halfsplit`. They are not part of the public interface and may change in any
//! release.

pub mod order;
pub mod parallel;
pub mod suggest;
