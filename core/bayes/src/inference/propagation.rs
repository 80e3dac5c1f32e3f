//! Propagation: messages through the tree, and the values that can be read afterwards.
//!
//! Messages to the root (collect) are recomputed only if something below them has changed since the last
//! query, and only if the subtree sends a message other than 1. Messages away from the root (distribute) are
//! computed only for the targets. Messages are scaled by powers of two, and the exponents are added up, so
//! that no number of findings underflows.

use super::clique::Link;
use super::factor::Placement;
use super::junction_tree::JunctionTree;
use super::{Evidence, Targets, Workspace, extended_exponent, kernel};
use crate::network::VarId;

/// A sum smaller than this share of its terms' magnitudes is zero. With negative entries, a sum of zero comes
/// out as the rounding of its terms, which is 1.1e-16 of each; some thousands of them add up.
const CANCELLATION: f64 = 1e-12;

/// A sum above this is not the rounding of its terms: messages are at most 2, and few tables have entries
/// above 1.
const LARGEST_ROUNDING: f64 = 1e-7;

impl JunctionTree {
    /// Propagates evidence. Returns `false` if the evidence, with the evidence built in, has probability
    /// zero; then marginals in `work` have no meaning. Only messages that differ from those of the
    /// workspace's last query are computed.
    ///
    /// [`posterior`](Self::posterior) is the short form. This method pays off if only a few marginals are
    /// read.
    ///
    /// ```
    /// # use halfsplit_bayes::{Evidence, JunctionTree, NetworkBuilder};
    /// # let mut builder = NetworkBuilder::new();
    /// # let rain = builder.add("rain", ["no", "yes"], &[], vec![0.8, 0.2])?;
    /// # let wet = builder.add("wet", ["no", "yes"], &[rain], vec![0.9, 0.1, 0.05, 0.95])?;
    /// # let network = builder.build()?;
    /// # let tree = JunctionTree::compile(&network)?;
    /// let mut work = tree.workspace();
    /// let mut evidence = Evidence::new();
    /// evidence.observe(&network, wet, "yes")?;
    /// assert!(tree.propagate(&mut work, &evidence));
    /// assert!((tree.log_p_evidence(&work).exp() - 0.27).abs() < 1e-12);
    /// assert!((tree.marginal(&work, rain)[1] - 0.19 / 0.27).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Panics
    /// If the workspace belongs to another tree, or the evidence refers to variables that the tree's network
    /// does not have.
    pub fn propagate(&self, work: &mut Workspace, evidence: &Evidence) -> bool {
        self.propagate_lanes(work, &[evidence], None)[0]
    }

    /// Propagates one to `L` sets of evidence side by side, one in each lane. Returns for each lane whether
    /// its evidence has a probability above zero. Lanes beyond the number of sets repeat the last one.
    ///
    /// With [targets](Self::targets), only their marginals can be read afterwards.
    ///
    /// # Panics
    /// If `evidence` is empty or has more than `L` sets; otherwise as for [`propagate`](Self::propagate).
    pub fn propagate_lanes<const L: usize>(
        &self,
        work: &mut Workspace<L>,
        evidence: &[&Evidence],
        targets: Option<&Targets>,
    ) -> [bool; L] {
        assert!((1..=L).contains(&evidence.len()), "{} sets of evidence for {L} lanes", evidence.len());
        let possible = self.collect_evidence(work, evidence);
        if possible.contains(&true) {
            self.distribute(work, targets);
        }
        possible
    }

    /// Propagates to the root only: this gives the probability of the evidence. Returns for each lane whether
    /// it is above zero.
    pub(super) fn collect_evidence<const L: usize>(
        &self,
        work: &mut Workspace<L>,
        evidence: &[&Evidence],
    ) -> [bool; L] {
        self.enter_evidence(work, evidence);
        self.collect(work);
        work.log_p.map(|log_p| log_p > f64::NEG_INFINITY)
    }

    /// Whether evidence, with the evidence built in, has a probability above zero.
    pub(super) fn is_possible(&self, evidence: &Evidence) -> bool {
        self.collect_evidence(&mut self.workspace(), &[evidence])[0]
    }

