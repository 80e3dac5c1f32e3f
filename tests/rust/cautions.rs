//! The warnings that each check, attempt and repair must have, by name, and when to stop; and what no text may tell
//! anybody to do. The list is the shortest one that matters, by common practice; figures have their source beside
//! them.

use halfsplit::job::{Job, JobFile};
use halfsplit::link::{Linked, fit};
use halfsplit::machine::Machine;
use halfsplit::machine::file::{CheckKind, MachineFile};
use halfsplit_tests::mower;

/// Steps by id, and groups of warnings: the step or its set-up must give one warning of each group.
type Rule = (&'static [&'static str], &'static [&'static [&'static str]]);

#[rustfmt::skip]
const RULES: &[Rule] = &[
    // Fuel: vapour, cold, outdoors; drained fuel is disposed of.
    (&["tank-look", "fuel-smell", "fuel-jar", "fuel-weigh", "fuel-paper-spot", "fuel-water-column", "fuel-layer-height",
        "bowl-drain", "line-flow", "cap-vent", "pickup-look", "fuel-pump-flow", "filter-look", "new-filter"], &[&["vapour"]]),
    // What was sucked or blown by mouth in the old days.
    (&["cap-vent", "clear-tank-cap", "clear-fuel-line", "clean-carburettor", "drain-and-refill", "fresh-mix", "fuel-jar",
        "fuel-weigh", "line-flow", "fuel-pump-flow", "new-pulse-line", "thaw"], &[&["no-mouth"]]),
    (&["fuel-jar", "fuel-weigh", "fuel-water-column", "fuel-layer-height", "bowl-drain", "line-flow", "drain-and-refill",
        "clean-carburettor", "fresh-mix", "fuel-pump-flow"], &[&["waste"], &["fuel-and-spark"]]),
    (&["tank-look", "cap-vent", "fill-tank", "clear-tank-cap"], &[&["hot"]]),
    // The blade: lead off, gloves, which way to tip.
    (&["blade-look", "free-blade", "tighten-blade"], &[&["lead-off"], &["blade"], &["tipping"]]),
    // Rope: kick-back, feet clear; the blade turns with it.
    (&["rope-feel", "rope-sound", "attempt", "throat-look", "choke-hand", "plug-wet"], &[&["kick-back", "starter-rest"]]),
    (&["rebound-spin", "piston-magnet-position"], &[&["lead-off"], &["blade", "lead-off"]]),
    // A dose at the throat: backfire. A hand at the throat: nothing can fire.
    (&["dose"], &[&["backfire"], &["vapour"], &["fuel-and-spark"], &["no-ether"], &["oil-in-fuel"]]),
    (&["choke-hand"], &[&["lead-off"], &["earth-lead"], &["vapour"]]),
    // Plug: hot, and dirt falls into the hole.
    (&["plug-wet", "plug-gap-measured", "plug-ohms", "plug-body-look", "plug-beads", "new-plug", "good-plug"], &[&["hot"], &["plug-hole"]]),
    // Sparks: shock, no fuel about, hole closed.
    (&["spark-gap-tester", "spark-glow-inline", "spark-open-air", "spark-longest-jump", "spark-stop-lead-off", "spark-hot"],
        &[&["shock"], &["fuel-and-spark"], &["hole-closed"], &["kick-back", "starter-rest"], &["blade-turns"], &["drive-and-blades"]]),
    // Without the stop lead the control cannot stop the engine, so the lead must be connected again.
    (&["spark-stop-lead-off", "stop-lead-off"], &[&["no-stop"], &["safety-device"]]),
    (&["low-oil-lead-off", "set-brake-cable", "free-stop-lead", "mend-interlock", "set-throttle-cable", "new-switch"],
        &[&["safety-device"]]),
    // Flywheel: puller, glasses, torque of its maker; hands off the fins with the lead on.
    (&["key-look", "new-key", "new-flywheel", "points-look", "service-points"], &[&["flywheel"], &["torque"], &["lead-off"]]),
    (&["key-look", "new-key"], &[&["hidden-damage"]]),
    (&["new-coil", "set-air-gap", "coil-air-gap", "coil-ohms", "stop-lead-ohms"], &[&["lead-off"]]),
    // Compression: lead earthed, blade clear, rules of drill and air.
    (&["thumb-puff", "gauge-pull", "gauge-spun", "gauge-wet", "oil-in-bore", "good-plug", "dry-out"], &[&["earth-lead"]]),
    (&["gauge-spun"], &[&["drill"]]),
    (&["leak-down"], &[&["air-pressure"], &["lead-off"]]),
    (&["mend-recoil", "recoil-look"], &[&["recoil-spring"]]),
    // Carburettor: solvent, fuel, and whether it leaks before it stands indoors.
    (&["clean-carburettor"], &[&["solvent"]]),
    (&["clean-carburettor", "new-carburettor", "needle-and-seat", "clear-fuel-line", "new-shutoff", "new-fuel-pump", "new-pickup"],
        &[&["vapour"], &["fuel-leak-check"]]),
    // Inside work: figures, and springs under load.
    (&["free-valve", "grind-valves", "set-valve-clearance", "new-pushrod", "new-head-gasket", "new-rings", "mend-release",
        "set-camshaft", "new-piston", "new-seals"], &[&["torque"]]),
    (&["free-valve", "grind-valves", "set-valve-clearance", "new-pushrod"], &[&["valve-spring"]]),
    // 12 V: acid, gas, no shorting; and resting the starter.
    (&["battery-rest-volts", "battery-cranking-volts", "cables-look", "fuse-look", "small-terminal-volts", "cable-drop",
        "charging-volts", "solenoid-bridge", "jump", "charge-battery", "new-battery", "clean-connections", "new-solenoid",
        "new-starter"], &[&["battery"]]),
    (&["battery-cranking-volts", "small-terminal-volts", "solenoid-bridge", "cable-drop", "does-it-crank", "jump"], &[&["starter-rest"]]),
    (&["clean-connections", "mend-interlock", "interlock-look"], &[&["negative-off"], &["battery"]]),
    // Whatever may start the engine: clear of drive, blades and tools.
    (&["attempt", "does-it-crank", "dose", "spark-glow-inline", "clear-flood", "charging-volts"], &[&["drive-and-blades"]]),
    (&["attempt", "dose", "spark-glow-inline", "clear-flood"], &[&["cutting-tool"], &["auger"], &["blade-turns"], &["generator-air"]]),
    (&["solenoid-bridge"], &[&["bridge"]]),
    (&["charging-volts", "attempt", "minutes-to-die", "does-it-crank", "spark-glow-inline", "clear-flood", "mains-starter-try"],
        &[&["monoxide", "generator-air"]]),
    // Steps that only some machines have.
    (&["load-look", "unplug-loads"], &[&["back-feed"]]),
    (&["thaw"], &[&["no-flame-thaw"]]),
    (&["free-auger"], &[&["auger"], &["lead-off"]]),
    (&["mains-starter-try", "mend-mains-starter"], &[&["mains"]]),
    (&["fresh-mix", "fill-tank", "drain-and-refill", "test-can", "clean-carburettor", "new-carburettor"], &[&["oil-in-fuel"]]),
];

/// The warnings of a step and of its set-up; `None` if the machine has no such step.
fn given<'a>(file: &'a MachineFile, step: &str) -> Option<Vec<&'a str>> {
    let check = file.checks.iter().find(|c| c.id == step).map(|c| (&c.cautions, c.setups.as_slice()));
    let bypass = || file.bypasses.iter().find(|b| b.id == step).map(|b| (&b.cautions, b.setups.as_slice()));
    let repair = || file.repairs.iter().find(|r| r.id == step).map(|r| (&r.cautions, r.setups.as_slice()));
    let attempt = || (step == "attempt").then_some((&file.attempt.cautions, [].as_slice()));
    let (own, setups): (&Vec<String>, &[String]) = check.or_else(bypass).or_else(repair).or_else(attempt)?;
    let by_setup = file.setups.iter().filter(|s| setups.contains(&s.id)).flat_map(|s| &s.cautions);
    Some(own.iter().chain(by_setup).map(String::as_str).collect())
}

