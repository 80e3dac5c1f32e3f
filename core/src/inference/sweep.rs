//! The same evidence plus one more finding, for every finding that could come.

use super::{Evidence, InferenceError, JunctionTree, separation};
use crate::network::{Network, StateId, VarId};

/// One more finding and what it would tell.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
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
/// about are left as they are.
///
/// # Errors
/// [`InferenceError::Impossible`], [`InferenceError::TooLarge`].
pub fn sweep(network: &Network, evidence: &Evidence) -> Result<Vec<Outlook>, InferenceError> {
    JunctionTree::compile_given(network, evidence)?.sweep(&Evidence::new())
}

/// States of a leaf worked out side by side.
const LANES: usize = 4;

impl JunctionTree {
    /// The [`sweep`] over a tree compiled before, given some (or some more) evidence.
    ///
    /// # Errors
    /// [`InferenceError::Impossible`].
    pub fn sweep(&self, evidence: &Evidence) -> Result<Vec<Outlook>, InferenceError> {
        let network = self.network();
        let all = self.with_fixed(evidence);
        let mut work = self.lanes::<LANES>();
        if !self.propagate_lanes(&mut work, &[evidence], None)[0] {
            return Err(self.impossible(evidence));
        }
        let ids = || network.iter().map(|(id, _)| id);
        let is_parent = {
            let mut is_parent = vec![false; network.len()];
            network.iter().flat_map(|(_, v)| v.parents()).for_each(|p| is_parent[p.index()] = true);
            is_parent
        };
        let roots: Vec<VarId> = ids().filter(|id| network.variable(*id).parents().is_empty()).collect();
        let as_is: Vec<Vec<f64>> = roots.iter().map(|root| self.marginal_in(&work, 0, *root)).collect();
        let leaves = ids().filter(|id| !is_parent[id.index()] && all.get(*id).is_none());
        let chances: Vec<(VarId, Vec<f64>)> =
            leaves.map(|leaf| (leaf, self.marginal_in(&work, 0, leaf))).collect();
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
                    outlooks.push(Outlook {
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
        let all = sweep(&network, &evidence).unwrap();
        assert_eq!(all.iter().map(|o| o.leaf).collect::<Vec<_>>(), [john, john]);
        assert!((all.iter().map(|o| o.p).sum::<f64>() - 1.0).abs() < EXACT);
        // P(B | J, M) = .284172 (Russell and Norvig: .284).
        assert!((all[1].roots[0].1[1] - 0.284_172).abs() < 5e-7);
        assert_eq!(all[1].roots[1].0, quake);
    }
}
