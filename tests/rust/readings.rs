//! Readings of the gauges of the shipped machines: far ones, impossible ones, their units and what they mean.

use halfsplit::advise::ReadingMeaning;
use halfsplit::job::{Job, JobFile, Outcome, StepRecord};
use halfsplit::machine::Machine;
use halfsplit::machine::file::{Check, LawTerm, Meaning};
use halfsplit::reading::{Law, LawShape, Span, Unit};
use halfsplit_tests::{assess_on, attempt, between, cause, close, found, job, mower, odds, read, text};
use serde_json::{Value, json};

/// Rounding errors of a network, relative.
const ROUNDING: f64 = 1e-6;

fn shipped() -> Vec<Machine> {
    Machine::all_shipped().expect("the shipped machines")
}

fn on(machine: &Machine, steps: &[StepRecord]) -> JobFile {
    JobFile { machine: machine.id().to_owned(), ..job(steps) }
}

/// The chances of all conditions to act, after a failed start and these findings.
fn chances(machine: &Machine, findings: &[StepRecord]) -> Vec<f64> {
    let file = on(machine, &[&[attempt(Outcome::Nothing)], findings].concat());
    Job::new(machine, &file).and_then(|job| job.cause_chances()).expect("chances")
}

fn gauges(machine: &Machine) -> impl Iterator<Item = &Check> {
    machine.file().checks.iter().filter(|check| check.reading.is_some())
}

// Readings beyond the usual range.

fn shape(term: &LawTerm) -> Option<(f64, LawShape)> {
    let shape = match (term.mean, term.sd, term.median, term.ratio) {
        (Some(mean), Some(sd), ..) => LawShape::Normal { mean, sd },
        (.., Some(median), Some(ratio)) => LawShape::LogNormal { median, ratio },
        _ => return None,
    };
    Some((term.weight, shape))
}

fn law(terms: &[LawTerm], [low, high]: [f64; 2], slip: f64) -> Law {
    Law::new(&terms.iter().filter_map(shape).collect::<Vec<_>>(), low, high, slip).expect("a law")
}

/// The marks of the scale beyond the middle 95 % of every law, outwards from there: above and below.
fn outside(check: &Check) -> [Vec<f64>; 2] {
    let reading = check.reading.as_ref().expect("a number");
    let [low, high] = reading.range;
    let laws: Vec<Law> = reading.rows.iter().map(|row| law(&row.law, reading.range, 0.0)).collect();
    let all_beyond = |from: f64, to: f64| laws.iter().all(|law| law.mass(Span { from, to }) < 0.025);
    let half = reading.resolution / 2.0;
    let marks = ((high - low) / reading.resolution).round() as usize;
    let marks: Vec<f64> = (0..=marks).map(|i| low + reading.resolution * i as f64).collect();
    let above = marks.iter().copied().filter(|x| all_beyond(x - half, high)).collect();
    let below = marks.iter().rev().copied().filter(|x| all_beyond(low, x + half)).collect();
    [above, below]
}

/// Some of the marks: the first ones, the last, and some between.
fn some(marks: &[f64]) -> Vec<f64> {
    let step = marks.len().div_ceil(6).max(1);
    let last = marks.last().copied();
    let mut some: Vec<f64> = marks.iter().copied().step_by(step).chain(last).collect();
    some.dedup();
    some
}

#[test]
fn the_evidence_of_a_reading_does_not_fall_again_towards_the_ends_of_the_scale() {
    let mut sides = 0;
    for machine in shipped() {
        let without = chances(&machine, &[]);
        for check in gauges(&machine) {
            let unit = check.reading.as_ref().expect("a number").unit;
            for marks in outside(check) {
                let marks = some(&marks);
                let Some((first, rest)) = marks.split_first() else { continue };
                let at_first = chances(&machine, &[read(&check.id, *first, unit)]);
                let factor = |c: &usize| odds(at_first[*c]) / odds(without[*c]);
                let leads =
                    (0..without.len()).max_by(|a, b| factor(a).total_cmp(&factor(b))).expect("causes");
                let mut before = odds(at_first[leads]);
                for value in rest {
                    let now = odds(chances(&machine, &[read(&check.id, *value, unit)])[leads]);
                    let place = format!("{} {} {value} {}", machine.id(), check.id, unit.id());
                    assert!(now >= before * (1.0 - ROUNDING), "{place}: {before} falls to {now}");
                    before = now;
                }
                sides += usize::from(!rest.is_empty());
            }
        }
    }
    // Nearly every scale is longer than its laws, at one end at least.
    assert!(sides > 40, "{sides} ends of scales");
}

