//! The tree of cliques, before any entries are listed.

use super::elimination::Elimination;
use crate::support::order::descending;

/// Cliques in post-order: children before parents, and the subtree of each clique is one contiguous run that
/// ends with it.
pub(super) struct CliqueTree {
    /// Vertices of each clique. Those of the separator to the parent come first.
    pub(super) scopes: Vec<Vec<usize>>,
    /// Number of vertices in the separator to the parent.
    pub(super) shared: Vec<usize>,
    pub(super) parents: Vec<Option<usize>>,
    /// First clique of the subtree of each clique.
    pub(super) first: Vec<usize>,
    /// Elimination position of each vertex.
    position: Vec<usize>,
    /// The clique in which each vertex is eliminated, together with its neighbours at that moment. No clique
    /// nearer to the root contains the vertex.
    clique_of: Vec<usize>,
}

impl CliqueTree {
    /// The tree of an elimination order.
    pub(super) fn new(order: &[Elimination], states: &[usize]) -> Self {
        let (count, vertices) = (order.len(), states.len());
        let mut position = vec![0; vertices];
        order.iter().enumerate().for_each(|(i, e)| position[e.vertex] = i);
        let around: Vec<Vec<usize>> = order
            .iter()
            .map(|e| {
                let mut list = e.neighbours.clone();
                list.sort_unstable_by_key(|v| position[*v]);
                list
            })
            .collect();
        // The parent of an eliminated vertex's clique is the clique of its next eliminated neighbour. If the
        // parent's scope is a subset of the child's, the child absorbs it.
        let mut absorbed_by: Vec<Option<usize>> = vec![None; count];
        for (i, n) in around.iter().enumerate() {
            if let Some(next) = n.first().map(|v| position[*v])
                && absorbed_by[next].is_none()
                && around[next].len() + 1 == n.len()
            {
                absorbed_by[next] = Some(i);
            }
        }
        let holder = |mut i: usize| {
            while let Some(j) = absorbed_by[i] {
                i = j;
            }
            i
        };
        // The cliques that remain. A chain of absorptions passes the link to the parent on.
        let mut kept = Vec::new();
        let mut parent_of: Vec<Option<usize>> = vec![None; count];
        for i in (0..count).filter(|i| absorbed_by[*i].is_none()) {
            kept.push(i);
            let mut at = i;
            parent_of[i] = loop {
                match around[at].first().map(|v| position[*v]) {
                    None => break None,
                    Some(next) if holder(next) == i => at = next,
                    Some(next) => break Some(holder(next)),
                }
            };
        }
        let scope = |i: usize| [order[i].vertex].into_iter().chain(around[i].iter().copied());
        attach_to_smallest(&kept, &mut parent_of, states, &scope);
        let mut children: Vec<Vec<usize>> = vec![Vec::new(); count];
        let mut roots = Vec::new();
        for i in kept {
            match parent_of[i] {
                None => roots.push(i),
                Some(on) => children[on].push(i),
            }
        }
        let order_of_cliques = post_order(&roots, &children);
        let mut place = vec![usize::MAX; count];
        order_of_cliques.iter().enumerate().for_each(|(new, old)| place[*old] = new);
        let mut parents = vec![None; order_of_cliques.len()];
        let mut first: Vec<usize> = (0..order_of_cliques.len()).collect();
        for (new, old) in order_of_cliques.iter().enumerate() {
            for child in &children[*old] {
                parents[place[*child]] = Some(new);
                first[new] = first[new].min(first[place[*child]]);
            }
        }
        let mut scopes: Vec<Vec<usize>> = order_of_cliques.iter().map(|i| scope(*i).collect()).collect();
        let shared = (0..scopes.len())
            .map(|c| {
                let Some(parent) = parents[c] else { return 0 };
                let (both, rest): (Vec<usize>, Vec<usize>) =
                    scopes[c].iter().partition(|v| scopes[parent].contains(v));
                let shared = both.len();
                scopes[c] = [both, rest].concat();
                shared
            })
            .collect();
        let clique_of = (0..vertices).map(|v| place[holder(position[v])]).collect();
        CliqueTree { scopes, shared, parents, first, position, clique_of }
    }

    /// A clique that contains all vertices of a factor's scope.
    pub(super) fn host_of(&self, scope: &[usize]) -> usize {
        let first = scope.iter().min_by_key(|v| self.position[**v]);
        first.map_or(0, |v| self.clique_of[*v])
    }

    /// The clique nearest to the root that contains a vertex.
    pub(super) fn top_clique_of(&self, vertex: usize) -> usize {
        self.clique_of[vertex]
    }

    /// Whether `clique` is `other` or one of its descendants.
    pub(super) fn is_in_subtree(&self, clique: usize, other: usize) -> bool {
        (self.first[other]..=other).contains(&clique)
    }

