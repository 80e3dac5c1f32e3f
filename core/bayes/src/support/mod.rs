//! Small helpers that this crate shares with `halfsplit`. They are not part of the public interface.

pub mod order;
pub mod parallel;
pub mod suggest;
