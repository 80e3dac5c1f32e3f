//! Compares the junction tree with enumeration of the joint distribution, on random small networks with
//! many zeros.
//!
//! `posterior_by_enumeration` sums over every combination of states. It shares only the network with the
//! junction tree. The two differ if there is a mistake in the elimination order, in absorbing evidence, in
//! propagation or in the factors of a noisy-MAX.

use halfsplit::precision::EXACT;
use halfsplit_bayes::{
    Evidence, InferenceError, JunctionTree, Network, NetworkBuilder, NoisyParent, Posterior, VarId,
    posterior_by_enumeration, predictions, smallest_conflict,
};
use halfsplit_tests::draw::{Case, NAMES, findings, large_rule, network, small};
use proptest::prelude::*;
use proptest::test_runner::TestCaseResult;

fn same(network: &Network, got: &Posterior, expected: &Posterior) -> TestCaseResult {
    let (a, b) = (got.log_p_evidence(), expected.log_p_evidence());
    prop_assert!((a - b).abs() < EXACT, "log P(e): {a} against {b}");
    for (var, variable) in network.iter() {
        for (x, y) in got.marginal(var).iter().zip(expected.marginal(var)) {
            prop_assert!((x - y).abs() < EXACT, "{}: {x} against {y}", variable.name());
        }
    }
    Ok(())
}

fn is_possible(network: &Network, evidence: &Evidence) -> bool {
    posterior_by_enumeration(network, evidence).is_ok()
}

/// Whether every subset of the evidence with fewer findings than `size` is possible. Tries every subset.
fn all_smaller_are_possible(network: &Network, evidence: &Evidence, size: usize) -> bool {
    let vars = evidence.variables();
    (0..1_u32 << vars.len()).filter(|bits| (bits.count_ones() as usize) < size).all(|bits| {
        let part: Vec<VarId> =
            vars.iter().enumerate().filter(|(i, _)| bits >> i & 1 == 1).map(|(_, v)| *v).collect();
        is_possible(network, &evidence.restricted_to(&part))
    })
}

/// Compares a junction tree restricted to the states that the findings allow with enumeration, which gets
/// the same restriction as evidence.
fn cut_agrees(network: &Network, all: &Evidence) -> TestCaseResult {
    let mut open = Evidence::new();
    let mut allowed = Vec::new();
    for (var, likelihood) in all.iter() {
        let mask: Vec<bool> = likelihood.iter().map(|l| *l > 0.0).collect();
        let zero_or_one = mask.iter().map(|m| f64::from(u8::from(*m))).collect();
        open.set_likelihood(network, var, zero_or_one).expect("a likelihood");
        allowed.push((var, mask));
    }
    let tree = JunctionTree::compile(network).expect("a small tree");
    let cut = tree.restrict(&allowed);
    match posterior_by_enumeration(network, &open) {
        Ok(expected) => same(network, &cut.posterior(&Evidence::new()).expect("possible"), &expected),
        Err(_) => {
            prop_assert!(!cut.propagate(&mut cut.workspace(), &Evidence::new()));
            Ok(())
        }
    }
}

/// Compares the prediction for every possible next finding with enumeration given that finding.
fn sweep_agrees(network: &Network, all: &Evidence, expected: &Posterior) -> TestCaseResult {
    let outlooks = predictions(network, all).expect("possible evidence");
    let leaves = network.iter().filter(|(id, _)| network.is_leaf(*id) && all.get(*id).is_none());
    prop_assert_eq!(outlooks.len(), leaves.map(|(_, v)| v.cardinality()).sum::<usize>());
    for outlook in outlooks {
        let p = expected.marginal(outlook.leaf)[outlook.state.index()];
        prop_assert!((outlook.p - p).abs() < EXACT, "{} against {p}", outlook.p);
        let mut with = all.clone();
        let state = &network.variable(outlook.leaf).states()[outlook.state.index()];
        with.observe(network, outlook.leaf, state).expect("a state");
        let Ok(then) = posterior_by_enumeration(network, &with) else {
            prop_assert!(outlook.roots.is_empty());
            continue;
        };
        let roots = network.iter().filter(|(_, v)| v.parents().is_empty()).count();
        prop_assert_eq!(outlook.roots.len(), roots);
        for (root, marginal) in &outlook.roots {
            for (x, y) in marginal.iter().zip(then.marginal(*root)) {
                prop_assert!((x - y).abs() < EXACT, "{x} against {y}");
            }
        }
    }
    Ok(())
}

