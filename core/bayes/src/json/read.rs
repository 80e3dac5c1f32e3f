//! Reading JSON with the place of a mistake.
//!
//! A text is first read as JSON of any shape, then handed out to the type that is wanted. Only the
//! second stage knows the type, and there every step into a field or a list notes where it went, so that
//! a mistake comes back with its path. (The usual wrapper for this, around a reader of text, makes
//! several copies of each type's reader; in the page's engine those outweighed all of the inference.)

use std::fmt;

use serde::de::value::StrDeserializer;
use serde::de::{
    DeserializeOwned, DeserializeSeed, Deserializer, EnumAccess, Error as _, IntoDeserializer, MapAccess,
    SeqAccess, Unexpected, VariantAccess, Visitor,
};
use serde::forward_to_deserialize_any;
use serde_json::{Map, Value};

use super::shape::{ShapeError, ShapeRule};

/// Reads a value; a mistake comes back with its path (`steps[3].reading`) or, where the text is no
/// JSON at all, with line and column.
pub fn read<T: DeserializeOwned>(text: &str) -> Result<T, ShapeError> {
    let value: Value = serde_json::from_str(text).map_err(|e| syntax(&e))?;
    read_value(&value)
}

/// The same for what is JSON already.
pub fn read_value<T: DeserializeOwned>(value: &Value) -> Result<T, ShapeError> {
    T::deserialize(Node(value)).map_err(|Mistake { path, rule, .. }| {
        let place = if path.is_empty() { "the top".to_owned() } else { path };
        ShapeError { place, rule }
    })
}

fn syntax(error: &serde_json::Error) -> ShapeError {
    let (line, column) = (error.line(), error.column());
    ShapeError {
        place: format!("line {line}, column {column}"),
        rule: ShapeRule::NotJson { line, column, said: without_position(error) },
    }
}

/// The message without serde's own " at line 1 column 2", which the place already tells.
fn without_position(error: &serde_json::Error) -> String {
    let text = error.to_string();
    text.rfind(" at line ").map_or(text.as_str(), |i| &text[..i]).to_owned()
}

/// A mistake on its way out, its path growing from the end.
#[derive(Debug)]
struct Mistake {
    path: String,
    rule: ShapeRule,
    /// A list has fewer items than it should.
    short: bool,
}

impl Mistake {
    #[cold]
    #[inline(never)]
    fn new(rule: ShapeRule) -> Self {
        Mistake { path: String::new(), rule, short: false }
    }

    /// The same mistake, seen from one field further out.
    #[cold]
    #[inline(never)]
    fn within_field(mut self, name: &str) -> Self {
        let joint = if self.path.is_empty() || self.path.starts_with('[') { "" } else { "." };
        self.path = format!("{name}{joint}{}", self.path);
        self.short = false;
        self
    }

    /// The same mistake, seen from the list around it.
    #[cold]
    #[inline(never)]
    fn within_list(mut self, at: usize) -> Self {
        let joint = if self.path.is_empty() || self.path.starts_with('[') { "" } else { "." };
        self.path = format!("[{at}]{joint}{}", self.path);
        self.short = false;
        self
    }
}

impl fmt::Display for Mistake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.rule.fmt(f)
    }
}

impl std::error::Error for Mistake {}

impl serde::de::Error for Mistake {
    fn custom<T: fmt::Display>(rule: T) -> Self {
        Mistake::new(ShapeRule::WrongKind { said: rule.to_string() })
    }

    fn missing_field(name: &'static str) -> Self {
        Mistake::new(ShapeRule::MissingField { name: name.to_owned() })
    }

    fn unknown_field(name: &str, known: &'static [&'static str]) -> Self {
        Mistake::new(ShapeRule::UnknownField { name: name.to_owned(), known: known.to_vec() })
    }

    fn unknown_variant(name: &str, known: &'static [&'static str]) -> Self {
        Mistake::new(ShapeRule::UnknownName { name: name.to_owned(), known: known.to_vec() })
    }

    fn invalid_length(length: usize, expected: &dyn serde::de::Expected) -> Self {
        let rule = format_args!("invalid length {length}, expected {expected}");
        Mistake { short: true, ..Self::custom(rule) }
    }

    fn invalid_type(unexpected: Unexpected, expected: &dyn serde::de::Expected) -> Self {
        match unexpected {
            // In the words of JSON.
            Unexpected::Unit => Self::custom(format_args!("invalid type: null, expected {expected}")),
            other => Self::custom(format_args!("invalid type: {other}, expected {expected}")),
        }
    }
}

/// A value that is handed out.
struct Node<'v>(&'v Value);

impl<'de> Node<'de> {
    fn number<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mistake> {
        let Value::Number(number) = self.0 else { return Err(self.wrong(&visitor)) };
        match (number.as_u64(), number.as_i64(), number.as_f64()) {
            (Some(whole), _, _) => visitor.visit_u64(whole),
            (None, Some(whole), _) => visitor.visit_i64(whole),
            (None, None, Some(fraction)) => visitor.visit_f64(fraction),
            (None, None, None) => Err(Mistake::custom("a number beyond all bounds")),
        }
    }

