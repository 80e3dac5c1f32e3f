//! From a measured value to a likelihood.
//!
//! [`Unit`] and [`Quantity`] keep numbers honest, [`Law`] says how likely a reading is in some
//! state of affairs, [`air`] holds the physics of pressure.

pub mod air;
mod law;
mod unit;

pub use law::{Law, LawError, Span};
pub use unit::{Quantity, Unit, UnitError};
