//! The junction tree: compile once, answer many times.
//!
//! Compiling makes vertices and factors of the network, triangulates their graph, makes a tree of
//! cliques and writes down, for every clique, only the entries that are not zero: machine networks
//! are full of rules, and rules are full of zeros. Each entry carries its index into the message of
//! every neighbour, so that propagation is nothing but sums over lists.
//! Propagation: Shafer and Shenoy 1990. A message leaves out what came from its receiver; dividing
//! it out (Jensen, Lauritzen and Olesen 1990) is faster and is done wherever the divisor is not
//! zero. Messages are scaled to a largest entry of 1 and the scales added up as logarithms, so that
//! no number of findings underflows.

use std::borrow::Cow;
use std::sync::Arc;

use super::factor::{Factor, Factors, Place};
use super::order::{Graph, eliminate};
use super::shape::TreeShape;
use super::{Evidence, InferenceError, conflict};
use crate::network::{Network, VarId};

/// Entries in all cliques together above which a network is refused: about two gigabytes of lists.
const ENTRY_LIMIT: f64 = 1e8;

/// With negative entries a probability of zero comes out as the rounding of its terms; a sum that
/// is smaller than this share of its terms is zero. Terms are rounded to 1.1e-16 of themselves, and
/// some thousands of them add up.
const ROUNDING: f64 = 1e-12;

/// A compiled network. Answers are independent of each other; the tree itself never changes.
#[derive(Debug, Clone)]
pub struct JunctionTree {
    network: Arc<Network>,
    /// Evidence built into the tables.
    fixed: Arc<Evidence>,
    /// Children before parents.
    cliques: Vec<Arc<Clique>>,
    /// Where each variable is read off, by variable; none where the evidence fixes its state.
    homes: Arc<[Home]>,
    /// Logarithm of the product of all factors without a free variable.
    log_constant: f64,
    /// Whether some entries are negative.
    signed: bool,
}

#[derive(Debug, Clone)]
enum Home {
    /// (clique, place in the clique's scope)
    In(usize, usize),
    /// Fixed to this state.
    Fixed(usize),
}

#[derive(Debug, Clone)]
pub(super) struct Clique {
    /// Potential of every entry that is not zero.
    pub(super) values: Vec<f64>,
    /// Clique towards the root, and the index of every entry into the message to it.
    pub(super) up: Option<(usize, Vec<u32>)>,
    /// Length of the message to the parent.
    pub(super) separator: usize,
    /// Vertices, and for each of them the state of every entry.
    pub(super) scope: Vec<usize>,
    pub(super) columns: Vec<Vec<u16>>,
    /// Children, and the index of every entry into their messages.
    pub(super) down: Vec<(usize, Vec<u32>)>,
}

/// Memory for one propagation, to be used again and again.
#[derive(Debug, Clone)]
pub struct Workspace {
    /// By clique: the belief of every entry.
    beliefs: Vec<Vec<f64>>,
    /// By clique: potential and evidence of every entry, without any message.
    own: Vec<Vec<f64>>,
    /// By clique: the message to its parent, and the one from it.
    up: Vec<Vec<f64>>,
    down: Vec<Vec<f64>>,
    log_p: f64,
}

/// The answer to one question: probability of the evidence and all marginals.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    log_p_evidence: f64,
    marginals: Vec<Vec<f64>>,
}

impl Posterior {
    pub(super) fn new(log_p_evidence: f64, marginals: Vec<Vec<f64>>) -> Self {
        Posterior { log_p_evidence, marginals }
    }

    /// Natural logarithm of the probability of the evidence.
    #[must_use]
    pub fn log_p_evidence(&self) -> f64 {
        self.log_p_evidence
    }

    /// Probability of each state of a variable given the evidence.
    #[must_use]
    pub fn marginal(&self, var: VarId) -> &[f64] {
        &self.marginals[var.index()]
    }
}

impl JunctionTree {
    /// Compiles a network.
    ///
    /// # Errors
    /// [`InferenceError::TooLarge`], before anything large is allocated.
    pub fn compile(network: &Network) -> Result<Self, InferenceError> {
        Self::compile_given(network, &Evidence::new())
    }

    /// Compiles a network with some evidence built in for good: hard findings shrink the tables,
    /// and entries that the evidence rules out are dropped. Every answer then includes it.
    ///
    /// # Errors
    /// [`InferenceError::TooLarge`]; [`InferenceError::Impossible`] where the evidence has
    /// probability zero.
    pub fn compile_given(network: &Network, fixed: &Evidence) -> Result<Self, InferenceError> {
        Self::compile_within(network, fixed, ENTRY_LIMIT)
    }

