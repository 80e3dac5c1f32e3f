//! The arena: one run of slots for each message.

use super::clique::{Clique, Link};
use super::clique_tree::CliqueTree;
use super::entry_list::EntryList;
use super::factor::Factors;
use super::junction_tree::VertexSlots;

/// The finished cliques, with the arena slots of their messages.
pub(super) struct Layout {
    pub(super) cliques: Vec<Clique>,
    pub(super) vertex_slots: Vec<VertexSlots>,
    /// Of each kept factor: its first slot and its index.
    pub(super) table_slots: Vec<(usize, usize)>,
    /// Number of slots.
    pub(super) arena: usize,
}

impl Layout {
    /// Assigns each message its slots in the arena.
    pub(super) fn new(listed: Vec<(EntryList, Vec<Link>)>, factors: &Factors, tree: &CliqueTree) -> Self {
        let states = &factors.states;
        let mut layout = Layout {
            cliques: Vec::with_capacity(listed.len()),
            vertex_slots: vec![VertexSlots { clique: 0, start: 0, states: 0 }; states.len()],
            table_slots: Vec::new(),
            arena: 0,
        };
        for (c, (list, mut links)) in listed.into_iter().enumerate() {
            let EntryList { values, run_starts, mut slots, .. } = list;
            let starts: Vec<u32> =
                links.iter_mut().map(|link| layout.start(link, c, factors) as u32).collect();
            if !links.is_empty() {
                for of_entry in slots.chunks_exact_mut(links.len()) {
                    of_entry.iter_mut().zip(&starts).for_each(|(slot, start)| *slot += start);
                }
            }
            let message_start = layout.reserve(run_starts.len() - 1);
            let parent = tree.parents[c];
            layout.cliques.push(Clique { values, run_starts, message_start, parent, links, slots });
        }
        layout
    }

    /// The first slot of a link of a clique. A kept factor is renumbered by the order of its slots.
    fn start(&mut self, link: &mut Link, clique: usize, factors: &Factors) -> usize {
        match link {
            Link::Child(k) => self.cliques[*k].message_start,
            Link::Vertex(v) => {
                let states = factors.states[*v];
                let start = self.reserve(states);
                self.vertex_slots[*v] = VertexSlots { clique, start, states };
                start
            }
            Link::Table(f) => {
                let start = self.reserve(factors.factors[*f].values.len());
                self.table_slots.push((start, *f));
                *f = self.table_slots.len() - 1;
                start
            }
        }
    }

    /// Reserves slots and returns the first.
    fn reserve(&mut self, length: usize) -> usize {
        self.arena += length;
        self.arena - length
    }
}
