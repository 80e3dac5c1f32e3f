//! Most probable explanations: the most probable complete configurations given the evidence.
//!
//! The algorithm uses the clique entries of propagation with a maximum in place of the sum. A *derivation* of
//! a separator configuration is an entry with a derivation for each child. Derivations are ranked lazily:
//! after the best derivation of an entry, candidates for the next are those that differ in the rank of one
//! child (Huang and Chiang 2005, "Better k-best parsing", algorithm 3). The partition of the remaining
//! candidates is Lawler's (1972).

use std::cmp::Ordering;
use std::collections::{BinaryHeap, HashMap};

use super::clique::Link;
use super::factor::{NoisyMaxForm, Placement};
use super::{Compiler, Evidence, InferenceError, JunctionTree};
use crate::network::{Network, StateId, VarId};

/// A complete configuration of a network: one state for each variable.
#[derive(Debug, Clone, PartialEq)]
pub struct Explanation {
    log_p: f64,
    states: Vec<StateId>,
}

impl Explanation {
    /// Natural logarithm of the joint probability of the configuration and the evidence.
    #[must_use]
    pub fn log_p(&self) -> f64 {
        self.log_p
    }

    /// The state of a variable.
    ///
    /// # Panics
    /// If the variable does not belong to the network.
    #[must_use]
    pub fn state(&self, var: VarId) -> StateId {
        self.states[var.index()]
    }

    /// The states of all variables, in the network's order.
    #[must_use]
    pub fn states(&self) -> &[StateId] {
        &self.states
    }
}

/// Returns the `k` most probable complete configurations given the evidence (most probable explanations,
/// MPE), best first. The list is shorter if fewer are possible. The order of equally probable ones depends
/// only on the network.
///
/// ```
/// use halfsplit_bayes::{Evidence, NetworkBuilder, most_probable_explanations};
///
/// let mut builder = NetworkBuilder::new();
/// let rain = builder.add("rain", ["no", "yes"], &[], vec![0.8, 0.2])?;
/// let wet = builder.add("wet", ["no", "yes"], &[rain], vec![0.9, 0.1, 0.05, 0.95])?;
/// let network = builder.build()?;
/// let mut evidence = Evidence::new();
/// evidence.observe(&network, wet, "yes")?;
/// let best = most_probable_explanations(&network, &evidence, 2)?;
/// assert_eq!(best[0].state(rain).index(), 1);
/// assert!((best[0].log_p().exp() - 0.19).abs() < 1e-15);
/// assert!((best[1].log_p().exp() - 0.08).abs() < 1e-15);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`InferenceError::Impossible`] if the evidence has probability zero. [`InferenceError::TooLarge`] if the
/// tree or the full table of a noisy-MAX is too large: maximisation cannot use the threshold factorisation.
///
/// # Panics
/// If the evidence refers to variables that the network does not have.
pub fn most_probable_explanations(
    network: &Network,
    evidence: &Evidence,
    k: usize,
) -> Result<Vec<Explanation>, InferenceError> {
    let tree =
        Compiler::new().with_evidence(evidence).noisy_max_form(NoisyMaxForm::Table).compile(network)?;
    let mut search = KBest::new(&tree);
    let mut found = Vec::new();
    while found.len() < k
        && let Some(log_p) = search.ranked(ROOT, found.len())
    {
        let mut states: Vec<StateId> = network
            .iter()
            .map(|(var, _)| match tree.placement(var) {
                Placement::Fixed(state) => StateId::new(state),
                Placement::Vertex(_) => StateId::new(0),
            })
            .collect();
        let mut by_vertex = vec![0; tree.vertex_slots.len()];
        search.write_states(found.len(), &mut by_vertex);
        for (var, _) in network.iter() {
            if let Placement::Vertex(vertex) = tree.placement(var) {
                states[var.index()] = StateId::new(by_vertex[vertex]);
            }
        }
        found.push(Explanation { log_p: log_p + tree.log_constant, states });
    }
    Ok(found)
}

/// A clique with a configuration of its separator to the parent. The roots are children of [`ROOT`].
type SearchNode = (usize, usize);

/// The parent of all roots.
const ROOT: SearchNode = (usize::MAX, 0);

/// An entry, with the rank of a derivation for each child.
#[derive(Debug, Clone, PartialEq)]
struct Derivation {
    log_p: f64,
    entry: usize,
    ranks: Vec<usize>,
    /// Successors raise only the ranks of this child and later ones, so that each derivation is found once.
    from: usize,
}

impl Eq for Derivation {}

impl Ord for Derivation {
    fn cmp(&self, other: &Self) -> Ordering {
        let by_place = || (other.entry, &other.ranks).cmp(&(self.entry, &self.ranks));
        self.log_p.total_cmp(&other.log_p).then_with(by_place)
    }
}

