//! Reading JSON: `serde_json` parses a text, and an error is told with its path.
//!
//! A text becomes a [`Value`] first and the wanted type second. The second step is the same for a file,
//! for a link and for a value that a program hands over, so an error names its place in all of them.

use std::fmt;

use serde::Serialize;
use serde::de::value::StrDeserializer;
use serde::de::{
    DeserializeOwned, DeserializeSeed, Deserializer, EnumAccess, Expected, MapAccess, SeqAccess, Unexpected,
    VariantAccess, Visitor,
};
use serde::forward_to_deserialize_any;
use serde_json::Value;
use thiserror::Error;

/// The place where a text or value breaks a rule, and the rule.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("at {place}: {rule}")]
pub struct ShapeError {
    /// Path to the value; line and column where the text is not JSON.
    pub place: String,
    /// The rule.
    pub rule: ShapeRule,
}

/// A rule about the shape of a value, as data: a program can say it in any language.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "is", rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[non_exhaustive]
pub enum ShapeRule {
    /// The text must be JSON.
    NotJson {
        /// Line, from 1.
        line: usize,
        /// Column, from 1; 0 where the text ends at once.
        column: usize,
        /// The message of the JSON parser, in English.
        said: String,
    },
    /// A required field must be there.
    MissingField {
        /// Its name.
        name: String,
    },
    /// A field must be one of those known here.
    UnknownField {
        /// Its name.
        name: String,
        /// The known fields.
        known: Vec<&'static str>,
    },
    /// A choice must be one of those known here.
    UnknownName {
        /// The choice.
        name: String,
        /// The known choices.
        known: Vec<&'static str>,
    },
    /// A value must be of the expected kind.
    WrongKind {
        /// The value and the expected kind, in English.
        said: String,
    },
}

/// Returns the value that a JSON text holds. A byte order mark before it is ignored (RFC 8259, section 8.1).
///
/// # Errors
/// [`ShapeError`] with the path of the first error (`steps[3].reading.unit`) or, where the text is not
/// JSON, with line and column.
pub fn read<T: DeserializeOwned>(text: &str) -> Result<T, ShapeError> {
    read_value(&parse(text)?)
}

/// Returns a JSON text as a [`Value`].
///
/// # Errors
/// [`ShapeRule::NotJson`].
pub fn parse(text: &str) -> Result<Value, ShapeError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    serde_json::from_str(text).map_err(|error| {
        let (line, column) = (error.line(), error.column());
        let said = without_position(&error);
        let place = format!("line {line}, column {column}");
        ShapeError { place, rule: ShapeRule::NotJson { line, column, said } }
    })
}

/// Returns the typed form of a JSON value.
///
/// # Errors
/// [`ShapeError`] with the path of the first error.
pub fn read_value<T: DeserializeOwned>(value: &Value) -> Result<T, ShapeError> {
    T::deserialize(Typed(value)).map_err(|broken| {
        let Failure { place, rule } = *broken.0;
        ShapeError { place: if place.is_empty() { "the top".to_owned() } else { place }, rule }
    })
}

/// The message of the parser without its own " at line 1 column 2".
fn without_position(error: &serde_json::Error) -> String {
    let text = error.to_string();
    text.rfind(" at line ").map_or(text.as_str(), |i| &text[..i]).to_owned()
}

/// A JSON value to deserialize from. It differs from `&Value` in its error: that of `serde_json` is a
/// sentence without a place, this one is a path and a [`ShapeRule`].
#[derive(Clone, Copy)]
struct Typed<'v>(&'v Value);

impl Typed<'_> {
    /// The error for a value of another kind than the visitor expects.
    fn unexpected(self, expected: &dyn Expected) -> Broken {
        serde::de::Error::invalid_type(kind(self.0), expected)
    }
}