    /// Writes the likelihoods into their slots, scaled to a largest entry of 1, and marks the messages that
    /// become out of date.
    fn enter_evidence<const L: usize>(&self, work: &mut Workspace<L>, evidence: &[&Evidence]) {
        let of = |lane: usize| evidence[lane.min(evidence.len() - 1)];
        work.log_evidence = [0.0; L];
        let mut on: Vec<bool> = vec![false; self.vertex_slots.len()];
        for (at, finding) in evidence.iter().take(L).enumerate() {
            let repeated_by = if at + 1 == evidence.len() { at..L } else { at..at + 1 };
            for (var, likelihood) in finding.iter() {
                let taken_out = match self.placement(var) {
                    Placement::Fixed(state) => likelihood[state].ln(),
                    Placement::Vertex(vertex) => {
                        on[vertex] = true;
                        likelihood.iter().copied().fold(0.0, f64::max).ln()
                    }
                };
                work.log_evidence[repeated_by.clone()].iter_mut().for_each(|log| *log += taken_out);
            }
        }
        let mut findings: Vec<(usize, usize, &[f64])> = Vec::new();
        for lane in 0..L {
            let of_vertices = of(lane).iter().filter_map(|(var, likelihood)| match self.placement(var) {
                Placement::Vertex(vertex) => Some((vertex, lane, likelihood)),
                Placement::Fixed(_) => None,
            });
            findings.extend(of_vertices);
        }
        findings.sort_unstable_by_key(|(vertex, lane, _)| (*vertex, *lane));
        let mut findings = findings.as_slice();
        for (vertex, slots) in self.vertex_slots.iter().enumerate() {
            let (of_vertex, others) =
                findings.split_at(findings.iter().take_while(|(v, ..)| *v == vertex).count());
            findings = others;
            if !on[vertex] && !work.has_evidence[vertex] {
                continue;
            }
            work.has_evidence[vertex] = on[vertex];
            let mut changed = false;
            for state in 0..slots.states {
                let mut entry = [1.0; L];
                for (_, lane, likelihood) in of_vertex {
                    entry[*lane] = likelihood[state] / likelihood.iter().copied().fold(0.0, f64::max);
                }
                let slot = &mut work.upward[slots.start + state];
                changed |= *slot != entry;
                *slot = entry;
            }
            if changed {
                work.stale_up[slots.clique] = true;
                work.stale_down[slots.clique] = true;
            }
        }
    }

