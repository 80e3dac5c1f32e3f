//! Reports on a job for other people: a work sheet, and text to paste.

mod markup;
mod sheet;

pub use markup::{Block, Format, Text, paste};
pub use sheet::{OpenCondition, Sheet, SheetCondition, SheetLine, SheetRepair, sheet};
