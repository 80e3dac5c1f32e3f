//! Requirements on the descriptions of the shipped machines: sources, warnings, nothing doubtful; and the
//! messages about wrong or doubtful descriptions. Expectations are common practice (no source) unless a
//! source is named.

use std::collections::BTreeMap;

use halfsplit::advise::{Assessment, Obstacle};
use halfsplit::job::{Job, JobFile, Outcome};
use halfsplit::link::{fingerprint, fingerprint_of};
use halfsplit::machine::family::Library;
use halfsplit::machine::file::ContextKind;
use halfsplit::machine::{Machine, Problem};
use halfsplit_bayes::JunctionTree;
use halfsplit_tests::{assess, attempt, cause, close, found, job, machine, mower, odds};
use serde_json::{Value, json};

fn shipped() -> Vec<Machine> {
    Machine::all_shipped().expect("the shipped machines")
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

#[test]
fn nothing_is_doubtful_in_the_shipped_machines() {
    let all = shipped();
    assert_eq!(all.len(), 5);
    for machine in &all {
        assert_eq!(machine.problems(), [], "{}", machine.id());
    }
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
    // A check for a fault that hardly any machine has.
    let told = problems(&|file| {
        let states =
            json!([{"id": "no", "name": "no", "share": 0.999}, {"id": "yes", "name": "yes", "share": 0.001}]);
        let radio = json!({"id": "radio", "name": "radio", "kind": "fitted", "states": states});
        file["context"].as_array_mut().expect("a list").push(radio);
        let at = item(file, "checks", "fuel-smell");
        file["checks"][at]["fits"] = json!(["radio=yes"]);
    });
    assert!(
        told.iter().any(|p| matches!(p, Problem::Unreachable { step, .. } if step == "fuel-smell")),
        "{told:?}"
    );
    // A check that comes after a result that never occurs.
    let told = problems(&|file| {
        let at = item(file, "checks", "spark-stop-lead-off");
        file["checks"][at]["after"] = json!([{"check": "recoil-look", "results": ["fails"]}]);
        let at = item(file, "checks", "recoil-look");
        for row in file["checks"][at]["rows"].as_array_mut().expect("rows") {
            row["p"] = json!([1, 0]);
        }
    });
    assert!(
        told.iter().any(|p| matches!(p, Problem::Unreachable { step, .. } if step == "spark-stop-lead-off")),
        "{told:?}"
    );
    // A result that is as likely on a sound machine as with any fault.
    let told = problems(&|file| {
        let at = item(file, "checks", "exhaust-look");
        for row in file["checks"][at]["rows"].as_array_mut().expect("rows") {
            row["p"] = json!([0.8, 0.1, 0.1]);
        }
    });
    let blocked = Problem::Uncaused { check: "exhaust-look".into(), result: "blocked".into() };
    assert!(told.contains(&blocked), "{told:?}");
    // Two conditions that no step distinguishes.
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
    // A repair of the blade without its warning, which the part requires.
    let told = problems(&|file| {
        let at = item(file, "repairs", "set-brake-cable");
        file["repairs"][at]["cautions"] = json!(["lead-off"]);
    });
    let safety = |p: &Problem| matches!(p, Problem::Unwarned { step, caution, because } if step == "set-brake-cable" && caution == "safety-device" && because == "blade brake and its switch");
    assert!(told.iter().any(safety), "{told:?}");
    // A row that does not sum to 1 is refused outright.
    let mut file = serde_json::to_value(mower().file()).expect("JSON");
    let at = item(&file, "checks", "recoil-look");
    file["checks"][at]["rows"][0]["p"] = json!([0.5, 0.4]);
    let error = Machine::from_json(&file.to_string()).expect_err("a sum of 0.9").to_string();
    assert!(error.contains("\"recoil-look\".rows[0].p: the numbers sum to 0.9, not to 1"), "{error}");
}

/// How the season and the population change the odds in the trade, as (lowest, highest) factor.
const MOVES: [(&str, &str, &str, f64, f64); 16] = [
    ("season", "spring", "fuel/stale", 2.0, 2.0),
    ("season", "spring", "jet/gummed", 2.0, 2.0),
    ("season", "spring", "struck=yes", 0.5, 0.5),
    ("season", "summer", "struck=yes", 2.0, 2.0),
    ("season", "summer", "coil/weak-hot", 3.0, 3.0),
    ("season", "summer", "tank-cap/blocked", 3.0, 3.0),
    ("season", "summer", "tank/empty", 2.0, 2.0),
    ("season", "autumn", "tank-cap/blocked", 1.5, 3.0),
    ("season", "flood", "bowl/water", 5.0, 5.0),
    ("season", "flood", "exhaust/blocked", 1.5, 5.0),
    ("season", "flood", "coil/dead", 1.5, 5.0),
    ("asking", "owner", "control/in-stop", 2.0, 4.0),
    ("asking", "owner", "tank/empty", 2.0, 4.0),
    ("asking", "owner", "lead/off", 2.0, 4.0),
    ("asking", "owner", "cylinder/flooded", 2.0, 4.0),
    ("asking", "bench", "tank/empty", 0.25, 0.9),
];

#[test]
fn who_asks_and_when_moves_the_rates() {
    let with = |setting: &str, choice: &str| {
        let settings = BTreeMap::from([(setting.to_owned(), choice.to_owned())]);
        assess(&JobFile { settings, ..job(&[attempt(Outcome::Nothing)]) })
    };
    let usual = assess(&job(&[attempt(Outcome::Nothing)]));
    for (setting, choice, of, least, most) in MOVES {
        let choices = &mower().file().settings.iter().find(|s| s.id == setting).expect(setting).choices;
        let moves = &choices.iter().find(|c| c.id == choice).expect(choice).moves;
        let factor = moves.iter().find(|m| m.of == of).expect(of).factor;
        assert!((least..=most).contains(&factor), "{setting} {choice}: {of} by {factor}");
        // A setting that changes the history shows in the condition that the history makes more likely.
        let id = if of == "struck=yes" { "key/sheared" } else { of };
        let (then, now) = (cause(&usual, id).p_was_cause, cause(&with(setting, choice), id).p_was_cause);
        assert_eq!(factor > 1.0, now > then, "{setting} {choice}: {of} from {then} to {now}");
    }
    // The odds of a condition without other influences change by the factor in the description.
    let prior = |settings: &[(&str, &str)]| {
        let settings = settings.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
        let answer = assess(&JobFile { settings, ..job(&[]) });
        cause(&answer, "exhaust/blocked").p_present
    };
    let ratio = odds(prior(&[("season", "flood")])) / odds(prior(&[]));
    close("after a flood", ratio, 3.0, 1e-9);
}

/// The law of total probability: the answers for each thing that can be fitted, weighted by its share and by
/// the likelihood of the findings, add up to the answer when it is unknown which is fitted.
#[test]
fn what_is_fitted_splits_the_odds_and_joins_them_again() {
    let steps = [attempt(Outcome::Nothing), found("spark-gap-tester", "none")];
    let unknown = assess(&job(&steps));
    let things = mower().file().context.iter().filter(|b| b.kind == ContextKind::Fitted);
    let mut moved = 0;
    for thing in things {
        let split: Vec<(f64, Assessment)> = thing
            .states
            .iter()
            .map(|state| {
                let fitted = BTreeMap::from([(thing.id.clone(), state.id.clone())]);
                let answer = assess(&JobFile { fitted, ..job(&steps) });
                (state.share * (answer.log_p_evidence - unknown.log_p_evidence).exp(), answer)
            })
            .collect();
        let whole: f64 = split.iter().map(|(weight, _)| weight).sum();
        // A few thousand products and sums, each with a relative rounding error of at most 1.1e-16.
        close(&format!("P(findings), over {}", thing.id), whole, 1.0, 1e-11);
        for one in &unknown.causes {
            let id = format!("{}/{}", one.part, one.condition);
            let joined: f64 = split.iter().map(|(weight, answer)| weight * cause(answer, &id).p_cause).sum();
            close(&format!("{id}, over {}", thing.id), joined, one.p_cause, 1e-11);
        }
        let at = |i: usize| cause(&split[i].1, "coil/dead").p_cause;
        moved += usize::from((at(0) - at(1)).abs() > 1e-3);
    }
    assert!(moved > 0, "nothing that is fitted says anything about the coil");
}

#[test]
fn what_is_not_fitted_is_neither_suspected_nor_looked_at() {
    let with = |thing: &str, state: &str| {
        let fitted = BTreeMap::from([(thing.to_owned(), state.to_owned())]);
        assess(&JobFile { fitted, ..job(&[attempt(Outcome::Nothing)]) })
    };
    for (thing, there, not, id) in [
        ("oil-switch", "fitted", "none", "low-oil-switch/cutting-out"),
        ("trigger", "points", "electronic", "points/bad"),
        ("release", "fitted", "not-fitted", "compression-release/stuck"),
    ] {
        assert!(cause(&with(thing, there), id).p_present > 0.0, "{id}");
        close(id, cause(&with(thing, not), id).p_present, 0.0, 0.0);
    }
    let needs_tap = |answer: &Assessment| {
        answer.not_now.iter().any(|s| s.obstacle == Obstacle::NotFitted && s.id == "open-fuel-tap")
    };
    assert!(needs_tap(&with("fuel-tap", "none")));
    assert!(!needs_tap(&with("fuel-tap", "fitted")));
}

/// A hazard: tools, set-up work or parts, and the warnings that a step with one of them must give. A warning that
/// the machine lacks (such as that of the blade) is not required.
struct Hazard {
    tools: &'static [&'static str],
    setups: &'static [&'static str],
    /// Parts that a repair acts on, or their subsystems.
    mends: &'static [&'static str],
    cautions: &'static [&'static str],
}

