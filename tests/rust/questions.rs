//! Compares joint marginals, most probable explanations, derivatives and propagation in lanes with the full
//! joint distribution, on small random networks with many zeros.

use halfsplit::precision::EXACT;
use halfsplit_bayes::{
    Cpt, Evidence, InferenceError, JunctionTree, Network, NetworkBuilder, ParameterDerivatives, StateId,
    VarId, derivatives, most_probable_explanations, posterior_by_enumeration,
};
use halfsplit_tests::draw::{Case, Clue, Draft, findings, large_rule, network, small};
use proptest::prelude::*;
use proptest::test_runner::TestCaseResult;

/// Every combination of states with its joint probability with the evidence, computed by brute force.
fn joints(network: &Network, evidence: &Evidence) -> Vec<(Vec<usize>, f64)> {
    let cards: Vec<usize> = network.iter().map(|(_, v)| v.cardinality()).collect();
    let mut all = Vec::new();
    let mut row = vec![0; cards.len()];
    loop {
        let p: f64 = network
            .iter()
            .map(|(id, v)| {
                let parents: Vec<usize> = v.parents().iter().map(|p| row[p.index()]).collect();
                v.probability(&parents, row[id.index()])
                    * evidence.get(id).map_or(1.0, |l| l[row[id.index()]])
            })
            .product();
        all.push((row.clone(), p));
        let Some(axis) = (0..cards.len()).rev().find(|i| row[*i] + 1 < cards[*i]) else { return all };
        row[axis] += 1;
        row[axis + 1..].fill(0);
    }
}

fn joint_marginals(network: &Network, evidence: &Evidence, picked: u8) -> TestCaseResult {
    let all = joints(network, evidence);
    let p_evidence: f64 = all.iter().map(|(_, p)| p).sum();
    let mut vars: Vec<VarId> =
        network.iter().map(|(id, _)| id).filter(|id| picked >> id.index() & 1 == 1).take(4).collect();
    // The axes follow the order of `vars`, not that of the network.
    vars.reverse();
    let got = JunctionTree::compile(network).and_then(|tree| tree.joint(evidence, &vars));
    if p_evidence == 0.0 {
        let is_impossible = matches!(got, Err(InferenceError::Impossible { .. }));
        prop_assert!(is_impossible);
        return Ok(());
    }
    let got = got.map_err(|e| TestCaseError::fail(e.to_string()))?;
    let mut expected = ndarray::ArrayD::<f64>::zeros(got.raw_dim());
    for (row, p) in &all {
        let at: Vec<usize> = vars.iter().map(|v| row[v.index()]).collect();
        expected[at.as_slice()] += p / p_evidence;
    }
    for (x, y) in got.iter().zip(&expected) {
        prop_assert!((x - y).abs() < EXACT, "{x} against {y}");
    }
    Ok(())
}

fn best_explanations(network: &Network, evidence: &Evidence) -> TestCaseResult {
    const K: usize = 12;
    let mut all: Vec<(Vec<usize>, f64)> =
        joints(network, evidence).into_iter().filter(|(_, p)| *p > 0.0).collect();
    all.sort_by(|a, b| b.1.total_cmp(&a.1));
    let got = most_probable_explanations(network, evidence, K);
    if all.is_empty() {
        let is_impossible = matches!(got, Err(InferenceError::Impossible { .. }));
        prop_assert!(is_impossible);
        return Ok(());
    }
    let got = got.map_err(|e| TestCaseError::fail(e.to_string()))?;
    prop_assert_eq!(got.len(), all.len().min(K));
    for (i, explanation) in got.iter().enumerate() {
        // Ties may have any order, so the test looks up the configuration and does not compare its rank.
        let states: Vec<usize> = explanation.states().iter().map(|s| s.index()).collect();
        let own = all.iter().find(|(row, _)| *row == states);
        prop_assert!(own.is_some(), "{states:?} is impossible");
        prop_assert!((explanation.log_p() - own.map_or(0.0, |o| o.1).ln()).abs() < EXACT);
        prop_assert!((explanation.log_p() - all[i].1.ln()).abs() < EXACT, "rank {i}");
        prop_assert!(got[..i].iter().all(|other| other.states() != explanation.states()), "{i} came twice");
    }
    Ok(())
}

