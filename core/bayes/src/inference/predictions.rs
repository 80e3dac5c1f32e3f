//! Predictions: for every possible next observation, its probability and what it would tell.

use std::sync::Arc;

use super::compiler::TreeDraft;
use super::entry_list::ListPool;
use super::{Compiler, Evidence, InferenceError, JunctionTree, d_separation, relevance, smallest_conflict};
use crate::network::{Network, StateId, VarId, Variable};

/// A possible next observation and its consequences.
#[derive(Debug, Clone, PartialEq)]
pub struct PredictedOutcome {
    /// The variable observed: a leaf of the network without evidence.
    pub leaf: VarId,
    /// The state observed.
    pub state: StateId,
    /// Probability of the observation given the evidence.
    pub p: f64,
    /// For every root of the network: its posterior marginal given the evidence and the observation. Empty if
    /// the observation has probability zero.
    pub roots: Vec<(VarId, Vec<f64>)>,
}

/// Returns for every leaf without evidence and each of its states: the probability of that observation, and
/// the posterior marginals of all roots given the evidence and the observation.
///
/// A leaf is a variable without children, a root one without parents. The result is what the value of
/// information is computed from.
///
/// The evidence is built into the tree once. The states of a leaf are propagated side by side, only messages
/// that differ between one leaf and the next are computed, and roots that are d-separated from a leaf are
/// copied. If the tree is large, and leaving out all other leaves makes it so much smaller that this costs
/// less, each leaf gets a tree of its own.
///
/// ```
/// use halfsplit_bayes::{Evidence, NetworkBuilder, predictions};
///
/// let mut builder = NetworkBuilder::new();
/// let rain = builder.add("rain", ["no", "yes"], &[], vec![0.8, 0.2])?;
/// let wet = builder.add("wet", ["no", "yes"], &[rain], vec![0.9, 0.1, 0.05, 0.95])?;
/// let network = builder.build()?;
/// let outcomes = predictions(&network, &Evidence::new())?;
/// let if_wet = &outcomes[1];
/// assert_eq!((if_wet.leaf, if_wet.state.index()), (wet, 1));
/// assert!((if_wet.p - 0.27).abs() < 1e-12);
/// let (root, marginal) = &if_wet.roots[0];
/// assert_eq!(*root, rain);
/// assert!((marginal[1] - 0.19 / 0.27).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`InferenceError::Impossible`] if the evidence has probability zero; [`InferenceError::TooLarge`].
///
/// # Panics
/// If the evidence refers to variables that the network does not have.
pub fn predictions(network: &Network, evidence: &Evidence) -> Result<Vec<PredictedOutcome>, InferenceError> {
    let compiler = Compiler::new().with_evidence(evidence);
    let draft = compiler.draft(network)?;
    let leaves = unobserved_leaves(network, evidence);
    if draft.dense() > LARGE && one_tree_per_leaf_is_cheaper(network, evidence, &leaves, &draft)? {
        drop(draft);
        return predictions_by_leaf(network, evidence, &leaves).map_err(|error| match error {
            // Findings of the whole network, not of a part.
            InferenceError::Impossible { .. } => smallest_conflict::impossible(network, evidence),
            other => other,
        });
    }
    let tree = compiler.finish(&Arc::new(network.clone()), draft, &mut ListPool::default())?;
    tree.predictions(&Evidence::new())
}

/// Number of states of a leaf propagated side by side.
const LANES: usize = 4;

/// Up to this many entries, zeros included, one tree for all leaves is used.
const LARGE: f64 = 5e6;
/// Time to compile an entry and propagate through it once, in units of one pass.
const COMPILE_COST: f64 = 7.0;
/// Time to find an elimination order, for each squared number of vertices, in the same units.
const ORDERING_COST: f64 = 10.0;

/// Variables without children and without evidence.
fn unobserved_leaves(network: &Network, evidence: &Evidence) -> Vec<VarId> {
    let mut leaves = vec![true; network.len()];
    network.iter().flat_map(|(_, v)| v.parents()).for_each(|p| leaves[p.index()] = false);
    let open = |id: &VarId| leaves[id.index()] && evidence.get(*id).is_none();
    network.iter().map(|(id, _)| id).filter(open).collect()
}

/// Number of passes for a leaf.
fn passes(network: &Network, leaf: VarId) -> f64 {
    network.variable(leaf).cardinality().div_ceil(LANES) as f64
}

/// Whether a tree for each leaf costs less than the drafted tree for all leaves.
fn one_tree_per_leaf_is_cheaper(
    network: &Network,
    evidence: &Evidence,
    leaves: &[VarId],
    all: &TreeDraft,
) -> Result<bool, InferenceError> {
    let together =
        all.dense() * (COMPILE_COST + leaves.iter().map(|leaf| passes(network, *leaf)).sum::<f64>());
    let mut separate = 0.0;
    for leaf in leaves {
        let (part, _, given) = relevant_part(network, evidence, *leaf);
        let draft = Compiler::new().with_evidence(&given).draft(&part)?;
        separate += draft.dense() * (COMPILE_COST + passes(network, *leaf));
        separate += ORDERING_COST * (draft.vertices() as f64).powi(2);
        if separate >= together {
            return Ok(false);
        }
    }
    Ok(!leaves.is_empty())
}

