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

use ndarray::Axis;

use super::Evidence;
use super::junction_tree::scaled;
use crate::network::{Cpt, Network, VarId, Variable, for_each_row};

/// A noisy-MAX whose table would have at most this many entries is written out.
const WRITTEN_OUT: usize = 128;

/// A table over vertices, the last vertex fastest.
pub(super) struct Factor {
    pub(super) scope: Vec<usize>,
    pub(super) values: Vec<f64>,
}

/// A network as vertices and factors.
pub(super) struct Factors {
    /// Number of states of every vertex.
    pub(super) states: Vec<usize>,
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
    pub(super) fn new(network: &Network, fixed: &Evidence) -> Self {
        let mut all = Factors {
            states: Vec::new(),
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
            all.place.push(match open.as_slice() {
                [only] => Place::Fixed(*only),
                _ => {
                    all.states.push(variable.cardinality());
                    Place::Vertex(all.states.len() - 1)
                }
            });
        }
        for (id, variable) in network.iter() {
            match variable.cpt() {
                Cpt::Table(_) => all.table(id, variable),
                Cpt::NoisyMax(_) => {
                    let entries = variable
                        .parents()
                        .iter()
                        .filter_map(|p| all.vertex(*p))
                        .try_fold(variable.cardinality(), |n, v| n.checked_mul(all.states[v]));
                    if entries.is_some_and(|n| n <= WRITTEN_OUT) {
                        all.rule_written_out(id, variable)
                    } else {
                        all.rule(id, variable)
                    }
                }
            }
        }
        for (var, likelihood) in fixed.iter() {
            match all.place[var.index()] {
                Place::Fixed(state) => all.log_constant += likelihood[state].ln(),
                Place::Vertex(v) => {
                    let (likelihood, log_scale) = scaled(likelihood);
                    all.log_constant += log_scale;
                    all.factors.push(Factor { scope: vec![v], values: likelihood.into_owned() });
                }
            }
        }
        all
    }

    fn vertex(&self, var: VarId) -> Option<usize> {
        match self.place[var.index()] {
            Place::Vertex(v) => Some(v),
            Place::Fixed(_) => None,
        }
    }

    fn push(&mut self, scope: Vec<usize>, values: Vec<f64>) {
        if scope.is_empty() {
            self.log_constant += values[0].ln();
        } else {
            self.factors.push(Factor { scope, values });
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
        let values = view.iter().copied().collect();
        self.push(scope, values);
    }

    fn rule_written_out(&mut self, id: VarId, variable: &Variable) {
        let places: Vec<Place> =
            variable.parents().iter().chain([&id]).map(|v| self.place[v.index()]).collect();
        let scope: Vec<usize> =
            places.iter().filter_map(|p| if let Place::Vertex(v) = p { Some(*v) } else { None }).collect();
        let cards: Vec<usize> = scope.iter().map(|v| self.states[*v]).collect();
        let mut values = Vec::new();
        for_each_row(&cards, |row| {
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
        self.push(scope, values);
    }

    /// A noisy-MAX as a threshold with one small table per parent.
    fn rule(&mut self, id: VarId, variable: &Variable) {
        let Cpt::NoisyMax(rule) = variable.cpt() else { return };
        self.signed = true;
        let levels = variable.cardinality();
        let threshold = self.states.len();
        self.states.push(levels);
        for (at, parent) in variable.parents().iter().enumerate() {
            match self.place[parent.index()] {
                Place::Fixed(state) => {
                    let values = (0..levels).map(|t| rule.at_most(at, state, t)).collect();
                    self.factors.push(Factor { scope: vec![threshold], values });
                }
                Place::Vertex(v) => {
                    let mut values = Vec::with_capacity(self.states[v] * levels);
                    for state in 0..self.states[v] {
                        values.extend((0..levels).map(|t| rule.at_most(at, state, t)));
                    }
                    self.factors.push(Factor { scope: vec![v, threshold], values });
                }
            }
        }
        let difference = |level: usize, t: usize| -> f64 {
            f64::from(u8::from(t == level)) - f64::from(u8::from(t + 1 == level))
        };
        match self.place[id.index()] {
            Place::Fixed(level) => {
                let values = (0..levels).map(|t| difference(level, t)).collect();
                self.factors.push(Factor { scope: vec![threshold], values });
            }
            Place::Vertex(v) => {
                let mut values = Vec::with_capacity(levels * levels);
                for level in 0..levels {
                    values.extend((0..levels).map(|t| difference(level, t)));
                }
                self.factors.push(Factor { scope: vec![v, threshold], values });
            }
        }
    }
}
