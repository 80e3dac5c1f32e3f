//! The most probable most_probable_explanations: the complete configurations that fit the evidence best.
//!
//! The same lists of entries, with a maximum where propagation has a sum. For every configuration of
//! a separator the best way to continue below it is known, then the second best, and so on, each
//! worked out when it is asked for: the next best of a clique is the best of its entries not yet
//! used, each with the best continuations not yet used with it (Huang and Chiang 2005, "Better k-best
//! parsing", algorithm 3; the partition of the rest is Lawler's, 1972).

use std::cmp::Ordering;
use std::collections::{BinaryHeap, HashMap};

use super::clique::Link;
use super::factor::{Place, Rules};
use super::{Compiler, Evidence, InferenceError, JunctionTree};
use crate::network::{Network, StateId, VarId};

/// A complete configuration of a network.
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

/// The `k` most probable complete configurations given the evidence, best first; fewer if fewer are
/// possible. Equally probable ones come in an order that depends on the network alone.
///
/// ```
/// use halfsplit_bayes::{Evidence, NetworkBuilder, most_probable_explanations};
///
/// let mut b = NetworkBuilder::new();
/// let rain = b.add("rain", ["no", "yes"], &[], vec![0.8, 0.2])?;
/// let wet = b.add("wet", ["no", "yes"], &[rain], vec![0.9, 0.1, 0.05, 0.95])?;
/// let network = b.build()?;
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
/// [`InferenceError::Impossible`]; [`InferenceError::TooLarge`], also where a noisy-MAX has a table
/// too large to be written out.
pub fn most_probable_explanations(
    network: &Network,
    evidence: &Evidence,
    k: usize,
) -> Result<Vec<Explanation>, InferenceError> {
    let tree = Compiler::new().with_evidence(evidence).rules(Rules::WrittenOut).compile(network)?;
    let mut search = Search::new(&tree);
    let mut found = Vec::new();
    while found.len() < k
        && let Some(log_p) = search.ranked(TOP, found.len())
    {
        let mut states: Vec<StateId> = network
            .iter()
            .map(|(var, _)| match tree.place(var) {
                Place::Fixed(state) => StateId::new(state),
                Place::Vertex(_) => StateId::new(0),
            })
            .collect();
        let mut by_vertex = vec![0; tree.homes.len()];
        search.unfold(found.len(), &mut by_vertex);
        for (var, _) in network.iter() {
            if let Place::Vertex(vertex) = tree.place(var) {
                states[var.index()] = StateId::new(by_vertex[vertex]);
            }
        }
        found.push(Explanation { log_p: log_p + tree.log_constant, states });
    }
    Ok(found)
}

/// A clique with a configuration of what it shares with its parent; the roots hang on [`TOP`].
type Node = (usize, usize);

/// What all roots hang on.
const TOP: Node = (usize::MAX, 0);

/// One way to continue below a node: an entry, with the rank of the continuation of each child.
#[derive(Debug, Clone, PartialEq)]
struct Way {
    log_p: f64,
    entry: usize,
    ranks: Vec<usize>,
    /// Only ranks from this child on are raised further, so that each way is met once.
    from: usize,
}

impl Eq for Way {}

impl Ord for Way {
    fn cmp(&self, other: &Self) -> Ordering {
        let by_place = || (other.entry, &other.ranks).cmp(&(self.entry, &self.ranks));
        self.log_p.total_cmp(&other.log_p).then_with(by_place)
    }
}

impl PartialOrd for Way {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// Ways below a node: those ranked so far, best first, and those that may come next.
#[derive(Debug, Default)]
struct Ways {
    ranked: Vec<Way>,
    open: BinaryHeap<Way>,
}

struct Search<'t> {
    tree: &'t JunctionTree,
    /// By place in the arena of a message: logarithm of the best below.
    best: Vec<f64>,
    ways: HashMap<Node, Ways>,
}

