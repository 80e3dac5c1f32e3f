//! JSON in and out: reading with the place of a mistake, and writing.

mod read;
mod shape;
mod write;

pub use read::{read, read_value};
pub use shape::{ShapeError, ShapeRule};
pub use write::write;
