//! Compilation: from a network to a junction tree.

use std::sync::Arc;

use super::clique::{Clique, Link};
use super::clique_tree::CliqueTree;
use super::elimination::{EliminationGraph, elimination_order};
use super::entry_count::EntryCounter;
use super::entry_list::{EntryList, ListPool, Operand, OperandRole};
use super::factor::{Factor, Factors, NoisyMaxForm};
use super::junction_tree::JunctionTree;
use super::layout::Layout;
use super::{Evidence, InferenceError};
use crate::network::Network;

/// Default limit on the entries of all cliques together: about 4 gigabytes of lists.
const ENTRY_LIMIT: f64 = 3e8;

/// A junction tree whose entries are not listed yet.
pub(super) struct TreeDraft {
    factors: Factors,
    tree: CliqueTree,
}

impl TreeDraft {
    /// Number of entries of all cliques, zeros included.
    pub(super) fn dense(&self) -> f64 {
        self.tree.sizes(&self.factors.states).iter().sum()
    }

    /// Number of vertices.
    pub(super) fn vertices(&self) -> usize {
        self.factors.states.len()
    }
}

/// Options for compiling a network. [`JunctionTree::compile`] uses the defaults.
///
/// ```
/// use halfsplit_bayes::{Compiler, Evidence, NetworkBuilder};
///
/// let mut builder = NetworkBuilder::new();
/// let rain = builder.add("rain", ["no", "yes"], &[], vec![0.8, 0.2])?;
/// let wet = builder.add("wet", ["no", "yes"], &[rain], vec![0.9, 0.1, 0.05, 0.95])?;
/// let network = builder.build()?;
/// let mut evidence = Evidence::new();
/// evidence.observe(&network, wet, "yes")?;
/// let tree = Compiler::new().with_evidence(&evidence).max_entries(1e6).compile(&network)?;
/// let posterior = tree.posterior(&Evidence::new())?;
/// // P(rain | wet) = 0.2 * 0.95 / (0.8 * 0.1 + 0.2 * 0.95)
/// assert!((posterior.marginal(rain)[1] - 0.19 / 0.27).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Compiler {
    evidence: Evidence,
    max_entries: f64,
    noisy_max_form: NoisyMaxForm,
    keep_factors: bool,
}

impl Default for Compiler {
    fn default() -> Self {
        Compiler {
            evidence: Evidence::new(),
            max_entries: ENTRY_LIMIT,
            noisy_max_form: NoisyMaxForm::Smallest,
            keep_factors: false,
        }
    }
}

impl Compiler {
    /// Returns the default options: no evidence built in, at most 3e8 entries.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Builds evidence into the tree. Hard evidence removes variables from the tables, and entries that the
    /// evidence rules out are not stored. Every answer of the tree then includes this evidence.
    #[must_use]
    pub fn with_evidence(mut self, evidence: &Evidence) -> Self {
        self.evidence = evidence.clone();
        self
    }

    /// Sets the limit on the entries of all cliques together, zeros not counted. An entry takes 20 to 40
    /// bytes.
    #[must_use]
    pub fn max_entries(mut self, entries: f64) -> Self {
        self.max_entries = entries;
        self
    }

    /// Sets the factors that represent a noisy-MAX.
    #[must_use]
    pub(super) fn noisy_max_form(mut self, form: NoisyMaxForm) -> Self {
        self.noisy_max_form = form;
        self
    }

    /// Keeps the factors separate from the cliques, so that propagation sends each factor a message.
    #[must_use]
    pub(super) fn keep_factors(mut self) -> Self {
        self.keep_factors = true;
        self
    }

    /// Compiles a network.
    ///
    /// # Errors
    /// [`InferenceError::TooLarge`] if the tree needs more entries than the limit; nothing large is allocated
    /// before this is known. [`InferenceError::Impossible`] if the evidence built in has probability zero.
    pub fn compile(&self, network: &Network) -> Result<JunctionTree, InferenceError> {
        let tree = self.compile_evidence_unchecked(Arc::new(network.clone()))?;
        if self.evidence.is_empty() || tree.is_possible(&Evidence::new()) {
            Ok(tree)
        } else {
            Err(tree.impossible(&Evidence::new()))
        }
    }

    /// Compiles a network without checking that the evidence built in has a probability above zero. If it has
    /// not, [`JunctionTree::posterior`] returns [`InferenceError::Impossible`] and
    /// [`JunctionTree::propagate`] returns `false`.
    ///
    /// [`compile`](Self::compile) propagates once for this check. A caller that propagates next anyway saves
    /// that pass.
    ///
    /// # Errors
    /// [`InferenceError::TooLarge`], as for [`compile`](Self::compile).
    pub fn compile_evidence_unchecked(&self, network: Arc<Network>) -> Result<JunctionTree, InferenceError> {
        let mut tree = self.compile_with(&network, &mut ListPool::default())?;
        tree.cliques.iter_mut().for_each(Clique::shrink_to_fit);
        Ok(tree)
    }

