//! What the trade lists for a walk-behind mower, and that the shipped one has it: faults with their
//! shares, checks, attempts, repairs with minutes and prices, faults that come together.
//!
//! All figures are common practice, no counted source: opening values of the trade, in percent of
//! no-starts, in minutes of hands-on work, in dollars of the 2020s.

use std::collections::BTreeMap;

use halfsplit::job::{Job, Outcome};
use halfsplit::machine::file::Repair;
use halfsplit::machine::{Machine, file::MachineFile};
use halfsplit::{Evidence, JunctionTree};
use halfsplit_tests::{assess, attempt, bypass, job, mower};

/// What stands as one fault in the trade, as our conditions; its share of what stops engines that do
/// not start, and the share of these in which it is found and not the reason, in percent; minutes of
/// the repair, and the price of its parts: low, typical, high.
type Fault = (&'static [&'static str], f64, f64, f64, [f64; 3]);

#[rustfmt::skip]
const FAULTS: [Fault; 45] = [
    (&["tank/empty"], 3.2, 1.0, 3.0, [0.0, 3.0, 8.0]),
    (&["fuel-line/tap-shut"], 1.5, 1.0, 1.0, [0.0, 0.0, 12.0]),
    (&["fuel/stale"], 14.0, 25.0, 15.0, [3.0, 5.0, 12.0]),
    (&["bowl/water"], 4.2, 8.0, 20.0, [3.0, 6.0, 15.0]),
    (&["fuel/wrong"], 1.5, 1.0, 30.0, [4.0, 10.0, 20.0]),
    (&["jet/gummed"], 18.0, 15.0, 35.0, [4.0, 12.0, 45.0]),
    (&["needle/stuck-shut"], 3.0, 2.0, 25.0, [3.0, 8.0, 45.0]),
    (&["needle/leaking"], 3.0, 4.0, 25.0, [3.0, 9.0, 45.0]),
    (&["fuel-line/blocked"], 2.5, 4.0, 15.0, [2.0, 6.0, 15.0]),
    (&["tank-cap/blocked"], 1.0, 3.0, 4.0, [0.0, 8.0, 20.0]),
    (&["primer/failed"], 2.5, 5.0, 15.0, [2.0, 7.0, 20.0]),
    (&["choke/not-closing"], 2.5, 6.0, 12.0, [0.0, 8.0, 30.0]),
    (&["choke/stuck-closed"], 1.2, 2.0, 12.0, [0.0, 8.0, 30.0]),
    (&["cylinder/flooded"], 3.5, 10.0, 10.0, [0.0, 0.0, 6.0]),
    (&["diaphragm/stiff"], 1.0, 2.0, 25.0, [4.0, 9.0, 20.0]),
    (&["intake/leak"], 1.5, 3.0, 20.0, [1.0, 6.0, 25.0]),
    (&["filter/dirty", "filter/packed", "filter/soaked"], 2.2, 28.0, 4.0, [3.0, 8.0, 18.0]),
    (&["exhaust/blocked"], 0.5, 1.0, 15.0, [0.0, 5.0, 35.0]),
    (&["plug/fouled"], 4.0, 20.0, 5.0, [3.0, 5.0, 10.0]),
    (&["plug/cracked"], 1.6, 3.0, 5.0, [3.0, 5.0, 10.0]),
    (&["plug-gap/wide", "plug-gap/closed"], 0.6, 12.0, 4.0, [0.0, 0.0, 6.0]),
    (&["lead/off"], 1.5, 2.0, 2.0, [0.0, 2.0, 10.0]),
    (&["stop-lead/grounded"], 1.4, 0.5, 25.0, [0.0, 4.0, 15.0]),
    (&["coil/dead"], 2.6, 0.0, 35.0, [12.0, 28.0, 70.0]),
    (&["coil/weak-hot"], 0.7, 1.0, 35.0, [12.0, 28.0, 70.0]),
    (&["magnet/wide-gap", "magnet/weak"], 0.7, 4.0, 25.0, [0.0, 2.0, 60.0]),
    (&["points/bad"], 0.5, 1.0, 40.0, [6.0, 12.0, 25.0]),
    (&["control/in-stop"], 2.5, 1.0, 1.0, [0.0, 0.0, 0.0]),
    (&["brake/misset"], 1.6, 2.0, 20.0, [0.0, 12.0, 30.0]),
    (&["cable/misset"], 1.2, 8.0, 12.0, [0.0, 10.0, 22.0]),
    (&["low-oil-switch/cutting-out"], 0.4, 1.0, 10.0, [4.0, 8.0, 35.0]),
    (&["valves/stuck-open"], 1.1, 0.5, 60.0, [0.0, 8.0, 40.0]),
    (&["valves/leaking"], 1.0, 6.0, 90.0, [4.0, 15.0, 60.0]),
    (&["pushrods/off"], 0.4, 0.3, 50.0, [6.0, 15.0, 40.0]),
    (&["head-gasket/blown"], 0.7, 2.0, 60.0, [5.0, 12.0, 30.0]),
    (&["rings/worn"], 1.0, 12.0, 240.0, [0.0, 5.0, 120.0]),
    (&["compression-release/stuck"], 0.4, 1.0, 120.0, [8.0, 25.0, 60.0]),
    (&["key/sheared"], 2.2, 1.5, 45.0, [2.0, 4.0, 8.0]),
    (&["camshaft/off"], 0.1, 0.1, 180.0, [5.0, 30.0, 90.0]),
    (&["recoil/broken"], 2.0, 2.0, 30.0, [3.0, 15.0, 45.0]),
    (&["crank/seized"], 0.8, 0.0, 30.0, [0.0, 10.0, 300.0]),
    (&["headspace/locked"], 1.2, 0.5, 20.0, [3.0, 8.0, 20.0]),
    (&["blade/jammed"], 0.5, 1.0, 15.0, [0.0, 0.0, 10.0]),
    (&["blade/loose"], 0.5, 2.0, 15.0, [0.0, 12.0, 35.0]),
    (&["crank/broken"], 0.4, 0.3, 0.0, [0.0, 0.0, 300.0]),
];

