//! Compares the results of every check with the trade's own tables.
//!
//! A table says how many of a hundred engines that do not start for one reason give each result of a check.
//! It says the same of engines that do not start for any other reason. All figures are common practice
//! without a counted source: prior values worth ten to twenty cases each.

use halfsplit_tests::mower;
use halfsplit_tests::trade::NoStart;

/// The table of a check. Results that the trade does not distinguish form one group.
struct Table {
    check: &'static str,
    results: &'static [&'static [&'static str]],
    /// Facts that the table assumes.
    given: &'static [(&'static str, &'static str)],
    /// Per cent of engines with each group of results while no condition of `columns` or `alike` acts.
    any_other: &'static [f64],
    /// Conditions that have no column but give the same results as those that have one. None of them acts
    /// in `any_other`.
    alike: &'static [&'static str],
    /// Conditions, and per cent of engines with each group of results while one of these conditions acts.
    columns: &'static [(&'static [&'static str], &'static [f64])],
}

const NO_FUEL: &[&str] = &["tank/empty", "needle/stuck-shut", "fuel-line/blocked", "fuel-line/tap-shut"];
const NO_SPARK: &[&str] = &["coil/dead", "stop-lead/grounded", "control/in-stop"];
const FUEL_STOPPED: &[&str] = &[
    "needle/stuck-shut",
    "fuel-line/blocked",
    "fuel-line/tap-shut",
    "tank/empty",
    "tank-cap/blocked",
    "diaphragm/stiff",
    "jet/gummed",
    "primer/failed",
    "choke/not-closing",
    "cylinder/flooded",
];
const SPARK_STOPPED: &[&str] = &[
    "coil/dead",
    "stop-lead/grounded",
    "control/in-stop",
    "brake/misset",
    "lead/off",
    "magnet/wide-gap",
    "magnet/weak",
    "points/bad",
    "low-oil-switch/cutting-out",
    "coil/weak-hot",
];

/// The label of the figures for engines on which none of a table's faults acts.
const OTHERS: &str = "any other";

