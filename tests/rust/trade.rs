//! Traps of the trade, and what the shipped machines must be as descriptions. What is expected is
//! common practice (no source) unless a source is named.

use std::collections::BTreeMap;

use halfsplit::advise::Assessment;
use halfsplit::job::{Job, JobFile, Known, Outcome, StepRecord};
use halfsplit::machine::family::Library;
use halfsplit::machine::{Machine, Problem};
use halfsplit::reading::{Unit, matter};
use halfsplit_tests::{
    assess, assess_on, attempt, cause, close, found, found_as, job, machine, mower, odds, ranked, read,
    repair,
};
use serde_json::{Value, json};

fn after(steps: &[StepRecord]) -> Assessment {
    assess(&job(&[&[attempt(Outcome::Nothing)], steps].concat()))
}

fn p(answer: &Assessment, id: &str) -> f64 {
    cause(answer, id).p_cause
}

fn shipped() -> Vec<Machine> {
    Machine::all_shipped().expect("the shipped machines")
}

// The ten traps.

#[test]
fn a_dirty_filter_is_found_far_more_often_than_it_is_guilty() {
    let answer = after(&[found("filter-look", "dirty")]);
    let filter = cause(&answer, "filter/dirty");
    assert!(filter.p_present > 0.5 && filter.p_cause < 0.05, "{filter:?}");
}

#[test]
fn a_release_reads_low_on_a_sound_engine() {
    let gauge = read("gauge-pull", 50.0, Unit::Psi);
    let worn =
        |more: &str| cause(&after(&[found("release-data", more), gauge.clone()]), "rings/worn").p_present;
    assert!(worn("not-fitted") > 2.0 * worn("fitted"));
}

#[test]
fn a_wet_plug_says_little_between_flooding_and_no_spark_and_much_against_no_fuel() {
    let (before, wet) = (after(&[]), after(&[found("plug-wet", "dripping")]));
    let factor = |id: &str| odds(p(&wet, id)) / odds(p(&before, id));
    let between = factor("cylinder/flooded") / factor("coil/dead");
    assert!((1.0 / 6.0..6.0).contains(&between), "{between}");
    for dry in ["tank/empty", "needle/stuck-shut"] {
        assert!(factor(dry) < 0.3 && factor("coil/dead") > 2.0, "{dry}");
    }
}

#[test]
fn a_glow_in_the_lead_clears_the_coil_and_not_the_plug() {
    let (before, lit) = (after(&[]), after(&[found("spark-glow-inline", "flashes")]));
    assert!(p(&lit, "coil/dead") < 0.3 * p(&before, "coil/dead"));
    for plug in ["plug/cracked", "plug/fouled", "plug-gap/closed"] {
        assert!(p(&lit, plug) > 0.9 * p(&before, plug), "{plug}");
    }
}

#[test]
fn what_did_not_stop_it_does_not_stop_it_the_next_time() {
    let two = assess(&job(&[attempt(Outcome::Nothing), attempt(Outcome::Nothing)]));
    let ratio = odds(p(&two, "jet/gummed")) / odds(p(&after(&[]), "jet/gummed"));
    assert!((0.8..1.2).contains(&ratio), "{ratio}");
}

#[test]
fn testing_changes_the_machine() {
    // Pulling floods, from the third attempt on; the plug out and pulling dries; standing cools a coil.
    let flooded = |a: &Assessment| cause(a, "cylinder/flooded").p_present;
    let pulled = assess(&job(&vec![attempt(Outcome::Nothing); 5]));
    assert!(flooded(&pulled) > cause(&pulled, "cylinder/flooded").p_was_present + 0.03);
    let wet = [found("plug-wet", "dripping"), found("thumb-puff", "pops")];
    let (before, dried) = (after(&wet[..1]), after(&wet));
    assert!(flooded(&dried) < 0.8 * flooded(&before), "{} to {}", flooded(&before), flooded(&dried));
    let hot = [found("ask-how-it-quit", "cut-out"), read("minutes-to-die", 15.0, Unit::Minute)];
    let (warm, cold) = (after(&hot), after(&[hot.to_vec(), vec![repair("let-it-stand")]].concat()));
    assert!(p(&cold, "coil/weak-hot") < 0.3 * p(&warm, "coil/weak-hot"));
    assert!(cause(&cold, "coil/weak-hot").p_present > 0.9 * cause(&warm, "coil/weak-hot").p_present);
    // A look that pushes the lead home has mended it; hearsay of a look has not.
    let (seen, told) = (found("lead-look", "loose"), found_as("lead-look", "loose", Known::Told));
    let (seen, told) = (after(&[seen]), after(&[told]));
    assert!(p(&seen, "lead/off") < 0.1 * cause(&seen, "lead/off").p_was_cause);
    assert!(p(&told, "lead/off") > 0.9 * cause(&told, "lead/off").p_was_cause);
}

