//! Compares the other machines with the mower: how many times as often each fault stops them, which faults they
//! have besides, and which checks differ.
//!
//! All figures are common practice without a counted source.

use halfsplit::job::{JobFile, Outcome, StepRecord};
use halfsplit::machine::Machine;
use halfsplit_tests::trade::{FAULTS, NoStart};
use halfsplit_tests::{assess_on, attempt, cause, found, job};

/// A kind of machine, by its differences from a walk-behind mower in the trade.
struct Kind {
    machine: &'static str,
    /// How many times as often as on the mower, for conditions or whole groups of them.
    times: &'static [(&'static str, f64)],
    /// Faults that only this kind has, and their share among the causes that stop it, in percent.
    beyond: &'static [(&'static str, f64)],
    /// Faults and steps that it lacks because a part is never fitted or does not exist.
    lacks: &'static [&'static str],
    /// Checks that it has besides the mower's, or makes in another way.
    checks: &'static [&'static str],
}

const BLADE: [&str; 3] = ["blade/jammed", "blade/loose", "brake/misset"];

#[rustfmt::skip]
const KINDS: [Kind; 4] = [
    Kind {
        machine: "riding-mower",
        times: &[("controls", 0.5), ("jet/gummed", 0.7), ("key/sheared", 0.3), ("compression-release/stuck", 8.0)],
        beyond: &[
            ("battery/flat", 22.0), ("battery-cables/bad", 8.0), ("solenoid/bad", 6.0), ("interlock/open", 9.0),
            ("starter/bad", 4.0), ("fuse/blown", 3.0), ("fuel-shutoff/stuck", 4.0), ("fuel-pump/weak", 3.0),
            ("ignition-switch/bad", 2.0),
        ],
        // Only the walk-behind mower has the bail, the blade on the crank and the rope.
        lacks: &["recoil/broken", "diaphragm/stiff", "primer/failed", "points/bad", "low-oil-switch/cutting-out", BLADE[0], BLADE[1], BLADE[2]],
        checks: &["does-it-crank", "battery-rest-volts", "battery-cranking-volts", "small-terminal-volts", "solenoid-bridge", "cable-drop", "charging-volts", "fuse-look", "interlock-look", "fuel-pump-flow"],
    },
    Kind {
        machine: "two-stroke-handheld",
        times: &[
            ("fuel/stale", 1.2), ("diaphragm/stiff", 8.0), ("primer/failed", 3.0), ("fuel-line/blocked", 3.0),
            ("exhaust/blocked", 8.0), ("rings/worn", 2.0), ("key/sheared", 0.3),
        ],
        beyond: &[
            ("mix/wrong", 3.0), ("crank-seals/leaking", 3.0), ("piston/scored", 4.0), ("pulse-line/leaking", 1.0),
            ("pickup/cracked", 5.0), ("switch/bad", 3.0),
        ],
        // Valves, their cam and release, brake and oil switch; oil above the piston is the four-stroke's.
        lacks: &[
            "valves/stuck-open", "valves/leaking", "pushrods/off", "head-gasket/blown", "compression-release/stuck",
            "camshaft/off", "low-oil-switch/cutting-out", "headspace/locked", "fuel-line/tap-shut", "points/bad",
            "cable/misset", BLADE[0], BLADE[1], BLADE[2],
        ],
        checks: &["gauge-pull", "case-hold", "port-look", "mix-ask", "fuel-paper-spot", "pickup-look", "switch-ohms"],
    },
    Kind {
        machine: "generator-portable",
        times: &[("low-oil-switch/cutting-out", 15.0), ("fuel/stale", 1.3), ("fuel-line/tap-shut", 4.0)],
        beyond: &[("fuel-shutoff/stuck", 2.0), ("monoxide-cutout/tripped", 1.0), ("load/connected", 1.2)],
        lacks: &["diaphragm/stiff", "primer/failed", "points/bad", BLADE[0], BLADE[1], BLADE[2]],
        checks: &["oil-level", "load-look", "cutout-look", "shutoff-click"],
    },
    Kind {
        machine: "snow-thrower",
        // A key pulled out doubles the control's share, and a closed throttle or shut-off adds two of a hundred. Stale
        // fuel stops .60 of the mowers that have it, and .85 of the engines at -10 degrees.
        times: &[("choke/not-closing", 2.0), ("bowl/water", 2.0), ("control/in-stop", 2.8), ("fuel/stale", 0.85 / 0.60)],
        beyond: &[("sump/thick-oil", 3.0), ("ice/in-carburettor", 2.0), ("mains-starter/bad", 2.0), ("auger/jammed", 0.15)],
        lacks: &["diaphragm/stiff", "points/bad", "low-oil-switch/cutting-out", BLADE[0], BLADE[1], BLADE[2]],
        checks: &["frost-ask", "ice-look", "mains-starter-try"],
    },
];

