//! Leaves of a job's network: findings, outcomes of attempts, and possible next observations.

use super::builder::{FindingLeaf, JobNetworkBuilder, KnownFinding, NoisyMaxNode};
use super::{Found, JobError, Provenance, Step};
use crate::machine::CheckId;
use crate::machine::model::{ObservationKind, ObservationModel, Source};
use crate::reading::Span;
use halfsplit_bayes::VarId;

impl JobNetworkBuilder<'_, '_> {
    fn parents_of(&mut self, observation: &ObservationModel, time: usize) -> Result<Vec<VarId>, JobError> {
        observation
            .parents
            .iter()
            .map(|source| match source {
                Source::Context(b) => Ok(self.variables.context(*b)),
                Source::Part(p) => Ok(self.variables.at_step(*p, time)),
                Source::Function(f) => self.pool(NoisyMaxNode::Function(*f), time),
            })
            .collect()
    }

    /// Adds a leaf for every finding of a check and for every outcome of an attempt.
    pub(super) fn findings(&mut self) -> Result<(), JobError> {
        let job = self.job;
        for (step, done) in job.steps.iter().enumerate() {
            match done {
                Step::Repair { .. } | Step::Attempt { left_out: true, .. } => {}
                Step::Check { check, finding, known, trust, .. } => {
                    self.finding(step, (*check, *finding), *known, *trust)?;
                }
                Step::Attempt { bypasses, outcome, .. } => {
                    let leaf = self.outcome(bypasses, step)?;
                    let state = *outcome as usize;
                    self.observed.push(FindingLeaf { leaf, state, step, replaces: None });
                }
            }
        }
        Ok(())
    }

    /// Adds the leaf of a finding, unless the same is known better. If nothing has changed since an earlier finding of
    /// the check, the new one replaces it.
    fn finding(
        &mut self,
        step: usize,
        (check, finding): (CheckId, Found),
        known: Provenance,
        trust: f64,
    ) -> Result<(), JobError> {
        if self.is_known_better(check, known, step) {
            self.outweighed.push(step);
            return Ok(());
        }
        let parts_after = self.parts_seen(check, step + 1);
        self.known.push(KnownFinding { check, known, parts_after });
        let machine = self.job.machine;
        let observation = &machine.model.checks[check].observation;
        let parents = self.parents_of(observation, step)?;
        let (rows, state) = match finding {
            Found::Result(r) => (observation.rows(self.job.air), r),
            Found::Reading(span, _) => (reading_rows(observation, self.job.air, span), 0),
        };
        let states: Vec<String> = (0..rows[0].len()).map(|s| s.to_string()).collect();
        let table = mixed_with_uniform(&rows, trust);
        let name = self.name(&format!("step {}: {}", step + 1, machine.check(check).id));
        let leaf = self.builder.add(name, states, &parents, table)?;
        let mut observed = FindingLeaf { leaf, state, step, replaces: None };
        match self.latest.get(&(check, parents.clone())) {
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

    /// Whether an earlier finding of a check is known better, and nothing has changed what the check looks at since the
    /// step of that finding.
    fn is_known_better(&self, check: CheckId, known: Provenance, step: usize) -> bool {
        let mut better = self
            .known
            .iter()
            .filter(|k| k.check == check && k.known.certainty() > known.certainty())
            .peekable();
        better.peek().is_some() && {
            let now = self.parts_seen(check, step);
            better.any(|k| k.parts_after == now)
        }
    }

    /// The parts that a check looks at, directly or through functions, before a step.
    fn parts_seen(&self, check: CheckId, step: usize) -> Vec<VarId> {
        let model = &self.job.machine.model;
        let mut parts = Vec::new();
        for source in &model.checks[check].observation.parents {
            match source {
                Source::Context(_) => {}
                Source::Part(part) => parts.push(*part),
                Source::Function(f) => {
                    parts.extend(model.functions[*f].spoilers.iter().map(|(part, _)| *part))
                }
            }
        }
        parts.into_iter().map(|part| self.variables.at_step(part, step)).collect()
    }

    /// Adds a leaf for every wanted check that has not been made on the machine in its present state. Its result is
    /// trusted as far as it would be once it is recorded.
    pub(super) fn next_checks(&mut self, wanted: &[CheckId]) -> Result<Vec<(CheckId, VarId)>, JobError> {
        let machine = self.job.machine;
        let mut leaves = Vec::new();
        for check in wanted.iter().copied() {
            let observation = &machine.model.checks[check].observation;
            let parents = self.parents_of(observation, self.variables.end())?;
            if self.latest.contains_key(&(check, parents.clone())) {
                continue;
            }
            let authored = machine.check(check);
            let trust = self.job.trust(check, self.job.usual(check));
            let table = mixed_with_uniform(&observation.rows(self.job.air), trust);
            let name = self.name(&format!("next: {}", authored.id));
            let states = authored.results.iter().map(|r| r.id.as_str());
            leaves.push((check, self.builder.add(name, states, &parents, table)?));
        }
        Ok(leaves)
    }

    /// The worst severity that acts now.
    pub(super) fn worst_now(&mut self) -> Result<VarId, JobError> {
        let all: Vec<usize> = (0..self.classes.len()).collect();
        self.worst(&all, self.variables.end())
    }
}

/// The table of a finding that is not fully trusted: the check's table mixed with a uniform one (Pearl 1988).
fn mixed_with_uniform(rows: &[Vec<f64>], trust: f64) -> Vec<f64> {
    let even = rows.first().map_or(0.0, |row| 1.0 / row.len() as f64);
    rows.iter().flatten().map(|p| trust * p + (1.0 - trust) * even).collect()
}

/// By configuration of the parents: the likelihood of the reading, relative to the largest, and its complement.
/// Only ratios matter. The scale keeps readings of fine gauges from looking impossible.
fn reading_rows(observation: &ObservationModel, air: f64, span: Span) -> Vec<Vec<f64>> {
    let ObservationKind::Reading(model) = &observation.kind else { return vec![vec![1.0]] };
    let by_row = model.likelihoods(air, span);
    model.row_of.iter().map(|r| by_row[*r]).map(|p| vec![p, 1.0 - p]).collect()
}
