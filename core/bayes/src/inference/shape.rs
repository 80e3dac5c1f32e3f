//! The tree of cliques: which vertices stand together, before any numbers.

use super::order::Elimination;
use crate::support::order::descending;

/// Cliques in post-order: children before parents, and everything below a clique in one run that
/// ends with the clique itself.
pub(super) struct TreeShape {
    /// Vertices of each clique: those that it shares with its parent first.
    pub(super) scopes: Vec<Vec<usize>>,
    /// How many vertices it shares with its parent.
    pub(super) shared: Vec<usize>,
    pub(super) parents: Vec<Option<usize>>,
    /// First clique of the run that ends with each clique.
    pub(super) first: Vec<usize>,
    /// Elimination position of each vertex.
    position: Vec<usize>,
    /// The clique in which each vertex was eliminated, with all its neighbours of that moment. No
    /// clique nearer to the root holds the vertex.
    clique_of: Vec<usize>,
}

impl TreeShape {
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
        // The clique of an eliminated vertex hangs on that of its neighbour eliminated next. Where
        // that neighbour's own clique adds nothing to the first one, it is absorbed by it.
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
        // Links between the cliques that stay; a chain of absorptions hands the link on.
        let mut stays = Vec::new();
        let mut hangs_on: Vec<Option<usize>> = vec![None; count];
        for i in (0..count).filter(|i| absorbed_by[*i].is_none()) {
            stays.push(i);
            let mut at = i;
            hangs_on[i] = loop {
                match around[at].first().map(|v| position[*v]) {
                    None => break None,
                    Some(next) if holder(next) == i => at = next,
                    Some(next) => break Some(holder(next)),
                }
            };
        }
        let scope = |i: usize| [order[i].vertex].into_iter().chain(around[i].iter().copied());
        hang_on_the_smallest(&stays, &mut hangs_on, states, &scope);
        let mut children: Vec<Vec<usize>> = vec![Vec::new(); count];
        let mut roots = Vec::new();
        for i in stays {
            match hangs_on[i] {
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
        TreeShape { scopes, shared, parents, first, position, clique_of }
    }

    /// A clique that contains all these vertices, which some factor joins.
    pub(super) fn home_of(&self, scope: &[usize]) -> usize {
        let first = scope.iter().min_by_key(|v| self.position[**v]);
        first.map_or(0, |v| self.clique_of[*v])
    }

    /// The clique nearest to the root that holds a vertex.
    pub(super) fn top_of(&self, vertex: usize) -> usize {
        self.clique_of[vertex]
    }

    /// Whether a clique is below another, or the same.
    pub(super) fn is_below(&self, clique: usize, other: usize) -> bool {
        (self.first[other]..=other).contains(&clique)
    }

    /// Entries of each clique, zeros counted.
    pub(super) fn sizes(&self, states: &[usize]) -> Vec<f64> {
        self.scopes.iter().map(|s| s.iter().map(|v| states[*v] as f64).product()).collect()
    }
}

/// Hangs each clique on the smallest that holds all it shares with the one that it hangs on: what a clique says is
/// met by every entry of its parent. That all cliques with some vertex hang together stays so, as what is shared is
/// all that the two sides have in common.
fn hang_on_the_smallest<I: Iterator<Item = usize>>(
    stays: &[usize],
    hangs_on: &mut [Option<usize>],
    states: &[usize],
    scope: &impl Fn(usize) -> I,
) {
    let words = states.len().div_ceil(64);
    let mut place = vec![usize::MAX; hangs_on.len()];
    let mut rows = vec![0_u64; stays.len() * words];
    let mut sizes = Vec::with_capacity(stays.len());
    for (at, i) in stays.iter().enumerate() {
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
    for (at, i) in stays.iter().enumerate() {
        let Some(parent) = hangs_on[*i].map(|p| place[p]) else { continue };
        shared.iter_mut().zip(row(at).iter().zip(row(parent))).for_each(|(s, (a, b))| *s = a & b);
        let holds =
            |other: usize| row(other).iter().zip(&shared).all(|(row, shared)| row & shared == *shared);
        let is_above = |mut other: usize| loop {
            if other == *i {
                break true;
            }
            match hangs_on[other] {
                None => break false,
                Some(on) => other = on,
            }
        };
        let smaller = by_size.iter().rev().take_while(|other| sizes[**other] < sizes[parent]);
        let smallest = smaller.filter(|other| holds(**other)).find(|other| !is_above(stays[**other]));
        if let Some(smallest) = smallest {
            hangs_on[*i] = Some(stays[*smallest]);
        }
    }
}

/// All nodes of a forest, children before parents.
fn post_order(roots: &[usize], children: &[Vec<usize>]) -> Vec<usize> {
    // Parents before children, last child first; backwards that is post-order.
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

    use super::super::order::{Graph, eliminate};
    use super::*;

    /// The tree of a graph in which so many pairs are joined, by chance.
    fn drawn(states: &[usize], pairs: usize, draw: &mut Pcg64Mcg) -> TreeShape {
        let mut graph = Graph::new(states.len());
        let mut one = || draw.next_u32() as usize % states.len();
        (0..pairs).for_each(|_| graph.join(one(), one()));
        TreeShape::new(&eliminate(&graph, states, || true, f64::INFINITY), states)
    }

    #[test]
    fn cliques_hang_on_the_smallest_and_still_make_a_tree() {
        let mut draw = Pcg64Mcg::seed_from_u64(1);
        for round in 0..200 {
            let states: Vec<usize> = (0..20).map(|_| 2 + draw.next_u32() as usize % 4).collect();
            let shape = drawn(&states, 15 + round % 40, &mut draw);
            let sizes = shape.sizes(&states);
            let holds = |c: usize, of: &[usize]| of.iter().all(|v| shape.scopes[c].contains(v));
            // Everything below a clique comes before it, and the cliques of a vertex hang together: all of them but
            // one have a parent with it.
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
                    (0..sizes.len()).filter(smaller).all(|other| shape.is_below(other, c)),
                    "{c} in {round}"
                );
            }
        }
    }
}
