//! Propagation: evidence through the tree, and what can be read off afterwards.
//!
//! Messages towards the roots are made anew only below what has changed since the last question,
//! and only where a subtree says anything at all; messages away from the roots only where somebody
//! asks. The scales of messages are added up as exponents, so that no number of findings underflows.

use super::clique::{Link, Scratch};
use super::factor::Place;
use super::tree::JunctionTree;
use super::{Evidence, extended_exponent, kernel};
use crate::network::VarId;

/// With negative entries a sum of zero comes out as the rounding of its terms; one that is smaller
/// than this share of its terms is zero. Terms are rounded to 1.1e-16 of themselves, and some
/// thousands of them add up.
const ROUNDING: f64 = 1e-12;

/// A sum above this is no rounding of its terms: messages come in at 2 at most, and few tables have
/// entries above 1.
const NO_ROUNDING: f64 = 1e-7;

/// Memory for propagation in one tree, to be used again and again: it keeps what the last question
/// left, so that the next one costs only what it changes. `L` questions are answered side by side.
#[derive(Debug, Clone)]
pub struct Workspace<const L: usize = 1> {
    /// The arena twice: what comes in by each link, and what goes out.
    pub(super) said: Vec<[f64; L]>,
    told: Vec<[f64; L]>,
    /// By vertex: whether there is evidence on it.
    found: Vec<bool>,
    /// By clique: whether it has something to say to its parent.
    pub(super) speaks: Vec<bool>,
    /// By clique: whether its message to the parent is out of date, and those to its links.
    stale_up: Vec<bool>,
    stale_down: Vec<bool>,
    /// By clique: the exponents taken out of its message to the parent.
    exponents: Vec<[i64; L]>,
    /// Logarithm of what was taken out of the evidence.
    log_evidence: [f64; L],
    log_p: [f64; L],
    message: Vec<[f64; L]>,
    pub(super) touched: u64,
    /// For trees that are made for one answer.
    pub(super) scratch: Scratch,
}

/// The variables that somebody will ask about: the messages that they need, and no others.
#[derive(Debug, Clone)]
pub struct Targets {
    /// By clique: whether it has to be told something.
    cliques: Vec<bool>,
    /// By vertex.
    vertices: Vec<bool>,
}

impl Targets {
    /// Whether anything is asked about at the end of a link.
    fn wants(&self, link: Link) -> bool {
        match link {
            Link::Child(child) => self.cliques[child],
            Link::Vertex(vertex) => self.vertices[vertex],
            Link::Table(_) => true,
        }
    }
}

impl<const L: usize> Workspace<L> {
    /// Table entries gone through since the workspace was made: each entry once for every pass that
    /// met it, whatever the number of lanes.
    #[must_use]
    pub fn touched(&self) -> u64 {
        self.touched
    }
}

impl JunctionTree {
    /// Memory for [`propagate`](Self::propagate) in this tree.
    #[must_use]
    pub fn workspace(&self) -> Workspace {
        self.lanes()
    }

    /// Memory for [`propagate_lanes`](Self::propagate_lanes): for `L` questions side by side.
    #[must_use]
    pub fn lanes<const L: usize>(&self) -> Workspace<L> {
        let count = self.cliques.len();
        let mut said = vec![[1.0; L]; self.arena];
        for (slot, factor) in self.tables.iter() {
            for (place, value) in said[*slot..].iter_mut().zip(&factor.values) {
                *place = [*value; L];
            }
        }
        Workspace {
            said,
            told: vec![[0.0; L]; self.arena],
            found: vec![false; self.homes.len()],
            speaks: self.idle.iter().map(|idle| !idle).collect(),
            stale_up: vec![true; count],
            stale_down: vec![true; count],
            exponents: vec![[0; L]; count],
            log_evidence: [0.0; L],
            log_p: [f64::NEG_INFINITY; L],
            message: Vec::new(),
            touched: 0,
            scratch: Scratch::default(),
        }
    }

    /// Targets for variables that will be asked about.
    #[must_use]
    pub fn targets(&self, vars: &[VarId]) -> Targets {
        let mut targets =
            Targets { cliques: vec![false; self.cliques.len()], vertices: vec![false; self.homes.len()] };
        for var in vars {
            let Place::Vertex(vertex) = self.place(*var) else { continue };
            targets.vertices[vertex] = true;
            let mut at = Some(self.homes[vertex].clique);
            while let Some(clique) = at.filter(|c| !targets.cliques[*c]) {
                targets.cliques[clique] = true;
                at = self.cliques[clique].parent;
            }
        }
        targets
    }

