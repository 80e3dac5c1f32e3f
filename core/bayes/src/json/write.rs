//! Writing JSON.
//!
//! The usual writer is made anew within every type that is written. This one is called instead: in the
//! page's engine, where a dozen answers are written and none is long, that is a third of the weight.

use std::fmt::{self, Display, Write as _};

use serde::ser::{
    Error, Serialize, SerializeMap, SerializeSeq, SerializeStruct, SerializeStructVariant, SerializeTuple,
    SerializeTupleStruct, SerializeTupleVariant, Serializer,
};

/// A value as JSON text, without blanks. Numbers without end are written as `null`, as JSON has none.
///
/// # Panics
/// Never for types whose serialising cannot fail; what fails is written as `null`.
#[must_use]
pub fn write<T: Serialize + ?Sized>(value: &T) -> String {
    let mut writer = Writer { text: String::new() };
    match value.serialize(&mut writer) {
        Ok(()) => writer.text,
        Err(Refused) => "null".to_owned(),
    }
}

/// A type that does not want to be written.
#[derive(Debug)]
struct Refused;

impl Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("the value cannot be written")
    }
}

impl std::error::Error for Refused {}

impl Error for Refused {
    fn custom<T: Display>(_: T) -> Self {
        Refused
    }
}

struct Writer {
    text: String,
}

impl Writer {
    #[inline(never)]
    fn string(&mut self, text: &str) {
        self.text.push('"');
        for letter in text.chars() {
            match letter {
                '"' => self.text.push_str("\\\""),
                '\\' => self.text.push_str("\\\\"),
                '\n' => self.text.push_str("\\n"),
                '\r' => self.text.push_str("\\r"),
                '\t' => self.text.push_str("\\t"),
                low if low < ' ' => {
                    let _ = write!(self.text, "\\u{:04x}", u32::from(low));
                }
                letter => self.text.push(letter),
            }
        }
        self.text.push('"');
    }

    #[inline(never)]
    fn fraction(&mut self, number: f64) {
        if number.is_finite() {
            // The shortest text that is read as the same number.
            let _ = write!(self.text, "{number}");
        } else {
            self.text.push_str("null");
        }
    }

    #[inline(never)]
    fn whole(&mut self, number: i64) {
        let _ = write!(self.text, "{number}");
    }

    /// Before the next item: a comma, unless it is the first.
    #[inline(never)]
    fn item(&mut self) {
        if !self.text.ends_with(['[', '{']) {
            self.text.push(',');
        }
    }

    #[inline(never)]
    fn name(&mut self, name: &str) {
        self.item();
        self.string(name);
        self.text.push(':');
    }
}

/// A list or an object that is being written, and what closes it.
struct Open<'w> {
    writer: &'w mut Writer,
    close: &'static str,
}

impl<'w> Open<'w> {
    fn new(writer: &'w mut Writer, bracket: char, close: &'static str) -> Self {
        writer.text.push(bracket);
        Open { writer, close }
    }

    /// One shape of several, by its name.
    fn variant(writer: &'w mut Writer, name: &str, bracket: char, close: &'static str) -> Self {
        writer.text.push('{');
        writer.name(name);
        Open::new(writer, bracket, close)
    }

    #[inline(never)]
    fn finish(self) -> Result<(), Refused> {
        self.writer.text.push_str(self.close);
        Ok(())
    }

    fn next<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Refused> {
        self.writer.item();
        value.serialize(&mut *self.writer)
    }

    fn field<T: Serialize + ?Sized>(&mut self, name: &str, value: &T) -> Result<(), Refused> {
        self.writer.name(name);
        value.serialize(&mut *self.writer)
    }
}

macro_rules! wholes {
    ($($method:ident: $type:ty)*) => {$(
        fn $method(self, number: $type) -> Result<(), Refused> {
            self.whole(i64::from(number));
            Ok(())
        }
    )*};
}

impl<'w> Serializer for &'w mut Writer {
    type Ok = ();
    type Error = Refused;
    type SerializeSeq = Open<'w>;
    type SerializeTuple = Open<'w>;
    type SerializeTupleStruct = Open<'w>;
    type SerializeTupleVariant = Open<'w>;
    type SerializeMap = Open<'w>;
    type SerializeStruct = Open<'w>;
    type SerializeStructVariant = Open<'w>;

    wholes! {
        serialize_i8: i8 serialize_i16: i16 serialize_i32: i32 serialize_i64: i64 serialize_u8: u8
        serialize_u16: u16 serialize_u32: u32
    }

    fn serialize_u64(self, number: u64) -> Result<(), Refused> {
        let _ = write!(self.text, "{number}");
        Ok(())
    }

    fn serialize_bool(self, yes: bool) -> Result<(), Refused> {
        self.text.push_str(if yes { "true" } else { "false" });
        Ok(())
    }

    fn serialize_f32(self, number: f32) -> Result<(), Refused> {
        self.fraction(f64::from(number));
        Ok(())
    }

    fn serialize_f64(self, number: f64) -> Result<(), Refused> {
        self.fraction(number);
        Ok(())
    }

    fn serialize_char(self, letter: char) -> Result<(), Refused> {
        self.string(letter.encode_utf8(&mut [0; 4]));
        Ok(())
    }

    fn serialize_str(self, text: &str) -> Result<(), Refused> {
        self.string(text);
        Ok(())
    }

    fn serialize_bytes(self, bytes: &[u8]) -> Result<(), Refused> {
        bytes.serialize(self)
    }

