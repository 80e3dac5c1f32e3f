//! Checks every figure with a unit in the texts of the shipped machines against its source. The sources of the laws
//! of readings are in `laws`.

use std::collections::BTreeSet;

use halfsplit::machine::Machine;
use halfsplit::reading::air::{compression_gauge, effective_ratio};
use halfsplit::reading::{Unit, matter};
use halfsplit_tests::{close, inch, mower, printed};
use serde_json::Value;

/// A figure with its place and its source.
struct Said {
    figure: &'static str,
    /// Ids of the items whose texts have it.
    by: &'static [&'static str],
    source: &'static str,
    /// Checks its numbers against the source; `None` for common practice and for definitions.
    holds: Option<fn(&[f64])>,
}

const PRACTICE: &str = "common practice, no source";
const MEMORY: &str = "from memory";
const DEFINITION: &str = "what is meant, not what is so";

const fn said(figure: &'static str, by: &'static [&'static str], source: &'static str) -> Said {
    Said { figure, by, source, holds: None }
}

const fn held(
    figure: &'static str,
    by: &'static [&'static str],
    source: &'static str,
    holds: fn(&[f64]),
) -> Said {
    Said { figure, by, source, holds: Some(holds) }
}

#[rustfmt::skip]
const SAID: &[Said] = &[
    // Gaps.
    held("4.2 mm", &["gap-tester", "spark-gap-tester", "spark-longest-jump"],
        "0.166 in, the gap that a magneto should jump: US Army TM 5-4240-501-14&P",
        |n| printed("0.166 in", inch(0.166), n[0], 1)),
    held("0.76 mm", &["plug-gap-measured"],
        "0.028 to 0.030 in: US Army TM 5-4310-360-14; 0.030 in: several makers' handbooks",
        |n| { printed("0.030 in", inch(0.030), n[0], 2); assert!(inch(0.028) < n[0]); }),
    held("0.15 to 0.36 mm", &["coil-air-gap"], "0.006 to 0.010, 0.010 to 0.014 and 0.0125 in: makers' handbooks, a public page of answers",
        |n| { printed("0.006 in", inch(0.006), n[0], 2); printed("0.014 in", inch(0.014), n[1], 2); }),
    held("0.10 to 0.20 mm", &["valve-clearance"], PRACTICE,
        |n| { printed("0.004 in", inch(0.004), n[0], 2); printed("0.008 in", inch(0.008), n[1], 2); }),
    said("6 mm", &["valve-clearance"], PRACTICE),
    said("6 to 20 mm", &["magnet-look"], PRACTICE),
    said("8 mm", &["spark-longest-jump"], PRACTICE),
    // Sparks and windings.
    held("10,000 volts", &["shock"],
        "10 kV at the speed of a pull: a maker's handbook; 4.2 mm of air take 14.1 (Naidu and Kamaraju, from memory; recomputed)",
        |n| { close("at the speed of a pull", n[0], 10e3, 0.0); printed("4.2 mm", matter::spark_kv(4.2, 1.0), 14.1, 1); assert!(1e3 * matter::spark_kv(4.2, 1.0) > n[0]); }),
    held("80 degrees", &["coil-ohms"],
        "a quarter high: copper grows by 0.393 % per kelvin at 20 degrees (International Annealed Copper Standard); recomputed 1.236",
        |n| { let hot = matter::growth(matter::COPPER_PER_KELVIN, 20.0, n[0]); printed("hot", hot, 1.236, 3); close("a quarter", hot, 1.25, 0.02); }),
    held("12.6 V", &["battery-rest-volts"],
        "12.65 V charged, of density 1.265: a battery maker's page; 6 (density + 0.84): from memory",
        |n| printed("by density", 6.0 * (1.265 + 0.84), n[0], 1)),
    held("10.5 V", &["battery-rest-volts"], "five cells of six at the 12.65 V of a charged battery; recomputed",
        |n| printed("five cells", 12.65 * 5.0 / 6.0, n[0], 1)),
    said("15 V", &["charging-volts"], PRACTICE),
    said("12 V", &["charged-battery", "charger", "riding-mower"], DEFINITION),
    // Compression.
    held("50 psi", &["gauge-pull"],
        "8.5:1 with a valve held off its seat to 60 degrees before top, n = 1.25: recomputed 51; 45 to 55 are read",
        |n| { printed("released", compression_gauge(14.696, effective_ratio(8.5, 120.0, 1.7), 1.25), 51.0, 0); assert!((45.0..=55.0).contains(&n[0])); }),
    said("10 psi", &["gauge-pull"], MEMORY),
    said("55 psi", &["gauge-pull"], PRACTICE),
    held("3.8 bar", &["gauge-pull"], "55 psi, recomputed: NIST SP 811, appendix B",
        |n| printed("55 psi", Unit::Psi.convert(55.0, Unit::Bar).expect("pressures"), n[0], 1)),
    said("600 to 1000 rpm", &["gauge-spun"], MEMORY),
    said("10 to 30 %", &["gauge-wet"], PRACTICE),
    said("10 %", &["gauge-wet"], PRACTICE),
    said("30 %", &["gauge-wet"], PRACTICE),
    said("5 to 8 psi", &["case-hold"], MEMORY),
    said("20 psi", &["air-pressure"], PRACTICE),
    // Fuel.
    held("10 %", &["fuel-layer-height"], "one part of water in ten, by volumes",
        |n| close("water", matter::lower_layer_percent(0.0, 0.0), n[0], 1e-9)),
    held("19 %", &["fuel-layer-height"], "the same, and a tenth of ethanol in nine parts of petrol",
        |n| close("E10", matter::lower_layer_percent(0.1, 0.0), n[0], 1e-9)),
    held("100 mL", &["fuel-weigh"], "the sample that the law is made for: petrol of 720 to 775 kg/m3 (EN 228, a secondary copy) is 72.0 to 77.5 g",
        |n| { printed("light", matter::sample_grams(n[0], &[(1.0, 720.0)]), 72.0, 1); printed("heavy", matter::sample_grams(n[0], &[(1.0, 775.0)]), 77.5, 1); }),
    said("50 to 100 mL", &["fuel-jar"], PRACTICE),
    said("30 to 60 mL", &["test-can"], MEMORY),
    // Safety.
    held("20 ft", &["generator-air"], "US Consumer Product Safety Commission, in news copies", |n| close("feet", n[0], 20.0, 0.0)),
    held("6 m", &["generator-air"], "the same: the foot is 0.3048 m (NIST SP 811)", |n| printed("20 ft", 20.0 * 0.3048, n[0], 0)),
    held("15 to 30 minutes", &["hot"],
        "a generator is to cool for 15 before it is refuelled: a city fire department page; 30: common practice, no source",
        |n| close("minutes", n[0], 15.0, 0.0)),
    held("3 s", &["safety-device"], "a blade stops within 3.0 s of letting go: US 16 CFR 1205.5(a)(1)(iii)", |n| {
        close("seconds", n[0], 3.0, 0.0);
        let blade = mower().file().cautions.iter().find(|c| c.id == "blade-turns").expect("a warning");
        assert!(blade.stop.contains("within three seconds"), "said in words: {}", blade.stop);
    }),
    said("3 m", &["backfire"], PRACTICE),
    // Care, cold, and the kind of engine.
    said("25 hours", &["filter"], PRACTICE),
    said("15 degrees", &["frost", "frost-ask"], DEFINITION),
    said("125 to 225 cc", &["mower-recoil"], DEFINITION),
    said("300 to 600 cc", &["riding-mower"], DEFINITION),
    said("20 to 60 cc", &["two-stroke-handheld"], DEFINITION),
    said("80 to 450 cc", &["generator-portable"], DEFINITION),
    said("150 to 420 cc", &["snow-thrower"], DEFINITION),
];

