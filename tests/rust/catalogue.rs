//! Checks the shipped mower against the lists of the trade for a walk-behind mower: faults with their
//! shares, checks, attempts, repairs with minutes and prices, faults that occur together.
//!
//! All figures are common practice without a counted source: the trade's opening values, in percent of
//! no-starts, in minutes of hands-on work, in dollars of the 2020s.

use halfsplit::job::{Job, Outcome};
use halfsplit::machine::file::Repair;
use halfsplit::machine::{Machine, file::MachineFile};
use halfsplit_bayes::JunctionTree;
use halfsplit_tests::trade::{FAULTS, NoStart};
use halfsplit_tests::{attempt, bypass, job, mower};

/// Every check of the trade, by the place on the machine. The last is for machines with a battery.
const CHECKS: [&str; 55] = [
    // The owner's account.
    "ask-storage",
    "ask-refuel",
    "ask-hit",
    "ask-tipped",
    "ask-worked-on",
    "ask-how-it-quit",
    "ask-what-was-tried",
    // Looks, without tools.
    "control-look",
    "tank-look",
    "fuel-tap-look",
    "lead-look",
    "oil-level",
    "oil-smell",
    "filter-look",
    "fuel-smell",
    "exhaust-look",
    "blade-look",
    "bail-switch-travel",
    "choke-look",
    "primer-squirt",
    "throat-look",
    // Rope and rotation.
    "rope-feel",
    "rope-sound",
    "recoil-look",
    "rebound-spin",
    // Fuel.
    "fuel-jar",
    "fuel-weigh",
    "fuel-paper-spot",
    "fuel-water-column",
    "bowl-drain",
    "line-flow",
    "cap-vent",
    "choke-hand",
    // Plug.
    "plug-wet",
    "plug-gap-measured",
    "plug-ohms",
    "plug-body-look",
    // Spark and ignition.
    "spark-gap-tester",
    "spark-glow-inline",
    "spark-open-air",
    "spark-longest-jump",
    "spark-stop-lead-off",
    "stop-lead-ohms",
    "coil-ohms",
    "coil-air-gap",
    "spark-hot",
    // Timing.
    "key-look",
    "piston-magnet-position",
    // Compression and valves.
    "thumb-puff",
    "gauge-pull",
    "gauge-spun",
    "gauge-wet",
    "leak-down",
    "valve-clearance",
    // 12 V.
    "battery-rest-volts",
];

/// Every attempt of the trade except the plain one, by the place on the machine. One is left out on purpose: the
/// brake lever held by hand at the engine puts a hand over a turning blade.
const BYPASSES: [&str; 7] =
    ["dose", "test-can", "good-plug", "stop-lead-off", "filter-off", "cap-loose", "flood-start"];

fn name(part: &str, condition: &str) -> String {
    format!("{part}/{condition}")
}

fn has_check(file: &MachineFile, id: &str) -> bool {
    file.checks.iter().any(|c| c.id == id)
}

#[test]
fn every_fault_check_and_attempt_of_the_trade_is_there() {
    let file = mower().file();
    let mut left: Vec<String> = Vec::new();
    for part in file.parts.iter().filter(|p| !p.left_over) {
        left.extend(part.conditions.iter().map(|c| name(&part.id, &c.id)));
    }
    for id in FAULTS.iter().flat_map(|f| f.0) {
        let at = left.iter().position(|c| c == id).expect(id);
        left.remove(at);
    }
    assert!(left.is_empty(), "beyond the trade's list: {left:?}");
    let (battery, rest) = CHECKS.split_last().expect("checks");
    let missing: Vec<_> = rest.iter().filter(|id| !has_check(file, id)).collect();
    assert!(missing.is_empty(), "{missing:?}");
    assert!(has_check(Machine::shipped("riding-mower").expect("the riding mower").file(), battery));
    let missing: Vec<_> = BYPASSES.iter().filter(|id| !file.bypasses.iter().any(|b| b.id == **id)).collect();
    assert!(missing.is_empty(), "{missing:?}");
    // Every subsystem has a part for unlisted faults.
    for subsystem in &file.subsystems {
        assert!(file.parts.iter().any(|p| p.left_over && p.subsystem == subsystem.id), "{}", subsystem.id);
    }
    // Facts about what is fitted; each may be unknown.
    for fact in ["release", "cold-start", "fuel-tap", "oil-switch", "valve-gear", "trigger"] {
        let context = file.context.iter().find(|b| b.id == fact).expect(fact);
        assert!(context.states.len() > 1 && context.states.iter().all(|s| s.share > 0.0), "{fact}");
    }
}

