//! The same evidence plus one more finding, for every finding that could come.

use super::{Evidence, InferenceError, JunctionTree};
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
/// variables given it. The evidence is built into the tree once.
///
/// # Errors
/// [`InferenceError::Impossible`], [`InferenceError::TooLarge`].
pub fn sweep(network: &Network, evidence: &Evidence) -> Result<Vec<Outlook>, InferenceError> {
    let tree = JunctionTree::compile_given(network, evidence)?;
    let mut work = tree.workspace();
    tree.propagate(&mut work, &Evidence::new());
    let roots: Vec<VarId> =
        network.iter().filter(|(_, v)| v.parents().is_empty()).map(|(id, _)| id).collect();
    let leaves = network.iter().filter(|(id, _)| network.is_leaf(*id) && evidence.get(*id).is_none());
    let chances: Vec<(VarId, Vec<f64>)> = leaves.map(|(id, _)| (id, tree.marginal(&work, id))).collect();
    let mut outlooks = Vec::new();
    for (leaf, marginal) in chances {
        for (place, p) in marginal.iter().enumerate() {
            let mut finding = Evidence::new();
            finding.set_state(leaf, place, marginal.len());
            let possible = *p > 0.0 && tree.propagate(&mut work, &finding);
            let given = |root: &VarId| (*root, tree.marginal(&work, *root));
            outlooks.push(Outlook {
                leaf,
                state: StateId::new(place),
                p: *p,
                roots: if possible { roots.iter().map(given).collect() } else { Vec::new() },
            });
        }
    }
    Ok(outlooks)
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