#[test]
fn every_step_gives_the_warnings_that_matter() {
    let machines = Machine::all_shipped().expect("the shipped machines");
    let mut missing = Vec::new();
    for (steps, groups) in RULES {
        for step in *steps {
            let mut met = 0;
            for machine in &machines {
                let Some(given) = given(machine.file(), step) else { continue };
                met += 1;
                for group in *groups {
                    // A machine lacks warnings that have no meaning for it: a generator has no blade.
                    let known = group.iter().any(|id| machine.file().cautions.iter().any(|c| c.id == *id));
                    if known && !group.iter().any(|id| given.contains(id)) {
                        missing.push(format!("{}: {step} does not say {group:?}", machine.id()));
                    }
                }
            }
            assert!(met > 0, "no machine has {step}");
        }
    }
    assert!(missing.is_empty(), "{}", missing.join("\n"));
}

/// A step as people read it.
struct Step<'a> {
    id: &'a str,
    name: &'a str,
    how: &'a str,
    /// What it tells, or what it leaves behind.
    note: &'a str,
    tools: &'a [String],
    setups: &'a [String],
}

impl<'a> Step<'a> {
    fn texts(&self) -> [&'a str; 3] {
        [self.name, self.how, self.note]
    }
}

/// The checks that are more than a question, the attempt and its bypasses, and the repairs.
fn steps(file: &MachineFile) -> Vec<Step<'_>> {
    let checks = file.checks.iter().filter(|c| c.kind != CheckKind::Asked).map(|c| Step {
        id: &c.id,
        name: &c.name,
        how: &c.how,
        note: &c.note,
        tools: &c.tools,
        setups: &c.setups,
    });
    let attempt = Step { id: "attempt", name: "", how: &file.attempt.how, note: "", tools: &[], setups: &[] };
    let repairs = file.repairs.iter().map(|r| Step {
        id: &r.id,
        name: &r.name,
        how: &r.how,
        note: &r.leaves,
        tools: &r.tools,
        setups: &r.setups,
    });
    checks.chain([attempt]).chain(bypasses(file)).chain(repairs).collect()
}

