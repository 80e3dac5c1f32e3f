//! The factors of a network: tables over vertices.
//!
//! The vertices are the variables that the evidence built in does not fix and, for each noisy-MAX with many
//! parents, one threshold variable `T` over its levels. With the threshold a noisy-MAX is a sum of products
//! of small tables:
//!
//! `P(Y = y | x) = sum_T D(y, T) prod_i P(C_i <= T | x_i)`, with `D(y, y) = 1` and `D(y, y - 1) = -1`
//!
//! There is one table for each parent and one for `Y`, so the parents are adjacent to `T` and not to each
//! other (Diez and Galan 2003, "An efficient factorization for the noisy MAX"). `D` has negative entries.
//! Propagation must therefore not conclude from a sum of zero that all its terms are zero.

use std::collections::HashMap;

use ndarray::Axis;

use super::extended_exponent::{ExtendedExponent, to_floats};
use super::{Evidence, InferenceError};
use crate::network::{Cpt, Network, VarId, Variable, for_each_configuration};

/// Up to this many entries a noisy-MAX becomes one table.
const SMALL_TABLE: usize = 128;

/// Up to this many entries a noisy-MAX may become one table where tables are required.
const MAX_TABLE: usize = 1 << 24;

/// A row whose sum differs from 1 by at most this much is normalised up to rounding. Tables of a file may
/// differ by more, and then the sum is part of the joint distribution.
const ROUNDING: f64 = 1e-14;

/// Whether a row sums to 1.
pub(super) fn is_normalised<'a>(row: impl Iterator<Item = &'a f64>) -> bool {
    (row.sum::<f64>() - 1.0).abs() <= ROUNDING
}

/// A table over vertices. The last vertex varies fastest.
#[derive(Debug, Clone)]
pub(super) struct Factor {
    pub(super) scope: Vec<usize>,
    pub(super) values: Vec<f64>,
    /// The variable whose conditional distribution the factor is, or is a part of. `None` for evidence, and
    /// for a distribution that evidence has cut.
    pub(super) distribution: Option<usize>,
    /// The parameters that the factor contains.
    pub(super) source: FactorSource,
}

/// How a noisy-MAX is represented by factors.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NoisyMaxForm {
    /// A table if it is small, else a threshold.
    Smallest,
    /// A table of any size. Maximisation needs this, because it does not commute with the threshold's sum.
    Table,
    /// A threshold, even if the table would be small.
    Threshold,
}

/// The parameters that a factor contains.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum FactorSource {
    /// The table of a variable, without the states that the evidence built in excludes.
    Table(VarId),
    /// The contribution of one parent to a noisy-MAX: the variable, and the parent's index.
    Contribution(VarId, usize),
    /// No parameters of the network.
    Other,
}

/// A network as vertices and factors.
pub(super) struct Factors {
    /// By vertex: its number of states.
    pub(super) states: Vec<usize>,
    /// By vertex: the variable whose conditional distribution it belongs to.
    pub(super) owner: Vec<usize>,
    /// Number of conditional distributions: one for each variable.
    pub(super) distributions: usize,
    /// By variable: its vertex, or the state that the evidence built in fixes it to.
    pub(super) placements: Vec<Placement>,
    pub(super) factors: Vec<Factor>,
    /// Logarithm of the product of all factors that contain no vertex.
    pub(super) log_constant: f64,
    /// Whether some entries are negative.
    pub(super) signed: bool,
}

/// Where a variable stands among the factors.
#[derive(Debug, Clone, Copy)]
pub(super) enum Placement {
    /// It is this vertex.
    Vertex(usize),
    /// The evidence built in fixes it to this state.
    Fixed(usize),
}

