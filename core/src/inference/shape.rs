//! The tree of cliques: which vertices stand together, before any numbers.

use super::order::Elimination;

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
    pub(super) fn new(order: &[Elimination], vertices: usize) -> Self {
        let count = order.len();
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
        let mut children: Vec<Vec<usize>> = vec![Vec::new(); count];
        let mut roots = Vec::new();
        for i in (0..count).filter(|i| absorbed_by[*i].is_none()) {
            let mut at = i;
            loop {
                match around[at].first().map(|v| position[*v]) {
                    None => break roots.push(i),
                    Some(next) if holder(next) == i => at = next,
                    Some(next) => break children[holder(next)].push(i),
                }
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
        let mut scopes: Vec<Vec<usize>> = order_of_cliques
            .iter()
            .map(|i| [order[*i].vertex].into_iter().chain(around[*i].iter().copied()).collect())
            .collect();
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
