//! Published networks against two general-purpose libraries.
//!
//! The fixtures, the libraries with their versions and calls, and the script that writes them are in
//! `tests/peers`; nothing of them is needed here but the JSON.

use halfsplit::precision::EXACT;
use halfsplit::{EvidenceFile, InferenceError, JunctionTree, Network};
use halfsplit_tests::{close, text};
use serde_json::Value;

/// Every case of a fixture, and how many there were.
fn agree(name: &str, cases: usize, marginals: usize) {
    let fixture: Value = serde_json::from_str(&text(&format!("peers/fixtures/{name}.json"))).expect("JSON");
    let network = Network::from_json(&text(&format!("peers/networks/{name}.json"))).expect("a network");
    let tree = JunctionTree::compile(&network).expect("a tree");
    let mut compared = 0;
    let list = fixture["cases"].as_array().expect("cases");
    for case in list {
        let label = format!("{name}, {}", case["name"]);
        let evidence = evidence(&case["evidence"]).on(&network).expect("names of the network");
        let p_evidence = number(&case["p_evidence"]);
        // Once with the evidence propagated, once with it built in.
        let built_in = JunctionTree::compile_given(&network, &evidence).expect("possible evidence");
        for answer in [tree.posterior(&evidence), built_in.posterior(&halfsplit::Evidence::new())] {
            let answer = answer.expect("possible evidence");
            close(&format!("{label}: P(e)"), answer.log_p_evidence().exp() / p_evidence, 1.0, EXACT);
            for (variable, states) in case["posteriors"].as_object().expect("posteriors") {
                let var = network.require(variable).expect("a variable");
                let states = states.as_object().expect("states");
                assert_eq!(states.len(), network.variable(var).cardinality(), "{label}: {variable}");
                for (state, expected) in states {
                    let at = network.variable(var).state(state).expect("a state").index();
                    let got = answer.marginal(var)[at];
                    close(&format!("{label}: {variable} = {state}"), got, number(expected), EXACT);
                }
                compared += 1;
            }
        }
    }
    assert_eq!(list.len(), cases, "{name}: cases");
    assert_eq!(compared, 2 * marginals, "{name}: marginals compared");

    let impossible = fixture["impossible"].as_array().expect("impossible cases");
    assert_eq!(impossible.len(), 2, "{name}: impossible cases");
    for case in impossible {
        let evidence = evidence(&case["evidence"]).on(&network).expect("names of the network");
        let error = tree.posterior(&evidence).expect_err("impossible evidence");
        assert_eq!(JunctionTree::compile_given(&network, &evidence).err(), Some(error.clone()));
        let InferenceError::Impossible { mut conflict } = error else {
            unreachable!("{name}: {error}");
        };
        conflict.sort();
        let mut expected: Vec<Vec<String>> = Vec::new();
        for set in case["smallest_conflicts"].as_array().expect("sets") {
            let words = |v: &Value| {
                let variable = v.as_str().expect("a name");
                format!("{variable} = {}", case["evidence"][variable].as_str().expect("a state"))
            };
            let mut set: Vec<String> = set.as_array().expect("a set").iter().map(words).collect();
            set.sort();
            expected.push(set);
        }
        assert!(expected.contains(&conflict), "{name}: {conflict:?} is not one of {expected:?}");
    }
}

fn evidence(value: &Value) -> EvidenceFile {
    EvidenceFile::from_json(&value.to_string()).expect("an evidence file")
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

#[test]
fn asia() {
    agree("asia", 24, 128);
}

#[test]
fn child() {
    agree("child", 20, 348);
}

#[test]
fn alarm() {
    agree("alarm", 20, 688);
}

#[test]
fn insurance() {
    agree("insurance", 20, 488);
}