impl PartialOrd for Derivation {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// The derivations of a node: those already ranked, best first, and the candidates for the next rank.
#[derive(Debug, Default)]
struct Derivations {
    ranked: Vec<Derivation>,
    open: BinaryHeap<Derivation>,
}

/// Lazily ranked derivations of every node.
struct KBest<'t> {
    tree: &'t JunctionTree,
    /// By arena slot of a message: logarithm of the best derivation.
    best: Vec<f64>,
    derivations: HashMap<SearchNode, Derivations>,
}

impl<'t> KBest<'t> {
    fn new(tree: &'t JunctionTree) -> Self {
        let mut best = vec![f64::NEG_INFINITY; tree.arena];
        for clique in &tree.cliques {
            for (at, run) in clique.run_starts.windows(2).enumerate() {
                for entry in run[0] as usize..run[1] as usize {
                    let below = clique.links.iter().zip(clique.slots_of(entry));
                    let children = below.filter(|(l, _)| matches!(l, Link::Child(_)));
                    let log_p =
                        clique.values[entry].ln() + children.map(|(_, p)| best[*p as usize]).sum::<f64>();
                    let so_far = &mut best[clique.message_start + at];
                    *so_far = so_far.max(log_p);
                }
            }
        }
        KBest { tree, best, derivations: HashMap::new() }
    }

    /// The child nodes of an entry.
    fn children(&self, (clique, _): SearchNode, entry: usize) -> Vec<SearchNode> {
        if clique == ROOT.0 {
            let cliques = self.tree.cliques.iter().enumerate();
            return cliques.filter(|(_, c)| c.parent.is_none()).map(|(i, _)| (i, 0)).collect();
        }
        let clique = &self.tree.cliques[clique];
        let below = clique.links.iter().zip(clique.slots_of(entry));
        below
            .filter_map(|(link, slot)| match link {
                Link::Child(child) => {
                    Some((*child, *slot as usize - self.tree.cliques[*child].message_start))
                }
                _ => None,
            })
            .collect()
    }

    /// Logarithm of an entry's own value.
    fn entry_log_value(&self, (clique, _): SearchNode, entry: usize) -> f64 {
        if clique == ROOT.0 { 0.0 } else { self.tree.cliques[clique].values[entry].ln() }
    }

    /// Logarithm of the derivation with this rank, or `None` if there are fewer.
    fn ranked(&mut self, node: SearchNode, rank: usize) -> Option<f64> {
        if !self.derivations.contains_key(&node) {
            let entries = match node {
                ROOT => 0..1,
                (clique, at) => {
                    let run_starts = &self.tree.cliques[clique].run_starts;
                    run_starts[at] as usize..run_starts[at + 1] as usize
                }
            };
            let first = |entry: usize| {
                let children = self.children(node, entry);
                let below: f64 =
                    children.iter().map(|(c, at)| self.best[self.tree.cliques[*c].message_start + at]).sum();
                let log_p = self.entry_log_value(node, entry) + below;
                Derivation { log_p, entry, ranks: vec![0; children.len()], from: 0 }
            };
            let open = entries.map(first).filter(|derivation| derivation.log_p > f64::NEG_INFINITY).collect();
            self.derivations.insert(node, Derivations { ranked: Vec::new(), open });
        }
        loop {
            let derivations = self.derivations.get_mut(&node)?;
            if let Some(derivation) = derivations.ranked.get(rank) {
                return Some(derivation.log_p);
            }
            let derivation = derivations.open.pop()?;
            derivations.ranked.push(derivation.clone());
            let children = self.children(node, derivation.entry);
            for raised in derivation.from..children.len() {
                let mut ranks = derivation.ranks.clone();
                ranks[raised] += 1;
                if self.ranked(children[raised], ranks[raised]).is_none() {
                    continue;
                }
                let below: f64 =
                    children.iter().zip(&ranks).filter_map(|(child, rank)| self.ranked(*child, *rank)).sum();
                let log_p = self.entry_log_value(node, derivation.entry) + below;
                let next = Derivation { log_p, entry: derivation.entry, ranks, from: raised };
                if let Some(derivations) = self.derivations.get_mut(&node) {
                    derivations.open.push(next);
                }
            }
        }
    }

    /// Writes the states of the complete configuration with this rank.
    fn write_states(&mut self, rank: usize, states: &mut [usize]) {
        let mut open = vec![(ROOT, rank)];
        while let Some((node, rank)) = open.pop() {
            if self.ranked(node, rank).is_none() {
                continue;
            }
            let Derivation { entry, ranks, .. } = self.derivations[&node].ranked[rank].clone();
            open.extend(self.children(node, entry).into_iter().zip(ranks));
            if node != ROOT {
                let clique = &self.tree.cliques[node.0];
                for (link, slot) in clique.links.iter().zip(clique.slots_of(entry)) {
                    if let Link::Vertex(vertex) = link {
                        states[*vertex] = *slot as usize - self.tree.vertex_slots[*vertex].start;
                    }
                }
            }
        }
    }
}