/// The subnetwork that the posterior of a leaf depends on, the original ids of its variables, and the
/// evidence on it.
fn relevant_part(network: &Network, evidence: &Evidence, leaf: VarId) -> (Network, Vec<VarId>, Evidence) {
    let (part, ids) = network.subnetwork(&relevance::requisite(network, evidence, &[leaf]));
    let mut given = Evidence::new();
    for (old, (id, _)) in ids.iter().zip(part.iter()) {
        if let Some(likelihood) = evidence.get(*old) {
            given.insert_unchecked(id, likelihood.to_vec());
        }
    }
    (part, ids, given)
}

/// Predictions with a tree for each leaf. The marginal of a root that is not part of the tree is its prior.
fn predictions_by_leaf(
    network: &Network,
    evidence: &Evidence,
    leaves: &[VarId],
) -> Result<Vec<PredictedOutcome>, InferenceError> {
    let roots: Vec<(VarId, &Variable)> = network.iter().filter(|(_, v)| v.parents().is_empty()).collect();
    let (mut outcomes, mut pool) = (Vec::new(), ListPool::default());
    for leaf in leaves {
        let (part, ids, given) = relevant_part(network, evidence, *leaf);
        let tree = Compiler::new().with_evidence(&given).compile_with(&Arc::new(part), &mut pool)?;
        let here: Vec<VarId> =
            tree.network().iter().map(|(id, _)| id).filter(|id| ids[id.index()] == *leaf).collect();
        for outcome in tree.predictions_for(&Evidence::new(), &here)? {
            let mut posteriors = outcome.roots.into_iter().map(|(id, p)| (ids[id.index()], p)).peekable();
            let possible = posteriors.peek().is_some();
            let marginal = |(root, variable): &(VarId, &Variable)| {
                let prior = || (0..variable.cardinality()).map(|s| variable.probability(&[], s)).collect();
                (*root, posteriors.next_if(|(id, _)| id == root).map_or_else(prior, |(_, p)| p))
            };
            let roots = if possible { roots.iter().map(marginal).collect() } else { Vec::new() };
            outcomes.push(PredictedOutcome { leaf: *leaf, roots, ..outcome });
        }
        tree.recycle_into(&mut pool);
    }
    Ok(outcomes)
}

impl JunctionTree {
    /// Returns the [`predictions`] from a compiled tree, given the evidence and the evidence built in.
    ///
    /// # Errors
    /// [`InferenceError::Impossible`] if the evidence has probability zero.
    ///
    /// # Panics
    /// If the evidence refers to variables that the tree's network does not have.
    pub fn predictions(&self, evidence: &Evidence) -> Result<Vec<PredictedOutcome>, InferenceError> {
        self.predictions_for(evidence, &unobserved_leaves(self.network(), &self.with_built_in(evidence)))
    }

