//! The junction tree: compile once, answer many times.
//!
//! Compiling makes vertices and factors of the network, triangulates their graph, makes a tree of
//! cliques and lists the entries of every clique that are not zero ([`clique`](super::clique)).
//! [`propagate`](super::propagate) says how it is used.

use std::sync::Arc;

use super::clique::{Clique, CliqueRole, Indexed, Link, Listed, Scratch};
use super::factor::{Factor, Factors, Place, Rules};
use super::order::{Graph, eliminate};
use super::shape::TreeShape;
use super::size::SizePlan;
use super::{Evidence, InferenceError, Posterior, Workspace, conflict};
use crate::network::{Network, VarId};

/// Entries in all cliques together above which a network is refused: some four gigabytes of lists.
const ENTRY_LIMIT: f64 = 3e8;

/// A tree with fewer entries than this answers faster than any other is compiled.
const WORTH_COMPILING: f64 = 5e6;
/// How many times as long an entry takes to be listed as to be propagated through, as measured on
/// barley and munin1.
const DEARER_TO_COMPILE: f64 = 3.0;

/// A compiled network. Answers are independent of each other; the tree itself never changes.
#[derive(Debug, Clone)]
pub struct JunctionTree {
    network: Arc<Network>,
    /// Evidence built into the tables.
    fixed: Arc<Evidence>,
    /// Children before parents, everything below a clique in one run.
    pub(super) cliques: Vec<Clique>,
    /// By variable: its vertex, or the state that the evidence fixes it to.
    place: Arc<[Place]>,
    /// By vertex: where it is read.
    pub(super) homes: Arc<[Home]>,
    /// By clique: whether all that is below it, alone, says nothing of what is above: its message is 1
    /// throughout unless there is evidence below.
    pub(super) idle: Vec<bool>,
    /// Places in the arena of all messages.
    pub(super) arena: usize,
    /// Factors kept apart, with their places in the arena.
    pub(super) tables: Arc<[(usize, Factor)]>,
    /// Logarithm of the product of all factors without a vertex.
    pub(super) log_constant: f64,
    /// Whether some entries are negative.
    pub(super) signed: bool,
}

/// Where a vertex is read: a clique, and the places of its states in the arena.
#[derive(Debug, Clone, Copy)]
pub(super) struct Home {
    pub(super) clique: usize,
    pub(super) slot: usize,
    pub(super) states: usize,
}

/// A tree before its entries are listed.
pub(super) struct TreeDraft {
    parts: Factors,
    shape: TreeShape,
}

impl TreeDraft {
    /// Entries of all cliques, zeros counted.
    pub(super) fn dense(&self) -> f64 {
        self.shape.sizes(&self.parts.states).iter().sum()
    }

    /// Number of vertices.
    pub(super) fn vertices(&self) -> usize {
        self.parts.states.len()
    }
}

/// How to compile a network; [`JunctionTree::compile`] is the short form for the defaults.
///
/// ```
/// use halfsplit_bayes::{Compiler, Evidence, NetworkBuilder};
///
/// let mut b = NetworkBuilder::new();
/// let rain = b.add("rain", ["no", "yes"], &[], vec![0.8, 0.2])?;
/// let wet = b.add("wet", ["no", "yes"], &[rain], vec![0.9, 0.1, 0.05, 0.95])?;
/// let network = b.build()?;
/// let mut evidence = Evidence::new();
/// evidence.observe(&network, wet, "yes")?;
/// let tree = Compiler::new().with_evidence(&evidence).max_entries(1e6).compile(&network)?;
/// let posterior = tree.posterior(&Evidence::new())?;
/// assert!((posterior.marginal(rain)[1] - 0.19 / 0.27).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Compiler {
    given: Evidence,
    limit: f64,
    rules: Rules,
    apart: bool,
}

impl Default for Compiler {
    fn default() -> Self {
        Compiler { given: Evidence::new(), limit: ENTRY_LIMIT, rules: Rules::Shortest, apart: false }
    }
}

impl Compiler {
    /// No evidence built in, 3e8 entries at most, noisy-MAX variables as rules.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Builds evidence in for good: hard findings shrink the tables, and entries that the evidence
    /// rules out are dropped. Every answer then includes it.
    #[must_use]
    pub fn with_evidence(mut self, evidence: &Evidence) -> Self {
        self.given = evidence.clone();
        self
    }

