//! Conversion of values between page and engine.

use halfsplit::json::{ShapeError, ShapeRule};
use serde::Serialize;
use serde_json::Value;
use tsify::{Ts, Tsify};

use crate::Trouble;
use crate::trouble::to_js;

/// A value of the engine for the page, with its TypeScript type.
pub(crate) fn to_page<T: Tsify + Serialize>(value: &T) -> Result<Ts<T>, Trouble> {
    to_js(value).map(Ts::new_unchecked).map_err(Trouble::internal)
}

/// A value of the page, read by the same rules as the same value in a file. It becomes a [`Value`] first,
/// because `serde-wasm-bindgen` looks up only the known fields of an object. An unknown field would pass, and an
/// error would have no path.
pub(crate) fn from_page<T: Tsify>(
    value: &Ts<T>,
    read: impl FnOnce(&Value) -> Result<T, ShapeError>,
) -> Result<T, Trouble> {
    let value = serde_wasm_bindgen::from_value(value.js_value()).map_err(no_json)?;
    Ok(read(&value)?)
}

/// The error for a value that JSON cannot hold: a function, a set, bytes.
fn no_json(error: serde_wasm_bindgen::Error) -> ShapeError {
    ShapeError { place: "the top".to_owned(), rule: ShapeRule::WrongKind { said: error.to_string() } }
}