#[test]
fn shares_are_those_of_the_mower_times_what_differs() {
    for kind in &KINDS {
        let machine = Machine::shipped(kind.machine).expect(kind.machine);
        let shares = NoStart::of(&machine).shares(&machine);
        let left_over: f64 = shares.iter().filter(|s| s.left_over).map(|s| s.cause).sum();
        assert!((3.0..6.0).contains(&left_over), "{}: left over {left_over}", kind.machine);
        let beyond: f64 = kind.beyond.iter().map(|(_, share)| share).sum();
        let times = |id: &str| {
            let group = &shares.iter().find(|s| s.id == id).expect(id).subsystem;
            let of = kind.times.iter().filter(|(what, _)| *what == id || what == group);
            of.map(|(_, factor)| factor).product::<f64>()
        };
        // Faults of the mower that this kind has, as the lists name them.
        let mut quoted: Vec<(&[&str], f64)> = Vec::new();
        for (ids, cause, ..) in FAULTS {
            if ids.iter().all(|id| kind.lacks.contains(id)) {
                for id in ids {
                    assert!(!shares.iter().any(|s| s.id == *id), "{} has {id} after all", kind.machine);
                }
                continue;
            }
            quoted.push((ids, cause * times(ids[0])));
        }
        let whole: f64 = quoted.iter().map(|(_, cause)| cause).sum();
        let compare = |ids: &[&str], expected: f64| {
            let got: f64 = shares.iter().filter(|s| ids.contains(&s.id.as_str())).map(|s| s.cause).sum();
            // Within a tenth, or a tenth of a percent, for noise of an attempt, several causes, and severities.
            assert!(
                (got - expected).abs() <= (expected / 10.0).max(0.1),
                "{}: {ids:?}: {got:.2} against {expected:.2}",
                kind.machine
            );
        };
        for (id, share) in kind.beyond {
            compare(&[*id], *share);
        }
        for (ids, cause) in quoted {
            compare(ids, cause / whole * (100.0 - left_over - beyond));
        }
    }
}

#[test]
fn every_kind_has_its_own_checks() {
    for kind in &KINDS {
        let machine = Machine::shipped(kind.machine).expect(kind.machine);
        for id in kind.checks {
            let check = machine.file().checks.iter().find(|c| c.id == *id);
            let check = check.unwrap_or_else(|| unreachable!("{} has no {id}", kind.machine));
            let as_on_the_mower = halfsplit_tests::mower().file().checks.iter().find(|c| c.id == *id);
            assert!(as_on_the_mower != Some(check), "{}: {id} is the mower's", kind.machine);
        }
    }
}

/// What it costs to hand a machine over: what a shop charges for the usual repair, or what a used replacement costs, in
/// dollars of the 2020s.
const HAND_OVER: [(&str, f64); 5] = [
    ("mower-recoil", 300.0),
    ("two-stroke-handheld", 150.0),
    ("generator-portable", 400.0),
    ("snow-thrower", 600.0),
    ("riding-mower", 1000.0),
];

#[test]
fn handing_over_costs_what_it_costs_for_that_kind_of_machine() {
    for (id, cost) in HAND_OVER {
        let machine = Machine::shipped(id).expect(id);
        let file = machine.file();
        assert_eq!(file.defaults.hand_over_cost, cost, "{id}");
        assert_eq!(file.defaults.rate_per_hour, 60.0, "{id}");
        let sourced =
            file.sources.iter().any(|s| s.starts_with("Cost of handing over: ") && s.contains("no source"));
        assert!(sourced, "{id} does not say where the figure comes from");
    }
    assert_eq!(Machine::all_shipped().expect("the shipped machines").len(), HAND_OVER.len());
}

#[test]
fn the_look_at_the_controls_of_a_generator_can_say_all_that_it_names() {
    let machine = Machine::shipped("generator-portable").expect("the generator");
    let after = |steps: Vec<StepRecord>| {
        assess_on(&machine, &JobFile { machine: machine.id().into(), ..job(&steps) }).expect("an answer")
    };
    let failed = || attempt(Outcome::Nothing);
    for (result, id) in [
        ("in-stop", "control/in-stop"),
        ("tap-shut", "fuel-line/tap-shut"),
        ("loads-on", "load/connected"),
        ("mismatch", "cable/misset"),
    ] {
        let before = cause(&after(vec![failed()]), id).p_present;
        let look = after(vec![failed(), found("control-look", result)]);
        let others = after(vec![failed(), found("control-look", "right")]);
        let (seen, not_seen) = (cause(&look, id).p_was_present, cause(&others, id).p_was_present);
        assert!(seen > 3.0 * before && not_seen < before, "{result}: {before} to {seen} or {not_seen}");
    }
}