    /// A limit of one's own on the entries of all cliques together: some twenty to forty bytes each.
    #[must_use]
    pub fn max_entries(mut self, entries: f64) -> Self {
        self.limit = entries;
        self
    }

    /// How every noisy-MAX is taken.
    #[must_use]
    pub(super) fn rules(mut self, rules: Rules) -> Self {
        self.rules = rules;
        self
    }

    /// Keeps the factors apart from the cliques, so that they can be asked about.
    #[must_use]
    pub(super) fn keep_factors(mut self) -> Self {
        self.apart = true;
        self
    }

    /// Compiles.
    ///
    /// # Errors
    /// [`InferenceError::TooLarge`], before anything large is allocated;
    /// [`InferenceError::Impossible`] where the evidence built in has probability zero.
    pub fn compile(&self, network: &Network) -> Result<JunctionTree, InferenceError> {
        let tree = self.compile_unchecked(Arc::new(network.clone()))?;
        if self.given.is_empty() || tree.is_possible(&Evidence::new()) {
            Ok(tree)
        } else {
            Err(tree.impossible(&Evidence::new()))
        }
    }

    /// Compiles without asking whether the evidence built in is possible: whoever propagates is told.
    ///
    /// # Errors
    /// [`InferenceError::TooLarge`].
    pub fn compile_unchecked(&self, network: Arc<Network>) -> Result<JunctionTree, InferenceError> {
        let mut tree = self.compile_with(&network, &mut Scratch::default())?;
        tree.cliques.iter_mut().for_each(Clique::leave_no_room);
        Ok(tree)
    }

    /// The same with memory that was used before.
    pub(super) fn compile_with(
        &self,
        network: &Arc<Network>,
        scratch: &mut Scratch,
    ) -> Result<JunctionTree, InferenceError> {
        self.finish(network, self.draft(network)?, scratch)
    }

    /// Compiles, unless the entries with zeros counted are more than this.
    fn compile_below(
        &self,
        network: &Arc<Network>,
        entries: f64,
        scratch: &mut Scratch,
    ) -> Result<Option<JunctionTree>, InferenceError> {
        let draft = self.draft(network)?;
        if draft.dense() > entries { Ok(None) } else { self.finish(network, draft, scratch).map(Some) }
    }

    /// What the tree will look like.
    pub(super) fn draft(&self, network: &Network) -> Result<TreeDraft, InferenceError> {
        let mut parts = Factors::new(network, &self.given, self.rules)?;
        if !self.apart {
            parts.merge_what_is_left();
        }
        let order = eliminate(&graph(&parts), &parts.states, || parts.are_full(), self.limit);
        let shape = TreeShape::new(&order, &parts.states);
        Ok(TreeDraft { parts, shape })
    }

    /// Compiles what has been drafted for this network.
    ///
    /// # Errors
    /// [`InferenceError::TooLarge`].
    pub(super) fn finish(
        &self,
        network: &Arc<Network>,
        TreeDraft { parts, shape }: TreeDraft,
        scratch: &mut Scratch,
    ) -> Result<JunctionTree, InferenceError> {
        let mut assigned: Vec<Vec<usize>> = vec![Vec::new(); shape.scopes.len()];
        for (i, factor) in parts.factors.iter().enumerate() {
            assigned[shape.home_of(&factor.scope)].push(i);
        }
        let plan = SizePlan::new(&parts, &shape, &assigned, self.apart);
        let met = plan.met(self.limit)?;
        let idle = idle(&parts, &shape, &assigned);
        let (cliques, homes, apart, arena) = self.cliques(&plan, met.as_deref(), scratch);
        let Factors { place, factors, log_constant, signed, .. } = parts;
        let mut kept: Vec<Option<Factor>> = factors.into_iter().map(Some).collect();
        let tables = apart.into_iter().filter_map(|(slot, f)| kept[f].take().map(|f| (slot, f))).collect();
        Ok(JunctionTree {
            network: network.clone(),
            fixed: Arc::new(self.given.clone()),
            cliques,
            place: place.into(),
            homes: homes.into(),
            idle,
            arena,
            tables,
            log_constant,
            signed,
        })
    }

