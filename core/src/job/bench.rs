//! The network of a job.
//!
//! Parts, backgrounds and functions become variables; a repair gives each part that it touches a
//! new variable, sound with the repair's chance of taking and otherwise as it was (persistence:
//! Breese and Heckerman 1996). Findings and attempts are leaves that look at the variables as they
//! were at the time; a check repeated with nothing changed in between replaces the earlier finding.
//!
//! An attempt looks at the worst severity among the parts that still act. The maxima telescope:
//! the last attempt looks at the maximum over all parts as they are now, and the one before a repair
//! at the maximum of that and the part as it was before the repair. That is the right maximum,
//! because a repaired part is either sound or as it was and so never worse. Conditions that the
//! same bypasses lift have a maximum of their own, so that every bypass finds the maximum of what it
//! leaves and of what it lifts ready made.

use std::collections::HashMap;

use super::{Found, Job, JobError, Step};
use crate::inference::{Evidence, JunctionTree, smallest_conflict};
use crate::machine::model::{Atom, Observation, ObservationKind, Source};
use crate::machine::{BypassId, CheckId, ConditionId, FunctionId, PartId};
use crate::network::{Network, NetworkBuilder, NoisyParent, VarId, for_each_row};
use crate::reading::Span;

/// What goes into the network beside what was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Scope {
    /// Nothing.
    Findings,
    /// Every check not yet made, and the worst severity that acts now.
    Ahead,
}

/// What could be observed next.
pub(crate) struct Ahead {
    /// Checks with their leaves.
    pub(crate) checks: Vec<(CheckId, VarId)>,
    /// The worst severity among all that acts now.
    pub(crate) worst: VarId,
}

/// The network of a job, compiled with everything found built in.
pub(crate) struct Bench {
    pub(crate) tree: JunctionTree,
    pub(crate) ahead: Option<Ahead>,
    backgrounds: Vec<VarId>,
    /// By part: its variable at every version, oldest first.
    versions: Vec<Vec<VarId>>,
    /// By step: how many repairs each part had before it.
    version_at: Vec<Vec<usize>>,
}

const SEVERITIES: [&str; 4] = ["harmless", "dies", "tries", "nothing"];
const OUTCOMES: [&str; 4] = ["runs", "dies", "tries", "nothing"];