    /// Number of entries of each clique, zeros included.
    pub(super) fn sizes(&self, states: &[usize]) -> Vec<f64> {
        self.scopes.iter().map(|s| s.iter().map(|v| states[*v] as f64).product()).collect()
    }
}

/// Moves each clique to the smallest parent that contains its separator, because every entry of the parent is
/// visited for its message. The running intersection property is preserved: the separator is all that the two
/// sides have in common.
fn attach_to_smallest<I: Iterator<Item = usize>>(
    kept: &[usize],
    parent_of: &mut [Option<usize>],
    states: &[usize],
    scope: &impl Fn(usize) -> I,
) {
    let words = states.len().div_ceil(64);
    let mut place = vec![usize::MAX; parent_of.len()];
    let mut rows = vec![0_u64; kept.len() * words];
    let mut sizes = Vec::with_capacity(kept.len());
    for (at, i) in kept.iter().enumerate() {
        place[*i] = at;
        let row = &mut rows[at * words..(at + 1) * words];
        sizes.push(scope(*i).fold(1.0, |size, v| {
            row[v / 64] |= 1 << (v % 64);
            size * states[v] as f64
        }));
    }
    let row = |at: usize| &rows[at * words..(at + 1) * words];
    let by_size = descending(&sizes);
    let mut shared = vec![0_u64; words];
    for (at, i) in kept.iter().enumerate() {
        let Some(parent) = parent_of[*i].map(|p| place[p]) else { continue };
        shared.iter_mut().zip(row(at).iter().zip(row(parent))).for_each(|(s, (a, b))| *s = a & b);
        let holds =
            |other: usize| row(other).iter().zip(&shared).all(|(row, shared)| row & shared == *shared);
        let is_above = |mut other: usize| loop {
            if other == *i {
                break true;
            }
            match parent_of[other] {
                None => break false,
                Some(on) => other = on,
            }
        };
        let smaller = by_size.iter().rev().take_while(|other| sizes[**other] < sizes[parent]);
        let smallest = smaller.filter(|other| holds(**other)).find(|other| !is_above(kept[**other]));
        if let Some(smallest) = smallest {
            parent_of[*i] = Some(kept[*smallest]);
        }
    }
}

/// All nodes of a forest, children before parents.
fn post_order(roots: &[usize], children: &[Vec<usize>]) -> Vec<usize> {
    // Parents before children, last child first; reversed, this is post-order.
    let mut open: Vec<usize> = roots.to_vec();
    let mut order = Vec::new();
    while let Some(node) = open.pop() {
        order.push(node);
        open.extend(&children[node]);
    }
    order.reverse();
    order
}

#[cfg(test)]
mod tests {
    use rand_pcg::Pcg64Mcg;
    use rand_pcg::rand_core::{Rng as _, SeedableRng as _};

    use super::super::elimination::{EliminationGraph, elimination_order};
    use super::*;

    /// The tree of a random graph with at most this many edges.
    fn random_tree(states: &[usize], edges: usize, draw: &mut Pcg64Mcg) -> CliqueTree {
        let mut graph = EliminationGraph::new(states.len());
        let mut one = || draw.next_u32() as usize % states.len();
        (0..edges).for_each(|_| graph.join(one(), one()));
        CliqueTree::new(&elimination_order(&graph, states, || true, f64::INFINITY), states)
    }

    #[test]
    fn smallest_parents_keep_the_running_intersection_property() {
        let mut draw = Pcg64Mcg::seed_from_u64(1);
        for round in 0..200 {
            let states: Vec<usize> = (0..20).map(|_| 2 + draw.next_u32() as usize % 4).collect();
            let shape = random_tree(&states, 15 + round % 40, &mut draw);
            let sizes = shape.sizes(&states);
            let holds = |c: usize, of: &[usize]| of.iter().all(|v| shape.scopes[c].contains(v));
            // Children come before parents, and the cliques of a vertex are connected: only one of them has
            // no parent that contains the vertex.
            assert!(shape.parents.iter().enumerate().all(|(c, p)| p.is_none_or(|p| p > c)));
            for v in 0..states.len() {
                let with: Vec<usize> = (0..sizes.len()).filter(|c| holds(*c, &[v])).collect();
                let tops = with.iter().filter(|c| shape.parents[**c].is_none_or(|p| !holds(p, &[v])));
                assert_eq!(tops.count(), 1, "vertex {v}");
            }
            for (c, parent) in shape.parents.iter().enumerate() {
                let Some(parent) = *parent else { continue };
                let shared = &shape.scopes[c][..shape.shared[c]];
                assert!(holds(parent, shared));
                let smaller = |other: &usize| sizes[*other] < sizes[parent] && holds(*other, shared);
                assert!(
                    (0..sizes.len()).filter(smaller).all(|other| shape.is_in_subtree(other, c)),
                    "{c} in {round}"
                );
            }
        }
    }
}
