//! Tests of the command-line program: its JSON answers, messages and exit codes.
//!
//! They belong to this package because Cargo passes the path of a program only to the tests of its own
//! package. The fixtures and their sources are in `tests/peers`.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use halfsplit::job::{Job, JobFile};
use halfsplit::machine::Machine;
use halfsplit::precision::EXACT;
use halfsplit_bayes::JunctionTree;
use serde_json::{Value, json};

fn run(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_halfsplit")).args(args).output().expect("the program")
}

/// Returns the JSON that a command prints with `--json`.
fn answer(args: &[&str]) -> Value {
    let output = run(&[args, &["--json"]].concat());
    assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
    assert!(output.stderr.is_empty());
    serde_json::from_slice(&output.stdout).expect("JSON")
}

/// A folder with the input files of one test.
struct Files(PathBuf);

impl Files {
    fn new(test: &str) -> Self {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("cli-{test}"));
        std::fs::create_dir_all(&folder).expect("a folder");
        Files(folder)
    }

    fn write(&self, name: &str, content: &str) -> String {
        let path = self.0.join(name);
        std::fs::write(&path, content).expect("a file");
        path.to_str().expect("a path in UTF-8").to_owned()
    }
}

fn peers(file: &str) -> String {
    format!("{}/../tests/peers/{file}", env!("CARGO_MANIFEST_DIR"))
}

fn close(what: &str, got: &Value, expected: &Value) {
    let number = |v: &Value| v.as_f64().expect("a number");
    let difference = (number(got) - number(expected)).abs();
    assert!(difference <= EXACT, "{what}: {got} against {expected}");
}

/// Asserts that `posteriors --json` agrees with a fixture's case of hard and virtual evidence.
fn agrees_with_peers(network: &str) {
    let text = std::fs::read_to_string(peers(&format!("fixtures/{network}.json"))).expect("a fixture");
    let fixture: Value = serde_json::from_str(&text).expect("JSON");
    let cases = fixture["cases"].as_array().expect("cases");
    let case = cases.iter().find(|c| c["name"] == "mixed-2-2").expect("the case with both kinds");
    let evidence = Files::new(network).write("evidence.json", &case["evidence"].to_string());
    let file = peers(&format!("networks/{network}.json"));
    let got = answer(&["posteriors", "--network", &file, "--evidence", &evidence]);
    let ratio =
        json!(got["p_evidence"].as_f64().expect("a number") / case["p_evidence"].as_f64().expect("one"));
    close("P(e)", &ratio, &json!(1.0));
    let posteriors = case["posteriors"].as_object().expect("posteriors");
    assert!(posteriors.len() >= 4);
    for (variable, states) in posteriors {
        for (state, p) in states.as_object().expect("states") {
            close(&format!("{network}: {variable} = {state}"), &got["posteriors"][variable][state], p);
        }
    }
}

#[test]
fn posteriors_of_asia() {
    agrees_with_peers("asia");
}

#[test]
fn posteriors_of_child() {
    agrees_with_peers("child");
}

#[test]
fn posteriors_of_alarm() {
    agrees_with_peers("alarm");
}

#[test]
fn posteriors_of_insurance() {
    agrees_with_peers("insurance");
}

#[test]
fn next_says_what_the_library_says() {
    let got = answer(&["next", "--job", "demo"]);
    let file = JobFile::demo().expect("the demo");
    let machine = Machine::shipped(&file.machine).expect("the mower");
    let expected = Job::new(&machine, &file).and_then(|j| j.assess()).expect("an assessment");
    // Compared as text: the program and the library agree in every digit.
    let printed = run(&["next", "--job", "demo", "--json"]).stdout;
    let expected = serde_json::to_string_pretty(&expected).expect("JSON") + "\n";
    assert_eq!(String::from_utf8(printed).expect("text"), expected);
    for field in ["causes", "next", "ranking", "expected_cost"] {
        assert!(!got[field].is_null(), "{field}");
    }
    assert!(got["causes"][0]["p_cause"].is_number() && got["causes"][0]["p_present"].is_number());
    let text = run(&["next", "--job", "demo"]);
    let text = String::from_utf8(text.stdout).expect("text");
    assert!(text.contains("stop lead grounded") && text.contains("there, but not the reason"), "{text}");
}