impl Bench {
    /// Builds and compiles the network of a job.
    pub(crate) fn new(job: &Job, scope: Scope) -> Result<Self, JobError> {
        let mut build = Build::new(job)?;
        build.findings()?;
        build.attempts()?;
        let ahead = match scope {
            Scope::Findings => None,
            Scope::Ahead => Some(build.ahead()?),
        };
        let Build { builder, backgrounds, versions, version_at, observed, .. } = build;
        let network = builder.build()?;
        let mut evidence = Evidence::new();
        for (var, state, _) in &observed {
            let name = network.variable(*var).states()[*state].clone();
            evidence.observe(&network, *var, &name)?;
        }
        let tree = match JunctionTree::compile_given(&network, &evidence) {
            Ok(tree) => tree,
            Err(crate::inference::InferenceError::Impossible { .. }) => {
                return Err(impossible(job, &network, &evidence, &observed));
            }
            Err(error) => return Err(error.into()),
        };
        Ok(Bench { tree, ahead, backgrounds, versions, version_at })
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

    /// Whether a repair has touched a part.
    pub(crate) fn is_repaired(&self, part: PartId) -> bool {
        self.versions[part.index()].len() > 1
    }

    /// Variable of an atom as things are now; none for functions.
    pub(crate) fn variable(&self, atom: &Atom) -> Option<VarId> {
        match atom.source {
            Source::Background(b) => Some(self.backgrounds[b.index()]),
            Source::Part(p) => Some(self.now(p)),
            Source::Function(_) => None,
        }
    }
}

/// The smallest set of steps that exclude each other.
fn impossible(
    job: &Job,
    network: &Network,
    evidence: &Evidence,
    observed: &[(VarId, usize, usize)],
) -> JobError {
    match smallest_conflict(network, evidence) {
        Ok(vars) => {
            let mut steps: Vec<usize> =
                observed.iter().filter(|(v, ..)| vars.contains(v)).map(|(.., step)| *step).collect();
            steps.sort_unstable();
            JobError::Impossible { findings: steps.into_iter().map(|s| job.describe(s)).collect() }
        }
        Err(error) => error.into(),
    }
}

/// Conditions that the same bypasses lift, among the bypasses that the job has used.
struct LiftClass {
    conditions: Vec<ConditionId>,
    lifted_by: Vec<BypassId>,
}

fn lift_classes(job: &Job) -> Vec<LiftClass> {
    let model = &job.machine.model;
    let mut used: Vec<BypassId> = job
        .steps
        .iter()
        .flat_map(|s| match s {
            Step::Attempt { bypasses, .. } => bypasses.as_slice(),
            _ => &[],
        })
        .copied()
        .collect();
    used.sort_unstable();
    used.dedup();
    let mut classes: Vec<LiftClass> = Vec::new();
    for condition in job.machine.condition_ids() {
        let lifted_by: Vec<BypassId> =
            used.iter().copied().filter(|b| model.bypasses[b.index()].lifts.contains(&condition)).collect();
        match classes.iter_mut().find(|c| c.lifted_by == lifted_by) {
            Some(class) => class.conditions.push(condition),
            None => classes.push(LiftClass { conditions: vec![condition], lifted_by }),
        }
    }
    classes
}

struct Build<'j, 'm> {
    job: &'j Job<'m>,
    builder: NetworkBuilder,
    backgrounds: Vec<VarId>,
    versions: Vec<Vec<VarId>>,
    version_at: Vec<Vec<usize>>,
    /// By part: how badly it acts, for parts that a repair has touched. One draw for all versions: what
    /// a repair leaves as it was acts as it did.
    severities: Vec<Option<VarId>>,
    /// What a version of a touched part does to an attempt, by class and version.
    effects: HashMap<(usize, VarId), VarId>,
    /// Function variables by function and the versions of the parts that spoil it.
    functions: HashMap<(FunctionId, Vec<VarId>), VarId>,
    /// Maxima of severities by the variables that they are taken over.
    maxima: HashMap<Vec<VarId>, VarId>,
    /// (leaf, observed state, step)
    observed: Vec<(VarId, usize, usize)>,
    /// Place in `observed` of the finding of a check on given parents.
    latest: HashMap<(CheckId, Vec<VarId>), usize>,
    /// Conditions by the bypasses of this job that lift them.
    classes: Vec<LiftClass>,
    /// By class: the worst severity among the parts as they are now.
    worst_now: Vec<VarId>,
    names: usize,
}

impl<'j, 'm> Build<'j, 'm> {
    fn new(job: &'j Job<'m>) -> Result<Self, JobError> {
        let mut build = Build {
            job,
            builder: NetworkBuilder::new(),
            backgrounds: Vec::new(),
            versions: Vec::new(),
            version_at: Vec::new(),
            severities: Vec::new(),
            effects: HashMap::new(),
            functions: HashMap::new(),
            maxima: HashMap::new(),
            observed: Vec::new(),
            latest: HashMap::new(),
            classes: lift_classes(job),
            worst_now: Vec::new(),
            names: 0,
        };
        let machine = job.machine;
        for background in &machine.file().background {
            let states = background.states.iter().map(|s| s.id.as_str());
            let shares = background.states.iter().map(|s| s.share).collect();
            build.backgrounds.push(build.builder.add(&background.id, states, &[], shares)?);
        }
        for (part, model) in machine.file().parts.iter().zip(&machine.model.parts) {
            let parents: Vec<VarId> = model.parents.iter().map(|s| build.first(*s)).collect();
            let name = format!("part {}", part.id);
            let var = build.builder.add(
                name,
                model.state_names.iter().map(String::as_str),
                &parents,
                model.table.clone(),
            )?;
            build.versions.push(vec![var]);
            build.severities.push(None);
        }
        // Repairs in order: each touched part gets its next variable.
        for step in 0..job.steps.len() {
            build.version_at.push(build.versions.iter().map(|v| v.len() - 1).collect());
            if let Step::Repair(repair) = &job.steps[step] {
                build.repair(*repair)?;
            }
        }
        Ok(build)
    }

    /// Variable of a background or of a part at arrival.
    fn first(&self, source: Source) -> VarId {
        match source {
            Source::Background(b) => self.backgrounds[b.index()],
            Source::Part(p) => self.versions[p.index()][0],
            // Priors never look at functions; the description was checked for that.
            Source::Function(f) => VarId::new(f.index()),
        }
    }

    fn name(&mut self, what: &str) -> String {
        self.names += 1;
        format!("{what} #{}", self.names)
    }