fn bypasses(file: &MachineFile) -> impl Iterator<Item = Step<'_>> {
    file.bypasses.iter().map(|b| Step {
        id: &b.id,
        name: &b.name,
        how: &b.how,
        note: &b.note,
        tools: &b.tools,
        setups: &b.setups,
    })
}

/// Whether a text has one of these words or phrases, whatever the case of its letters.
fn has(text: &str, words: &[&str]) -> bool {
    let plain: String =
        text.to_lowercase().chars().map(|c| if c.is_alphanumeric() || c == '-' { c } else { ' ' }).collect();
    let plain = format!(" {} ", plain.split_whitespace().collect::<Vec<_>>().join(" "));
    words.iter().any(|word| plain.contains(&format!(" {word} ")))
}

fn sentences(text: &str) -> impl Iterator<Item = &str> {
    text.split_inclusive(['.', '?', '!', ';'])
}

/// Fails with every complaint about a step of a shipped machine.
fn no_step(complaint: impl Fn(&Machine, &Step) -> Option<String>) {
    let machines = Machine::all_shipped().expect("the shipped machines");
    let mut all = Vec::new();
    for machine in &machines {
        let told = steps(machine.file()).into_iter().filter_map(|step| {
            complaint(machine, &step).map(|what| format!("{}: {}: {what}", machine.id(), step.id))
        });
        all.extend(told);
    }
    assert!(all.is_empty(), "{}", all.join("\n"));
}

#[test]
fn no_text_tells_anybody_to_suck_or_blow_fuel_parts_by_mouth() {
    no_step(|_, step| {
        let wrong = |sentence: &&str| {
            let mouth = has(sentence, &["mouth", "suck", "siphon", "syphon"]) && !has(sentence, &["never"]);
            let blow = has(sentence, &["blow", "blown"])
                && !has(sentence, &["air", "pump", "bulb", "cylinder", "piston"]);
            // Listening to the engine breathe is no work of the mouth.
            (mouth && step.id != "rope-sound") || blow
        };
        let texts = step.texts();
        let found = texts.iter().flat_map(|text| sentences(text)).find(wrong);
        found.map(|sentence| format!("whose mouth? {sentence}"))
    });
}

/// Words for an engine that somebody turns, and for somebody at it with a hand, a thing in the hand or open fuel.
const TURNED: &[&str] = &[
    "pull",
    "pulls",
    "pulling",
    "crank",
    "cranks",
    "cranking",
    "turns the key",
    "holds the key",
    "bridging switch",
];
const AT_IT: &[&str] = &[
    "palm",
    "thumb",
    "finger",
    "gloved",
    "by hand",
    "cup",
    "jar",
    "hose off",
    "card",
    "clip",
    "clipped",
    "wiggle",
    "helper cranks",
    "helper turns",
];