/// Compares the derivatives with finite differences: P(e) with an entry raised by 1, minus P(e). These are
/// exact except for rounding, because P(e) is linear in every entry.
fn derivatives_by_brute_force(network: &Network, evidence: &Evidence) -> TestCaseResult {
    let all = joints(network, evidence);
    let p_evidence: f64 = all.iter().map(|(_, p)| p).sum();
    if p_evidence == 0.0 {
        let is_impossible = matches!(derivatives(network, evidence), Err(InferenceError::Impossible { .. }));
        prop_assert!(is_impossible);
        return Ok(());
    }
    let got = derivatives(network, evidence).map_err(|e| TestCaseError::fail(e.to_string()))?;
    prop_assert!((got.log_p_evidence() - p_evidence.ln()).abs() < EXACT);
    for (var, variable) in network.iter() {
        // Probability of a row of the joint distribution, without the variable's own factor.
        let without = |row: &[usize]| -> f64 {
            network
                .iter()
                .map(|(id, v)| {
                    let parents: Vec<usize> = v.parents().iter().map(|p| row[p.index()]).collect();
                    let own = if id == var { 1.0 } else { v.probability(&parents, row[id.index()]) };
                    own * evidence.get(id).map_or(1.0, |l| l[row[id.index()]])
                })
                .product()
        };
        match (got.of(var), variable.cpt()) {
            (ParameterDerivatives::Table(by_entry), Cpt::Table(table)) => {
                let mut expected = ndarray::ArrayD::<f64>::zeros(table.raw_dim());
                for (row, _) in &all {
                    let at: Vec<usize> =
                        variable.parents().iter().chain([&var]).map(|v| row[v.index()]).collect();
                    expected[at.as_slice()] += without(row) / p_evidence;
                }
                for (x, y) in by_entry.iter().zip(&expected) {
                    prop_assert!((x - y).abs() < EXACT * y.max(1.0), "{}: {x} against {y}", variable.name());
                }
            }
            (ParameterDerivatives::NoisyMax(by_push), Cpt::NoisyMax(rule)) => {
                for (parent, by_state) in by_push.iter().enumerate() {
                    for (state, by_level) in by_state.iter().enumerate() {
                        for (level, got) in by_level.iter().enumerate() {
                            // d P(Y <= t) / d F_parent(t) is the product of the F(t) of the other parents.
                            let others = |row: &[usize]| -> f64 {
                                let pushes =
                                    variable.parents().iter().enumerate().filter(|(i, _)| *i != parent);
                                pushes.map(|(i, p)| rule.at_most(i, row[p.index()], level)).product()
                            };
                            let expected: f64 = all
                                .iter()
                                .filter(|(row, _)| row[variable.parents()[parent].index()] == state)
                                .map(|(row, _)| {
                                    let own = row[var.index()];
                                    let sign = f64::from(u8::from(own == level))
                                        - f64::from(u8::from(own == level + 1));
                                    sign * others(row) * without(row) / p_evidence
                                })
                                .sum();
                            prop_assert!(
                                (got - expected).abs() < EXACT * expected.abs().max(1.0),
                                "{}: {got} against {expected}",
                                variable.name()
                            );
                        }
                    }
                }
            }
            _ => prop_assert!(false, "{}: the wrong kind", variable.name()),
        }
    }
    Ok(())
}