fn kind(value: &Value) -> Unexpected<'_> {
    match value {
        Value::Null => Unexpected::Unit,
        Value::Bool(yes) => Unexpected::Bool(*yes),
        Value::Number(number) => number
            .as_u64()
            .map(Unexpected::Unsigned)
            .or_else(|| number.as_i64().map(Unexpected::Signed))
            .unwrap_or_else(|| Unexpected::Float(number.as_f64().unwrap_or(f64::NAN))),
        Value::String(text) => Unexpected::Str(text),
        Value::Array(_) => Unexpected::Seq,
        Value::Object(_) => Unexpected::Map,
    }
}

impl<'de> Deserializer<'de> for Typed<'de> {
    type Error = Broken;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Broken> {
        match self.0 {
            Value::Array(items) => {
                let mut rest = Items { items, next: 0 };
                let read = visitor.visit_seq(&mut rest)?;
                rest.end().map(|()| read)
            }
            Value::Object(object) => visitor.visit_map(Fields::of(object)),
            value => match kind(value) {
                Unexpected::Bool(yes) => visitor.visit_bool(yes),
                Unexpected::Unsigned(number) => visitor.visit_u64(number),
                Unexpected::Signed(number) => visitor.visit_i64(number),
                Unexpected::Float(number) => visitor.visit_f64(number),
                Unexpected::Str(_) => visitor.visit_borrowed_str(value.as_str().unwrap_or_default()),
                _ => visitor.visit_unit(),
            },
        }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Broken> {
        match self.0 {
            Value::Null => visitor.visit_none(),
            _ => visitor.visit_some(self),
        }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, Broken> {
        visitor.visit_newtype_struct(self)
    }

    /// An object only: a list without names is no record.
    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Broken> {
        match self.0 {
            Value::Object(object) => visitor.visit_map(Fields::of(object)),
            _ => Err(self.unexpected(&visitor)),
        }
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Broken> {
        match self.0 {
            Value::String(name) => visitor.visit_enum(Variant { name, content: None }),
            Value::Object(object) => match Fields::of(object).only() {
                Some((name, content)) => visitor.visit_enum(Variant { name, content: Some(content) }),
                None => Err(self.unexpected(&visitor)),
            },
            _ => Err(self.unexpected(&visitor)),
        }
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf unit
        unit_struct seq tuple tuple_struct map identifier ignored_any
    }
}

/// The fields of an object that are still to be read.
struct Fields<'v> {
    rest: serde_json::map::Iter<'v>,
    /// The field whose name was read last.
    current: Option<(&'v str, &'v Value)>,
}

impl<'v> Fields<'v> {
    fn of(object: &'v serde_json::Map<String, Value>) -> Self {
        Fields { rest: object.iter(), current: None }
    }

    /// The only field; none if there are more or fewer.
    fn only(mut self) -> Option<(&'v str, &'v Value)> {
        let (name, value) = self.rest.next()?;
        self.rest.next().is_none().then_some((name.as_str(), value))
    }
}

impl<'v> MapAccess<'v> for Fields<'v> {
    type Error = Broken;

    fn next_key_seed<K: DeserializeSeed<'v>>(&mut self, seed: K) -> Result<Option<K::Value>, Broken> {
        let Some((name, value)) = self.rest.next() else { return Ok(None) };
        self.current = Some((name, value));
        seed.deserialize(StrDeserializer::new(name)).map(Some).map_err(|broken: Broken| broken.in_field(name))
    }

    fn next_value_seed<V: DeserializeSeed<'v>>(&mut self, seed: V) -> Result<V::Value, Broken> {
        let (name, value) = self.current.expect("a name is read before its value");
        seed.deserialize(Typed(value)).map_err(|broken| broken.in_field(name))
    }
}

/// The items of a list that are still to be read.
struct Items<'v> {
    items: &'v [Value],
    next: usize,
}

impl Items<'_> {
    /// An error if items are left.
    fn end(&self) -> Result<(), Broken> {
        if self.next == self.items.len() {
            return Ok(());
        }
        let elements = if self.next == 1 { "element" } else { "elements" };
        let expected = format!("{} {elements} in sequence", self.next);
        Err(serde::de::Error::invalid_length(self.items.len(), &expected.as_str()))
    }
}