    /// That it is of another shape than what was expected.
    #[cold]
    #[inline(never)]
    fn wrong(&self, expected: &dyn serde::de::Expected) -> Mistake {
        let unexpected = match self.0 {
            Value::Null => Unexpected::Unit,
            Value::Bool(yes) => Unexpected::Bool(*yes),
            Value::Number(number) => match (number.as_u64(), number.as_i64()) {
                (Some(whole), _) => Unexpected::Unsigned(whole),
                (None, Some(whole)) => Unexpected::Signed(whole),
                (None, None) => Unexpected::Float(number.as_f64().unwrap_or(f64::NAN)),
            },
            Value::String(text) => Unexpected::Str(text),
            Value::Array(_) => Unexpected::Seq,
            Value::Object(_) => Unexpected::Map,
        };
        Mistake::invalid_type(unexpected, expected)
    }
}

macro_rules! number_of {
    ($($method:ident)*) => {$(
        fn $method<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mistake> {
            self.number(visitor)
        }
    )*};
}

impl<'de> Deserializer<'de> for Node<'de> {
    type Error = Mistake;

    /// For what takes any shape. What takes one shape is only ever shown that one below: a reader of
    /// every shape for every type would be the greater part of the page's engine.
    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mistake> {
        match self.0 {
            Value::Null => visitor.visit_unit(),
            Value::Bool(yes) => visitor.visit_bool(*yes),
            Value::Number(_) => self.number(visitor),
            Value::String(text) => visitor.visit_borrowed_str(text),
            Value::Array(items) => visitor.visit_seq(Items { items, at: 0 }),
            Value::Object(fields) => visitor.visit_map(Fields { fields: fields.iter(), present: None }),
        }
    }

    fn deserialize_bool<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mistake> {
        match self.0 {
            Value::Bool(yes) => visitor.visit_bool(*yes),
            _ => Err(self.wrong(&visitor)),
        }
    }

    fn deserialize_str<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mistake> {
        match self.0 {
            Value::String(text) => visitor.visit_borrowed_str(text),
            _ => Err(self.wrong(&visitor)),
        }
    }

    fn deserialize_string<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mistake> {
        self.deserialize_str(visitor)
    }

    fn deserialize_identifier<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mistake> {
        self.deserialize_str(visitor)
    }

    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mistake> {
        match self.0 {
            Value::Array(items) => visitor.visit_seq(Items { items, at: 0 }),
            _ => Err(self.wrong(&visitor)),
        }
    }

    fn deserialize_tuple<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, Mistake> {
        self.deserialize_seq(visitor)
    }

    fn deserialize_map<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mistake> {
        match self.0 {
            Value::Object(fields) => visitor.visit_map(Fields { fields: fields.iter(), present: None }),
            _ => Err(self.wrong(&visitor)),
        }
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        names: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Mistake> {
        let mut record = Record::new(self, names, &visitor)?;
        visitor.visit_seq(&mut record).map_err(|e| record.told(e))
    }

    fn deserialize_ignored_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mistake> {
        visitor.visit_unit()
    }

    number_of! {
        deserialize_i8 deserialize_i16 deserialize_i32 deserialize_i64 deserialize_u8 deserialize_u16
        deserialize_u32 deserialize_u64 deserialize_f32 deserialize_f64
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mistake> {
        match self.0 {
            Value::Null => visitor.visit_none(),
            _ => visitor.visit_some(self),
        }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, Mistake> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Mistake> {
        match self.0 {
            Value::String(name) => visitor.visit_enum(name.as_str().into_deserializer()),
            Value::Object(fields) => visitor.visit_enum(Choice(fields)),
            _ => Err(self.wrong(&visitor)),
        }
    }

    forward_to_deserialize_any! { i128 u128 char bytes byte_buf unit unit_struct tuple_struct }
}

/// The items of a list.
struct Items<'v> {
    items: &'v [Value],
    at: usize,
}

impl<'de> SeqAccess<'de> for Items<'de> {
    type Error = Mistake;

    #[inline(never)]
    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, Mistake> {
        let Some(item) = self.items.get(self.at) else { return Ok(None) };
        self.at += 1;
        seed.deserialize(Node(item)).map(Some).map_err(|e| e.within_list(self.at - 1))
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.items.len() - self.at)
    }
}

/// The fields of an object in the order of the type that is wanted: a list with gaps. (A reader of names
/// keeps every field apart until the last is there, and is several times as large.)
struct Record<'v> {
    fields: &'v Map<String, Value>,
    names: &'static [&'static str],
    at: usize,
}

