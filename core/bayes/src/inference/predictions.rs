//! The same evidence plus one more finding, for every finding that could come.

use std::sync::Arc;

use super::clique::Scratch;
use super::tree::TreeDraft;
use super::{Compiler, Evidence, InferenceError, JunctionTree, conflict, relevance, separation};
use crate::network::{Network, StateId, VarId, Variable};

/// One more finding and what it would tell.
#[derive(Debug, Clone, PartialEq)]
pub struct PredictedOutcome {
    /// An unobserved leaf.
    pub leaf: VarId,
    /// The state that it could be found in.
    pub state: StateId,
    /// Chance of that, given the evidence.
    pub p: f64,
    /// For every root of the network: its marginal given the evidence and the finding. Empty where
    /// the finding is impossible.
    pub roots: Vec<(VarId, Vec<f64>)>,
}

/// Looks ahead: every unobserved leaf variable in each of its states, with the marginals of all root
/// variables given it.
///
/// The evidence is built into the tree once. The states of a leaf are worked out side by side, only
/// what differs between one leaf and the next is propagated, and roots that a leaf can tell nothing
/// about are left as they are. Where the tree would be large, and all other leaves left out makes it so
/// much smaller that this is less work, every leaf has a tree of its own.
///
/// # Errors
/// [`InferenceError::Impossible`], [`InferenceError::TooLarge`].
pub fn predictions(network: &Network, evidence: &Evidence) -> Result<Vec<PredictedOutcome>, InferenceError> {
    let compiler = Compiler::new().with_evidence(evidence);
    let draft = compiler.draft(network)?;
    let leaves = open_leaves(network, evidence);
    if draft.dense() > LARGE && apart_is_less(network, evidence, &leaves, &draft)? {
        drop(draft);
        return predictions_by_leaf(network, evidence, &leaves).map_err(|error| match error {
            // In the words of the whole network.
            InferenceError::Impossible { .. } => conflict::impossible(network, evidence),
            other => other,
        });
    }
    let tree = compiler.finish(&Arc::new(network.clone()), draft, &mut Scratch::default())?;
    tree.predictions(&Evidence::new())
}

/// States of a leaf worked out side by side.
const LANES: usize = 4;

/// Below this many entries, with zeros, one tree is quick enough.
const LARGE: f64 = 5e6;
/// What an entry takes to be compiled and propagated through once, in that of a pass for some states of a
/// leaf, as measured on barley.
const DEARER_TO_BEGIN: f64 = 7.0;
/// The same for finding an order of elimination, by the square of the number of vertices.
const DEARER_TO_ORDER: f64 = 10.0;

/// Unobserved variables that are nobody's parent.
fn open_leaves(network: &Network, evidence: &Evidence) -> Vec<VarId> {
    let mut leaves = vec![true; network.len()];
    network.iter().flat_map(|(_, v)| v.parents()).for_each(|p| leaves[p.index()] = false);
    let open = |id: &VarId| leaves[id.index()] && evidence.get(*id).is_none();
    network.iter().map(|(id, _)| id).filter(open).collect()
}

/// Passes for a leaf.
fn passes(network: &Network, leaf: VarId) -> f64 {
    network.variable(leaf).cardinality().div_ceil(LANES) as f64
}

/// Whether a tree for every leaf is less work than the one drafted for all.
fn apart_is_less(
    network: &Network,
    evidence: &Evidence,
    leaves: &[VarId],
    all: &TreeDraft,
) -> Result<bool, InferenceError> {
    let together =
        all.dense() * (DEARER_TO_BEGIN + leaves.iter().map(|leaf| passes(network, *leaf)).sum::<f64>());
    let mut apart = 0.0;
    for leaf in leaves {
        let (part, _, given) = part_for(network, evidence, *leaf);
        let draft = Compiler::new().with_evidence(&given).draft(&part)?;
        apart += draft.dense() * (DEARER_TO_BEGIN + passes(network, *leaf));
        apart += DEARER_TO_ORDER * (draft.vertices() as f64).powi(2);
        if apart >= together {
            return Ok(false);
        }
    }
    Ok(!leaves.is_empty())
}

/// What a leaf and the evidence depend on: the network of that, the ids here of its variables, and the
/// evidence on it.
fn part_for(network: &Network, evidence: &Evidence, leaf: VarId) -> (Network, Vec<VarId>, Evidence) {
    let (part, ids) = network.subnetwork(&relevance::requisite(network, evidence, &[leaf]));
    let mut given = Evidence::new();
    for (old, (id, _)) in ids.iter().zip(part.iter()) {
        if let Some(likelihood) = evidence.get(*old) {
            given.set(id, likelihood.to_vec());
        }
    }
    (part, ids, given)
}