#[test]
fn a_cough_is_strong_and_silence_is_weak() {
    let (silent, cough) = (after(&[]), assess(&job(&[attempt(Outcome::Tries)])));
    let fresh = assess(&job(&[]));
    for dead in ["coil/dead", "stop-lead/grounded", "lead/off", "control/in-stop"] {
        let by = |a: &Assessment| odds(p(a, dead)) / odds(p(&fresh, dead));
        assert!(by(&cough) < 0.4 * by(&silent), "{dead}: {} against {}", by(&cough), by(&silent));
    }
}

#[test]
fn faults_come_together() {
    let joint = |given: &str, result: &str, other: &str| {
        let answer = assess(&job(&[found(given, result)]));
        cause(&answer, other).p_present / cause(&assess(&job(&[])), other).p_present
    };
    assert!(joint("fuel-smell", "sour", "jet/gummed") > 1.3);
    assert!(joint("key-look", "sheared", "crank/broken") > 2.0);
    assert!(joint("choke-look", "not-closing", "cable/misset") > 1.5);
    assert!(joint("ask-tipped", "wrong-way", "plug/fouled") > 1.3);
    assert!(joint("throat-look", "dripping", "headspace/locked") > 1.2);
}

#[test]
fn hearsay_moves_less_than_a_look() {
    let before = odds(p(&after(&[]), "coil/dead"));
    let by = |known| odds(p(&after(&[found_as("spark-gap-tester", "none", known)]), "coil/dead")) / before;
    let (told, seen) = (by(Known::Told), by(Known::Seen));
    assert!(told > 1.0 && told < 0.7 * seen, "{told} and {seen}");
}

#[test]
fn work_that_overlaps_is_paid_once() {
    // The cover is off for the first check, and the second does not pay for it again.
    let first = ranked(&after(&[]), "coil-air-gap").minutes;
    let opened = after(&[found("key-peek", "in-line")]);
    let cover = mower().file().setups.iter().find(|s| s.id == "cover-off").expect("a set-up").minutes;
    close("cover", first - ranked(&opened, "coil-air-gap").minutes, cover, 1e-9);
    // One repair mends several things.
    let cures = &mower().file().repairs.iter().find(|r| r.id == "drain-and-refill").expect("a repair").cures;
    assert!(cures.len() >= 3);
}

// Readings.

#[test]
fn a_coil_is_judged_at_its_temperature() {
    // 0.393 % per kelvin at 20 degrees (International Annealed Copper Standard): 8 kohm at 20 degrees
    // is 9.886 at 80.
    let hot = 8.0 * matter::growth(matter::COPPER_PER_KELVIN, 20.0, 80.0);
    close("hot", hot, 9.8864, 1e-9);
    let at = |value: f64, temperature: Value| {
        let reading = json!({"value": value, "unit": "kohm", "temperature": temperature});
        let step = json!({"do": "check", "check": "coil-ohms", "reading": reading});
        let text =
            json!({"machine": "mower-recoil", "steps": [{"do": "attempt", "outcome": "nothing"}, step]});
        let file = JobFile::from_json(&text.to_string()).expect("a job");
        Job::new(mower(), &file).and_then(|j| j.cause_chances()).expect("chances")
    };
    let cold = at(8.0, json!({"value": 20, "unit": "celsius"}));
    for (value, temperature) in
        [(hot, json!({"value": 80, "unit": "celsius"})), (hot, json!({"value": 176, "unit": "fahrenheit"}))]
    {
        // The reading stands for a step of the scale, which is a little narrower when divided.
        at(value, temperature).iter().zip(&cold).for_each(|(a, b)| close("chance", *a, *b, 1e-3));
    }
}

