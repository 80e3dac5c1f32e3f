//! Lists the non-zero entries of a clique by depth-first assignment of its vertices.

use super::clique::Clique;

/// Marks a separator configuration for which a child has no entry.
pub(super) const NO_CONFIGURATION: u32 = u32::MAX;

/// A table over some vertices of the clique, in the order of its own scope.
pub(super) struct Operand<'a> {
    pub(super) scope: &'a [usize],
    pub(super) role: OperandRole<'a>,
}

/// What the table is, and whether entries store a slot for it.
pub(super) enum OperandRole<'a> {
    /// A factor, multiplied into the entry's value. No slot is stored.
    Factor(&'a [f64]),
    /// The message of a child: for each dense index the number of its configuration, or [`NO_CONFIGURATION`].
    Message(&'a [u32]),
    /// The likelihood of one vertex. The dense index is the slot.
    Likelihood,
    /// A factor that is kept separate and not multiplied in. An entry stays if one such factor is zero,
    /// because the derivative by that factor may not be. With two zeros every derivative is zero and the
    /// entry is dropped.
    Kept(&'a [f64]),
}

/// The entries of one clique. Slots are relative to the first slot of each link.
#[derive(Debug, Clone, Default)]
pub(super) struct EntryList {
    pub(super) values: Vec<f64>,
    pub(super) run_starts: Vec<u32>,
    /// One slot for each operand that is not a [factor](OperandRole::Factor), in the order given.
    pub(super) slots: Vec<u32>,
    /// By dense index of the separator: the number of its configuration.
    pub(super) configurations: Vec<u32>,
}

impl EntryList {
    /// Keeps the runs of the configurations marked `true`, and returns the new number of each configuration.
    pub(super) fn keep_runs(&mut self, kept: &[bool]) -> Vec<u32> {
        let width = self.slots.len() / self.values.len().max(1);
        let mut number = vec![NO_CONFIGURATION; kept.len()];
        let mut run_starts = vec![0];
        let mut end = 0;
        for (at, run) in self.run_starts.windows(2).enumerate().filter(|(at, _)| kept[*at]) {
            let (from, to) = (run[0] as usize, run[1] as usize);
            self.values.copy_within(from..to, end);
            self.slots.copy_within(from * width..to * width, end * width);
            end += to - from;
            number[at] = run_starts.len() as u32 - 1;
            run_starts.push(end as u32);
        }
        self.run_starts = run_starts;
        self.values.truncate(end);
        self.slots.truncate(end * width);
        self.values.shrink_to_fit();
        self.slots.shrink_to_fit();
        number
    }
}

/// Lists with more entries are returned in the buffer in which they were made. Copying them would take longer
/// than listing.
const LARGE: usize = 1 << 13;

/// Buffers for entry lists, reused between compilations.
#[derive(Debug, Clone, Default)]
pub(super) struct ListPool {
    /// In ascending order of capacity.
    spare: Vec<EntryList>,
}

impl ListPool {
    /// Takes over the memory of cliques that are no longer needed.
    pub(super) fn recycle(&mut self, cliques: Vec<Clique>) {
        for Clique { values, run_starts, slots, .. } in cliques {
            if values.len() > LARGE {
                self.keep(EntryList { values, run_starts, slots, configurations: Vec::new() });
            }
        }
    }

    fn keep(&mut self, list: EntryList) {
        let at = self.spare.partition_point(|spare| spare.values.capacity() < list.values.capacity());
        self.spare.insert(at, list);
    }

    /// Returns an empty list with room for `entries` entries, or else the largest list of the pool.
    fn take_with_capacity(&mut self, entries: f64) -> EntryList {
        let at = self.spare.partition_point(|spare| (spare.values.capacity() as f64) < entries);
        let found = if at < self.spare.len() { Some(self.spare.remove(at)) } else { self.spare.pop() };
        let mut list = found.unwrap_or_default();
        list.values.clear();
        list.slots.clear();
        list.run_starts.clear();
        list
    }

    /// Lists the entries of a clique that are not zero. `shared` is the number of leading vertices of `scope`
    /// that belong to the separator to the parent; `states` holds the number of states of each vertex.
    pub(super) fn list(
        &mut self,
        scope: &[usize],
        shared: usize,
        states: &[usize],
        operands: &[Operand],
    ) -> EntryList {
        // An upper bound: the number of non-zero entries is known only at the end.
        let mut draft = self.take_with_capacity(scope.iter().map(|v| states[*v] as f64).product());
        draft.run_starts.push(0);
        draft.configurations = vec![NO_CONFIGURATION; scope[..shared].iter().map(|v| states[*v]).product()];
        EntryWalk::new(scope, shared, states, operands).list(0, 1.0, 0, &mut draft);
        if draft.values.len() > LARGE {
            return draft;
        }
        let listed = EntryList {
            values: draft.values.clone(),
            run_starts: draft.run_starts.clone(),
            slots: draft.slots.clone(),
            configurations: std::mem::take(&mut draft.configurations),
        };
        self.keep(draft);
        listed
    }
}

/// Calls `each` for every entry that [`ListPool::list`] would return, with the dense index of its separator
/// configuration and its slots. Stops when `each` returns `false`.
pub(super) fn visit(
    scope: &[usize],
    shared: usize,
    states: &[usize],
    operands: &[Operand],
    each: &mut impl FnMut(usize, &[u32]) -> bool,
) {
    EntryWalk::new(scope, shared, states, operands).visit(0, 1.0, 0, each);
}

/// Depth-first assignment of states to vertices, with a return at the first zero.
struct EntryWalk<'a> {
    shared: usize,
    levels: Vec<Level<'a>>,
    /// By operand, and last for the separator: the dense index of the vertices assigned so far.
    at: Vec<usize>,
    /// The slots of the entry, as far as they are determined.
    slots: Vec<u32>,
}

/// The vertex assigned at one depth.
struct Level<'a> {
    card: usize,
    /// Operands that contain this vertex and a vertex of greater depth, with this vertex's stride.
    waiting: Vec<(usize, usize)>,
    // Operands for which this is the deepest vertex, by role: (operand, stride, table, column among an
    // entry's slots).
    factors: Vec<(usize, usize, &'a [f64])>,
    messages: Vec<(usize, usize, &'a [u32], usize)>,
    likelihoods: Vec<(usize, usize, usize)>,
    kept: Vec<(usize, usize, &'a [f64], usize)>,
}

impl<'a> EntryWalk<'a> {
    fn new(scope: &[usize], shared: usize, states: &[usize], operands: &'a [Operand<'a>]) -> Self {
        let order = assignment_order(scope, shared, states, operands);
        let depth_of = |v: &usize| order.iter().position(|o| o == v).unwrap_or(0);
        let mut levels: Vec<Level> = order
            .iter()
            .map(|v| Level {
                card: states[*v],
                waiting: Vec::new(),
                factors: Vec::new(),
                messages: Vec::new(),
                likelihoods: Vec::new(),
                kept: Vec::new(),
            })
            .collect();
        let mut columns = 0..;
        for (operand, i) in operands.iter().enumerate() {
            let column = if let OperandRole::Factor(_) = i.role { 0 } else { columns.next().unwrap_or(0) };
            let last = i.scope.iter().map(depth_of).max();
            let mut stride = 1;
            for v in i.scope.iter().rev() {
                let at = depth_of(v);
                let depth = &mut levels[at];
                if last == Some(at) {
                    match i.role {
                        OperandRole::Factor(table) => depth.factors.push((operand, stride, table)),
                        OperandRole::Message(known) => depth.messages.push((operand, stride, known, column)),
                        OperandRole::Likelihood => depth.likelihoods.push((operand, stride, column)),
                        OperandRole::Kept(table) => depth.kept.push((operand, stride, table, column)),
                    }
                } else {
                    depth.waiting.push((operand, stride));
                }
                stride *= states[*v];
            }
        }
        let mut stride = 1;
        for v in scope[..shared].iter().rev() {
            levels[depth_of(v)].waiting.push((operands.len(), stride));
            stride *= states[*v];
        }
        EntryWalk { shared, levels, at: vec![0; operands.len() + 1], slots: vec![0; columns.start] }
    }

    /// Assigns a state to the vertex at a depth. Returns the entry's value so far and the number of kept
    /// factors that are zero, or `None` if the entry is dropped. Stores the slots that this vertex
    /// determines.
    #[inline(always)]
    fn extend(
        &mut self,
        depth: usize,
        state: usize,
        mut value: f64,
        mut zeros: usize,
    ) -> Option<(f64, usize)> {
        let EntryWalk { levels, at, slots, .. } = self;
        let depth = &levels[depth];
        for (operand, stride, table) in &depth.factors {
            value *= table[at[*operand] + state * stride];
        }
        if value == 0.0 {
            return None;
        }
        for (operand, stride, table, column) in &depth.kept {
            let slot = at[*operand] + state * stride;
            zeros += usize::from(table[slot] == 0.0);
            slots[*column] = slot as u32;
        }
        if zeros >= 2 {
            return None;
        }
        for (operand, stride, known, column) in &depth.messages {
            let slot = known[at[*operand] + state * stride];
            if slot == NO_CONFIGURATION {
                return None;
            }
            slots[*column] = slot;
        }
        for (operand, stride, column) in &depth.likelihoods {
            slots[*column] = (at[*operand] + state * stride) as u32;
        }
        Some((value, zeros))
    }

    /// Moves the vertex at a depth to its next state.
    #[inline(always)]
    fn advance(&mut self, depth: usize) {
        for (operand, stride) in &self.levels[depth].waiting {
            self.at[*operand] += stride;
        }
    }

    /// Moves the vertex at a depth from past its last state back to its first.
    #[inline(always)]
    fn rewind(&mut self, depth: usize) {
        let Level { card, waiting, .. } = &self.levels[depth];
        for (operand, stride) in waiting {
            self.at[*operand] -= stride * card;
        }
    }

    fn list(&mut self, depth: usize, value: f64, zeros: usize, listed: &mut EntryList) {
        let before = listed.values.len();
        if depth == self.levels.len() {
            self.push_entry(value, listed);
        } else if depth + 1 == self.levels.len() && self.shared <= depth {
            // The innermost loop: no operand waits for a deeper vertex.
            for state in 0..self.levels[depth].card {
                if let Some((value, _)) = self.extend(depth, state, value, zeros) {
                    self.push_entry(value, listed);
                }
            }
        } else {
            for state in 0..self.levels[depth].card {
                if let Some((value, zeros)) = self.extend(depth, state, value, zeros) {
                    self.list(depth + 1, value, zeros, listed);
                }
                self.advance(depth);
            }
            self.rewind(depth);
        }
        // A root has one configuration even if it has no entries.
        if depth == self.shared && (listed.values.len() > before || self.shared == 0) {
            let dense = self.at[self.at.len() - 1];
            listed.configurations[dense] = listed.run_starts.len() as u32 - 1;
            listed.run_starts.push(listed.values.len() as u32);
        }
    }

    /// Appends the fully assigned entry.
    #[inline(always)]
    fn push_entry(&self, value: f64, listed: &mut EntryList) {
        listed.values.push(value);
        // An entry has few slots: this loop is faster than a call to copy them.
        for slot in &self.slots {
            listed.slots.push(*slot);
        }
    }

    fn visit(
        &mut self,
        depth: usize,
        value: f64,
        zeros: usize,
        each: &mut impl FnMut(usize, &[u32]) -> bool,
    ) -> bool {
        if depth == self.levels.len() {
            return each(self.at[self.at.len() - 1], &self.slots);
        }
        for state in 0..self.levels[depth].card {
            if let Some((value, zeros)) = self.extend(depth, state, value, zeros)
                && !self.visit(depth + 1, value, zeros, each)
            {
                return false;
            }
            self.advance(depth);
        }
        self.rewind(depth);
        true
    }
}

/// The separator's vertices first. Within each half, the vertex that completes most operands comes first, so
/// that zeros are found early.
fn assignment_order(scope: &[usize], shared: usize, states: &[usize], operands: &[Operand]) -> Vec<usize> {
    let scopes: Vec<&[usize]> =
        operands.iter().filter(|i| !matches!(i.role, OperandRole::Likelihood)).map(|i| i.scope).collect();
    let mut order: Vec<usize> = Vec::with_capacity(scope.len());
    for part in [&scope[..shared], &scope[shared..]] {
        let mut left = part.to_vec();
        while !left.is_empty() {
            let completes = |v: usize| {
                let done = |s: &&&[usize]| s.contains(&v) && s.iter().all(|x| *x == v || order.contains(x));
                scopes.iter().filter(done).count()
            };
            let key = |i: &usize| (std::cmp::Reverse(completes(left[*i])), states[left[*i]], *i);
            let best = (0..left.len()).min_by_key(key).unwrap_or(0);
            order.push(left.remove(best));
        }
    }
    order
}