/// Minutes of a repair with its set-up.
fn minutes(file: &MachineFile, repair: &Repair) -> f64 {
    let setups = file.setups.iter().filter(|s| repair.setups.contains(&s.id));
    repair.minutes + setups.map(|s| s.minutes).sum::<f64>()
}

#[test]
fn every_fault_has_a_repair_of_the_minutes_and_price_of_the_trade() {
    let file = mower().file();
    for (conditions, _, _, listed, [low, _, high]) in FAULTS {
        for id in conditions {
            let cures: Vec<&Repair> =
                file.repairs.iter().filter(|r| r.cures.iter().any(|c| c == id)).collect();
            // Within a third, or within one small set-up; a machine that is scrap has no minutes.
            let near = |r: &&&Repair| {
                let minutes = minutes(file, r);
                listed == 0.0 || (minutes - listed).abs() <= (listed / 3.0).max(8.0)
            };
            let priced = |r: &&&Repair| (low..=high).contains(&r.parts_cost.typical);
            let found = cures.iter().find(|r| near(r) && priced(r));
            // A weak magnet takes removal of the flywheel, so it is not compared.
            if *id == "magnet/weak" {
                continue;
            }
            assert!(
                found.is_some(),
                "{id}: {:?}",
                cures.iter().map(|r| (&r.id, minutes(file, r))).collect::<Vec<_>>()
            );
        }
    }
    for machine in Machine::all_shipped().expect("the shipped machines") {
        for r in &machine.file().repairs {
            assert!(!r.leaves.is_empty(), "{}: {} says nothing of what it leaves behind", machine.id(), r.id);
        }
        for part in machine.file().parts.iter().filter(|p| !p.left_over) {
            for c in &part.conditions {
                assert!(!c.prevent.is_empty(), "{}: {} has no word for next season", machine.id(), c.name);
            }
        }
    }
}

#[test]
fn shares_of_a_no_start_are_those_that_are_quoted() {
    // The rates are 0.45 stopping causes per machine times the share, so the odds of a machine that does not
    // run must equal the shares, within 6 % for the noise of an attempt and for several causes at once.
    let shares = NoStart::of(mower()).shares(mower());
    let left_over: f64 = shares.iter().filter(|s| s.left_over).map(|s| s.cause).sum();
    assert!((3.0..6.0).contains(&left_over), "left over {left_over}");
    // The quoted shares leave 1.6 % for unlisted faults, so that the others share 98.4 %.
    // By group; claims for fuel and carburettor go from nearly 40 % (portable generators, a preparedness page)
    // to more than 80 % (a North American home-repair magazine, May 2018), and 55 to 85 % is honest.
    let group = |id: &str| -> f64 {
        shares.iter().filter(|s| s.subsystem == id && !s.left_over).map(|s| s.cause).sum()
    };
    assert!((55.0..=85.0).contains(&group("fuel")), "{}", group("fuel"));
    for (id, percent) in [
        ("fuel", 64.1),
        ("air-exhaust", 2.7),
        // The stop lead, 1.4, belongs to the controls here.
        ("ignition", 13.6 - 1.4),
        ("controls", 5.7 + 1.4),
        ("compression", 4.6),
        ("timing", 2.3),
        ("mechanical", 5.4),
    ] {
        let expected = percent / 98.4 * (100.0 - left_over);
        assert!((group(id) / expected - 1.0).abs() < 0.06, "{id}: {} against {percent}", group(id));
    }
    assert!((FAULTS.iter().map(|f| f.1).sum::<f64>() - 98.4).abs() < 1e-9);
    for (conditions, cause, also, ..) in FAULTS {
        let named = || shares.iter().filter(|s| conditions.contains(&s.id.as_str()));
        let expected = cause / 98.4 * (100.0 - left_over);
        let got: f64 = named().map(|s| s.cause).sum();
        assert!((got / expected - 1.0).abs() < 0.06, "{conditions:?}: {got} against {expected}");
        // Present but not the reason: within a fifth, or within 0.15 for the last digit.
        let there: f64 = named().map(|s| s.there).sum();
        assert!((there - also).abs() <= (also / 5.0).max(0.15), "{conditions:?}: {there} against {also}");
    }
}

