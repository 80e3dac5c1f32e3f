//! Values between page and engine, as JSON.

use halfsplit::job::JobError;
use halfsplit::json;
use js_sys::JSON;
use serde::Serialize;
use tsify::{Ts, Tsify};
use wasm_bindgen::JsValue;

use crate::Trouble;

/// A value of the engine as the page sees it.
pub(crate) fn value(value: &impl Serialize) -> Result<JsValue, Trouble> {
    parsed(&json::write(value))
}

fn parsed(text: &str) -> Result<JsValue, Trouble> {
    JSON::parse(text).map_err(|_| Trouble::internal("the answer is no JSON"))
}

pub(crate) fn to_page<T: Tsify + Serialize>(value_of: &T) -> Result<Ts<T>, Trouble> {
    value(value_of).map(Ts::new_unchecked)
}

/// A value of the page, read by the same reader as a file.
pub(crate) fn from_page<T: Tsify>(
    value: &Ts<T>,
    read: impl FnOnce(&str) -> Result<T, JobError>,
) -> Result<T, Trouble> {
    let text = JSON::stringify(&value.js_value()).map(String::from).unwrap_or_default();
    Ok(read(&text)?)
}
