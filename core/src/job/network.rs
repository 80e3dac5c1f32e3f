//! The network of a job.
//!
//! Parts, contexts and functions are variables. A repair gives each part that it touches a new variable:
//! sound with the chance that the repair takes, otherwise unchanged (persistence: Breese and Heckerman 1996).
//! Findings and outcomes of attempts are leaves. The parents of a leaf are the variables as they were at the
//! time. If a check is repeated with nothing changed in between, the new finding replaces the earlier one,
//! unless the earlier one is known better ([`Provenance`](super::Provenance)).

use std::sync::Arc;

use super::builder::{Acting, FindingLeaf, JobNetworkBuilder};
use super::variables::JobVariables;
use super::{Action, Job, JobError, JobRule};
use crate::machine::model::Source;
use crate::machine::{BypassId, CheckId, ConditionId, FunctionId};
use halfsplit_bayes::{Compiler, Evidence, InferenceError, JunctionTree, Workspace, smallest_conflict};
use halfsplit_bayes::{Network, VarId};

/// Limit on the table entries of a job: some hundred megabytes and a few seconds, on a phone too. A job of a
/// dozen different repairs stays far below it. The limit stops a hostile link.
const ENTRY_LIMIT: f64 = 4e6;

/// Number of possible observations that share a network whatever they look at. Building and compiling the findings again
/// for each function costs more than the larger tables.
const TOGETHER: usize = 16;

/// The findings of a job as a network with evidence, before anything is compiled.
pub(crate) struct JobNetwork {
    pub(crate) network: Network,
    pub(crate) evidence: Evidence,
    pub(crate) variables: JobVariables,
    observed: Vec<FindingLeaf>,
    outweighed: Vec<usize>,
}

impl JobNetwork {
    /// Builds the network of the findings of a job.
    ///
    /// # Errors
    /// None for a job on a checked machine.
    pub(crate) fn new(job: &Job) -> Result<Self, JobError> {
        let mut build = JobNetworkBuilder::new(job)?;
        build.findings()?;
        JobNetwork::of(build)
    }

    /// The network as built, with the findings as evidence.
    fn of(build: JobNetworkBuilder) -> Result<Self, JobError> {
        let JobNetworkBuilder { builder, variables, observed, outweighed, .. } = build;
        let network = builder.build()?;
        let mut evidence = Evidence::new();
        for o in &observed {
            evidence.set_state(o.leaf, o.state, network.variable(o.leaf).cardinality());
        }
        Ok(JobNetwork { network, evidence, variables, observed, outweighed })
    }

    /// The step that made a finding in force.
    pub(crate) fn step_of(&self, leaf: VarId) -> Option<usize> {
        self.observed.iter().find(|o| o.leaf == leaf).map(|o| o.step)
    }

    /// Compiles the network with some of the evidence built in.
    ///
    /// # Errors
    /// [`JobError::Impossible`]; a rule where the job is too large.
    pub(crate) fn compile(&self, job: &Job, given: &Evidence) -> Result<JunctionTree, JobError> {
        match Compiler::new().with_evidence(given).max_entries(ENTRY_LIMIT).compile(&self.network) {
            Err(InferenceError::Impossible { .. }) => {
                Err(impossible(job, &self.network, &self.evidence, &self.observed))
            }
            compiled => compiled.map_err(refused),
        }
    }

    /// Compiles the network with all of the evidence built in, even if the evidence is impossible.
    fn compile_evidence_unchecked(self) -> Result<UncheckedNetwork, JobError> {
        let JobNetwork { network, evidence, variables, observed, outweighed } = self;
        let compiler = Compiler::new().with_evidence(&evidence).max_entries(ENTRY_LIMIT);
        let tree = compiler.compile_evidence_unchecked(Arc::new(network)).map_err(refused)?;
        Ok(UncheckedNetwork { tree, variables, evidence, observed, outweighed })
    }
}

