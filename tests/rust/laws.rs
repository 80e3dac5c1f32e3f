//! Compares the distributions of readings in the shipped machines with published figures.
//!
//! The means and spreads are common practice. These tests check that they agree with the published
//! figures: a sound machine is likely to give a reading that a source calls good, and unlikely to give
//! one that it calls bad.

use halfsplit::machine::Machine;
use halfsplit::machine::file::{Check, LawTerm};
use halfsplit::reading::{Law, LawShape, Span, Unit, matter};
use halfsplit_tests::{close, inch, mower, printed};

/// The distribution of a check's reading in the row with a given `when`, or in the row without a `when`.
struct Row<'a> {
    check: &'a Check,
    law: Law,
}

fn shape(term: &LawTerm) -> Option<(f64, LawShape)> {
    let shape = match (term.mean, term.sd, term.median, term.ratio) {
        (Some(mean), Some(sd), ..) => LawShape::Normal { mean, sd },
        (.., Some(median), Some(ratio)) => LawShape::LogNormal { median, ratio },
        _ => return None,
    };
    Some((term.weight, shape))
}

#[track_caller]
fn row<'a>(machine: &'a Machine, check: &str, when: &str) -> Row<'a> {
    let check = machine.file().checks.iter().find(|c| c.id == check).expect(check);
    let reading = check.reading.as_ref().expect("a number");
    let holds = |w: &Vec<String>| if when.is_empty() { w.is_empty() } else { w.iter().any(|a| a == when) };
    let row = reading.rows.iter().find(|r| holds(&r.when)).expect(when);
    let terms: Vec<_> = row.law.iter().filter_map(shape).collect();
    let [low, high] = reading.range;
    Row { check, law: Law::new(&terms, low, high, reading.slip).expect("a law") }
}

impl Row<'_> {
    fn below(&self, x: f64) -> f64 {
        self.law.mass(Span { from: f64::NEG_INFINITY, to: x })
    }

    /// Asserts that the median of the law lies between two values.
    #[track_caller]
    fn middle(&self, low: f64, high: f64) {
        let (below, above) = (self.below(low), 1.0 - self.below(high));
        assert!(below < 0.5 && above < 0.5, "{}: {below} below {low}, {above} above {high}", self.check.id);
    }

    #[track_caller]
    fn mostly_below(&self, x: f64, share: f64) {
        assert!(self.below(x) > share, "{}: {} below {x}", self.check.id, self.below(x));
    }

    #[track_caller]
    fn mostly_above(&self, x: f64, share: f64) {
        assert!(1.0 - self.below(x) > share, "{}: {} above {x}", self.check.id, 1.0 - self.below(x));
    }
}

#[test]
fn compression_by_rope() {
    let law = |when: &str| row(mower(), "gauge-pull", when);
    // A public engine-testing guide: 25 psi is the lowest acceptable reading; most engines of 3 hp give
    // 60 to 75 psi.
    let side = law("valve-gear=side");
    side.middle(60.0, 75.0);
    side.mostly_above(25.0, 0.95);
    law("").mostly_above(25.0, 0.95);
    // A maker's handbook: at least 196 kPa (28.4 psi) by rope. A limit this low implies a compression
    // release.
    let least = Unit::Kpa.convert(196.0, Unit::Psi).expect("pressures");
    printed("196 kPa", least, 28.4, 1);
    for fitted in ["release=fitted & valve-gear=side", "release=fitted"] {
        law(fitted).mostly_above(least, 0.9);
        // Recomputed: 51 psi with a valve held off its seat to 60 degrees before top dead centre.
        // Readings of 45 to 55 psi occur.
        law(fitted).middle(45.0, 55.0);
    }
    law("seal=leaking & release=fitted").mostly_below(least, 0.5);
    law("seal=none").mostly_below(25.0, 0.95);
}

#[test]
fn compression_of_a_two_stroke() {
    // A maker's handbook for a two-stroke mower engine: 120 to 150 psi when new, suspect under 92 psi.
    // Web pages on tools: 100 to 150 psi for saws.
    let machine = Machine::shipped("two-stroke-handheld").expect("the two-stroke");
    let sound = row(&machine, "gauge-pull", "");
    sound.middle(120.0, 150.0);
    sound.mostly_above(92.0, 0.95);
    sound.mostly_above(100.0, 0.9);
    row(&machine, "gauge-pull", "seal=worn").mostly_below(92.0, 0.5);
    row(&machine, "gauge-pull", "seal=leaking").mostly_below(92.0, 0.9);
}

#[test]
fn leak_down() {
    // A motoring newspaper, for cars: up to 20 % is good, 30 % and more is bad.
    row(mower(), "leak-down", "").mostly_below(20.0, 0.8);
    row(mower(), "leak-down", "").mostly_below(30.0, 0.9);
    for bad in ["seal=leaking", "seal=none"] {
        row(mower(), "leak-down", bad).mostly_above(30.0, 0.9);
    }
}

