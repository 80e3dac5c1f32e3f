//! A clique as a list of entries, and how the list is made.
//!
//! Machine networks are full of rules and rules are full of zeros, so a clique lists only the
//! entries that are not zero. Each entry carries the places of the numbers that it meets: in the
//! message of every child and in the likelihood of every vertex that is read here. All messages lie
//! in one arena, so that propagation is nothing but products and sums over lists.
//!
//! Entries with the same configuration of what the clique shares with its parent stand together;
//! the message to the parent is then one sum per run of entries, without any index.
//!
//! Dense tables walked by strides need no places, and read half the memory per entry. They were
//! not chosen: of the published networks compared with, barley alone has no zeros to speak of, and
//! on munin, water and pigs the lists hold a tenth to a hundredth of the entries.

/// No such configuration.
pub(super) const ABSENT: u32 = u32::MAX;

/// A clique of the tree.
#[derive(Debug, Clone)]
pub(super) struct Clique {
    /// Product of the factors, by entry.
    pub(super) values: Vec<f64>,
    /// The entries of the `i`-th configuration shared with the parent are `starts[i]..starts[i + 1]`.
    pub(super) starts: Vec<u32>,
    /// Place in the arena of the message to the parent, and of the one from it.
    pub(super) slot: usize,
    pub(super) parent: Option<usize>,
    pub(super) links: Vec<Link>,
    /// Places in the arena, entry by entry, one for each link.
    pub(super) places: Vec<u32>,
}

/// What an entry meets beside its own value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Link {
    /// The message of a child clique.
    Child(usize),
    /// The likelihood of a vertex: what is known of it, and where its marginal is read.
    Vertex(usize),
    /// A factor kept apart, to be asked about.
    Table(usize),
}

impl Clique {
    /// Length of the message to the parent.
    pub(super) fn configurations(&self) -> usize {
        self.starts.len() - 1
    }

    /// Places of an entry.
    #[inline(always)]
    pub(super) fn places_of(&self, entry: usize) -> &[u32] {
        let width = self.links.len();
        &self.places[entry * width..(entry + 1) * width]
    }

    /// Gives back the memory that its list has no entries for.
    pub(super) fn leave_no_room(&mut self) {
        self.values.shrink_to_fit();
        self.starts.shrink_to_fit();
        self.places.shrink_to_fit();
    }

    /// Keeps the entries that pass, by configuration shared with the parent and by places; the
    /// configurations stay as they are, if need be without entries.
    pub(super) fn retain(&mut self, passes: impl Fn(usize, &[u32]) -> bool) {
        let width = self.links.len();
        let mut kept = 0;
        let mut starts = Vec::with_capacity(self.starts.len());
        starts.push(0);
        for (configuration, run) in self.starts.windows(2).enumerate() {
            for entry in run[0] as usize..run[1] as usize {
                if passes(configuration, &self.places[entry * width..(entry + 1) * width]) {
                    self.values[kept] = self.values[entry];
                    self.places.copy_within(entry * width..(entry + 1) * width, kept * width);
                    kept += 1;
                }
            }
            starts.push(kept as u32);
        }
        self.starts = starts;
        self.values.truncate(kept);
        self.places.truncate(kept * width);
    }
}

/// Something indexed by some vertices of the clique, in the order of its own table.
pub(super) struct Indexed<'a> {
    pub(super) scope: &'a [usize],
    pub(super) role: CliqueRole<'a>,
}

