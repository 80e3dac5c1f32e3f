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

/// Where a text is not what it should be, and what it should be.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct JsonTrouble {
    pub(crate) place: String,
    pub(crate) rule: String,
}

/// Reads a value; a mistake comes back with its path (`steps[3].reading`) or, where the text is no
/// JSON at all, with line and column.
pub(crate) fn read<T: DeserializeOwned>(text: &str) -> Result<T, JsonTrouble> {
    let value: Value = serde_json::from_str(text).map_err(|e| syntax(&e))?;
    read_value(&value)
}

/// The same for what is JSON already.
pub(crate) fn read_value<T: DeserializeOwned>(value: &Value) -> Result<T, JsonTrouble> {
    T::deserialize(Node(value)).map_err(|Mistake { path, rule }| {
        let place = if path.is_empty() { "the top".to_owned() } else { path };
        JsonTrouble { place, rule }
    })
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

/// A mistake on its way out, its path growing from the end.
#[derive(Debug)]
struct Mistake {
    path: String,
    rule: String,
}

impl Mistake {
    /// The same mistake, seen from one field further out.
    fn within_field(mut self, name: &str) -> Self {
        let joint = if self.path.is_empty() || self.path.starts_with('[') { "" } else { "." };
        self.path = format!("{name}{joint}{}", self.path);
        self
    }

    /// The same mistake, seen from the list around it.
    fn within_list(mut self, at: usize) -> Self {
        let joint = if self.path.is_empty() || self.path.starts_with('[') { "" } else { "." };
        self.path = format!("[{at}]{joint}{}", self.path);
        self
    }
}

impl fmt::Display for Mistake {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.rule)
    }
}

impl std::error::Error for Mistake {}

impl serde::de::Error for Mistake {
    fn custom<T: fmt::Display>(rule: T) -> Self {
        Mistake { path: String::new(), rule: rule.to_string() }
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

impl<'de> Deserializer<'de> for Node<'de> {
    type Error = Mistake;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Mistake> {
        match self.0 {
            Value::Null => visitor.visit_unit(),
            Value::Bool(yes) => visitor.visit_bool(*yes),
            Value::Number(number) => match (number.as_u64(), number.as_i64(), number.as_f64()) {
                (Some(whole), _, _) => visitor.visit_u64(whole),
                (None, Some(whole), _) => visitor.visit_i64(whole),
                (None, None, Some(fraction)) => visitor.visit_f64(fraction),
                (None, None, None) => Err(Mistake::custom("a number beyond all bounds")),
            },
            Value::String(text) => visitor.visit_borrowed_str(text),
            Value::Array(items) => visitor.visit_seq(Items { items, at: 0 }),
            Value::Object(fields) => visitor.visit_map(Fields { fields: fields.iter(), present: None }),
        }
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
            _ => self.deserialize_any(visitor),
        }
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf unit unit_struct
        seq tuple tuple_struct map struct identifier ignored_any
    }
}

/// The items of a list.
struct Items<'v> {
    items: &'v [Value],
    at: usize,
}

impl<'de> SeqAccess<'de> for Items<'de> {
    type Error = Mistake;

    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, Mistake> {
        let Some(item) = self.items.get(self.at) else { return Ok(None) };
        self.at += 1;
        seed.deserialize(Node(item)).map(Some).map_err(|e| e.within_list(self.at - 1))
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.items.len() - self.at)
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
        self.deserialize_any(visitor)
    }

    fn struct_variant<V: Visitor<'de>>(
        self,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Mistake> {
        self.deserialize_any(visitor)
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
        let JsonTrouble { place, rule } = read::<Box>(text).expect_err("a mistake");
        (place, rule)
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
