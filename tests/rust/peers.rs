//! Compares the answers on published networks with those of two general-purpose libraries.
//!
//! `tests/peers` holds the fixtures, the script that writes them, and the libraries with their versions and
//! calls. These tests need only the JSON.

use halfsplit::precision::EXACT;
use halfsplit_bayes::{Evidence, EvidenceFile, InferenceError, JunctionTree, Network, Posterior};
use halfsplit_tests::{close, peers_text, published};
use serde_json::Value;

/// The expected numbers of cases and marginals in a fixture. They make the test fail when a fixture is
/// truncated and gives fewer comparisons.
struct Known {
    cases: usize,
    marginals: usize,
    impossible: usize,
}

/// Compares the junction tree with every case of a fixture.
fn agree(name: &str, known: &Known) {
    let fixture: Value = serde_json::from_str(&peers_text(&format!("fixtures/{name}"))).expect("JSON");
    let network = published(name);
    let tree = JunctionTree::compile(&network).expect("a tree");
    let (mut compared, mut work) = (0, tree.workspace());
    let cases = fixture["cases"].as_array().expect("cases");
    for case in cases {
        let evidence = evidence(&case["evidence"]).on(&network).expect("names of the network");
        let label = format!("{name}, {}", case["name"]);
        // Compares twice: with the evidence propagated, and with the evidence built into the tree.
        let answer = tree.posterior_in(&mut work, &evidence).expect("possible evidence");
        compared += compare(&label, &network, case, &answer);
        let built_in = JunctionTree::compile_with_evidence(&network, &evidence).expect("possible evidence");
        let answer = built_in.posterior(&Evidence::new()).expect("possible evidence");
        compared += compare(&format!("{label}, built in"), &network, case, &answer);
    }
    assert_eq!(cases.len(), known.cases, "{name}: cases");
    assert_eq!(compared, 2 * known.marginals, "{name}: marginals compared");

    let impossible = fixture["impossible"].as_array().expect("impossible cases");
    assert_eq!(impossible.len(), known.impossible, "{name}: impossible cases");
    for case in impossible {
        conflict_is_smallest(name, &network, &tree, case);
    }
}

/// Compares one answer with those of the libraries. Returns the number of marginals compared.
fn compare(label: &str, network: &Network, case: &Value, answer: &Posterior) -> usize {
    let p_evidence = number(&case["p_evidence"]);
    close(&format!("{label}: P(e)"), (answer.log_p_evidence() - p_evidence.ln()).exp(), 1.0, EXACT);
    let posteriors = case["posteriors"].as_object().expect("posteriors");
    for (variable, states) in posteriors {
        let var = network.require(variable).expect("a variable");
        let states = states.as_object().expect("states");
        assert_eq!(states.len(), network.variable(var).cardinality(), "{label}: {variable}");
        for (state, expected) in states {
            let at = network.variable(var).state(state).expect("a state").index();
            let got = answer.marginal(var)[at];
            close(&format!("{label}: {variable} = {state}"), got, number(expected), EXACT);
        }
    }
    posteriors.len()
}

/// Checks that impossible evidence gives an error that names one of its smallest impossible subsets.
fn conflict_is_smallest(name: &str, network: &Network, tree: &JunctionTree, case: &Value) {
    let evidence = evidence(&case["evidence"]).on(network).expect("names of the network");
    let error = tree.posterior(&evidence).expect_err("impossible evidence");
    assert_eq!(JunctionTree::compile_with_evidence(network, &evidence).err(), Some(error.clone()));
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

fn evidence(value: &Value) -> EvidenceFile {
    EvidenceFile::from_json(&value.to_string()).expect("an evidence file")
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

macro_rules! networks {
    ($($name:ident: $cases:literal cases, $marginals:literal marginals, $impossible:literal impossible;)*) => {
        $(
            #[test]
            fn $name() {
                let known = Known { cases: $cases, marginals: $marginals, impossible: $impossible };
                agree(stringify!($name), &known);
            }
        )*
    };
}

networks! {
    asia: 24 cases, 128 marginals, 2 impossible;
    child: 20 cases, 348 marginals, 2 impossible;
    insurance: 20 cases, 488 marginals, 2 impossible;
    alarm: 20 cases, 688 marginals, 2 impossible;
    hailfinder: 20 cases, 1068 marginals, 2 impossible;
    hepar2: 20 cases, 1348 marginals, 0 impossible;
    win95pts: 20 cases, 1468 marginals, 2 impossible;
    water: 20 cases, 588 marginals, 2 impossible;
    andes: 3 cases, 625 marginals, 0 impossible;
    pigs: 3 cases, 1235 marginals, 0 impossible;
    barley: 3 cases, 134 marginals, 0 impossible;
    mildew: 3 cases, 97 marginals, 0 impossible;
    diabetes: 3 cases, 1157 marginals, 0 impossible;
    munin1: 3 cases, 446 marginals, 0 impossible;
    link: 2 cases, 1014 marginals, 0 impossible;
    munin: 3 cases, 2915 marginals, 0 impossible;
}
