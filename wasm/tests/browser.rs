//! The engine as the page sees it, in a real browser.

#![cfg(target_arch = "wasm32")]
#![allow(missing_docs, clippy::panic)]

use js_sys::{Array, JSON, Reflect};
use tsify::{Ts, Tsify};
use wasm_bindgen::JsValue;
use wasm_bindgen_test::{wasm_bindgen_test, wasm_bindgen_test_configure};

use halfsplit::job::JobFile;
use halfsplit_wasm::{Trouble, assess, decode_link, demo_job, encode_link, machine, machines, parse_job};

wasm_bindgen_test_configure!(run_in_browser);

fn get(value: &JsValue, path: &str) -> JsValue {
    path.split('.').fold(value.clone(), |at, key| {
        Reflect::get(&at, &JsValue::from_str(key)).unwrap_or(JsValue::UNDEFINED)
    })
}

fn text(value: &JsValue, path: &str) -> String {
    get(value, path).as_string().unwrap_or_else(|| panic!("no text at {path}"))
}

/// Any value as what the page would pass for a job.
fn as_job(json: &str) -> Ts<JobFile> {
    Ts::new_unchecked(JSON::parse(json).expect("the test's own JSON"))
}

fn trouble(result: Result<impl Sized, Trouble>) -> JsValue {
    match result {
        Ok(_) => panic!("an error was expected"),
        Err(trouble) => trouble.into(),
    }
}

#[wasm_bindgen_test]
fn the_mower_is_there_with_its_checks() {
    let list = machines().expect("shipped machines are valid");
    assert!(list.iter().any(|m| text(&m.js_value(), "id") == "mower-recoil"));
    let mower = machine("mower-recoil").expect("it was listed").js_value();
    assert!(Array::from(&get(&mower, "checks")).length() >= 25);
    assert_eq!(text(&mower, "schema"), "halfsplit-machine/1");
}

#[wasm_bindgen_test]
fn the_demo_job_comes_out_as_on_the_command_line() {
    let job = demo_job().expect("the demo job is valid");
    let here = assess(job).expect("it can be assessed").js_value();
    let file = JobFile::demo().expect("the demo job is valid");
    let machine = halfsplit::machine::Machine::shipped(&file.machine).expect("it is shipped");
    let there = halfsplit::job::Job::new(&machine, &file).and_then(|j| j.assess()).expect("valid");
    assert_eq!(text(&here, "next.id"), there.next.expect("an open job").id);
    let first = Array::from(&get(&here, "causes")).get(0);
    assert_eq!(text(&first, "condition"), there.causes[0].condition);
    let p = get(&first, "p_cause").as_f64().expect("a number");
    assert!((p - there.causes[0].p_cause).abs() < 1e-12);
    assert_eq!(text(&first, "part"), "stop-lead");
}

#[wasm_bindgen_test]
fn a_link_reopens_the_same_job() {
    let job = demo_job().expect("the demo job is valid");
    let before = JSON::stringify(&job.js_value()).expect("plain data");
    let link = encode_link(job).expect("a valid job");
    let after = decode_link(&link).expect("our own link").js_value();
    assert_eq!(before, JSON::stringify(&after).expect("plain data"));
    assert!(link.len() < 600, "{} characters", link.len());
}

#[wasm_bindgen_test]
fn errors_are_values_with_the_same_text() {
    let wrong = trouble(parse_job(
        r#"{"machine":"mower-recoil","steps":[{"do":"check","check":"fuel-smel","result":"sour"}]}"#,
    ));
    assert_eq!(text(&wrong, "kind"), "job");
    assert_eq!(
        text(&wrong, "message"),
        "at steps[0].check: there is no check \"fuel-smel\"; did you mean \"fuel-smell\"?"
    );
    let broken = trouble(decode_link("1.!!!!"));
    assert_eq!(text(&broken, "kind"), "link");
    let unknown = trouble(machine("mower-recoli"));
    assert_eq!(
        text(&unknown, "message"),
        "at machine: there is no machine \"mower-recoli\"; did you mean \"mower-recoil\"?"
    );
}

#[wasm_bindgen_test]
fn no_value_makes_it_panic() {
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
        let said = trouble(assess(as_job(json)));
        assert!(!text(&said, "message").is_empty(), "{json}");
    }
    let _ = Trouble::from(halfsplit::link::LinkError::Version).into_ts();
}