impl Factors {
    pub(super) fn new(
        network: &Network,
        built_in: &Evidence,
        form: NoisyMaxForm,
    ) -> Result<Self, InferenceError> {
        let mut all = Factors {
            states: Vec::new(),
            owner: Vec::new(),
            distributions: network.len(),
            placements: Vec::with_capacity(network.len()),
            factors: Vec::new(),
            log_constant: 0.0,
            signed: false,
        };
        for (id, variable) in network.iter() {
            let open: Vec<usize> = match built_in.get(id) {
                Some(l) => (0..variable.cardinality()).filter(|s| l[*s] > 0.0).collect(),
                None => (0..variable.cardinality()).collect(),
            };
            let placement = match open.as_slice() {
                [only] => Placement::Fixed(*only),
                _ => Placement::Vertex(all.add_vertex(variable.cardinality(), id)),
            };
            all.placements.push(placement);
        }
        for (id, variable) in network.iter() {
            let Cpt::NoisyMax(_) = variable.cpt() else {
                all.add_table(id, variable);
                continue;
            };
            let entries = variable
                .parents()
                .iter()
                .filter_map(|p| all.vertex_of(*p))
                .try_fold(variable.cardinality(), |n, v| n.checked_mul(all.states[v]))
                .unwrap_or(usize::MAX);
            match form {
                NoisyMaxForm::Table if entries > MAX_TABLE => {
                    let (entries, limit) = (entries as f64, MAX_TABLE as f64);
                    return Err(InferenceError::TooLarge { entries, limit });
                }
                NoisyMaxForm::Table => all.add_noisy_max_table(id, variable),
                NoisyMaxForm::Smallest if entries <= SMALL_TABLE => all.add_noisy_max_table(id, variable),
                NoisyMaxForm::Smallest | NoisyMaxForm::Threshold => all.add_noisy_max_threshold(id, variable),
            }
        }
        for (var, likelihood) in built_in.iter() {
            match all.placements[var.index()] {
                Placement::Fixed(state) => all.log_constant += likelihood[state].ln(),
                Placement::Vertex(v) => {
                    // Densities can be of any size; scaling keeps the product of several small ones above
                    // zero.
                    let largest = likelihood.iter().copied().fold(0.0, f64::max);
                    all.log_constant += largest.ln();
                    let values = likelihood.iter().map(|l| l / largest).collect();
                    all.push(vec![v], values, None, FactorSource::Other);
                }
            }
        }
        Ok(all)
    }

    /// Whether fewer than one entry in ten is zero.
    pub(super) fn are_dense(&self) -> bool {
        let values = self.factors.iter().flat_map(|f| &f.values);
        let (all, zeros) = values.fold((0, 0), |(all, zeros), v| (all + 1, zeros + usize::from(*v == 0.0)));
        10 * zeros < all
    }

    /// Multiplies factors that are no whole distribution, by scope, with extended exponents. Hundreds of
    /// likelihoods on one variable, some for one state and some for another, would otherwise underflow.
    pub(super) fn merge_residual_factors(&mut self) {
        let mut by_scope: HashMap<Vec<usize>, usize> = HashMap::new();
        let mut products: Vec<(Vec<usize>, Vec<ExtendedExponent>)> = Vec::new();
        let (left, whole): (Vec<Factor>, Vec<Factor>) =
            std::mem::take(&mut self.factors).into_iter().partition(|f| f.distribution.is_none());
        self.factors = whole;
        for factor in left {
            let at = *by_scope.entry(factor.scope.clone()).or_insert_with(|| {
                products.push((factor.scope.clone(), vec![ExtendedExponent::new(1.0); factor.values.len()]));
                products.len() - 1
            });
            for (product, value) in products[at].1.iter_mut().zip(factor.values) {
                *product = product.times(value);
            }
        }
        for (scope, product) in products {
            let mut values = vec![0.0; product.len()];
            let exponent = to_floats(&product, |at, x| values[at] = x);
            self.log_constant += exponent as f64 * std::f64::consts::LN_2;
            self.factors.push(Factor { scope, values, distribution: None, source: FactorSource::Other });
        }
    }

    fn add_vertex(&mut self, states: usize, owner: VarId) -> usize {
        self.states.push(states);
        self.owner.push(owner.index());
        self.states.len() - 1
    }

    fn vertex_of(&self, var: VarId) -> Option<usize> {
        match self.placements[var.index()] {
            Placement::Vertex(v) => Some(v),
            Placement::Fixed(_) => None,
        }
    }