    /// Computes the messages to the root and the probability of the evidence.
    fn collect<const L: usize>(&self, work: &mut Workspace<L>) {
        let mut sending: Vec<bool> = self.vacuous.iter().map(|vacuous| !vacuous).collect();
        for (vertex, slots) in self.vertex_slots.iter().enumerate() {
            sending[slots.clique] |= work.has_evidence[vertex];
        }
        let mut log_p = [self.log_constant; L];
        let mut exponents = [0_i64; L];
        let mut inputs = Vec::new();
        let mut message = std::mem::take(&mut work.message);
        // Lanes whose evidence has probability zero; zeros there are no sign of underflow.
        let mut impossible = [false; L];
        for (at, clique) in self.cliques.iter().enumerate() {
            let sends = sending[at];
            if let (true, Some(parent)) = (sends, clique.parent) {
                sending[parent] = true;
            }
            if work.sends[at] != sends {
                work.sends[at] = sends;
                work.stale_up[at] |= sends;
                if let Some(parent) = clique.parent {
                    work.stale_up[parent] = true;
                    work.stale_down[parent] = true;
                }
            }
            if !sends {
                continue;
            }
            if work.stale_up[at] {
                work.stale_up[at] = false;
                self.inputs(work, at, &mut inputs);
                kernel::upward_message(clique, &inputs, &work.upward, &mut message);
                work.entries_visited += clique.values.len() as u64;
                let cancelled = if self.signed {
                    self.zero_cancelled_sums(&work.upward, at, &inputs, &mut message)
                } else {
                    [false; L]
                };
                for (lane, scaled) in kernel::scale(&mut message).into_iter().enumerate() {
                    work.exponents[at][lane] = scaled.exponent;
                    if scaled.may_have_underflowed && !cancelled[lane] && !impossible[lane] {
                        work.exponents[at][lane] = extended_exponent::upward_message(
                            clique,
                            &inputs,
                            &work.upward,
                            lane,
                            &mut message,
                        );
                    }
                    impossible[lane] |=
                        scaled.may_have_underflowed && message.iter().all(|entry| entry[lane] == 0.0);
                }
                let before = &mut work.upward[clique.message_start..clique.message_start + message.len()];
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
                    log_p[lane] += work.upward[clique.message_start][lane].ln();
                }
            }
        }
        work.message = message;
        for lane in 0..L {
            let taken_out = exponents[lane] as f64 * std::f64::consts::LN_2;
            let log_p = log_p[lane] + taken_out + work.log_evidence[lane];
            work.log_p[lane] = if log_p.is_nan() { f64::NEG_INFINITY } else { log_p };
        }
    }

    /// Sets to zero the sums that are the rounding of terms that cancel, and returns the lanes in which there
    /// are any. Otherwise the rounding would become the whole probability as soon as everything else is ruled
    /// out.
    fn zero_cancelled_sums<const L: usize>(
        &self,
        upward: &[[f64; L]],
        at: usize,
        inputs: &[usize],
        message: &mut [[f64; L]],
    ) -> [bool; L] {
        let clique = &self.cliques[at];
        let mut cancelled = [false; L];
        for (at, lane) in kernel::small(message, LARGEST_ROUNDING) {
            let size = |entry: usize| {
                let slots = clique.slots_of(entry);
                let factors = inputs.iter().map(|i| upward[slots[*i] as usize][lane]);
                factors.fold(clique.values[entry], |p, x| p * x).abs()
            };
            let run = &clique.run_starts[at..at + 2];
            let terms: f64 = (run[0] as usize..run[1] as usize).map(size).sum();
            let sum = &mut message[at][lane];
            if sum.abs() <= CANCELLATION * terms {
                *sum = 0.0;
                cancelled[lane] = true;
            }
        }
        cancelled
    }

    /// The links through which a clique receives a message.
    fn inputs<const L: usize>(&self, work: &Workspace<L>, clique: usize, inputs: &mut Vec<usize>) {
        inputs.clear();
        let coming = |link: &Link| match link {
            Link::Child(child) => work.sends[*child],
            Link::Vertex(vertex) => work.has_evidence[*vertex],
            Link::Table(_) => true,
        };
        inputs.extend((0..).zip(&self.cliques[clique].links).filter(|(_, l)| coming(l)).map(|(i, _)| i));
    }

    /// Computes the messages away from the root that the targets need.
    fn distribute<const L: usize>(&self, work: &mut Workspace<L>, targets: Option<&Targets>) {
        let mut inputs = Vec::new();
        let mut others = Vec::new();
        for (at, clique) in self.cliques.iter().enumerate().rev() {
            if targets.is_some_and(|t| !t.cliques[at]) || !work.stale_down[at] {
                continue;
            }
            // With targets, some links have no message yet; a later query may need them.
            work.stale_down[at] = targets.is_some();
            if clique.parent.is_none() {
                work.downward[clique.message_start] = [1.0; L];
            }
            self.inputs(work, at, &mut inputs);
            // Inputs without a target come first: they are multiplied in and get no message.
            let wanted = |slot: &usize| targets.is_none_or(|t| t.wants(clique.links[*slot]));
            inputs.sort_by_key(&wanted);
            let inputs_only = inputs.iter().take_while(|slot| !wanted(slot)).count();
            others.clear();
            others.extend((0..clique.links.len()).filter(|slot| !inputs.contains(slot) && wanted(slot)));
            work.message.clear();
            let receivers =
                || inputs[inputs_only..].iter().chain(&others).map(|slot| (*slot, clique.links[*slot]));
            for (_, link) in receivers() {
                let (start, length) = self.message_range(link);
                if let Link::Child(_) = link {
                    work.message.extend_from_slice(&work.downward[start..start + length]);
                }
                work.downward[start..start + length].fill([0.0; L]);
            }
            let mut before = 0;
            kernel::downward_messages(
                clique,
                (&inputs[..inputs_only], &inputs[inputs_only..], &others),
                &work.upward,
                &mut work.downward,
            );
            work.entries_visited += clique.values.len() as u64;
            for (slot, link) in receivers() {
                let (start, length) = self.message_range(link);
                for (lane, scaled) in
                    kernel::scale(&mut work.downward[start..start + length]).into_iter().enumerate()
                {
                    if scaled.may_have_underflowed && work.log_p[lane] > f64::NEG_INFINITY {
                        extended_exponent::downward_message(
                            clique,
                            &inputs,
                            (slot, start, length),
                            &work.upward,
                            lane,
                            &mut work.downward,
                        );
                    }
                }
                if let Link::Child(child) = link {
                    let now = &work.downward[start..start + length];
                    work.stale_down[child] |= now != &work.message[before..before + length];
                    before += length;
                }
            }
        }
    }

    /// First slot and length of the message through a link.
    fn message_range(&self, link: Link) -> (usize, usize) {
        match link {
            Link::Child(child) => (self.cliques[child].message_start, self.cliques[child].configurations()),
            Link::Vertex(vertex) => (self.vertex_slots[vertex].start, self.vertex_slots[vertex].states),
            Link::Table(table) => (self.tables[table].0, self.tables[table].1.values.len()),
        }
    }

    /// Natural logarithm of the probability of the evidence last propagated.
    #[must_use]
    pub fn log_p_evidence<const L: usize>(&self, work: &Workspace<L>) -> f64 {
        work.log_p[0]
    }

    /// Natural logarithm of the probability of the evidence last propagated in a lane.
    ///
    /// # Panics
    /// If `lane` is not below `L`.
    #[must_use]
    pub fn lane_log_p_evidence<const L: usize>(&self, work: &Workspace<L>, lane: usize) -> f64 {
        work.log_p[lane]
    }

    /// Posterior marginal of a variable after [`propagate`](Self::propagate): the probability of each of its
    /// states.
    ///
    /// # Panics
    /// If the variable does not belong to the tree's network.
    #[must_use]
    pub fn marginal(&self, work: &Workspace, var: VarId) -> Vec<f64> {
        self.lane_marginal(work, 0, var)
    }

    /// Posterior marginal of a variable in a lane. If targets were given, the variable must be one of them.
    ///
    /// # Panics
    /// If `lane` is not below `L`, or the variable does not belong to the tree's network.
    #[must_use]
    pub fn lane_marginal<const L: usize>(&self, work: &Workspace<L>, lane: usize, var: VarId) -> Vec<f64> {
        let mut marginal = Vec::new();
        self.append_lane_marginal(work, lane, var, &mut marginal);
        marginal
    }

    /// Appends the posterior marginal of a variable in a lane to `marginal`. This is
    /// [`lane_marginal`](Self::lane_marginal) without an allocation for each call.
    ///
    /// # Panics
    /// If `lane` is not below `L`, or the variable does not belong to the tree's network.
    pub fn append_lane_marginal<const L: usize>(
        &self,
        work: &Workspace<L>,
        lane: usize,
        var: VarId,
        marginal: &mut Vec<f64>,
    ) {
        let start = marginal.len();
        match self.slots_of(var) {
            Err(state) => {
                let states = self.network().variable(var).cardinality();
                marginal.extend((0..states).map(|s| f64::from(u8::from(s == state))));
            }
            Ok(slots) => {
                let (downward, upward) = (&work.downward[slots.start..], &work.upward[slots.start..]);
                // Terms of both signs leave a rounding where the sum is zero.
                let joint =
                    downward.iter().zip(upward).take(slots.states).map(|(t, s)| (t[lane] * s[lane]).max(0.0));
                marginal.extend(joint);
                let sum: f64 = marginal[start..].iter().sum();
                marginal[start..].iter_mut().for_each(|p| *p /= sum);
            }
        }
    }

    /// By entry of a kept factor: the derivative of the probability of the evidence by the entry, up to a
    /// common factor.
    pub(super) fn table_derivatives(&self, work: &Workspace, table: usize) -> Vec<f64> {
        let (start, length) = self.message_range(Link::Table(table));
        work.downward[start..start + length].iter().map(|p| p[0]).collect()
    }
}