/// The place of a condition among all conditions.
#[track_caller]
fn place_of(machine: &Machine, id: &str) -> usize {
    let parts = machine.file().parts.iter();
    let mut all = parts.flat_map(|p| p.conditions.iter().map(|c| format!("{}/{}", p.id, c.id)));
    all.position(|c| c == id).expect(id)
}

/// Asserts that a far reading speaks for a condition at least as much as a clear one.
#[track_caller]
fn at_least(machine: &Machine, check: &str, unit: Unit, id: &str, far: f64, clear: f64) {
    let at = place_of(machine, id);
    let chance = |value: f64| chances(machine, &[read(check, value, unit)])[at];
    let (far, clear, prior) = (odds(chance(far)), odds(chance(clear)), odds(chances(machine, &[])[at]));
    assert!(clear > 2.0 * prior, "{check}: {clear} is not clear, from {prior}");
    assert!(far >= clear * (1.0 - ROUNDING), "{check}: {far} after {clear}");
}

#[test]
fn five_volts_twelve_volts_lost_no_pressure_and_three_millimetres_are_clear() {
    let riding = Machine::shipped("riding-mower").expect("the riding mower");
    at_least(&riding, "battery-rest-volts", Unit::Volt, "battery/flat", 5.0, 11.9);
    at_least(&riding, "cable-drop", Unit::Volt, "battery-cables/bad", 12.0, 2.5);
    at_least(mower(), "gauge-pull", Unit::Psi, "valves/stuck-open", 0.0, 5.0);
    at_least(mower(), "plug-gap-measured", Unit::Mm, "plug-gap/wide", 3.0, 1.4);
}

#[test]
fn a_whole_band_has_its_mass_under_the_laws() {
    let riding = Machine::shipped("riding-mower").expect("the riding mower");
    let answer = assess_on(&riding, &on(&riding, &[attempt(Outcome::Nothing)])).expect("an assessment");
    for (check, id) in [("battery-rest-volts", "battery/flat"), ("cable-drop", "battery-cables/bad")] {
        let authored = riding.file().checks.iter().find(|c| c.id == check).expect(check);
        let reading = authored.reading.as_ref().expect("a number");
        let [low, high] = reading.range;
        // The rows of both gauges: acting, harmless, sound.
        let before = cause(&answer, id);
        let prior = [before.p_cause, before.p_present - before.p_cause, 1.0 - before.p_present];
        let laws: Vec<Law> =
            reading.rows.iter().map(|row| law(&row.law, reading.range, reading.slip)).collect();
        let mut from = low;
        for result in &authored.results {
            let span = Span { from, to: result.up_to.unwrap_or(high) };
            let joint: Vec<f64> = laws.iter().zip(prior).map(|(law, p)| p * law.mass(span)).collect();
            let expected = joint[0] / joint.iter().sum::<f64>();
            for step in [found(check, &result.id), between(check, [span.from, span.to], reading.unit)] {
                close(&result.id, chances(&riding, &[step])[place_of(&riding, id)], expected, ROUNDING);
            }
            from = span.to;
        }
    }
}

// Numbers as people write them.

fn recorded(machine: &str, check: &str, reading: &Value) -> Result<JobFile, String> {
    let steps = json!([{"do": "check", "check": check, "reading": reading}]);
    let text = json!({"machine": machine, "steps": steps}).to_string();
    JobFile::from_json(&text).map_err(|error| error.to_string())
}

fn refusal(machine: &str, check: &str, reading: &Value) -> String {
    let file = recorded(machine, check, reading).expect("a job");
    let machine = Machine::shipped(machine).expect("a machine");
    Job::new(&machine, &file).map(|_| ()).expect_err("an impossible number").to_string()
}