    fn predictions_for(
        &self,
        evidence: &Evidence,
        leaves: &[VarId],
    ) -> Result<Vec<PredictedOutcome>, InferenceError> {
        let network = self.network();
        let all = self.with_built_in(evidence);
        let mut work = self.lane_workspace::<LANES>();
        if !self.propagate_lanes(&mut work, &[evidence], None)[0] {
            return Err(self.impossible(evidence));
        }
        let is_root = |id: &VarId| network.variable(*id).parents().is_empty();
        let roots: Vec<VarId> = network.iter().map(|(id, _)| id).filter(is_root).collect();
        let unchanged: Vec<Vec<f64>> = roots.iter().map(|root| self.lane_marginal(&work, 0, *root)).collect();
        let probabilities: Vec<(VarId, Vec<f64>)> =
            leaves.iter().map(|leaf| (*leaf, self.lane_marginal(&work, 0, *leaf))).collect();
        let mut outcomes = Vec::new();
        for (leaf, probabilities) in probabilities {
            let reached = d_separation::d_connected(network, &all, leaf);
            let asked: Vec<VarId> = roots.iter().copied().filter(|root| reached[root.index()]).collect();
            let targets = self.targets(&asked);
            for states in (0..probabilities.len()).collect::<Vec<_>>().chunks(LANES) {
                let with: Vec<Evidence> = states
                    .iter()
                    .map(|state| {
                        let mut with = evidence.clone();
                        with.set_state(leaf, *state, probabilities.len());
                        with
                    })
                    .collect();
                let with: Vec<&Evidence> = with.iter().collect();
                let possible = self.propagate_lanes(&mut work, &with, Some(&targets));
                for (lane, state) in states.iter().enumerate() {
                    let given = |(root, before): (&VarId, &Vec<f64>)| {
                        let after = || self.lane_marginal(&work, lane, *root);
                        (*root, if reached[root.index()] { after() } else { before.clone() })
                    };
                    let possible = possible[lane] && probabilities[*state] > 0.0;
                    outcomes.push(PredictedOutcome {
                        leaf,
                        state: StateId::new(*state),
                        p: probabilities[*state],
                        roots: if possible {
                            roots.iter().zip(&unchanged).map(given).collect()
                        } else {
                            Vec::new()
                        },
                    });
                }
            }
        }
        Ok(outcomes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::NetworkBuilder;
    use crate::precision::EXACT;

    #[test]
    fn posteriors_of_burglary_given_both_calls() {
        // Pearl's burglary and earthquake, with the numbers of Russell and Norvig.
        let mut b = NetworkBuilder::new();
        let burglary = b.add("burglary", ["n", "y"], &[], vec![0.999, 0.001]).unwrap();
        let quake = b.add("quake", ["n", "y"], &[], vec![0.998, 0.002]).unwrap();
        let table = vec![0.999, 0.001, 0.71, 0.29, 0.06, 0.94, 0.05, 0.95];
        let alarm = b.add("alarm", ["n", "y"], &[burglary, quake], table).unwrap();
        let john = b.add("john", ["n", "y"], &[alarm], vec![0.95, 0.05, 0.1, 0.9]).unwrap();
        let mary = b.add("mary", ["n", "y"], &[alarm], vec![0.99, 0.01, 0.3, 0.7]).unwrap();
        let network = b.build().unwrap();
        let mut evidence = Evidence::new();
        evidence.observe(&network, mary, "y").unwrap();
        let all = predictions(&network, &evidence).unwrap();
        assert_eq!(all.iter().map(|o| o.leaf).collect::<Vec<_>>(), [john, john]);
        assert!((all.iter().map(|o| o.p).sum::<f64>() - 1.0).abs() < EXACT);
        // P(B | J, M) = .284172 (Russell and Norvig: .284).
        assert!((all[1].roots[0].1[1] - 0.284_172).abs() < 5e-7);
        assert_eq!(all[1].roots[1].0, quake);
    }

    #[test]
    fn separate_trees_agree_with_one_tree() {
        let mut b = NetworkBuilder::new();
        let burglary = b.add("burglary", ["n", "y"], &[], vec![0.999, 0.001]).unwrap();
        let quake = b.add("quake", ["n", "y"], &[], vec![0.998, 0.002]).unwrap();
        let table = vec![0.999, 0.001, 0.71, 0.29, 0.06, 0.94, 0.05, 0.95];
        let alarm = b.add("alarm", ["n", "y"], &[burglary, quake], table).unwrap();
        // Five states, more than there are lanes; one has probability zero.
        let calls = vec![0.5, 0.2, 0.2, 0.1, 0.0, 0.1, 0.1, 0.2, 0.6, 0.0];
        b.add("calls", ["0", "1", "2", "3", "4"], &[alarm], calls).unwrap();
        let mary = b.add("mary", ["n", "y"], &[alarm], vec![1.0, 0.0, 0.3, 0.7]).unwrap();
        let radio = b.add("radio", ["n", "y"], &[quake], vec![1.0, 0.0, 0.1, 0.9]).unwrap();
        let wind = b.add("wind", ["n", "y"], &[], vec![0.7, 0.3]).unwrap();
        b.add("leaves", ["n", "y"], &[wind], vec![0.9, 0.1, 0.4, 0.6]).unwrap();
        b.add("alone", ["n", "y"], &[], vec![0.2, 0.8]).unwrap();
        let network = b.build().unwrap();
        let mut compared = 0;
        for found in [vec![], vec![(mary, "y")], vec![(mary, "y"), (radio, "n")]] {
            let mut evidence = Evidence::new();
            found.into_iter().for_each(|(var, state)| evidence.observe(&network, var, state).unwrap());
            let together = predictions(&network, &evidence).unwrap();
            let separate =
                predictions_by_leaf(&network, &evidence, &unobserved_leaves(&network, &evidence)).unwrap();
            assert_eq!(together.len(), separate.len());
            for (a, b) in together.iter().zip(&separate) {
                assert_eq!((a.leaf, a.state, a.roots.len()), (b.leaf, b.state, b.roots.len()));
                assert!((a.p - b.p).abs() < EXACT);
                for ((root, p), (other, q)) in a.roots.iter().zip(&b.roots) {
                    assert_eq!(root, other);
                    p.iter().zip(q).for_each(|(p, q)| assert!((p - q).abs() < EXACT));
                    compared += 1;
                }
            }
        }
        // 4 roots; 12 possible states without findings, 10 with one, 8 with two.
        assert_eq!(compared, 4 * (12 + 10 + 8));
    }
}
