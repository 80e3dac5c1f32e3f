//! Counts the entries of a tree before they are listed.
//!
//! The count with zeros is a product of numbers of states. If it exceeds the limit, two passes over the
//! cliques count the entries that the finished tree will have, and keep only separator configurations. The
//! pass towards the root finds configurations for which the subtree has an entry. The pass away from the root
//! keeps those that also occur in an entry of the parent.

use super::InferenceError;
use super::clique_tree::CliqueTree;
use super::entry_list::{self, NO_CONFIGURATION, Operand, OperandRole};
use super::factor::Factors;

/// The first pass may visit this many times the limit, because some of its entries are dropped by the second
/// pass.
const UPWARD_FACTOR: f64 = 4.0;
/// Number of separator configurations that is allowed for any limit: about 10 megabytes.
const MIN_CONFIGURATIONS: f64 = 1e6;

/// A clique tree with its factors.
pub(super) struct EntryCounter<'a> {
    pub(super) factors: &'a Factors,
    pub(super) tree: &'a CliqueTree,
    /// By clique: the factors assigned to it.
    pub(super) assigned: &'a [Vec<usize>],
    /// By clique: its children.
    pub(super) children: Vec<Vec<usize>>,
    /// Whether factors are kept separate from the cliques.
    keep_factors: bool,
}

impl<'a> EntryCounter<'a> {
    pub(super) fn new(
        factors: &'a Factors,
        tree: &'a CliqueTree,
        assigned: &'a [Vec<usize>],
        keep_factors: bool,
    ) -> Self {
        let mut children: Vec<Vec<usize>> = vec![Vec::new(); tree.scopes.len()];
        for (clique, parent) in tree.parents.iter().enumerate() {
            if let Some(parent) = parent {
                children[*parent].push(clique);
            }
        }
        EntryCounter { factors, tree, assigned, children, keep_factors }
    }

    /// By clique and separator configuration: 1 if the finished tree has an entry with it, else 0. `None` if
    /// the tree is within the limit even with all zeros counted.
    ///
    /// # Errors
    /// [`InferenceError::TooLarge`] if the finished tree has more entries than the limit.
    pub(super) fn reachable(&self, limit: f64) -> Result<Option<Vec<Vec<f64>>>, InferenceError> {
        let EntryCounter { factors, tree, children, .. } = self;
        let states = &factors.states;
        let dense: f64 = tree.sizes(states).iter().sum();
        if dense <= limit {
            return Ok(None);
        }
        let too_large = || Err(InferenceError::TooLarge { entries: dense, limit });
        let shared = |c: usize| &tree.scopes[c][..tree.shared[c]];
        let length = |c: usize| shared(c).iter().map(|v| states[*v] as f64).product::<f64>();
        if (0..tree.scopes.len()).map(length).sum::<f64>() > limit.max(MIN_CONFIGURATIONS) {
            return too_large();
        }
        let mut left = UPWARD_FACTOR * limit;
        let mut present: Vec<Vec<u32>> = Vec::with_capacity(tree.scopes.len());
        for (c, scope) in tree.scopes.iter().enumerate() {
            let mut here = vec![NO_CONFIGURATION; length(c) as usize];
            entry_list::visit(scope, tree.shared[c], states, &self.operands(c, &present), &mut |at, _| {
                here[at] = at as u32;
                left -= 1.0;
                left >= 0.0
            });
            if left < 0.0 {
                return too_large();
            }
            present.push(here);
        }
        let mut reachable: Vec<Vec<f64>> = present.iter().map(|of| vec![0.0; of.len()]).collect();
        let mut entries = 0.0;
        for (c, scope) in tree.scopes.iter().enumerate().rev() {
            let of_parent = std::mem::take(&mut reachable[c]);
            let mut operands = self.operands(c, &present);
            operands.push(Operand { scope: shared(c), role: OperandRole::Factor(&of_parent) });
            entry_list::visit(scope, tree.shared[c], states, &operands, &mut |_, slots| {
                children[c]
                    .iter()
                    .zip(slots)
                    .for_each(|(child, slot)| reachable[*child][*slot as usize] = 1.0);
                entries += 1.0;
                entries <= limit
            });
            if entries > limit {
                return too_large();
            }
            drop(operands);
            reachable[c] = of_parent;
        }
        Ok(Some(reachable))
    }

    /// The operand that restricts a clique to its [reachable](Self::reachable) configurations.
    pub(super) fn mask<'b>(&'b self, clique: usize, reachable: &'b [Vec<f64>]) -> Operand<'b> {
        let shared = self.tree.shared[clique];
        Operand { scope: &self.tree.scopes[clique][..shared], role: OperandRole::Factor(&reachable[clique]) }
    }

    /// The messages of the children, then the factors.
    fn operands<'b>(&'b self, clique: usize, present: &'b [Vec<u32>]) -> Vec<Operand<'b>> {
        let EntryCounter { factors, tree, assigned, children, keep_factors } = self;
        let below = children[clique].iter().map(|child| Operand {
            scope: &tree.scopes[*child][..tree.shared[*child]],
            role: OperandRole::Message(&present[*child]),
        });
        let factors = assigned[clique].iter().map(|f| Operand {
            scope: &factors.factors[*f].scope,
            role: if *keep_factors {
                OperandRole::Kept(&factors.factors[*f].values)
            } else {
                OperandRole::Factor(&factors.factors[*f].values)
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

    /// Six coins, and a chain of variables that counts the heads. Most configurations have probability zero.
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
    fn the_limit_counts_entries_without_zeros() {
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
