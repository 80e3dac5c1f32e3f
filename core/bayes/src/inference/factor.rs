//! What a network multiplies together: tables over vertices.
//!
//! The vertices are the free variables (those that the built-in evidence does not fix) and, for
//! every noisy-MAX with many parents, one threshold `T` over its levels. With it the rule falls
//! apart into small tables,
//!
//! `P(Y = y | x) = sum_T D(y, T) prod_i P(X_i <= T | x_i)`, `D(y, y) = 1`, `D(y, y - 1) = -1`,
//!
//! one per parent and one for `Y`, so that the parents are tied to one new vertex and not to each
//! other (Diez and Galan 2003, "An efficient factorization for the noisy MAX"). On the networks of
//! jobs this takes the cliques from 1e9 entries to 1e5 or less where a chain of maxima was
//! tried first. The price is negative entries, so propagation must not take a sum of zero for
//! proof that all its terms are zero.

use std::collections::HashMap;

use ndarray::Axis;

use super::extended_exponent::{ExtendedExponent, written};
use super::{Evidence, InferenceError};
use crate::network::{Cpt, Network, VarId, Variable, for_each_configuration};

/// A noisy-MAX whose table would have at most this many entries is written out.
const WRITTEN_OUT: usize = 128;

/// Where rules must be written out, one whose table would have more entries than this is refused.
const MOST_WRITTEN_OUT: usize = 1 << 24;

/// How far a row may sum from 1 for its sum to be left out: the rounding of its terms. Authored
/// rows may miss 1 by more, and then what they sum to counts.
const WHOLE: f64 = 1e-14;

/// Whether a row sums to 1.
pub(super) fn is_whole<'a>(row: impl Iterator<Item = &'a f64>) -> bool {
    (row.sum::<f64>() - 1.0).abs() <= WHOLE
}

/// A table over vertices, the last vertex fastest.
#[derive(Debug, Clone)]
pub(super) struct Factor {
    pub(super) scope: Vec<usize>,
    pub(super) values: Vec<f64>,
    /// The conditional distribution that it is, or is a part of; none for evidence and for what
    /// evidence has left of a distribution.
    pub(super) of: Option<usize>,
    /// What it was made from.
    pub(super) source: FactorSource,
}

/// How a noisy-MAX becomes factors.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Rules {
    /// As a small table or with a threshold, whichever is shorter.
    Shortest,
    /// As a table, however large. Needed where a maximum is asked for and not a sum.
    WrittenOut,
    /// With a threshold, however small the table would be.
    Thresholds,
}

/// What a factor was made from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum FactorSource {
    /// The table of a variable, cut to what the evidence built in leaves of it.
    Table(VarId),
    /// What one parent pushes a noisy-MAX to, by its place.
    Contribution(VarId, usize),
    /// Anything that is no parameter of the network.
    Other,
}

/// A network as vertices and factors.
pub(super) struct Factors {
    /// Number of states of every vertex.
    pub(super) states: Vec<usize>,
    /// By vertex: the conditional distribution that it belongs to.
    pub(super) owner: Vec<usize>,
    /// Number of conditional distributions: one for each variable of the network.
    pub(super) distributions: usize,
    /// For every variable: its vertex, or the state that the evidence fixes it to.
    pub(super) place: Vec<Place>,
    pub(super) factors: Vec<Factor>,
    /// Logarithm of the product of all factors without a vertex.
    pub(super) log_constant: f64,
    /// Whether some entries are negative.
    pub(super) signed: bool,
}

#[derive(Debug, Clone, Copy)]
pub(super) enum Place {
    Vertex(usize),
    Fixed(usize),
}