impl<'v> SeqAccess<'v> for &mut Items<'v> {
    type Error = Broken;

    fn next_element_seed<T: DeserializeSeed<'v>>(&mut self, seed: T) -> Result<Option<T::Value>, Broken> {
        let Some(item) = self.items.get(self.next) else { return Ok(None) };
        let place = self.next;
        self.next += 1;
        seed.deserialize(Typed(item)).map(Some).map_err(|broken| broken.in_item(place))
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.items.len() - self.next)
    }
}

/// A choice by its name, with what belongs to it.
struct Variant<'v> {
    name: &'v str,
    content: Option<&'v Value>,
}

impl<'v> Variant<'v> {
    /// What belongs to the choice.
    fn content<T>(
        self,
        expected: &'static str,
        read: impl FnOnce(Typed<'v>) -> Result<T, Broken>,
    ) -> Result<T, Broken> {
        match self.content {
            Some(content) => read(Typed(content)).map_err(|broken| broken.in_field(self.name)),
            None => Err(serde::de::Error::invalid_type(Unexpected::UnitVariant, &expected)),
        }
    }
}

impl<'v> EnumAccess<'v> for Variant<'v> {
    type Error = Broken;
    type Variant = Self;

    fn variant_seed<V: DeserializeSeed<'v>>(self, seed: V) -> Result<(V::Value, Self), Broken> {
        Ok((seed.deserialize(StrDeserializer::new(self.name))?, self))
    }
}

impl<'v> VariantAccess<'v> for Variant<'v> {
    type Error = Broken;

    fn unit_variant(self) -> Result<(), Broken> {
        match self.content {
            Some(_) => self.content("unit variant", serde::Deserialize::deserialize),
            None => Ok(()),
        }
    }

    fn newtype_variant_seed<T: DeserializeSeed<'v>>(self, seed: T) -> Result<T::Value, Broken> {
        self.content("newtype variant", |content| seed.deserialize(content))
    }

    fn tuple_variant<V: Visitor<'v>>(self, len: usize, visitor: V) -> Result<V::Value, Broken> {
        self.content("tuple variant", |content| content.deserialize_tuple(len, visitor))
    }

    fn struct_variant<V: Visitor<'v>>(
        self,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Broken> {
        self.content("struct variant", |content| content.deserialize_map(visitor))
    }
}

/// The error of [`Typed`]. It is boxed because every step of every reader hands it on: that makes the readers smaller.
#[derive(Debug)]
struct Broken(Box<Failure>);

/// A broken rule, with the path to its place from where the error was last handed on.
#[derive(Debug)]
struct Failure {
    place: String,
    rule: ShapeRule,
}

impl Broken {
    #[cold]
    fn new(rule: ShapeRule) -> Self {
        Broken(Box::new(Failure { place: String::new(), rule }))
    }

    /// The error as seen from the object that has this field.
    #[cold]
    #[inline(never)]
    fn in_field(mut self, name: &str) -> Self {
        let dot = if self.0.place.is_empty() || self.0.place.starts_with('[') { "" } else { "." };
        self.0.place.insert_str(0, dot);
        self.0.place.insert_str(0, name);
        self
    }

    /// The error as seen from the list that has this item.
    #[cold]
    #[inline(never)]
    fn in_item(mut self, place: usize) -> Self {
        let dot = if self.0.place.is_empty() || self.0.place.starts_with('[') { "" } else { "." };
        self.0.place.insert_str(0, &format!("[{place}]{dot}"));
        self
    }
}

impl serde::de::Error for Broken {
    fn custom<T: fmt::Display>(said: T) -> Self {
        Broken::new(ShapeRule::WrongKind { said: said.to_string() })
    }

    fn missing_field(name: &'static str) -> Self {
        Broken::new(ShapeRule::MissingField { name: name.to_owned() })
    }