/// By place: every check of the trade. The last is made on machines with a battery.
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

/// By place: every attempt of the trade but the plain one.
const BYPASSES: [&str; 8] = [
    "dose",
    "test-can",
    "good-plug",
    "stop-lead-off",
    "filter-off",
    "brake-lever-by-hand",
    "cap-loose",
    "flood-start",
];

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
    // Something not listed in every subsystem.
    for subsystem in &file.subsystems {
        assert!(file.parts.iter().any(|p| p.left_over && p.subsystem == subsystem.id), "{}", subsystem.id);
    }
    // Facts of what is fitted, all of which may be unknown.
    for fact in ["release", "cold-start", "fuel-tap", "oil-switch", "valve-gear", "trigger"] {
        let background = file.background.iter().find(|b| b.id == fact).expect(fact);
        assert!(background.states.len() > 1 && background.states.iter().all(|s| s.share > 0.0), "{fact}");
    }
}

/// Minutes with the work that opens the machine.
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
            // Within a third, or one small set-up more or less; what is scrap has no minutes.
            let near = |r: &&&Repair| {
                let minutes = minutes(file, r);
                listed == 0.0 || (minutes - listed).abs() <= (listed / 3.0).max(8.0)
            };
            let priced = |r: &&&Repair| (low..=high).contains(&r.parts_cost.typical);
            let found = cures.iter().find(|r| near(r) && priced(r));
            // Apart from the gap, a weak magnet takes the flywheel off.
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
    // The rates were set as 0.45 stopping causes per machine times the share, and the odds given that it
    // does not run must give the shares back; 6 % of each is the noise of an attempt and of several at once.
    // "Does not run" is any of three outcomes, each with its probability.
    let fresh = assess(&job(&[]));
    let mut weights = 0.0;
    let mut chances: BTreeMap<String, f64> = BTreeMap::new();
    let mut merely_there: BTreeMap<String, f64> = BTreeMap::new();
    for outcome in [Outcome::Dies, Outcome::Tries, Outcome::Nothing] {
        let answer = assess(&job(&[attempt(outcome)]));
        let weight = (answer.log_p_evidence - fresh.log_p_evidence).exp();
        weights += weight;
        for c in &answer.causes {
            *chances.entry(name(&c.part, &c.condition)).or_default() += weight * c.p_was_cause;
            *merely_there.entry(name(&c.part, &c.condition)).or_default() +=
                weight * (c.p_was_present - c.p_was_cause);
        }
    }
    let sum: f64 = chances.values().sum();
    assert!(weights > 0.2 && sum > 0.0);
    let left_over: f64 =
        fresh.causes.iter().filter(|c| c.left_over).map(|c| chances[&name(&c.part, &c.condition)]).sum();
    let left_over = left_over / sum;
    assert!((0.03..0.06).contains(&left_over), "left over {left_over}");
    // 1.6 % of what is quoted is left over as well, so that the others share 98.4 %.
    // By group; claims for fuel and carburettor go from nearly 40 % (portable generators, a preparedness page)
    // to more than 80 % (a North American home-repair magazine, May 2018), and 55 to 85 % is honest.
    let group = |id: &str| -> f64 {
        let of = fresh.causes.iter().filter(|c| c.subsystem == id && !c.left_over);
        100.0 * of.map(|c| chances[&name(&c.part, &c.condition)]).sum::<f64>() / sum
    };
    assert!((55.0..=85.0).contains(&group("fuel")), "{}", group("fuel"));
    for (id, percent) in [
        ("fuel", 64.1),
        ("air-exhaust", 2.7),
        // The stop lead, 1.4, is counted with the controls here.
        ("ignition", 13.6 - 1.4),
        ("controls", 5.7 + 1.4),
        ("compression", 4.6),
        ("timing", 2.3),
        ("mechanical", 5.4),
    ] {
        let expected = percent / 98.4 * (1.0 - left_over);
        assert!((group(id) / 100.0 / expected - 1.0).abs() < 0.06, "{id}: {} against {percent}", group(id));
    }
    assert!((FAULTS.iter().map(|f| f.1).sum::<f64>() - 98.4).abs() < 1e-9);
    for (conditions, cause, also, ..) in FAULTS {
        let of = |list: &BTreeMap<String, f64>| conditions.iter().map(|c| list[*c]).sum::<f64>();
        let expected = cause / 98.4 * (1.0 - left_over);
        let got = of(&chances) / sum;
        assert!((got / expected - 1.0).abs() < 0.06, "{conditions:?}: {got} against {expected}");
        // Found and not the reason: within a fifth, or the seventh of a percent that the last digit is worth.
        let there = 100.0 * of(&merely_there) / weights;
        assert!((there - also).abs() <= (also / 5.0).max(0.15), "{conditions:?}: {there} against {also}");
    }
}

