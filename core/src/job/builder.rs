//! The builder of a job's network: contexts, parts and the changes that the steps make to parts.

use std::collections::HashMap;

use super::effects::StepEffects;
use super::variables::JobVariables;
use super::{Job, JobError, Provenance, Step};
use crate::machine::model::{Role, Source};
use crate::machine::{BypassId, CheckId, ConditionId, FunctionId, PartId};
use halfsplit_bayes::{NetworkBuilder, VarId};
use typed_index_collections::TiVec;

pub(super) const SEVERITIES: [&str; 4] = ["harmless", "dies", "tries", "nothing"];
pub(super) const OUTCOMES: [&str; 4] = ["runs", "dies", "tries", "nothing"];

/// The quantity that a noisy-MAX node stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum NoisyMaxNode {
    /// A function of the machine.
    Function(FunctionId),
    /// The severity of a class of conditions, by its place.
    Class(usize),
}

/// The severity with which conditions of a class act now, as a variable with a uniform prior. Evidence sets
/// it.
pub(crate) struct Acting {
    pub(crate) var: VarId,
    pub(crate) conditions: Vec<ConditionId>,
}

/// Conditions that have the same role under every bypass that the job has used.
pub(super) struct LiftClass {
    pub(super) conditions: Vec<ConditionId>,
    /// By bypass used: the role of the conditions.
    roles: Vec<Role>,
}

/// A finding in the network.
pub(super) struct FindingLeaf {
    pub(super) leaf: VarId,
    /// The state that was observed.
    pub(super) state: usize,
    /// The step that found it.
    pub(super) step: usize,
    /// The earlier finding that this one replaces: its leaf and its state.
    pub(super) replaces: Option<(VarId, usize)>,
}

/// A finding with the state of the machine that its step left.
pub(super) struct KnownFinding {
    pub(super) check: CheckId,
    pub(super) known: Provenance,
    /// The parts that the check looks at, after the step.
    pub(super) parts_after: Vec<VarId>,
}

/// The builder of a job's network.
pub(super) struct JobNetworkBuilder<'j, 'm> {
    pub(super) job: &'j Job<'m>,
    pub(super) builder: NetworkBuilder,
    pub(super) variables: JobVariables,
    /// By part: the states other than sound that a step of this job may put it into.
    pub(super) put_into: TiVec<PartId, Vec<usize>>,
    /// Conditions, grouped by their roles under the bypasses of this job.
    pub(super) classes: Vec<LiftClass>,
    /// Noisy-MAX nodes, by the versions of the parts that contribute to them.
    pub(super) pools: HashMap<(NoisyMaxNode, Vec<VarId>), VarId>,
    /// Contributions to noisy-MAX nodes, by the version of a part that a step touches.
    pub(super) pushed: HashMap<(NoisyMaxNode, VarId), VarId>,
    /// Maxima of severities by the variables that they are taken over.
    pub(super) maxima: HashMap<Vec<VarId>, VarId>,
    /// The severities that act now, if evidence sets them; none if the parts determine them.
    pub(super) acting: Option<Vec<Acting>>,
    pub(super) observed: Vec<FindingLeaf>,
    /// Place in `observed` of the latest finding of a check with these parents.
    pub(super) latest: HashMap<(CheckId, Vec<VarId>), usize>,
    /// The findings that are evidence or were until a later one replaced them.
    pub(super) known: Vec<KnownFinding>,
    /// The steps whose findings are no evidence, because the same is known better.
    pub(super) outweighed: Vec<usize>,
    names: usize,
}

impl<'j, 'm> JobNetworkBuilder<'j, 'm> {
    /// Adds all contexts and parts, and a new version of a part for every step that touches it. The parts
    /// determine the severities that act.
    pub(super) fn new(job: &'j Job<'m>) -> Result<Self, JobError> {
        JobNetworkBuilder::with_bypasses(job, &[])
    }

    /// As [`JobNetworkBuilder::new`], with classes of conditions for further attempts with these bypasses.
    pub(super) fn with_bypasses(job: &'j Job<'m>, bypasses: &[BypassId]) -> Result<Self, JobError> {
        let machine = job.machine;
        let acts = StepEffects::of(job);
        let parts = machine.file().parts.len();
        let mut build = JobNetworkBuilder {
            job,
            builder: NetworkBuilder::new(),
            variables: JobVariables::new(parts, job.steps.len()),
            put_into: acts.put_into(parts),
            classes: lift_classes(job, bypasses),
            pools: HashMap::new(),
            pushed: HashMap::new(),
            maxima: HashMap::new(),
            acting: None,
            observed: Vec::new(),
            latest: HashMap::new(),
            known: Vec::new(),
            outweighed: Vec::new(),
            names: 0,
        };
        for id in job.fitted.keys() {
            let context = machine.context(id);
            let states = context.states.iter().map(|s| s.id.as_str());
            let shares = job.context_shares(id);
            let var = build.builder.add(&context.id, states, &[], shares)?;
            build.variables.add_context(var);
        }
        for part in machine.model.parts.keys() {
            build.part(&acts, part)?;
        }
        Ok(build)
    }

    /// Adds a part as it arrived, and a new version of it after every step that touches it.
    fn part(&mut self, acts: &StepEffects, part: PartId) -> Result<(), JobError> {
        let machine = self.job.machine;
        let model = &machine.model.parts[part];
        // In a checked description only contexts and earlier parts raise a part.
        let parents: Vec<VarId> = model
            .parents
            .iter()
            .filter_map(|source| match source {
                Source::Context(b) => Some(self.variables.context(*b)),
                Source::Part(p) => Some(self.variables.at_arrival(*p)),
                Source::Function(_) => None,
            })
            .collect();
        let id = &machine.part(part).id;
        let table = self.job.part_table(part);
        let mut var = self.builder.add(format!("part {id}"), &model.state_names, &parents, table)?;
        self.variables.add_part(var);
        for step in 0..self.job.steps.len() {
            let mut version = None;
            if let Some(transition) = acts.on(self.job, step, part) {
                let name = self.name(&format!("part {id}"));
                var = self.builder.add(name, &model.state_names, &[var], transition.concat())?;
                version = Some(var);
            }
            self.variables.enter_step(part, step, version);
        }
        Ok(())
    }

    pub(super) fn name(&mut self, what: &str) -> String {
        self.names += 1;
        format!("{what} #{}", self.names)
    }
}

/// The conditions, grouped by their roles under the bypasses of the job and under further ones.
fn lift_classes(job: &Job, further: &[BypassId]) -> Vec<LiftClass> {
    let model = &job.machine.model;
    let mut used = further.to_vec();
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
