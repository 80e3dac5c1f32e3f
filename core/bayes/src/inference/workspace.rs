//! Memory for propagation, and which of its messages are wanted.

use super::clique::Link;
use super::entry_list::ListPool;
use super::factor::Placement;
use super::junction_tree::JunctionTree;
use crate::network::VarId;

/// Memory for propagation in one tree. It keeps the messages of the last query, so the next query costs only
/// what it changes. `L` queries are answered side by side, in lanes.
///
/// [`JunctionTree::workspace`] and [`JunctionTree::lane_workspace`] make one.
#[derive(Debug, Clone)]
pub struct Workspace<const L: usize = 1> {
    /// The arena of the messages to the root: what comes in through each link.
    pub(super) upward: Vec<[f64; L]>,
    /// The arena of the messages away from the root: what goes out through each link.
    pub(super) downward: Vec<[f64; L]>,
    /// By vertex: whether there is evidence on it.
    pub(super) has_evidence: Vec<bool>,
    /// By clique: whether its message to the parent is not 1 throughout.
    pub(super) sends: Vec<bool>,
    /// By clique: whether its message to the parent is out of date.
    pub(super) stale_up: Vec<bool>,
    /// By clique: whether its messages to its links are out of date.
    pub(super) stale_down: Vec<bool>,
    /// By clique: the exponents taken out of its message to the parent.
    pub(super) exponents: Vec<[i64; L]>,
    /// By lane: logarithm of the factor taken out of the likelihoods.
    pub(super) log_evidence: [f64; L],
    /// By lane: natural logarithm of the probability of the evidence.
    pub(super) log_p: [f64; L],
    pub(super) message: Vec<[f64; L]>,
    pub(super) entries_visited: u64,
    /// For trees that are compiled for one answer.
    pub(super) pool: ListPool,
}

/// Query variables. Propagation with targets computes only messages that their marginals need.
///
/// [`JunctionTree::targets`] makes one.
#[derive(Debug, Clone)]
pub struct Targets {
    /// By clique: whether it needs a message from its parent.
    pub(super) cliques: Vec<bool>,
    /// By vertex: whether it is queried.
    pub(super) vertices: Vec<bool>,
}

impl Targets {
    /// Whether a query needs the message through a link.
    pub(super) fn wants(&self, link: Link) -> bool {
        match link {
            Link::Child(child) => self.cliques[child],
            Link::Vertex(vertex) => self.vertices[vertex],
            Link::Table(_) => true,
        }
    }
}

impl<const L: usize> Workspace<L> {
    /// Number of clique entries visited since the workspace was made. A pass counts each entry once, whatever
    /// the number of lanes.
    #[must_use]
    pub fn entries_visited(&self) -> u64 {
        self.entries_visited
    }
}

impl JunctionTree {
    /// Returns memory for [`propagate`](Self::propagate) in this tree.
    #[must_use]
    pub fn workspace(&self) -> Workspace {
        self.lane_workspace()
    }

    /// Returns memory for [`propagate_lanes`](Self::propagate_lanes): for `L` queries side by side.
    #[must_use]
    pub fn lane_workspace<const L: usize>(&self) -> Workspace<L> {
        let count = self.cliques.len();
        let mut upward = vec![[1.0; L]; self.arena];
        for (start, factor) in self.tables.iter() {
            for (slot, value) in upward[*start..].iter_mut().zip(&factor.values) {
                *slot = [*value; L];
            }
        }
        Workspace {
            upward,
            downward: vec![[0.0; L]; self.arena],
            has_evidence: vec![false; self.vertex_slots.len()],
            sends: self.vacuous.iter().map(|vacuous| !vacuous).collect(),
            stale_up: vec![true; count],
            stale_down: vec![true; count],
            exponents: vec![[0; L]; count],
            log_evidence: [0.0; L],
            log_p: [f64::NEG_INFINITY; L],
            message: Vec::new(),
            entries_visited: 0,
            pool: ListPool::default(),
        }
    }

    /// Returns the targets for some query variables.
    ///
    /// # Panics
    /// If a variable does not belong to the tree's network.
    #[must_use]
    pub fn targets(&self, vars: &[VarId]) -> Targets {
        let mut targets = Targets {
            cliques: vec![false; self.cliques.len()],
            vertices: vec![false; self.vertex_slots.len()],
        };
        for var in vars {
            let Placement::Vertex(vertex) = self.placement(*var) else { continue };
            targets.vertices[vertex] = true;
            let mut at = Some(self.vertex_slots[vertex].clique);
            while let Some(clique) = at.filter(|c| !targets.cliques[*c]) {
                targets.cliques[clique] = true;
                at = self.cliques[clique].parent;
            }
        }
        targets
    }
}