#[test]
fn an_impossible_number_is_to_be_read_again() {
    let below = refusal("mower-recoil", "gauge-pull", &json!({"value": -5, "unit": "psi"}));
    assert!(below.ends_with("goes from 0 to 300 psi; read it again"), "{below}");
    let above = refusal("riding-mower", "battery-rest-volts", &json!({"value": 400, "unit": "V"}));
    assert!(above.contains("400 volt") && above.contains("read it again, or record over 15 volt"), "{above}");
    for over in [json!({"over": 400, "unit": "V"}), json!({"over": -1, "unit": "V"})] {
        let text = refusal("riding-mower", "battery-rest-volts", &over);
        assert!(text.contains("read it again"), "{text}");
    }
    let percent = refusal("mower-recoil", "leak-down", &json!({"over": 120, "unit": "%"}));
    assert!(percent.contains("nothing lies over that"), "{percent}");
}

#[test]
fn a_number_beyond_the_gauge_counts_as_its_end() {
    let riding = Machine::shipped("riding-mower").expect("the riding mower");
    let over = |over: f64| {
        let reading = json!({"over": over, "unit": "V"});
        let file = recorded("riding-mower", "charging-volts", &reading).expect("a job");
        chances(&riding, &file.steps)
    };
    let (end, beyond) = (over(18.0), over(24.0));
    end.iter().zip(&beyond).for_each(|(a, b)| close("over the end", *b, *a, ROUNDING));
    let at_end = chances(&riding, &[read("charging-volts", 17.9, Unit::Volt)]);
    end.iter().zip(&at_end).for_each(|(a, b)| close("at the end", *b, *a, 1e-3));
}

#[test]
fn units_are_read_as_people_write_them_and_written_in_one_way() {
    for (check, machine, value, unit, id) in [
        ("battery-rest-volts", "riding-mower", 12.4, "V", "volt"),
        ("cable-drop", "riding-mower", 300.0, "mV", "millivolt"),
        ("gauge-pull", "mower-recoil", 500.0, "kPa", "kpa"),
        ("coil-ohms", "mower-recoil", 6.0, "k\u{2126}", "kohm"),
        ("coil-ohms", "mower-recoil", 6.0, "k\u{3a9}", "kohm"),
        ("plug-gap-measured", "mower-recoil", 30.0, "thou", "thou"),
        ("plug-gap-measured", "mower-recoil", 0.03, "\"", "in"),
        ("fuel-weigh", "mower-recoil", 75.0, "g", "gram"),
        ("minutes-to-die", "mower-recoil", 10.0, "min", "minute"),
    ] {
        let file = recorded(machine, check, &json!({"value": value, "unit": unit})).expect(unit);
        assert!(file.to_json().expect("JSON").contains(&format!("\"unit\": \"{id}\"")), "{unit}");
        let on = Machine::shipped(machine).expect("a machine");
        Job::new(&on, &file).map(|_| ()).expect(unit);
    }
    // 0.03 in, 30 thou and 0.762 mm are the same gap.
    let at = |value: f64, unit: Unit| chances(mower(), &[read("plug-gap-measured", value, unit)]);
    let mm = at(0.762, Unit::Mm);
    for other in [at(30.0, Unit::Thou), at(0.03, Unit::In)] {
        mm.iter().zip(other).for_each(|(a, b)| close("a gap", b, *a, ROUNDING));
    }
    let warm = json!({"value": 8, "unit": "kohm", "temperature": {"value": 80, "unit": "\u{b0}C"}});
    assert!(recorded("mower-recoil", "coil-ohms", &warm).is_ok());
    let unknown = recorded("mower-recoil", "gauge-pull", &json!({"value": 9, "unit": "pounds"}));
    let unknown = unknown.expect_err("no unit");
    for accepted in ["steps[0].reading.unit", "`psi`", "`V`", "`mV`", "`kohm`", "`thou`"] {
        assert!(unknown.contains(accepted), "{unknown}");
    }
}

// What readings mean.

fn meanings(machine: &Machine) -> impl Iterator<Item = (&Check, &Meaning)> {
    gauges(machine).flat_map(|c| c.results.iter().flat_map(move |r| r.means.iter().map(move |m| (c, m))))
}