    fn push(&mut self, scope: Vec<usize>, values: Vec<f64>, of: Option<VarId>, source: FactorSource) {
        if scope.is_empty() {
            self.log_constant += values[0].ln();
        } else {
            self.factors.push(Factor { scope, values, distribution: of.map(VarId::index), source });
        }
    }

    /// Adds the table of a variable, without its fixed variables.
    fn add_table(&mut self, id: VarId, variable: &Variable) {
        let Cpt::Table(table) = variable.cpt() else { return };
        let mut view = table.view();
        let mut scope = Vec::new();
        for (axis, var) in variable.parents().iter().chain([&id]).enumerate() {
            match self.placements[var.index()] {
                Placement::Fixed(state) => view.collapse_axis(Axis(axis), state),
                Placement::Vertex(v) => scope.push(v),
            }
        }
        let values: Vec<f64> = view.iter().copied().collect();
        let of = self.normalised(id, variable, &values);
        self.push(scope, values, of, FactorSource::Table(id));
    }

    /// Adds a noisy-MAX as one table.
    fn add_noisy_max_table(&mut self, id: VarId, variable: &Variable) {
        let placements: Vec<Placement> =
            variable.parents().iter().chain([&id]).map(|v| self.placements[v.index()]).collect();
        let scope: Vec<usize> = placements
            .iter()
            .filter_map(|p| if let Placement::Vertex(v) = p { Some(*v) } else { None })
            .collect();
        let cards: Vec<usize> = scope.iter().map(|v| self.states[*v]).collect();
        let mut values = Vec::new();
        for_each_configuration(&cards, |row| {
            let mut free = row.iter();
            let all: Vec<usize> = placements
                .iter()
                .map(|p| match p {
                    Placement::Fixed(state) => *state,
                    Placement::Vertex(_) => free.next().copied().unwrap_or(0),
                })
                .collect();
            let (own, parents) = all.split_last().map_or((0, [].as_slice()), |(o, p)| (*o, p));
            values.push(variable.probability(parents, own));
        });
        let of = self.normalised(id, variable, &values);
        self.push(scope, values, of, FactorSource::Other);
    }

    /// The variable itself, if the table is its whole conditional distribution and each row sums to 1.
    fn normalised(&self, id: VarId, variable: &Variable, values: &[f64]) -> Option<VarId> {
        self.vertex_of(id)?;
        values.chunks_exact(variable.cardinality()).all(|row| is_normalised(row.iter())).then_some(id)
    }

    /// Adds a noisy-MAX as a threshold vertex with one table for each parent and one for the variable.
    fn add_noisy_max_threshold(&mut self, id: VarId, variable: &Variable) {
        let Cpt::NoisyMax(rule) = variable.cpt() else { return };
        self.signed = true;
        let levels = variable.cardinality();
        let threshold = self.add_vertex(levels, id);
        let of = self.vertex_of(id).map(|_| id);
        for (at, parent) in variable.parents().iter().enumerate() {
            let up_to = |state: usize| (0..levels).map(move |t| rule.at_most(at, state, t));
            match self.placements[parent.index()] {
                Placement::Fixed(state) => {
                    self.push(vec![threshold], up_to(state).collect(), of, FactorSource::Contribution(id, at))
                }
                Placement::Vertex(v) => {
                    let values = (0..self.states[v]).flat_map(up_to).collect();
                    self.push(vec![v, threshold], values, of, FactorSource::Contribution(id, at));
                }
            }
        }
        let difference = |level: usize| {
            (0..levels).map(move |t| f64::from(u8::from(t == level)) - f64::from(u8::from(t + 1 == level)))
        };
        match self.placements[id.index()] {
            Placement::Fixed(level) => {
                self.push(vec![threshold], difference(level).collect(), of, FactorSource::Other);
            }
            Placement::Vertex(v) => {
                let values = (0..levels).flat_map(difference).collect();
                self.push(vec![v, threshold], values, of, FactorSource::Other);
            }
        }
    }
}