/// A compiled network before propagation, with the data needed to name impossible findings.
struct UncheckedNetwork {
    tree: JunctionTree,
    variables: JobVariables,
    evidence: Evidence,
    observed: Vec<FindingLeaf>,
    outweighed: Vec<usize>,
}

fn every_check(job: &Job) -> Vec<CheckId> {
    job.machine.model.checks.keys().collect()
}

impl Job<'_> {
    /// The network of this job, and its findings as evidence. The network has contexts, parts as they were
    /// and as they are, functions, and a leaf for every finding and for every check that has not been made.
    ///
    /// # Errors
    /// None for a job on a checked machine.
    pub fn network(&self) -> Result<(Network, Evidence), JobError> {
        let mut build = JobNetworkBuilder::new(self)?;
        build.findings()?;
        build.next_checks(&every_check(self))?;
        build.worst_now()?;
        let JobNetwork { network, evidence, .. } = JobNetwork::of(build)?;
        Ok((network, evidence))
    }

    /// Chance that a condition is present and acts, and chance that it is present, from a marginal of its
    /// part.
    pub(crate) fn condition_odds(&self, condition: ConditionId, marginal: &[f64]) -> (f64, f64) {
        let part = self.machine.part_of(condition);
        let mut present = 0.0;
        let mut cause = 0.0;
        for (state, p) in self.machine.model.parts[part].states.iter().zip(marginal) {
            if state.condition() == Some(condition) {
                present += p;
                if state.acts() {
                    cause += p;
                }
            }
        }
        (cause, present)
    }
}

/// The compiled network of the findings of a job.
pub(crate) struct FindingsNetwork {
    pub(crate) tree: JunctionTree,
    pub(crate) variables: JobVariables,
    /// The steps whose findings are no evidence, because an earlier finding of the check on the unchanged machine
    /// is known better.
    pub(crate) outweighed: Vec<usize>,
    /// The findings that are not built into the tree.
    pub(crate) open_evidence: Evidence,
}

impl FindingsNetwork {
    /// Builds and compiles the network of the findings of a job, and propagates them.
    ///
    /// # Errors
    /// [`JobError::Impossible`]; a rule where the job is too large.
    pub(crate) fn new(job: &Job) -> Result<(Self, Workspace), JobError> {
        let UncheckedNetwork { tree, variables, evidence, observed, outweighed } =
            JobNetwork::new(job)?.compile_evidence_unchecked()?;
        let mut work = tree.workspace();
        if tree.propagate(&mut work, &Evidence::new()) {
            Ok((FindingsNetwork { tree, variables, outweighed, open_evidence: Evidence::new() }, work))
        } else {
            Err(impossible(job, tree.network(), &evidence, &observed))
        }
    }

    /// As [`FindingsNetwork::new`], with the result of `before` on the belief before the last step, which has
    /// its variables [as they were then](JobVariables::at_step). That result is none if the job has no step.
    /// It is none too if the earlier findings exclude each other, because the last finding may replace one of
    /// them.
    ///
    /// # Errors
    /// As with [`FindingsNetwork::new`].
    pub(crate) fn with_earlier_belief<T>(
        job: &Job,
        before: impl FnOnce(&Self, &Workspace) -> T,
    ) -> Result<(Self, Workspace, Option<T>), JobError> {
        let mut draft = JobNetwork::new(job)?;
        // The last finding is not built in. It is a leaf, and leaving it open enlarges no other table.
        let (mut now, mut earlier) = (Evidence::new(), Evidence::new());
        let states = |leaf: VarId| draft.network.variable(leaf).cardinality();
        let mut built_in = Evidence::new();
        for o in &draft.observed {
            if o.step + 1 < job.steps.len() {
                built_in.set_state(o.leaf, o.state, states(o.leaf));
                continue;
            }
            now.set_state(o.leaf, o.state, states(o.leaf));
            if let Some((leaf, state)) = o.replaces {
                earlier.set_state(leaf, state, states(leaf));
            }
        }
        draft.evidence = built_in;
        let UncheckedNetwork { tree, variables, mut evidence, observed, outweighed } =
            draft.compile_evidence_unchecked()?;
        let mut found = FindingsNetwork { tree, variables, outweighed, open_evidence: Evidence::new() };
        let mut work = found.tree.workspace();
        let was_possible = !job.steps.is_empty() && found.tree.propagate(&mut work, &earlier);
        let before = was_possible.then(|| before(&found, &work));
        if found.tree.propagate(&mut work, &now) {
            found.open_evidence = now;
            Ok((found, work, before))
        } else {
            now.iter().for_each(|(leaf, state)| evidence.insert(leaf, state.to_vec()));
            Err(impossible(job, found.tree.network(), &evidence, &observed))
        }
    }
}