#[test]
fn weights_of_fuel_are_those_of_the_standards() {
    // Petrol 720 to 775 kg/m3 (EN 228), diesel 820 to 845 (EN 590), both at 15 degrees, secondary copies.
    let check = mower().file().checks.iter().find(|c| c.id == "fuel-weigh").expect("the check");
    let reading = check.reading.as_ref().expect("a law");
    let petrol = reading.rows.last().expect("a row").law[0].mean.expect("a mean");
    let grams = |density: f64| matter::sample_grams(100.0, &[(1.0, density)]);
    assert!((grams(720.0)..grams(775.0)).contains(&petrol));
    let wrong: Vec<f64> = reading.rows[1].law.iter().filter_map(|t| t.mean).collect();
    assert!((grams(820.0)..grams(845.0)).contains(&wrong[0]), "diesel: {}", wrong[0]);
    // Half and half of the two means.
    close("half diesel", wrong[1], f64::midpoint(petrol, wrong[0]), 0.05);
    // 9.6e-4 per kelvin (physics textbook): 0.07 g for a degree, 100 mL.
    let rule = reading.follows_temperature.as_ref().expect("a rule");
    close("per degree", petrol * rule.per_kelvin, -0.0716, 5e-4);
    let (before, diesel) = (after(&[]), after(&[read("fuel-weigh", 83.0, Unit::Gram)]));
    assert!(p(&diesel, "fuel/wrong") > 5.0 * p(&before, "fuel/wrong"));
    let watery = after(&[read("fuel-weigh", 3.52, Unit::Ounce)]);
    assert!(p(&watery, "bowl/water") > 5.0 * p(&before, "bowl/water"), "3.52 oz is 99.8 g: water");
}

#[test]
fn the_lower_layer_grows_by_what_the_water_washes_out() {
    // By volumes: 9 parts E10 hold 0.9 of ethanol, so that one part of water becomes 1.9 of ten.
    close("E10", matter::lower_layer_percent(0.10, 0.0), 19.0, 1e-9);
    close("no ethanol", matter::lower_layer_percent(0.0, 0.0), 10.0, 1e-9);
}

#[test]
fn sparks_and_voltages() {
    // 4.2 mm in open air 14.1 kV, 0.635 mm 3.1 kV and 10.9 kV at 120 psi: recomputed from the formula;
    // a vehicle-technology textbook prints 2 to 3 kV for 0.6 mm in open air, a maker's handbook 10 kV
    // for 0.025 in at 120 psi.
    close("4.2 mm", matter::spark_kv(4.2, 1.0), 14.1, 0.05);
    close("0.635 mm", matter::spark_kv(0.635, 1.0), 3.1, 0.05);
    let pressed = matter::compressed_density(120.0 / 14.696, 1.4);
    close("0.635 mm at 120 psi", matter::spark_kv(0.635, pressed), 10.9, 0.1);
}

#[test]
fn a_battery_by_its_voltage() {
    // 12.65 V charged, 11.89 V flat (a battery maker's page); 9.6 V the least under load (load tests).
    let riding = Machine::shipped("riding-mower").expect("the riding mower");
    let flat = |check: &str, volts: f64| {
        let file = JobFile { machine: "riding-mower".into(), ..job(&[read(check, volts, Unit::Volt)]) };
        p(&assess_on(&riding, &file).expect("an answer"), "battery/flat")
    };
    assert!(flat("battery-rest-volts", 11.89) > 5.0 * flat("battery-rest-volts", 12.65));
    assert!(flat("battery-cranking-volts", 7.5) > 5.0 * flat("battery-cranking-volts", 10.5));
    assert!(flat("battery-rest-volts", 12.6) > 0.01, "a failing battery can look charged");
}