    /// Propagates evidence through the tree and leaves in `work` what all variables' marginals are
    /// read from; false where the evidence (with what was built in) has probability zero. Only what
    /// differs from the evidence last propagated in this workspace is worked out anew.
    pub fn propagate(&self, work: &mut Workspace, evidence: &Evidence) -> bool {
        self.propagate_lanes(work, &[evidence], None)[0]
    }

    /// The same for several questions side by side, and if need be for some [targets](Self::targets)
    /// alone. Lanes without a question of their own repeat the last one.
    ///
    /// # Panics
    /// If there is no question.
    pub fn propagate_lanes<const L: usize>(
        &self,
        work: &mut Workspace<L>,
        evidence: &[&Evidence],
        targets: Option<&Targets>,
    ) -> [bool; L] {
        let possible = self.weigh(work, evidence);
        if possible.contains(&true) {
            self.distribute(work, targets);
        }
        possible
    }

    /// The first half of it: the probability of the evidence and nothing else.
    pub(super) fn weigh<const L: usize>(&self, work: &mut Workspace<L>, evidence: &[&Evidence]) -> [bool; L] {
        self.enter(work, evidence);
        self.collect(work);
        work.log_p.map(|log_p| log_p > f64::NEG_INFINITY)
    }

    /// Whether evidence is possible, with what was built in.
    pub(super) fn is_possible(&self, evidence: &Evidence) -> bool {
        self.weigh(&mut self.workspace(), &[evidence])[0]
    }

    /// Puts the evidence in its places and marks what it changes.
    fn enter<const L: usize>(&self, work: &mut Workspace<L>, evidence: &[&Evidence]) {
        let of = |lane: usize| evidence[lane.min(evidence.len() - 1)];
        work.log_evidence = [0.0; L];
        let mut on: Vec<bool> = vec![false; self.homes.len()];
        for (at, finding) in evidence.iter().take(L).enumerate() {
            let repeated_by = if at + 1 == evidence.len() { at..L } else { at..at + 1 };
            for (var, likelihood) in finding.iter() {
                let taken_out = match self.place(var) {
                    Place::Fixed(state) => likelihood[state].ln(),
                    Place::Vertex(vertex) => {
                        on[vertex] = true;
                        likelihood.iter().copied().fold(0.0, f64::max).ln()
                    }
                };
                work.log_evidence[repeated_by.clone()].iter_mut().for_each(|log| *log += taken_out);
            }
        }
        let mut findings: Vec<(usize, usize, &[f64])> = Vec::new();
        for lane in 0..L {
            let of_vertices = of(lane).iter().filter_map(|(var, likelihood)| match self.place(var) {
                Place::Vertex(vertex) => Some((vertex, lane, likelihood)),
                Place::Fixed(_) => None,
            });
            findings.extend(of_vertices);
        }
        findings.sort_unstable_by_key(|(vertex, lane, _)| (*vertex, *lane));
        let mut findings = findings.as_slice();
        for (vertex, home) in self.homes.iter().enumerate() {
            let (of_vertex, others) =
                findings.split_at(findings.iter().take_while(|(v, ..)| *v == vertex).count());
            findings = others;
            if !on[vertex] && !work.found[vertex] {
                continue;
            }
            work.found[vertex] = on[vertex];
            let mut changed = false;
            for state in 0..home.states {
                let mut entry = [1.0; L];
                for (_, lane, likelihood) in of_vertex {
                    entry[*lane] = likelihood[state] / likelihood.iter().copied().fold(0.0, f64::max);
                }
                let place = &mut work.said[home.slot + state];
                changed |= *place != entry;
                *place = entry;
            }
            if changed {
                work.stale_up[home.clique] = true;
                work.stale_down[home.clique] = true;
            }
        }
    }