    /// The same with a limit of one's own on the entries of all cliques together, zeros counted: some
    /// thirty bytes each.
    ///
    /// # Errors
    /// As for [`compile_given`](Self::compile_given).
    pub fn compile_within(network: &Network, fixed: &Evidence, limit: f64) -> Result<Self, InferenceError> {
        let Factors { states, place, factors, log_constant, signed } = Factors::new(network, fixed);
        let mut graph = Graph::new(states.len());
        for factor in &factors {
            for (i, a) in factor.scope.iter().enumerate() {
                for b in &factor.scope[i + 1..] {
                    graph.join(*a, *b);
                }
            }
        }
        let shape = TreeShape::new(&eliminate(&graph, &states), &states);
        let entries: f64 =
            shape.scopes.iter().map(|s| s.iter().map(|v| states[*v] as f64).product::<f64>()).sum();
        if entries > limit {
            return Err(InferenceError::TooLarge { entries, limit });
        }
        let mut assigned: Vec<Vec<Factor>> = (0..shape.scopes.len()).map(|_| Vec::new()).collect();
        for factor in factors {
            assigned[shape.home_of(&factor.scope)].push(factor);
        }
        let homes = place
            .iter()
            .map(|p| match p {
                Place::Fixed(state) => Home::Fixed(*state),
                Place::Vertex(vertex) => {
                    let home = shape.home_of(&[*vertex]);
                    let column = shape.scopes[home].iter().position(|v| v == vertex);
                    Home::In(home, column.unwrap_or(0))
                }
            })
            .collect();
        let cliques = shape.cliques(&assigned, &states).into_iter().map(Arc::new).collect();
        let mut tree = JunctionTree {
            network: Arc::new(network.clone()),
            fixed: Arc::new(fixed.clone()),
            cliques,
            homes,
            log_constant,
            signed,
        };
        tree.check_and_thin()?;
        Ok(tree)
    }

    /// The network it was compiled from.
    #[must_use]
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// Number of clique entries that are not zero: the work of one pass, and some thirty bytes of
    /// memory each.
    #[must_use]
    pub fn entries(&self) -> usize {
        self.cliques.iter().map(|c| c.values.len()).sum()
    }

    /// Memory for [`propagate`](Self::propagate).
    #[must_use]
    pub fn workspace(&self) -> Workspace {
        let entries: Vec<Vec<f64>> = self.cliques.iter().map(|c| vec![0.0; c.values.len()]).collect();
        let messages: Vec<Vec<f64>> = self.cliques.iter().map(|c| vec![0.0; c.separator]).collect();
        Workspace {
            beliefs: entries.clone(),
            own: if self.signed { entries } else { Vec::new() },
            up: messages.clone(),
            down: messages,
            log_p: f64::NEG_INFINITY,
        }
    }

    /// Makes a workspace of a tree of the same shape fit this one.
    fn fit(&self, work: &mut Workspace) {
        for (clique, (belief, at)) in self.cliques.iter().zip(work.beliefs.iter_mut().zip(0..)) {
            let entries = clique.values.len();
            belief.resize(entries, 0.0);
            if self.signed {
                work.own[at].resize(entries, 0.0);
            }
        }
    }

    /// All marginals and the probability of the evidence.
    ///
    /// # Errors
    /// [`InferenceError::Impossible`], naming the findings in conflict.
    pub fn posterior(&self, evidence: &Evidence) -> Result<Posterior, InferenceError> {
        let mut work = self.workspace();
        if !self.propagate(&mut work, evidence) {
            return Err(self.impossible(evidence));
        }
        let marginals = self.network.iter().map(|(v, _)| self.marginal(&work, v)).collect();
        Ok(Posterior::new(work.log_p, marginals))
    }

    /// Propagates evidence through the tree and leaves the beliefs in `work`, which may come from this
    /// tree or from one that was [restricted](Self::restrict) from the same; false where the evidence
    /// (with what was built in) has probability zero.
    pub fn propagate(&self, work: &mut Workspace, evidence: &Evidence) -> bool {
        work.log_p = self.log_constant;
        self.fit(work);
        for (clique, belief) in self.cliques.iter().zip(&mut work.beliefs) {
            belief.copy_from_slice(&clique.values);
        }
        for (var, likelihood) in evidence.iter() {
            match self.homes[var.index()] {
                Home::Fixed(state) => work.log_p += likelihood[state].ln(),
                Home::In(clique, column) => {
                    let (likelihood, log_scale) = scaled(likelihood);
                    work.log_p += log_scale;
                    let states = &self.cliques[clique].columns[column];
                    for (b, s) in work.beliefs[clique].iter_mut().zip(states) {
                        *b *= likelihood[usize::from(*s)];
                    }
                }
            }
        }
        for (own, belief) in work.own.iter_mut().zip(&work.beliefs) {
            own.copy_from_slice(belief);
        }
        // A finding that contradicts what was built in shows up in no clique, only here.
        if work.log_p == f64::NEG_INFINITY || !self.collect(work) {
            work.log_p = f64::NEG_INFINITY;
            return false;
        }
        self.distribute(work);
        true
    }