/// A check, a fault of its table, and the first result of a group.
type Cell = (&'static str, &'static str, &'static str);

/// Reasons, each with the cells that differ by more than ten of a hundred from their table.
#[rustfmt::skip]
const OFF: &[(&str, &[Cell])] = &[
    ("a low tank is one in ten, and more often found where the engine faded as a blocked cap makes it", &[
        ("tank-look", "tank-cap/blocked", "plenty"), ("tank-look", "tank-cap/blocked", "low"),
    ]),
    ("choke and primer are not always used, and a low tank adds to the dry plugs", &[("plug-wet", "stop-lead/grounded", "dry")]),
    ("what is there in one machine of three can hardly get more often, however much storage or an old can raises it", &[
        ("ask-storage", "fuel/stale", "two-weeks"), ("ask-storage", "fuel/stale", "long-dry"),
        ("ask-refuel", "fuel/stale", "fresh"), ("ask-refuel", "fuel/stale", "old-can"),
    ]),
    ("a link left out for the table entries that it takes (figures in DEVELOPERS.md)", &[
        ("ask-storage", "valves/stuck-open", "two-weeks"), ("ask-storage", "valves/stuck-open", "long-dry"),
        ("ask-refuel", "tank/empty", "fresh"), ("ask-refuel", "tank/empty", "old-can"),
        ("ask-refuel", "tank/empty", "no"), ("oil-level", "needle/leaking", "right"),
        ("oil-level", "needle/leaking", "low"), ("oil-level", "needle/leaking", "over"),
        ("oil-smell", "cylinder/flooded", "normal"), ("oil-smell", "cylinder/flooded", "fuel"),
        ("oil-smell", "fuel/wrong", "normal"), ("oil-smell", "fuel/wrong", "fuel"),
        ("choke-hand", "valves/stuck-open", "wet"), ("choke-hand", "valves/stuck-open", "dry"),
        ("choke-hand", "valves/stuck-open", "no-suction"), ("plug-wet", "headspace/locked", "dry"),
        ("plug-wet", "headspace/locked", "damp"), ("plug-wet", "headspace/locked", "oily"),
        ("plug-wet", "rings/worn", "dry"), ("plug-wet", "rings/worn", "damp"),
        ("plug-wet", "rings/worn", "oily"), ("gauge-wet", "cylinder/flooded", "rises"),
        ("gauge-wet", "cylinder/flooded", "some"), ("gauge-wet", "cylinder/flooded", "same"),
    ]),
    ("it hangs on one context (how it was used, the blow, the oil) that other shares hang on as well", &[
        ("ask-tipped", "headspace/locked", "no"), ("ask-how-it-quit", "tank-cap/blocked", "normal"),
        ("ask-how-it-quit", "tank-cap/blocked", "faded"), ("ask-how-it-quit", "tank/empty", "normal"),
        ("ask-how-it-quit", "tank/empty", "faded"), ("oil-level", "low-oil-switch/cutting-out", "low"),
        ("oil-level", "low-oil-switch/cutting-out", "none"), ("oil-level", "rings/worn", "low"),
        ("blade-look", "key/sheared", "bruised"),
    ]),
    ("it sees a function (supply, spark, seal, turning) at its level, whichever condition took it there", &[
        ("primer-squirt", "tank/empty", "nothing"), ("primer-squirt", "fuel-line/blocked", "wets"),
        ("primer-squirt", "fuel-line/blocked", "weak"), ("rope-feel", "compression-release/stuck", "pulse"),
        ("rope-feel", "compression-release/stuck", "easy"),
        ("rebound-spin", "compression-release/stuck", "sharp"), ("bowl-drain", "fuel-line/blocked", "flows"),
        ("bowl-drain", "fuel-line/blocked", "stops"), ("bowl-drain", "tank/empty", "nothing"),
        ("bowl-drain", "tank-cap/blocked", "stops"), ("plug-wet", "fuel-line/blocked", "dry"),
        ("plug-wet", "lead/off", "dry"), ("plug-wet", "lead/off", "dripping"),
        ("spark-open-air", "magnet/wide-gap", "none"), ("stop-lead-ohms", "brake/misset", "low"),
    ]),
    ("fuel that is merely old, in a quarter of all that come in, shows as well", &[
        ("fuel-jar", "any other", "clear"),
    ]),
    ("it looks at three things, and this fault is not one of them", &[
        ("filter-look", "needle/leaking", "clean"), ("filter-look", "needle/leaking", "packed"),
        ("rope-sound", "pushrods/off", "suck-puff"), ("rope-sound", "pushrods/off", "blows-back"),
        ("rope-sound", "pushrods/off", "no-suck"), ("rope-sound", "crank/broken", "blows-back"),
        ("rope-sound", "crank/broken", "knock"), ("plug-wet", "fuel/stale", "dry"),
        ("plug-wet", "fuel/stale", "damp"), ("plug-wet", "valves/stuck-open", "dry"),
    ]),
];

#[rustfmt::skip]
const TABLES: &[Table] = &[
    Table { check: "ask-storage", results: &[&["two-weeks"], &["two-months"], &["long-dry", "long-damp"]], given: &[],
        any_other: &[45.0, 25.0, 30.0], alike: &[], columns: &[
            (&["fuel/stale"], &[7.0, 15.0, 78.0]), (&["jet/gummed"], &[10.0, 20.0, 70.0]),
            (&["bowl/water"], &[30.0, 25.0, 45.0]), (&["valves/stuck-open"], &[20.0, 20.0, 60.0])] },
    Table { check: "ask-refuel", results: &[&["fresh"], &["old-can"], &["no"]], given: &[],
        any_other: &[40.0, 20.0, 40.0], alike: &[], columns: &[
            (&["fuel/wrong"], &[30.0, 62.0, 8.0]), (&["bowl/water"], &[25.0, 50.0, 25.0]),
            (&["fuel/stale"], &[15.0, 45.0, 40.0]), (&["tank/empty"], &[10.0, 5.0, 85.0])] },
    Table { check: "ask-hit", results: &[&["yes"], &["no"], &["not-sure"]], given: &[],
        any_other: &[6.0, 84.0, 10.0], alike: &[], columns: &[
            (&["key/sheared"], &[62.0, 22.0, 16.0]), (&["blade/loose"], &[50.0, 35.0, 15.0]),
            (&["crank/broken"], &[60.0, 25.0, 15.0])] },
    Table { check: "ask-tipped", results: &[&["wrong-way"], &["other-way"], &["no"]], given: &[],
        any_other: &[6.0, 16.0, 78.0], alike: &[], columns: &[
            (&["headspace/locked"], &[55.0, 25.0, 20.0]), (&["filter/soaked"], &[22.0, 20.0, 58.0]),
            (&["plug/fouled"], &[18.0, 18.0, 64.0])] },
    Table { check: "ask-worked-on", results: &[&["not-run-since"], &["ran-since"], &["no"]], given: &[],
        any_other: &[10.0, 15.0, 75.0], alike: &[], columns: &[
            (&["lead/off"], &[45.0, 15.0, 40.0]), (&["stop-lead/grounded"], &[40.0, 15.0, 45.0]),
            (&["magnet/wide-gap"], &[45.0, 15.0, 40.0]), (&["cable/misset"], &[30.0, 20.0, 50.0]),
            (&["camshaft/off"], &[75.0, 5.0, 20.0])] },
    // The question about a blow (`ask-hit`) covers a bang or a jolt. The few per cent of that answer are
    // added to the other results.
    Table { check: "ask-how-it-quit", results: &[&["normal"], &["faded"], &["cut-out"], &["not-known"]], given: &[],
        any_other: &[71.0, 14.0, 8.0, 7.0], alike: &[], columns: &[
            (&["coil/weak-hot"], &[20.0, 20.0, 50.0, 10.0]), (&["coil/dead"], &[40.0, 10.0, 40.0, 10.0]),
            (&["tank-cap/blocked"], &[10.0, 70.0, 10.0, 10.0]), (&["tank/empty"], &[10.0, 70.0, 10.0, 10.0]),
            (&["jet/gummed"], &[75.0, 15.0, 4.0, 6.0])] },
    // Separate checks ask how much was pulled (`ask-what-was-tried`) and whether there is a spark.
    Table { check: "ask-spark", results: &[&["yes"], &["no"], &["not-looked"]], given: &[],
        any_other: &[30.0, 6.0, 64.0], alike: SPARK_STOPPED, columns: &[
            (&["cylinder/flooded"], &[30.0, 6.0, 64.0]), (&["coil/dead"], &[12.0, 38.0, 50.0]),
            (&["plug/fouled"], &[28.0, 10.0, 62.0])] },
    Table { check: "control-look", results: &[&["right"], &["in-stop"], &["mismatch"]], given: &[],
        any_other: &[93.0, 2.0, 5.0], alike: &[], columns: &[
            (&["control/in-stop"], &[8.0, 88.0, 4.0]), (&["cable/misset"], &[45.0, 10.0, 45.0])] },
    Table { check: "tank-look", results: &[&["plenty"], &["low"], &["empty"]], given: &[],
        any_other: &[80.0, 18.0, 2.0], alike: &[], columns: &[
            (&["tank/empty"], &[2.0, 18.0, 80.0]), (&["tank-cap/blocked"], &[80.0, 18.0, 2.0])] },
    Table { check: "fuel-tap-look", results: &[&["open", "none"], &["shut"]], given: &[("fuel-tap", "fitted")],
        any_other: &[97.0, 3.0], alike: &[], columns: &[(&["fuel-line/tap-shut"], &[8.0, 92.0])] },
    Table { check: "lead-look", results: &[&["home"], &["loose"]], given: &[],
        any_other: &[90.0, 10.0], alike: &[], columns: &[(&["lead/off"], &[7.0, 93.0])] },
    Table { check: "oil-level", results: &[&["right"], &["low"], &["none"], &["over"]], given: &[],
        any_other: &[68.0, 20.0, 3.0, 9.0], alike: &[], columns: &[
            (&["crank/seized"], &[25.0, 30.0, 43.0, 2.0]), (&["low-oil-switch/cutting-out"], &[6.0, 34.0, 58.0, 2.0]),
            (&["headspace/locked"], &[35.0, 20.0, 5.0, 40.0]), (&["needle/leaking"], &[45.0, 5.0, 1.0, 49.0]),
            (&["rings/worn"], &[45.0, 40.0, 10.0, 5.0])] },
    Table { check: "oil-smell", results: &[&["normal"], &["fuel"], &["milky"]], given: &[],
        any_other: &[90.0, 7.0, 3.0], alike: &[], columns: &[
            (&["needle/leaking"], &[35.0, 62.0, 3.0]), (&["cylinder/flooded"], &[72.0, 25.0, 3.0]),
            (&["fuel/wrong"], &[75.0, 20.0, 5.0])] },
    Table { check: "filter-look", results: &[&["clean"], &["dirty"], &["packed", "soaked"]], given: &[],
        any_other: &[64.0, 27.0, 9.0], alike: &[], columns: &[
            (&["filter/packed"], &[4.0, 26.0, 70.0]), (&["headspace/locked"], &[30.0, 15.0, 55.0]),
            (&["needle/leaking"], &[50.0, 22.0, 28.0])] },
    Table { check: "fuel-smell", results: &[&["fresh"], &["sour"], &["oily"], &["unclear"]], given: &[],
        any_other: &[72.0, 15.0, 2.0, 11.0], alike: &[], columns: &[
            (&["fuel/stale"], &[18.0, 66.0, 3.0, 13.0]), (&["fuel/wrong"], &[15.0, 15.0, 60.0, 10.0]),
            (&["bowl/water"], &[50.0, 30.0, 2.0, 18.0])] },
    Table { check: "exhaust-look", results: &[&["clear"], &["blocked"], &["no-puff"]], given: &[],
        any_other: &[93.0, 2.0, 5.0], alike: &[], columns: &[
            (&["exhaust/blocked"], &[10.0, 82.0, 8.0]), (&["valves/stuck-open"], &[50.0, 2.0, 48.0])] },
    Table { check: "blade-look", results: &[&["tight"], &["loose"], &["jammed"], &["bruised"]], given: &[],
        any_other: &[70.0, 3.0, 12.0, 15.0], alike: &[], columns: &[
            (&["blade/loose"], &[8.0, 78.0, 4.0, 10.0]), (&["blade/jammed"], &[5.0, 3.0, 84.0, 8.0]),
            (&["key/sheared"], &[22.0, 12.0, 8.0, 58.0]), (&["crank/broken"], &[25.0, 12.0, 8.0, 55.0])] },
    Table { check: "bail-switch-travel", results: &[&["full"], &["part"], &["chafed"]], given: &[],
        any_other: &[88.0, 9.0, 3.0], alike: &[], columns: &[
            (&["brake/misset"], &[7.0, 85.0, 8.0]), (&["stop-lead/grounded"], &[75.0, 8.0, 17.0])] },
    Table { check: "choke-look", results: &[&["works"], &["not-closing"], &["not-opening"]], given: &[("cold-start", "choke")],
        any_other: &[88.0, 9.0, 3.0], alike: &[], columns: &[
            (&["choke/not-closing"], &[7.0, 90.0, 3.0]), (&["choke/stuck-closed"], &[6.0, 2.0, 92.0]),
            (&["cable/misset"], &[45.0, 45.0, 10.0])] },
    Table { check: "primer-squirt", results: &[&["wets"], &["weak"], &["nothing"]], given: &[("cold-start", "primer")],
        any_other: &[88.0, 8.0, 4.0], alike: FUEL_STOPPED, columns: &[
            (&["primer/failed"], &[8.0, 30.0, 62.0]), (&["tank/empty"], &[6.0, 20.0, 74.0]),
            (&["needle/stuck-shut"], &[15.0, 25.0, 60.0]), (&["fuel-line/blocked"], &[15.0, 35.0, 50.0]),
            (&["jet/gummed"], &[70.0, 22.0, 8.0])] },
    Table { check: "throat-look", results: &[&["damp"], &["dry"], &["dripping"], &["loose"]], given: &[],
        any_other: &[74.0, 16.0, 6.0, 4.0], alike: FUEL_STOPPED, columns: &[
            (&["needle/leaking"], &[18.0, 2.0, 78.0, 2.0]), (&["choke/stuck-closed"], &[25.0, 5.0, 65.0, 5.0]),
            (&["jet/gummed"], &[30.0, 65.0, 2.0, 3.0]), (&["tank/empty"], &[8.0, 90.0, 1.0, 1.0]),
            (&["intake/leak"], &[40.0, 25.0, 5.0, 30.0])] },
    Table { check: "rope-feel", results: &[&["pulse"], &["easy"], &["hard"], &["snatch"], &["stops"], &["no-turn"]], given: &[],
        any_other: &[85.0, 8.0, 4.0, 2.0, 0.5, 0.5], alike: &[], columns: &[
            (&["key/sheared"], &[40.0, 5.0, 8.0, 45.0, 1.0, 1.0]), (&["headspace/locked"], &[4.0, 1.0, 10.0, 3.0, 81.0, 1.0]),
            (&["crank/seized"], &[2.0, 0.0, 18.0, 0.0, 79.0, 1.0]), (&["blade/jammed"], &[10.0, 2.0, 33.0, 3.0, 50.0, 2.0]),
            (&["valves/stuck-open"], &[12.0, 82.0, 3.0, 2.0, 0.5, 0.5]), (&["crank/broken"], &[15.0, 45.0, 15.0, 5.0, 19.0, 1.0]),
            (&["recoil/broken"], &[8.0, 10.0, 4.0, 2.0, 16.0, 60.0]), (&["brake/misset"], &[35.0, 2.0, 60.0, 2.0, 1.0, 0.0]),
            (&["blade/loose"], &[55.0, 5.0, 3.0, 35.0, 1.0, 1.0]), (&["compression-release/stuck"], &[35.0, 30.0, 25.0, 8.0, 1.5, 0.5])] },
    Table { check: "rope-sound", results: &[&["suck-puff"], &["blows-back"], &["no-suck"], &["hiss"], &["knock"]], given: &[],
        any_other: &[85.0, 3.0, 6.0, 3.0, 3.0], alike: &[], columns: &[
            (&["valves/stuck-open"], &[15.0, 35.0, 35.0, 10.0, 5.0]), (&["valves/leaking"], &[50.0, 22.0, 10.0, 13.0, 5.0]),
            (&["exhaust/blocked"], &[15.0, 50.0, 25.0, 6.0, 4.0]), (&["pushrods/off"], &[15.0, 25.0, 45.0, 5.0, 10.0]),
            (&["head-gasket/blown"], &[45.0, 3.0, 7.0, 40.0, 5.0]), (&["crank/broken"], &[25.0, 5.0, 30.0, 2.0, 38.0])] },
    Table { check: "recoil-look", results: &[&["engages"], &["fails"]], given: &[],
        any_other: &[97.0, 3.0], alike: &[], columns: &[(&["recoil/broken"], &[6.0, 94.0])] },
    Table { check: "rebound-spin", results: &[&["sharp"], &["soft"], &["none"]], given: &[],
        any_other: &[88.0, 10.0, 2.0], alike: &[], columns: &[
            (&["valves/stuck-open"], &[3.0, 10.0, 87.0]), (&["valves/leaking"], &[20.0, 50.0, 30.0]),
            (&["head-gasket/blown"], &[20.0, 45.0, 35.0]), (&["rings/worn"], &[30.0, 55.0, 15.0]),
            (&["crank/broken"], &[5.0, 10.0, 85.0]), (&["compression-release/stuck"], &[65.0, 20.0, 15.0])] },
    Table { check: "fuel-jar", results: &[&["clear"], &["dark"], &["layer"], &["cloudy"]], given: &[],
        any_other: &[83.0, 12.0, 4.0, 1.0], alike: &[], columns: &[
            (&["bowl/water"], &[12.0, 15.0, 70.0, 3.0]), (&["fuel/stale"], &[35.0, 58.0, 5.0, 2.0]),
            (&["fuel/wrong"], &[45.0, 20.0, 8.0, 27.0])] },
    Table { check: "fuel-paper-spot", results: &[&["clean"], &["faint"], &["ring"]], given: &[],
        any_other: &[86.0, 12.0, 2.0], alike: &[], columns: &[
            (&["fuel/wrong"], &[14.0, 20.0, 66.0]), (&["fuel/stale"], &[50.0, 44.0, 6.0])] },
    Table { check: "fuel-water-column", results: &[&["no-water"], &["much-ethanol"], &["water"]], given: &[],
        any_other: &[92.0, 3.0, 5.0], alike: &[], columns: &[
            (&["bowl/water"], &[18.0, 4.0, 78.0]), (&["fuel/wrong"], &[50.0, 30.0, 20.0])] },
    Table { check: "bowl-drain", results: &[&["flows"], &["stops"], &["nothing"], &["dirty"], &["water"]], given: &[],
        any_other: &[83.0, 6.0, 2.0, 7.0, 2.0], alike: FUEL_STOPPED, columns: &[
            (&["needle/stuck-shut"], &[6.0, 14.0, 74.0, 5.0, 1.0]), (&["fuel-line/blocked"], &[8.0, 40.0, 48.0, 3.0, 1.0]),
            (&["tank/empty"], &[2.0, 10.0, 86.0, 1.0, 1.0]), (&["jet/gummed"], &[45.0, 10.0, 5.0, 37.0, 3.0]),
            (&["bowl/water"], &[15.0, 10.0, 2.0, 13.0, 60.0]), (&["tank-cap/blocked"], &[60.0, 30.0, 5.0, 3.0, 2.0])] },
    Table { check: "line-flow", results: &[&["steady"], &["slows"], &["none"]], given: &[],
        any_other: &[93.0, 3.0, 4.0], alike: &[], columns: &[
            (&["fuel-line/blocked"], &[8.0, 24.0, 68.0]), (&["tank-cap/blocked"], &[45.0, 48.0, 7.0]),
            (&["fuel-line/tap-shut"], &[8.0, 2.0, 90.0]), (&["tank/empty"], &[2.0, 10.0, 88.0])] },
    Table { check: "cap-vent", results: &[&["breathes"], &["blocked"]], given: &[],
        any_other: &[94.0, 6.0], alike: &[], columns: &[(&["tank-cap/blocked"], &[14.0, 86.0])] },
    Table { check: "choke-hand", results: &[&["wet"], &["dry"], &["no-suction"]], given: &[],
        any_other: &[83.0, 12.0, 5.0], alike: FUEL_STOPPED, columns: &[
            (&["jet/gummed"], &[20.0, 72.0, 8.0]), (&["tank/empty"], &[3.0, 85.0, 12.0]),
            (&["needle/stuck-shut"], &[10.0, 80.0, 10.0]), (&["diaphragm/stiff"], &[10.0, 80.0, 10.0]),
            (&["valves/stuck-open"], &[12.0, 13.0, 75.0]), (&["intake/leak"], &[45.0, 25.0, 30.0])] },
    // A separate check, `plug-beads`, looks for water beads.
    Table { check: "plug-wet", results: &[&["dry"], &["damp"], &["dripping"], &["oily"], &["sooty"]], given: &[],
        any_other: &[42.0, 39.0, 5.0, 7.0, 7.0], alike: FUEL_STOPPED, columns: &[
            (NO_FUEL, &[88.0, 8.0, 1.0, 1.0, 2.0]), (&["jet/gummed"], &[70.0, 20.0, 2.0, 4.0, 4.0]),
            (&["cylinder/flooded"], &[3.0, 21.0, 70.0, 3.0, 3.0]), (NO_SPARK, &[20.0, 41.0, 32.0, 4.0, 3.0]),
            (&["lead/off"], &[20.0, 41.0, 32.0, 4.0, 3.0]),
            (&["headspace/locked"], &[3.0, 11.0, 20.0, 62.0, 4.0]), (&["rings/worn"], &[20.0, 19.0, 5.0, 45.0, 11.0]),
            (&["fuel/stale"], &[22.0, 50.0, 10.0, 5.0, 13.0]), (&["valves/stuck-open"], &[60.0, 26.0, 5.0, 5.0, 4.0])] },
    Table { check: "plug-beads", results: &[&["dries", "film"], &["beads"]], given: &[],
        any_other: &[99.0, 1.0], alike: &[], columns: &[(&["bowl/water"], &[57.0, 43.0]), (&["fuel/stale"], &[98.0, 2.0])] },
    Table { check: "plug-ohms", results: &[&["in-range"], &["open"], &["leaks"]], given: &[],
        any_other: &[96.0, 1.0, 3.0], alike: &[], columns: &[(&["plug/cracked"], &[55.0, 40.0, 5.0])] },
    Table { check: "plug-body-look", results: &[&["clean"], &["worn"], &["bridged"], &["crack"]], given: &[],
        any_other: &[70.0, 20.0, 8.0, 2.0], alike: &[], columns: &[
            (&["plug/cracked"], &[45.0, 15.0, 6.0, 34.0]), (&["plug/fouled"], &[6.0, 6.0, 84.0, 4.0])] },
    Table { check: "spark-gap-tester", results: &[&["strong"], &["intermittent"], &["none"]], given: &[],
        any_other: &[93.0, 5.0, 2.0], alike: SPARK_STOPPED, columns: &[
            (&["coil/dead"], &[1.0, 5.0, 94.0]), (&["stop-lead/grounded"], &[2.0, 6.0, 92.0]),
            (&["control/in-stop"], &[2.0, 3.0, 95.0]), (&["brake/misset"], &[8.0, 17.0, 75.0]),
            (&["lead/off"], &[60.0, 15.0, 25.0]), (&["coil/weak-hot"], &[70.0, 22.0, 8.0]),
            (&["magnet/wide-gap", "magnet/weak"], &[40.0, 40.0, 20.0]), (&["points/bad"], &[6.0, 24.0, 70.0]),
            (&["low-oil-switch/cutting-out"], &[3.0, 3.0, 94.0]),
            // The spark is strong with each of these faults.
            (&["plug/cracked", "plug/fouled", "plug-gap/wide", "key/sheared"], &[93.0, 5.0, 2.0])] },
    Table { check: "spark-glow-inline", results: &[&["flashes"], &["faint"], &["none"]], given: &[],
        any_other: &[94.0, 4.0, 2.0], alike: SPARK_STOPPED, columns: &[
            (&["coil/dead"], &[8.0, 12.0, 80.0]), (&["stop-lead/grounded"], &[5.0, 7.0, 88.0]),
            (&["control/in-stop"], &[4.0, 4.0, 92.0]), (&["brake/misset"], &[20.0, 10.0, 70.0]),
            (&["plug/cracked"], &[88.0, 7.0, 5.0]), (&["plug/fouled"], &[90.0, 7.0, 3.0]),
            (&["magnet/wide-gap"], &[70.0, 20.0, 10.0])] },
    Table { check: "spark-open-air", results: &[&["seen"], &["thin"], &["none"]], given: &[],
        any_other: &[95.0, 3.0, 2.0], alike: SPARK_STOPPED, columns: &[
            (&["coil/dead"], &[6.0, 6.0, 88.0]), (&["stop-lead/grounded"], &[3.0, 5.0, 92.0]),
            (&["plug/fouled"], &[55.0, 20.0, 25.0]), (&["plug/cracked"], &[72.0, 13.0, 15.0]),
            (&["magnet/wide-gap"], &[80.0, 14.0, 6.0]), (&["coil/weak-hot"], &[88.0, 7.0, 5.0])] },
    Table { check: "stop-lead-ohms", results: &[&["open"], &["low"], &["between"]], given: &[],
        any_other: &[95.0, 3.0, 2.0], alike: SPARK_STOPPED, columns: &[
            (&["stop-lead/grounded"], &[10.0, 72.0, 18.0]), (&["control/in-stop"], &[12.0, 84.0, 4.0]),
            (&["brake/misset"], &[14.0, 80.0, 6.0]), (&["low-oil-switch/cutting-out"], &[10.0, 85.0, 5.0])] },
    Table { check: "coil-ohms", results: &[&["low"], &["in-range"], &["high"], &["open"]], given: &[],
        any_other: &[3.0, 90.0, 3.0, 4.0], alike: &[], columns: &[
            (&["coil/dead"], &[11.0, 45.0, 11.0, 33.0]), (&["coil/weak-hot"], &[4.0, 88.0, 4.0, 4.0])] },
    Table { check: "coil-air-gap", results: &[&["usual"], &["rubbing", "wide"]], given: &[],
        any_other: &[88.0, 12.0], alike: &[], columns: &[(&["magnet/wide-gap"], &[10.0, 90.0])] },
    Table { check: "spark-hot", results: &[&["strong"], &["fades"], &["missed"]], given: &[],
        any_other: &[93.0, 3.0, 4.0], alike: &[], columns: &[
            (&["coil/weak-hot"], &[12.0, 82.0, 6.0]), (&["tank-cap/blocked"], &[93.0, 3.0, 4.0]),
            (&["valves/leaking"], &[92.0, 4.0, 4.0])] },
    Table { check: "key-look", results: &[&["whole"], &["sheared"], &["marked"]], given: &[],
        any_other: &[97.5, 1.5, 1.0], alike: &[], columns: &[(&["key/sheared"], &[4.0, 94.0, 2.0])] },
    Table { check: "piston-magnet-position", results: &[&["right"], &["off"], &["unclear"]], given: &[],
        any_other: &[92.0, 3.0, 5.0], alike: &[], columns: &[
            (&["key/sheared"], &[25.0, 65.0, 10.0]), (&["camshaft/off"], &[90.0, 5.0, 5.0])] },
    Table { check: "thumb-puff", results: &[&["pops"], &["weak"], &["nothing"]], given: &[],
        any_other: &[86.0, 12.0, 2.0], alike: &[], columns: &[
            (&["valves/stuck-open"], &[4.0, 16.0, 80.0]), (&["valves/leaking"], &[35.0, 45.0, 20.0]),
            (&["head-gasket/blown"], &[35.0, 45.0, 20.0]), (&["rings/worn"], &[50.0, 42.0, 8.0]),
            (&["crank/broken"], &[8.0, 17.0, 75.0]), (&["pushrods/off"], &[40.0, 30.0, 30.0])] },
    Table { check: "gauge-wet", results: &[&["rises"], &["some"], &["same"]], given: &[],
        any_other: &[15.0, 35.0, 50.0], alike: &[], columns: &[
            (&["rings/worn"], &[78.0, 16.0, 6.0]), (&["cylinder/flooded"], &[75.0, 18.0, 7.0]),
            (&["valves/leaking"], &[12.0, 28.0, 60.0]), (&["head-gasket/blown"], &[12.0, 28.0, 60.0])] },
    // A separate check, `valves-move`, looks for a valve that does not move.
    Table { check: "valve-clearance", results: &[&["right"], &["tight"], &["wide"]], given: &[],
        any_other: &[79.0, 6.0, 15.0], alike: &[], columns: &[(&["valves/leaking"], &[51.0, 31.0, 18.0])] },
    Table { check: "valves-move", results: &[&["both"], &["stuck"]], given: &[],
        any_other: &[99.0, 1.0], alike: &[], columns: &[
            (&["valves/leaking", "compression-release/stuck"], &[98.0, 2.0]), (&["valves/stuck-open"], &[29.0, 71.0]),
            (&["pushrods/off"], &[10.0, 90.0])] },
];

#[test]
fn checks_show_what_the_trade_says() {
    let mower = NoStart::of(mower());
    let (mut off, mut figures): (Vec<Cell>, Vec<String>) = (Vec::new(), Vec::new());
    for table in TABLES {
        let mut compare = |what: &'static str, ids: &[&str], act: bool, listed: &[f64]| {
            let mut found = mower.found();
            table.given.iter().for_each(|(b, state)| mower.context(&mut found, b, state));
            mower.acting(&mut found, ids, act);
            let got = mower.results(&mower.given(&found), table.check, table.results);
            for ((got, listed), results) in got.iter().zip(listed).zip(table.results) {
                if (got - listed).abs() > 10.0 {
                    off.push((table.check, what, results[0]));
                    figures.push(format!("{} {results:?}, {what}: {got:.1} against {listed}", table.check));
                }
            }
        };
        let named = table.columns.iter().flat_map(|(ids, _)| ids.iter()).chain(table.alike);
        let named: Vec<&str> = named.copied().collect();
        compare(OTHERS, &named, false, table.any_other);
        for (ids, listed) in table.columns {
            ids.iter().for_each(|id| compare(id, &[id], true, listed));
        }
    }
    let with_reason: Vec<Cell> = OFF.iter().flat_map(|(_, cells)| *cells).copied().collect();
    let unexplained: Vec<&String> =
        off.iter().zip(&figures).filter(|(cell, _)| !with_reason.contains(cell)).map(|(_, f)| f).collect();
    assert!(unexplained.is_empty(), "more than ten of a hundred off:\n{unexplained:#?}");
    let fine: Vec<&Cell> = with_reason.iter().filter(|cell| !off.contains(cell)).collect();
    assert!(fine.is_empty(), "not off any more: {fine:?}");
}