    /// Lists every clique and lays out the arena.
    #[allow(clippy::type_complexity)]
    fn cliques(
        &self,
        plan: &SizePlan,
        met: Option<&[Vec<f64>]>,
        scratch: &mut Scratch,
    ) -> (Vec<Clique>, Vec<Home>, Vec<(usize, usize)>, usize) {
        let SizePlan { parts, shape, assigned, children, .. } = plan;
        let states = &parts.states;
        let read_in = smallest_holders(shape, states);
        let mut read: Vec<Vec<usize>> = vec![Vec::new(); shape.scopes.len()];
        read_in.iter().enumerate().for_each(|(vertex, clique)| read[*clique].push(vertex));
        let mut listed: Vec<(Listed, Vec<Link>)> = Vec::with_capacity(shape.scopes.len());
        for (c, scope) in shape.scopes.iter().enumerate() {
            let mut links: Vec<Link> = children[c].iter().map(|k| Link::Child(*k)).collect();
            links.extend(read[c].iter().map(|v| Link::Vertex(*v)));
            if self.apart {
                links.extend(assigned[c].iter().map(|f| Link::Table(*f)));
            }
            let list = {
                let mut indexed: Vec<Indexed> = links
                    .iter()
                    .map(|link| match link {
                        Link::Child(k) => Indexed {
                            scope: &shape.scopes[*k][..shape.shared[*k]],
                            role: CliqueRole::Message(&listed[*k].0.configurations),
                        },
                        Link::Vertex(v) => {
                            Indexed { scope: std::slice::from_ref(v), role: CliqueRole::Plain }
                        }
                        Link::Table(f) => Indexed {
                            scope: &parts.factors[*f].scope,
                            role: CliqueRole::Apart(&parts.factors[*f].values),
                        },
                    })
                    .collect();
                if !self.apart {
                    indexed.extend(assigned[c].iter().map(|f| Indexed {
                        scope: &parts.factors[*f].scope,
                        role: CliqueRole::Factor(&parts.factors[*f].values),
                    }));
                }
                indexed.extend(met.map(|met| plan.mask(c, met)));
                scratch.list(scope, shape.shared[c], states, &indexed)
            };
            for k in &children[c] {
                listed[*k].0.configurations = Vec::new();
            }
            listed.push((list, links));
        }
        drop_unmet(&mut listed);
        let mut homes = vec![Home { clique: 0, slot: 0, states: 0 }; states.len()];
        let mut tables = Vec::new();
        let mut arena = 0;
        let mut room = |length: usize| {
            arena += length;
            arena - length
        };
        let mut cliques: Vec<Clique> = Vec::with_capacity(listed.len());
        for (c, (list, mut links)) in listed.into_iter().enumerate() {
            let starts_at: Vec<u32> = links
                .iter_mut()
                .map(|link| {
                    let slot = match link {
                        Link::Child(k) => cliques[*k].slot,
                        Link::Vertex(v) => {
                            let slot = room(states[*v]);
                            homes[*v] = Home { clique: c, slot, states: states[*v] };
                            slot
                        }
                        Link::Table(f) => {
                            let slot = room(parts.factors[*f].values.len());
                            tables.push((slot, *f));
                            *f = tables.len() - 1;
                            slot
                        }
                    };
                    slot as u32
                })
                .collect();
            let Listed { values, starts, mut places, .. } = list;
            if !links.is_empty() {
                for of_entry in places.chunks_exact_mut(links.len()) {
                    of_entry.iter_mut().zip(&starts_at).for_each(|(place, start)| *place += start);
                }
            }
            let slot = room(starts.len() - 1);
            cliques.push(Clique { values, starts, slot, parent: shape.parents[c], links, places });
        }
        (cliques, homes, tables, arena)
    }
}

/// Vertices that stand in a factor together are joined.
fn graph(parts: &Factors) -> Graph {
    let mut graph = Graph::new(parts.states.len());
    for factor in &parts.factors {
        for (i, a) in factor.scope.iter().enumerate() {
            for b in &factor.scope[i + 1..] {
                graph.join(*a, *b);
            }
        }
    }
    graph
}

