//! How large a tree will be, known before it is made.
//!
//! The entries with zeros counted are a product of numbers of states. Where those are too many, the cliques
//! are gone through twice without anything being kept of them but which configurations they share: from
//! the leaves, what a clique has entries for; from the roots, what of that meets an entry above. The entries
//! met both times are the ones that the tree will have.

use super::InferenceError;
use super::clique::{self, ABSENT, CliqueRole, Indexed};
use super::factor::Factors;
use super::shape::TreeShape;

/// How many times the limit is gone through on the way from the leaves: what counts there may meet nothing
/// above.
const PATIENCE: f64 = 4.0;
/// Configurations that may be looked at however low the limit on entries: some ten megabytes.
const FEW: f64 = 1e6;

/// What stands in which clique.
pub(super) struct SizePlan<'a> {
    pub(super) parts: &'a Factors,
    pub(super) shape: &'a TreeShape,
    /// Factors by clique.
    pub(super) assigned: &'a [Vec<usize>],
    /// By clique: those below it.
    pub(super) children: Vec<Vec<usize>>,
    /// Whether factors are kept apart from the cliques.
    apart: bool,
}

impl<'a> SizePlan<'a> {
    pub(super) fn new(
        parts: &'a Factors,
        shape: &'a TreeShape,
        assigned: &'a [Vec<usize>],
        apart: bool,
    ) -> Self {
        let mut children: Vec<Vec<usize>> = vec![Vec::new(); shape.scopes.len()];
        for (clique, parent) in shape.parents.iter().enumerate() {
            if let Some(parent) = parent {
                children[*parent].push(clique);
            }
        }
        SizePlan { parts, shape, assigned, children, apart }
    }

    /// By clique: 1 for every configuration shared with its parent that will have an entry, else 0. None
    /// where the tree fits whatever its zeros are.
    ///
    /// # Errors
    /// [`InferenceError::TooLarge`] where it would have more entries than the limit.
    pub(super) fn met(&self, limit: f64) -> Result<Option<Vec<Vec<f64>>>, InferenceError> {
        let SizePlan { parts, shape, children, .. } = self;
        let states = &parts.states;
        let dense: f64 = shape.sizes(states).iter().sum();
        if dense <= limit {
            return Ok(None);
        }
        let too_large = || Err(InferenceError::TooLarge { entries: dense, limit });
        let shared = |c: usize| &shape.scopes[c][..shape.shared[c]];
        let length = |c: usize| shared(c).iter().map(|v| states[*v] as f64).product::<f64>();
        if (0..shape.scopes.len()).map(length).sum::<f64>() > limit.max(FEW) {
            return too_large();
        }
        let mut left = PATIENCE * limit;
        let mut known: Vec<Vec<u32>> = Vec::with_capacity(shape.scopes.len());
        for (c, scope) in shape.scopes.iter().enumerate() {
            let mut here = vec![ABSENT; length(c) as usize];
            clique::visit(scope, shape.shared[c], states, &self.things(c, &known), &mut |at, _| {
                here[at] = at as u32;
                left -= 1.0;
                left >= 0.0
            });
            if left < 0.0 {
                return too_large();
            }
            known.push(here);
        }
        let mut met: Vec<Vec<f64>> = known.iter().map(|of| vec![0.0; of.len()]).collect();
        let mut entries = 0.0;
        for (c, scope) in shape.scopes.iter().enumerate().rev() {
            let of_parent = std::mem::take(&mut met[c]);
            let mut things = self.things(c, &known);
            things.push(Indexed { scope: shared(c), role: CliqueRole::Factor(&of_parent) });
            clique::visit(scope, shape.shared[c], states, &things, &mut |_, places| {
                children[c].iter().zip(places).for_each(|(child, place)| met[*child][*place as usize] = 1.0);
                entries += 1.0;
                entries <= limit
            });
            if entries > limit {
                return too_large();
            }
            drop(things);
            met[c] = of_parent;
        }
        Ok(Some(met))
    }

    /// What keeps the entries of a clique to those that [meet](Self::met) one above.
    pub(super) fn mask<'b>(&'b self, clique: usize, met: &'b [Vec<f64>]) -> Indexed<'b> {
        let shared = self.shape.shared[clique];
        Indexed { scope: &self.shape.scopes[clique][..shared], role: CliqueRole::Factor(&met[clique]) }
    }

    /// What comes in from below, then the factors.
    fn things<'b>(&'b self, clique: usize, known: &'b [Vec<u32>]) -> Vec<Indexed<'b>> {
        let SizePlan { parts, shape, assigned, children, apart } = self;
        let below = children[clique].iter().map(|child| Indexed {
            scope: &shape.scopes[*child][..shape.shared[*child]],
            role: CliqueRole::Message(&known[*child]),
        });
        let factors = assigned[clique].iter().map(|f| Indexed {
            scope: &parts.factors[*f].scope,
            role: if *apart {
                CliqueRole::Apart(&parts.factors[*f].values)
            } else {
                CliqueRole::Factor(&parts.factors[*f].values)
            },
        });
        below.chain(factors).collect()
    }
}

#[cfg(test)]
mod tests {
    use crate::inference::{Compiler, Evidence, InferenceError, JunctionTree};
    use crate::network::{Network, NetworkBuilder};
    use crate::precision::EXACT;

    /// Six coins, and a chain that counts how many show heads: most of its configurations do not come up.
    fn coins() -> Network {
        let mut b = NetworkBuilder::new();
        let levels = ["0", "1", "2", "3", "4", "5", "6"];
        let mut sum = b.add("sum 0", levels, &[], vec![1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]).unwrap();
        for at in 1..=6 {
            let coin = b.add(format!("coin {at}"), ["tail", "head"], &[], vec![0.5, 0.5]).unwrap();
            let mut table = Vec::new();
            for (before, head) in (0..7).flat_map(|before| [(before, 0), (before, 1)]) {
                table.extend((0..7).map(|now| f64::from(u8::from(now == 6.min(before + head)))));
            }
            sum = b.add(format!("sum {at}"), levels, &[sum, coin], table).unwrap();
        }
        b.build().unwrap()
    }

    #[test]
    fn a_tree_is_let_in_by_the_entries_that_it_will_have() {
        let network = coins();
        let mut three = Evidence::new();
        three.observe(&network, network.find("sum 6").unwrap(), "3").unwrap();
        let tree = JunctionTree::compile_with_evidence(&network, &three).unwrap();
        let limit = |entries: usize| {
            Compiler::new().with_evidence(&three).max_entries(entries as f64).compile(&network)
        };
        let close = limit(tree.entries()).unwrap();
        assert_eq!(close.entries(), tree.entries());
        let (a, b) = (tree.posterior(&Evidence::new()).unwrap(), close.posterior(&Evidence::new()).unwrap());
        assert!((a.log_p_evidence() - b.log_p_evidence()).abs() < EXACT);
        // C(6, 3) / 2^6.
        assert!((b.log_p_evidence() - (20.0_f64 / 64.0).ln()).abs() < 1e-12);
        for (p, q) in network.iter().flat_map(|(v, _)| a.marginal(v).iter().zip(b.marginal(v))) {
            assert!((p - q).abs() < EXACT);
        }
        assert!(matches!(limit(tree.entries() - 1), Err(InferenceError::TooLarge { .. })));
    }
}