const UNITS: &[&str] = &[
    "psi", "kPa", "bar", "V", "volt", "volts", "kV", "mm", "cm", "m", "ft", "in", "ohm", "kohm", "g",
    "grams", "mL", "litres", "cc", "degrees", "s", "seconds", "minutes", "hours", "months", "rpm", "%", "kg",
    "amps",
];

/// Figures with their unit in a text: a number, or one "to" another, and the word after it.
fn figures(text: &str) -> Vec<String> {
    let words: Vec<&str> =
        text.split_whitespace().map(|w| w.trim_matches(|c| "().,;:-\"".contains(c))).collect();
    let number = |at: usize| {
        let word = words.get(at)?;
        (word.starts_with(|c: char| c.is_ascii_digit()) && word.replace(',', "").parse::<f64>().is_ok())
            .then_some(*word)
    };
    let mut found = Vec::new();
    let mut at = 0;
    while at < words.len() {
        let Some(first) = number(at) else {
            at += 1;
            continue;
        };
        let range = (words.get(at + 1) == Some(&"to")).then(|| number(at + 2)).flatten();
        let next = at + if range.is_some() { 3 } else { 1 };
        if let Some(unit) = words.get(next).filter(|w| UNITS.contains(w)) {
            found.push(range.map_or(format!("{first} {unit}"), |last| format!("{first} to {last} {unit}")));
        }
        at = next;
    }
    found
}