    fn unknown_field(name: &str, known: &'static [&'static str]) -> Self {
        Broken::new(ShapeRule::UnknownField { name: name.to_owned(), known: known.to_vec() })
    }

    fn unknown_variant(name: &str, known: &'static [&'static str]) -> Self {
        Broken::new(ShapeRule::UnknownName { name: name.to_owned(), known: known.to_vec() })
    }

    fn invalid_type(unexpected: Unexpected, expected: &dyn Expected) -> Self {
        match unexpected {
            // In the words of JSON.
            Unexpected::Unit => Self::custom(format_args!("invalid type: null, expected {expected}")),
            other => Self::custom(format_args!("invalid type: {other}, expected {expected}")),
        }
    }
}

impl std::error::Error for Broken {}

impl fmt::Display for Broken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.rule.fmt(f)
    }
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

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use serde::Deserialize;

    use super::*;

    #[derive(Debug, PartialEq, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Crate {
        size: [f64; 2],
        #[serde(default)]
        lid: Option<bool>,
        #[serde(default)]
        things: Vec<Thing>,
    }

    #[derive(Debug, PartialEq, Deserialize)]
    #[serde(rename_all = "kebab-case")]
    enum Thing {
        Nail,
        Rope(u8),
        Board { long: f64 },
    }

    fn told(text: &str) -> (String, String) {
        let ShapeError { place, rule } = read::<Crate>(text).expect_err("an error");
        (place, rule.to_string())
    }

    #[test]
    fn what_is_right_is_read() {
        let text =
            r#"{"size": [1, 2.5], "lid": null, "things": ["nail", {"rope": 3}, {"board": {"long": -1}}]}"#;
        let things = vec![Thing::Nail, Thing::Rope(3), Thing::Board { long: -1.0 }];
        let right = Crate { size: [1.0, 2.5], lid: None, things };
        assert_eq!(read(text).as_ref(), Ok(&right));
        assert_eq!(read(&format!("\u{feff}{text}")), Ok(right), "with a byte order mark");
    }

    #[test]
    fn an_error_has_its_path() {
        let at = |place: &str, rule: &str| (place.to_owned(), rule.to_owned());
        assert_eq!(
            told("{\"size\": [1, 2"),
            at("line 1, column 14", "not valid JSON: EOF while parsing a list")
        );
        assert_eq!(told("7"), at("the top", "invalid type: integer `7`, expected struct Crate"));
        assert_eq!(told("[[1, 2]]"), at("the top", "invalid type: sequence, expected struct Crate"));
        assert_eq!(told("{}"), at("the top", "missing field `size`"));
        assert_eq!(told(r#"{"size": [1]}"#), at("size", "invalid length 1, expected an array of length 2"));
        assert_eq!(
            told(r#"{"size": [1, 2, 3]}"#),
            at("size", "invalid length 3, expected 2 elements in sequence")
        );
        assert_eq!(told(r#"{"size": [1, "x"]}"#), at("size[1]", "invalid type: string \"x\", expected f64"));
        assert_eq!(
            told(r#"{"size": [1, 2], "things": [{"board": {"long": null}}]}"#),
            at("things[0].board.long", "invalid type: null, expected f64")
        );
        assert_eq!(
            told(r#"{"size": [1, 2], "things": ["nial"]}"#),
            at("things[0]", "unknown variant `nial`, expected one of `nail`, `rope`, `board`")
        );
        assert_eq!(
            told(r#"{"size": [1, 2], "things": [{"nail": null, "rope": 1}]}"#),
            at("things[0]", "invalid type: map, expected enum Thing")
        );
        assert_eq!(
            told(r#"{"size": [1, 2], "lif": true}"#),
            at("lif", "unknown field `lif`, expected one of `size`, `lid`, `things`")
        );
    }

    proptest! {
        #[test]
        fn a_number_comes_back_to_the_last_bit(number in any::<f64>()) {
            prop_assume!(number.is_finite());
            let text = serde_json::to_string(&number).expect("a number");
            prop_assert_eq!(read::<f64>(&text).map(f64::to_bits), Ok(number.to_bits()));
        }
    }
}