impl<'v> Record<'v> {
    #[inline(never)]
    fn new(
        node: Node<'v>,
        names: &'static [&'static str],
        expected: &dyn serde::de::Expected,
    ) -> Result<Self, Mistake> {
        let Value::Object(fields) = node.0 else { return Err(node.wrong(expected)) };
        match fields.keys().find(|name| !names.contains(&name.as_str())) {
            Some(name) => Err(Mistake::unknown_field(name, names).within_field(name)),
            None => Ok(Record { fields, names, at: 0 }),
        }
    }

    #[inline(never)]
    fn next(&mut self) -> Option<Node<'v>> {
        let name = self.names.get(self.at)?;
        self.at += 1;
        self.fields.get(*name).map(Node)
    }

    #[cold]
    #[inline(never)]
    fn within(&self, mistake: Mistake) -> Mistake {
        mistake.within_field(self.names.get(self.at.wrapping_sub(1)).unwrap_or(&""))
    }

    /// A list that is too short lacks the field that was asked for last.
    #[cold]
    #[inline(never)]
    fn told(&self, mistake: Mistake) -> Mistake {
        match self.names.get(self.at.wrapping_sub(1)) {
            Some(name) if mistake.short => Mistake::missing_field(name),
            _ => mistake,
        }
    }
}

impl<'de> SeqAccess<'de> for &mut Record<'de> {
    type Error = Mistake;

    #[inline(never)]
    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, Mistake> {
        let Some(node) = self.next() else { return Ok(None) };
        match seed.deserialize(node) {
            Ok(value) => Ok(Some(value)),
            Err(mistake) => Err(self.within(mistake)),
        }
    }
}

/// The fields of an object.
struct Fields<'v> {
    fields: serde_json::map::Iter<'v>,
    present: Option<(&'v str, &'v Value)>,
}

impl<'de> MapAccess<'de> for Fields<'de> {
    type Error = Mistake;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, Mistake> {
        let Some((name, value)) = self.fields.next() else { return Ok(None) };
        self.present = Some((name, value));
        let key: StrDeserializer<Mistake> = name.as_str().into_deserializer();
        seed.deserialize(key).map(Some).map_err(|e| e.within_field(name))
    }

    fn next_value_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<S::Value, Mistake> {
        let (name, value) = self.present.take().unwrap_or(("", &Value::Null));
        seed.deserialize(Node(value)).map_err(|e| e.within_field(name))
    }
}

/// One of several shapes, as an object with one field.
struct Choice<'v>(&'v Map<String, Value>);

impl<'de> EnumAccess<'de> for Choice<'de> {
    type Error = Mistake;
    type Variant = Node<'de>;

    fn variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<(S::Value, Node<'de>), Mistake> {
        let mut fields = self.0.iter();
        match (fields.next(), fields.next()) {
            (Some((name, value)), None) => {
                let name: StrDeserializer<Mistake> = name.as_str().into_deserializer();
                Ok((seed.deserialize(name)?, Node(value)))
            }
            _ => Err(Mistake::invalid_value(Unexpected::Map, &"an object with one field")),
        }
    }
}

impl<'de> VariantAccess<'de> for Node<'de> {
    type Error = Mistake;

    fn unit_variant(self) -> Result<(), Mistake> {
        serde::Deserialize::deserialize(self)
    }

    fn newtype_variant_seed<S: DeserializeSeed<'de>>(self, seed: S) -> Result<S::Value, Mistake> {
        seed.deserialize(self)
    }

    fn tuple_variant<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, Mistake> {
        self.deserialize_seq(visitor)
    }

    fn struct_variant<V: Visitor<'de>>(
        self,
        names: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Mistake> {
        self.deserialize_struct("", names, visitor)
    }
}

#[cfg(test)]
mod tests {
    use serde::Deserialize;

    use super::*;

    #[derive(Debug, PartialEq, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Box {
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
        let ShapeError { place, rule } = read::<Box>(text).expect_err("a mistake");
        (place, rule.to_string())
    }

    #[test]
    fn what_is_right_is_read() {
        let text =
            r#"{"size": [1, 2.5], "lid": null, "things": ["nail", {"rope": 3}, {"board": {"long": -1}}]}"#;
        let things = vec![Thing::Nail, Thing::Rope(3), Thing::Board { long: -1.0 }];
        assert_eq!(read(text), Ok(Box { size: [1.0, 2.5], lid: None, things }));
    }

    #[test]
    fn a_mistake_is_told_with_its_path() {
        let at = |place: &str, rule: &str| (place.to_owned(), rule.to_owned());
        assert_eq!(
            told("{\"size\": [1, 2"),
            at("line 1, column 14", "not valid JSON: EOF while parsing a list")
        );
        assert_eq!(told("7"), at("the top", "invalid type: integer `7`, expected struct Box"));
        assert_eq!(told("{}"), at("the top", "missing field `size`"));
        assert_eq!(told(r#"{"size": [1]}"#), at("size", "invalid length 1, expected an array of length 2"));
        assert_eq!(told(r#"{"size": [1, "x"]}"#), at("size[1]", "invalid type: string \"x\", expected f64"));
        assert_eq!(
            told(r#"{"size": [1, 2], "things": [{"board": {"long": null}}]}"#),
            at("things[0].long", "invalid type: null, expected f64")
        );
        assert_eq!(
            told(r#"{"size": [1, 2], "things": ["nial"]}"#),
            at("things[0]", "unknown variant `nial`, expected one of `nail`, `rope`, `board`")
        );
        assert_eq!(
            told(r#"{"size": [1, 2], "lif": true}"#),
            at("lif", "unknown field `lif`, expected one of `size`, `lid`, `things`")
        );
    }
}
