//! The machine descriptions that come with the crate, and their blocks.

use super::MachineError;
use super::family::Library;

macro_rules! blocks {
    ($($name:literal),* $(,)?) => {
        [$((concat!("blocks/", $name, ".json"), include_str!(concat!("../../machines/blocks/", $name, ".json")))),*]
    };
}

macro_rules! families {
    ($($id:literal),* $(,)?) => {
        [$(($id, include_str!(concat!("../../machines/", $id, ".json")))),*]
    };
}

const BLOCKS: [(&str, &str); 17] = blocks![
    "workshop",
    "account",
    "fuel",
    "carburettor",
    "float-bowl",
    "air",
    "magneto",
    "cylinder",
    "four-stroke",
    "recoil",
    "mower-deck",
    "low-oil-switch",
    "battery-start",
    "fuel-shutoff",
    "two-stroke",
    "winter",
    "generator",
];

/// Families by id.
pub(super) const SHIPPED: [(&str, &str); 5] =
    families!["mower-recoil", "riding-mower", "two-stroke-handheld", "generator-portable", "snow-thrower"];

/// File name of a family in errors.
pub(super) fn file_name(id: &str) -> String {
    format!("{id}.json")
}

pub(super) fn library() -> Result<Library, MachineError> {
    Library::from_texts(BLOCKS)
}
