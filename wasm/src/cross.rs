//! Values between page and engine.

use halfsplit::json::ShapeError;
use serde::Serialize;
use serde_json::Value;
use serde_wasm_bindgen::Serializer;
use tsify::{Ts, Tsify};
use wasm_bindgen::JsValue;

use crate::Trouble;

/// A value of the engine as the page sees it: plain objects and lists, null for what is not there.
pub(crate) fn value(value: &impl Serialize) -> Result<JsValue, Trouble> {
    value.serialize(&Serializer::json_compatible()).map_err(Trouble::ours)
}

pub(crate) fn to_page<T: Tsify + Serialize>(value_of: &T) -> Result<Ts<T>, Trouble> {
    value(value_of).map(Ts::new_unchecked)
}

/// A value of the page, read by the same reader as a file. By way of a [`Value`], because what reads an object of
/// the page into a struct looks up its fields alone: an unknown one would pass, and an error would have no path.
pub(crate) fn from_page<T: Tsify>(
    value: &Ts<T>,
    read: impl FnOnce(&Value) -> Result<T, ShapeError>,
) -> Result<T, Trouble> {
    let value: Value = serde_wasm_bindgen::from_value(value.js_value()).map_err(Trouble::ours)?;
    Ok(read(&value)?)
}