#[test]
fn next_gives_the_warnings_of_the_step_and_says_what_overrides_it() {
    let files = Files::new("warnings");
    let mut warned = 0;
    for machine in Machine::all_shipped().expect("the shipped machines") {
        let job = files.write("job.json", &json!({ "machine": machine.id() }).to_string());
        let id = answer(&["next", "--job", &job])["next"]["id"].as_str().expect("a step").to_owned();
        let text = String::from_utf8(run(&["next", "--job", &job]).stdout).expect("text");
        let file = machine.file();
        let cautions = match file.checks.iter().find(|c| c.id == id) {
            Some(check) => {
                let setups = file.setups.iter().filter(|s| check.setups.contains(&s.id));
                setups.flat_map(|s| &s.cautions).chain(&check.cautions).collect::<Vec<_>>()
            }
            None => file.attempt.cautions.iter().collect(),
        };
        for caution in file.cautions.iter().filter(|c| cautions.contains(&&c.id)) {
            assert!(text.contains(&format!("Caution: {}\n", caution.text)), "{id}: {}\n{text}", caution.id);
            assert!(
                text.contains(&format!("When to stop: {}\n", caution.stop)),
                "{id}: {}\n{text}",
                caution.id
            );
            warned += 1;
        }
        let deferral = "The maker's manual, local rules and licensed practice come first.\n";
        assert_eq!(text.matches(deferral).count(), 1, "{id}\n{text}");
    }
    assert!(warned > 0, "no first step of any machine has a warning");
}

/// The text and the answer of `next` about a job of the mower; the text with these options.
fn next_on(test: &str, steps: &Value, options: &[&str]) -> (String, Value) {
    let file = json!({ "machine": "mower-recoil", "steps": steps }).to_string();
    let job = Files::new(test).write("job.json", &file);
    let asked = ["next", "--job", &job];
    let text = String::from_utf8(run(&[&asked, options].concat()).stdout).expect("text");
    (text, answer(&asked))
}

#[test]
fn next_says_what_must_wait_and_why() {
    let wet = json!([{ "do": "check", "check": "spill-look", "result": "wet" }]);
    let (text, got) = next_on("waits", &wet, &[]);
    let not_now = got["not_now"].as_array().expect("a list");
    let waits: Vec<&Value> = not_now.iter().filter(|n| n["obstacle"]["kind"] == "waits").collect();
    assert!(waits.len() > 3, "{got}");
    let why = waits[0]["obstacle"]["why"].as_str().expect("a reason");
    assert_eq!(text.matches(&format!("Must wait: {why}\n")).count(), 1, "{text}");
    for step in waits[0]["obstacle"]["until"].as_array().expect("steps") {
        let id = step["id"].as_str().expect("an id");
        assert!(text.contains(&format!("[{id}]")), "{id}: {text}");
    }
    for step in waits {
        let name = step["name"].as_str().expect("a name");
        assert!(text.contains(name), "{name}: {text}");
    }
    assert!(!next_on("waits-not", &json!([]), &[]).0.contains("Must wait"));
}

#[test]
fn next_lists_what_is_not_worth_doing_on_request() {
    let tried = json!([{ "do": "attempt", "outcome": "nothing" }]);
    let (text, got) = next_on("aside", &tried, &["--all"]);
    let (_, aside) = text.split_once("\nNot worth doing now\n").expect("a list");
    let set_aside = got["set_aside"].as_array().expect("a list");
    assert!(!set_aside.is_empty());
    for step in set_aside {
        let id = step["id"].as_str().expect("an id");
        assert!(aside.contains(&format!("[{id}]")), "{id}: {aside}");
    }
    for step in got["ranking"].as_array().expect("a list") {
        let id = step["id"].as_str().expect("an id");
        assert!(text.contains(&format!("[{id}]")) && !aside.contains(&format!("[{id}]")), "{id}: {text}");
    }
    assert!(!next_on("aside", &tried, &[]).0.contains("Not worth doing now"));
}

