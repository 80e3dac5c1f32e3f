//! Error messages for bad input. Messages are interface, so a snapshot pins every one. No input makes
//! the program panic.

use std::collections::BTreeSet;
use std::fmt::{Debug, Display};

use halfsplit::job::{Job, JobError, JobFile, Outcome};
use halfsplit::link::{self, LinkError};
use halfsplit::machine::{Machine, MachineError};
use halfsplit_bayes::{
    Evidence, EvidenceFile, InferenceError, JunctionTree, Network, NetworkBuilder, NetworkError, NoisyParent,
    posterior_by_enumeration,
};
use halfsplit_tests::{attempt, car_file, car_job, demo_after, found, machine, mower, read, text};
use proptest::prelude::*;
use serde_json::{Value, json};

/// A list of mistakes for a snapshot, each with the kind of its error and the message.
#[derive(Default)]
struct Messages {
    text: String,
    kinds: BTreeSet<String>,
}

impl Messages {
    #[track_caller]
    fn add<T: Debug, E: Debug + Display>(&mut self, mistake: &str, result: Result<T, E>) {
        let error = result.map(|t| format!("{mistake} passed: {t:?}")).expect_err("a mistake");
        let debug = format!("{error:?}");
        let kind: String = debug.chars().take_while(|c| c.is_alphanumeric()).collect();
        self.text += &format!("{mistake}\n    {kind}: {error}\n");
        self.kinds.insert(kind);
    }

    /// Pins the text by a snapshot, and asserts that every kind of error occurs in it.
    #[track_caller]
    fn pin(&self, name: &str, kinds: &[&str]) {
        let all: Vec<&str> = self.kinds.iter().map(String::as_str).collect();
        let mut wanted = kinds.to_vec();
        wanted.sort_unstable();
        assert_eq!(all, wanted, "kinds of error provoked");
        insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false }, {
            insta::assert_snapshot!(name, self.text);
        });
    }
}

// Networks.