    /// Compiles a network with memory from a pool.
    pub(super) fn compile_with(
        &self,
        network: &Arc<Network>,
        pool: &mut ListPool,
    ) -> Result<JunctionTree, InferenceError> {
        self.finish(network, self.draft(network)?, pool)
    }

    /// Compiles a network, or returns `None` if its cliques have more than `entries` entries, zeros included.
    pub(super) fn compile_below(
        &self,
        network: &Arc<Network>,
        entries: f64,
        pool: &mut ListPool,
    ) -> Result<Option<JunctionTree>, InferenceError> {
        let draft = self.draft(network)?;
        if draft.dense() > entries { Ok(None) } else { self.finish(network, draft, pool).map(Some) }
    }

    /// Returns the factors and the clique tree of a network.
    pub(super) fn draft(&self, network: &Network) -> Result<TreeDraft, InferenceError> {
        let mut factors = Factors::new(network, &self.evidence, self.noisy_max_form)?;
        if !self.keep_factors {
            factors.merge_residual_factors();
        }
        let order =
            elimination_order(&graph(&factors), &factors.states, || factors.are_dense(), self.max_entries);
        let tree = CliqueTree::new(&order, &factors.states);
        Ok(TreeDraft { factors, tree })
    }

    /// Lists the entries of a draft made from this network.
    ///
    /// # Errors
    /// [`InferenceError::TooLarge`].
    pub(super) fn finish(
        &self,
        network: &Arc<Network>,
        TreeDraft { factors, tree }: TreeDraft,
        pool: &mut ListPool,
    ) -> Result<JunctionTree, InferenceError> {
        let mut assigned: Vec<Vec<usize>> = vec![Vec::new(); tree.scopes.len()];
        for (i, factor) in factors.factors.iter().enumerate() {
            assigned[tree.host_of(&factor.scope)].push(i);
        }
        let counter = EntryCounter::new(&factors, &tree, &assigned, self.keep_factors);
        let reachable = counter.reachable(self.max_entries)?;
        let vacuous = vacuous(&factors, &tree, &assigned);
        let listed = self.list_entries(&counter, reachable.as_deref(), pool);
        let Layout { cliques, vertex_slots, table_slots, arena } = Layout::new(listed, &factors, &tree);
        let Factors { placements, factors, log_constant, signed, .. } = factors;
        let mut kept: Vec<Option<Factor>> = factors.into_iter().map(Some).collect();
        let tables =
            table_slots.into_iter().filter_map(|(start, f)| kept[f].take().map(|f| (start, f))).collect();
        Ok(JunctionTree {
            network: network.clone(),
            built_in: Arc::new(self.evidence.clone()),
            cliques,
            placements: placements.into(),
            vertex_slots: vertex_slots.into(),
            vacuous,
            arena,
            tables,
            log_constant,
            signed,
        })
    }

    /// Lists the entries of every clique, with its links.
    fn list_entries(
        &self,
        counter: &EntryCounter,
        reachable: Option<&[Vec<f64>]>,
        pool: &mut ListPool,
    ) -> Vec<(EntryList, Vec<Link>)> {
        let EntryCounter { factors, tree, assigned, children, .. } = counter;
        let mut vertices: Vec<Vec<usize>> = vec![Vec::new(); tree.scopes.len()];
        let holders = smallest_holders(tree, &factors.states);
        holders.iter().enumerate().for_each(|(vertex, clique)| vertices[*clique].push(vertex));
        let mut listed: Vec<(EntryList, Vec<Link>)> = Vec::with_capacity(tree.scopes.len());
        for (c, scope) in tree.scopes.iter().enumerate() {
            let mut links: Vec<Link> = children[c].iter().map(|k| Link::Child(*k)).collect();
            links.extend(vertices[c].iter().map(|v| Link::Vertex(*v)));
            if self.keep_factors {
                links.extend(assigned[c].iter().map(|f| Link::Table(*f)));
            }
            let mut operands: Vec<Operand> =
                links.iter().map(|link| operand(link, factors, tree, &listed)).collect();
            if !self.keep_factors {
                operands.extend(assigned[c].iter().map(|f| Operand {
                    scope: &factors.factors[*f].scope,
                    role: OperandRole::Factor(&factors.factors[*f].values),
                }));
            }
            operands.extend(reachable.map(|reachable| counter.mask(c, reachable)));
            let list = pool.list(scope, tree.shared[c], &factors.states, &operands);
            drop(operands);
            for k in &children[c] {
                listed[*k].0.configurations = Vec::new();
            }
            listed.push((list, links));
        }
        drop_unreachable(&mut listed);
        listed
    }
}