impl Factors {
    pub(super) fn new(network: &Network, fixed: &Evidence, rules: Rules) -> Result<Self, InferenceError> {
        let mut all = Factors {
            states: Vec::new(),
            owner: Vec::new(),
            distributions: network.len(),
            place: Vec::with_capacity(network.len()),
            factors: Vec::new(),
            log_constant: 0.0,
            signed: false,
        };
        for (id, variable) in network.iter() {
            let open: Vec<usize> = match fixed.get(id) {
                Some(l) => (0..variable.cardinality()).filter(|s| l[*s] > 0.0).collect(),
                None => (0..variable.cardinality()).collect(),
            };
            let place = match open.as_slice() {
                [only] => Place::Fixed(*only),
                _ => Place::Vertex(all.add_vertex(variable.cardinality(), id)),
            };
            all.place.push(place);
        }
        for (id, variable) in network.iter() {
            let Cpt::NoisyMax(_) = variable.cpt() else {
                all.table(id, variable);
                continue;
            };
            let entries = variable
                .parents()
                .iter()
                .filter_map(|p| all.vertex(*p))
                .try_fold(variable.cardinality(), |n, v| n.checked_mul(all.states[v]))
                .unwrap_or(usize::MAX);
            match rules {
                Rules::WrittenOut if entries > MOST_WRITTEN_OUT => {
                    let (entries, limit) = (entries as f64, MOST_WRITTEN_OUT as f64);
                    return Err(InferenceError::TooLarge { entries, limit });
                }
                Rules::WrittenOut => all.rule_written_out(id, variable),
                Rules::Shortest if entries <= WRITTEN_OUT => all.rule_written_out(id, variable),
                Rules::Shortest | Rules::Thresholds => all.rule(id, variable),
            }
        }
        for (var, likelihood) in fixed.iter() {
            match all.place[var.index()] {
                Place::Fixed(state) => all.log_constant += likelihood[state].ln(),
                Place::Vertex(v) => {
                    // Densities are of any size; several very small ones must not come out as zero.
                    let largest = likelihood.iter().copied().fold(0.0, f64::max);
                    all.log_constant += largest.ln();
                    let values = likelihood.iter().map(|l| l / largest).collect();
                    all.push(vec![v], values, None, FactorSource::Other);
                }
            }
        }
        Ok(all)
    }

    /// Whether hardly any entry is zero.
    pub(super) fn are_full(&self) -> bool {
        let values = self.factors.iter().flat_map(|f| &f.values);
        let (all, zeros) = values.fold((0, 0), |(all, zeros), v| (all + 1, zeros + usize::from(*v == 0.0)));
        10 * zeros < all
    }

    /// Multiplies the factors that evidence has left of distributions, by scope. Hundreds of findings on
    /// one variable, some for one state and some for another, would otherwise underflow in the product
    /// of an entry.
    pub(super) fn merge_what_is_left(&mut self) {
        let mut places: HashMap<Vec<usize>, usize> = HashMap::new();
        let mut products: Vec<(Vec<usize>, Vec<ExtendedExponent>)> = Vec::new();
        let (left, whole): (Vec<Factor>, Vec<Factor>) =
            std::mem::take(&mut self.factors).into_iter().partition(|f| f.of.is_none());
        self.factors = whole;
        for factor in left {
            let place = *places.entry(factor.scope.clone()).or_insert_with(|| {
                products.push((factor.scope.clone(), vec![ExtendedExponent::new(1.0); factor.values.len()]));
                products.len() - 1
            });
            for (product, value) in products[place].1.iter_mut().zip(factor.values) {
                *product = product.times(value);
            }
        }
        for (scope, product) in products {
            let mut values = vec![0.0; product.len()];
            let exponent = written(&product, |at, x| values[at] = x);
            self.log_constant += exponent as f64 * std::f64::consts::LN_2;
            self.factors.push(Factor { scope, values, of: None, source: FactorSource::Other });
        }
    }

    fn add_vertex(&mut self, states: usize, owner: VarId) -> usize {
        self.states.push(states);
        self.owner.push(owner.index());
        self.states.len() - 1
    }

