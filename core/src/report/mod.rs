//! A job for others: the figures of a work sheet, and text to paste.

mod markup;
mod sheet;

pub use markup::{Block, Format, Text, paste};
pub use sheet::{Condition, Mend, Mending, Sheet, SheetLine, sheet};