#[test]
fn the_plug_lead_is_off_where_somebody_is_at_an_engine_that_is_turned() {
    let mut met = Vec::new();
    for machine in Machine::all_shipped().expect("the shipped machines") {
        let file = machine.file();
        for check in steps(file).into_iter().filter(|s| file.checks.iter().any(|c| c.id == s.id)) {
            if !(has(check.how, TURNED) && has(check.how, AT_IT)) {
                continue;
            }
            met.push(check.id.to_owned());
            let cannot_fire =
                check.setups.iter().any(|s| ["lead-off", "plug-out", "negative-off"].contains(&s.as_str()));
            assert!(cannot_fire, "{}: {}: {}", machine.id(), check.id, check.how);
            let given = given(file, check.id).expect("a step");
            let helped = !has(check.how, &["helper"]) || given.contains(&"cranked-by-helper");
            assert!(helped, "{}: {}: a helper turns it unwarned", machine.id(), check.id);
        }
        for bypass in bypasses(file) {
            // A bypass ends in an attempt that may succeed, so nobody else is at the engine.
            let by_hand = has(bypass.how, &["gloved", "by hand", "helper"]);
            assert!(!by_hand, "{}: {}: {}", machine.id(), bypass.id, bypass.how);
        }
    }
    for known in
        ["choke-hand", "thumb-puff", "exhaust-look", "fuel-pump-flow", "solenoid-bridge", "cable-drop"]
    {
        assert!(met.iter().any(|id| id == known), "{known} is not seen");
    }
}

#[test]
fn every_step_that_opens_the_fuel_warns_of_its_vapour() {
    const OPENS: &[&str] = &[
        "petrol",
        "mix",
        "hose off",
        "hose from the test can",
        "drain",
        "drained",
        "bowl off",
        "bowl screw",
        "carburettor off",
        "carburettor opened",
        "whole carburettor",
        "cap off",
        "loosen the cap",
        "open the cap",
        "tank emptied",
        "fuel clamped",
        "hoses clamped",
        "fill with",
        "new bulb and hose",
    ];
    let seen = std::cell::Cell::new(0);
    no_step(|machine, step| {
        if !has(step.how, OPENS) {
            return None;
        }
        seen.set(seen.get() + 1);
        let given = given(machine.file(), step.id).expect("a step");
        (!given.contains(&"vapour")).then(|| format!("no word of vapour: {}", step.how))
    });
    assert!(seen.get() > 80, "only {} steps open the fuel", seen.get());
}

#[test]
fn a_two_stroke_is_given_mix_and_never_bare_petrol() {
    let machine = Machine::shipped("two-stroke-handheld").expect("the two-stroke");
    let file = machine.file();
    let with_oil = |text: &str| !has(text, &["petrol"]) || has(text, &["mix", "mixed", "oil", "soapy"]);
    for step in steps(file) {
        assert!(with_oil(step.name) && with_oil(step.how), "{}: {}: {}", step.id, step.name, step.how);
        if step.tools.iter().any(|t| ["fresh-fuel", "test-can"].contains(&t.as_str())) {
            assert!(given(file, step.id).expect("a step").contains(&"oil-in-fuel"), "{}", step.id);
        }
    }
    for tool in &file.tools {
        assert!(with_oil(&tool.name), "{}", tool.name);
    }
    for id in ["dose", "test-can", "fill-tank"] {
        let step = steps(file).into_iter().find(|s| s.id == id).expect(id);
        assert!(has(step.name, &["mix"]) && has(step.how, &["mix"]), "{id}: {}: {}", step.name, step.how);
    }
}

#[test]
fn a_starter_motor_turns_no_engine_under_a_thumb_and_no_safety_switch_is_bypassed() {
    let mut met = 0;
    for machine in Machine::all_shipped().expect("the shipped machines") {
        let file = machine.file();
        let check = |id: &str| file.checks.iter().any(|c| c.id == id);
        if !check("does-it-crank") {
            continue;
        }
        met += 1;
        assert!(!check("thumb-puff") && check("gauge-pull"), "{}", machine.id());
        // The wire that stops the engine when the driver leaves the seat is the one that this unplugs.
        let bypassed = |b: &halfsplit::machine::file::Bypass| {
            b.id == "stop-lead-off" || b.lifts.iter().any(|c| c == "interlock/open")
        };
        assert!(!file.bypasses.iter().any(bypassed), "{}", machine.id());
    }
    assert!(met > 0, "no machine has a starter motor");
}

#[test]
fn a_job_with_a_step_that_is_no_longer_offered_says_so() {
    // Nobody is told any more to hold the brake lever at a running engine. Older jobs have that step.
    let text = r#"{"machine": "mower-recoil", "steps": [
        {"do": "attempt", "bypass": ["brake-lever-by-hand"], "outcome": "nothing"}]}"#;
    let file = JobFile::from_json(text).expect("the form of a job");
    let error = Job::new(mower(), &file).expect_err("an unknown step").to_string();
    assert!(error.contains("there is no bypass \"brake-lever-by-hand\""), "{error}");
    let linked = Linked { job: file, fingerprint: None, note: None };
    let fits = fit(&linked, mower(), "").expect("the rest of the job");
    assert_eq!(fits.unknown_steps.len(), 1, "{:?}", fits.unknown_steps);
    assert_eq!(fits.unknown_steps[0].step, 0);
}