#[test]
fn gaps() {
    // US Army TM 5-4240-501-14&P: a magneto should jump 0.166 in.
    printed("0.166 in", inch(0.166), 4.2, 1);
    row(mower(), "spark-longest-jump", "").mostly_above(inch(0.166), 0.9);
    row(mower(), "spark-longest-jump", "spark=weak").mostly_below(inch(0.166), 0.8);
    row(mower(), "spark-longest-jump", "spark=none").mostly_below(inch(0.166), 0.95);
    // Plug gap: 0.028 to 0.030 in (US Army TM 5-4310-360-14); other engines 0.020 to 0.040 in (makers'
    // handbooks).
    let plug = row(mower(), "plug-gap-measured", "");
    plug.middle(inch(0.028), inch(0.034));
    plug.mostly_below(inch(0.040), 0.9);
    plug.mostly_above(inch(0.020), 0.95);
    row(mower(), "plug-gap-measured", "plug-gap/wide").mostly_above(inch(0.040), 0.8);
    row(mower(), "plug-gap-measured", "plug-gap/closed").mostly_below(inch(0.020), 0.9);
    // Air gap from coil to magnet: 0.006 to 0.014 in (makers' handbooks).
    row(mower(), "coil-air-gap", "").middle(inch(0.006), inch(0.014));
    row(mower(), "coil-air-gap", "magnet/wide-gap").middle(inch(0.014), 2.5);
    // Valve clearance: 0.004 to 0.008 in is the usual target (common practice, no source).
    row(mower(), "valve-clearance", "").middle(inch(0.004), inch(0.008));
    row(mower(), "valve-clearance", "valves/stuck-open/acting").mostly_above(inch(0.010), 0.7);
}

#[test]
fn windings() {
    // A maker's handbook for one utility engine: 6.32 to 9.48 kohm and 0.18 to 0.28 ohm. Both ranges lie
    // well inside the range of small coils: neither end is in the lowest or highest 5 % of readings.
    for (check, low, high) in [("coil-ohms", 6.32, 9.48), ("coil-primary-ohms", 0.18, 0.28)] {
        let sound = row(mower(), check, "");
        assert!(sound.below(low) > 0.05 && sound.below(high) < 0.95, "{check}");
        // International Annealed Copper Standard: 0.393 % per kelvin at 20 °C.
        let rule = sound.check.reading.as_ref().and_then(|r| r.follows_temperature.as_ref()).expect("copper");
        close(check, rule.per_kelvin, matter::COPPER_PER_KELVIN, 0.0);
        close(check, rule.reference_c, 20.0, 0.0);
    }
    printed("copper", 100.0 * matter::COPPER_PER_KELVIN, 0.393, 3);
}

#[test]
fn a_gallon_of_petrol() {
    // Reference pages: 6.0 to 6.3 lb per US gallon. The pound is 453.59237 g, the gallon 231 cubic inches
    // (NIST SP 811, appendix B).
    let check = row(mower(), "fuel-weigh", "").check;
    let petrol =
        check.reading.as_ref().and_then(|r| r.rows.last()).and_then(|r| r.law[0].mean).expect("a mean");
    let gallon_ml = 231.0 * 2.54_f64.powi(3);
    let pounds = petrol / 100.0 * gallon_ml / 453.592_37;
    assert!((6.0..6.3).contains(&pounds), "{pounds}");
    // Petrol within EN 228 reads as light; diesel within EN 590 does not.
    row(mower(), "fuel-weigh", "").mostly_below(77.5, 0.9);
    close("light", check.results[0].up_to.expect("an edge"), 78.0, 4.0);
}

#[test]
fn twelve_volts() {
    let machine = Machine::shipped("riding-mower").expect("the riding mower");
    // A battery maker's page: 12.65 V when charged, 12.24 V at half charge, 11.89 V when flat. Another
    // page prints .09 V more at half charge.
    let charged = row(&machine, "battery-rest-volts", "");
    charged.middle(12.45, 12.65);
    charged.mostly_above(12.24, 0.95);
    row(&machine, "battery-rest-volts", "battery/flat/acting").middle(11.5, 12.24);
    // The voltage has no temperature correction: the published correction is for the density of the
    // electrolyte.
    assert!(charged.check.reading.as_ref().is_some_and(|r| r.follows_temperature.is_none()));
    // Two car makers' handbooks: at least 9.6 V under load at 21 °C.
    row(&machine, "battery-cranking-volts", "").mostly_above(9.6, 0.9);
    row(&machine, "battery-cranking-volts", "battery/flat/acting").mostly_below(9.6, 0.8);
    let edges = &row(&machine, "battery-cranking-volts", "").check.results;
    close("the edge", edges[0].up_to.expect("an edge"), 9.6, 0.0);
}

#[test]
fn every_kind_of_reading_is_there() {
    let riding = Machine::shipped("riding-mower").expect("the riding mower");
    let all = [
        (mower(), "gauge-pull", Unit::Psi),
        (mower(), "gauge-spun", Unit::Psi),
        (mower(), "leak-down", Unit::Percent),
        (mower(), "plug-gap-measured", Unit::Mm),
        (mower(), "coil-air-gap", Unit::Mm),
        (mower(), "valve-clearance", Unit::Mm),
        (mower(), "coil-primary-ohms", Unit::Ohm),
        (mower(), "coil-ohms", Unit::Kohm),
        (mower(), "spark-longest-jump", Unit::Mm),
        (mower(), "fuel-weigh", Unit::Gram),
        (mower(), "fuel-layer-height", Unit::Percent),
        (mower(), "minutes-to-die", Unit::Minute),
        (&riding, "battery-rest-volts", Unit::Volt),
        (&riding, "battery-cranking-volts", Unit::Volt),
    ];
    for (machine, id, unit) in all {
        let check = row(machine, id, "").check;
        let reading = check.reading.as_ref().expect("a number");
        assert_eq!(reading.unit, unit, "{id}");
        assert_eq!(reading.follows_air, unit == Unit::Psi, "{id}: height");
        assert!(check.source.contains("common practice, no source") || check.source.contains(": "), "{id}");
    }
}