    /// Messages towards the roots; false where the evidence is impossible.
    fn collect(&self, work: &mut Workspace) -> bool {
        for (at, clique) in self.cliques.iter().enumerate() {
            for (child, index) in &clique.down {
                let message = &work.up[*child];
                for (b, i) in work.beliefs[at].iter_mut().zip(index) {
                    *b *= message[*i as usize];
                }
            }
            let belief = &mut work.beliefs[at];
            let scale = if let Some((_, index)) = &clique.up {
                let message = &mut work.up[at];
                gather(message, belief, index);
                let largest = message.iter().fold(0.0, |m: f64, x| m.max(x.abs()));
                message.iter_mut().for_each(|m| *m /= largest);
                largest
            } else {
                let sum: f64 = belief.iter().sum();
                let terms: f64 = belief.iter().map(|b| b.abs()).sum();
                if sum <= if self.signed { ROUNDING * terms } else { 0.0 } {
                    return false;
                }
                belief.iter_mut().for_each(|b| *b /= sum);
                // What is multiplied out again later has to be of the same size.
                if let Some(own) = work.own.get_mut(at) {
                    own.iter_mut().for_each(|b| *b /= sum);
                }
                sum
            };
            if scale == 0.0 || scale.is_nan() {
                return false;
            }
            work.log_p += scale.ln();
        }
        true
    }

    /// Messages away from the roots.
    fn distribute(&self, work: &mut Workspace) {
        for at in (0..self.cliques.len()).rev() {
            for (place, (child, index)) in self.cliques[at].down.iter().enumerate() {
                let mut message = std::mem::take(&mut work.down[*child]);
                self.message_down(work, at, place, &mut message);
                let Some((_, up)) = &self.cliques[*child].up else { continue };
                debug_assert_eq!(index.len(), self.cliques[at].values.len());
                let belief = &mut work.beliefs[*child];
                let mut sum = 0.0;
                for (b, i) in belief.iter_mut().zip(up) {
                    *b *= message[*i as usize];
                    sum += *b;
                }
                // The upward message was scaled and the beliefs below it were not.
                let scale = 1.0 / sum;
                belief.iter_mut().for_each(|b| *b *= scale);
                message.iter_mut().for_each(|m| *m *= scale);
                work.down[*child] = message;
            }
        }
    }

    /// The message of a clique to one of its children: its belief without what the child said.
    fn message_down(&self, work: &Workspace, at: usize, place: usize, message: &mut [f64]) {
        let clique = &self.cliques[at];
        let (child, index) = &clique.down[place];
        let said = &work.up[*child];
        message.fill(0.0);
        if !self.signed {
            // A zero said by the child has nothing but zeros behind it on the child's side.
            gather(message, &work.beliefs[at], index);
            for (m, s) in message.iter_mut().zip(said) {
                *m = if *s > 0.0 { *m / *s } else { 0.0 };
            }
            return;
        }
        for (entry, (b, i)) in work.beliefs[at].iter().zip(index).enumerate() {
            let said = said[*i as usize];
            message[*i as usize] += if said == 0.0 { self.without(work, at, place, entry) } else { b / said };
        }
    }

    /// Belief of an entry without the message of one child, multiplied out.
    fn without(&self, work: &Workspace, at: usize, place: usize, entry: usize) -> f64 {
        let clique = &self.cliques[at];
        let mut product = work.own[at][entry];
        for (other, (child, index)) in clique.down.iter().enumerate() {
            if other != place {
                product *= work.up[*child][index[entry] as usize];
            }
        }
        if let Some((_, index)) = &clique.up {
            product *= work.down[at][index[entry] as usize];
        }
        product
    }

    /// Natural logarithm of the probability of what was last propagated.
    #[must_use]
    pub fn log_p_evidence(&self, work: &Workspace) -> f64 {
        work.log_p
    }

