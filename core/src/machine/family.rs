//! Machines composed of blocks.
//!
//! The things that several machines have in common are written once, in a [`BlockFile`]: a magneto ignition,
//! a float carburettor, the owner's account. A [`FamilyFile`] names the blocks of a kind of machine and
//! states the differences: facts that are fixed, items that are left out, changed or added, and the shift of
//! the rates. [`Library::compose`] makes a plain [`MachineFile`] of it.
//!
//! A block may refer to a part, context or check that some machines lack. On such a machine every reference
//! to it is removed: a row that depends on it, a raise, a cure, an entry in the list that a bypass lifts. A
//! check without rows is removed, and so is a repair that cures nothing. An id that no file of the library
//! declares is an error.

use serde_json::Value;

use super::MachineError;
use super::compose::{self, Origins};
pub use super::family_file::{
    BLOCK_SCHEMA, BlockFile, FAMILY_SCHEMA, FamilyFile, Omissions, Pieces, RateShift,
};
use super::file::MachineFile;
use crate::json::{self, ShapeError};

/// The blocks that families can name.
#[derive(Debug, Clone, Default)]
pub struct Library {
    blocks: Vec<(String, BlockFile)>,
}

impl Library {
    /// Makes a library from pairs of file name and text.
    ///
    /// # Errors
    /// [`MachineError`] with the name of the file and the place in it.
    pub fn from_texts<'a>(texts: impl IntoIterator<Item = (&'a str, &'a str)>) -> Result<Self, MachineError> {
        let mut blocks: Vec<(String, BlockFile)> = Vec::new();
        for (name, text) in texts {
            let block: BlockFile = json::read(text).map_err(|e| in_file(name, e))?;
            if block.schema != BLOCK_SCHEMA {
                return Err(MachineError::Schema { wanted: BLOCK_SCHEMA.into(), found: block.schema });
            }
            if blocks.iter().any(|(_, b)| b.id == block.id) {
                return Err(MachineError::Duplicate { place: format!("{name}: id"), id: block.id });
            }
            blocks.push((name.to_owned(), block));
        }
        Ok(Library { blocks })
    }

    /// Composes the description of a family, from the name of its file and its text.
    ///
    /// # Errors
    /// [`MachineError`] with the name of the file and the place in it. Errors that show only in the whole
    /// machine come from [`Machine::new`](super::Machine::new), which does not know the files.
    pub fn compose(&self, name: &str, text: &str) -> Result<MachineFile, MachineError> {
        let family = json::parse(text).map_err(|e| in_file(name, e))?;
        self.compose_with_origins(name, &family).map(|(file, _)| file)
    }

    pub(super) fn compose_with_origins(
        &self,
        name: &str,
        family: &Value,
    ) -> Result<(MachineFile, Origins), MachineError> {
        let family: FamilyFile = json::read_value(family).map_err(|e| in_file(name, e))?;
        compose::compose(&self.blocks, name, family)
    }
}

/// An error in the shape of a file, with the name of the file before its place.
fn in_file(name: &str, error: ShapeError) -> MachineError {
    ShapeError { place: format!("{name}: {}", error.place), ..error }.into()
}
