//! Reading JSON with the place of a mistake.

use serde::de::DeserializeOwned;

/// Where a text is not what it should be, and what it should be.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct JsonTrouble {
    pub(crate) place: String,
    pub(crate) rule: String,
}

/// Reads a value; a mistake comes back with its path (`steps[3].reading`) or, where the text is no
/// JSON at all, with line and column.
pub(crate) fn read<T: DeserializeOwned>(text: &str) -> Result<T, JsonTrouble> {
    let mut reader = serde_json::Deserializer::from_str(text);
    let value = serde_path_to_error::deserialize(&mut reader).map_err(|e| {
        let path = e.path().to_string();
        let cause = e.into_inner();
        if cause.is_syntax() || cause.is_eof() {
            return syntax(&cause);
        }
        let place = if path == "." { "the top".to_owned() } else { path };
        JsonTrouble { place, rule: without_position(&cause) }
    })?;
    reader.end().map_err(|e| syntax(&e))?;
    Ok(value)
}

fn syntax(error: &serde_json::Error) -> JsonTrouble {
    JsonTrouble {
        place: format!("line {}, column {}", error.line(), error.column()),
        rule: format!("not valid JSON: {}", without_position(error)),
    }
}

/// The message without serde's own " at line 1 column 2", which the place already tells.
fn without_position(error: &serde_json::Error) -> String {
    let text = error.to_string();
    text.rfind(" at line ").map_or(text.as_str(), |i| &text[..i]).to_owned()
}
