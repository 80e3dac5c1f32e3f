//! Names and symbols under which units are read from files.

use std::fmt;
use std::marker::PhantomData;

use serde::de::{Error, Visitor};
use serde::{Deserialize, Deserializer};

use super::{TemperatureUnit, Unit};

/// Things that are read from one of several names.
trait Named: Copy + 'static {
    /// What they are, for people.
    const WHAT: &'static str;
    /// One name of each, for the message about an unknown name.
    const SHOWN: &'static [&'static str];
    /// Each with all its names, in lower case.
    const NAMES: &'static [(Self, &'static [&'static str])];
}

impl Named for Unit {
    const WHAT: &'static str = "a unit";
    const SHOWN: &'static [&'static str] =
        &["psi", "kPa", "bar", "mm", "in", "thou", "%", "ohm", "kohm", "V", "mV", "g", "oz", "min", "s"];
    const NAMES: &'static [(Self, &'static [&'static str])] = &[
        (Unit::Psi, &["psi", "psig", "lbf/in2", "lb/in2"]),
        (Unit::Kpa, &["kpa", "kilopascal", "kilopascals"]),
        (Unit::Bar, &["bar", "bars"]),
        (Unit::Mm, &["mm", "millimetre", "millimetres", "millimeter", "millimeters"]),
        (Unit::In, &["in", "in.", "inch", "inches", "\"", "\u{2033}", "\u{201d}"]),
        (Unit::Thou, &["thou", "thous", "mil", "mils"]),
        (Unit::Percent, &["percent", "%", "per cent", "pct"]),
        // Greek capital omega, and the ohm sign.
        (Unit::Ohm, &["ohm", "ohms", "\u{3a9}", "\u{2126}"]),
        (Unit::Kohm, &["kohm", "kohms", "kiloohm", "kiloohms", "kilohm", "kilohms", "k\u{3a9}", "k\u{2126}"]),
        (Unit::Volt, &["volt", "v", "volts"]),
        (Unit::Millivolt, &["millivolt", "mv", "millivolts"]),
        (Unit::Gram, &["gram", "g", "grams", "gramme", "grammes"]),
        (Unit::Ounce, &["ounce", "oz", "ounces"]),
        (Unit::Minute, &["minute", "min", "mins", "minutes"]),
        (Unit::Second, &["second", "s", "sec", "secs", "seconds"]),
    ];
}

impl Named for TemperatureUnit {
    const WHAT: &'static str = "a scale of temperature";
    const SHOWN: &'static [&'static str] = &["celsius", "\u{b0}C", "C", "fahrenheit", "\u{b0}F", "F"];
    const NAMES: &'static [(Self, &'static [&'static str])] = &[
        (TemperatureUnit::Celsius, &["celsius", "\u{b0}c", "\u{2103}", "c", "deg c", "degrees celsius"]),
        (
            TemperatureUnit::Fahrenheit,
            &["fahrenheit", "\u{b0}f", "\u{2109}", "f", "deg f", "degrees fahrenheit"],
        ),
    ];
}

impl Unit {
    /// The unit with this name or symbol, if there is one. Case and surrounding spaces do not matter.
    ///
    /// ```
    /// use halfsplit::reading::Unit;
    /// assert_eq!(Unit::named("V"), Some(Unit::Volt));
    /// assert_eq!(Unit::named("kPa"), Some(Unit::Kpa));
    /// assert_eq!(Unit::named("pounds"), None);
    /// ```
    #[must_use]
    pub fn named(text: &str) -> Option<Self> {
        named(text)
    }
}

impl<'de> Deserialize<'de> for Unit {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserialize_named(deserializer)
    }
}

impl<'de> Deserialize<'de> for TemperatureUnit {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserialize_named(deserializer)
    }
}

/// The thing with this name.
fn named<T: Named>(text: &str) -> Option<T> {
    let text = text.trim().to_ascii_lowercase();
    T::NAMES.iter().find(|(_, names)| names.contains(&text.as_str())).map(|(thing, _)| *thing)
}

/// Reads a thing from one of its names.
fn deserialize_named<'de, T: Named, D: Deserializer<'de>>(deserializer: D) -> Result<T, D::Error> {
    struct Name<T>(PhantomData<T>);

    impl<T: Named> Visitor<'_> for Name<T> {
        type Value = T;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str(T::WHAT)
        }

        fn visit_str<E: Error>(self, text: &str) -> Result<T, E> {
            named(text).ok_or_else(|| E::unknown_variant(text, T::SHOWN))
        }
    }

    deserializer.deserialize_str(Name(PhantomData))
}

/// The JSON Schema of a thing with names: one of all of them.
#[cfg(feature = "schema")]
macro_rules! schema_of_names {
    ($($type:ident),*) => {$(
        impl schemars::JsonSchema for $type {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($type).into()
            }

            fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
                let names = <$type as Named>::NAMES.iter().flat_map(|(_, names)| *names);
                let all: std::collections::BTreeSet<&str> =
                    names.chain(<$type as Named>::SHOWN).copied().collect();
                let description = format!("One of the names of {}.", <$type as Named>::WHAT);
                schemars::json_schema!({ "description": description, "type": "string", "enum": all })
            }
        }
    )*};
}
#[cfg(feature = "schema")]
schema_of_names!(Unit, TemperatureUnit);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_unit_is_read_from_its_id_and_from_what_people_write() {
        for unit in Unit::ALL {
            assert_eq!(Unit::named(unit.id()), Some(unit), "{}", unit.id());
        }
        for (text, unit) in [
            ("V", Unit::Volt),
            ("volts", Unit::Volt),
            ("mV", Unit::Millivolt),
            ("kPa", Unit::Kpa),
            ("PSI", Unit::Psi),
            ("\u{2126}", Unit::Ohm),
            ("\u{3a9}", Unit::Ohm),
            ("k\u{3a9}", Unit::Kohm),
            ("kOhm", Unit::Kohm),
            ("inch", Unit::In),
            ("\"", Unit::In),
            ("mil", Unit::Thou),
            (" g ", Unit::Gram),
            ("oz", Unit::Ounce),
            ("min", Unit::Minute),
            ("s", Unit::Second),
            ("%", Unit::Percent),
        ] {
            assert_eq!(Unit::named(text), Some(unit), "{text}");
        }
        assert_eq!(named("\u{b0}C"), Some(TemperatureUnit::Celsius));
        assert_eq!(named("F"), Some(TemperatureUnit::Fahrenheit));
        assert_eq!(Unit::named("pounds"), None);
    }

    #[test]
    fn a_name_belongs_to_one_unit_and_is_in_lower_case() {
        let mut all: Vec<&str> = Unit::NAMES.iter().flat_map(|(_, names)| *names).copied().collect();
        assert!(all.iter().all(|name| *name == name.to_ascii_lowercase()));
        assert!(Unit::SHOWN.iter().all(|name| Unit::named(name).is_some()));
        assert_eq!(Unit::SHOWN.len(), Unit::ALL.len());
        all.sort_unstable();
        assert!(all.windows(2).all(|pair| pair[0] != pair[1]), "{all:?}");
    }
}