/// The compiled network of the possible next checks, for questions about one set of causes at a time.
///
/// Evidence on the parts says which causes of a set act. Evidence on [`acting`](Self::acting) says how badly.
/// The parts themselves do not determine the severities that act now. Without these links the tables are far
/// smaller.
pub(crate) struct LookaheadNetwork {
    pub(crate) tree: JunctionTree,
    pub(crate) variables: JobVariables,
    /// Checks that have not been made on the machine as it is, with their leaves.
    pub(crate) checks: Vec<(CheckId, VarId)>,
    /// The worst of all severities that act now.
    pub(crate) worst: VarId,
    /// The severities that act now, by class.
    pub(crate) acting: Vec<Acting>,
}

impl LookaheadNetwork {
    /// The networks that together hold every possible next check. If one network for all checks is too large,
    /// there are several, each for some of the checks. Nothing is propagated yet, and the findings may be
    /// impossible.
    ///
    /// # Errors
    /// A rule where the job is too large.
    pub(crate) fn all(job: &Job) -> Result<Vec<Self>, JobError> {
        let everything = every_check(job);
        match LookaheadNetwork::new(job, &everything) {
            // If the network without any check is too large, every network is.
            Err(error) if error.is_tangled() => {
                LookaheadNetwork::new(job, &[])?;
                LookaheadNetwork::halves(job, &everything)
            }
            compiled => Ok(vec![compiled?]),
        }
    }

    /// The networks of the two halves of some checks. A half that is too large is halved again.
    fn halves(job: &Job, checks: &[CheckId]) -> Result<Vec<Self>, JobError> {
        let (some, others) = checks.split_at(checks.len() / 2);
        let mut networks = Vec::new();
        for part in [some, others] {
            match LookaheadNetwork::new(job, part) {
                Err(error) if error.is_tangled() && part.len() > 1 => {
                    networks.extend(LookaheadNetwork::halves(job, part)?);
                }
                compiled => networks.push(compiled?),
            }
        }
        Ok(networks)
    }

    /// The network of some possible next checks.
    fn new(job: &Job, wanted: &[CheckId]) -> Result<Self, JobError> {
        let mut build = JobNetworkBuilder::new(job)?;
        build.acting = Some(Vec::new());
        build.findings()?;
        let checks = build.next_checks(wanted)?;
        let worst = build.worst_now()?;
        let acting = build.acting.take().unwrap_or_default();
        let UncheckedNetwork { tree, variables, .. } = JobNetwork::of(build)?.compile_evidence_unchecked()?;
        Ok(LookaheadNetwork { tree, variables, checks, worst, acting })
    }
}

/// The compiled network of the findings and of observations that could come next, each with a leaf for its result. Its
/// parts determine the severities that act now, so its odds are exact.
pub(crate) struct PredictionNetwork {
    pub(crate) tree: JunctionTree,
    pub(crate) variables: JobVariables,
    /// The observations with the leaves of their results.
    pub(crate) leaves: Vec<(Action, VarId)>,
}