/// Collects all texts with the id of their item: a check, a part, a warning, the machine.
fn collect(value: &Value, id: &str, depth: usize, all: &mut BTreeSet<(String, String)>) {
    match value {
        Value::String(text) => all.extend(figures(text).into_iter().map(|f| (f, id.to_owned()))),
        Value::Array(items) => items.iter().for_each(|item| collect(item, id, depth + 1, all)),
        Value::Object(fields) => {
            // Results and conditions count as texts of their check or part.
            let own = fields.get("id").and_then(Value::as_str).filter(|_| depth <= 2).unwrap_or(id);
            let read = fields.iter().filter(|(key, _)| !["source", "sources"].contains(&key.as_str()));
            read.for_each(|(_, inner)| collect(inner, own, depth + 1, all));
        }
        _ => {}
    }
}

#[test]
fn every_figure_that_a_machine_says_is_listed_with_its_source() {
    let mut found = BTreeSet::new();
    for machine in Machine::all_shipped().expect("the shipped machines") {
        let file = serde_json::to_value(machine.file()).expect("a description");
        collect(&file, machine.id(), 0, &mut found);
    }
    let listed: BTreeSet<(String, String)> =
        SAID.iter().flat_map(|s| s.by.iter().map(|by| (s.figure.to_owned(), (*by).to_owned()))).collect();
    let missing: Vec<_> = found.difference(&listed).collect();
    assert!(missing.is_empty(), "said without a source: {missing:?}");
    let gone: Vec<_> = listed.difference(&found).collect();
    assert!(gone.is_empty(), "not said any more: {gone:?}");
}

#[test]
fn every_figure_is_what_its_source_says() {
    for said in SAID {
        assert!(!said.source.is_empty(), "{}", said.figure);
        if let Some(holds) = said.holds {
            let numbers = said.figure.split_whitespace().map(|word| word.replace(',', "").parse());
            holds(&numbers.filter_map(Result::ok).collect::<Vec<f64>>());
        }
    }
}

#[test]
fn figures_are_found_in_a_text() {
    assert_eq!(
        figures(
            "About 0.10 to 0.20 mm, or (over 10,000 volts); 8 mm. Not 3 cheers, 16 CFR 1205.5 or B12 psi."
        ),
        ["0.10 to 0.20 mm", "10,000 volts", "8 mm"]
    );
}