    /// Marginal of a variable after [`propagate`](Self::propagate).
    #[must_use]
    pub fn marginal(&self, work: &Workspace, var: VarId) -> Vec<f64> {
        let mut marginal = vec![0.0; self.network.variable(var).cardinality()];
        match self.homes[var.index()] {
            Home::Fixed(state) => marginal[state] = 1.0,
            Home::In(clique, column) => {
                let states = &self.cliques[clique].columns[column];
                for (b, s) in work.beliefs[clique].iter().zip(states) {
                    marginal[usize::from(*s)] += b;
                }
                if self.signed {
                    // Terms of both signs leave a rounding where the sum is zero.
                    marginal.iter_mut().for_each(|m| *m = m.max(0.0));
                }
            }
        }
        marginal
    }

    fn impossible(&self, evidence: &Evidence) -> InferenceError {
        let mut all = Evidence::clone(&self.fixed);
        for (var, likelihood) in evidence.iter() {
            let joint = match self.fixed.get(var) {
                Some(f) => f.iter().zip(likelihood).map(|(a, b)| a * b).collect(),
                None => likelihood.to_vec(),
            };
            all.set(var, joint);
        }
        conflict::impossible(&self.network, &all)
    }

    /// Checks that the built-in evidence is possible, and drops the entries that no evidence can
    /// bring back: those with belief zero when nothing else is known. Where entries are negative, a
    /// belief of zero proves nothing, and they stay.
    fn check_and_thin(&mut self) -> Result<(), InferenceError> {
        let mut work = self.workspace();
        if !self.propagate(&mut work, &Evidence::new()) {
            return Err(self.impossible(&Evidence::new()));
        }
        if self.signed {
            return Ok(());
        }
        for (clique, belief) in self.cliques.iter_mut().zip(&work.beliefs) {
            if !belief.iter().all(|b| *b > 0.0) {
                *clique = Arc::new(clique.kept(|entry| belief[entry] > 0.0));
            }
        }
        Ok(())
    }

    /// Starts asking about parts of the states: `allowed` says for some variables which of their
    /// states are possible. See [`Restricted`].
    #[must_use]
    pub fn restrict(&self, allowed: &[(VarId, Vec<bool>)]) -> Restricted<'_> {
        let masks = Masks::new(self, allowed);
        let cliques = self
            .cliques
            .iter()
            .map(|clique| masks.keep(clique).map_or_else(|| clique.clone(), Arc::new))
            .collect();
        Restricted { full: self, masks, cliques }
    }

    fn with_cliques(&self, cliques: Vec<Arc<Clique>>) -> Self {
        JunctionTree { cliques, ..self.clone() }
    }
}

/// A tree cut down to some states of some variables, for asking the same with small changes again
/// and again: an entry that the cut rules out is not there, and cliques that a change does not touch
/// are shared.
#[derive(Debug, Clone)]
pub struct Restricted<'t> {
    full: &'t JunctionTree,
    masks: Masks,
    cliques: Vec<Arc<Clique>>,
}

impl Restricted<'_> {
    /// The tree with these variables cut to other states than in the common cut.
    #[must_use]
    pub fn with(&self, changes: &[(VarId, Vec<bool>)]) -> JunctionTree {
        let mut masks = self.masks.clone();
        let changed = masks.change(self.full, changes);
        let cliques = self
            .full
            .cliques
            .iter()
            .zip(&self.cliques)
            .map(|(full, cut)| {
                let touched = full.scope.iter().any(|v| changed.contains(v));
                if !touched {
                    return cut.clone();
                }
                masks.keep(full).map_or_else(|| full.clone(), Arc::new)
            })
            .collect();
        self.full.with_cliques(cliques)
    }
}

/// By vertex: which states are allowed, where some are not.
#[derive(Debug, Clone)]
struct Masks(Vec<Option<Vec<bool>>>);

impl Masks {
    fn new(tree: &JunctionTree, allowed: &[(VarId, Vec<bool>)]) -> Self {
        let vertices = tree.cliques.iter().flat_map(|c| &c.scope).max().map_or(0, |v| v + 1);
        let mut masks = Masks(vec![None; vertices]);
        masks.change(tree, allowed);
        masks
    }

    /// Sets the masks of some variables and says which vertices that concerns.
    fn change(&mut self, tree: &JunctionTree, allowed: &[(VarId, Vec<bool>)]) -> Vec<usize> {
        let mut changed = Vec::new();
        for (var, states) in allowed {
            if let Home::In(clique, column) = tree.homes[var.index()] {
                let vertex = tree.cliques[clique].scope[column];
                self.0[vertex] = Some(states.clone());
                changed.push(vertex);
            }
        }
        changed
    }