fn agrees(case: &Case) -> TestCaseResult {
    let network = network(&case.drafts);
    let (all, built_in, rest) = findings(case, &network);
    cut_agrees(&network, &all)?;
    let answers = || {
        let tree = JunctionTree::compile(&network).expect("a small tree");
        let halves =
            JunctionTree::compile_with_evidence(&network, &built_in).and_then(|t| t.posterior(&rest));
        let whole =
            JunctionTree::compile_with_evidence(&network, &all).and_then(|t| t.posterior(&Evidence::new()));
        [("propagated", tree.posterior(&all)), ("half built in", halves), ("built in", whole)]
    };
    match posterior_by_enumeration(&network, &all) {
        Ok(expected) => {
            for (how, got) in answers() {
                let got = got.map_err(|e| TestCaseError::fail(format!("{how}: {e}")))?;
                same(&network, &got, &expected)?;
            }
            prop_assert_eq!(smallest_conflict(&network, &all), Ok(Vec::new()));
            // Only a quarter of the cases: this check enumerates the joint distribution many times.
            if case.built_in.is_multiple_of(4) {
                sweep_agrees(&network, &all, &expected)?;
            }
        }
        Err(InferenceError::Impossible { .. }) => {
            let conflict = smallest_conflict(&network, &all).expect("a small network");
            prop_assert!(!is_possible(&network, &all.restricted_to(&conflict)), "{conflict:?} is possible");
            prop_assert!(all_smaller_are_possible(&network, &all, conflict.len()), "{conflict:?}");
            // The half of the evidence that is built in may be impossible by itself. The error then
            // reports a conflict within that half.
            let about = if is_possible(&network, &built_in) { &all } else { &built_in };
            let halves = smallest_conflict(&network, about).expect("a small network");
            for (how, got) in answers() {
                let conflict = if how == "half built in" { &halves } else { &conflict };
                let words: Vec<String> = conflict.iter().map(|v| all.describe(&network, *v)).collect();
                let impossible = InferenceError::Impossible { conflict: words };
                prop_assert_eq!(got.err(), Some(impossible), "{}", how);
            }
        }
        Err(error) => prop_assert!(false, "{error}"),
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn small_networks(case in small()) {
        agrees(&case)?;
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn rules_too_large_to_write_out(case in large_rule()) {
        agrees(&case)?;
    }
}

#[test]
fn the_draws_are_worth_it() {
    // Checks that the strategies draw enough of the cases they are for: impossible evidence, noisy-MAX
    // rules with two or more parents, and zeros. The draws come from a fixed seed.
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let (mut impossible, mut rules, mut possible) = (0, 0, 0);
    for _ in 0..200 {
        let case = small().new_tree(&mut runner).expect("a draw").current();
        let network = network(&case.drafts);
        let (all, ..) = findings(&case, &network);
        if is_possible(&network, &all) {
            possible += 1
        } else {
            impossible += 1
        }
        let is_rule = |v: &halfsplit_bayes::Variable| matches!(v.cpt(), halfsplit_bayes::Cpt::NoisyMax(_));
        rules += network.iter().filter(|(_, v)| is_rule(v)).count();
    }
    assert!(possible >= 50 && impossible >= 30 && rules >= 100, "{possible} {impossible} {rules}");
}

#[test]
fn a_later_finding_may_contradict_what_was_built_in() {
    let mut b = NetworkBuilder::new();
    let a = b.add("a", ["n", "y"], &[], vec![0.4, 0.6]).expect("a table");
    let copy = b.deterministic("copy", ["n", "y"], &[a], |s| s[0]).expect("a table");
    let network = b.build().expect("a network");
    let set = |var, state| {
        let mut evidence = Evidence::new();
        evidence.observe(&network, var, state).expect("a state");
        evidence
    };
    let tree = JunctionTree::compile_with_evidence(&network, &set(a, "n")).expect("possible");
    for later in [set(a, "y"), set(copy, "y")] {
        assert!(matches!(tree.posterior(&later), Err(InferenceError::Impossible { .. })));
    }
    let answer = tree.posterior(&set(copy, "n")).expect("possible");
    assert!((answer.log_p_evidence() - 0.4_f64.ln()).abs() < 1e-12);
}

#[test]
fn findings_far_below_the_smallest_number_are_no_contradiction() {
    // Likelihoods are densities and may have any magnitude; only their ratios matter. The product of six
    // likelihoods of 1e-100 on variables of one clique is 1e-600, below the smallest double.
    let mut b = NetworkBuilder::new();
    let parents: Vec<VarId> =
        (0..5).map(|i| b.add(format!("p{i}"), ["n", "y"], &[], vec![0.5, 0.5]).expect("a table")).collect();
    let sum = b.deterministic("any", ["n", "y"], &parents, |s| usize::from(s.contains(&1))).expect("a table");
    let network = b.build().expect("a network");
    let mut evidence = Evidence::new();
    for var in parents.iter().chain([&sum]) {
        evidence.set_likelihood(&network, *var, vec![1e-100, 3e-100]).expect("a likelihood");
    }
    let mut plain = Evidence::new();
    for var in parents.iter().chain([&sum]) {
        plain.set_likelihood(&network, *var, vec![1.0, 3.0]).expect("a likelihood");
    }
    let expected = posterior_by_enumeration(&network, &plain).expect("possible");
    let tree = JunctionTree::compile(&network).expect("a tree");
    let given = JunctionTree::compile_with_evidence(&network, &evidence).expect("a tree");
    for got in [tree.posterior(&evidence), given.posterior(&Evidence::new())] {
        let got = got.expect("possible");
        let shift = 600.0 * 10_f64.ln();
        assert!((got.log_p_evidence() + shift - expected.log_p_evidence()).abs() < 1e-9);
        for (var, _) in network.iter() {
            assert!((got.marginal(var)[1] - expected.marginal(var)[1]).abs() < EXACT);
        }
    }
}

#[test]
fn a_rule_keeps_a_zero_that_its_rows_say() {
    // Three thirds, each written slightly too small, sum to .9999993, which is allowed. The level with
    // probability zero must not get the missing probability.
    let mut b = NetworkBuilder::new();
    let parents: Vec<NoisyParent> = (0..4)
        .map(|i| {
            let row = vec![0.333_333_1, 0.333_333_1, 0.333_333_1, 0.0];
            let parent = b.add(format!("p{i}"), NAMES, &[], vec![0.25; 4]).expect("a table");
            NoisyParent { parent, levels: vec![row; 4] }
        })
        .collect();
    let max = b.noisy_max("max", &NAMES, &parents).expect("a rule");
    let network = b.build().expect("a network");
    let mut evidence = Evidence::new();
    evidence.observe(&network, max, "s3").expect("a state");
    let tree = JunctionTree::compile(&network).expect("a tree");
    assert!(matches!(tree.posterior(&evidence), Err(InferenceError::Impossible { .. })));
    assert!(matches!(posterior_by_enumeration(&network, &evidence), Err(InferenceError::Impossible { .. })));
}