/// Given one, the chance of the other, in percent.
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

/// What comes together in the trade and is left apart here, because the link makes the network larger
/// than it tells: a wet plug, the age or the check itself knows of both.
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
    let file = job(&[attempt(Outcome::Nothing)]);
    let (network, found) = Job::new(mower(), &file).and_then(|j| j.network()).expect("a network");
    let tree = JunctionTree::compile(&network).expect("a tree");
    let part = |id: &str| {
        network.require(&format!("part {}", id.split_once('/').expect("a condition").0)).expect(id)
    };
    let states = |id: &str| -> Vec<f64> {
        let condition = id.split_once('/').expect("a condition").1;
        let states = network.variable(part(id)).states();
        states.iter().map(|s| f64::from(u8::from(s.starts_with(&format!("{condition}/"))))).collect()
    };
    let chance = |given: &str, other: &str| -> f64 {
        let mut evidence: Evidence = found.clone();
        evidence.likelihood(&network, part(given), states(given)).expect("a likelihood");
        let posterior = tree.posterior(&evidence).expect("possible");
        posterior.marginal(part(other)).iter().zip(states(other)).map(|(p, s)| 100.0 * p * s).sum()
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

/// An attempt with this alone wrong: of a hundred, how many end with nothing, in a cough, start and die,
/// run. Without a bypass first, then with each. A dose on a flooded engine, which makes it worse at once, is
/// not here: it is held off, and what it does shows at the attempt after it.
#[rustfmt::skip]
const ATTEMPTS: [(&str, &str, [f64; 4]); 32] = [
    ("", "tank/empty", [80.0, 10.0, 9.0, 1.0]),
    ("", "jet/gummed", [35.0, 25.0, 33.0, 7.0]),
    ("", "fuel/stale", [45.0, 30.0, 15.0, 10.0]),
    ("", "bowl/water", [65.0, 20.0, 12.0, 3.0]),
    ("", "cylinder/flooded", [65.0, 22.0, 7.0, 6.0]),
    ("", "filter/packed", [45.0, 25.0, 22.0, 8.0]),
    ("", "exhaust/blocked", [60.0, 25.0, 12.0, 3.0]),
    ("", "stop-lead/grounded", [97.0, 2.0, 1.0, 0.0]),
    ("", "coil/dead", [97.0, 2.0, 0.5, 0.5]),
    ("", "plug/fouled", [52.0, 28.0, 8.0, 12.0]),
    ("", "key/sheared", [50.0, 40.0, 6.0, 4.0]),
    ("", "valves/stuck-open", [90.0, 8.0, 1.0, 1.0]),
    ("", "rings/worn", [42.0, 28.0, 12.0, 18.0]),
    ("dose", "tank/empty", [5.0, 10.0, 84.0, 1.0]),
    ("dose", "jet/gummed", [6.0, 12.0, 70.0, 12.0]),
    ("dose", "coil/dead", [97.0, 2.0, 0.5, 0.5]),
    ("test-can", "fuel/stale", [10.0, 12.0, 8.0, 70.0]),
    ("test-can", "jet/gummed", [32.0, 25.0, 34.0, 9.0]),
    ("test-can", "coil/dead", [97.0, 2.0, 0.5, 0.5]),
    ("good-plug", "plug/cracked", [5.0, 6.0, 4.0, 85.0]),
    ("good-plug", "plug/fouled", [8.0, 8.0, 6.0, 78.0]),
    ("good-plug", "coil/dead", [96.0, 2.0, 1.0, 1.0]),
    ("stop-lead-off", "stop-lead/grounded", [8.0, 8.0, 6.0, 78.0]),
    ("stop-lead-off", "control/in-stop", [8.0, 8.0, 6.0, 78.0]),
    ("stop-lead-off", "coil/dead", [97.0, 2.0, 0.5, 0.5]),
    ("filter-off", "filter/packed", [10.0, 10.0, 5.0, 75.0]),
    ("filter-off", "jet/gummed", [35.0, 25.0, 33.0, 7.0]),
    ("brake-lever-by-hand", "brake/misset", [8.0, 8.0, 5.0, 79.0]),
    ("brake-lever-by-hand", "coil/dead", [97.0, 2.0, 0.5, 0.5]),
    ("cap-loose", "tank-cap/blocked", [8.0, 7.0, 10.0, 75.0]),
    ("flood-start", "cylinder/flooded", [30.0, 20.0, 10.0, 40.0]),
    ("flood-start", "coil/dead", [97.0, 2.0, 1.0, 0.0]),
];

#[test]
fn attempts_end_as_the_trade_says() {
    for (with, wrong, listed) in ATTEMPTS {
        let weight = |outcome: Outcome| -> f64 {
            let step = if with.is_empty() { attempt(outcome) } else { bypass(with, outcome) };
            let (network, found) =
                Job::new(mower(), &job(&[step])).and_then(|j| j.network()).expect("a network");
            let tree = JunctionTree::compile(&network).expect("a tree");
            let mut alone = found.clone();
            for part in &mower().file().parts {
                let var = network.require(&format!("part {}", part.id)).expect("a part");
                let acts = wrong
                    .split_once('/')
                    .filter(|(id, _)| *id == part.id)
                    .map(|(_, c)| format!("{c}/acting"));
                alone.observe(&network, var, acts.as_deref().unwrap_or("sound")).expect("a state");
            }
            tree.posterior(&alone).expect("possible").log_p_evidence().exp()
        };
        let all = [Outcome::Nothing, Outcome::Tries, Outcome::Dies, Outcome::Runs].map(weight);
        let sum: f64 = all.iter().sum();
        let got = all.map(|p| 100.0 * p / sum);
        // What acts here does stop the engine; the share that runs in spite of it is merely there, and
        // the other three divide what is left. A bypass that lifts the fault lets it run.
        let [.., runs] = listed;
        let left = if runs < 30.0 { (100.0 - got[3]) / (100.0 - runs) } else { 1.0 };
        let compared = if runs < 30.0 { 3 } else { 4 };
        for (got, listed) in got.iter().zip(listed).take(compared) {
            let expected = listed * left;
            // Opening values of ten to twenty cases: within ten of a hundred.
            assert!((got - expected).abs() <= 10.0, "{with} on {wrong}: {got:.1} against {expected:.1}");
        }
    }
}