/// Compares rounds of four queries, computed side by side in one reused workspace, with each query computed
/// alone.
fn lanes_and_what_is_left_over(network: &Network, all: &Evidence) -> TestCaseResult {
    let tree = JunctionTree::compile(network).expect("a small tree");
    let vars = all.variables();
    let mut work = tree.lane_workspace::<4>();
    let mut one_by_one = tree.workspace();
    for round in 0..4_usize {
        let questions: Vec<Evidence> = (0..4)
            .map(|lane| {
                let keep: Vec<VarId> = vars
                    .iter()
                    .enumerate()
                    .filter(|(i, _)| (i + lane * round) % 3 != 0)
                    .map(|(_, v)| *v)
                    .collect();
                all.restricted_to(&keep)
            })
            .collect();
        // Round 2 asks about only half of the variables.
        let asked: Vec<VarId> =
            network.iter().map(|(id, _)| id).filter(|id| round != 2 || id.index() % 2 == 0).collect();
        let targets = tree.targets(&asked);
        let lanes: Vec<&Evidence> = questions.iter().collect();
        let possible = tree.propagate_lanes(&mut work, &lanes, (round == 2).then_some(&targets));
        for (lane, question) in questions.iter().enumerate() {
            let fresh = posterior_by_enumeration(network, question);
            prop_assert_eq!(possible[lane], fresh.is_ok());
            prop_assert_eq!(tree.propagate(&mut one_by_one, question), fresh.is_ok());
            let Ok(fresh) = fresh else { continue };
            let log_p = tree.lane_log_p_evidence(&work, lane);
            prop_assert!((log_p - fresh.log_p_evidence()).abs() < EXACT, "{log_p}");
            for var in &asked {
                let (lane, alone) = (tree.lane_marginal(&work, lane, *var), tree.marginal(&one_by_one, *var));
                for ((x, y), z) in lane.iter().zip(fresh.marginal(*var)).zip(&alone) {
                    prop_assert!((x - y).abs() < EXACT, "{x} against {y}");
                    prop_assert!((z - y).abs() < EXACT, "{z} against {y}");
                }
            }
        }
    }
    Ok(())
}

