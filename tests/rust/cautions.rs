//! The warnings that each check, attempt and repair must have, by name, and when to stop. The list is the
//! shortest one that matters, by common practice; figures have their source beside them.

use halfsplit::machine::Machine;
use halfsplit::machine::file::MachineFile;

/// Steps by id, and groups of warnings: the step or its set-up must give one warning of each group.
type Rule = (&'static [&'static str], &'static [&'static [&'static str]]);

#[rustfmt::skip]
const RULES: &[Rule] = &[
    // Fuel: vapour, cold, outdoors; drained fuel is disposed of.
    (&["tank-look", "fuel-smell", "fuel-jar", "fuel-weigh", "fuel-paper-spot", "fuel-water-column", "fuel-layer-height",
        "bowl-drain", "line-flow", "cap-vent", "pickup-look", "fuel-pump-flow"], &[&["vapour"]]),
    (&["fuel-jar", "fuel-weigh", "fuel-water-column", "fuel-layer-height", "bowl-drain", "line-flow", "drain-and-refill",
        "clean-carburettor", "fresh-mix", "fuel-pump-flow"], &[&["waste"], &["fuel-and-spark"]]),
    (&["tank-look", "cap-vent", "fill-tank", "clear-tank-cap"], &[&["hot"]]),
    // The blade: lead off, gloves, which way to tip.
    (&["blade-look", "free-blade", "tighten-blade"], &[&["lead-off"], &["blade"], &["tipping"]]),
    // Rope: kick-back, feet clear; the blade turns with it.
    (&["rope-feel", "rope-sound", "attempt", "throat-look", "choke-hand", "plug-wet"], &[&["kick-back", "starter-rest"]]),
    (&["rebound-spin", "piston-magnet-position"], &[&["lead-off"], &["blade", "lead-off"]]),
    // A hand or a dose at the throat: backfire.
    (&["choke-hand", "dose"], &[&["backfire"], &["vapour"]]),
    (&["dose"], &[&["no-ether"]]),
    // Plug: hot, and dirt falls into the hole.
    (&["plug-wet", "plug-gap-measured", "plug-ohms", "plug-body-look", "plug-beads", "new-plug", "good-plug"], &[&["hot"], &["plug-hole"]]),
    // Sparks: shock, no fuel about, hole closed.
    (&["spark-gap-tester", "spark-glow-inline", "spark-open-air", "spark-longest-jump", "spark-stop-lead-off", "spark-hot"],
        &[&["shock"], &["fuel-and-spark"], &["hole-closed"], &["kick-back", "starter-rest"]]),
    // Without the stop lead the control cannot stop the engine, so the lead must be connected again.
    (&["spark-stop-lead-off", "stop-lead-off"], &[&["no-stop"], &["safety-device"]]),
    (&["brake-lever-by-hand", "low-oil-lead-off", "set-brake-cable", "free-stop-lead", "mend-interlock", "set-throttle-cable", "new-switch"],
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
    (&["solenoid-bridge"], &[&["bridge"]]),
    (&["charging-volts", "attempt", "minutes-to-die", "does-it-crank"], &[&["monoxide", "generator-air"]]),
    // Steps that only some machines have.
    (&["load-look", "unplug-loads"], &[&["back-feed"]]),
    (&["thaw"], &[&["no-flame-thaw"]]),
    (&["free-auger"], &[&["auger"], &["lead-off"]]),
    (&["mains-starter-try", "mend-mains-starter"], &[&["mains"]]),
    (&["fresh-mix"], &[&["oil-in-fuel"]]),
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