const HAZARDS: [Hazard; 16] = [
    // Fuel vapour, and drained fuel.
    Hazard {
        tools: &["fresh-fuel", "hose-clamp", "tube", "scales", "test-can", "jar"],
        setups: &["bowl-off"],
        mends: &["fuel"],
        cautions: &["vapour"],
    },
    Hazard { tools: &["jar", "tube", "scales"], setups: &["bowl-off"], mends: &[], cautions: &["waste"] },
    // Sparks.
    Hazard {
        tools: &["gap-tester", "inline-tester", "adjustable-tester", "clamp-lead"],
        setups: &[],
        mends: &[],
        cautions: &["shock", "hole-closed", "fuel-and-spark"],
    },
    Hazard { tools: &["pressure-gauge"], setups: &[], mends: &[], cautions: &["earth-lead"] },
    // Blades, and hands at parts that the engine turns.
    Hazard {
        tools: &[],
        setups: &["deck-up"],
        mends: &["blade"],
        cautions: &["blade", "lead-off", "tipping"],
    },
    Hazard {
        tools: &[],
        setups: &["cover-off", "flywheel-off", "head-off"],
        mends: &[],
        cautions: &["lead-off"],
    },
    Hazard { tools: &[], setups: &[], mends: &["auger"], cautions: &["auger", "lead-off"] },
    // Springs, and parts under load.
    Hazard { tools: &[], setups: &[], mends: &["recoil"], cautions: &["recoil-spring"] },
    Hazard { tools: &[], setups: &["head-off"], mends: &[], cautions: &["valve-spring", "torque"] },
    Hazard { tools: &["puller"], setups: &["flywheel-off"], mends: &[], cautions: &["flywheel"] },
    Hazard { tools: &["drill"], setups: &[], mends: &[], cautions: &["drill"] },
    Hazard { tools: &["leak-tester"], setups: &[], mends: &[], cautions: &["air-pressure"] },
    // Batteries.
    Hazard {
        tools: &["charger", "charged-battery"],
        setups: &["negative-off"],
        mends: &["battery", "battery-cables", "solenoid", "starter"],
        cautions: &["battery"],
    },
    // Hot parts, and the hole that dirt falls into.
    Hazard { tools: &[], setups: &["plug-out"], mends: &[], cautions: &["hot", "plug-hole"] },
    Hazard { tools: &[], setups: &["head-off", "cover-off"], mends: &["exhaust"], cautions: &["hot"] },
    // Cleaners.
    Hazard { tools: &["cleaner"], setups: &[], mends: &[], cautions: &["solvent"] },
];

