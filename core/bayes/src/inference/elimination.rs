//! Elimination orders by greedy heuristics.
//!
//! Eliminating a vertex connects all its neighbours. The greedy heuristics eliminate the vertex with the
//! least cost next; ties go to the vertex with the smallest clique, then to the first (Kjaerulff 1990,
//! "Triangulation of graphs: algorithms giving small total state space"). Min-fill and weighted min-fill are
//! both tried, because neither is better on all networks.
//!
//! If the cliques are large and mostly dense, randomised orders are tried as well. Their number keeps the
//! search to a small part of the time that compilation takes. If the cliques exceed the limit, all of them
//! are tried. For sparse tables the number of entries with zeros says little about the number without, so
//! they get no such search.

use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng as _, SeedableRng as _};

/// Maximum number of random seeds for each heuristic.
const SEEDS: u64 = 40;

/// Minimum number of entries for which randomised orders are tried.
const LARGE: f64 = 3e5;

/// Number of randomised orders, for each entry and squared number of vertices.
const ORDERS_PER_ENTRY: f64 = 0.05;

/// An undirected graph with one row of bits for each vertex.
#[derive(Clone)]
pub(super) struct EliminationGraph {
    words: usize,
    rows: Vec<Vec<u64>>,
}

impl EliminationGraph {
    pub(super) fn new(vertices: usize) -> Self {
        let words = vertices.div_ceil(64);
        EliminationGraph { words, rows: vec![vec![0; words]; vertices] }
    }

    pub(super) fn join(&mut self, a: usize, b: usize) {
        if a != b {
            self.rows[a][b / 64] |= 1 << (b % 64);
            self.rows[b][a / 64] |= 1 << (a % 64);
        }
    }

    fn joined(&self, a: usize, b: usize) -> bool {
        self.rows[a][b / 64] >> (b % 64) & 1 == 1
    }

    fn neighbours(&self, v: usize) -> Vec<usize> {
        ones(self.rows[v].iter().copied()).collect()
    }

    /// Cost of eliminating `v` by a heuristic. Each missing edge between neighbours counts twice.
    fn fill_cost(&self, v: usize, states: &[usize], heuristic: Heuristic) -> usize {
        let own = &self.rows[v];
        ones(own.iter().copied())
            .map(|n| {
                let unjoined = own.iter().zip(&self.rows[n]).map(|(own, of_n)| own & !of_n);
                match heuristic {
                    Heuristic::MinWeight => 0,
                    // `n` is a neighbour of `v` and is not adjacent to itself.
                    Heuristic::MinFill => unjoined.map(u64::count_ones).sum::<u32>() as usize - 1,
                    Heuristic::WeightedMinFill => {
                        let others: usize = ones(unjoined).map(|m| states[m]).sum();
                        states[n] * (others - states[n])
                    }
                }
            })
            .sum()
    }

    fn remove(&mut self, v: usize) {
        for n in self.neighbours(v) {
            self.rows[n][v / 64] &= !(1 << (v % 64));
        }
        self.rows[v].fill(0);
    }
}

/// Positions of the ones in a row of words.
fn ones(words: impl Iterator<Item = u64>) -> impl Iterator<Item = usize> {
    words.enumerate().flat_map(|(w, word)| {
        let mut bits = word;
        std::iter::from_fn(move || {
            let bit = (bits != 0).then(|| w * 64 + bits.trailing_zeros() as usize);
            bits &= bits.wrapping_sub(1);
            bit
        })
    })
}

/// An eliminated vertex with its neighbours at that moment.
pub(super) struct Elimination {
    pub(super) vertex: usize,
    pub(super) neighbours: Vec<usize>,
}

/// The cost by which the next vertex is chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Heuristic {
    /// Number of edges that the elimination adds.
    MinFill,
    /// The same, each edge weighted by the product of its vertices' numbers of states.
    WeightedMinFill,
    /// Number of entries of the clique.
    MinWeight,
}

/// The best of several greedy orders: the one whose cliques have the fewest entries together. `dense` says
/// whether most entries will not be zero.
pub(super) fn elimination_order(
    graph: &EliminationGraph,
    states: &[usize],
    dense: impl FnOnce() -> bool,
    max_entries: f64,
) -> Vec<Elimination> {
    let mut best: (f64, Vec<Elimination>) = (f64::INFINITY, Vec::new());
    let mut attempt = |heuristic, draw| {
        let order = greedy_order(graph.clone(), states, heuristic, draw);
        let entries = entries(&order, states);
        if entries < best.0 || best.1.is_empty() {
            best = (entries, order);
        }
        best.0
    };
    attempt(Heuristic::MinFill, None);
    let mut least = attempt(Heuristic::WeightedMinFill, None);
    let worth_it = least > LARGE && dense();
    let pairs = (states.len() as f64).powi(2);
    let seeds = (0..SEEDS).map(|seed| Some(Pcg64Mcg::seed_from_u64(seed)));
    let drawn = seeds.flat_map(|draw| {
        [Heuristic::MinFill, Heuristic::WeightedMinFill, Heuristic::MinWeight]
            .map(|heuristic| (heuristic, draw.clone()))
    });
    for (tried, (heuristic, draw)) in std::iter::once((Heuristic::MinWeight, None)).chain(drawn).enumerate() {
        if least <= max_entries && !(worth_it && (tried as f64) < 1.0 + ORDERS_PER_ENTRY * least / pairs) {
            break;
        }
        least = attempt(heuristic, draw);
    }
    best.1
}