    /// The clique cut to what is allowed; none where that is all of it.
    fn keep(&self, clique: &Clique) -> Option<Clique> {
        let cut: Vec<(&Vec<bool>, &Vec<u16>)> = clique
            .scope
            .iter()
            .zip(&clique.columns)
            .filter_map(|(v, column)| self.0[*v].as_ref().map(|mask| (mask, column)))
            .collect();
        if cut.is_empty() {
            return None;
        }
        Some(clique.kept(|entry| cut.iter().all(|(mask, column)| mask[usize::from(column[entry])])))
    }
}

impl Clique {
    /// The entries that pass.
    fn kept(&self, passes: impl Fn(usize) -> bool) -> Clique {
        let places: Vec<usize> = (0..self.values.len()).filter(|entry| passes(*entry)).collect();
        Clique {
            values: picked(&self.values, &places),
            up: self.up.as_ref().map(|(parent, index)| (*parent, picked(index, &places))),
            separator: self.separator,
            scope: self.scope.clone(),
            columns: self.columns.iter().map(|c| picked(c, &places)).collect(),
            down: self.down.iter().map(|(child, index)| (*child, picked(index, &places))).collect(),
        }
    }
}

fn picked<T: Copy>(list: &[T], places: &[usize]) -> Vec<T> {
    places.iter().map(|p| list[*p]).collect()
}

/// A likelihood with a largest entry of 1, and the logarithm of what was divided out: densities are
/// of any size, and several very small ones in one clique must not come out as zero.
pub(super) fn scaled(likelihood: &[f64]) -> (Cow<'_, [f64]>, f64) {
    let largest = likelihood.iter().copied().fold(0.0, f64::max);
    if largest == 1.0 || largest == 0.0 {
        return (likelihood.into(), largest.ln());
    }
    (likelihood.iter().map(|l| l / largest).collect(), largest.ln())
}

/// Adds the entries up into a message.
fn gather(message: &mut [f64], entries: &[f64], index: &[u32]) {
    message.fill(0.0);
    for (e, i) in entries.iter().zip(index) {
        message[*i as usize] += e;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::NetworkBuilder;

    #[test]
    fn zero_entries_are_not_stored() {
        let mut b = NetworkBuilder::new();
        let a = b.add("a", ["0", "1", "2"], &[], vec![0.2, 0.3, 0.5]).unwrap();
        let c = b.add("c", ["0", "1", "2"], &[], vec![0.1, 0.2, 0.7]).unwrap();
        let max = b.deterministic("max", ["0", "1", "2"], &[a, c], |s| s[0].max(s[1])).unwrap();
        let network = b.build().unwrap();
        let tree = JunctionTree::compile(&network).unwrap();
        assert_eq!(tree.entries(), 9, "27 combinations, of which 9 are possible");
        let posterior = tree.posterior(&Evidence::new()).unwrap();
        assert!((posterior.marginal(max)[0] - 0.02).abs() < 1e-15);
        let mut fixed = Evidence::new();
        fixed.observe(&network, max, "1").unwrap();
        let given = JunctionTree::compile_given(&network, &fixed).unwrap();
        assert_eq!(given.entries(), 3);
        let answer = given.posterior(&Evidence::new()).unwrap();
        assert!((answer.log_p_evidence().exp() - (0.5 * 0.3 - 0.02)).abs() < 1e-15);
    }

    #[test]
    fn thousands_of_findings_do_not_underflow() {
        // 400 independent witnesses of chance 1e-9 each: P(evidence) is about 1e-3600.
        let mut b = NetworkBuilder::new();
        let cause = b.add("cause", ["n", "y"], &[], vec![0.5, 0.5]).unwrap();
        let witnesses: Vec<VarId> = (0..400)
            .map(|i| {
                b.add(format!("w{i}"), ["n", "y"], &[cause], vec![1.0 - 1e-9, 1e-9, 1.0 - 1e-9, 1e-9])
                    .unwrap()
            })
            .collect();
        let network = b.build().unwrap();
        let tree = JunctionTree::compile(&network).unwrap();
        let mut evidence = Evidence::new();
        for w in witnesses {
            evidence.observe(&network, w, "y").unwrap();
        }
        let posterior = tree.posterior(&evidence).unwrap();
        assert!((posterior.log_p_evidence() - 400.0 * 1e-9_f64.ln()).abs() < 1e-6);
        assert!((posterior.marginal(cause)[1] - 0.5).abs() < 1e-9);
    }
}
