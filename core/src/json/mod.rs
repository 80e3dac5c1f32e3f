//! JSON in and out: reading with the place of a mistake, and writing.

mod read;
mod write;

pub(crate) use read::read;
#[cfg(feature = "shipped")]
pub(crate) use read::read_value;
pub use write::write;
