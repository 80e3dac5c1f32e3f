//! Conversion of values between page and engine.

use halfsplit::json::{ShapeError, ShapeRule};
use serde::Serialize;
use serde_json::Value;
use serde_wasm_bindgen::Serializer;
use tsify::{Ts, Tsify};
use wasm_bindgen::JsValue;

use crate::Trouble;

/// The form that a value of the engine has on the page: plain objects and lists, null where nothing is.
pub(crate) fn value(value: &impl Serialize) -> Result<JsValue, Trouble> {
    value.serialize(&Serializer::json_compatible()).map_err(Trouble::internal)
}

/// A value of the engine for the page, with its TypeScript type.
pub(crate) fn to_page<T: Tsify + Serialize>(value_of: &T) -> Result<Ts<T>, Trouble> {
    value(value_of).map(Ts::new_unchecked)
}

/// A value of the page, read as the same value in a file is read. It becomes a [`Value`] first:
/// `serde-wasm-bindgen` itself looks up the known fields of an object only, so an unknown one would pass, and an
/// error would have no path.
pub(crate) fn from_page<T: Tsify>(
    value: &Ts<T>,
    read: impl FnOnce(&Value) -> Result<T, ShapeError>,
) -> Result<T, Trouble> {
    let value = serde_wasm_bindgen::from_value(value.js_value()).map_err(no_json)?;
    Ok(read(&value)?)
}

/// The error for what JSON cannot hold: a function, a set, bytes.
fn no_json(error: serde_wasm_bindgen::Error) -> ShapeError {
    ShapeError { place: "the top".to_owned(), rule: ShapeRule::WrongKind { said: error.to_string() } }
}
