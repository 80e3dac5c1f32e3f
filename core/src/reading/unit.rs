//! Units of readings.

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// A quantity that can be measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum Quantity {
    /// Pressure above air pressure.
    Pressure,
    /// A distance.
    Length,
    /// A share.
    Percent,
    /// Electrical resistance.
    Resistance,
    /// Voltage.
    Voltage,
    /// A weight, as scales show it.
    Mass,
    /// A time.
    Time,
}

/// A unit of measurement. It is read from any of its usual names and symbols ([`Unit::named`]) and written as its
/// [`id`](Unit::id).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub enum Unit {
    /// Pound-force per square inch.
    Psi,
    /// Kilopascal.
    Kpa,
    /// Bar.
    Bar,
    /// Millimetre.
    Mm,
    /// Inch.
    In,
    /// Thousandth of an inch.
    Thou,
    /// Percent.
    Percent,
    /// Ohm.
    Ohm,
    /// Thousand ohms.
    Kohm,
    /// Volt.
    Volt,
    /// Thousandth of a volt.
    Millivolt,
    /// Gram.
    Gram,
    /// Ounce (avoirdupois).
    Ounce,
    /// Minute.
    Minute,
    /// Second.
    Second,
}

/// A unit of another quantity than the one wanted.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("{} is not a unit of {}; it takes {}", .given.id(), .wanted.name(), .wanted.units_text())]
pub struct UnitError {
    /// The unit given.
    pub given: Unit,
    /// The quantity wanted.
    pub wanted: Quantity,
}

impl Unit {
    pub(super) const ALL: [Unit; 15] = [
        Unit::Psi,
        Unit::Kpa,
        Unit::Bar,
        Unit::Mm,
        Unit::In,
        Unit::Thou,
        Unit::Percent,
        Unit::Ohm,
        Unit::Kohm,
        Unit::Volt,
        Unit::Millivolt,
        Unit::Gram,
        Unit::Ounce,
        Unit::Minute,
        Unit::Second,
    ];

    /// The quantity that the unit measures.
    #[must_use]
    pub fn quantity(self) -> Quantity {
        match self {
            Unit::Psi | Unit::Kpa | Unit::Bar => Quantity::Pressure,
            Unit::Mm | Unit::In | Unit::Thou => Quantity::Length,
            Unit::Percent => Quantity::Percent,
            Unit::Ohm | Unit::Kohm => Quantity::Resistance,
            Unit::Volt | Unit::Millivolt => Quantity::Voltage,
            Unit::Gram | Unit::Ounce => Quantity::Mass,
            Unit::Minute | Unit::Second => Quantity::Time,
        }
    }

    /// Its short name in files.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            Unit::Psi => "psi",
            Unit::Kpa => "kpa",
            Unit::Bar => "bar",
            Unit::Mm => "mm",
            Unit::In => "in",
            Unit::Thou => "thou",
            Unit::Percent => "percent",
            Unit::Ohm => "ohm",
            Unit::Kohm => "kohm",
            Unit::Volt => "volt",
            Unit::Millivolt => "millivolt",
            Unit::Gram => "gram",
            Unit::Ounce => "ounce",
            Unit::Minute => "minute",
            Unit::Second => "second",
        }
    }

    /// Size in the coherent unit of its quantity: pascal, metre, one, ohm, volt, kilogram, second.
    /// 1 lbf/in2 = 4.4482216152605 N / (0.0254 m)^2; exact by the definitions of the pound, standard
    /// gravity and the inch; 1 oz = 1/16 lb (NIST SP 811, appendix B).
    #[must_use]
    pub fn size(self) -> f64 {
        match self {
            Unit::Psi => 4.448_221_615_260_5 / (0.0254 * 0.0254),
            Unit::Kpa => 1e3,
            Unit::Bar => 1e5,
            Unit::Mm | Unit::Millivolt => 1e-3,
            Unit::In => 0.0254,
            Unit::Thou => 2.54e-5,
            Unit::Percent => 1e-2,
            Unit::Ohm | Unit::Volt | Unit::Second => 1.0,
            Unit::Kohm => 1e3,
            Unit::Gram => 1e-3,
            Unit::Ounce => 0.453_592_37 / 16.0,
            Unit::Minute => 60.0,
        }
    }

    /// Converts `value` from this unit to `to`.
    ///
    /// # Errors
    /// [`UnitError`] where the two measure different things.
    pub fn convert(self, value: f64, to: Unit) -> Result<f64, UnitError> {
        if self == to {
            return Ok(value);
        }
        if self.quantity() != to.quantity() {
            return Err(UnitError { given: self, wanted: to.quantity() });
        }
        Ok(value * (self.size() / to.size()))
    }
}

impl Quantity {
    /// The name of the quantity, for people.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Quantity::Pressure => "pressure",
            Quantity::Length => "length",
            Quantity::Percent => "percent",
            Quantity::Resistance => "resistance",
            Quantity::Voltage => "voltage",
            Quantity::Mass => "weight",
            Quantity::Time => "time",
        }
    }

    /// The units of the quantity.
    pub fn units(self) -> impl Iterator<Item = Unit> {
        Unit::ALL.into_iter().filter(move |u| u.quantity() == self)
    }

    fn units_text(self) -> String {
        self.units().map(Unit::id).collect::<Vec<_>>().join(", ")
    }
}

/// A temperature scale. It is separate from [`Unit`], because the scales have different zeros. It is read from any
/// of its usual names and symbols and written as one of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub enum TemperatureUnit {
    /// Degrees Celsius.
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
}

impl TemperatureUnit {
    /// `value` of this scale in degrees Celsius: `(F - 32) / 1.8` (NIST SP 811, appendix B.8).
    #[must_use]
    pub fn to_celsius(self, value: f64) -> f64 {
        match self {
            TemperatureUnit::Celsius => value,
            TemperatureUnit::Fahrenheit => (value - 32.0) / 1.8,
        }
    }

    /// Converts degrees Celsius to this scale.
    #[must_use]
    pub fn from_celsius(self, celsius: f64) -> f64 {
        match self {
            TemperatureUnit::Celsius => celsius,
            TemperatureUnit::Fahrenheit => 1.8 * celsius + 32.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_go_both_ways_and_do_not_mix() {
        // NIST SP 811 B.8: 1 psi = 6.894757 E+03 Pa.
        assert!((Unit::Psi.convert(1.0, Unit::Kpa).unwrap() - 6.894_757).abs() < 5e-7);
        assert!((Unit::Bar.convert(1.0, Unit::Psi).unwrap() - 14.503_77).abs() < 5e-6);
        assert!((Unit::In.convert(0.030, Unit::Mm).unwrap() - 0.762).abs() < 1e-12);
        // NIST SP 811 B.8: 1 oz = 2.834952 E-02 kg.
        assert!((Unit::Ounce.convert(1.0, Unit::Gram).unwrap() - 28.349_52).abs() < 5e-6);
        assert!((TemperatureUnit::Fahrenheit.to_celsius(-45.0) + 42.8).abs() < 0.05);
        for scale in [TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit] {
            assert!((scale.to_celsius(scale.from_celsius(37.5)) - 37.5).abs() < 1e-12);
        }
        for unit in Unit::ALL {
            for other in unit.quantity().units() {
                let there = unit.convert(37.5, other).unwrap();
                assert!((other.convert(there, unit).unwrap() - 37.5).abs() < 1e-12);
            }
        }
        assert_eq!(
            Unit::Mm.convert(1.0, Unit::Psi).unwrap_err().to_string(),
            "mm is not a unit of pressure; it takes psi, kpa, bar"
        );
    }
}
