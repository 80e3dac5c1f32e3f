//! Rewrites a network without noisy-MAX rules: a rule with many parents becomes a series of small tables that
//! take the maximum step by step. The joint distribution of the original variables stays the same.

use std::str::FromStr;

use halfsplit_bayes::{
    Cpt, Evidence, EvidenceFile, Finding, Network, NetworkFile, NoisyMax, Variable, VariableFile,
};

/// Most parents of a rule that is written out as one table.
const WRITTEN: usize = 2;

/// The order in which the maximum is taken.
#[derive(Clone, Copy)]
pub(crate) enum Shape {
    /// One parent after another: the maximum so far and one more parent.
    Chain,
    /// The chain from the last parent to the first.
    Backwards,
    /// Parents in pairs, then the maxima in pairs, and so on.
    Tree,
}

impl FromStr for Shape {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text {
            "chain" => Ok(Shape::Chain),
            "backwards" => Ok(Shape::Backwards),
            "tree" => Ok(Shape::Tree),
            other => Err(format!("\"{other}\" is not chain, backwards or tree")),
        }
    }
}

/// A contribution to the maximum: its name and, for each of its states, the cumulative probability of each level.
struct Push {
    name: String,
    at_most: Vec<Vec<f64>>,
}

impl Push {
    /// The contribution of an intermediate maximum.
    fn maximum(name: String, levels: usize) -> Self {
        let row = |state: usize| (0..levels).map(|l| f64::from(u8::from(state <= l))).collect();
        Push { name, at_most: (0..levels).map(row).collect() }
    }
}

/// The network as a file without rules.
pub(crate) fn written_out(network: &Network, shape: Shape) -> NetworkFile {
    let mut variables = Vec::new();
    for (_, v) in network.iter() {
        match v.cpt() {
            Cpt::NoisyMax(rule) if v.parents().len() > WRITTEN => {
                variables.extend(step_by_step(network, v, rule, shape));
            }
            _ => variables.push(one_table(network, v)),
        }
    }
    NetworkFile { variables }
}

fn one_table(network: &Network, v: &Variable) -> VariableFile {
    let parents: Vec<&Variable> = v.parents().iter().map(|p| network.variable(*p)).collect();
    let rows: usize = parents.iter().map(|p| p.cardinality()).product();
    let mut table = Vec::with_capacity(rows * v.cardinality());
    for row in 0..rows {
        let mut rest = row;
        let mut at = vec![0; parents.len()];
        for (place, parent) in parents.iter().enumerate().rev() {
            at[place] = rest % parent.cardinality();
            rest /= parent.cardinality();
        }
        table.extend((0..v.cardinality()).map(|s| v.probability(&at, s)));
    }
    VariableFile {
        name: v.name().to_owned(),
        states: v.states().to_vec(),
        parents: parents.iter().map(|p| p.name().to_owned()).collect(),
        table,
    }
}

fn step_by_step(network: &Network, v: &Variable, rule: &NoisyMax, shape: Shape) -> Vec<VariableFile> {
    let levels = v.cardinality();
    let mut pushes: Vec<Push> = v
        .parents()
        .iter()
        .enumerate()
        .map(|(place, p)| {
            let parent = network.variable(*p);
            let row = |state| (0..levels).map(|l| rule.at_most(place, state, l)).collect();
            Push { name: parent.name().to_owned(), at_most: (0..parent.cardinality()).map(row).collect() }
        })
        .collect();
    if matches!(shape, Shape::Backwards) {
        pushes.reverse();
    }
    let mut out = Vec::new();
    while pushes.len() > 1 {
        let last = pushes.len() == 2;
        let name =
            if last { v.name().to_owned() } else { format!("{}, maximum {}", v.name(), out.len() + 1) };
        let (a, b) = (pushes.remove(0), pushes.remove(0));
        out.push(maximum_of(&name, v.states(), [&a, &b]));
        let taken = Push::maximum(name, levels);
        match shape {
            Shape::Chain | Shape::Backwards => pushes.insert(0, taken),
            Shape::Tree => pushes.push(taken),
        }
    }
    out
}

/// The maximum of two contributions: `P(Y <= y | a, b) = P(A <= y | a) P(B <= y | b)`.
fn maximum_of(name: &str, states: &[String], [a, b]: [&Push; 2]) -> VariableFile {
    let mut table = Vec::new();
    for of_a in &a.at_most {
        for of_b in &b.at_most {
            let up_to: Vec<f64> = of_a.iter().zip(of_b).map(|(a, b)| a * b).collect();
            table.extend((0..states.len()).map(|y| up_to[y] - if y == 0 { 0.0 } else { up_to[y - 1] }));
        }
    }
    let parents = vec![a.name.clone(), b.name.clone()];
    VariableFile { name: name.to_owned(), states: states.to_vec(), parents, table }
}

/// Evidence by the names of variables and states.
pub(crate) fn by_name(network: &Network, evidence: &Evidence) -> EvidenceFile {
    let finding = |(var, likelihood): (_, &[f64])| {
        let v = network.variable(var);
        let only = likelihood.iter().filter(|l| **l > 0.0).count() == 1;
        let finding = match likelihood.iter().position(|l| *l == 1.0) {
            Some(state) if only => Finding::State(v.states()[state].clone()),
            _ => Finding::Likelihood(likelihood.to_vec()),
        };
        (v.name().to_owned(), finding)
    };
    EvidenceFile(evidence.iter().map(finding).collect())
}
