//! The network of a job.
//!
//! Parts, contexts and functions become variables; a repair gives each part that it touches a
//! new variable, sound with the repair's chance of taking and otherwise as it was (persistence:
//! Breese and Heckerman 1996). Findings and attempts are leaves that look at the variables as they
//! were at the time; a check repeated with nothing changed in between replaces the earlier finding.

use std::sync::Arc;

use super::build::{FindingLeaf, JobNetworkBuilder};
use super::{Job, JobError, JobRule};
use crate::machine::model::{Predicate, Source};
use crate::machine::{CheckId, ConditionId, PartId};
use halfsplit_bayes::{Compiler, Evidence, InferenceError, JunctionTree, Workspace, smallest_conflict};
use halfsplit_bayes::{Network, VarId};

/// Table entries that a job may need: some hundred megabytes and seconds, on a phone too. A job of a
/// dozen different repairs stays far below; a hostile link must not get further.
const ENTRY_LIMIT: f64 = 4e6;

/// What goes into the network beside what was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Scope {
    /// Nothing.
    Findings,
    /// Every check not yet made, and the worst severity that acts now.
    Ahead,
    /// The same, for asking about sets of causes one by one: which of them act is to be set on the
    /// parts, and with what severity on [`Ahead::acting`]. What ties most parts together is gone then,
    /// and the tables are far smaller.
    Given,
}

/// What could be observed next.
pub(crate) struct Ahead {
    /// Checks with their leaves.
    pub(crate) checks: Vec<(CheckId, VarId)>,
    /// The worst severity among all that acts now.
    pub(crate) worst: VarId,
    /// The severities that act now, by class; for [`Scope::Given`] only.
    pub(crate) acting: Vec<Acting>,
}

/// How badly the acting conditions of a class act now: even odds, for evidence to say.
pub(crate) struct Acting {
    pub(crate) var: VarId,
    pub(crate) conditions: Vec<ConditionId>,
}

/// The network of a job, compiled with everything found built in.
pub(crate) struct CompiledJob {
    pub(crate) tree: JunctionTree,
    pub(crate) ahead: Option<Ahead>,
    contexts: Vec<VarId>,
    /// By part: its variable at every version, oldest first.
    versions: Vec<Vec<VarId>>,
    /// By time (before each step, and after the last): the version of each part.
    version_at: Vec<Vec<usize>>,
}

/// A job as a network with evidence, before anything is compiled.
pub(crate) struct JobNetwork {
    pub(crate) network: Network,
    pub(crate) evidence: Evidence,
    observed: Vec<FindingLeaf>,
    ahead: Option<Ahead>,
    contexts: Vec<VarId>,
    versions: Vec<Vec<VarId>>,
    version_at: Vec<Vec<usize>>,
}

impl JobNetwork {
    pub(crate) fn new(job: &Job, scope: Scope) -> Result<Self, JobError> {
        JobNetwork::asking(job, scope, &every_check(job))
    }

    /// The same with no leaves for checks to come but these.
    fn asking(job: &Job, scope: Scope, wanted: &[CheckId]) -> Result<Self, JobError> {
        let mut build = JobNetworkBuilder::new(job, scope)?;
        build.findings()?;
        let ahead = match scope {
            Scope::Findings => None,
            Scope::Ahead | Scope::Given => Some(build.ahead(wanted)?),
        };
        let JobNetworkBuilder { builder, contexts, versions, version_at, observed, .. } = build;
        let network = builder.build()?;
        let mut evidence = Evidence::new();
        for o in &observed {
            evidence.set_state(o.leaf, o.state, network.variable(o.leaf).cardinality());
        }
        Ok(JobNetwork { network, evidence, observed, ahead, contexts, versions, version_at })
    }

    /// The variable of a part: as it is now, or as it was when the job began.
    pub(crate) fn part(&self, part: PartId, now: bool) -> VarId {
        let versions = &self.versions[part.index()];
        versions[if now { versions.len() - 1 } else { 0 }]
    }

    /// The step that a finding in force was made by.
    pub(crate) fn step_of(&self, leaf: VarId) -> Option<usize> {
        self.observed.iter().find(|o| o.leaf == leaf).map(|o| o.step)
    }

    /// Compiles the network with some of the evidence built in.
    pub(crate) fn compile(&self, job: &Job, given: &Evidence) -> Result<JunctionTree, JobError> {
        match Compiler::new().with_evidence(given).max_entries(ENTRY_LIMIT).compile(&self.network) {
            Err(InferenceError::Impossible { .. }) => {
                Err(impossible(job, &self.network, &self.evidence, &self.observed))
            }
            compiled => compiled.map_err(refused),
        }
    }
}

fn every_check(job: &Job) -> Vec<CheckId> {
    (0..job.machine.file().checks.len()).map(CheckId::new).collect()
}

impl Job<'_> {
    /// The network that this job is evidence on, and the evidence: contexts, parts as they were and
    /// are, functions, a leaf for everything found and for every check that has not been made.
    ///
    /// # Errors
    /// None for a job on a checked machine.
    pub fn network(&self) -> Result<(Network, Evidence), JobError> {
        let JobNetwork { network, evidence, .. } = JobNetwork::new(self, Scope::Ahead)?;
        Ok((network, evidence))
    }
}