#[test]
fn whatever_can_hurt_somebody_is_warned_of() {
    let mut asked = 0;
    for machine in shipped() {
        let file = machine.file();
        let knows = |caution: &str| file.cautions.iter().any(|c| c.id == caution);
        let mut look = |step: &str, given: &[String], tools: &[String], setups: &[String], parts: &[&str]| {
            let by_setup = file.setups.iter().filter(|s| setups.contains(&s.id)).flat_map(|s| &s.cautions);
            let given: Vec<&String> = given.iter().chain(by_setup).collect();
            for hazard in &HAZARDS {
                let met =
                    |ours: &[String], theirs: &[&str]| ours.iter().any(|id| theirs.contains(&id.as_str()));
                let mends = file.parts.iter().filter(|p| parts.contains(&p.id.as_str())).any(|p| {
                    hazard.mends.contains(&p.id.as_str()) || hazard.mends.contains(&p.subsystem.as_str())
                });
                if !(met(tools, hazard.tools) || met(setups, hazard.setups) || mends) {
                    continue;
                }
                for caution in hazard.cautions.iter().filter(|c| knows(c)) {
                    assert!(
                        given.iter().any(|g| g == caution),
                        "{}: {step} does not say {caution}",
                        machine.id()
                    );
                    asked += 1;
                }
            }
        };
        for c in &file.checks {
            look(&c.id, &c.cautions, &c.tools, &c.setups, &[]);
        }
        for b in &file.bypasses {
            look(&b.id, &b.cautions, &b.tools, &b.setups, &[]);
        }
        for r in &file.repairs {
            let parts: Vec<&str> = r.cures.iter().filter_map(|c| c.split('/').next()).collect();
            look(&r.id, &r.cautions, &r.tools, &r.setups, &parts);
        }
        // The engine can fire at every attempt, with a bypass or without; petrol from a dropper is not ether.
        assert!(file.attempt.cautions.iter().any(|c| c == "monoxide"), "{}", machine.id());
        for b in file.bypasses.iter().filter(|b| b.tools.iter().any(|t| t == "dropper")) {
            assert!(["no-ether", "backfire"].iter().all(|c| b.cautions.iter().any(|x| x == c)), "{}", b.id);
        }
    }
    assert!(asked > 500, "{asked}");
}