    fn vertex(&self, var: VarId) -> Option<usize> {
        match self.place[var.index()] {
            Place::Vertex(v) => Some(v),
            Place::Fixed(_) => None,
        }
    }

    fn push(&mut self, scope: Vec<usize>, values: Vec<f64>, of: Option<VarId>, source: FactorSource) {
        if scope.is_empty() {
            self.log_constant += values[0].ln();
        } else {
            self.factors.push(Factor { scope, values, of: of.map(VarId::index), source });
        }
    }

    /// A table with the fixed variables cut out.
    fn table(&mut self, id: VarId, variable: &Variable) {
        let Cpt::Table(table) = variable.cpt() else { return };
        let mut view = table.view();
        let mut scope = Vec::new();
        for (axis, var) in variable.parents().iter().chain([&id]).enumerate() {
            match self.place[var.index()] {
                Place::Fixed(state) => view.collapse_axis(Axis(axis), state),
                Place::Vertex(v) => scope.push(v),
            }
        }
        let values: Vec<f64> = view.iter().copied().collect();
        let of = self.whole(id, variable, &values);
        self.push(scope, values, of, FactorSource::Table(id));
    }

    fn rule_written_out(&mut self, id: VarId, variable: &Variable) {
        let places: Vec<Place> =
            variable.parents().iter().chain([&id]).map(|v| self.place[v.index()]).collect();
        let scope: Vec<usize> =
            places.iter().filter_map(|p| if let Place::Vertex(v) = p { Some(*v) } else { None }).collect();
        let cards: Vec<usize> = scope.iter().map(|v| self.states[*v]).collect();
        let mut values = Vec::new();
        for_each_configuration(&cards, |row| {
            let mut free = row.iter();
            let all: Vec<usize> = places
                .iter()
                .map(|p| match p {
                    Place::Fixed(state) => *state,
                    Place::Vertex(_) => free.next().copied().unwrap_or(0),
                })
                .collect();
            let (own, parents) = all.split_last().map_or((0, [].as_slice()), |(o, p)| (*o, p));
            values.push(variable.probability(parents, own));
        });
        let of = self.whole(id, variable, &values);
        self.push(scope, values, of, FactorSource::Other);
    }

    /// The variable itself, if the table is its whole conditional distribution and each row sums to 1.
    fn whole(&self, id: VarId, variable: &Variable, values: &[f64]) -> Option<VarId> {
        self.vertex(id)?;
        values.chunks_exact(variable.cardinality()).all(|row| is_whole(row.iter())).then_some(id)
    }

    /// A noisy-MAX as a threshold with one small table per parent.
    fn rule(&mut self, id: VarId, variable: &Variable) {
        let Cpt::NoisyMax(rule) = variable.cpt() else { return };
        self.signed = true;
        let levels = variable.cardinality();
        let threshold = self.add_vertex(levels, id);
        let of = self.vertex(id).map(|_| id);
        for (at, parent) in variable.parents().iter().enumerate() {
            let up_to = |state: usize| (0..levels).map(move |t| rule.at_most(at, state, t));
            match self.place[parent.index()] {
                Place::Fixed(state) => {
                    self.push(vec![threshold], up_to(state).collect(), of, FactorSource::Contribution(id, at))
                }
                Place::Vertex(v) => {
                    let values = (0..self.states[v]).flat_map(up_to).collect();
                    self.push(vec![v, threshold], values, of, FactorSource::Contribution(id, at));
                }
            }
        }
        let difference = |level: usize| {
            (0..levels).map(move |t| f64::from(u8::from(t == level)) - f64::from(u8::from(t + 1 == level)))
        };
        match self.place[id.index()] {
            Place::Fixed(level) => {
                self.push(vec![threshold], difference(level).collect(), of, FactorSource::Other);
            }
            Place::Vertex(v) => {
                let values = (0..levels).flat_map(difference).collect();
                self.push(vec![v, threshold], values, of, FactorSource::Other);
            }
        }
    }
}