impl CompiledJob {
    /// Builds and compiles the network of the findings of a job, and propagates them.
    pub(crate) fn new(job: &Job) -> Result<(Self, Workspace), JobError> {
        let (bench, evidence, observed) = CompiledJob::compiled(JobNetwork::new(job, Scope::Findings)?)?;
        let mut work = bench.tree.workspace();
        if bench.tree.propagate(&mut work, &Evidence::new()) {
            Ok((bench, work))
        } else {
            Err(impossible(job, bench.tree.network(), &evidence, &observed))
        }
    }

    /// The same, and what `before` makes of what was believed before the last step, with
    /// variables [as they were then](Self::at_step). None where no step was made, and where the findings before it
    /// exclude each other: the last may stand in place of one of them.
    pub(crate) fn found<T>(
        job: &Job,
        before: impl FnOnce(&Self, &Workspace) -> T,
    ) -> Result<(Self, Workspace, Option<T>), JobError> {
        let mut draft = JobNetwork::new(job, Scope::Findings)?;
        // What was found last is not built in: it is a leaf, and left open it widens nothing else.
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
        let (bench, mut evidence, observed) = CompiledJob::compiled(draft)?;
        let mut work = bench.tree.workspace();
        let was_possible = !job.steps.is_empty() && bench.tree.propagate(&mut work, &earlier);
        let before = was_possible.then(|| before(&bench, &work));
        if bench.tree.propagate(&mut work, &now) {
            Ok((bench, work, before))
        } else {
            now.iter().for_each(|(leaf, state)| evidence.insert(leaf, state.to_vec()));
            Err(impossible(job, bench.tree.network(), &evidence, &observed))
        }
    }

    /// The same for asking about sets of causes one by one: nothing is propagated yet, and whether the
    /// findings are possible at all is not asked. Where one network for all checks to come is too large, there
    /// are several, each for some of them.
    pub(crate) fn given(job: &Job) -> Result<Vec<Self>, JobError> {
        fn asking(job: &Job, checks: &[CheckId]) -> Result<CompiledJob, JobError> {
            Ok(CompiledJob::compiled(JobNetwork::asking(job, Scope::Given, checks)?)?.0)
        }
        fn halves(job: &Job, checks: &[CheckId]) -> Result<Vec<CompiledJob>, JobError> {
            let (some, others) = checks.split_at(checks.len() / 2);
            let mut benches = Vec::new();
            for part in [some, others] {
                match asking(job, part) {
                    Err(error) if error.is_tangled() && part.len() > 1 => benches.extend(halves(job, part)?),
                    compiled => benches.push(compiled?),
                }
            }
            Ok(benches)
        }
        let everything = every_check(job);
        match asking(job, &everything) {
            // What is too large with nothing asked about is so with anything.
            Err(error) if error.is_tangled() => {
                asking(job, &[])?;
                halves(job, &everything)
            }
            compiled => Ok(vec![compiled?]),
        }
    }

    fn compiled(draft: JobNetwork) -> Result<(Self, Evidence, Vec<FindingLeaf>), JobError> {
        let JobNetwork { network, evidence, observed, ahead, contexts, versions, version_at } = draft;
        let compiler = Compiler::new().with_evidence(&evidence).max_entries(ENTRY_LIMIT);
        let tree = compiler.compile_evidence_unchecked(Arc::new(network)).map_err(refused)?;
        Ok((CompiledJob { tree, ahead, contexts, versions, version_at }, evidence, observed))
    }

    /// What could be observed next.
    ///
    /// # Errors
    /// A rule broken in the code: it was built with [`Scope::Findings`].
    pub(crate) fn ahead(&self) -> Result<&Ahead, JobError> {
        self.ahead.as_ref().ok_or_else(|| JobError::rule("job", JobRule::NoLookAhead))
    }

    /// The variable of a condition's part as it is now.
    pub(crate) fn now(&self, part: PartId) -> VarId {
        let versions = &self.versions[part.index()];
        versions[versions.len() - 1]
    }

    /// The variable of a part as it was when the job began.
    pub(crate) fn at_arrival(&self, part: PartId) -> VarId {
        self.versions[part.index()][0]
    }

    /// The variable of a part as it was before a step.
    pub(crate) fn at_step(&self, part: PartId, step: usize) -> VarId {
        self.versions[part.index()][self.version_at[step][part.index()]]
    }

    /// Variable of a predicate as things are now; none for functions.
    pub(crate) fn variable(&self, predicate: &Predicate) -> Option<VarId> {
        match predicate.source {
            Source::Context(b) => Some(self.contexts[b.index()]),
            Source::Part(p) => Some(self.now(p)),
            Source::Function(_) => None,
        }
    }

    /// Chance that a condition is there with a severity that acts or does not, from a marginal of
    /// its part.
    pub(crate) fn condition_odds(job: &Job, condition: ConditionId, marginal: &[f64]) -> (f64, f64) {
        let machine = job.machine;
        let part = machine.part_of(condition);
        let mut present = 0.0;
        let mut cause = 0.0;
        for (state, p) in machine.model.parts[part.index()].states.iter().zip(marginal) {
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

/// Why a network was not compiled.
fn refused(error: InferenceError) -> JobError {
    match error {
        InferenceError::TooLarge { entries, limit } => {
            JobError::rule("steps", JobRule::Tangled { entries, limit })
        }
        error => error.into(),
    }
}

/// The smallest set of steps that exclude each other.
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
