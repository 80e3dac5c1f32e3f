//! From a measured value to a likelihood.
//!
//! [`Unit`] and [`Quantity`] keep numbers honest, [`Law`] says how likely a reading is in some
//! state of affairs, [`air`] holds the physics of pressure and [`matter`] that of fuels, metals and
//! sparks.

pub mod air;
mod law;
pub mod matter;
mod unit;

pub use law::{Law, LawError, LawShape, Span};
pub use unit::{Quantity, TemperatureUnit, Unit, UnitError};
