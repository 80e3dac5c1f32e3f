//! Derivatives of the probability of the evidence by the parameters of the network.
//!
//! The probability of the evidence is linear in each table entry. If the factors are kept separate from the
//! cliques, the message from a clique to a factor holds these derivatives: it is the sum of all products with
//! the entry left out (Darwiche 2003, "A differential approach to inference in Bayesian networks"). One
//! propagation gives all of them, also for entries that are zero.

use ndarray::{ArrayD, IxDyn};

use super::factor::{FactorSource, NoisyMaxForm, Placement};
use super::{Compiler, Evidence, InferenceError};
use crate::network::{Cpt, Network, VarId, for_each_configuration};

/// Derivatives of the probability of some evidence by every parameter of the network. [`derivatives`] returns
/// it.
#[derive(Debug, Clone)]
pub struct Derivatives {
    log_p_evidence: f64,
    by_variable: Vec<ParameterDerivatives>,
}

/// Derivatives by the parameters of one variable, divided by the probability of the evidence: `(dP(e) / dx) /
/// P(e)`.
///
/// A parameter times its derivative is the share of `P(e)` that depends on it. For a table entry this is the
/// posterior probability of the row's parent states together with the entry's own state.
#[derive(Debug, Clone, PartialEq)]
pub enum ParameterDerivatives {
    /// By table entry: one axis for each parent in order, the variable's own states last. Entries are varied
    /// independently; the rest of the row does not change.
    Table(ArrayD<f64>),
    /// For a noisy-MAX, by parent, state of the parent and level: the derivative by the probability that the
    /// parent's contribution is at most that level.
    NoisyMax(Vec<Vec<Vec<f64>>>),
}

impl Derivatives {
    /// Natural logarithm of the probability of the evidence.
    #[must_use]
    pub fn log_p_evidence(&self) -> f64 {
        self.log_p_evidence
    }

    /// Derivatives by the parameters of a variable.
    ///
    /// # Panics
    /// If the variable does not belong to the network.
    #[must_use]
    pub fn of(&self, var: VarId) -> &ParameterDerivatives {
        &self.by_variable[var.index()]
    }
}

/// Returns the derivatives of the probability of the evidence by every parameter of the network. It takes one
/// propagation.
///
/// ```
/// use halfsplit_bayes::{Evidence, NetworkBuilder, ParameterDerivatives, derivatives};
///
/// let mut builder = NetworkBuilder::new();
/// let rain = builder.add("rain", ["no", "yes"], &[], vec![0.8, 0.2])?;
/// let wet = builder.add("wet", ["no", "yes"], &[rain], vec![0.9, 0.1, 0.05, 0.95])?;
/// let network = builder.build()?;
/// let mut evidence = Evidence::new();
/// evidence.observe(&network, wet, "yes")?;
/// let all = derivatives(&network, &evidence)?;
/// let ParameterDerivatives::Table(by_entry) = all.of(rain) else { unreachable!() };
/// // P(wet) = 0.1 P(no rain) + 0.95 P(rain) = 0.27
/// assert!((by_entry[[1]] - 0.95 / 0.27).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`InferenceError::Impossible`] if the evidence has probability zero. [`InferenceError::TooLarge`]: entries
/// with one factor of zero are kept, so this needs more entries than
/// [`JunctionTree::posterior`](crate::JunctionTree::posterior).
///
/// # Panics
/// If the evidence refers to variables that the network does not have.
pub fn derivatives(network: &Network, evidence: &Evidence) -> Result<Derivatives, InferenceError> {
    let tree = Compiler::new()
        .with_evidence(evidence)
        .noisy_max_form(NoisyMaxForm::Threshold)
        .keep_factors()
        .compile(network)?;
    let mut work = tree.workspace();
    if !tree.propagate(&mut work, &Evidence::new()) {
        return Err(tree.impossible(&Evidence::new()));
    }
    let fixed = |var: VarId| match tree.placement(var) {
        Placement::Fixed(state) => Some(state),
        Placement::Vertex(_) => None,
    };
    let mut by_variable: Vec<ParameterDerivatives> = network
        .iter()
        .map(|(var, variable)| match variable.cpt() {
            Cpt::Table(table) => {
                let mut all = ArrayD::zeros(table.raw_dim());
                // A table of which the evidence leaves one entry is a constant factor of P(e).
                let axes: Vec<VarId> = variable.parents().iter().copied().chain([var]).collect();
                if let Some(at) = axes.iter().map(|v| fixed(*v)).collect::<Option<Vec<usize>>>() {
                    all[IxDyn(&at)] = 1.0 / table[IxDyn(&at)];
                }
                ParameterDerivatives::Table(all)
            }
            Cpt::NoisyMax(_) => {
                let levels = variable.cardinality();
                let states = variable.parents().iter().map(|p| network.variable(*p).cardinality());
                ParameterDerivatives::NoisyMax(states.map(|s| vec![vec![0.0; levels]; s]).collect())
            }
        })
        .collect();
    for (at, (_, factor)) in tree.tables.iter().enumerate() {
        let without = tree.table_derivatives(&work, at);
        let p: f64 = without.iter().zip(&factor.values).map(|(w, x)| w * x).sum();
        let mut shares = without.iter().map(|w| w / p);
        match factor.source {
            FactorSource::Table(var) => {
                let ParameterDerivatives::Table(all) = &mut by_variable[var.index()] else { continue };
                let axes: Vec<VarId> = network.variable(var).parents().iter().copied().chain([var]).collect();
                let open: Vec<usize> = (0..axes.len()).filter(|i| fixed(axes[*i]).is_none()).collect();
                let mut place: Vec<usize> = axes.iter().map(|v| fixed(*v).unwrap_or(0)).collect();
                for_each_configuration(&open.iter().map(|i| all.shape()[*i]).collect::<Vec<_>>(), |row| {
                    open.iter().zip(row).for_each(|(i, state)| place[*i] = *state);
                    all[IxDyn(&place)] = shares.next().unwrap_or(0.0);
                });
            }
            FactorSource::Contribution(var, parent) => {
                let ParameterDerivatives::NoisyMax(all) = &mut by_variable[var.index()] else { continue };
                let open = fixed(network.variable(var).parents()[parent]);
                for (state, row) in all[parent].iter_mut().enumerate() {
                    if open.is_none_or(|only| only == state) {
                        row.iter_mut().for_each(|d| *d = shares.next().unwrap_or(0.0));
                    }
                }
            }
            FactorSource::Other => {}
        }
    }
    Ok(Derivatives { log_p_evidence: tree.log_p_evidence(&work), by_variable })
}