impl PredictionNetwork {
    /// The observations among some actions, in groups whose networks are small: a bypass alone, a few checks together, and
    /// of many checks those that look at the same functions. Functions and bypasses tie many parts to each other.
    pub(crate) fn groups(job: &Job, actions: &[Action]) -> Vec<Vec<Action>> {
        let functions = |action: &Action| match action {
            Action::Check(check) if actions.len() > TOGETHER => {
                let parents = job.machine.model.checks[*check].observation.parents.iter();
                let function = |source: &Source| match source {
                    Source::Function(function) => Some(*function),
                    Source::Context(_) | Source::Part(_) => None,
                };
                let mut functions: Vec<FunctionId> = parents.filter_map(function).collect();
                functions.sort_unstable();
                functions
            }
            Action::Check(_) | Action::Attempt(_) | Action::Repair(_) => Vec::new(),
        };
        let mut groups: Vec<(Vec<FunctionId>, Vec<BypassId>, Vec<Action>)> = Vec::new();
        for action in actions.iter().filter(|action| !matches!(action, Action::Repair(_))) {
            let (functions, bypasses) = (functions(action), action.bypasses());
            match groups.iter_mut().find(|(f, b, _)| *f == functions && b == bypasses) {
                Some((.., group)) => group.push(action.clone()),
                None => groups.push((functions, bypasses.to_vec(), vec![action.clone()])),
            }
        }
        groups.into_iter().map(|(.., group)| group).collect()
    }

    /// The networks that together hold some observations: one, or those of the halves if one is too large. An observation
    /// that is too large alone has none.
    pub(crate) fn all(job: &Job, actions: &[Action]) -> Result<Vec<Self>, JobError> {
        match PredictionNetwork::new(job, actions) {
            Err(error) if error.is_tangled() => {
                let (some, others) = actions.split_at(actions.len() / 2);
                if some.is_empty() {
                    return Ok(Vec::new());
                }
                let mut networks = PredictionNetwork::all(job, some)?;
                networks.extend(PredictionNetwork::all(job, others)?);
                Ok(networks)
            }
            compiled => Ok(vec![compiled?]),
        }
    }

    /// The network of some observations.
    fn new(job: &Job, actions: &[Action]) -> Result<Self, JobError> {
        let bypasses: Vec<BypassId> = actions.iter().flat_map(|action| action.bypasses()).copied().collect();
        let mut build = JobNetworkBuilder::with_bypasses(job, &bypasses)?;
        build.findings()?;
        let mut leaves = Vec::new();
        for action in actions {
            let leaf = match action {
                Action::Check(check) => build.next_checks(&[*check])?.first().map(|(_, leaf)| *leaf),
                Action::Attempt(bypasses) => Some(build.outcome(bypasses, build.variables.end())?),
                Action::Repair(_) => None,
            };
            leaves.extend(leaf.map(|leaf| (action.clone(), leaf)));
        }
        let UncheckedNetwork { tree, variables, .. } = JobNetwork::of(build)?.compile_evidence_unchecked()?;
        Ok(PredictionNetwork { tree, variables, leaves })
    }
}

/// The error of the job for a network that was not compiled.
fn refused(error: InferenceError) -> JobError {
    match error {
        InferenceError::TooLarge { entries, limit } => {
            JobError::rule("steps", JobRule::Tangled { entries, limit })
        }
        error => error.into(),
    }
}

/// The error that names the smallest set of steps that exclude each other.
fn impossible(job: &Job, network: &Network, evidence: &Evidence, observed: &[FindingLeaf]) -> JobError {
    match smallest_conflict(network, evidence) {
        Ok(vars) => {
            let mut steps: Vec<usize> =
                observed.iter().filter(|o| vars.contains(&o.leaf)).map(|o| o.step).collect();
            steps.sort_unstable();
            JobError::Impossible { findings: steps.into_iter().map(|s| (s, job.describe(s))).collect() }
        }
        Err(error) => error.into(),
    }
}