#[test]
fn why_says_what_the_library_says() {
    let file = JobFile::demo().expect("the demo");
    let machine = Machine::shipped(&file.machine).expect("the mower");
    let job = Job::new(&machine, &file).expect("valid");
    let reasons = halfsplit::explain::reasons(&job).expect("possible");
    let sensitivity = halfsplit::explain::sensitivity(&job).expect("open");
    let printed = run(&["why", "--job", "demo", "--json"]).stdout;
    let expected = json!({ "reasons": reasons, "sensitivity": sensitivity });
    let expected = serde_json::to_string_pretty(&expected).expect("JSON") + "\n";
    assert_eq!(String::from_utf8(printed).expect("text"), expected);
    let text = String::from_utf8(run(&["why", "--job", "demo"]).stdout).expect("text");
    for part in ["Likeliest: ", "Weight of each step", "Numbers that move", "The advice: "] {
        assert!(text.contains(part), "{text}");
    }
}

#[test]
fn sweep_says_what_posteriors_says_with_the_finding() {
    let files = Files::new("sweep");
    let network = peers("networks/asia.json");
    let evidence = files.write("evidence.json", r#"{"asia":"yes"}"#);
    let swept = answer(&["sweep", "--network", &network, "--evidence", &evidence]);
    let leaves = swept["sweep"].as_object().expect("leaves");
    // The two leaves of the network "asia": X-ray and shortness of breath.
    assert_eq!(leaves.keys().map(String::as_str).collect::<Vec<_>>(), ["dysp", "xray"]);
    let before = answer(&["posteriors", "--network", &network, "--evidence", &evidence]);
    for leaf in leaves.keys() {
        for state in ["yes", "no"] {
            let told = &leaves[leaf][state];
            close(&format!("{leaf} = {state}"), &told["p"], &before["posteriors"][leaf][state]);
            let with = files.write("with.json", &json!({ "asia": "yes", leaf: state }).to_string());
            let then = answer(&["posteriors", "--network", &network, "--evidence", &with]);
            let root = |v: &Value| v["posteriors"]["smoke"]["yes"].clone();
            close(&format!("smoke given {leaf} = {state}"), &root(told), &root(&then));
        }
    }
}

#[test]
fn machines_and_inspect() {
    let list = answer(&["machines"]);
    assert_eq!(list["machines"][0]["id"], "mower-recoil");
    let file = answer(&["inspect", "mower-recoil"]);
    assert_eq!(file["schema"], "halfsplit-machine/2");
    // The output of `inspect` is a valid description.
    let copy = Files::new("inspect").write("copy.json", &file.to_string());
    assert_eq!(answer(&["inspect", &copy]), file);
}

#[test]
fn a_link_opens_the_same_job() {
    let link = answer(&["link", "--job", "demo"]);
    let text = link["link"].as_str().expect("a text");
    let linked = halfsplit::link::decode(text).expect("just made");
    assert_eq!(Ok(linked.job), JobFile::demo());
    assert!(linked.fingerprint.is_some() && linked.note.is_none());
}

/// Runs commands on files with mistakes and checks that each message names the file.
#[test]
fn messages_name_the_file() {
    let files = Files::new("messages");
    let network = files.write(
        "network.json",
        r#"{"variables":[{"name":"fuel","states":["no","yes"],"table":[0.02,0.98]},
            {"name":"starts","states":["no","yes"],"parents":["fuel"],"table":[1,0,0.05,0.95]}]}"#,
    );
    let evidence = files.write("evidence.json", r#"{"starts":"no"}"#);
    let job = |name: &str, steps: &str| {
        files.write(name, &format!(r#"{{"machine":"mower-recoil","steps":[{steps}]}}"#))
    };
    let missing = files.0.join("missing.json").to_str().expect("a path in UTF-8").to_owned();
    let no_json = files.write("no-json.json", "machine: mower-recoil");
    let another = files.write("another.json", r#"{"machine":"mower-recoli"}"#);
    let typo = job("typo.json", r#"{"do":"check","check":"fuel-smel","result":"sour"}"#);
    let unit = job("unit.json", r#"{"do":"check","check":"gauge-pull","reading":{"value":3,"unit":"mm"}}"#);
    let bad_network =
        files.write("bad-network.json", r#"{"variables":[{"name":"a","states":["n","y"],"table":[1,1]}]}"#);
    let bad_state = files.write("bad-state.json", r#"{"starts":"never"}"#);
    let impossible = files.write("impossible.json", r#"{"starts":"yes","fuel":"no"}"#);
    let bad_machine = files.write("bad-machine.json", r#"{"schema":"halfsplit-machine/0"}"#);
    let posteriors = |network: &str, evidence: &str| {
        ["posteriors", "--network", network, "--evidence", evidence].map(str::to_owned).to_vec()
    };
    let next = |job: &str| ["next", "--job", job].map(str::to_owned).to_vec();
    let mut text = String::new();
    for (file, args) in [
        (&missing, next(&missing)),
        (&no_json, next(&no_json)),
        (&another, next(&another)),
        (&typo, next(&typo)),
        (&unit, next(&unit)),
        (&missing, posteriors(&missing, &evidence)),
        (&missing, posteriors(&network, &missing)),
        (&bad_network, posteriors(&bad_network, &evidence)),
        (&bad_state, posteriors(&network, &bad_state)),
        (&impossible, posteriors(&network, &impossible)),
        (&bad_machine, vec!["inspect".to_owned(), bad_machine.clone()]),
    ] {
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        let output = run(&args);
        let message = String::from_utf8(output.stderr).expect("text");
        assert_eq!(output.status.code(), Some(2), "{args:?}: {message}");
        assert!(output.stdout.is_empty(), "{args:?}");
        assert!(message.contains(file.as_str()), "{args:?}: {message}");
        // With `--json` the program prints the same message as a JSON value.
        let output = run(&[&args[..], &["--json"]].concat());
        assert_eq!(output.status.code(), Some(2), "{args:?} --json");
        let value: Value = serde_json::from_slice(&output.stdout).expect("JSON");
        assert_eq!(format!("halfsplit: {}\n", value["error"].as_str().expect("a text")), message);
        text += &message.replace(files.0.to_str().expect("a path in UTF-8"), "FOLDER");
    }
    let unknown = run(&["inspect", "mower"]);
    assert_eq!(unknown.status.code(), Some(2));
    text += &String::from_utf8_lossy(&unknown.stderr);
    insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false }, {
        insta::assert_snapshot!("cli_messages", text);
    });
}

#[test]
fn a_command_that_is_none_is_refused() {
    for args in [&["nxet"][..], &["next"], &["posteriors", "--network", "x"], &[]] {
        let output = run(args);
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(!output.stderr.is_empty(), "{args:?}");
    }
}

#[test]
fn the_committed_schemas_are_those_of_the_types() {
    for form in ["machine", "family", "block", "job"] {
        let path = format!("{}/machines/schema/{form}.schema.json", env!("CARGO_MANIFEST_DIR"));
        let committed = std::fs::read_to_string(path).expect("a committed schema");
        let made = String::from_utf8(run(&["schema", form]).stdout).expect("text");
        assert_eq!(made, committed, "run `cargo run -- schema {form}` and commit what it prints");
    }
}

#[test]
fn problems_of_a_machine() {
    assert_eq!(answer(&["inspect", "mower-recoil", "--problems"])["problems"], json!([]));
    let family = format!("{}/machines/generator-portable.json", env!("CARGO_MANIFEST_DIR"));
    assert_eq!(answer(&["inspect", &family])["id"], "generator-portable");
}

#[test]
fn the_size_of_a_machine_is_that_of_its_network() {
    let told = answer(&["inspect", "mower-recoil", "--size"]);
    let machine = Machine::shipped("mower-recoil").expect("the mower");
    let text = r#"{"machine": "mower-recoil", "steps": [{"do": "attempt", "outcome": "nothing"}]}"#;
    let file = JobFile::from_json(text).expect("a job");
    let (network, found) = Job::new(&machine, &file).and_then(|j| j.network()).expect("a network");
    let tree = JunctionTree::compile_with_evidence(&network, &found).expect("a tree");
    let once = &told["sizes"][1];
    assert_eq!(once["failed_starts"], 1);
    assert_eq!(once["variables"], network.iter().count());
    assert_eq!(once["entries"], tree.entries());
}