#[test]
fn every_likelihood_says_where_its_figures_come_from() {
    let mut laws = 0;
    for machine in shipped() {
        let file = machine.file();
        let checks = file.checks.iter().map(|c| (&c.id, &c.source));
        let functions = file.functions.iter().map(|f| (&f.id, &f.source));
        let bypasses = file.bypasses.iter().map(|b| (&b.id, &b.source));
        let attempt = std::iter::once((&file.id, &file.attempt.source));
        for (id, source) in checks.chain(functions).chain(bypasses).chain(attempt) {
            let named = source.contains("common practice, no source") || source.contains("from memory");
            assert!(named || source.contains(": "), "{id}: {source}");
            laws += 1;
        }
    }
    assert!(laws > 300, "{laws}");
}

// Descriptions.

#[test]
fn nothing_is_doubtful_in_the_shipped_machines() {
    let all = shipped();
    assert_eq!(all.len(), 5);
    for machine in &all {
        assert_eq!(machine.problems(), [], "{}", machine.id());
    }
    // The mower knows everything of its trade: 45 conditions and the left-overs, 55 checks, 9 bypasses.
    let file = mower().file();
    let listed = file.parts.iter().filter(|p| !p.left_over).map(|p| p.conditions.len()).sum::<usize>();
    assert!(listed >= 45 && file.checks.len() >= 55 && file.bypasses.len() >= 9, "{listed}");
}

#[test]
fn doubtful_descriptions_are_told() {
    let problems = |change: &dyn Fn(&mut Value)| {
        let mut file = serde_json::to_value(mower().file()).expect("JSON");
        change(&mut file);
        machine(&file).problems()
    };
    let item = |file: &Value, list: &str, id: &str| -> usize {
        file[list].as_array().expect("a list").iter().position(|x| x["id"] == id).expect(id)
    };
    // A check for something that hardly any machine has.
    let told = problems(&|file| {
        let states =
            json!([{"id": "no", "name": "no", "share": 0.999}, {"id": "yes", "name": "yes", "share": 0.001}]);
        let radio = json!({"id": "radio", "name": "radio", "kind": "fitted", "states": states});
        file["background"].as_array_mut().expect("a list").push(radio);
        let at = item(file, "checks", "fuel-smell");
        file["checks"][at]["fits"] = json!(["radio=yes"]);
    });
    assert!(
        told.iter().any(|p| matches!(p, Problem::Unreachable { step, .. } if step == "fuel-smell")),
        "{told:?}"
    );
    // A result that is as likely on a sound machine as with anything wrong.
    let told = problems(&|file| {
        let at = item(file, "checks", "recoil-look");
        for row in file["checks"][at]["rows"].as_array_mut().expect("rows") {
            row["p"] = json!([0.9, 0.1]);
        }
    });
    let fails = Problem::Uncaused { check: "recoil-look".into(), result: "fails".into() };
    assert!(told.contains(&fails), "{told:?}");
    // Two conditions that nothing tells apart.
    let told = problems(&|file| {
        let at = item(file, "parts", "intake");
        let mut twin = file["parts"][at].clone();
        twin["id"] = json!("intake-twin");
        for list in ["functions", "checks"] {
            for thing in file[list].as_array_mut().expect("a list") {
                for rows in ["spoiled_by", "rows"] {
                    for row in thing.get_mut(rows).and_then(Value::as_array_mut).into_iter().flatten() {
                        let when = row["when"].as_array_mut().expect("atoms");
                        let more: Vec<Value> = when
                            .iter()
                            .filter_map(Value::as_str)
                            .filter(|a| a.contains("intake/leak"))
                            .map(|a| json!(a.replace("intake/leak", "intake-twin/leak")))
                            .collect();
                        when.extend(more);
                    }
                }
            }
        }
        for bypass in file["bypasses"].as_array_mut().expect("bypasses") {
            let lifts = bypass["lifts"].as_array_mut().expect("lifts");
            if lifts.contains(&json!("intake/leak")) {
                lifts.push(json!("intake-twin/leak"));
            }
        }
        file["parts"].as_array_mut().expect("parts").push(twin);
    });
    let alike = Problem::Alike { one: "intake/leak".into(), other: "intake-twin/leak".into() };
    assert_eq!(told, [alike]);
    // A spark tester without its warning.
    let told = problems(&|file| {
        let at = item(file, "checks", "spark-gap-tester");
        file["checks"][at]["cautions"] = json!(["fuel-and-spark", "kick-back", "hole-closed"]);
    });
    assert!(told.iter().any(|p| matches!(p, Problem::Unwarned { step, caution, .. } if step == "spark-gap-tester" && caution == "shock")), "{told:?}");
}

