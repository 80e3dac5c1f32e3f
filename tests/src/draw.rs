//! Random small networks full of zeros, with findings, for comparing ways to the same answer.

#![allow(missing_docs)]

use halfsplit_bayes::{Evidence, Network, NetworkBuilder, NoisyParent, VarId};
use proptest::prelude::*;

/// State names.
pub const NAMES: [&str; 4] = ["s0", "s1", "s2", "s3"];

/// How a variable is drawn. `noise` is read round and round for the numbers of its tables.
#[derive(Clone)]
pub struct Draft {
    states: usize,
    /// Bit i: variable i is a parent, if it comes before.
    parents: u8,
    noisy_max: bool,
    noise: Vec<u8>,
}

impl Draft {
    /// The `parents` are bits and the noise is written out, as a failed case prints them.
    pub fn new(states: usize, parents: u8, noisy_max: bool, noise: Vec<u8>) -> Self {
        Draft { states, parents, noisy_max, noise }
    }
}

impl std::fmt::Debug for Draft {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // On one line: sixty numbers of noise would bury the rest.
        let Draft { states, parents, noisy_max, noise } = self;
        write!(
            f,
            "Draft {{ states: {states}, parents: {parents:#b}, noisy_max: {noisy_max}, noise: vec!{noise:?} }}"
        )
    }
}

/// A finding: nothing, a state, or a likelihood.
#[derive(Debug, Clone)]
pub enum Clue {
    Nothing,
    State(usize),
    Likelihood([u8; 4]),
}

/// A network and findings on it.
#[derive(Debug, Clone)]
pub struct Case {
    /// The variables.
    pub drafts: Vec<Draft>,
    /// What is known of each.
    pub clues: Vec<Clue>,
    /// Which findings are built in when the tree is compiled.
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

/// Two to seven variables of two to four states.
pub fn small() -> impl Strategy<Value = Case> {
    case(prop::collection::vec(draft(2_usize..=4, u8::MAX), 2..=7))
}

/// Roots under a noisy-MAX whose table would have 243 entries or more, above the 128 up to which the
/// rule is written out; then a second rule on some of the same parents and on the first, and a child.
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

/// A distribution: a third of the entries zero, the others at least 0.04 of the largest.
fn distribution(noise: &mut impl Iterator<Item = u8>, states: usize) -> Vec<f64> {
    let mut weights: Vec<f64> =
        noise.take(states).map(|b| if b < 85 { 0.0 } else { f64::from(b - 75) }).collect();
    if weights.iter().all(|w| *w == 0.0) {
        weights[0] = 1.0;
    }
    let sum: f64 = weights.iter().sum();
    weights.into_iter().map(|w| w / sum).collect()
}

pub fn network(drafts: &[Draft]) -> Network {
    let mut b = NetworkBuilder::new();
    let mut vars: Vec<VarId> = Vec::new();
    for (i, draft) in drafts.iter().enumerate() {
        let name = format!("v{i}");
        let states = &NAMES[..draft.states];
        let parents: Vec<VarId> =
            vars.iter().enumerate().filter(|(p, _)| draft.parents >> p & 1 == 1).map(|(_, v)| *v).collect();
        // A written table of many parents would only be slow to draw.
        let parents = if draft.noisy_max { &parents[..] } else { &parents[..parents.len().min(3)] };
        // One more number per round, so that the rows differ.
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

/// All the findings of a case, those that are built in, and the others.
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