    fn repair(&mut self, repair: crate::machine::RepairId) -> Result<(), JobError> {
        let machine = self.job.machine;
        let cures = &machine.model.repairs[repair.index()].cures;
        let takes = machine.file().repairs[repair.index()].takes;
        for part in (0..self.versions.len()).map(PartId::new) {
            let model = &machine.model.parts[part.index()];
            let cured: Vec<bool> =
                model.states.iter().map(|s| s.condition().is_some_and(|c| cures.contains(&c))).collect();
            if !cured.contains(&true) {
                continue;
            }
            let before = self.versions[part.index()][self.versions[part.index()].len() - 1];
            let count = model.states.len();
            let mut table = Vec::with_capacity(count * count);
            for (state, cured) in cured.iter().enumerate() {
                for next in 0..count {
                    let stays = f64::from(u8::from(next == state));
                    let sound = f64::from(u8::from(next == 0));
                    table.push(if *cured { takes * sound + (1.0 - takes) * stays } else { stays });
                }
            }
            let name = self.name(&format!("part {}", machine.file().parts[part.index()].id));
            let var =
                self.builder.add(name, model.state_names.iter().map(String::as_str), &[before], table)?;
            self.versions[part.index()].push(var);
            if self.severities[part.index()].is_none() {
                self.severities[part.index()] = Some(self.severity(part)?);
            }
        }
        Ok(())
    }

    /// How badly a part acts, given its state at arrival.
    fn severity(&mut self, part: PartId) -> Result<VarId, JobError> {
        let model = &self.job.machine.model;
        let table = model.parts[part.index()]
            .states
            .iter()
            .flat_map(|s| match s.condition() {
                Some(c) if s.acts() => model.conditions[c.index()].severity,
                _ => [1.0, 0.0, 0.0, 0.0],
            })
            .collect();
        let name = self.name(&format!("severity of {}", self.job.machine.file().parts[part.index()].id));
        Ok(self.builder.add(name, SEVERITIES, &[self.versions[part.index()][0]], table)?)
    }

    /// What a version of a part does to an attempt through the conditions of one class.
    fn effect(&mut self, class: usize, part: PartId, version: VarId) -> Result<NoisyParent, JobError> {
        let model = &self.job.machine.model;
        let states = &model.parts[part.index()].states;
        let conditions = &self.classes[class].conditions;
        let acting: Vec<Option<ConditionId>> =
            states.iter().map(|s| s.condition().filter(|c| s.acts() && conditions.contains(c))).collect();
        let Some(severity) = self.severities[part.index()] else {
            // Drawn here, once: this version is the only one that the part ever has.
            let of = |c: &Option<ConditionId>| match c {
                Some(c) => model.conditions[c.index()].severity.to_vec(),
                None => vec![1.0, 0.0, 0.0, 0.0],
            };
            return Ok(NoisyParent { parent: version, levels: acting.iter().map(of).collect() });
        };
        let identity = |var| NoisyParent::fixed(var, &[0, 1, 2, 3], SEVERITIES.len());
        if acting.iter().all(Option::is_none) {
            return Ok(NoisyParent::fixed(version, &vec![0; states.len()], SEVERITIES.len()));
        }
        if let Some(var) = self.effects.get(&(class, version)) {
            return Ok(identity(*var));
        }
        let name = self.name("effect");
        let var = self.builder.deterministic(name, SEVERITIES, &[version, severity], |row| {
            if acting[row[0]].is_some() { row[1] } else { 0 }
        })?;
        self.effects.insert((class, version), var);
        Ok(identity(var))
    }

    /// Places in the version lists after the last step.
    fn versions_now(&self) -> Vec<usize> {
        self.versions.iter().map(|v| v.len() - 1).collect()
    }

    fn function(&mut self, function: FunctionId, at: &[usize]) -> Result<VarId, JobError> {
        let model = &self.job.machine.model.functions[function.index()];
        let vars: Vec<VarId> =
            model.spoilers.iter().map(|(p, _)| self.versions[p.index()][at[p.index()]]).collect();
        if let Some(var) = self.functions.get(&(function, vars.clone())) {
            return Ok(*var);
        }
        let parents: Vec<NoisyParent> = vars
            .iter()
            .zip(&model.spoilers)
            .map(|(var, (_, levels))| NoisyParent { parent: *var, levels: levels.clone() })
            .collect();
        let levels: Vec<&str> = model.level_names.iter().map(String::as_str).collect();
        let name = self.name(&format!("function {}", self.job.machine.file().functions[function.index()].id));
        let var = self.builder.noisy_max(&name, &levels, &parents)?;
        self.functions.insert((function, vars), var);
        Ok(var)
    }

