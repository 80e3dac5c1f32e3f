//! From a measured value to a likelihood.
//!
//! [`Unit`] and [`Quantity`] keep units apart. [`Law`] is the distribution of a reading in some state of
//! the machine, and [`relative_likelihoods`] compares the states at a reading. [`air`] holds the physics of
//! pressure, and [`matter`] that of fuels, metals and sparks.

pub mod air;
mod law;
mod likelihood;
pub mod matter;
mod unit;
mod unit_names;

pub use law::{Law, LawError, LawShape, Span};
pub use likelihood::relative_likelihoods;
pub use unit::{Quantity, TemperatureUnit, Unit, UnitError};