fn everything(case: &Case) -> TestCaseResult {
    let network = network(&case.drafts);
    let (all, ..) = findings(case, &network);
    joint_marginals(&network, &all, case.built_in)?;
    best_explanations(&network, &all)?;
    derivatives_by_brute_force(&network, &all)?;
    lanes_and_what_is_left_over(&network, &all)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn small_networks(case in small()) {
        everything(&case)?;
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn rules_with_thresholds(case in large_rule()) {
        everything(&case)?;
    }
}

/// Findings that exclude each other must have probability 0. In this case, drawn at random once, the terms
/// that cancel meet below the root of the tree, and the other findings leave only their rounding error.
#[test]
fn a_rounding_is_no_chance_wherever_it_arises() {
    let drawn = [
        (
            3,
            0b0,
            false,
            "0 157 143 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 9 248 85 156",
        ),
        (
            4,
            0b0,
            false,
            "232 48 84 15 173 31 235 74 167 200 144 136 52 187 241 147 95 87 74 82 31 229 87 251 147 36 188 238 188 47 131 209 196 241 40 6 86 99 90 126 161 244 104 66 15 104 40 180 223 166 23 113 120 9 53 147 45 20 203 148 57",
        ),
        (
            3,
            0b0,
            false,
            "138 206 191 115 195 207 232 218 139 83 34 135 39 166 112 246 32 243 222 210 153 89 228 221 85 237 21 41 93 227 239 89 155 97 124 168 153 159 222 94 142 247 116 218 78 0 197 81 127 15 52 205 36 40 155 122 32 123 11 89 111",
        ),
        (
            4,
            0b0,
            false,
            "50 189 204 144 38 19 217 51 221 82 200 2 28 252 85 136 56 218 124 197 197 162 166 15 47 249 67 45 117 167 77 173 37 144 66 176 232 4 39 88 57 94 54 183 103 176 71 45 216 202 160 51 234 68 191 72 160 222 211 6 153",
        ),
        (
            3,
            0b11111111,
            true,
            "74 105 98 87 93 27 35 127 34 79 95 21 242 0 169 129 220 63 150 56 199 171 153 254 69 137 9 41 83 87 253 139 148 74 96 67 241 67 103 155 158 85 60 103 209 141 94 198 75 171 23 217 232 12 122 121 185 146 177 241 132",
        ),
        (
            3,
            0b11111011,
            true,
            "144 178 173 134 49 198 146 36 77 142 144 185 135 62 92 74 74 242 190 81 140 200 227 125 226 209 178 103 107 103 108 136 199 70 246 126 245 194 246 244 130 65 185 162 148 77 208 122 101 223 173 212 106 128 79 139 249 74 211 195 159",
        ),
        (
            2,
            0b101101,
            true,
            "124 198 235 33 120 111 141 43 61 16 141 104 97 122 34 164 176 191 148 100 230 52 144 65 87 130 64 156 225 73 231 131 68 40 253 110 99 187 192 5 9 84 13 130 73 150 135 118 55 107 94 80 137 193 193 95 245 228 34 200 140",
        ),
    ];
    let drafts = drawn.map(|(states, parents, noisy_max, noise)| {
        let noise = noise.split(' ').map(|n| n.parse().expect("a number below 256")).collect();
        Draft::new(states, parents, noisy_max, noise)
    });
    let state = |s| Clue::State(s);
    let clues = vec![Clue::Nothing, Clue::Nothing, state(3), Clue::Nothing, state(2), state(2), state(2)];
    let case = Case { drafts: drafts.to_vec(), clues, built_in: 9 };
    let (network, all) = (network(&case.drafts), findings(&case, &network(&case.drafts)).0);
    assert_eq!(joints(&network, &all).iter().map(|(_, p)| p).sum::<f64>(), 0.0);
    everything(&case).expect("impossible, whatever is asked");
}

#[test]
fn witnesses_who_contradict_each_other() {
    // Each of two states has 300 witnesses at 1000 to 1. Both products are about 1e-900, so the odds are
    // even. The 601st witness decides.
    let mut b = NetworkBuilder::new();
    let cause = b.add("cause", ["n", "y"], &[], vec![0.5, 0.5]).expect("a table");
    let witnesses: Vec<VarId> = (0..601)
        .map(|i| {
            let table = vec![0.999, 0.001, 0.001, 0.999];
            b.add(format!("w{i}"), ["n", "y"], &[cause], table).expect("a table")
        })
        .collect();
    let network = b.build().expect("a network");
    let tree = JunctionTree::compile(&network).expect("a tree");
    let mut evidence = Evidence::new();
    for (i, witness) in witnesses.iter().enumerate().take(600) {
        evidence.observe(&network, *witness, if i % 2 == 0 { "n" } else { "y" }).expect("a state");
    }
    let log_p = 300.0 * (0.999_f64.ln() + 0.001_f64.ln());
    let even = tree.posterior(&evidence).expect("possible");
    assert!((even.marginal(cause)[1] - 0.5).abs() < EXACT);
    assert!((even.log_p_evidence() - log_p).abs() < 1e-12 * log_p.abs());
    evidence.observe(&network, witnesses[600], "y").expect("a state");
    let decided = tree.posterior(&evidence).expect("possible");
    assert!((decided.marginal(cause)[1] - 0.999).abs() < EXACT);
    assert!((decided.marginal(witnesses[600])[1] - 1.0).abs() < EXACT);
    let best = most_probable_explanations(&network, &evidence, 2).expect("possible");
    assert_eq!(best[0].state(cause), StateId::new(1));
    assert!((best[0].log_p() - best[1].log_p() - 999.0_f64.ln()).abs() < 1e-9);
}

#[test]
fn a_variable_named_twice_has_no_joint_with_itself() {
    let mut b = NetworkBuilder::new();
    let coin = b.add("coin", ["heads", "tails"], &[], vec![0.5, 0.5]).expect("a table");
    let tree = JunctionTree::compile(&b.build().expect("a network")).expect("a tree");
    let error = tree.joint(&Evidence::new(), &[coin, coin]).expect_err("named twice");
    assert_eq!(error.to_string(), "\"coin\" is named twice");
    let nothing_asked = tree.joint(&Evidence::new(), &[]).expect("an empty question");
    assert_eq!(nothing_asked.iter().copied().collect::<Vec<_>>(), [1.0]);
}