/// What the index is for.
pub(super) enum CliqueRole<'a> {
    /// A factor to be multiplied in.
    Factor(&'a [f64]),
    /// The message of a child: its configurations by dense index, [absent](ABSENT) where the child
    /// has no entry.
    Message(&'a [u32]),
    /// The index itself is the place.
    Plain,
    /// A factor to be met and not multiplied in. An entry stays if it is zero in one of those; zero in
    /// two, it counts for nothing whichever of them is changed.
    Apart(&'a [f64]),
}

/// The entries of one clique, with places relative to the start of each link's part of the arena.
#[derive(Debug, Clone, Default)]
pub(super) struct Listed {
    pub(super) values: Vec<f64>,
    pub(super) starts: Vec<u32>,
    /// One for each thing that is not a [factor](CliqueRole::Factor), in the order given.
    pub(super) places: Vec<u32>,
    /// Configurations shared with the parent by dense index.
    pub(super) configurations: Vec<u32>,
}

impl Listed {
    /// Keeps the runs of some configurations; returns the new number of each.
    pub(super) fn keep_runs(&mut self, kept: &[bool]) -> Vec<u32> {
        let width = self.places.len() / self.values.len().max(1);
        let mut number = vec![ABSENT; kept.len()];
        let mut starts = vec![0];
        let mut end = 0;
        for (at, run) in self.starts.windows(2).enumerate().filter(|(at, _)| kept[*at]) {
            let (from, to) = (run[0] as usize, run[1] as usize);
            self.values.copy_within(from..to, end);
            self.places.copy_within(from * width..to * width, end * width);
            end += to - from;
            number[at] = starts.len() as u32 - 1;
            starts.push(end as u32);
        }
        self.starts = starts;
        self.values.truncate(end);
        self.places.truncate(end * width);
        self.values.shrink_to_fit();
        self.places.shrink_to_fit();
        number
    }
}

/// A list with more entries is kept where it was made: to copy it, and to be given new memory for it, takes longer
/// than to make it.
const LARGE: usize = 1 << 13;

/// Memory to make lists in, to be used again and again.
#[derive(Debug, Clone, Default)]
pub(super) struct Scratch {
    /// By how many entries there is room for.
    spare: Vec<Listed>,
}

impl Scratch {
    /// Takes back what cliques that are no longer needed were made of.
    pub(super) fn take_back(&mut self, cliques: Vec<Clique>) {
        for Clique { values, starts, places, .. } in cliques {
            if values.len() > LARGE {
                self.keep(Listed { values, starts, places, configurations: Vec::new() });
            }
        }
    }

    fn keep(&mut self, list: Listed) {
        let at = self.spare.partition_point(|spare| spare.values.capacity() < list.values.capacity());
        self.spare.insert(at, list);
    }

    /// An empty list with room for so many entries if there is one, else with as much as there is.
    fn room_for(&mut self, entries: f64) -> Listed {
        let at = self.spare.partition_point(|spare| (spare.values.capacity() as f64) < entries);
        let found = if at < self.spare.len() { Some(self.spare.remove(at)) } else { self.spare.pop() };
        let mut list = found.unwrap_or_default();
        list.values.clear();
        list.places.clear();
        list.starts.clear();
        list
    }

    /// Lists the entries of a clique that are not zero.
    pub(super) fn list(
        &mut self,
        scope: &[usize],
        shared: usize,
        states: &[usize],
        indexed: &[Indexed],
    ) -> Listed {
        // How many of them are not zero is known only at the end.
        let mut draft = self.room_for(scope.iter().map(|v| states[*v] as f64).product());
        draft.starts.push(0);
        draft.configurations = vec![ABSENT; scope[..shared].iter().map(|v| states[*v]).product()];
        Walk::new(scope, shared, states, indexed).list(0, 1.0, 0, &mut draft);
        if draft.values.len() > LARGE {
            return draft;
        }
        let listed = Listed {
            values: draft.values.clone(),
            starts: draft.starts.clone(),
            places: draft.places.clone(),
            configurations: std::mem::take(&mut draft.configurations),
        };
        self.keep(draft);
        listed
    }
}

/// Goes through the entries that [`Scratch::list`] would make: for each, the dense index of what it shares with the
/// parent and its places. Ends early where `each` says false.
pub(super) fn visit(
    scope: &[usize],
    shared: usize,
    states: &[usize],
    indexed: &[Indexed],
    each: &mut impl FnMut(usize, &[u32]) -> bool,
) {
    Walk::new(scope, shared, states, indexed).visit(0, 1.0, 0, each);
}

/// Assigns one vertex after another and turns back at the first zero.
struct Walk<'a> {
    shared: usize,
    depths: Vec<Depth<'a>>,
    /// By thing, and last for the shared vertices: the index of what is assigned above the depth that
    /// the walk is at.
    at: Vec<usize>,
    /// The places of the entry, as far as they are settled.
    places: Vec<u32>,
}

/// The vertex assigned at one depth.
struct Depth<'a> {
    card: usize,
    /// Things that it is an index of and that wait for more, with its stride in them.
    waiting: Vec<(usize, usize)>,
    /// Things of which it is the last vertex, with its stride in them, by their role. What is placed
    /// comes with its column among the places of an entry.
    factors: Vec<(usize, usize, &'a [f64])>,
    messages: Vec<(usize, usize, &'a [u32], usize)>,
    plain: Vec<(usize, usize, usize)>,
    apart: Vec<(usize, usize, &'a [f64], usize)>,
}

impl<'a> Walk<'a> {
    fn new(scope: &[usize], shared: usize, states: &[usize], indexed: &'a [Indexed<'a>]) -> Self {
        let order = reading_order(scope, shared, states, indexed);
        let depth_of = |v: &usize| order.iter().position(|o| o == v).unwrap_or(0);
        let mut depths: Vec<Depth> = order
            .iter()
            .map(|v| Depth {
                card: states[*v],
                waiting: Vec::new(),
                factors: Vec::new(),
                messages: Vec::new(),
                plain: Vec::new(),
                apart: Vec::new(),
            })
            .collect();
        let mut columns = 0..;
        for (thing, i) in indexed.iter().enumerate() {
            let column = if let CliqueRole::Factor(_) = i.role { 0 } else { columns.next().unwrap_or(0) };
            let last = i.scope.iter().map(depth_of).max();
            let mut stride = 1;
            for v in i.scope.iter().rev() {
                let at = depth_of(v);
                let depth = &mut depths[at];
                if last == Some(at) {
                    match i.role {
                        CliqueRole::Factor(table) => depth.factors.push((thing, stride, table)),
                        CliqueRole::Message(known) => depth.messages.push((thing, stride, known, column)),
                        CliqueRole::Plain => depth.plain.push((thing, stride, column)),
                        CliqueRole::Apart(table) => depth.apart.push((thing, stride, table, column)),
                    }
                } else {
                    depth.waiting.push((thing, stride));
                }
                stride *= states[*v];
            }
        }
        let mut stride = 1;
        for v in scope[..shared].iter().rev() {
            depths[depth_of(v)].waiting.push((indexed.len(), stride));
            stride *= states[*v];
        }
        Walk { shared, depths, at: vec![0; indexed.len() + 1], places: vec![0; columns.start] }
    }

    /// With the vertex at a depth in some state: the value so far and the number of zeros kept apart, or
    /// none where the entry counts for nothing. Settles the places that end here.
    #[inline(always)]
    fn met(&mut self, depth: usize, state: usize, mut value: f64, mut zeros: usize) -> Option<(f64, usize)> {
        let Walk { depths, at, places, .. } = self;
        let depth = &depths[depth];
        for (thing, stride, table) in &depth.factors {
            value *= table[at[*thing] + state * stride];
        }
        if value == 0.0 {
            return None;
        }
        for (thing, stride, table, column) in &depth.apart {
            let place = at[*thing] + state * stride;
            zeros += usize::from(table[place] == 0.0);
            places[*column] = place as u32;
        }
        if zeros >= 2 {
            return None;
        }
        for (thing, stride, known, column) in &depth.messages {
            let place = known[at[*thing] + state * stride];
            if place == ABSENT {
                return None;
            }
            places[*column] = place;
        }
        for (thing, stride, column) in &depth.plain {
            places[*column] = (at[*thing] + state * stride) as u32;
        }
        Some((value, zeros))
    }

    /// Gives the vertex at a depth its next state, for what is assigned further down.
    #[inline(always)]
    fn step(&mut self, depth: usize) {
        for (thing, stride) in &self.depths[depth].waiting {
            self.at[*thing] += stride;
        }
    }

    /// Takes the vertex at a depth from past its last state to its first.
    #[inline(always)]
    fn rewind(&mut self, depth: usize) {
        let Depth { card, waiting, .. } = &self.depths[depth];
        for (thing, stride) in waiting {
            self.at[*thing] -= stride * card;
        }
    }

    fn list(&mut self, depth: usize, value: f64, zeros: usize, listed: &mut Listed) {
        let before = listed.values.len();
        if depth == self.depths.len() {
            self.put(value, listed);
        } else if depth + 1 == self.depths.len() && self.shared <= depth {
            // Most of the work is here: nothing waits, and nothing is called.
            for state in 0..self.depths[depth].card {
                if let Some((value, _)) = self.met(depth, state, value, zeros) {
                    self.put(value, listed);
                }
            }
        } else {
            for state in 0..self.depths[depth].card {
                if let Some((value, zeros)) = self.met(depth, state, value, zeros) {
                    self.list(depth + 1, value, zeros, listed);
                }
                self.step(depth);
            }
            self.rewind(depth);
        }
        // A root has its one configuration even where nothing is possible.
        if depth == self.shared && (listed.values.len() > before || self.shared == 0) {
            let dense = self.at[self.at.len() - 1];
            listed.configurations[dense] = listed.starts.len() as u32 - 1;
            listed.starts.push(listed.values.len() as u32);
        }
    }

    /// Puts down an entry: everything is assigned.
    #[inline(always)]
    fn put(&self, value: f64, listed: &mut Listed) {
        listed.values.push(value);
        // They are a handful: a call to copy them takes longer than all else here.
        for place in &self.places {
            listed.places.push(*place);
        }
    }

    fn visit(
        &mut self,
        depth: usize,
        value: f64,
        zeros: usize,
        each: &mut impl FnMut(usize, &[u32]) -> bool,
    ) -> bool {
        if depth == self.depths.len() {
            return each(self.at[self.at.len() - 1], &self.places);
        }
        for state in 0..self.depths[depth].card {
            if let Some((value, zeros)) = self.met(depth, state, value, zeros)
                && !self.visit(depth + 1, value, zeros, each)
            {
                return false;
            }
            self.step(depth);
        }
        self.rewind(depth);
        true
    }
}

/// The shared vertices first, and within both halves those that complete most factors, so that a
/// zero is met early.
fn reading_order(scope: &[usize], shared: usize, states: &[usize], indexed: &[Indexed]) -> Vec<usize> {
    let telling: Vec<&[usize]> =
        indexed.iter().filter(|i| !matches!(i.role, CliqueRole::Plain)).map(|i| i.scope).collect();
    let mut order: Vec<usize> = Vec::with_capacity(scope.len());
    for part in [&scope[..shared], &scope[shared..]] {
        let mut left = part.to_vec();
        while !left.is_empty() {
            let completes = |v: usize| {
                let done = |s: &&&[usize]| s.contains(&v) && s.iter().all(|x| *x == v || order.contains(x));
                telling.iter().filter(done).count()
            };
            let key = |i: &usize| (std::cmp::Reverse(completes(left[*i])), states[left[*i]], *i);
            let best = (0..left.len()).min_by_key(key).unwrap_or(0);
            order.push(left.remove(best));
        }
    }
    order
}