fn network(variables: &str) -> Result<Network, NetworkError> {
    Network::from_json(&format!(r#"{{"variables":[{variables}]}}"#))
}

const FUEL: &str = r#"{"name":"fuel","states":["no","yes"],"table":[0.02,0.98]}"#;
const STARTS: &str = r#"{"name":"starts","states":["no","yes"],"parents":["fuel"],"table":[1,0,0.05,0.95]}"#;

#[test]
fn networks() {
    let mut m = Messages::default();
    let with = |variable: &str| network(&format!("{FUEL},{variable}"));
    m.add("no JSON", Network::from_json("variables: [fuel]"));
    m.add("JSON that breaks off", Network::from_json(r#"{"variables":[{"name":"fuel","#));
    m.add("something after the end", Network::from_json(r#"{"variables":[]} {}"#));
    m.add("an unknown field", network(r#"{"name":"a","states":["n","y"],"cpt":[0.5,0.5]}"#));
    m.add("a missing field", network(r#"{"name":"a","states":["n","y"]}"#));
    m.add("text for a number", network(r#"{"name":"a","states":["n","y"],"table":[0.5,"half"]}"#));
    m.add("a number past all bounds", network(r#"{"name":"a","states":["n","y"],"table":[0.5,1e999]}"#));
    m.add("a variable twice", network(&format!("{FUEL},{FUEL}")));
    m.add("a misspelt parent", with(&STARTS.replace(r#"["fuel"]"#, r#"["feul"]"#)));
    m.add("a parent unlike any", with(&STARTS.replace(r#"["fuel"]"#, r#"["carburettor"]"#)));
    m.add("a parent twice", with(&STARTS.replace(r#"["fuel"]"#, r#"["fuel","fuel"]"#)));
    m.add("no states", with(r#"{"name":"a","states":[],"table":[]}"#));
    m.add("a state twice", with(r#"{"name":"a","states":["n","n"],"table":[0.5,0.5]}"#));
    let many: Vec<String> = (0..70_000).map(|i| i.to_string()).collect();
    m.add("too many states", NetworkBuilder::new().variable("a", many));
    m.add("a table too short", with(&STARTS.replace("[1,0,0.05,0.95]", "[1,0]")));
    m.add("no table", with(&STARTS.replace("[1,0,0.05,0.95]", "[]")));
    m.add("a negative entry", with(&STARTS.replace("0.05,0.95", "-0.05,1.05")));
    m.add("a row that does not sum to 1", with(&STARTS.replace("0.05,0.95", "0.05,0.9")));
    m.add("percentages", with(&STARTS.replace("0.05,0.95", "5,95")));
    m.add("its own parent", network(r#"{"name":"a","states":["n","y"],"parents":["a"],"table":[1,0,0,1]}"#));
    let ring = |name: &str, parent: &str| {
        format!(r#"{{"name":"{name}","states":["n","y"],"parents":["{parent}"],"table":[1,0,0,1]}}"#)
    };
    m.add("a circle", network(&[ring("a", "c"), ring("b", "a"), ring("c", "b")].join(",")));
    let mut unfinished = NetworkBuilder::new();
    unfinished.variable("a", ["n", "y"]).expect("a variable");
    m.add("a variable whose table never came", unfinished.build());
    let mut rule = NetworkBuilder::new();
    let a = rule.add("a", ["n", "y"], &[], vec![0.5, 0.5]).expect("a table");
    let noisy = |levels: Vec<Vec<f64>>| [NoisyParent { parent: a, levels }];
    m.add("a rule with a row missing", rule.noisy_max("x", &["0", "1"], &noisy(vec![vec![1.0, 0.0]])));
    let uneven = noisy(vec![vec![1.0, 0.0], vec![0.5, 0.6]]);
    m.add("a rule with a row over 1", rule.noisy_max("x", &["0", "1"], &uneven));

    let network = network(&format!("{FUEL},{STARTS}")).expect("a network");
    let on = |text: &str| EvidenceFile::from_json(text).map(|e| e.on(&network).map(|_| ()));
    m.add("evidence that is no JSON", on("fuel = no"));
    m.add("evidence of a strange shape", on(r#"{"fuel":true}"#));
    let on = |text: &str| on(text).expect("an evidence file");
    let mut i = Messages::default();
    i.add("evidence on a misspelt variable", on(r#"{"start":"no"}"#));
    i.add("evidence on a variable unlike any", on(r#"{"weather":"no"}"#));
    i.add("a state in capitals", on(r#"{"starts":"NO"}"#));
    i.add("a likelihood too short", on(r#"{"starts":[0.5]}"#));
    i.add("a negative likelihood", on(r#"{"starts":[0.5,-0.1]}"#));
    i.add("a likelihood that rules out everything", on(r#"{"starts":[0,0]}"#));
    let impossible = EvidenceFile::from_json(r#"{"fuel":"no","starts":"yes"}"#).expect("a file");
    let impossible = impossible.on(&network).expect("known names");
    let tree = JunctionTree::compile(&network).expect("a tree");
    i.add("findings that exclude each other", tree.posterior(&impossible));
    i.add("the same, built in", JunctionTree::compile_with_evidence(&network, &impossible).map(|_| ()));
    let mut half = Evidence::new();
    let starts = network.find("starts").expect("a variable");
    half.set_likelihood(&network, starts, vec![0.0, 0.3]).expect("a likelihood");
    half.observe(&network, network.find("fuel").expect("a variable"), "no").expect("a state");
    i.add("a likelihood that excludes a state", tree.posterior(&half));
    i.add("a network too large", JunctionTree::compile(&grid(40)).map(|_| ()));
    i.add(
        "a joint too large to write out",
        posterior_by_enumeration(&grid(40), &Evidence::new()).map(|_| ()),
    );
    i.pin("inference_errors", &["Impossible", "TooLarge", "Likelihood", "Name"]);

    // A name looked up through evidence gives the same error as through the network.
    m.add("a variable asked for by name", network.require("full"));
    let mut evidence = Evidence::new();
    match evidence.observe(&network, starts, "maybe") {
        Err(InferenceError::Name(error)) => m.add("a state asked for by name", Err::<(), _>(error)),
        other => unreachable!("{other:?}"),
    }
    m.pin(
        "network_errors",
        &[
            "Shape",
            "DuplicateVariable",
            "UnknownVariable",
            "UnknownState",
            "UnknownParent",
            "DuplicateParent",
            "States",
            "NoTable",
            "TableLength",
            "NotAProbability",
            "RowSum",
            "Cycle",
        ],
    );
}

/// Two-state variables on a square grid, each with its upper and left neighbours as parents: the
/// tree's width grows with the side.
fn grid(side: usize) -> Network {
    let mut b = NetworkBuilder::new();
    let mut rows = Vec::new();
    for y in 0..side {
        for x in 0..side {
            let mut parents = Vec::new();
            if x > 0 {
                parents.push(rows[y * side + x - 1]);
            }
            if y > 0 {
                parents.push(rows[(y - 1) * side + x]);
            }
            let table = [0.4, 0.6].repeat(1 << parents.len());
            rows.push(b.add(format!("{x},{y}"), ["n", "y"], &parents, table).expect("a table"));
        }
    }
    b.build().expect("a network")
}

// Machines.

/// The small machine with one value replaced.
fn changed(pointer: &str, value: Value) -> Result<Machine, MachineError> {
    let mut file = car_file();
    *file.pointer_mut(pointer).expect(pointer) = value;
    Machine::from_json(&file.to_string())
}

/// The small machine with one field added.
fn added(pointer: &str, field: &str, value: Value) -> Result<Machine, MachineError> {
    let mut file = car_file();
    file.pointer_mut(pointer).and_then(Value::as_object_mut).expect(pointer).insert(field.into(), value);
    Machine::from_json(&file.to_string())
}

/// The small machine with a list extended to `length` by copies of its last item, each with its own id.
fn many(pointer: &str, length: usize) -> Result<Machine, MachineError> {
    let mut file = car_file();
    let list = file.pointer_mut(pointer).and_then(Value::as_array_mut).expect(pointer);
    let mut item = list.last().expect("an item").clone();
    // Many conditions of one part must leave some probability for a sound part.
    if let Some(rate) = item.pointer_mut("/rate/nothing") {
        *rate = json!(1e-4);
    }
    while list.len() < length {
        item["id"] = json!(format!("copy-{}", list.len()));
        list.push(item.clone());
    }
    Machine::from_json(&file.to_string())
}

#[test]
fn machines() {
    let mut m = Messages::default();
    m.add("no JSON", Machine::from_json("{"));
    m.add("another format", Machine::from_json(r#"{"variables":[]}"#));
    m.add("an unknown field", added("/parts/0", "colour", json!("red")));
    m.add("a kind that is none", changed("/checks/0/kind", json!("heard")));
    m.add("a later schema", changed("/schema", json!("halfsplit-machine/3")));
    m.add("a machine that is not shipped", Machine::shipped("mower-recoli"));
    m.add("two parts of one id", changed("/parts/1/id", json!("fuel")));
    m.add("two results of one id", changed("/checks/0/results/1/id", json!("full")));
    m.add("an id with a blank", changed("/parts/0/id", json!("the fuel")));
    m.add("a misspelt subsystem", changed("/parts/1/subsystem", json!("ignitoin")));
    m.add("a misspelt part in an atom", changed("/checks/0/rows/0/when", json!(["feul/out"])));
    m.add("a misspelt condition in an atom", changed("/checks/0/rows/0/when", json!(["fuel/outt"])));
    m.add("a strange severity in an atom", changed("/checks/0/rows/0/when", json!(["fuel/out/badly"])));
    m.add("an atom that points at nothing", changed("/checks/0/rows/0/when", json!(["out"])));
    m.add("a misspelt context", changed("/checks/0/rows/0/when", json!(["stod=yes"])));
    m.add("a misspelt state of a context", changed("/checks/0/rows/0/when", json!(["stood=yess"])));
    m.add("a misspelt tool", changed("/checks/2/tools", json!(["sockt"])));
    m.add("a misspelt set-up", changed("/checks/2/setups", json!(["plug-out"])));
    m.add("a misspelt caution", changed("/bypasses/0/cautions", json!(["vapor"])));
    m.add("a misspelt check", added("/checks/0", "after", json!([{ "check": "tank-lok" }])));
    m.add("a condition that it cures is unknown", changed("/repairs/0/cures", json!(["fuel/low"])));
    m.add("a repair that cures nothing", changed("/repairs/0/cures", json!([])));
    m.add("a repair that never takes", changed("/repairs/0/takes", json!(0)));
    m.add("prices that fall", changed("/repairs/0/parts_cost/typical", json!(2)));
    m.add("a rate in percent", changed("/parts/0/conditions/0/rate/nothing", json!(2)));
    m.add("a condition without a rate", changed("/parts/0/conditions/0/rate/nothing", json!(0)));
    m.add("a part without conditions", changed("/parts/0/conditions", json!([])));
    m.add("shares that miss 1", changed("/context/0/states/0/share", json!(0.6)));
    m.add("a row that misses 1", changed("/checks/0/rows/1/p", json!([0.4, 0.6, 0.01])));
    m.add("a row too short", changed("/checks/0/rows/1/p", json!([0.4, 0.6])));
    m.add("a negative chance", changed("/checks/0/rows/1/p", json!([0.4, 0.7, -0.1])));
    m.add("no row for all the rest", changed("/checks/0/rows/1/when", json!(["plugs/dirty"])));
    m.add("neither rows nor a reading", changed("/checks/0/rows", json!([])));
    m.add(
        "one result only",
        changed("/checks/1/results", json!([{ "id": "a", "name": "a", "normal": true }])),
    );
    m.add("a unit of something else", changed("/checks/3/reading/unit", json!("psi")));
    m.add("a unit that is none", changed("/checks/3/reading/unit", json!("furlong")));
    m.add("a law without spread", changed("/checks/3/reading/rows/0/law/0/sd", json!(0)));
    m.add("a law whose weights miss 1", changed("/checks/3/reading/rows/0/law/0/weight", json!(0.5)));
    m.add("a law far off the scale", changed("/checks/3/reading/rows/0/law/0/mean", json!(1e6)));
    m.add("figures from nowhere", changed("/checks/0/source", json!(" ")));
    m.add("a scale without length", changed("/checks/3/reading/range", json!([3, 3])));
    m.add("a scale without steps", changed("/checks/3/reading/resolution", json!(0)));
    m.add("bands out of order", changed("/checks/3/results/0/up_to", json!(5)));
    m.add("a band without a meaning", changed("/checks/3/results/0/means", json!([])));
    let meaning = |when: &str| json!([{ "when": [when], "text": "Low." }, { "text": "Usual." }]);
    m.add("a meaning by history", changed("/checks/3/results/0/means", meaning("stood=yes")));
    m.add("a meaning without words", changed("/checks/3/results/0/means/0/text", json!(" ")));
    m.add("a meaning of a look", added("/checks/0/results/0", "means", json!([{ "text": "Dry." }])));
    m.add("an attempt that misses 1", changed("/attempt/law/tries", json!([0.1, 0, 0, 0.99])));
    m.add("a trust above 1", changed("/trust/told", json!(1.5)));
    m.add("minutes below 0", changed("/checks/0/minutes", json!(-1)));
    m.add("a check that waits less than no time", added("/checks/0", "wait_hours", json!(-1)));
    m.add("a bypass that waits less than no time", added("/bypasses/0", "wait_hours", json!(-1)));
    m.add("a repair that waits less than no time", added("/repairs/0", "wait_hours", json!(-1)));
    m.add("waiting that costs nothing", added("/defaults", "wait_cost_per_hour", json!(0)));
    m.add("work for nothing", changed("/defaults/rate_per_hour", json!(0)));
    let hold_off = |over: f64| json!([{ "when": "fuel/out", "over": over, "why": "no" }]);
    m.add("a hold-off that can never be", added("/checks/0", "hold_off", hold_off(1.0)));
    let raise = |when: &str, factor: f64| json!([{ "when": when, "factor": factor }]);
    let condition = "/parts/0/conditions/0";
    m.add("raised by a later part", added(condition, "raised_by", raise("plugs/dirty", 2.0)));
    m.add("a negative odds factor", added(condition, "raised_by", raise("stood=yes", -2.0)));
    let spoilt = json!([{
        "id": "spark", "name": "spark", "source": "made up", "levels": [{ "id": "good", "name": "good" }, { "id": "bad", "name": "bad" }],
        "spoiled_by": [{ "when": ["plugs/dirty"], "levels": [0.5, 0.5] }, { "when": ["plugs/dirty"], "levels": [0, 1] }],
    }]);
    m.add("a function spoilt twice by one thing", changed("/functions", spoilt));
    m.add("more set-ups than there are bits", many("/setups", 65));
    m.add("more checks and bypasses than there are bits", many("/checks", 128));
    m.add("more conditions than there are bits", many("/parts/0/conditions", 129));
    m.pin("machine_errors", &["Shape", "Schema", "Duplicate", "Unknown", "Rule"]);
}

/// The small machine with one gate that holds the turning of the engine until somebody looks into the tank.
/// `fields` replaces some of its fields.
fn gated(fields: Value) -> Result<Machine, MachineError> {
    let mut gate = json!({
        "id": "dry", "after": [{ "check": "dial", "results": ["empty"] }], "holds": ["turning"],
        "why": "The tank may be dry.", "until": [{ "check": "tank-look" }],
    });
    let fields = fields.as_object().expect("fields").clone();
    gate.as_object_mut().expect("a gate").extend(fields);
    added("", "gates", json!([gate]))
}

/// The small machine with two gates. Each holds the check that opens the other.
fn gates_that_wait_for_each_other() -> Result<Machine, MachineError> {
    let mut file = car_file();
    file["checks"][0]["involves"] = json!(["fuel"]);
    file["checks"][1]["involves"] = json!(["turning"]);
    let gate = |id: &str, holds: &str, until: &str| json!({ "id": id, "after": [{ "check": "plug-look" }], "holds": [holds], "why": "No.", "until": [{ "check": until }] });
    file["gates"] = json!([gate("one", "turning", "dial"), gate("two", "fuel", "tank-look")]);
    Machine::from_json(&file.to_string())
}

#[test]
fn gates() {
    assert!(gated(json!({})).is_ok());
    let mut m = Messages::default();
    m.add("a gate without a trigger", gated(json!({ "after": [] })));
    m.add("a gate that holds nothing", gated(json!({ "holds": [] })));
    m.add("a gate that holds what no step involves", gated(json!({ "holds": ["singing"] })));
    m.add("a gate that nothing opens", gated(json!({ "until": [] })));
    m.add("gates that wait for each other", gates_that_wait_for_each_other());
    m.add("a gate behind an unknown check", gated(json!({ "after": [{ "check": "dail" }] })));
    m.add(
        "a gate behind an unknown result",
        gated(json!({ "after": [{ "check": "dial", "results": ["emty"] }] })),
    );
    let likely = |when: &str, over: f64| gated(json!({ "likely": [{ "when": when, "over": over }] }));
    m.add("a gate behind an unknown state", likely("fuel/outt", 0.5));
    m.add("a gate behind more than certainty", likely("fuel/out", 1.0));
    m.add("a gate that an unknown check opens", gated(json!({ "until": [{ "check": "tank-lok" }] })));
    m.add("a gate that an unknown repair opens", gated(json!({ "until": [{ "repair": "fil" }] })));
    m.add(
        "a gate that an unknown result opens",
        gated(json!({ "until": [{ "check": "tank-look", "results": ["fule"] }] })),
    );
    m.add("a gate that something nameless opens", gated(json!({ "until": [{}] })));
    let same = json!({ "id": "dry", "after": [{ "check": "dial" }], "holds": ["fuel"], "why": "No.", "until": [{ "check": "tank-look" }] });
    m.add("two gates of one id", added("", "gates", json!([same, same])));
    m.pin("gate_errors", &["Shape", "Duplicate", "Unknown", "Rule"]);
}

#[test]
fn the_small_machine_is_valid_unchanged() {
    // The unchanged machine is valid; otherwise the list above would prove little.
    assert_eq!(machine(&car_file()).condition_count(), 3);
}

#[test]
fn a_description_with_the_former_name_of_contexts_still_opens() {
    let mut file = car_file();
    let fields = file.as_object_mut().expect("an object");
    let contexts = fields.remove("context").expect("contexts");
    fields.insert("background".into(), contexts);
    assert_eq!(machine(&file).file().context, machine(&car_file()).file().context);
}

#[test]
fn as_many_things_as_there_are_bits_are_accepted() {
    let bypasses = car_file()["bypasses"].as_array().expect("a list").len();
    for (pointer, length) in [("/setups", 64), ("/checks", 127 - bypasses), ("/parts/0/conditions", 126)] {
        let machine = many(pointer, length).expect(pointer);
        let job = car_job(&[]);
        let answer = Job::new(&machine, &job).and_then(|job| job.assess()).expect(pointer);
        assert!(answer.next.is_some(), "{pointer}");
    }
}

// Jobs.

/// Checks a job on the mower, given its steps as JSON.
fn steps(steps: &str) -> Result<(), JobError> {
    whole(&format!(r#"{{"machine":"mower-recoil","steps":[{steps}]}}"#))
}

fn whole(text: &str) -> Result<(), JobError> {
    Job::new(mower(), &JobFile::from_json(text)?)?.assess().map(|_| ())
}

#[test]
fn jobs() {
    let mut m = Messages::default();
    let field = |extra: &str| whole(&format!(r#"{{"machine":"mower-recoil",{extra}}}"#));
    m.add("an empty file", whole(""));
    m.add("a comma too many", whole(r#"{"machine":"mower-recoil","steps":[],}"#));
    m.add("no machine", whole(r#"{"steps":[]}"#));
    m.add("a misspelt field", field(r#""stpes":[]"#));
    m.add("another machine", whole(r#"{"machine":"chainsaw"}"#));
    m.add("a kit of one word", field(r#""kit":"torch""#));
    m.add("a misspelt tool", field(r#""kit":["torch","gap-testr"]"#));
    m.add("a rate of nothing", field(r#""rate_per_hour":0"#));
    m.add("waiting that costs nothing", field(r#""wait_cost_per_hour":0"#));
    m.add("a negative limit", field(r#""hand_over_cost":-5"#));
    m.add("a machine worth nothing", field(r#""worth":0"#));
    m.add("a thing that cannot be spared", field(r#""spare":"trouble""#));
    m.add("a height in feet, on a mountain", field(r#""altitude_m":29032"#));
    m.add("a depth", field(r#""altitude_m":-4000"#));
    m.add("a thing that cannot be fitted", field(r#""fitted":{"turbocharger":"none"}"#));
    m.add("history as a thing fitted", field(r#""fitted":{"storage":"winter"}"#));
    m.add("a misspelt state of a thing fitted", field(r#""fitted":{"trigger":"pionts"}"#));
    m.add("a step that is none", steps(r#"{"do":"pray"}"#));
    m.add("a step without a kind", steps(r#"{"check":"fuel-smell","result":"sour"}"#));
    m.add("an unknown field of a step", steps(r#"{"do":"repair","repair":"new-plug","cost":4}"#));
    m.add(
        "a repair that somebody is unsure of",
        steps(r#"{"do":"repair","repair":"new-plug","known":"unsure"}"#),
    );
    m.add("a field of another step", steps(r#"{"do":"repair","repair":"new-plug","outcome":"runs"}"#));
    m.add("a field of another step, empty", steps(r#"{"do":"repair","repair":"new-plug","result":null}"#));
    m.add(
        "a step without its id",
        steps(r#"{"do":"attempt","outcome":"dies"},{"do":"check","result":"sour"}"#),
    );
    m.add("a number for an id", steps(r#"{"do":"check","check":7,"result":"sour"}"#));
    m.add("nothing for a list", steps(r#"{"do":"attempt","bypass":null,"outcome":"dies"}"#));
    m.add("a number in a list of ids", steps(r#"{"do":"attempt","bypass":["dose",3],"outcome":"dies"}"#));
    m.add("a list for a step", steps(r#"["check","fuel-smell"]"#));
    m.add("a misspelt check", steps(r#"{"do":"check","check":"fuel-smel","result":"sour"}"#));
    m.add("a check unlike any", steps(r#"{"do":"check","check":"horoscope","result":"bad"}"#));
    m.add("a misspelt result", steps(r#"{"do":"check","check":"fuel-smell","result":"sourr"}"#));
    m.add("a result of another check", steps(r#"{"do":"check","check":"fuel-smell","result":"packed"}"#));
    m.add("no finding", steps(r#"{"do":"check","check":"fuel-smell"}"#));
    m.add(
        "a certainty that is none",
        steps(r#"{"do":"check","check":"fuel-smell","result":"sour","known":"sure"}"#),
    );
    m.add(
        "a misspelt repair",
        steps(r#"{"do":"attempt","outcome":"nothing"},{"do":"repair","repair":"new-plugg"}"#),
    );
    m.add("a misspelt bypass", steps(r#"{"do":"attempt","bypass":["dosse"],"outcome":"dies"}"#));
    m.add("no outcome", steps(r#"{"do":"attempt"}"#));
    m.add("an outcome that is none", steps(r#"{"do":"attempt","outcome":"explodes"}"#));
    let gauge =
        |reading: &str| steps(&format!(r#"{{"do":"check","check":"gauge-pull","reading":{reading}}}"#));
    m.add("a reading without a unit", gauge(r#"{"value":92}"#));
    m.add("a unit that is none", gauge(r#"{"value":92,"unit":"pounds"}"#));
    m.add("a word for a number read off", gauge(r#"{"value":"92","unit":"psi"}"#));
    m.add("a span of three numbers", gauge(r#"{"between":[40,50,60],"unit":"psi"}"#));
    m.add("a misspelt field of a reading", gauge(r#"{"vaule":92,"unit":"psi"}"#));
    m.add(
        "a scale of temperature that is none",
        gauge(r#"{"value":92,"unit":"psi","temperature":{"value":20,"unit":"kelvin"}}"#),
    );
    m.add("a unit of something else", gauge(r#"{"value":92,"unit":"mm"}"#));
    m.add("a reading off the scale", gauge(r#"{"value":920,"unit":"psi"}"#));
    m.add("kilopascal taken for bar", gauge(r#"{"value":640,"unit":"bar"}"#));
    m.add("a reading below nothing", gauge(r#"{"value":-5,"unit":"psi"}"#));
    m.add("a value and a limit", gauge(r#"{"value":50,"over":100,"unit":"psi"}"#));
    m.add("a reading without a number", gauge(r#"{"unit":"psi"}"#));
    m.add("a span the wrong way round", gauge(r#"{"between":[60,40],"unit":"psi"}"#));
    m.add("far past the end of the scale", gauge(r#"{"over":920,"unit":"psi"}"#));
    m.add(
        "over a hundred per cent",
        steps(r#"{"do":"check","check":"leak-down","reading":{"over":100,"unit":"%"}}"#),
    );
    m.add("a number past all bounds", gauge(r#"{"value":1e999,"unit":"psi"}"#));
    m.add(
        "a number for a look",
        steps(r#"{"do":"check","check":"fuel-smell","reading":{"value":3,"unit":"percent"}}"#),
    );
    m.add(
        "a result and a reading",
        steps(r#"{"do":"check","check":"gauge-pull","result":"low","reading":{"value":30,"unit":"psi"}}"#),
    );

    let car = machine(&car_file());
    let on_car = |steps: &[_]| Job::new(&car, &car_job(steps)).and_then(|j| j.assess()).map(|_| ());
    let dry = found("tank-look", "dry");
    m.add(
        "findings that exclude each other",
        on_car(&[found("dial", "full"), dry.clone(), attempt(Outcome::Runs)]),
    );
    let mut told = dry;
    if let halfsplit::job::StepRecord::Check { known, .. } = &mut told {
        *known = Some(halfsplit::job::Provenance::Told);
    }
    assert_eq!(on_car(&[told, attempt(Outcome::Runs)]), Ok(()), "hearsay excludes nothing");

    // The errors below come from lower layers. A valid job on a valid machine cannot cause them, so they
    // are made directly.
    let lower = Machine::shipped("mower").map_err(JobError::from);
    m.add("a machine that cannot be used", lower);
    let lower = JunctionTree::compile(&grid(40)).map(|_| ()).map_err(JobError::from);
    m.add("a network too large", lower);
    let lower = network("").expect("an empty network").require("fuel").map_err(JobError::from);
    m.add("a network without the name", lower);
    m.pin("job_errors", &["Shape", "Unknown", "Rule", "Impossible", "Machine", "Inference", "Network"]);
}

// Links.

/// The link of a job without a note.
fn link_of(job: &JobFile) -> String {
    link::encode(job, "0123456789a", None).expect("no note")
}

/// The job of a link.
fn linked(text: &str) -> Result<JobFile, LinkError> {
    link::decode(text).map(|l| l.job)
}

#[test]
fn links() {
    let mut m = Messages::default();
    let whole = link_of(&demo_after(14));
    m.add("nothing", link::decode(""));
    m.add("some text", link::decode("hello"));
    m.add("a later version", link::decode(&whole.replacen("2.", "3.", 1)));
    m.add("without its version", link::decode(&whole[2..]));
    m.add("a character that does not belong there", link::decode(&whole.replacen('a', "!", 1)));
    m.add("with its escapes", link::decode(&format!("{whole}%20")));
    m.add("cut off", link::decode(&whole[..whole.len() - 40]));
    m.add("cut to its version", link::decode("1."));
    m.add("packed noise", link::decode("1.AAECAwQFBgcICQ"));
    m.add("packed, and not text", link::decode(&packed(&[0xff, 0xfe, 0x00])));
    m.add("packed, and not a job", link::decode(&packed(br#"{"machine":7}"#)));
    m.add("packed, and nothing", link::decode(&packed(b"")));
    m.add("a gigabyte of blanks", link::decode(&bomb()));
    // Sixty thousand bytes, each of which abbreviates a phrase.
    m.add("phrases without end", link::decode(&packed_as("2.", &[1; 60_000])));
    m.add(
        "a field of another program",
        link::decode(&packed_as("2.", br#"{"job":{"machine":"m"},"run":"x"}"#)),
    );
    let long = format!(r#"{{"job":{{"machine":"m"}},"note":"{}"}}"#, "x".repeat(501));
    m.add("a note without end", link::decode(&packed_as("2.", long.as_bytes())));
    m.pin("link_errors", &["Version", "Characters", "Packing", "Job", "Note"]);
    // A link copied with a line end or blanks around it still works.
    assert_eq!(linked(&format!("  {whole}\n")), Ok(demo_after(14)));
}

/// A link with any content, as one stored block of RFC 1951 in base64url without padding.
fn packed(content: &[u8]) -> String {
    packed_as("1.", content)
}

fn packed_as(version: &str, content: &[u8]) -> String {
    let length = u16::try_from(content.len()).expect("a short content");
    let mut bytes = vec![1];
    bytes.extend(length.to_le_bytes());
    bytes.extend((!length).to_le_bytes());
    bytes.extend(content);
    format!("{version}{}", base64url(&bytes))
}

/// A link of some hundred kilobytes that unpacks to far more than a job may have: one block of RFC
/// 1951 with fixed codes, a blank and then many repeats of length 258.
fn bomb() -> String {
    let mut bits = Bits::default();
    bits.push(1, 1); // last block
    bits.push(1, 2); // fixed codes
    bits.push_code(0x30 + u32::from(b' '), 8);
    for _ in 0..100_000 {
        bits.push_code(0b1100_0101, 8); // length 258
        bits.push_code(0, 5); // distance 1
    }
    bits.push_code(0, 7); // end
    format!("1.{}", base64url(&bits.bytes))
}

/// Bits as RFC 1951 packs them: numbers from the lowest bit, codes from the highest.
#[derive(Default)]
struct Bits {
    bytes: Vec<u8>,
    used: u32,
}

impl Bits {
    fn push(&mut self, value: u32, count: u32) {
        for i in 0..count {
            if self.used.is_multiple_of(8) {
                self.bytes.push(0);
            }
            if let Some(last) = self.bytes.last_mut() {
                *last |= u8::from(value >> i & 1 == 1) << (self.used % 8);
            }
            self.used += 1;
        }
    }

    fn push_code(&mut self, code: u32, count: u32) {
        (0..count).rev().for_each(|i| self.push(code >> i & 1, 1));
    }
}

/// Encodes bytes in base64url (RFC 4648, section 5) without padding.
fn base64url(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    let mut text = String::new();
    for chunk in bytes.chunks(3) {
        let byte = |i: usize| u32::from(chunk.get(i).copied().unwrap_or(0));
        let all = byte(0) << 16 | byte(1) << 8 | byte(2);
        (0..=chunk.len()).for_each(|i| text.push(char::from(LETTERS[(all >> (18 - 6 * i) & 63) as usize])));
    }
    text
}

#[test]
fn the_packing_of_these_tests_is_right() {
    // The encoder gives the test vectors of RFC 4648, section 10, and a link made with it can be decoded.
    assert_eq!(base64url(b"foobar"), "Zm9vYmFy");
    assert_eq!(base64url(b"fooba"), "Zm9vYmE");
    let job = demo_after(3);
    let text = serde_json::to_string(&job).expect("JSON");
    assert_eq!(linked(&packed(text.as_bytes())), Ok(job));
    // The bomb fails for its size alone: the same content with three repeats unpacks.
    let mut bits = Bits::default();
    bits.push(1, 1);
    bits.push(1, 2);
    bits.push_code(0x30 + u32::from(b' '), 8);
    (0..3).for_each(|_| {
        bits.push_code(0b1100_0101, 8);
        bits.push_code(0, 5);
    });
    bits.push_code(0, 7);
    let small = link::decode(&format!("1.{}", base64url(&bits.bytes)));
    assert!(matches!(small, Err(LinkError::Job(_))), "{small:?}");
}

#[test]
fn a_job_survives_its_link_and_its_file() {
    for steps in 0..=14 {
        let job = demo_after(steps);
        assert_eq!(linked(&link_of(&job)), Ok(job.clone()));
        let text = job.to_json().expect("JSON");
        // An editor may put a byte order mark before the text.
        assert_eq!(JobFile::from_json(&format!("\u{feff}{text}")), Ok(job.clone()));
        assert_eq!(JobFile::from_json(&text), Ok(job));
    }
    let long = link_of(&demo_after(14));
    assert!(long.len() < 1000, "a link that can be sent: {} characters", long.len());
    assert!(long.chars().all(|c| c.is_ascii_alphanumeric() || "-_.".contains(c)), "{long}");
}

// Random input.

/// Strategy for edits of a text: a place, the kind of edit, and a byte.
fn edits() -> impl Strategy<Value = Vec<(prop::sample::Index, u8, u8)>> {
    prop::collection::vec((any::<prop::sample::Index>(), 0_u8..4, any::<u8>()), 1..6)
}

/// A text with some bytes replaced, removed or inserted, or a piece repeated; the result is valid UTF-8.
fn mutated(text: &str, edits: &[(prop::sample::Index, u8, u8)]) -> String {
    // Bytes with a meaning in these formats are more frequent than by chance.
    const TELLING: &[u8] = b"{}[]\",:.-+eE0159 \\/=&ntf";
    let mut bytes = text.as_bytes().to_vec();
    for (at, how, byte) in edits {
        let i = at.index(bytes.len().max(1));
        let byte = if byte % 2 == 0 { TELLING[usize::from(*byte) / 2 % TELLING.len()] } else { *byte };
        match how {
            0 if i < bytes.len() => bytes[i] = byte,
            1 if i < bytes.len() => drop(bytes.remove(i)),
            2 => bytes.insert(i, byte),
            _ => bytes.extend_from_within(i..(i + 40).min(bytes.len())),
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

/// Does everything that can be done with a job text.
fn use_job(text: &str) {
    let Ok(file) = JobFile::from_json(text) else { return };
    assert_eq!(linked(&link_of(&file)), Ok(file.clone()));
    if let Ok(job) = Job::new(mower(), &file)
        && let Ok(answer) = job.assess()
    {
        assert!(answer.causes.iter().all(|c| c.p_cause.is_finite() && c.p_present.is_finite()));
    }
}

/// Does everything that can be done with a network text.
fn use_network(text: &str) {
    let Ok(network) = Network::from_json(text) else { return };
    let tree = JunctionTree::compile(&network).expect("no larger than before");
    let answer = tree.posterior(&Evidence::new()).expect("possible");
    for (var, _) in network.iter() {
        let sum: f64 = answer.marginal(var).iter().sum();
        assert!((sum - 1.0).abs() < 1e-6, "{sum}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn damaged_jobs_never_panic(steps in 0_usize..6, edits in edits()) {
        use_job(&mutated(&serde_json::to_string(&demo_after(steps)).expect("JSON"), &edits));
    }

    #[test]
    fn typed_numbers_survive_a_link(value in 0_u32..300_000, rate in 1_u32..100_000) {
        let mut file = demo_after(0);
        file.rate_per_hour = Some(f64::from(rate) / 100.0);
        file.steps.push(read("gauge-pull", f64::from(value) / 1000.0, halfsplit::reading::Unit::Psi));
        prop_assert_eq!(linked(&link_of(&file)), Ok(file));
    }

    #[test]
    fn damaged_links_never_panic(steps in 0_usize..14, edits in edits()) {
        let _ = link::decode(&mutated(&link_of(&demo_after(steps)), &edits));
    }

    #[test]
    fn damaged_packed_jobs_never_panic(edits in edits()) {
        // Damaged JSON in a valid packing reaches the parser of the job.
        let damaged = mutated(&serde_json::to_string(&demo_after(4)).expect("JSON"), &edits);
        if let Ok(file) = linked(&packed(damaged.as_bytes())) {
            prop_assert_eq!(JobFile::from_json(&damaged), Ok(file));
        }
    }

    #[test]
    fn damaged_networks_never_panic(edits in edits()) {
        use_network(&mutated(&text("peers/networks/asia.json"), &edits));
    }

    #[test]
    fn damaged_evidence_never_panics(edits in edits()) {
        let network = network(&format!("{FUEL},{STARTS}")).expect("a network");
        let damaged = mutated(r#"{"fuel":"no","starts":[0.2,0.9]}"#, &edits);
        if let Ok(evidence) = EvidenceFile::from_json(&damaged).map_err(|e| e.to_string())
            .and_then(|e| e.on(&network).map_err(|e| e.to_string()))
        {
            let tree = JunctionTree::compile(&network).expect("a tree");
            let _ = tree.posterior(&evidence);
        }
    }

    #[test]
    fn damaged_machines_never_panic(edits in edits()) {
        if let Ok(machine) = Machine::from_json(&mutated(&car_file().to_string(), &edits)) {
            let job = JobFile { machine: machine.id().to_owned(), ..car_job(&[attempt(Outcome::Nothing)]) };
            if let Ok(job) = Job::new(&machine, &job) {
                let _ = job.assess();
            }
        }
    }

    #[test]
    fn any_bytes_at_all(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let text = String::from_utf8_lossy(&bytes);
        use_job(&text);
        let _ = link::decode(&text);
        let _ = link::decode(&format!("1.{}", base64url(&bytes)));
        let _ = Network::from_json(&text);
        let _ = Machine::from_json(&text);
    }
}

#[test]
fn deep_nesting_is_refused() {
    let deep = "[".repeat(100_000);
    assert!(matches!(JobFile::from_json(&deep), Err(JobError::Shape { .. })));
    let deep = format!(r#"{{"machine":"mower-recoil","steps":{deep}"#);
    assert!(matches!(JobFile::from_json(&deep), Err(JobError::Shape { .. })));
}

#[test]
fn an_empty_network_has_an_answer() {
    let network = network("").expect("a network");
    let tree = JunctionTree::compile(&network).expect("a tree");
    let answer = tree.posterior(&Evidence::new()).expect("nothing excludes nothing");
    assert!(answer.log_p_evidence().abs() < 1e-15);
}