/// By vertex: the smallest clique that holds it.
fn smallest_holders(shape: &TreeShape, states: &[usize]) -> Vec<usize> {
    let sizes = shape.sizes(states);
    let mut holders: Vec<Option<usize>> = vec![None; states.len()];
    for (c, scope) in shape.scopes.iter().enumerate() {
        for v in scope {
            if holders[*v].is_none_or(|h| sizes[c] < sizes[h]) {
                holders[*v] = Some(c);
            }
        }
    }
    holders.into_iter().map(Option::unwrap_or_default).collect()
}

/// Drops the entries that no entry of the parent meets, parents first, and numbers the
/// configurations that are left anew.
fn drop_unmet(listed: &mut [(Listed, Vec<Link>)]) {
    for parent in (0..listed.len()).rev() {
        let (below, from) = listed.split_at_mut(parent);
        let (list, links) = &mut from[0];
        for (at, link) in links.iter().enumerate() {
            let Link::Child(child) = *link else { continue };
            let child = &mut below[child].0;
            let mut met = vec![false; child.starts.len() - 1];
            let met_by = list.places.iter().skip(at).step_by(links.len());
            met_by.clone().for_each(|place| met[*place as usize] = true);
            if met.contains(&false) {
                let number = child.keep_runs(&met);
                let places = list.places.iter_mut().skip(at).step_by(links.len());
                places.for_each(|place| *place = number[*place as usize]);
            }
        }
    }
}

/// By clique: whether the factors at and below it are the whole conditional distributions of just
/// those variables that are summed out there. Then they add up to 1, whatever is above.
fn idle(parts: &Factors, shape: &TreeShape, assigned: &[Vec<usize>]) -> Vec<bool> {
    let mut idle = vec![true; shape.scopes.len()];
    // Where the parts of each conditional distribution are: its factors, and its own vertices summed out.
    let mut whole: Vec<Vec<usize>> = vec![Vec::new(); parts.distributions];
    for (clique, factors) in assigned.iter().enumerate() {
        for f in factors {
            match parts.factors[*f].of {
                Some(distribution) => whole[distribution].push(clique),
                None => spoil(&mut idle, shape, clique, |_| false),
            }
        }
    }
    for (vertex, of) in parts.owner.iter().enumerate() {
        whole[*of].push(shape.top_of(vertex));
    }
    for cliques in &whole {
        for clique in cliques {
            spoil(&mut idle, shape, *clique, |above| cliques.iter().all(|c| shape.is_below(*c, above)));
        }
    }
    idle
}

/// Marks a clique and those above it, up to the first that will do.
fn spoil(idle: &mut [bool], shape: &TreeShape, clique: usize, will_do: impl Fn(usize) -> bool) {
    let mut at = Some(clique);
    while let Some(c) = at.filter(|c| !will_do(*c)) {
        idle[c] = false;
        at = shape.parents[c];
    }
}

impl JunctionTree {
    /// Compiles a network.
    ///
    /// # Errors
    /// [`InferenceError::TooLarge`], before anything large is allocated.
    pub fn compile(network: &Network) -> Result<Self, InferenceError> {
        Compiler::new().compile(network)
    }

    /// Compiles a network with some evidence built in for good: see [`Compiler::with_evidence`].
    ///
    /// # Errors
    /// [`InferenceError::TooLarge`]; [`InferenceError::Impossible`].
    pub fn compile_with_evidence(network: &Network, fixed: &Evidence) -> Result<Self, InferenceError> {
        Compiler::new().with_evidence(fixed).compile(network)
    }

    /// The network it was compiled from.
    #[must_use]
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// Number of clique entries that are not zero: the work of one pass, and twenty to forty bytes of
    /// memory each.
    #[must_use]
    pub fn entries(&self) -> usize {
        self.cliques.iter().map(|c| c.values.len()).sum()
    }

    /// Where a variable is read, or the state that the evidence built in fixes it to.
    pub(super) fn read(&self, var: VarId) -> Result<Home, usize> {
        match self.place[var.index()] {
            Place::Fixed(state) => Err(state),
            Place::Vertex(v) => Ok(self.homes[v]),
        }
    }

    /// The vertex of a variable, or the state that it is fixed to.
    pub(super) fn place(&self, var: VarId) -> Place {
        self.place[var.index()]
    }

