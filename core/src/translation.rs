//! A machine description with its words in another language.
//!
//! Descriptions are authored in English. A file of words for one machine and one language has the shape
//! of the description, but for this: lists of things with ids are objects by id, and nothing is there but
//! words. What it leaves out stays English.
//!
//! ```
//! use halfsplit::translation::translate;
//!
//! let english = r#"{"name": "Mower", "checks": [{"id": "look", "name": "Look", "minutes": 2.0}]}"#;
//! let german = r#"{"checks": {"look": {"name": "Hinsehen"}}}"#;
//! let both = translate(english, german)?;
//! assert_eq!(both, r#"{"checks":[{"id":"look","minutes":2.0,"name":"Hinsehen"}],"name":"Mower"}"#);
//! # Ok::<(), halfsplit::translation::TranslationError>(())
//! ```

use serde_json::Value;
use thiserror::Error;

use crate::link::WORDS;
use crate::suggest::hint;

/// What is wrong with a file of words, and where.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum TranslationError {
    /// Not JSON.
    #[error("at {place}: {rule}")]
    Shape {
        /// Line and column.
        place: String,
        /// What the reader says.
        rule: String,
    },
    /// Something that the description does not have.
    #[error("at {place}: the description has no \"{id}\" there{hint}")]
    Unknown {
        /// Path into the file of words.
        place: String,
        /// The field or id.
        id: String,
        /// Suggestion, or empty.
        hint: String,
    },
    /// Something that is no word for people.
    #[error("at {place}: only words can be given here, as text, in place of words")]
    NoWords {
        /// Path into the file of words.
        place: String,
    },
}

/// The description with these words, as text.
///
/// # Errors
/// [`TranslationError`] with the place of the first mistake.
pub fn translate(description: &str, words: &str) -> Result<String, TranslationError> {
    let mut description = read(description)?;
    merge("", &mut description, &read(words)?)?;
    Ok(description.to_string())
}

fn read(text: &str) -> Result<Value, TranslationError> {
    crate::json::read(text).map_err(|e| TranslationError::Shape { place: e.place, rule: e.rule })
}

fn merge(place: &str, into: &mut Value, words: &Value) -> Result<(), TranslationError> {
    let no_words = || TranslationError::NoWords { place: place.to_owned() };
    let words = words.as_object().ok_or_else(no_words)?;
    for (key, word) in words {
        let place = if place.is_empty() { key.clone() } else { format!("{place}.{key}") };
        let known: Vec<String> = match into {
            Value::Object(fields) => fields.keys().cloned().collect(),
            Value::Array(items) => items.iter().filter_map(id).map(str::to_owned).collect(),
            _ => Vec::new(),
        };
        let found = match into {
            Value::Object(fields) => fields.get_mut(key),
            Value::Array(items) => items.iter_mut().find(|item| id(item) == Some(key)),
            _ => None,
        };
        let Some(found) = found else {
            let hint = hint(key, known.iter().map(String::as_str));
            return Err(TranslationError::Unknown { place, id: key.clone(), hint });
        };
        match (found, word) {
            (Value::String(old), Value::String(new)) if WORDS.contains(&key.as_str()) => old.clone_from(new),
            (old @ (Value::Object(_) | Value::Array(_)), Value::Object(_)) => merge(&place, old, word)?,
            _ => return Err(TranslationError::NoWords { place }),
        }
    }
    Ok(())
}

fn id(item: &Value) -> Option<&str> {
    item.get("id")?.as_str()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lesson::mower_text;

    fn told(words: &str) -> String {
        translate(&mower_text(), words).expect_err("refused").to_string()
    }

    #[test]
    fn words_change_and_figures_do_not() {
        let words = r#"{"name": "M\u00e4her", "checks": {"filter-look": {"results": {"dirty": {"name": "schmutzig"}}}}}"#;
        let german = translate(&mower_text(), words).expect("known ids");
        assert!(german.contains("\"M\u{e4}her\"") && german.contains("\"schmutzig\""));
        let machine = crate::machine::Machine::from_json(&german).expect("still a machine");
        assert_eq!(machine.summary().name, "M\u{e4}her");
        assert_eq!(crate::link::fingerprint(&german), crate::link::fingerprint(&mower_text()));
    }

    #[test]
    fn the_words_that_come_with_the_page_fit_their_machines() {
        let words = include_str!("../../web/words/de/mower-recoil.json");
        let german = translate(&mower_text(), words).expect("known ids");
        let machine = crate::machine::Machine::from_json(&german).expect("still a machine");
        assert_eq!(machine.file().subsystems[0].name, "Kraftstoff");
    }

    #[test]
    fn mistakes_are_told_with_their_place() {
        assert_eq!(
            told(r#"{"checks": {"filter-lok": {"name": "x"}}}"#),
            "at checks.filter-lok: the description has no \"filter-lok\" there; did you mean \"filter-look\"?"
        );
        let only = "only words can be given here, as text, in place of words";
        assert_eq!(
            told(r#"{"checks": {"filter-look": {"minutes": 3}}}"#),
            format!("at checks.filter-look.minutes: {only}")
        );
        assert_eq!(told(r#"{"schema": "x"}"#), format!("at schema: {only}"));
        assert_eq!(told(r#"{"name": 7}"#), format!("at name: {only}"));
        assert!(told("{").starts_with("at line 1, column 1: not valid JSON"));
    }
}
