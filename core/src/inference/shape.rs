//! The tree of cliques: which vertices stand together, and the entries of each clique.

use super::factor::Factor;
use super::junction_tree::Clique;
use super::order::Elimination;

/// Cliques and their tree, over vertices, before any numbers.
pub(super) struct TreeShape {
    /// Vertices of each clique, in elimination order within the clique.
    pub(super) scopes: Vec<Vec<usize>>,
    parents: Vec<Option<usize>>,
    /// Elimination position of each vertex, and the clique that holds it with its neighbours.
    position: Vec<usize>,
    clique_of: Vec<usize>,
}

impl TreeShape {
    pub(super) fn new(order: &[Elimination], states: &[usize]) -> Self {
        let count = order.len();
        let mut position = vec![0; states.len()];
        order.iter().enumerate().for_each(|(i, e)| position[e.vertex] = i);
        let sorted = |mut list: Vec<usize>| {
            list.sort_unstable_by_key(|v| position[*v]);
            list
        };
        let around: Vec<Vec<usize>> = order.iter().map(|e| sorted(e.neighbours.clone())).collect();
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
        let mut parent_of = vec![None; count];
        for i in (0..count).filter(|i| absorbed_by[*i].is_none()) {
            let mut at = i;
            parent_of[i] = loop {
                match around[at].first().map(|v| position[*v]) {
                    None => break None,
                    Some(next) if holder(next) == i => at = next,
                    Some(next) => break Some(holder(next)),
                }
            };
        }
        // Children before parents: by depth, deepest first, then by elimination.
        let depth = |mut i: usize| {
            let mut d = 0;
            while let Some(p) = parent_of[i] {
                i = p;
                d += 1;
            }
            d
        };
        let mut staying: Vec<usize> = (0..count).filter(|i| absorbed_by[*i].is_none()).collect();
        staying.sort_by_key(|i| std::cmp::Reverse(depth(*i)));
        let mut place = vec![usize::MAX; count];
        staying.iter().enumerate().for_each(|(new, old)| place[*old] = new);
        TreeShape {
            scopes: staying
                .iter()
                .map(|i| [order[*i].vertex].into_iter().chain(around[*i].iter().copied()).collect())
                .collect(),
            parents: staying.iter().map(|i| parent_of[*i].map(|p: usize| place[p])).collect(),
            clique_of: (0..states.len()).map(|v| place[holder(position[v])]).collect(),
            position,
        }
    }

    /// A clique that contains all these vertices, which some factor joins.
    pub(super) fn home_of(&self, scope: &[usize]) -> usize {
        let first = scope.iter().min_by_key(|v| self.position[**v]);
        first.map_or(0, |v| self.clique_of[*v])
    }

    pub(super) fn cliques(&self, assigned: &[Vec<Factor>], states: &[usize]) -> Vec<Clique> {
        let separators: Vec<Vec<usize>> = self
            .scopes
            .iter()
            .zip(&self.parents)
            .map(|(scope, parent)| match parent {
                Some(p) => scope.iter().copied().filter(|v| self.scopes[*p].contains(v)).collect(),
                None => Vec::new(),
            })
            .collect();
        let mut cliques: Vec<Clique> = (0..self.scopes.len())
            .map(|c| {
                let children: Vec<usize> = (0..c).filter(|k| self.parents[*k] == Some(c)).collect();
                let wanted: Vec<&[usize]> = children
                    .iter()
                    .map(|k| separators[*k].as_slice())
                    .chain([separators[c].as_slice()])
                    .collect();
                let listed = EntryList::build(&self.scopes[c], &assigned[c], &wanted, states);
                let mut indices = listed.indices;
                let up = indices.pop().unwrap_or_default();
                Clique {
                    values: listed.values,
                    separator: separators[c].iter().map(|v| states[*v]).product(),
                    up: self.parents[c].map(|p| (p, up)),
                    scope: self.scopes[c].clone(),
                    columns: listed.columns,
                    down: children.into_iter().zip(indices).collect(),
                }
            })
            .collect();
        cliques.iter_mut().for_each(|c| c.values.shrink_to_fit());
        cliques
    }
}

/// The entries of a clique that are not zero, found by assigning one variable after another and
/// turning back at the first zero.
struct EntryList<'a> {
    scope: &'a [usize],
    cards: Vec<usize>,
    /// By depth: factors whose last variable is assigned there, with their strides by depth.
    ready: Vec<Vec<(&'a [f64], Vec<usize>)>>,
    /// For each wanted index: strides by depth.
    strides: Vec<Vec<usize>>,
    at: Vec<usize>,
    values: Vec<f64>,
    indices: Vec<Vec<u32>>,
    columns: Vec<Vec<u16>>,
}

impl<'a> EntryList<'a> {
    fn build(scope: &'a [usize], factors: &'a [Factor], wanted: &[&[usize]], states: &[usize]) -> Self {
        let depth_of = |v: &usize| scope.iter().position(|s| s == v).unwrap_or(0);
        let strides_by_depth = |vars: &[usize]| {
            let mut strides = vec![0; scope.len()];
            let mut stride = 1;
            for v in vars.iter().rev() {
                strides[depth_of(v)] = stride;
                stride *= states[*v];
            }
            strides
        };
        let mut ready: Vec<Vec<(&[f64], Vec<usize>)>> = vec![Vec::new(); scope.len()];
        for f in factors {
            let last = f.scope.iter().map(depth_of).max().unwrap_or(0);
            ready[last].push((&f.values, strides_by_depth(&f.scope)));
        }
        let mut list = EntryList {
            scope,
            cards: scope.iter().map(|v| states[*v]).collect(),
            ready,
            strides: wanted.iter().map(|w| strides_by_depth(w)).collect(),
            at: vec![0; scope.len()],
            values: Vec::new(),
            indices: vec![Vec::new(); wanted.len()],
            columns: vec![Vec::new(); scope.len()],
        };
        list.assign(0, 1.0);
        list
    }

    fn assign(&mut self, depth: usize, so_far: f64) {
        if depth == self.scope.len() {
            self.values.push(so_far);
            for (list, strides) in self.indices.iter_mut().zip(&self.strides) {
                let index: usize = strides.iter().zip(&self.at).map(|(s, a)| s * a).sum();
                list.push(index as u32);
            }
            for (list, state) in self.columns.iter_mut().zip(&self.at) {
                list.push(*state as u16);
            }
            return;
        }
        for state in 0..self.cards[depth] {
            self.at[depth] = state;
            let mut value = so_far;
            for (table, strides) in &self.ready[depth] {
                let index: usize = strides.iter().zip(&self.at).take(depth + 1).map(|(s, a)| s * a).sum();
                value *= table[index];
            }
            if value != 0.0 {
                self.assign(depth + 1, value);
            }
        }
    }
}