#[test]
fn shares_of_a_no_start_are_those_that_are_quoted() {
    // Share of no-starts put down to each, in percent: common practice, no counted source. The rates
    // were set as 0.45 stopping causes per machine times the share, and the odds given that it does
    // not run must give the shares back; 6 % of each is the noise of an attempt and of several at once.
    let quoted = BTreeMap::from([
        ("tank/empty", 3.2),
        ("fuel-line/tap-shut", 1.5),
        ("fuel/stale", 14.0),
        ("bowl/water", 4.2),
        ("fuel/wrong", 1.5),
        ("jet/gummed", 18.0),
        ("needle/stuck-shut", 3.0),
        ("needle/leaking", 3.0),
        ("fuel-line/blocked", 2.5),
        ("tank-cap/blocked", 1.0),
        ("primer/failed", 2.5),
        ("choke/not-closing", 2.5),
        ("choke/stuck-closed", 1.2),
        ("cylinder/flooded", 3.5),
        ("diaphragm/stiff", 1.0),
        ("intake/leak", 1.5),
        ("exhaust/blocked", 0.5),
        ("plug/fouled", 4.0),
        ("plug/cracked", 1.6),
        ("lead/off", 1.5),
        ("stop-lead/grounded", 1.4),
        ("coil/dead", 2.6),
        ("coil/weak-hot", 0.7),
        ("points/bad", 0.5),
        ("control/in-stop", 2.5),
        ("brake/misset", 1.6),
        ("cable/misset", 1.2),
        ("low-oil-switch/cutting-out", 0.4),
        ("valves/stuck-open", 1.1),
        ("valves/leaking", 1.0),
        ("pushrods/off", 0.4),
        ("head-gasket/blown", 0.7),
        ("rings/worn", 1.0),
        ("compression-release/stuck", 0.4),
        ("key/sheared", 2.2),
        ("camshaft/off", 0.1),
        ("recoil/broken", 2.0),
        ("crank/seized", 0.8),
        ("headspace/locked", 1.2),
        ("blade/jammed", 0.5),
        ("blade/loose", 0.5),
        ("crank/broken", 0.4),
    ]);
    // "Does not run" is any of three outcomes, each with its probability.
    let fresh = assess(&job(&[]));
    let mut weights = 0.0;
    let mut chances: BTreeMap<String, f64> = BTreeMap::new();
    for outcome in [Outcome::Dies, Outcome::Tries, Outcome::Nothing] {
        let answer = assess(&job(&[attempt(outcome)]));
        let weight = (answer.log_p_evidence - fresh.log_p_evidence).exp();
        weights += weight;
        for c in &answer.causes {
            *chances.entry(format!("{}/{}", c.part, c.condition)).or_default() += weight * c.p_was_cause;
        }
    }
    let sum: f64 = chances.values().sum();
    assert!(weights > 0.2 && sum > 0.0);
    let left_over: f64 = fresh
        .causes
        .iter()
        .filter(|c| c.left_over)
        .map(|c| chances[&format!("{}/{}", c.part, c.condition)])
        .sum();
    let left_over = left_over / sum;
    assert!((0.03..0.06).contains(&left_over), "left over {left_over}");
    // 1.6 % of what is quoted is left over as well, so that the others share 98.4 %.
    for (id, percent) in quoted {
        let expected = percent / 98.4 * (1.0 - left_over);
        let got = chances[id] / sum;
        assert!((got / expected - 1.0).abs() < 0.06, "{id}: {got} against {expected}");
    }
}

