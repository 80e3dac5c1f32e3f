//! From a measured value to a likelihood.
//!
//! [`Unit`] and [`Quantity`] keep units apart. [`Law`] gives the likelihood of a reading in some state of the
//! machine. [`air`] holds the physics of pressure, and [`matter`] that of fuels, metals and sparks.

pub mod air;
mod law;
pub mod matter;
mod unit;

pub use law::{Law, LawError, LawShape, Span};
pub use unit::{Quantity, TemperatureUnit, Unit, UnitError};