#[test]
fn no_machine_outgrows_the_time_that_advice_may_take() {
    // The computing time grows with the entries: the limit of 50,000 leaves some room for the complete mower.
    // This test shows the cost of an added link, and `inspect --size` prints it.
    for machine in shipped() {
        let file = JobFile { machine: machine.id().into(), ..job(&vec![attempt(Outcome::Nothing); 4]) };
        let (network, found) = Job::new(&machine, &file).and_then(|j| j.network()).expect("a network");
        let entries = JunctionTree::compile_with_evidence(&network, &found).expect("a tree").entries();
        assert!(entries < 50_000, "{}: {entries}", machine.id());
    }
}

#[test]
fn every_warning_says_when_to_stop_and_hand_over() {
    let mut all = String::new();
    for machine in shipped() {
        for caution in &machine.file().cautions {
            assert!(!caution.stop.is_empty(), "{}: {}", machine.id(), caution.id);
            all += &format!("{}: {} {}\n", caution.id, caution.text, caution.stop);
        }
    }
    // Warnings say when the trade hands over, and that local rules come first.
    for (id, word) in [
        ("flywheel", "cracked flywheel"),
        ("hidden-damage", "bent crank"),
        ("blade", "cracked deck"),
        ("vapour", "weeps"),
        ("vapour", "half a litre"),
        ("kick-back", "still kicks with a good key"),
        ("torque", "Without the figures"),
        ("manual", "warranty or on hire"),
        ("battery", "swollen, frozen, hot"),
        ("back-feed", "an electrician"),
        ("fault-lamp", "injection"),
        ("lead-off", "cannot find the plug lead"),
        ("lead-off", "under 16"),
        ("hot", "Too hot to touch"),
        ("no-mouth", "do not make them vomit"),
        ("bridge", "every safety switch"),
        ("cranked-by-helper", "off and earthed"),
        ("cranked-by-helper", "wheels chocked"),
        ("shock", "heart device"),
        ("waste", "local rules"),
        // 16 CFR 1205.5(a)(1)(iii): a blade stops within 3.0 s.
        ("safety-device", "3 s in 16 CFR 1205.5"),
        // Consumer safety advice of the US CPSC: 20 ft, 6.1 m.
        ("generator-air", "20 ft (6 m)"),
        // A city fire department's advice: 15 minutes before refuelling.
        ("hot", "15 to 30 minutes"),
    ] {
        let said = all.lines().any(|l| l.starts_with(&format!("{id}: ")) && l.contains(word));
        assert!(said, "{id} says nothing of \"{word}\"");
    }
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
    let all = json!({"trust": car["trust"], "subsystems": car["subsystems"], "parts": car["parts"], "context": car["context"],
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
        (json!({"fixed": {"weather": "fine"}}), "at f.json: fixed: there is no context \"weather\""),
        (
            json!({"rates": {"total": 0.4, "times": {"nothing": 2}}}),
            "at f.json: rates.times: there is no rate \"nothing\"",
        ),
        (
            json!({"changes": {"parts": {"nothing": {}}}}),
            "at f.json: changes.parts.nothing: there is no item",
        ),
        (json!({"changes": {"prices": {"hour": 50}}}), "at f.json: changes: there is no list \"prices\""),
        (
            json!({"changes": {"defaults": {"hand_over": 5}}}),
            "at f.json: changes.defaults.hand_over: unknown field",
        ),
        (
            json!({"changes": {"defaults": {"hand_over_cost": -5}}}),
            "at f.json: changes.defaults.hand_over_cost: -5 is not above 0",
        ),
        (json!({"colour": 1}), "at f.json: colour: unknown field"),
    ] {
        let told = message(&library, more);
        assert!(told.starts_with(wanted), "{told}");
    }
}

#[test]
fn a_family_states_what_is_done_once_in_its_own_way() {
    let car = halfsplit_tests::car_file();
    let fields =
        ["trust", "subsystems", "parts", "context", "functions", "checks", "attempt", "bypasses", "repairs"];
    let mut has = json!({});
    for field in fields.iter().chain(&["tools", "cautions", "setups", "defaults"]) {
        has[field] = car[field].clone();
    }
    let compose = |has: &Value, changes: Value| {
        let block = json!({"schema": "halfsplit-block/1", "id": "b", "about": "", "has": has}).to_string();
        let family = json!({"schema": "halfsplit-family/1", "id": "f", "name": "f", "about": "", "blocks": ["b"],
            "changes": changes});
        let library = Library::from_texts([("b.json", block.as_str())]).expect("a library");
        library.compose("f.json", &family.to_string())
    };
    let changes = json!({"defaults": {"hand_over_cost": 75}, "attempt": {"how": "as its maker says"}});
    let (plain, own) = (compose(&has, json!({})).expect("a machine"), compose(&has, changes.clone()));
    let own = own.expect("a machine");
    assert_eq!(own.defaults.hand_over_cost, 75.0);
    assert_eq!(own.defaults.rate_per_hour, plain.defaults.rate_per_hour, "what is not named stays");
    assert_eq!(own.attempt.how, "as its maker says");
    assert_eq!(own.attempt.law, plain.attempt.law);
    has.as_object_mut().expect("an object").remove("defaults");
    let error = compose(&has, changes).expect_err("nothing to change").to_string();
    assert_eq!(error, "at f.json: changes.defaults: no block states what is changed here");
}

#[test]
fn a_description_and_a_job_with_the_older_names_still_open() {
    let mut file = serde_json::to_value(mower().file()).expect("a description");
    let fields = file.as_object_mut().expect("an object");
    for (now, older) in [("context", "background"), ("equivalent_sample_size", "worth")] {
        let value = fields.remove(now).expect("a field of the mower");
        fields.insert(older.to_owned(), value);
    }
    let opened = Machine::from_json(&file.to_string()).expect("the mower with older names");
    assert_eq!(opened.file(), mower().file());
    assert_eq!(fingerprint(&file.to_string()), fingerprint_of(mower()), "kept links say the same of both");

    let job = |field: &str| {
        JobFile::from_json(&format!(r#"{{"machine": "mower-recoil", "{field}": 90, "steps": []}}"#))
    };
    assert_eq!(job("worth"), job("machine_value"));
    assert_eq!(job("worth").expect("a job").machine_value, Some(90.0));
}