    /// All marginals and the probability of the evidence.
    ///
    /// # Errors
    /// [`InferenceError::Impossible`], naming the findings in conflict.
    pub fn posterior(&self, evidence: &Evidence) -> Result<Posterior, InferenceError> {
        self.posterior_in(&mut self.workspace(), evidence)
    }

    /// The same in a workspace: its memory is used again, and only what differs from the evidence last
    /// propagated there is worked out anew.
    ///
    /// Hard findings cut a large tree down so far that a smaller one is made for them, where that is
    /// less work than one pass through the large one.
    ///
    /// # Errors
    /// [`InferenceError::Impossible`], naming the findings in conflict.
    pub fn posterior_in(
        &self,
        work: &mut Workspace,
        evidence: &Evidence,
    ) -> Result<Posterior, InferenceError> {
        let entries = self.entries() as f64;
        if entries > WORTH_COMPILING && !evidence.is_empty() {
            let compiler = Compiler::new().with_evidence(&self.with_fixed(evidence));
            let worth = entries / DEARER_TO_COMPILE;
            if let Some(small) = compiler.compile_below(&self.network, worth, &mut work.scratch)? {
                let mut work_there = small.workspace();
                let answer = small.read_off(&mut work_there, &Evidence::new());
                work.touched += work_there.touched;
                small.give_back(&mut work.scratch);
                return answer;
            }
        }
        self.read_off(work, evidence)
    }

    /// Leaves the memory of its lists for trees to come.
    pub(super) fn give_back(self, scratch: &mut Scratch) {
        scratch.take_back(self.cliques);
    }

    fn read_off(&self, work: &mut Workspace, evidence: &Evidence) -> Result<Posterior, InferenceError> {
        if !self.propagate(work, evidence) {
            return Err(self.impossible(evidence));
        }
        let marginals = self.network.iter().map(|(v, _)| self.marginal(work, v)).collect();
        Ok(Posterior::new(self.log_p_evidence(work), marginals))
    }

    /// The tree cut down to some states of some variables, for asking about nothing else: an entry
    /// that the cut rules out is not there. For states without any chance `false` is given in
    /// `allowed`.
    #[must_use]
    pub fn restrict(&self, allowed: &[(VarId, Vec<bool>)]) -> Self {
        let mut tree = self.clone();
        let mut open = vec![true; self.arena];
        for (var, states) in allowed {
            match self.place(*var) {
                Place::Fixed(state) if !states[state] => tree.log_constant = f64::NEG_INFINITY,
                Place::Fixed(_) => {}
                Place::Vertex(v) => {
                    let home = self.homes[v];
                    open[home.slot..home.slot + home.states].copy_from_slice(states);
                }
            }
        }
        // A message of which nothing is left rules out what would meet it: below, then above.
        let mut spoiled = vec![false; tree.cliques.len()];
        for at in 0..tree.cliques.len() {
            let clique = &mut tree.cliques[at];
            let before = clique.values.len();
            clique.retain(|_, places| places.iter().all(|p| open[*p as usize]));
            // What is left of a distribution no longer adds up to 1.
            spoiled[at] |= clique.values.len() < before;
            if let (Some(parent), true) = (clique.parent, spoiled[at]) {
                spoiled[parent] = true;
            }
            tree.idle[at] &= !spoiled[at];
            for (at, run) in clique.starts.windows(2).enumerate() {
                open[clique.slot + at] = run[0] < run[1];
            }
        }
        open.fill(false);
        for clique in tree.cliques.iter_mut().rev() {
            let slot = clique.slot;
            if clique.parent.is_some() {
                clique.retain(|configuration, _| open[slot + configuration]);
            }
            clique.places.iter().for_each(|p| open[*p as usize] = true);
        }
        tree
    }

    pub(super) fn impossible(&self, evidence: &Evidence) -> InferenceError {
        conflict::impossible(&self.network, &self.with_fixed(evidence))
    }

    /// Some evidence together with what was built in.
    pub(super) fn with_fixed(&self, evidence: &Evidence) -> Evidence {
        let mut all = Evidence::clone(&self.fixed);
        for (var, likelihood) in evidence.iter() {
            let joint = match self.fixed.get(var) {
                Some(f) => f.iter().zip(likelihood).map(|(a, b)| a * b).collect(),
                None => likelihood.to_vec(),
            };
            all.set(var, joint);
        }
        all
    }
}
