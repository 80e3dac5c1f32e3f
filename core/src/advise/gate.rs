//! Gates: steps that wait after a finding or while a state of the machine is likely.
//!
//! A finding closes its gate, whoever made it. The gate opens when one of its steps is done afterwards by whoever
//! keeps the job. A later finding of the same check opens it too, if it is known at least as well.

use super::answer::{Obstacle, RequiredStep};
use super::steps::{self, ActionFacts};
use crate::job::{Action, FindingsNetwork, Job, Provenance, Step};
use crate::machine::model::{GateModel, LiftModel, Predicate};
use halfsplit_bayes::VarId;

/// The gates that are closed now, in the order of the description.
pub(super) struct ClosedGates<'m> {
    gates: Vec<&'m GateModel>,
}

impl<'m> ClosedGates<'m> {
    /// The gates that the findings of a job and its present belief close.
    pub(super) fn new(job: &Job<'m>, bench: &FindingsNetwork, marginals: &dyn Fn(VarId) -> Vec<f64>) -> Self {
        let likely = |(predicate, over): &(Predicate, f64)| chance(bench, marginals, predicate) > *over;
        let closed = |gate: &&GateModel| closed_by_finding(job, gate) || gate.likely.iter().any(likely);
        ClosedGates { gates: job.machine.model.gates.iter().filter(closed).collect() }
    }

    /// The obstacle to an action if it waits at a gate.
    pub(super) fn obstacle(&self, job: &Job, action: &Action, facts: &ActionFacts) -> Option<Obstacle> {
        let held = |gate: &&&GateModel| {
            facts.involves.iter().any(|i| gate.holds.contains(i)) && !gate.until.iter().any(|l| is(l, action))
        };
        let gate = self.gates.iter().find(held)?;
        let until = gate.until.iter().map(|lift| required(job, lift)).collect();
        Some(Obstacle::Waits { why: gate.why.clone(), until })
    }

    /// By gate: the actions that open it, the one to do first in front.
    pub(super) fn lifts(&self) -> Vec<Vec<Action>> {
        self.gates.iter().map(|gate| gate.until.iter().map(action).collect()).collect()
    }
}

/// Chance that a predicate on a part or a context holds now.
pub(super) fn chance(
    bench: &FindingsNetwork,
    marginals: &dyn Fn(VarId) -> Vec<f64>,
    predicate: &Predicate,
) -> f64 {
    bench.variables.of_predicate(predicate).map_or(1.0, |var| {
        marginals(var).iter().zip(&predicate.holds).filter(|(_, h)| **h).map(|(p, _)| p).sum()
    })
}

/// Whether a finding has closed a gate and no step has opened it since.
fn closed_by_finding(job: &Job, gate: &GateModel) -> bool {
    let closing = job.steps.iter().rposition(|step| match step {
        Step::Check { check, finding, .. } => {
            gate.after.iter().any(|(c, results)| c == check && among(results, finding.result()))
        }
        _ => false,
    });
    let Some(closing) = closing else { return false };
    let later = &job.steps[closing + 1..];
    let opened = later.iter().any(|step| gate.until.iter().any(|lift| opens(lift, step)));
    !opened && !later.iter().any(|step| replaces(step, &job.steps[closing]))
}

/// Whether a step opens a gate in this way. Hearsay does not.
fn opens(lift: &LiftModel, step: &Step) -> bool {
    match (lift, step) {
        (
            LiftModel::Check(check, results),
            Step::Check { check: made, finding, known: Provenance::Seen, .. },
        ) => check == made && among(results, finding.result()),
        (LiftModel::Repair(repair), Step::Repair { repair: done, told: false }) => repair == done,
        _ => false,
    }
}

/// Whether a step is a finding of the same check that is known at least as well as an earlier one.
fn replaces(step: &Step, earlier: &Step) -> bool {
    match (step, earlier) {
        (Step::Check { check: a, known, .. }, Step::Check { check: b, known: was_known, .. }) => {
            a == b && known.certainty() >= was_known.certainty()
        }
        _ => false,
    }
}

/// Whether a result is among some; an empty list stands for all.
fn among(results: &[usize], result: usize) -> bool {
    results.is_empty() || results.contains(&result)
}

fn action(lift: &LiftModel) -> Action {
    match lift {
        LiftModel::Check(check, _) => Action::Check(*check),
        LiftModel::Repair(repair) => Action::Repair(*repair),
    }
}

fn is(lift: &LiftModel, other: &Action) -> bool {
    action(lift) == *other
}

fn required(job: &Job, lift: &LiftModel) -> RequiredStep {
    let facts = steps::facts(job.machine, &action(lift));
    RequiredStep { kind: facts.kind, id: facts.id.to_owned(), name: facts.name.to_owned() }
}