    fn source(&mut self, source: Source, at: &[usize]) -> Result<VarId, JobError> {
        match source {
            Source::Background(b) => Ok(self.backgrounds[b.index()]),
            Source::Part(p) => Ok(self.versions[p.index()][at[p.index()]]),
            Source::Function(f) => self.function(f, at),
        }
    }

    /// Leaves for everything that checks found.
    fn findings(&mut self) -> Result<(), JobError> {
        let job = self.job;
        for (step, done) in job.steps.iter().enumerate() {
            let Step::Check { check, finding, trust } = done else { continue };
            let at = self.version_at[step].clone();
            let observation = &job.machine.model.checks[check.index()].observation;
            let parents = self.parents_of(observation, &at)?;
            let id = &job.machine.file().checks[check.index()].id;
            let name = self.name(&format!("step {}: {id}", step + 1));
            let (rows, state) = match finding {
                Found::Result(r) => (self.result_rows(observation), *r),
                Found::Reading(span, _) => (reading_rows(observation, job.air, *span), 0),
            };
            let states: Vec<String> = (0..rows[0].len()).map(|s| s.to_string()).collect();
            let even = 1.0 / rows[0].len() as f64;
            let table = rows.iter().flatten().map(|p| trust * p + (1.0 - trust) * even).collect();
            let var = self.builder.add(name, states, &parents, table)?;
            match self.latest.get(&(*check, parents.clone())) {
                Some(place) => self.observed[*place] = (var, state, step),
                None => {
                    self.latest.insert((*check, parents), self.observed.len());
                    self.observed.push((var, state, step));
                }
            }
        }
        Ok(())
    }

    fn parents_of(&mut self, observation: &Observation, at: &[usize]) -> Result<Vec<VarId>, JobError> {
        observation.parents.iter().map(|s| self.source(*s, at)).collect()
    }

    /// By configuration of the parents: the chance of every result or band.
    fn result_rows(&self, observation: &Observation) -> Vec<Vec<f64>> {
        match &observation.kind {
            ObservationKind::Table(rows) => rows.clone(),
            ObservationKind::Reading(model) => {
                let by_row: Vec<Vec<f64>> = model
                    .laws(self.job.air)
                    .iter()
                    .map(|law| (0..=model.edges.len()).map(|band| law.mass(model.band(band))).collect())
                    .collect();
                model.row_of.iter().map(|r| by_row[*r].clone()).collect()
            }
        }
    }

    /// Leaves for the attempts made.
    fn attempts(&mut self) -> Result<(), JobError> {
        let job = self.job;
        if !job.steps.iter().any(|s| matches!(s, Step::Attempt { .. })) {
            return Ok(());
        }
        let mut worst = self.worst_now()?;
        // Backwards in time: every repair undone joins the part as it was before.
        for step in (0..job.steps.len()).rev() {
            match &job.steps[step] {
                Step::Check { .. } => {}
                Step::Repair(_) => self.before_repair(step, &mut worst)?,
                Step::Attempt { bypasses, outcome } => {
                    let var = self.outcome(bypasses, &worst, &format!("step {}: attempt", step + 1))?;
                    self.observed.push((var, outcome.place(), step));
                }
            }
        }
        self.observed.sort_by_key(|(.., step)| *step);
        Ok(())
    }

    /// For each class of conditions: the variable of the worst severity among the parts as they
    /// are now.
    fn worst_now(&mut self) -> Result<Vec<VarId>, JobError> {
        if !self.worst_now.is_empty() {
            return Ok(self.worst_now.clone());
        }
        let at = self.versions_now();
        let parts: Vec<PartId> = (0..at.len()).map(PartId::new).collect();
        let vars: Vec<VarId> = parts.iter().map(|p| self.versions[p.index()][at[p.index()]]).collect();
        for class in 0..self.classes.len() {
            let worst = self.worst(class, None, &parts, &vars)?;
            self.worst_now.push(worst);
        }
        Ok(self.worst_now.clone())
    }

    /// Goes back before a repair: `worst` gets the touched parts as they were.
    fn before_repair(&mut self, step: usize, worst: &mut [VarId]) -> Result<(), JobError> {
        let before = &self.version_at[step];
        let after = self.version_at.get(step + 1).cloned().unwrap_or_else(|| self.versions_now());
        let parts: Vec<PartId> =
            (0..before.len()).filter(|p| before[*p] != after[*p]).map(PartId::new).collect();
        let vars: Vec<VarId> = parts.iter().map(|p| self.versions[p.index()][before[p.index()]]).collect();
        for (class, worst) in worst.iter_mut().enumerate() {
            *worst = self.worst(class, Some(*worst), &parts, &vars)?;
        }
        Ok(())
    }