/// The sweep with a tree for every leaf. A root that is in none of them is as likely as ever.
fn predictions_by_leaf(
    network: &Network,
    evidence: &Evidence,
    leaves: &[VarId],
) -> Result<Vec<PredictedOutcome>, InferenceError> {
    let roots: Vec<(VarId, &Variable)> = network.iter().filter(|(_, v)| v.parents().is_empty()).collect();
    let (mut outlooks, mut scratch) = (Vec::new(), Scratch::default());
    for leaf in leaves {
        let (part, ids, given) = part_for(network, evidence, *leaf);
        let tree = Compiler::new().with_evidence(&given).compile_with(&Arc::new(part), &mut scratch)?;
        let here: Vec<VarId> =
            tree.network().iter().map(|(id, _)| id).filter(|id| ids[id.index()] == *leaf).collect();
        for outlook in tree.predictions_for(&Evidence::new(), &here)? {
            let mut told = outlook.roots.into_iter().map(|(id, p)| (ids[id.index()], p)).peekable();
            let possible = told.peek().is_some();
            let marginal = |(root, variable): &(VarId, &Variable)| {
                let prior = || (0..variable.cardinality()).map(|s| variable.probability(&[], s)).collect();
                (*root, told.next_if(|(id, _)| id == root).map_or_else(prior, |(_, p)| p))
            };
            let roots = if possible { roots.iter().map(marginal).collect() } else { Vec::new() };
            outlooks.push(PredictedOutcome { leaf: *leaf, roots, ..outlook });
        }
        tree.give_back(&mut scratch);
    }
    Ok(outlooks)
}

impl JunctionTree {
    /// The [`predictions`] over a tree compiled before, given some (or some more) evidence.
    ///
    /// # Errors
    /// [`InferenceError::Impossible`].
    pub fn predictions(&self, evidence: &Evidence) -> Result<Vec<PredictedOutcome>, InferenceError> {
        self.predictions_for(evidence, &open_leaves(self.network(), &self.with_fixed(evidence)))
    }

    fn predictions_for(
        &self,
        evidence: &Evidence,
        leaves: &[VarId],
    ) -> Result<Vec<PredictedOutcome>, InferenceError> {
        let network = self.network();
        let all = self.with_fixed(evidence);
        let mut work = self.lanes::<LANES>();
        if !self.propagate_lanes(&mut work, &[evidence], None)[0] {
            return Err(self.impossible(evidence));
        }
        let is_root = |id: &VarId| network.variable(*id).parents().is_empty();
        let roots: Vec<VarId> = network.iter().map(|(id, _)| id).filter(is_root).collect();
        let as_is: Vec<Vec<f64>> = roots.iter().map(|root| self.marginal_in(&work, 0, *root)).collect();
        let chances: Vec<(VarId, Vec<f64>)> =
            leaves.iter().map(|leaf| (*leaf, self.marginal_in(&work, 0, *leaf))).collect();
        let mut outlooks = Vec::new();
        for (leaf, chances) in chances {
            let reached = separation::reached(network, &all, leaf);
            let asked: Vec<VarId> = roots.iter().copied().filter(|root| reached[root.index()]).collect();
            let targets = self.targets(&asked);
            for states in (0..chances.len()).collect::<Vec<_>>().chunks(LANES) {
                let with: Vec<Evidence> = states
                    .iter()
                    .map(|state| {
                        let mut with = evidence.clone();
                        with.set_state(leaf, *state, chances.len());
                        with
                    })
                    .collect();
                let with: Vec<&Evidence> = with.iter().collect();
                let possible = self.propagate_lanes(&mut work, &with, Some(&targets));
                for (lane, state) in states.iter().enumerate() {
                    let given = |(root, before): (&VarId, &Vec<f64>)| {
                        let after = || self.marginal_in(&work, lane, *root);
                        (*root, if reached[root.index()] { after() } else { before.clone() })
                    };
                    let possible = possible[lane] && chances[*state] > 0.0;
                    outlooks.push(PredictedOutcome {
                        leaf,
                        state: StateId::new(*state),
                        p: chances[*state],
                        roots: if possible {
                            roots.iter().zip(&as_is).map(given).collect()
                        } else {
                            Vec::new()
                        },
                    });
                }
            }
        }
        Ok(outlooks)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::NetworkBuilder;
    use crate::precision::EXACT;

    #[test]
    fn the_smoke_of_the_alarm() {
        // Pearl's burglary and earthquake; P(B | J) = .0163 as Russell and Norvig leave it as an
        // exercise; recomputed here by hand: P(J) = .0521389757, P(B, J) = .000849017.
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
    fn a_tree_for_every_leaf_says_what_one_for_all_says() {
        let mut b = NetworkBuilder::new();
        let burglary = b.add("burglary", ["n", "y"], &[], vec![0.999, 0.001]).unwrap();
        let quake = b.add("quake", ["n", "y"], &[], vec![0.998, 0.002]).unwrap();
        let table = vec![0.999, 0.001, 0.71, 0.29, 0.06, 0.94, 0.05, 0.95];
        let alarm = b.add("alarm", ["n", "y"], &[burglary, quake], table).unwrap();
        // Five states, so that they do not fit in the lanes; one of them impossible.
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
            let apart = predictions_by_leaf(&network, &evidence, &open_leaves(&network, &evidence)).unwrap();
            assert_eq!(together.len(), apart.len());
            for (a, b) in together.iter().zip(&apart) {
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