impl<'t> Search<'t> {
    fn new(tree: &'t JunctionTree) -> Self {
        let mut best = vec![f64::NEG_INFINITY; tree.arena];
        for clique in &tree.cliques {
            for (at, run) in clique.starts.windows(2).enumerate() {
                for entry in run[0] as usize..run[1] as usize {
                    let below = clique.links.iter().zip(clique.places_of(entry));
                    let children = below.filter(|(l, _)| matches!(l, Link::Child(_)));
                    let log_p =
                        clique.values[entry].ln() + children.map(|(_, p)| best[*p as usize]).sum::<f64>();
                    let so_far = &mut best[clique.slot + at];
                    *so_far = so_far.max(log_p);
                }
            }
        }
        Search { tree, best, ways: HashMap::new() }
    }

    /// Children of a node under one of its entries.
    fn children(&self, (clique, _): Node, entry: usize) -> Vec<Node> {
        if clique == TOP.0 {
            let cliques = self.tree.cliques.iter().enumerate();
            return cliques.filter(|(_, c)| c.parent.is_none()).map(|(i, _)| (i, 0)).collect();
        }
        let clique = &self.tree.cliques[clique];
        let below = clique.links.iter().zip(clique.places_of(entry));
        below
            .filter_map(|(link, place)| match link {
                Link::Child(child) => Some((*child, *place as usize - self.tree.cliques[*child].slot)),
                _ => None,
            })
            .collect()
    }

    /// Logarithm of an entry's own value.
    fn own(&self, (clique, _): Node, entry: usize) -> f64 {
        if clique == TOP.0 { 0.0 } else { self.tree.cliques[clique].values[entry].ln() }
    }

    /// Logarithm of the way of this rank below a node, if there are so many.
    fn ranked(&mut self, node: Node, rank: usize) -> Option<f64> {
        if !self.ways.contains_key(&node) {
            let entries = match node {
                TOP => 0..1,
                (clique, at) => {
                    let starts = &self.tree.cliques[clique].starts;
                    starts[at] as usize..starts[at + 1] as usize
                }
            };
            let first = |entry: usize| {
                let children = self.children(node, entry);
                let below: f64 =
                    children.iter().map(|(c, at)| self.best[self.tree.cliques[*c].slot + at]).sum();
                let log_p = self.own(node, entry) + below;
                Way { log_p, entry, ranks: vec![0; children.len()], from: 0 }
            };
            let open = entries.map(first).filter(|way| way.log_p > f64::NEG_INFINITY).collect();
            self.ways.insert(node, Ways { ranked: Vec::new(), open });
        }
        loop {
            let ways = self.ways.get_mut(&node)?;
            if let Some(way) = ways.ranked.get(rank) {
                return Some(way.log_p);
            }
            let way = ways.open.pop()?;
            ways.ranked.push(way.clone());
            let children = self.children(node, way.entry);
            for raised in way.from..children.len() {
                let mut ranks = way.ranks.clone();
                ranks[raised] += 1;
                if self.ranked(children[raised], ranks[raised]).is_none() {
                    continue;
                }
                let below: f64 =
                    children.iter().zip(&ranks).filter_map(|(child, rank)| self.ranked(*child, *rank)).sum();
                let log_p = self.own(node, way.entry) + below;
                let next = Way { log_p, entry: way.entry, ranks, from: raised };
                if let Some(ways) = self.ways.get_mut(&node) {
                    ways.open.push(next);
                }
            }
        }
    }

    /// Writes down the states of the configuration of a rank.
    fn unfold(&mut self, rank: usize, states: &mut [usize]) {
        let mut open = vec![(TOP, rank)];
        while let Some((node, rank)) = open.pop() {
            if self.ranked(node, rank).is_none() {
                continue;
            }
            let Way { entry, ranks, .. } = self.ways[&node].ranked[rank].clone();
            open.extend(self.children(node, entry).into_iter().zip(ranks));
            if node != TOP {
                let clique = &self.tree.cliques[node.0];
                for (link, place) in clique.links.iter().zip(clique.places_of(entry)) {
                    if let Link::Vertex(vertex) = link {
                        states[*vertex] = *place as usize - self.tree.homes[*vertex].slot;
                    }
                }
            }
        }
    }
}
