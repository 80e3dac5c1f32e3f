//! Elimination order by the min-fill rule.
//!
//! Eliminating a vertex joins all its neighbours; min-fill takes the one that adds the fewest new
//! pairs, and among equals the one whose clique has the fewest entries, then the first. Counting
//! every pair once or by its combinations of states, now one is better and now the other: both are
//! tried. FactorSource of the rules: Kjaerulff 1990, "Triangulation of graphs"; they are seldom far from
//! the best order and never slow. Where the tables will be large and full, taking the smallest clique is tried as well,
//! and other greedy orders that draw among the vertices that are nearly as good: as many as are little beside the work
//! that the tables will be, or, where they are too large to be made, some dozens, of which one is often several times
//! smaller. Where there are many zeros, the entries that are counted say little of those that there will be.

use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng as _, SeedableRng as _};

/// Seeds that orders are drawn with by every rule, at most.
const SEEDS: u64 = 40;

/// Tables of so many entries are worth a second look at their order.
const LARGE: f64 = 3e5;

/// Orders drawn for each entry and pair of vertices: with that finding the order is about a tenth of compiling, as
/// measured on barley.
const DRAWN: f64 = 0.05;

/// An undirected graph as one bit row per vertex.
#[derive(Clone)]
pub(super) struct Graph {
    words: usize,
    rows: Vec<Vec<u64>>,
}