/// The chance of the second condition given the first, in percent.
const TOGETHER: [(&str, &str, f64); 13] = [
    ("fuel/stale", "jet/gummed", 45.0),
    ("fuel/stale", "plug/fouled", 25.0),
    ("fuel/stale", "needle/stuck-shut", 10.0),
    ("jet/gummed", "fuel/stale", 60.0),
    ("bowl/water", "jet/gummed", 30.0),
    ("bowl/water", "needle/leaking", 10.0),
    ("needle/leaking", "headspace/locked", 10.0),
    ("headspace/locked", "plug/fouled", 80.0),
    ("headspace/locked", "filter/soaked", 60.0),
    ("key/sheared", "blade/loose", 15.0),
    ("key/sheared", "crank/broken", 15.0),
    ("rings/worn", "plug/fouled", 40.0),
    ("choke/not-closing", "cable/misset", 40.0),
];

/// Pairs that occur together in the trade and are independent here. A link would make the network larger
/// and tell little: a wet plug, the age or the check itself depends on both.
const APART: [(&str, &str, f64); 6] = [
    ("fuel/stale", "valves/stuck-open", 4.0),
    ("needle/leaking", "cylinder/flooded", 55.0),
    ("coil/dead", "cylinder/flooded", 40.0),
    ("coil/dead", "plug/fouled", 60.0),
    ("key/sheared", "recoil/broken", 10.0),
    ("rings/worn", "valves/leaking", 25.0),
];

#[test]
fn faults_come_together_as_the_trade_says() {
    let mower = NoStart::of(mower());
    let chance = |given: &str, other: &str| -> f64 {
        let mut found = mower.found();
        mower.present(&mut found, given);
        let (acts, harmless) = mower.chances(&mower.given(&found), other);
        acts + harmless
    };
    // Rough figures: within a factor of two.
    let near = |got: f64, percent: f64| (percent / 2.0..=percent * 2.0).contains(&got);
    for (given, other, percent) in TOGETHER {
        let got = chance(given, other);
        assert!(near(got, percent), "{given} with {other}: {got:.1} against {percent}");
    }
    for (given, other, percent) in APART {
        let got = chance(given, other);
        assert!(
            !near(got, percent),
            "{given} with {other}: {got:.1} against {percent}; it is no longer apart"
        );
    }
}

/// Groups of faults that give the same outcomes of start attempts.
const NO_FUEL: &[&str] = &["tank/empty", "fuel-line/tap-shut", "needle/stuck-shut", "fuel-line/blocked"];
const LEAN: &[&str] = &["jet/gummed", "primer/failed", "choke/not-closing", "diaphragm/stiff", "intake/leak"];
const STALE: &[&str] = &["fuel/stale"];
const WRONG: &[&str] = &["bowl/water", "fuel/wrong"];
const FLOOD: &[&str] = &["cylinder/flooded", "needle/leaking", "choke/stuck-closed"];
const AIR: &[&str] = &["filter/packed", "filter/soaked"];
const EXHAUST: &[&str] = &["exhaust/blocked"];
const STOP: &[&str] =
    &["control/in-stop", "brake/misset", "stop-lead/grounded", "low-oil-switch/cutting-out"];
const COIL: &[&str] = &["coil/dead", "lead/off", "points/bad"];
const PLUG: &[&str] = &["plug/fouled", "plug/cracked", "plug-gap/wide", "plug-gap/closed"];
const KEY: &[&str] = &["key/sheared"];
const NO_SEAL: &[&str] = &["valves/stuck-open", "crank/broken", "pushrods/off"];
const LEAK: &[&str] = &["valves/leaking", "head-gasket/blown", "rings/worn"];

