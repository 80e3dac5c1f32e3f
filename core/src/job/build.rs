//! From a job to a network: parts, repairs, findings, attempts, and what could be observed next.

use std::collections::HashMap;

use super::compiled::{Acting, Ahead, Scope};
use super::effects::StepEffects;
use super::noisy_max_node::NoisyMaxNode;
use super::{Found, Job, JobError, Step};
use crate::machine::model::{Observation, ObservationKind, Role, Source};
use crate::machine::{BypassId, CheckId, ConditionId, ContextId, PartId};
use crate::reading::Span;
use halfsplit_bayes::{NetworkBuilder, VarId};

pub(super) const SEVERITIES: [&str; 4] = ["harmless", "dies", "tries", "nothing"];
pub(super) const OUTCOMES: [&str; 4] = ["runs", "dies", "tries", "nothing"];

/// Conditions of which the bypasses that the job has used make the same.
pub(super) struct LiftClass {
    pub(super) conditions: Vec<ConditionId>,
    /// By bypass used.
    roles: Vec<Role>,
}

/// A finding in the network.
pub(super) struct FindingLeaf {
    pub(super) leaf: VarId,
    /// The state that was observed.
    pub(super) state: usize,
    /// The step that found it.
    pub(super) step: usize,
    /// An earlier finding in place of which it stands: the leaf and its state.
    pub(super) replaces: Option<(VarId, usize)>,
}

/// A network in the making.
pub(super) struct JobNetworkBuilder<'j, 'm> {
    pub(super) job: &'j Job<'m>,
    pub(super) scope: Scope,
    pub(super) builder: NetworkBuilder,
    pub(super) contexts: Vec<VarId>,
    /// By part: its variable at every version, oldest first.
    pub(super) versions: Vec<Vec<VarId>>,
    /// By time (before each step, and after the last): the version of each part.
    pub(super) version_at: Vec<Vec<usize>>,
    /// By part: the states other than sound that a step of this job may put it into.
    pub(super) put_into: Vec<Vec<usize>>,
    /// Conditions by the bypasses of this job that lift them.
    pub(super) classes: Vec<LiftClass>,
    /// Pools by the versions of the parts that push them.
    pub(super) pools: HashMap<(NoisyMaxNode, Vec<VarId>), VarId>,
    /// What a version of a part that a step touches pushes a pool to.
    pub(super) pushed: HashMap<(NoisyMaxNode, VarId), VarId>,
    /// Maxima of severities by the variables that they are taken over.
    pub(super) maxima: HashMap<Vec<VarId>, VarId>,
    /// What is to be said from outside, under [`Scope::Given`].
    pub(super) acting: Vec<Acting>,
    pub(super) observed: Vec<FindingLeaf>,
    /// Place in `observed` of the finding of a check on given parents.
    latest: HashMap<(CheckId, Vec<VarId>), usize>,
    names: usize,
}

impl<'j, 'm> JobNetworkBuilder<'j, 'm> {
    /// Contexts, parts and everything that steps made of them.
    pub(super) fn new(job: &'j Job<'m>, scope: Scope) -> Result<Self, JobError> {
        let machine = job.machine;
        let acts = StepEffects::of(job);
        let parts = machine.file().parts.len();
        let mut build = JobNetworkBuilder {
            job,
            scope,
            builder: NetworkBuilder::new(),
            contexts: Vec::new(),
            versions: Vec::new(),
            version_at: vec![vec![0; parts]; job.steps.len() + 1],
            put_into: acts.put_into(parts),
            classes: lift_classes(job),
            pools: HashMap::new(),
            pushed: HashMap::new(),
            maxima: HashMap::new(),
            acting: Vec::new(),
            observed: Vec::new(),
            latest: HashMap::new(),
            names: 0,
        };
        for (b, context) in machine.file().context.iter().enumerate() {
            let states = context.states.iter().map(|s| s.id.as_str());
            let shares = job.background_shares(ContextId::new(b));
            build.contexts.push(build.builder.add(&context.id, states, &[], shares)?);
        }
        for part in (0..parts).map(PartId::new) {
            build.part(&acts, part)?;
        }
        Ok(build)
    }

    /// A part as it came, and a new version of it after every step that touches it.
    fn part(&mut self, acts: &StepEffects, part: PartId) -> Result<(), JobError> {
        let machine = self.job.machine;
        let model = &machine.model.parts[part.index()];
        // The description was checked: a part is raised by contexts and earlier parts.
        let parents: Vec<VarId> = model
            .parents
            .iter()
            .filter_map(|source| match source {
                Source::Context(b) => Some(self.contexts[b.index()]),
                Source::Part(p) => Some(self.versions[p.index()][0]),
                Source::Function(_) => None,
            })
            .collect();
        let id = &machine.file().parts[part.index()].id;
        let table = self.job.part_table(part);
        let mut var = self.builder.add(format!("part {id}"), &model.state_names, &parents, table)?;
        let mut versions = vec![var];
        for step in 0..self.job.steps.len() {
            if let Some(transition) = acts.on(self.job, step, part) {
                let name = self.name(&format!("part {id}"));
                var = self.builder.add(name, &model.state_names, &[var], transition.concat())?;
                versions.push(var);
            }
            self.version_at[step + 1][part.index()] = versions.len() - 1;
        }
        self.versions.push(versions);
        Ok(())
    }

