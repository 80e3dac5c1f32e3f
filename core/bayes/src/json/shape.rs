use std::fmt;

use serde::Serialize;
use thiserror::Error;

/// Where a text is not what it should be, and what it should be.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("at {place}: {rule}")]
pub struct ShapeError {
    /// Path into the text; line and column where it is no JSON at all.
    pub place: String,
    /// What the reader says.
    pub rule: ShapeRule,
}

/// What a text should be and is not, so that a program can say it in another language.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "is", rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[non_exhaustive]
pub enum ShapeRule {
    /// The text is no JSON.
    NotJson {
        /// Line, from 1.
        line: usize,
        /// Column, from 1; 0 where the text ends at once.
        column: usize,
        /// What the reader of JSON says.
        said: String,
    },
    /// A field that must be there is missing.
    MissingField {
        /// Its name.
        name: String,
    },
    /// There is no such field here.
    UnknownField {
        /// Its name.
        name: String,
        /// The fields there are.
        known: Vec<&'static str>,
    },
    /// There is no such choice here.
    UnknownName {
        /// The choice.
        name: String,
        /// The choices there are.
        known: Vec<&'static str>,
    },
    /// A value of another kind than what belongs here.
    WrongKind {
        /// What is there, and what belongs there.
        said: String,
    },
}

impl fmt::Display for ShapeRule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ShapeRule::NotJson { said, .. } => write!(f, "not valid JSON: {said}"),
            ShapeRule::MissingField { name } => write!(f, "missing field `{name}`"),
            ShapeRule::UnknownField { name, known } => {
                write!(f, "unknown field `{name}`, {}", expected(known))
            }
            ShapeRule::UnknownName { name, known } => {
                write!(f, "unknown variant `{name}`, {}", expected(known))
            }
            ShapeRule::WrongKind { said } => f.write_str(said),
        }
    }
}

fn expected(known: &[&str]) -> String {
    let quoted: Vec<String> = known.iter().map(|name| format!("`{name}`")).collect();
    match quoted.as_slice() {
        [] => "there are none".to_owned(),
        [one] => format!("expected {one}"),
        [one, other] => format!("expected {one} or {other}"),
        many => format!("expected one of {}", many.join(", ")),
    }
}