#[test]
fn every_band_of_every_gauge_has_a_sentence_in_english_and_german() {
    let german: Value = serde_json::from_str(&text("../web/words/de/checks.json")).expect("a dictionary");
    for machine in shipped() {
        for check in gauges(&machine) {
            for result in &check.results {
                let last = result.means.last().expect("a sentence");
                let place = format!("{} {} {}", machine.id(), check.id, result.id);
                assert!(last.when.is_empty(), "{place}: {last:?}");
                // A band that is called normal is not called low for every build.
                let bad = ["Low", "Too", "Far too", "Next to", "Hardly"];
                assert!(
                    !result.normal || !bad.iter().any(|b| last.text.starts_with(b)),
                    "{place}: {}",
                    last.text
                );
            }
        }
        for (check, meaning) in meanings(&machine) {
            let place = format!("{} {}: {}", machine.id(), check.id, meaning.text);
            assert!(meaning.text.ends_with('.') && meaning.text.split(' ').count() <= 32, "{place}");
            let translated = german[&meaning.text].as_str().expect(&place);
            assert!(translated.ends_with('.') && translated != meaning.text, "{place}");
        }
    }
}

#[test]
fn the_value_shown_is_the_reading_given() {
    for machine in shipped() {
        let middle = |check: &Check| {
            let reading = check.reading.as_ref().expect("a number");
            read(&check.id, (reading.range[0] + reading.range[1]) / 2.0, reading.unit)
        };
        let steps: Vec<StepRecord> = gauges(&machine).take(3).map(middle).collect();
        let shown = assess_on(&machine, &on(&machine, &steps)).expect("an assessment").readings;
        let given = |step: &StepRecord| match step {
            StepRecord::Check { check, reading, .. } => (check.clone(), reading.clone()),
            _ => unreachable!(),
        };
        let of = |r: &ReadingMeaning| (r.check.clone(), r.reading.clone());
        assert_eq!(shown.iter().map(of).collect::<Vec<_>>(), steps.iter().map(given).collect::<Vec<_>>());
        for reading in &shown {
            let check = machine.file().checks.iter().find(|c| c.id == reading.check).expect("a check");
            let band = check.results.iter().find(|r| r.name == reading.band).expect("a band");
            assert!(band.means.iter().any(|m| m.text == reading.text), "{reading:?}");
        }
    }
}

/// The meaning of the last reading of a job.
fn meaning(machine: &Machine, file: &JobFile) -> ReadingMeaning {
    assess_on(machine, file).expect("an assessment").readings.pop().expect("a reading")
}

#[test]
fn a_sentence_goes_by_what_is_fitted() {
    let at = |psi: f64, fitted: &[(&str, &str)]| {
        let fitted = fitted.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
        let file = JobFile { fitted, ..job(&[read("gauge-pull", psi, Unit::Psi)]) };
        meaning(mower(), &file).text
    };
    let open = at(60.0, &[("valve-gear", "side")]);
    assert!(open.contains("with a compression release") && open.contains("without one"), "{open}");
    assert!(open.contains("look it up"), "{open}");
    let with = at(60.0, &[("release", "fitted")]);
    assert!(with.starts_with("Normal with a compression release;"), "{with}");
    let without = at(60.0, &[("release", "not-fitted"), ("valve-gear", "overhead")]);
    assert!(without.starts_with("Low for overhead valves"), "{without}");
    // The odds say that a release is fitted, as a job can: looked up and found.
    let steps = [found("release-data", "fitted"), read("gauge-pull", 60.0, Unit::Psi)];
    assert_eq!(meaning(mower(), &job(&steps)).text, with);
}

#[test]
fn the_latest_reading_of_a_gauge_counts() {
    let steps = [
        read("gauge-pull", 90.0, Unit::Psi),
        read("leak-down", 10.0, Unit::Percent),
        read("gauge-pull", 20.0, Unit::Psi),
        found("leak-down", "open"),
    ];
    let shown = assess_on(mower(), &job(&steps)).expect("an assessment").readings;
    let steps: Vec<(usize, &str, Option<f64>)> =
        shown.iter().map(|r| (r.step, r.band.as_str(), r.reading.as_ref().and_then(|r| r.value))).collect();
    assert_eq!(steps, [(2, "low", Some(20.0)), (3, "open", None)]);
}