impl Graph {
    pub(super) fn new(vertices: usize) -> Self {
        let words = vertices.div_ceil(64);
        Graph { words, rows: vec![vec![0; words]; vertices] }
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

    /// Pairs of neighbours of `v` that are not joined, counted twice, by a rule.
    fn fill(&self, v: usize, states: &[usize], rule: Rule) -> usize {
        let own = &self.rows[v];
        ones(own.iter().copied())
            .map(|n| {
                let unjoined = own.iter().zip(&self.rows[n]).map(|(own, of_n)| own & !of_n);
                match rule {
                    Rule::Size => 0,
                    // `n` is a neighbour of `v` and not of itself.
                    Rule::Pairs => unjoined.map(u64::count_ones).sum::<u32>() as usize - 1,
                    Rule::Entries => {
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

/// Places of the ones in a row of words.
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

/// One eliminated vertex with the neighbours that it had then.
pub(super) struct Elimination {
    pub(super) vertex: usize,
    pub(super) neighbours: Vec<usize>,
}

/// What a vertex costs at the moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Rule {
    /// Pairs of neighbours that would be joined.
    Pairs,
    /// The same, each pair counting as many times as it has combinations of states.
    Entries,
    /// No pairs: the smallest clique is next.
    Size,
}

/// The best of some greedy orders: the one whose cliques have the fewest entries together. More are tried where these
/// are many and the tables are `full`, and all that may be, always the same, where they are more than `enough`.
pub(super) fn eliminate(
    graph: &Graph,
    states: &[usize],
    full: impl FnOnce() -> bool,
    enough: f64,
) -> Vec<Elimination> {
    let mut best: (f64, Vec<Elimination>) = (f64::INFINITY, Vec::new());
    let mut attempt = |rule, draw| {
        let order = min_fill(graph.clone(), states, rule, draw);
        let entries = entries(&order, states);
        if entries < best.0 || best.1.is_empty() {
            best = (entries, order);
        }
        best.0
    };
    attempt(Rule::Pairs, None);
    let mut least = attempt(Rule::Entries, None);
    let worth_it = least > LARGE && full();
    let pairs = (states.len() as f64).powi(2);
    let seeds = (0..SEEDS).map(|seed| Some(Pcg64Mcg::seed_from_u64(seed)));
    let drawn =
        seeds.flat_map(|draw| [Rule::Pairs, Rule::Entries, Rule::Size].map(|rule| (rule, draw.clone())));
    for (tried, (rule, draw)) in std::iter::once((Rule::Size, None)).chain(drawn).enumerate() {
        if least <= enough && !(worth_it && (tried as f64) < 1.0 + DRAWN * least / pairs) {
            break;
        }
        least = attempt(rule, draw);
    }
    best.1
}

/// Entries of all cliques of an order together.
fn entries(order: &[Elimination], states: &[usize]) -> f64 {
    let clique = |e: &Elimination| -> f64 {
        e.neighbours.iter().chain([&e.vertex]).map(|v| states[*v] as f64).product()
    };
    order.iter().map(clique).sum()
}

/// Eliminates every vertex of `graph`; `states[v]` is the number of states of vertex `v`. With a `draw`, any of
/// the vertices that add few pairs may be next.
fn min_fill(mut graph: Graph, states: &[usize], rule: Rule, mut draw: Option<Pcg64Mcg>) -> Vec<Elimination> {
    // As logarithms of entries: up to three times as large a clique passes for as good.
    let loose = draw.is_some();
    let mut handicap =
        || draw.as_mut().map_or(0.0, |d| (f64::from(d.next_u32()) / f64::from(u32::MAX)) * 3_f64.ln());
    let count = states.len();
    let mut fill: Vec<usize> = (0..count).map(|v| graph.fill(v, states, rule)).collect();
    let mut left: Vec<usize> = (0..count).collect();
    let mut order = Vec::with_capacity(count);
    let logs: Vec<f64> = states.iter().map(|s| (*s as f64).ln()).collect();
    let weight = |graph: &Graph, v: usize| -> f64 {
        ones(graph.rows[v].iter().copied()).map(|n| logs[n]).sum::<f64>() + logs[v]
    };
    // Who sees a change: as a row of the graph.
    let mut touched = vec![0_u64; graph.words];
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
        // Everyone whose neighbourhood changes: the neighbours, and whoever sees two of them.
        touched.copy_from_slice(&graph.rows[vertex]);
        for (i, &a) in neighbours.iter().enumerate() {
            for &b in &neighbours[i + 1..] {
                if !graph.joined(a, b) {
                    let both = graph.rows[a].iter().zip(&graph.rows[b]).map(|(a, b)| a & b);
                    touched.iter_mut().zip(both).for_each(|(touched, both)| *touched |= both);
                    graph.join(a, b);
                }
            }
        }
        graph.remove(vertex);
        touched[vertex / 64] &= !(1 << (vertex % 64));
        for v in ones(touched.iter().copied()) {
            fill[v] = graph.fill(v, states, rule);
        }
        order.push(Elimination { vertex, neighbours });
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ring_of_five_needs_cliques_of_three() {
        let mut ring = Graph::new(5);
        for v in 0..5 {
            ring.join(v, (v + 1) % 5);
        }
        let order = eliminate(&ring, &[2; 5], || true, 1e9);
        assert_eq!(order.len(), 5);
        assert_eq!(order.iter().map(|e| e.neighbours.len() + 1).max(), Some(3));
    }

    #[test]
    fn a_tree_fills_nothing_and_takes_small_cliques_first() {
        let mut star = Graph::new(4);
        (1..4).for_each(|leaf| star.join(0, leaf));
        let order = eliminate(&star, &[2, 9, 3, 5], || true, 1e9);
        assert!(order.iter().all(|e| e.neighbours.len() <= 1));
        assert_eq!(order[0].vertex, 2);
    }

    #[test]
    fn more_orders_are_tried_where_full_tables_will_be_large() {
        let states: Vec<usize> = (0..24).map(|v| 2 + v * 7 % 11).collect();
        let mut graph = Graph::new(states.len());
        let mut draw = Pcg64Mcg::seed_from_u64(7);
        let mut one = || draw.next_u32() as usize % states.len();
        (0..60).for_each(|_| graph.join(one(), one()));
        let entries =
            |full: bool, enough: f64| entries(&eliminate(&graph, &states, || full, enough), &states);
        let plain = entries(false, f64::INFINITY);
        assert!(plain > LARGE, "{plain}");
        assert!(entries(true, f64::INFINITY) < plain);
        // Too large for anything: all are tried, full or not.
        assert!(entries(false, 1.0) < plain);
    }
}