/// Outcomes of an attempt with one fault alone: of a hundred, how many end with nothing, in a cough, start and
/// die, run. The rows without a bypass come first. Known-good fuel in the tank is a repair here (drained and
/// refilled); the bypass has its own hose, so that it also bypasses faults on the way of the fuel. A dose
/// helps a leaking cylinder or a choked filter a little (12 of a hundred more start and die), which is left
/// out.
#[rustfmt::skip]
const ATTEMPTS: &[(&str, &[&str], [f64; 4])] = &[
    ("", NO_FUEL, [80.0, 10.0, 9.0, 1.0]),
    ("", LEAN, [35.0, 25.0, 33.0, 7.0]),
    ("", STALE, [45.0, 30.0, 15.0, 10.0]),
    ("", WRONG, [65.0, 20.0, 12.0, 3.0]),
    ("", FLOOD, [65.0, 22.0, 7.0, 6.0]),
    ("", AIR, [45.0, 25.0, 22.0, 8.0]),
    ("", EXHAUST, [60.0, 25.0, 12.0, 3.0]),
    ("", STOP, [97.0, 2.0, 1.0, 0.0]),
    ("", COIL, [97.0, 2.0, 0.5, 0.5]),
    ("", PLUG, [52.0, 28.0, 8.0, 12.0]),
    ("", KEY, [50.0, 40.0, 6.0, 4.0]),
    ("", NO_SEAL, [90.0, 8.0, 1.0, 1.0]),
    ("", LEAK, [42.0, 28.0, 12.0, 18.0]),
    ("dose", NO_FUEL, [5.0, 10.0, 84.0, 1.0]),
    ("dose", LEAN, [6.0, 12.0, 70.0, 12.0]),
    ("dose", STALE, [12.0, 15.0, 48.0, 25.0]),
    ("dose", WRONG, [15.0, 18.0, 62.0, 5.0]),
    ("dose", &["cylinder/flooded"], [80.0, 13.0, 3.0, 4.0]),
    ("dose", EXHAUST, [58.0, 26.0, 13.0, 3.0]),
    ("dose", STOP, [97.0, 2.0, 1.0, 0.0]),
    ("dose", COIL, [97.0, 2.0, 0.5, 0.5]),
    ("dose", PLUG, [52.0, 28.0, 12.0, 8.0]),
    ("dose", KEY, [45.0, 45.0, 7.0, 3.0]),
    ("dose", NO_SEAL, [90.0, 8.0, 1.5, 0.5]),
    ("test-can", &["tank/empty"], [5.0, 4.0, 3.0, 88.0]),
    ("test-can", STALE, [10.0, 12.0, 8.0, 70.0]),
    ("test-can", WRONG, [20.0, 20.0, 10.0, 50.0]),
    ("test-can", LEAN, [32.0, 25.0, 34.0, 9.0]),
    ("test-can", FLOOD, [62.0, 22.0, 8.0, 8.0]),
    ("test-can", AIR, [44.0, 25.0, 22.0, 9.0]),
    ("test-can", EXHAUST, [60.0, 25.0, 12.0, 3.0]),
    ("test-can", STOP, [97.0, 2.0, 1.0, 0.0]),
    ("test-can", COIL, [97.0, 2.0, 0.5, 0.5]),
    ("test-can", PLUG, [50.0, 28.0, 8.0, 14.0]),
    ("test-can", KEY, [50.0, 40.0, 6.0, 4.0]),
    ("test-can", NO_SEAL, [90.0, 8.0, 1.0, 1.0]),
    ("test-can", LEAK, [38.0, 28.0, 12.0, 22.0]),
    ("good-plug", NO_FUEL, [78.0, 12.0, 9.0, 1.0]),
    ("good-plug", LEAN, [33.0, 26.0, 33.0, 8.0]),
    ("good-plug", STALE, [38.0, 32.0, 17.0, 13.0]),
    ("good-plug", WRONG, [60.0, 24.0, 12.0, 4.0]),
    ("good-plug", &["cylinder/flooded"], [20.0, 20.0, 15.0, 45.0]),
    ("good-plug", AIR, [43.0, 25.0, 23.0, 9.0]),
    ("good-plug", EXHAUST, [60.0, 25.0, 12.0, 3.0]),
    ("good-plug", STOP, [97.0, 2.0, 1.0, 0.0]),
    ("good-plug", COIL, [96.0, 2.0, 1.0, 1.0]),
    ("good-plug", &["plug/cracked", "plug-gap/wide", "plug-gap/closed"], [5.0, 6.0, 4.0, 85.0]),
    ("good-plug", &["plug/fouled"], [8.0, 8.0, 6.0, 78.0]),
    ("good-plug", KEY, [48.0, 41.0, 7.0, 4.0]),
    ("good-plug", NO_SEAL, [90.0, 8.0, 1.0, 1.0]),
    ("good-plug", LEAK, [38.0, 28.0, 14.0, 20.0]),
    ("stop-lead-off", STOP, [8.0, 8.0, 6.0, 78.0]),
    ("stop-lead-off", COIL, [97.0, 2.0, 0.5, 0.5]),
    ("stop-lead-off", LEAN, [35.0, 25.0, 33.0, 7.0]),
    ("filter-off", AIR, [10.0, 10.0, 5.0, 75.0]),
    ("filter-off", &["cylinder/flooded"], [58.0, 22.0, 8.0, 12.0]),
    ("filter-off", LEAN, [35.0, 25.0, 33.0, 7.0]),
    ("cap-loose", &["tank-cap/blocked"], [8.0, 7.0, 10.0, 75.0]),
    ("cap-loose", &["coil/weak-hot"], [75.0, 15.0, 5.0, 5.0]),
    ("cap-loose", LEAN, [35.0, 25.0, 35.0, 5.0]),
    ("flood-start", &["cylinder/flooded"], [30.0, 20.0, 10.0, 40.0]),
    ("flood-start", &["needle/leaking"], [55.0, 22.0, 10.0, 13.0]),
    ("flood-start", STOP, [97.0, 2.0, 1.0, 0.0]),
    ("flood-start", COIL, [97.0, 2.0, 1.0, 0.0]),
];