    /// The time after the last step.
    pub(super) fn now(&self) -> usize {
        self.version_at.len() - 1
    }

    /// Variable of a part at a time.
    pub(super) fn version(&self, part: PartId, time: usize) -> VarId {
        self.versions[part.index()][self.version_at[time][part.index()]]
    }

    pub(super) fn name(&mut self, what: &str) -> String {
        self.names += 1;
        format!("{what} #{}", self.names)
    }

    fn parents_of(&mut self, observation: &Observation, time: usize) -> Result<Vec<VarId>, JobError> {
        observation
            .parents
            .iter()
            .map(|source| match source {
                Source::Context(b) => Ok(self.contexts[b.index()]),
                Source::Part(p) => Ok(self.version(*p, time)),
                Source::Function(f) => self.pool(NoisyMaxNode::Function(*f), time),
            })
            .collect()
    }

    /// Leaves for everything that checks found and attempts did.
    pub(super) fn findings(&mut self) -> Result<(), JobError> {
        let job = self.job;
        for (step, done) in job.steps.iter().enumerate() {
            match done {
                Step::Repair(_) | Step::Attempt { left_out: true, .. } => {}
                Step::Check { check, finding, trust, .. } => self.finding(step, *check, *finding, *trust)?,
                Step::Attempt { bypasses, outcome, .. } => {
                    let leaf = self.outcome(bypasses, step)?;
                    self.observed.push(FindingLeaf { leaf, state: *outcome as usize, step, replaces: None });
                }
            }
        }
        Ok(())
    }

    fn finding(&mut self, step: usize, check: CheckId, finding: Found, trust: f64) -> Result<(), JobError> {
        let machine = self.job.machine;
        let observation = &machine.model.checks[check.index()].observation;
        let parents = self.parents_of(observation, step)?;
        let (rows, state) = match finding {
            Found::Result(r) => (observation.rows(self.job.air), r),
            Found::Reading(span, _) => (reading_rows(observation, self.job.air, span), 0),
        };
        // Hearsay: the check's table mixed with one that says nothing (Pearl 1988).
        let even = 1.0 / rows[0].len() as f64;
        let states: Vec<String> = (0..rows[0].len()).map(|s| s.to_string()).collect();
        let table = rows.iter().flatten().map(|p| trust * p + (1.0 - trust) * even).collect();
        let name = self.name(&format!("step {}: {}", step + 1, machine.file().checks[check.index()].id));
        let leaf = self.builder.add(name, states, &parents, table)?;
        let mut observed = FindingLeaf { leaf, state, step, replaces: None };
        match self.latest.get(&(check, parents.clone())) {
            // Nothing has changed in between: the newer finding stands for both.
            Some(place) => {
                let earlier = &mut self.observed[*place];
                observed.replaces = Some((earlier.leaf, earlier.state));
                *earlier = observed;
            }
            None => {
                self.latest.insert((check, parents), self.observed.len());
                self.observed.push(observed);
            }
        }
        Ok(())
    }

    /// Leaves for every check wanted that has not been made on the machine as it is, and the worst severity
    /// that acts now.
    pub(super) fn ahead(&mut self, wanted: &[CheckId]) -> Result<Ahead, JobError> {
        let machine = self.job.machine;
        let now = self.now();
        let mut checks = Vec::new();
        for check in wanted.iter().copied() {
            let (i, model) = (check.index(), &machine.model.checks[check.index()]);
            let parents = self.parents_of(&model.observation, now)?;
            if self.latest.contains_key(&(check, parents.clone())) {
                continue;
            }
            let rows = model.observation.rows(self.job.air);
            let authored = &machine.file().checks[i];
            let name = self.name(&format!("next: {}", authored.id));
            let states = authored.results.iter().map(|r| r.id.as_str());
            checks.push((check, self.builder.add(name, states, &parents, rows.concat())?));
        }
        let all: Vec<usize> = (0..self.classes.len()).collect();
        let worst = self.worst(&all, now)?;
        Ok(Ahead { checks, worst, acting: std::mem::take(&mut self.acting) })
    }
}

fn lift_classes(job: &Job) -> Vec<LiftClass> {
    let model = &job.machine.model;
    let mut used: Vec<BypassId> = Vec::new();
    for step in &job.steps {
        if let Step::Attempt { bypasses, left_out: false, .. } = step {
            used.extend(bypasses);
        }
    }
    used.sort_unstable();
    used.dedup();
    let mut classes: Vec<LiftClass> = Vec::new();
    for condition in job.machine.condition_ids() {
        let roles: Vec<Role> = used.iter().map(|b| model.role(&[*b], condition)).collect();
        match classes.iter_mut().find(|c| c.roles == roles) {
            Some(class) => class.conditions.push(condition),
            None => classes.push(LiftClass { conditions: vec![condition], roles }),
        }
    }
    classes
}

/// By configuration of the parents: the chance of the reading, scaled to at most 1, and the rest.
/// Only ratios matter, and the scale keeps readings of fine gauges from looking impossible.
fn reading_rows(observation: &Observation, air: f64, span: Span) -> Vec<Vec<f64>> {
    let ObservationKind::Reading(model) = &observation.kind else { return vec![vec![1.0]] };
    let by_row: Vec<f64> = model.laws(air).iter().map(|law| law.mass(span)).collect();
    let largest = by_row.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    model.row_of.iter().map(|r| by_row[*r] / largest).map(|p| vec![p, 1.0 - p]).collect()
}
