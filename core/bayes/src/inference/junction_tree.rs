//! The compiled network.

use std::sync::Arc;

use super::Evidence;
use super::clique::Clique;
use super::entry_list::ListPool;
use super::factor::{Factor, Placement};
use crate::network::{Network, VarId};

/// A compiled network. It is immutable: queries do not affect each other, and threads can share it. See the
/// [crate documentation](crate#junction-trees) for what a junction tree is.
///
/// ```
/// use halfsplit_bayes::{Evidence, JunctionTree, NetworkBuilder};
///
/// let mut builder = NetworkBuilder::new();
/// let fuel = builder.add("fuel", ["no", "yes"], &[], vec![0.02, 0.98])?;
/// let starts = builder.add("starts", ["no", "yes"], &[fuel], vec![1.0, 0.0, 0.05, 0.95])?;
/// let network = builder.build()?;
/// let tree = JunctionTree::compile(&network)?;
/// let mut evidence = Evidence::new();
/// evidence.observe(&network, starts, "no")?;
/// // P(no fuel | does not start) = 0.02 / (0.02 + 0.98 * 0.05)
/// assert!((tree.posterior(&evidence)?.marginal(fuel)[0] - 0.02 / 0.069).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct JunctionTree {
    pub(super) network: Arc<Network>,
    /// Evidence built into the tables.
    pub(super) built_in: Arc<Evidence>,
    /// In post-order: children before parents, and the subtree of each clique is one contiguous run that ends
    /// with it.
    pub(super) cliques: Vec<Clique>,
    /// By variable: its vertex, or the state that the evidence built in fixes it to.
    pub(super) placements: Arc<[Placement]>,
    /// By vertex: where its likelihood enters and its marginal is read.
    pub(super) vertex_slots: Arc<[VertexSlots]>,
    /// By clique: whether its message to the parent is 1 for every configuration when the subtree has no
    /// evidence.
    pub(super) vacuous: Vec<bool>,
    /// Number of slots in the arena that holds all messages.
    pub(super) arena: usize,
    /// Factors kept separate from the cliques, each with its first slot in the arena.
    pub(super) tables: Arc<[(usize, Factor)]>,
    /// Logarithm of the product of all factors that contain no vertex.
    pub(super) log_constant: f64,
    /// Whether some entries are negative.
    pub(super) signed: bool,
}

/// The clique at which a vertex is attached, and the arena slots of its states.
#[derive(Debug, Clone, Copy)]
pub(super) struct VertexSlots {
    pub(super) clique: usize,
    pub(super) start: usize,
    pub(super) states: usize,
}

impl JunctionTree {
    /// The network from which the tree was compiled.
    #[must_use]
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// Number of clique entries that are not zero. One pass of propagation visits each once; each takes 20 to
    /// 40 bytes.
    #[must_use]
    pub fn entries(&self) -> usize {
        self.cliques.iter().map(|c| c.values.len()).sum()
    }

    /// Where a variable's marginal is read, or as `Err` the state that the evidence built in fixes it to.
    pub(super) fn slots_of(&self, var: VarId) -> Result<VertexSlots, usize> {
        match self.placements[var.index()] {
            Placement::Fixed(state) => Err(state),
            Placement::Vertex(v) => Ok(self.vertex_slots[v]),
        }
    }

    /// The vertex of a variable, or the state that the evidence built in fixes it to.
    pub(super) fn placement(&self, var: VarId) -> Placement {
        self.placements[var.index()]
    }

    /// Returns the memory of the cliques to a pool.
    pub(super) fn recycle_into(self, pool: &mut ListPool) {
        pool.recycle(self.cliques);
    }

    /// Returns the tree without the entries that contain a state which `allowed` excludes. `allowed` holds
    /// `true` or `false` for each state of a variable. The answers are those given soft evidence of 1 for
    /// `true` and 0 for `false`.
    ///
    /// # Panics
    /// If the number of states of a variable in `allowed` is not that of the network's variable.
    #[must_use]
    pub fn restrict(&self, allowed: &[(VarId, Vec<bool>)]) -> Self {
        let mut tree = self.clone();
        let mut open = vec![true; self.arena];
        for (var, states) in allowed {
            match self.placement(*var) {
                Placement::Fixed(state) if !states[state] => tree.log_constant = f64::NEG_INFINITY,
                Placement::Fixed(_) => {}
                Placement::Vertex(v) => {
                    let slots = self.vertex_slots[v];
                    open[slots.start..slots.start + slots.states].copy_from_slice(states);
                }
            }
        }
        // An empty message makes the entries that refer to it unreachable: first towards the root, then away
        // from it.
        let mut spoiled = vec![false; tree.cliques.len()];
        for at in 0..tree.cliques.len() {
            let clique = &mut tree.cliques[at];
            let before = clique.values.len();
            clique.retain(|_, slots| slots.iter().all(|p| open[*p as usize]));
            // The rest of a cut distribution no longer sums to 1.
            spoiled[at] |= clique.values.len() < before;
            if let (Some(parent), true) = (clique.parent, spoiled[at]) {
                spoiled[parent] = true;
            }
            tree.vacuous[at] &= !spoiled[at];
            for (at, run) in clique.run_starts.windows(2).enumerate() {
                open[clique.message_start + at] = run[0] < run[1];
            }
        }
        open.fill(false);
        for clique in tree.cliques.iter_mut().rev() {
            let start = clique.message_start;
            if clique.parent.is_some() {
                clique.retain(|configuration, _| open[start + configuration]);
            }
            clique.slots.iter().for_each(|p| open[*p as usize] = true);
        }
        tree
    }

    /// The evidence combined with the evidence built in.
    pub(super) fn with_built_in(&self, evidence: &Evidence) -> Evidence {
        let mut all = Evidence::clone(&self.built_in);
        for (var, likelihood) in evidence.iter() {
            let joint = match self.built_in.get(var) {
                Some(f) => f.iter().zip(likelihood).map(|(a, b)| a * b).collect(),
                None => likelihood.to_vec(),
            };
            all.insert_unchecked(var, joint);
        }
        all
    }
}