    /// Messages towards the roots, and the probability of the evidence.
    fn collect<const L: usize>(&self, work: &mut Workspace<L>) {
        let mut speaking: Vec<bool> = self.idle.iter().map(|idle| !idle).collect();
        for (vertex, home) in self.homes.iter().enumerate() {
            speaking[home.clique] |= work.found[vertex];
        }
        let mut log_p = [self.log_constant; L];
        let mut exponents = [0_i64; L];
        let mut inputs = Vec::new();
        let mut message = std::mem::take(&mut work.message);
        // Lanes known to be impossible, in which zeros are no sign of anything lost.
        let mut dead = [false; L];
        for (at, clique) in self.cliques.iter().enumerate() {
            let speaks = speaking[at];
            if let (true, Some(parent)) = (speaks, clique.parent) {
                speaking[parent] = true;
            }
            if work.speaks[at] != speaks {
                work.speaks[at] = speaks;
                work.stale_up[at] |= speaks;
                if let Some(parent) = clique.parent {
                    work.stale_up[parent] = true;
                    work.stale_down[parent] = true;
                }
            }
            if !speaks {
                continue;
            }
            if work.stale_up[at] {
                work.stale_up[at] = false;
                self.inputs(work, at, &mut inputs);
                kernel::up(clique, &inputs, &work.said, &mut message);
                work.touched += clique.values.len() as u64;
                let cancelled = if self.signed {
                    self.take_off_rounding(&work.said, at, &inputs, &mut message)
                } else {
                    [false; L]
                };
                for (lane, scaled) in kernel::scale(&mut message).into_iter().enumerate() {
                    work.exponents[at][lane] = scaled.exponent;
                    if scaled.faint && !cancelled[lane] && !dead[lane] {
                        work.exponents[at][lane] =
                            extended_exponent::up(clique, &inputs, &work.said, lane, &mut message);
                    }
                    dead[lane] |= scaled.faint && message.iter().all(|entry| entry[lane] == 0.0);
                }
                let before = &mut work.said[clique.slot..clique.slot + message.len()];
                if before != message.as_slice() {
                    before.copy_from_slice(&message);
                    if let Some(parent) = clique.parent {
                        work.stale_up[parent] = true;
                        work.stale_down[parent] = true;
                    }
                }
            }
            for lane in 0..L {
                exponents[lane] += work.exponents[at][lane];
                if clique.parent.is_none() {
                    log_p[lane] += work.said[clique.slot][lane].ln();
                }
            }
        }
        work.message = message;
        for lane in 0..L {
            // What was taken out of the messages comes back in one go.
            let taken_out = exponents[lane] as f64 * std::f64::consts::LN_2;
            let log_p = log_p[lane] + taken_out + work.log_evidence[lane];
            work.log_p[lane] = if log_p.is_nan() { f64::NEG_INFINITY } else { log_p };
        }
    }

    /// Makes zeros of the sums that are nothing but the rounding of their terms; says in which lanes
    /// there were any. What is left of them would be taken for a chance once all else is ruled out.
    fn take_off_rounding<const L: usize>(
        &self,
        said: &[[f64; L]],
        at: usize,
        inputs: &[usize],
        message: &mut [[f64; L]],
    ) -> [bool; L] {
        let clique = &self.cliques[at];
        let mut cancelled = [false; L];
        for (at, lane) in kernel::small(message, NO_ROUNDING) {
            let size = |entry: usize| {
                let places = clique.places_of(entry);
                let factors = inputs.iter().map(|i| said[places[*i] as usize][lane]);
                factors.fold(clique.values[entry], |p, x| p * x).abs()
            };
            let run = &clique.starts[at..at + 2];
            let terms: f64 = (run[0] as usize..run[1] as usize).map(size).sum();
            let sum = &mut message[at][lane];
            if sum.abs() <= ROUNDING * terms {
                *sum = 0.0;
                cancelled[lane] = true;
            }
        }
        cancelled
    }

    /// Links of a clique by which something comes in.
    fn inputs<const L: usize>(&self, work: &Workspace<L>, clique: usize, inputs: &mut Vec<usize>) {
        inputs.clear();
        let coming = |link: &Link| match link {
            Link::Child(child) => work.speaks[*child],
            Link::Vertex(vertex) => work.found[*vertex],
            Link::Table(_) => true,
        };
        inputs.extend((0..).zip(&self.cliques[clique].links).filter(|(_, l)| coming(l)).map(|(i, _)| i));
    }