/// The table of a link, for listing the entries of a clique. `listed` holds the cliques below it.
fn operand<'a>(
    link: &'a Link,
    factors: &'a Factors,
    tree: &'a CliqueTree,
    listed: &'a [(EntryList, Vec<Link>)],
) -> Operand<'a> {
    match link {
        Link::Child(k) => Operand {
            scope: &tree.scopes[*k][..tree.shared[*k]],
            role: OperandRole::Message(&listed[*k].0.configurations),
        },
        Link::Vertex(v) => Operand { scope: std::slice::from_ref(v), role: OperandRole::Likelihood },
        Link::Table(f) => Operand {
            scope: &factors.factors[*f].scope,
            role: OperandRole::Kept(&factors.factors[*f].values),
        },
    }
}

impl JunctionTree {
    /// Compiles a network with the default options.
    ///
    /// # Errors
    /// [`InferenceError::TooLarge`]; nothing large is allocated before this is known.
    pub fn compile(network: &Network) -> Result<Self, InferenceError> {
        Compiler::new().compile(network)
    }

    /// Compiles a network with evidence built in; see [`Compiler::with_evidence`].
    ///
    /// # Errors
    /// [`InferenceError::TooLarge`]; [`InferenceError::Impossible`] if the evidence has probability zero.
    pub fn compile_with_evidence(network: &Network, fixed: &Evidence) -> Result<Self, InferenceError> {
        Compiler::new().with_evidence(fixed).compile(network)
    }
}

/// The interaction graph: two vertices are adjacent if a factor contains both.
fn graph(factors: &Factors) -> EliminationGraph {
    let mut graph = EliminationGraph::new(factors.states.len());
    for factor in &factors.factors {
        for (i, a) in factor.scope.iter().enumerate() {
            for b in &factor.scope[i + 1..] {
                graph.join(*a, *b);
            }
        }
    }
    graph
}

/// By vertex: the clique with the fewest entries that contains it. The vertex's likelihood enters there, and
/// its marginal is read there.
fn smallest_holders(tree: &CliqueTree, states: &[usize]) -> Vec<usize> {
    let sizes = tree.sizes(states);
    let mut holders: Vec<Option<usize>> = vec![None; states.len()];
    for (c, scope) in tree.scopes.iter().enumerate() {
        for v in scope {
            if holders[*v].is_none_or(|h| sizes[c] < sizes[h]) {
                holders[*v] = Some(c);
            }
        }
    }
    holders.into_iter().map(Option::unwrap_or_default).collect()
}

/// Drops entries of children that no entry of the parent refers to, and renumbers the remaining
/// configurations. Parents come before their children.
fn drop_unreachable(listed: &mut [(EntryList, Vec<Link>)]) {
    for parent in (0..listed.len()).rev() {
        let (below, from) = listed.split_at_mut(parent);
        let (list, links) = &mut from[0];
        for (at, link) in links.iter().enumerate() {
            let Link::Child(child) = *link else { continue };
            let child = &mut below[child].0;
            let mut reachable = vec![false; child.run_starts.len() - 1];
            let met_by = list.slots.iter().skip(at).step_by(links.len());
            met_by.clone().for_each(|place| reachable[*place as usize] = true);
            if reachable.contains(&false) {
                let number = child.keep_runs(&reachable);
                let slots = list.slots.iter_mut().skip(at).step_by(links.len());
                slots.for_each(|place| *place = number[*place as usize]);
            }
        }
    }
}

/// By clique: whether its message to the parent is 1 for every configuration when the subtree has no
/// evidence. This holds if the factors of the subtree are exactly the conditional distributions of the
/// variables that are summed out in it.
fn vacuous(factors: &Factors, tree: &CliqueTree, assigned: &[Vec<usize>]) -> Vec<bool> {
    let mut vacuous = vec![true; tree.scopes.len()];
    // By distribution: the cliques of its factors, and the cliques where its own vertices are summed out.
    let mut whole: Vec<Vec<usize>> = vec![Vec::new(); factors.distributions];
    for (clique, assigned) in assigned.iter().enumerate() {
        for f in assigned {
            match factors.factors[*f].distribution {
                Some(distribution) => whole[distribution].push(clique),
                None => mark_not_vacuous(&mut vacuous, tree, clique, |_| false),
            }
        }
    }
    for (vertex, of) in factors.owner.iter().enumerate() {
        whole[*of].push(tree.top_clique_of(vertex));
    }
    for cliques in &whole {
        for clique in cliques {
            mark_not_vacuous(&mut vacuous, tree, *clique, |above| {
                cliques.iter().all(|c| tree.is_in_subtree(*c, above))
            });
        }
    }
    vacuous
}

/// Marks a clique and its ancestors as not vacuous, up to the first for which `stops_at` is true.
fn mark_not_vacuous(
    vacuous: &mut [bool],
    tree: &CliqueTree,
    clique: usize,
    stops_at: impl Fn(usize) -> bool,
) {
    let mut at = Some(clique);
    while let Some(c) = at.filter(|c| !stops_at(*c)) {
        vacuous[c] = false;
        at = tree.parents[c];
    }
}