/// Number of entries of all cliques of an order.
fn entries(order: &[Elimination], states: &[usize]) -> f64 {
    let clique = |e: &Elimination| -> f64 {
        e.neighbours.iter().chain([&e.vertex]).map(|v| states[*v] as f64).product()
    };
    order.iter().map(clique).sum()
}

/// Eliminates every vertex of `graph`; `states[v]` is the number of states of vertex `v`. With `draw`,
/// vertices of nearly the least cost may come next.
fn greedy_order(
    mut graph: EliminationGraph,
    states: &[usize],
    heuristic: Heuristic,
    mut draw: Option<Pcg64Mcg>,
) -> Vec<Elimination> {
    // Random handicap on the logarithm of the clique size: cliques up to three times as large count as equal.
    let loose = draw.is_some();
    let mut handicap =
        || draw.as_mut().map_or(0.0, |d| (f64::from(d.next_u32()) / f64::from(u32::MAX)) * 3_f64.ln());
    let count = states.len();
    let mut fill: Vec<usize> = (0..count).map(|v| graph.fill_cost(v, states, heuristic)).collect();
    let mut left: Vec<usize> = (0..count).collect();
    let mut order = Vec::with_capacity(count);
    let logs: Vec<f64> = states.iter().map(|s| (*s as f64).ln()).collect();
    let weight = |graph: &EliminationGraph, v: usize| -> f64 {
        ones(graph.rows[v].iter().copied()).map(|n| logs[n]).sum::<f64>() + logs[v]
    };
    // Vertices whose cost changes, as a row of the graph.
    let mut changed = vec![0_u64; graph.words];
    while !left.is_empty() {
        let least = left.iter().map(|v| fill[*v]).min().unwrap_or(0);
        let mut best: Option<(f64, usize)> = None;
        let most = if loose { least + least / 3 } else { least };
        for (at, v) in left.iter().enumerate().filter(|(_, v)| fill[**v] <= most) {
            let w = weight(&graph, *v) + handicap();
            if best.is_none_or(|(b, _)| w < b) {
                best = Some((w, at));
            }
        }
        let Some((_, at)) = best else { break };
        let vertex = left.remove(at);
        let neighbours = graph.neighbours(vertex);
        // The neighbours, and every vertex adjacent to two of them.
        changed.copy_from_slice(&graph.rows[vertex]);
        for (i, &a) in neighbours.iter().enumerate() {
            for &b in &neighbours[i + 1..] {
                if !graph.joined(a, b) {
                    let both = graph.rows[a].iter().zip(&graph.rows[b]).map(|(a, b)| a & b);
                    changed.iter_mut().zip(both).for_each(|(changed, both)| *changed |= both);
                    graph.join(a, b);
                }
            }
        }
        graph.remove(vertex);
        changed[vertex / 64] &= !(1 << (vertex % 64));
        for v in ones(changed.iter().copied()) {
            fill[v] = graph.fill_cost(v, states, heuristic);
        }
        order.push(Elimination { vertex, neighbours });
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cycle_of_five_needs_cliques_of_three() {
        let mut ring = EliminationGraph::new(5);
        for v in 0..5 {
            ring.join(v, (v + 1) % 5);
        }
        let order = elimination_order(&ring, &[2; 5], || true, 1e9);
        assert_eq!(order.len(), 5);
        assert_eq!(order.iter().map(|e| e.neighbours.len() + 1).max(), Some(3));
    }

    #[test]
    fn a_tree_needs_no_fill_edges_and_small_cliques_come_first() {
        let mut star = EliminationGraph::new(4);
        (1..4).for_each(|leaf| star.join(0, leaf));
        let order = elimination_order(&star, &[2, 9, 3, 5], || true, 1e9);
        assert!(order.iter().all(|e| e.neighbours.len() <= 1));
        assert_eq!(order[0].vertex, 2);
    }

    #[test]
    fn large_dense_tables_get_more_orders() {
        let states: Vec<usize> = (0..24).map(|v| 2 + v * 7 % 11).collect();
        let mut graph = EliminationGraph::new(states.len());
        let mut draw = Pcg64Mcg::seed_from_u64(7);
        let mut one = || draw.next_u32() as usize % states.len();
        (0..60).for_each(|_| graph.join(one(), one()));
        let entries = |dense: bool, max_entries: f64| {
            entries(&elimination_order(&graph, &states, || dense, max_entries), &states)
        };
        let plain = entries(false, f64::INFINITY);
        assert!(plain > LARGE, "{plain}");
        assert!(entries(true, f64::INFINITY) < plain);
        // Above the limit all orders are tried, dense or not.
        assert!(entries(false, 1.0) < plain);
    }
}
