//! Random small networks with many zero probabilities, and random evidence on them. Tests use them to compare
//! algorithms that must agree.

#![allow(missing_docs)]

use halfsplit_bayes::{Evidence, Network, NetworkBuilder, NoisyParent, VarId};
use proptest::prelude::*;

/// State names.
pub const NAMES: [&str; 4] = ["s0", "s1", "s2", "s3"];

/// A random description of one variable, from which [`network`] builds its table.
#[derive(Clone)]
pub struct Draft {
    states: usize,
    /// Bit i is set if variable i is a parent. Bits of this variable and of later ones are ignored.
    parents: u8,
    noisy_max: bool,
    /// The random bytes behind the table's entries. They repeat when the table needs more.
    noise: Vec<u8>,
}

impl Draft {
    /// Builds a draft from the values that a failed test prints: `parents` as bits, `noise` in full.
    pub fn new(states: usize, parents: u8, noisy_max: bool, noise: Vec<u8>) -> Self {
        Draft { states, parents, noisy_max, noise }
    }
}

impl std::fmt::Debug for Draft {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // One line: `{:#?}` would print each of the 61 noise bytes on a line of its own.
        let Draft { states, parents, noisy_max, noise } = self;
        write!(
            f,
            "Draft {{ states: {states}, parents: {parents:#b}, noisy_max: {noisy_max}, noise: vec!{noise:?} }}"
        )
    }
}

/// The evidence on one variable: none, an observed state, or a likelihood.
#[derive(Debug, Clone)]
pub enum Clue {
    Nothing,
    State(usize),
    Likelihood([u8; 4]),
}

/// A network and the evidence on it.
#[derive(Debug, Clone)]
pub struct Case {
    /// One draft for each variable.
    pub drafts: Vec<Draft>,
    /// The evidence on each variable, in the same order.
    pub clues: Vec<Clue>,
    /// Bit i is set if the evidence on variable i is compiled into the tree.
    pub built_in: u8,
}

fn draft(states: impl Strategy<Value = usize>, most_parents: u8) -> impl Strategy<Value = Draft> {
    (states, 0..=most_parents, prop::bool::weighted(0.4), prop::collection::vec(any::<u8>(), 61))
        .prop_map(|(states, parents, noisy_max, noise)| Draft { states, parents, noisy_max, noise })
}

fn clue() -> impl Strategy<Value = Clue> {
    prop_oneof![
        2 => Just(Clue::Nothing),
        3 => (0_usize..4).prop_map(Clue::State),
        1 => any::<[u8; 4]>().prop_map(Clue::Likelihood),
    ]
}

fn case(drafts: impl Strategy<Value = Vec<Draft>>) -> impl Strategy<Value = Case> {
    (drafts, prop::collection::vec(clue(), 7), any::<u8>()).prop_map(|(drafts, clues, built_in)| Case {
        drafts,
        clues,
        built_in,
    })
}

/// Returns a strategy for networks of two to seven variables with two to four states each.
pub fn small() -> impl Strategy<Value = Case> {
    case(prop::collection::vec(draft(2_usize..=4, u8::MAX), 2..=7))
}

/// Returns a strategy for networks with a large noisy-MAX node.
///
/// The full table of the node has at least 243 entries. The engine expands a noisy-MAX node into a table
/// only up to 128 entries. A second noisy-MAX node may share parents with the first and have the first as a
/// parent. A last variable may be a child of both.
pub fn large_rule() -> impl Strategy<Value = Case> {
    let root = || draft(3_usize..=4, 0);
    let rule = |states| draft(states, 0).prop_map(|d| Draft { noisy_max: true, parents: u8::MAX, ..d });
    let second = draft(2_usize..=3, u8::MAX).prop_map(|d| Draft { noisy_max: true, ..d });
    let child = draft(2_usize..=2, 0b11_0000);
    case(
        (root(), root(), root(), root(), rule(3_usize..=4), second, child)
            .prop_map(|(a, b, c, d, rule, second, child)| vec![a, b, c, d, rule, second, child]),
    )
}

/// Returns a distribution over `states`. About a third of the entries are zero; the others are at least 0.04
/// of the largest.
fn distribution(noise: &mut impl Iterator<Item = u8>, states: usize) -> Vec<f64> {
    let mut weights: Vec<f64> =
        noise.take(states).map(|b| if b < 85 { 0.0 } else { f64::from(b - 75) }).collect();
    if weights.iter().all(|w| *w == 0.0) {
        weights[0] = 1.0;
    }
    let sum: f64 = weights.iter().sum();
    weights.into_iter().map(|w| w / sum).collect()
}

/// Builds the network that the drafts describe.
pub fn network(drafts: &[Draft]) -> Network {
    let mut b = NetworkBuilder::new();
    let mut vars: Vec<VarId> = Vec::new();
    for (i, draft) in drafts.iter().enumerate() {
        let name = format!("v{i}");
        let states = &NAMES[..draft.states];
        let parents: Vec<VarId> =
            vars.iter().enumerate().filter(|(p, _)| draft.parents >> p & 1 == 1).map(|(_, v)| *v).collect();
        // At most three parents for a full table: a larger one takes long to draw and tests nothing more.
        let parents = if draft.noisy_max { &parents[..] } else { &parents[..parents.len().min(3)] };
        // The offset added to each byte changes, so that the rows differ although the bytes repeat.
        let mut step = 0_u8;
        let mut noise = draft.noise.iter().cycle().map(|b| {
            step = step.wrapping_add(1);
            b.wrapping_add(step.wrapping_mul(step >> 3))
        });
        let var = if draft.noisy_max && parents.len() >= 2 {
            let parents: Vec<NoisyParent> = parents
                .iter()
                .map(|p| NoisyParent {
                    parent: *p,
                    levels: (0..b.cardinality(*p)).map(|_| distribution(&mut noise, draft.states)).collect(),
                })
                .collect();
            b.noisy_max(&name, states, &parents)
        } else {
            let rows: usize = parents.iter().map(|p| b.cardinality(*p)).product();
            let table = (0..rows).flat_map(|_| distribution(&mut noise, draft.states)).collect();
            b.add(name, states.to_vec(), parents, table)
        };
        vars.push(var.expect("a valid draft"));
    }
    b.build().expect("a network")
}

/// Returns the evidence of a case three times: all of it, the part compiled into the tree, and the rest.
pub fn findings(case: &Case, network: &Network) -> (Evidence, Evidence, Evidence) {
    let (mut all, mut built_in, mut rest) = (Evidence::new(), Evidence::new(), Evidence::new());
    for ((var, variable), (i, clue)) in network.iter().zip(case.clues.iter().enumerate()) {
        let states = variable.cardinality();
        let likelihood: Vec<f64> = match clue {
            Clue::Nothing => continue,
            Clue::State(s) => (0..states).map(|i| f64::from(u8::from(i == s % states))).collect(),
            Clue::Likelihood(l) => {
                let l: Vec<f64> =
                    l[..states].iter().map(|b| if *b < 85 { 0.0 } else { f64::from(*b) / 100.0 }).collect();
                if l.iter().all(|x| *x == 0.0) { vec![1.0; states] } else { l }
            }
        };
        let half = if case.built_in >> i & 1 == 1 { &mut built_in } else { &mut rest };
        for evidence in [&mut all, half] {
            evidence.set_likelihood(network, var, likelihood.clone()).expect("a likelihood");
        }
    }
    (all, built_in, rest)
}