    /// Messages away from the roots, as far as the targets need them.
    fn distribute<const L: usize>(&self, work: &mut Workspace<L>, targets: Option<&Targets>) {
        let mut inputs = Vec::new();
        let mut others = Vec::new();
        for (at, clique) in self.cliques.iter().enumerate().rev() {
            if targets.is_some_and(|t| !t.cliques[at]) || !work.stale_down[at] {
                continue;
            }
            // Told in part, it has to be told again when somebody asks for the rest.
            work.stale_down[at] = targets.is_some();
            if clique.parent.is_none() {
                work.told[clique.slot] = [1.0; L];
            }
            self.inputs(work, at, &mut inputs);
            // Inputs that nobody asks about come first: they are multiplied in and get nothing back.
            let wanted = |place: &usize| targets.is_none_or(|t| t.wants(clique.links[*place]));
            inputs.sort_by_key(&wanted);
            let silent = inputs.iter().take_while(|place| !wanted(place)).count();
            others.clear();
            others.extend((0..clique.links.len()).filter(|place| !inputs.contains(place) && wanted(place)));
            work.message.clear();
            let spoken_to =
                || inputs[silent..].iter().chain(&others).map(|place| (*place, clique.links[*place]));
            for (_, link) in spoken_to() {
                let (slot, length) = self.part_of_arena(link);
                if let Link::Child(_) = link {
                    work.message.extend_from_slice(&work.told[slot..slot + length]);
                }
                work.told[slot..slot + length].fill([0.0; L]);
            }
            let mut before = 0;
            kernel::down(clique, (&inputs[..silent], &inputs[silent..], &others), &work.said, &mut work.told);
            work.touched += clique.values.len() as u64;
            for (place, link) in spoken_to() {
                let (slot, length) = self.part_of_arena(link);
                for (lane, scaled) in
                    kernel::scale(&mut work.told[slot..slot + length]).into_iter().enumerate()
                {
                    if scaled.faint && work.log_p[lane] > f64::NEG_INFINITY {
                        extended_exponent::down(
                            clique,
                            &inputs,
                            (place, slot, length),
                            &work.said,
                            lane,
                            &mut work.told,
                        );
                    }
                }
                if let Link::Child(child) = link {
                    let now = &work.told[slot..slot + length];
                    work.stale_down[child] |= now != &work.message[before..before + length];
                    before += length;
                }
            }
        }
    }

    /// Where the numbers of a link begin, and how many there are.
    fn part_of_arena(&self, link: Link) -> (usize, usize) {
        match link {
            Link::Child(child) => (self.cliques[child].slot, self.cliques[child].configurations()),
            Link::Vertex(vertex) => (self.homes[vertex].slot, self.homes[vertex].states),
            Link::Table(table) => (self.tables[table].0, self.tables[table].1.values.len()),
        }
    }

    /// Natural logarithm of the probability of what was last propagated.
    #[must_use]
    pub fn log_p_evidence<const L: usize>(&self, work: &Workspace<L>) -> f64 {
        work.log_p[0]
    }

    /// The same for one of several questions.
    #[must_use]
    pub fn log_p_evidence_in<const L: usize>(&self, work: &Workspace<L>, lane: usize) -> f64 {
        work.log_p[lane]
    }

    /// Marginal of a variable after [`propagate`](Self::propagate).
    #[must_use]
    pub fn marginal(&self, work: &Workspace, var: VarId) -> Vec<f64> {
        self.marginal_in(work, 0, var)
    }

    /// Marginal of a variable, one of the [targets](Self::targets) if there were any, in one of
    /// several questions.
    #[must_use]
    pub fn marginal_in<const L: usize>(&self, work: &Workspace<L>, lane: usize, var: VarId) -> Vec<f64> {
        let mut marginal = Vec::new();
        self.read_marginal(work, lane, var, &mut marginal);
        marginal
    }

    /// The same, put behind what is there.
    pub fn read_marginal<const L: usize>(
        &self,
        work: &Workspace<L>,
        lane: usize,
        var: VarId,
        marginal: &mut Vec<f64>,
    ) {
        let start = marginal.len();
        match self.read(var) {
            Err(state) => {
                let states = self.network().variable(var).cardinality();
                marginal.extend((0..states).map(|s| f64::from(u8::from(s == state))));
            }
            Ok(home) => {
                let (told, said) = (&work.told[home.slot..], &work.said[home.slot..]);
                // Terms of both signs leave a rounding where the sum is zero.
                let joint =
                    told.iter().zip(said).take(home.states).map(|(t, s)| (t[lane] * s[lane]).max(0.0));
                marginal.extend(joint);
                let sum: f64 = marginal[start..].iter().sum();
                marginal[start..].iter_mut().for_each(|p| *p /= sum);
            }
        }
    }

    /// By entry of a factor kept apart: the probability of the evidence with the entry left out of the
    /// product, to a common factor.
    pub(super) fn without_table(&self, work: &Workspace, table: usize) -> Vec<f64> {
        let (slot, length) = self.part_of_arena(Link::Table(table));
        work.told[slot..slot + length].iter().map(|p| p[0]).collect()
    }
}