    /// The worst severity of a class's conditions among some parts and `start`.
    fn worst(
        &mut self,
        class: usize,
        start: Option<VarId>,
        parts: &[PartId],
        vars: &[VarId],
    ) -> Result<VarId, JobError> {
        let mut parents = Vec::new();
        for (part, var) in parts.iter().zip(vars) {
            let effect = self.effect(class, *part, *var)?;
            if !effect.is_idle() {
                parents.push(effect);
            }
        }
        match start {
            Some(start) if parents.is_empty() => return Ok(start),
            Some(start) => parents.push(NoisyParent::fixed(start, &[0, 1, 2, 3], SEVERITIES.len())),
            None => {}
        }
        let name = self.name(&format!("worst of class {class}"));
        Ok(self.builder.noisy_max(&name, &SEVERITIES, &parents)?)
    }

    /// The maximum of some severities, made once.
    fn maximum(&mut self, of: &[VarId]) -> Result<VarId, JobError> {
        if let [only] = of {
            return Ok(*only);
        }
        if let Some(var) = self.maxima.get(of) {
            return Ok(*var);
        }
        let parents: Vec<NoisyParent> =
            of.iter().map(|v| NoisyParent::fixed(*v, &[0, 1, 2, 3], SEVERITIES.len())).collect();
        let name = self.name("worst of all that act");
        let var = self.builder.noisy_max(&name, &SEVERITIES, &parents)?;
        self.maxima.insert(of.to_vec(), var);
        Ok(var)
    }

    /// A leaf for the outcome of an attempt, given the worst severity of every class.
    fn outcome(&mut self, bypasses: &[BypassId], worst: &[VarId], name: &str) -> Result<VarId, JobError> {
        let model = &self.job.machine.model;
        let lifted = |class: usize| self.classes[class].lifted_by.iter().any(|b| bypasses.contains(b));
        let (acting, held): (Vec<usize>, Vec<usize>) = (0..worst.len()).partition(|c| !lifted(*c));
        let acting: Vec<VarId> = acting.into_iter().map(|c| worst[c]).collect();
        let mut parents = vec![self.maximum(&acting)?];
        // With several bypasses at once, the first that has a law of its own speaks for all.
        let lift_law = bypasses.iter().find_map(|b| model.bypasses[b.index()].law);
        if lift_law.is_some() {
            let lifted_vars: Vec<VarId> = held.into_iter().map(|c| worst[c]).collect();
            parents.push(self.maximum(&lifted_vars)?);
        }
        let attempt_law = model.attempt_law;
        let mut table = Vec::new();
        for_each_row(&vec![SEVERITIES.len(); parents.len()], |row| {
            let law = match (row, &lift_law) {
                ([0, lifted], Some(law)) => law[*lifted],
                _ => attempt_law[row[0]],
            };
            table.extend(law);
        });
        let name = self.name(name);
        Ok(self.builder.add(name, OUTCOMES, &parents, table)?)
    }

    fn ahead(&mut self) -> Result<Ahead, JobError> {
        let machine = self.job.machine;
        let now = self.versions_now();
        let mut checks = Vec::new();
        for (i, model) in machine.model.checks.iter().enumerate() {
            let check = CheckId::new(i);
            let parents = self.parents_of(&model.observation, &now)?;
            if self.latest.contains_key(&(check, parents.clone())) {
                continue;
            }
            let rows = self.result_rows(&model.observation);
            let authored = &machine.file().checks[i];
            let name = self.name(&format!("next: {}", authored.id));
            let states = authored.results.iter().map(|r| r.id.as_str());
            checks.push((check, self.builder.add(name, states, &parents, rows.concat())?));
        }
        let worst = self.worst_now()?;
        Ok(Ahead { checks, worst: self.maximum(&worst)? })
    }
}

/// By configuration of the parents: the chance of the reading, scaled to at most 1, and the rest.
/// Only ratios matter, and the scale keeps readings of fine gauges from looking impossible.
fn reading_rows(observation: &Observation, air: f64, span: Span) -> Vec<Vec<f64>> {
    let ObservationKind::Reading(model) = &observation.kind else { return vec![vec![1.0]] };
    let by_row: Vec<f64> = model.laws(air).iter().map(|law| law.mass(span)).collect();
    let largest = by_row.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    model.row_of.iter().map(|r| by_row[*r] / largest).map(|p| vec![p, 1.0 - p]).collect()
}

impl super::Outcome {
    /// Its place among the outcomes.
    pub(crate) fn place(self) -> usize {
        self as usize
    }
}

impl Bench {
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