/// Attempts with an outcome that is more than ten of a hundred off, with the reason.
const OFF: &[(&str, &str, &str)] = &[
    ("dose", "fuel/stale", ONE_LAW),
    ("dose", "bowl/water", ONE_LAW),
    ("dose", "fuel/wrong", ONE_LAW),
    (
        "dose",
        "cylinder/flooded",
        "ends as without a dose (65 nothing): it is held off where it looks flooded",
    ),
    ("test-can", "tank/empty", ONE_LAW),
    ("test-can", "bowl/water", ONE_LAW),
    ("test-can", "fuel/wrong", ONE_LAW),
];
/// A law of its own (`apart`) for stale fuel, for water and wrong fuel, or for all three makes a job with a
/// dose and ten more steps exceed the limit of table entries.
const ONE_LAW: &str = "what a bypass lifts has one law, by how badly it acts";

#[test]
fn attempts_end_as_the_trade_says() {
    let (mut off, mut figures) = (Vec::new(), Vec::new());
    for (with, faults, listed) in ATTEMPTS {
        let outcomes = [Outcome::Nothing, Outcome::Tries, Outcome::Dies, Outcome::Runs];
        let trees = outcomes.map(|outcome| {
            let step = if with.is_empty() { attempt(outcome) } else { bypass(with, outcome) };
            let (network, found) =
                Job::new(mower(), &job(&[step])).and_then(|j| j.network()).expect("a network");
            let tree = JunctionTree::compile(&network).expect("a tree");
            (network, found, tree)
        });
        for wrong in *faults {
            let all = trees.each_ref().map(|(network, found, tree)| {
                let mut alone = found.clone();
                for part in &mower().file().parts {
                    let var = network.require(&format!("part {}", part.id)).expect("a part");
                    let acts = wrong
                        .split_once('/')
                        .filter(|(id, _)| *id == part.id)
                        .map(|(_, c)| format!("{c}/acting"));
                    alone.observe(network, var, acts.as_deref().unwrap_or("sound")).expect("a state");
                }
                tree.posterior(&alone).expect("possible").log_p_evidence().exp()
            });
            let sum: f64 = all.iter().sum();
            let got = all.map(|p| 100.0 * p / sum);
            // A fault that acts here stops the engine. Where it runs, the fault is only present, so the other
            // three outcomes share the rest. A bypass of the fault lets the engine run.
            let file = mower().file().bypasses.iter().find(|b| b.id == *with);
            let acted_on = file.is_some_and(|b| {
                let apart = b.apart.iter().flat_map(|a| &a.conditions);
                b.lifts.iter().chain(apart).any(|c| c == wrong)
            });
            let left = if acted_on { 1.0 } else { (100.0 - got[3]) / (100.0 - listed[3]) };
            for (got, listed) in got.iter().zip(listed).take(if acted_on { 4 } else { 3 }) {
                let expected = listed * left;
                // The opening values rest on ten to twenty cases, so the tolerance is ten of a hundred.
                if (got - expected).abs() > 10.0 {
                    off.push((*with, *wrong));
                    figures.push(format!("{with} on {wrong}: {got:.1} against {expected:.1}"));
                }
            }
        }
    }
    let with_reason: Vec<(&str, &str)> = OFF.iter().map(|(with, wrong, _)| (*with, *wrong)).collect();
    let unexplained: Vec<&String> =
        off.iter().zip(&figures).filter(|(o, _)| !with_reason.contains(o)).map(|(_, f)| f).collect();
    assert!(unexplained.is_empty(), "{unexplained:#?}");
    let fine: Vec<_> = with_reason.iter().filter(|o| !off.contains(o)).collect();
    assert!(fine.is_empty(), "not off any more: {fine:?}");
}
