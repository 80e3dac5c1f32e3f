//! A clique as a list of entries.
//!
//! Networks with deterministic tables are full of zeros, so a clique lists only entries that are not zero.
//! Each entry holds its value and, for each message that it is multiplied by, the slot of the message in the
//! arena. Propagation is then products and sums over lists.
//!
//! Entries with the same configuration of the separator to the parent are adjacent. The message to the parent
//! is one sum for each such run of entries.

/// A clique of the junction tree.
#[derive(Debug, Clone)]
pub(super) struct Clique {
    /// By entry: the product of the factors.
    pub(super) values: Vec<f64>,
    /// The entries of the `i`-th separator configuration are `run_starts[i]..run_starts[i + 1]`.
    pub(super) run_starts: Vec<u32>,
    /// First arena slot of the message to the parent. The message from the parent has the same slots in its
    /// own arena.
    pub(super) message_start: usize,
    pub(super) parent: Option<usize>,
    pub(super) links: Vec<Link>,
    /// Arena slots, entry by entry, one for each link.
    pub(super) slots: Vec<u32>,
}

/// What an entry is multiplied by besides its own value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Link {
    /// The message from a child clique.
    Child(usize),
    /// The likelihood of a vertex. The vertex's marginal is read here.
    Vertex(usize),
    /// A factor kept separate from the cliques.
    Table(usize),
}

impl Clique {
    /// Number of separator configurations: the length of the message to the parent.
    pub(super) fn configurations(&self) -> usize {
        self.run_starts.len() - 1
    }

    /// The slots of an entry, one for each link.
    #[inline(always)]
    pub(super) fn slots_of(&self, entry: usize) -> &[u32] {
        let width = self.links.len();
        &self.slots[entry * width..(entry + 1) * width]
    }

    /// Returns memory beyond the list's length to the allocator.
    pub(super) fn shrink_to_fit(&mut self) {
        self.values.shrink_to_fit();
        self.run_starts.shrink_to_fit();
        self.slots.shrink_to_fit();
    }

    /// Keeps the entries for which `passes(configuration, slots)` is true. Separator configurations keep
    /// their numbers; some may have no entries left.
    pub(super) fn retain(&mut self, passes: impl Fn(usize, &[u32]) -> bool) {
        let width = self.links.len();
        let mut kept = 0;
        let mut run_starts = Vec::with_capacity(self.run_starts.len());
        run_starts.push(0);
        for (configuration, run) in self.run_starts.windows(2).enumerate() {
            for entry in run[0] as usize..run[1] as usize {
                if passes(configuration, &self.slots[entry * width..(entry + 1) * width]) {
                    self.values[kept] = self.values[entry];
                    self.slots.copy_within(entry * width..(entry + 1) * width, kept * width);
                    kept += 1;
                }
            }
            run_starts.push(kept as u32);
        }
        self.run_starts = run_starts;
        self.values.truncate(kept);
        self.slots.truncate(kept * width);
    }
}
