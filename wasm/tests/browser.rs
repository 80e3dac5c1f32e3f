//! Tests of the engine's interface to the page, in a real browser.

#![cfg(target_arch = "wasm32")]
#![allow(missing_docs, clippy::panic)]

use js_sys::{Array, JSON, Reflect};
use tsify::Ts;
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_test::{wasm_bindgen_test, wasm_bindgen_test_configure};

use halfsplit::job::JobFile;
use halfsplit_wasm::{
    AdviceSession, SensitivityAnalysis, Trouble, exercise, fingerprint, fit, link_text, linked, load_machine,
    parse_job, play, reasons, reveal, take,
};

wasm_bindgen_test_configure!(run_in_browser);

/// Returns the description of the mower as the page fetches it, with its blocks merged.
fn mower() -> String {
    let machine = halfsplit::machine::Machine::shipped("mower-recoil").expect("it is shipped");
    serde_json::to_string(machine.file()).expect("a description is JSON")
}

fn get(value: &JsValue, path: &str) -> JsValue {
    path.split('.').fold(value.clone(), |at, key| {
        Reflect::get(&at, &JsValue::from_str(key)).unwrap_or(JsValue::UNDEFINED)
    })
}

fn text(value: &JsValue, path: &str) -> String {
    get(value, path).as_string().unwrap_or_else(|| panic!("no text at {path}"))
}

fn number(value: &JsValue, path: &str) -> f64 {
    get(value, path).as_f64().unwrap_or_else(|| panic!("no number at {path}"))
}

/// Returns any JSON value typed as a job, as the page could pass it.
fn as_job(json: &str) -> Ts<JobFile> {
    Ts::new_unchecked(JSON::parse(json).expect("the test's own JSON"))
}

fn trouble(result: Result<impl Sized, Trouble>) -> JsValue {
    match result {
        Ok(_) => panic!("an error was expected"),
        Err(trouble) => trouble.into(),
    }
}

/// Loads the mower into the engine, as the page does before any question about it.
fn load_mower() {
    load_machine(&mower()).expect("the shipped mower is valid");
}

#[wasm_bindgen_test]
fn the_demo_job_comes_out_as_on_the_command_line() {
    load_mower();
    let file = JobFile::demo().expect("the demo job is valid");
    let mut session =
        AdviceSession::new(as_job(&file.to_json().expect("a job is JSON"))).expect("it can be assessed");
    let first = session.assessment().expect("plain data").js_value();
    // The lookahead proceeds step by step. The assessment always includes the last complete round.
    let mut ahead = get(&first, "lookahead");
    assert!(number(&ahead, "done") < number(&ahead, "of"), "{ahead:?}");
    while number(&ahead, "done") < number(&ahead, "of") {
        let (before, more) = (number(&ahead, "done"), session.step().expect("plain data").js_value());
        assert!(number(&more, "done") > before, "it comes to an end: {more:?}");
        ahead = more;
        let here = session.assessment().expect("plain data").js_value();
        assert_eq!(number(&here, "lookahead.rounds"), number(&ahead, "rounds"));
    }
    let here = session.assessment().expect("plain data").js_value();
    let machine = halfsplit::machine::Machine::shipped(&file.machine).expect("it is shipped");
    let there = halfsplit::job::Job::new(&machine, &file).and_then(|j| j.assess()).expect("valid");
    assert_eq!(text(&here, "next.id"), there.next.expect("an open job").id);
    assert!((number(&here, "expected_cost") - there.expected_cost).abs() < 1e-9);
    assert!(there.expected_cost <= number(&first, "expected_cost") + 1e-9);
    let leader = Array::from(&get(&here, "causes")).get(0);
    assert_eq!(text(&leader, "condition"), there.causes[0].condition);
    assert!((number(&leader, "p_cause") - there.causes[0].p_cause).abs() < 1e-12);
    assert_eq!(text(&leader, "part"), "stop-lead");
}

/// Returns the size of the engine's memory in bytes.
fn memory_bytes() -> f64 {
    number(&wasm_bindgen::memory(), "buffer.byteLength")
}