#[test]
fn who_asks_and_when_moves_the_rates() {
    let with = |setting: &str, choice: &str| {
        let settings = BTreeMap::from([(setting.to_owned(), choice.to_owned())]);
        assess(&JobFile { settings, ..job(&[attempt(Outcome::Nothing)]) })
    };
    let usual = after(&[]);
    assert!(p(&with("season", "spring"), "jet/gummed") > 1.2 * p(&usual, "jet/gummed"));
    assert!(p(&with("season", "summer"), "key/sheared") > 1.2 * p(&usual, "key/sheared"));
    let (owner, bench) = (with("asking", "owner"), with("asking", "bench"));
    for simple in ["tank/empty", "control/in-stop", "lead/off"] {
        assert!(p(&owner, simple) > 2.0 * p(&bench, simple), "{simple}");
    }
    // The odds of a condition that nothing raises move by the factor that is authored.
    let prior = |settings: &[(&str, &str)]| {
        let settings = settings.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
        let answer = assess(&JobFile { settings, ..job(&[]) });
        cause(&answer, "exhaust/blocked").p_present
    };
    let ratio = odds(prior(&[("season", "flood")])) / odds(prior(&[]));
    close("after a flood", ratio, 3.0, 1e-9);
}

#[test]
fn a_bypass_warns_of_what_an_attempt_warns_of() {
    for machine in shipped() {
        let file = machine.file();
        for b in &file.bypasses {
            assert!(
                file.attempt.cautions.iter().all(|c| b.cautions.contains(c)),
                "{}: {}",
                machine.id(),
                b.id
            );
        }
    }
}

#[test]
fn mistakes_in_blocks_and_families_name_the_file() {
    let block = |text: Value| {
        let file = json!({"schema": "halfsplit-block/1", "id": "b", "about": "", "has": text});
        Library::from_texts([("b.json", file.to_string().as_str())])
    };
    let car = halfsplit_tests::car_file();
    let all = json!({"trust": car["trust"], "subsystems": car["subsystems"], "parts": car["parts"], "background": car["background"],
        "functions": car["functions"], "checks": car["checks"], "attempt": car["attempt"], "bypasses": car["bypasses"],
        "repairs": car["repairs"], "tools": car["tools"], "cautions": car["cautions"], "setups": car["setups"], "defaults": car["defaults"]});
    let family = |more: Value| {
        let mut file =
            json!({"schema": "halfsplit-family/1", "id": "f", "name": "f", "about": "", "blocks": ["b"]});
        file.as_object_mut().expect("an object").extend(more.as_object().expect("an object").clone());
        file.to_string()
    };
    let library = block(all.clone()).expect("a library");
    let message =
        |library: &Library, more: Value| match Machine::from_json_with(library, "f.json", &family(more)) {
            Ok(machine) => format!("{machine:?}"),
            Err(error) => error.to_string(),
        };
    assert_eq!(message(&library, json!({})), "Machine { id: \"f\", .. }");
    let part = car["parts"][0]["id"].as_str().expect("a part");
    let mut broken = all;
    broken["parts"][0]["subsystem"] = json!("nowhere");
    let told = message(&block(broken).expect("a shape"), json!({}));
    assert!(
        told.starts_with(&format!("at b.json: has.parts[0] \"{part}\": there is no subsystem")),
        "{told}"
    );
    for (more, wanted) in [
        (json!({"blocks": ["c"]}), "at f.json: blocks[0]: there is no block \"c\""),
        (
            json!({"leaves_out": {"parts": ["nothing"]}}),
            "at f.json: leaves_out.parts: there is no item of the blocks \"nothing\"",
        ),
        (json!({"fixed": {"weather": "fine"}}), "at f.json: fixed: there is no background \"weather\""),
        (
            json!({"rates": {"total": 0.4, "times": {"nothing": 2}}}),
            "at f.json: rates.times: there is no rate \"nothing\"",
        ),
        (
            json!({"changes": {"parts": {"nothing": {}}}}),
            "at f.json: changes.parts.nothing: there is no item",
        ),
        (json!({"colour": 1}), "at f.json: colour: unknown field"),
    ] {
        let told = message(&library, more);
        assert!(told.starts_with(wanted), "{told}");
    }
}