    fn serialize_none(self) -> Result<(), Refused> {
        self.serialize_unit()
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<(), Refused> {
        value.serialize(self)
    }

    fn serialize_unit(self) -> Result<(), Refused> {
        self.text.push_str("null");
        Ok(())
    }

    fn serialize_unit_struct(self, _: &'static str) -> Result<(), Refused> {
        self.serialize_unit()
    }

    fn serialize_unit_variant(self, _: &'static str, _: u32, name: &'static str) -> Result<(), Refused> {
        self.string(name);
        Ok(())
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        value: &T,
    ) -> Result<(), Refused> {
        value.serialize(self)
    }

    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        _: u32,
        name: &'static str,
        value: &T,
    ) -> Result<(), Refused> {
        let mut object = Open::new(self, '{', "}");
        object.field(name, value)?;
        object.finish()
    }

    fn serialize_seq(self, _: Option<usize>) -> Result<Open<'w>, Refused> {
        Ok(Open::new(self, '[', "]"))
    }

    fn serialize_tuple(self, _: usize) -> Result<Open<'w>, Refused> {
        Ok(Open::new(self, '[', "]"))
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Open<'w>, Refused> {
        Ok(Open::new(self, '[', "]"))
    }

    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        name: &'static str,
        _: usize,
    ) -> Result<Open<'w>, Refused> {
        Ok(Open::variant(self, name, '[', "]}"))
    }

    fn serialize_map(self, _: Option<usize>) -> Result<Open<'w>, Refused> {
        Ok(Open::new(self, '{', "}"))
    }

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Open<'w>, Refused> {
        Ok(Open::new(self, '{', "}"))
    }

    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        name: &'static str,
        _: usize,
    ) -> Result<Open<'w>, Refused> {
        Ok(Open::variant(self, name, '{', "}}"))
    }
}

macro_rules! open {
    ($($kind:ident: $method:ident $($name:ident)?;)*) => {$(
        impl $kind for Open<'_> {
            type Ok = ();
            type Error = Refused;

            fn $method<T: Serialize + ?Sized>(
                &mut self,
                $($name: &'static str,)?
                value: &T,
            ) -> Result<(), Refused> {
                open!(self value $($name)?)
            }

            fn end(self) -> Result<(), Refused> {
                self.finish()
            }
        }
    )*};
    ($open:ident $value:ident $name:ident) => { $open.field($name, $value) };
    ($open:ident $value:ident) => { $open.next($value) };
}

open! {
    SerializeSeq: serialize_element;
    SerializeTuple: serialize_element;
    SerializeTupleStruct: serialize_field;
    SerializeTupleVariant: serialize_field;
    SerializeStruct: serialize_field name;
    SerializeStructVariant: serialize_field name;
}

impl SerializeMap for Open<'_> {
    type Ok = ();
    type Error = Refused;

    fn serialize_key<T: Serialize + ?Sized>(&mut self, name: &T) -> Result<(), Refused> {
        self.writer.item();
        let start = self.writer.text.len();
        name.serialize(&mut *self.writer)?;
        // Names are text, whatever they were.
        if !self.writer.text[start..].starts_with('"') {
            self.writer.text.insert(start, '"');
            self.writer.text.push('"');
        }
        Ok(())
    }

    fn serialize_value<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Refused> {
        self.writer.text.push(':');
        value.serialize(&mut *self.writer)
    }

    fn end(self) -> Result<(), Refused> {
        self.finish()
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use proptest::prelude::*;
    use serde_json::Value;

    use super::*;

    #[derive(serde::Serialize)]
    #[serde(rename_all = "kebab-case")]
    enum Shape {
        Dot,
        Circle(f64),
        Line(u8, i8),
        Box { wide: f64, high: Option<u32> },
    }

    /// The writer of serde_json, version as in Cargo.lock, is what a text must be read as.
    fn same(value: &impl Serialize) {
        let text = write(value);
        let read: Value = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{e}: {text}"));
        let theirs = serde_json::to_value(value).expect("can be written");
        assert_eq!(as_numbers(read), as_numbers(theirs), "{text}");
    }

    /// 5 and 5.0 are the same number.
    fn as_numbers(value: Value) -> Value {
        match value {
            Value::Number(n) => n.as_f64().map_or(Value::Null, Value::from),
            Value::Array(items) => items.into_iter().map(as_numbers).collect(),
            Value::Object(fields) => fields.into_iter().map(|(k, v)| (k, as_numbers(v))).collect(),
            other => other,
        }
    }

    #[test]
    fn every_shape_is_written() {
        same(&[
            Shape::Dot,
            Shape::Circle(-0.1),
            Shape::Line(1, -2),
            Shape::Box { wide: 1e300, high: None },
            Shape::Box { wide: 5e-324, high: Some(3) },
        ]);
        same(&BTreeMap::from([(1_u32, vec![Some("a"), None]), (20, vec![])]));
        same(&(true, 'x', "\u{0}\u{1f}\"\\/\n\t\u{2028}\u{1f600}", (), u64::MAX, i64::MIN));
        assert_eq!(write(&[f64::NAN, f64::INFINITY, 2.0]), "[null,null,2]");
        assert_eq!(write(&Vec::<u8>::new()), "[]");
    }

    proptest! {
        #[test]
        fn numbers_and_texts_come_back_as_they_were(number in any::<f64>(), text in any::<String>()) {
            let read: String = serde_json::from_str(&write(&text)).expect("JSON");
            prop_assert_eq!(read, text);
            // To the last bit; the reader of serde_json alone is allowed an error of some units there.
            let read: Option<f64> = write(&number).parse().ok();
            prop_assert_eq!(read, number.is_finite().then_some(number));
        }
    }
}