#[wasm_bindgen_test]
fn sessions_give_their_memory_back() {
    load_mower();
    let ask = |altitude: usize| {
        let job = format!(r#"{{"machine": "mower-recoil", "altitude_m": {altitude}, "steps": []}}"#);
        let mut session = AdviceSession::new(as_job(&job)).expect("it can be assessed");
        session.step().expect("plain data");
    };
    (0..5).for_each(ask);
    let before = memory_bytes();
    (5..45).for_each(ask);
    assert!(memory_bytes() <= before, "{} bytes, {before} before", memory_bytes());
}

#[wasm_bindgen_test]
fn reasons_are_those_of_the_command_line_and_firmness_comes_piece_by_piece() {
    load_mower();
    let given = r#"{"machine": "mower-recoil", "steps": [{"do": "attempt", "outcome": "nothing"}]}"#;
    let file = JobFile::from_json(given).expect("a job");
    let machine = halfsplit::machine::Machine::shipped(&file.machine).expect("it is shipped");
    let job = halfsplit::job::Job::new(&machine, &file).expect("valid");

    let here = reasons(as_job(given)).expect("possible").js_value();
    let there = halfsplit::explain::reasons(&job).expect("possible");
    let leader = there.leader.expect("a leader");
    assert_eq!(text(&here, "leader.condition"), leader.condition);
    assert!((number(&here, "leader.p") - leader.p).abs() < 1e-12);

    // Three steps of one analysis make progress; a new analysis of the same job starts from the beginning.
    let begin = |given: &str| SensitivityAnalysis::new(as_job(given)).expect("possible");
    let piece = |analysis: &mut SensitivityAnalysis| {
        let so_far = analysis.step().expect("possible").js_value();
        assert_eq!(text(&so_far, "cause.condition"), leader.condition);
        number(&so_far, "progress")
    };
    let mut analysis = begin(given);
    let [first, second, third] = [(); 3].map(|()| piece(&mut analysis));
    assert!(0.0 < first && first < second && second < third && third < 1.0, "{first}, {second}, {third}");
    assert!((piece(&mut begin(given)) - first).abs() < 1e-12);
}

#[wasm_bindgen_test]
fn a_link_reopens_the_same_job() {
    let job = as_job(&JobFile::demo().and_then(|demo| demo.to_json()).expect("the demo job is valid"));
    let before = JSON::stringify(&job.js_value()).expect("plain data");
    load_mower();
    let mark = fingerprint(&mower()).expect("JSON");
    let short = link_text(job, &mark, Some("a note".into())).expect("a valid job");
    let linked = linked(&short, false).expect("our own link").js_value();
    let after = get(&linked, "job");
    assert_eq!(before, JSON::stringify(&after).expect("plain data"));
    assert_eq!(text(&linked, "note"), "a note");
    let fits = fit(Ts::new_unchecked(after), Some(text(&linked, "fingerprint")), &mark).expect("known tools");
    assert_eq!(get(&fits.js_value(), "same"), JsValue::TRUE);
}

#[wasm_bindgen_test]
fn values_are_plain_objects_and_lists() {
    let given = r#"{"machine":"mower-recoil","rate_per_hour":40,"machine_value":0.30000000000000004,"settings":{"a":"b"},"steps":[]}"#;
    // The text starts with a byte order mark, which some editors add to a file.
    let job = parse_job(&format!("\u{feff}{given}")).expect("a job").js_value();
    assert_eq!(JSON::stringify(&job).expect("plain data"), given);
    assert!(!get(&job, "settings").is_instance_of::<js_sys::Map>());
    assert_eq!(get(&job, "kit"), JsValue::UNDEFINED, "not there, and not null");
    load_mower();
    let job = as_job(r#"{"machine":"mower-recoil","steps":[]}"#);
    let fits = fit(job, None, "x").expect("known tools").js_value();
    assert_eq!(get(&fits, "same"), JsValue::NULL, "not known");
}

#[wasm_bindgen_test]
fn an_exercise_can_be_played_and_revealed() {
    load_mower();
    let start = exercise("mower-recoil", 5).expect("a machine");
    let pick = Ts::new_unchecked(JSON::parse(r#"{"check":"filter-look"}"#).expect("the test's own JSON"));
    let record = take(start, 5, pick).expect("a check").js_value();
    assert_eq!(text(&record, "check"), "filter-look");
    let played = play("mower-recoil", 5).expect("a machine").js_value();
    let hidden = reveal(Ts::new_unchecked(get(&played, "job")), 5).expect("its own job").js_value();
    assert_eq!(get(&hidden, "runs"), get(&played, "runs"));
}

#[wasm_bindgen_test]
fn errors_are_values_with_their_place_rule_and_figures() {
    load_mower();
    let wrong = trouble(AdviceSession::new(as_job(
        r#"{"machine":"mower-recoil","steps":[{"do":"check","check":"fuel-smel","result":"sour"}]}"#,
    )));
    assert_eq!(text(&wrong, "kind"), "rule");
    assert_eq!(text(&wrong, "place"), "steps[0].check");
    assert_eq!(text(&wrong, "rule.is"), "no-such");
    assert_eq!(text(&wrong, "rule.what"), "check");
    assert_eq!(text(&wrong, "rule.id"), "fuel-smel");
    assert_eq!(text(&wrong, "rule.nearest"), "fuel-smell");

    let off = trouble(AdviceSession::new(as_job(
        r#"{"machine":"mower-recoil","steps":[{"do":"check","check":"gauge-pull","reading":{"over":900,"unit":"psi"}}]}"#,
    )));
    assert_eq!(text(&off, "rule.is"), "off-scale");
    assert_eq!(text(&off, "rule.given_unit"), "psi");
    assert_eq!(get(&off, "rule.given").as_f64(), Some(900.0));
    assert_eq!(get(&off, "rule.highest").as_f64(), Some(300.0));

    // No findings on the mower are impossible; findings on the textbook's car can be.
    load_machine(include_str!("../../tests/rust/machines/car.json")).expect("a valid description");
    let excluded = trouble(AdviceSession::new(as_job(
        r#"{"machine":"car","steps":[{"do":"check","check":"dial","result":"full"},
            {"do":"check","check":"tank-look","result":"dry"},{"do":"attempt","outcome":"runs"}]}"#,
    )));
    assert_eq!(text(&excluded, "kind"), "impossible");
    let steps: Vec<_> = Array::from(&get(&excluded, "steps")).iter().filter_map(|s| s.as_f64()).collect();
    assert_eq!(steps, [1.0, 2.0]);

    let misread = trouble(AdviceSession::new(as_job(
        r#"{"machine":"mower-recoil","steps":[{"do":"check","check":"gauge-pull","reading":{"value":9,"unit":"pounds"}}]}"#,
    )));
    assert_eq!(text(&misread, "kind"), "shape");
    assert_eq!(text(&misread, "place"), "steps[0].reading.unit");
    assert_eq!(text(&misread, "shape.is"), "unknown-name");
    assert_eq!(text(&misread, "shape.name"), "pounds");
    let misspelt = trouble(AdviceSession::new(as_job(r#"{"machine":"mower-recoil","stpes":[]}"#)));
    assert_eq!(text(&misspelt, "place"), "stpes");
    assert_eq!(text(&misspelt, "shape.is"), "unknown-field");
    let no_json =
        trouble(AdviceSession::new(Ts::new_unchecked(js_sys::Set::new(&JsValue::UNDEFINED).into())));
    assert_eq!(text(&no_json, "shape.is"), "wrong-kind");

    let torn = trouble(parse_job("{"));
    assert_eq!(text(&torn, "kind"), "shape");
    assert_eq!(text(&torn, "shape.is"), "not-json");
    let broken = trouble(linked("!!!!", true));
    assert_eq!(text(&broken, "kind"), "link");
    let unknown = trouble(AdviceSession::new(as_job(r#"{"machine":"mower-recoli","steps":[]}"#)));
    assert_eq!(text(&unknown, "place"), "machine");
    assert_eq!(text(&unknown, "rule.nearest"), "mower-recoil");
}

#[wasm_bindgen_test]
fn no_value_makes_it_panic() {
    load_mower();
    for json in [
        "null",
        "1",
        "[]",
        "{}",
        "\"job\"",
        r#"{"machine":1}"#,
        r#"{"machine":"mower-recoil","steps":{}}"#,
        r#"{"machine":"mower-recoil","steps":[{}]}"#,
        r#"{"machine":"mower-recoil","steps":[{"do":"dance"}]}"#,
        r#"{"machine":"mower-recoil","kit":["hammer"],"steps":[]}"#,
        r#"{"machine":"mower-recoil","altitude_m":1e99,"steps":[]}"#,
        r#"{"machine":"mower-recoil","rate_per_hour":-1,"steps":[]}"#,
        r#"{"machine":"mower-recoil","steps":[{"do":"check","check":"gauge-pull","reading":{"value":9,"unit":"mm"}}]}"#,
    ] {
        let said = trouble(AdviceSession::new(as_job(json)));
        assert!(["rule", "shape"].contains(&text(&said, "kind").as_str()), "{json}");
    }
}
