//! Obstacles to a step: a missing tool, a thing that is not fitted, findings that must come first,
//! a state of the machine that makes it unwise.

use super::answer::{NotNow, Obstacle, RequiredFinding, StepKind};
use super::gate::{self, ClosedGates};
use super::steps::{self, ActionFacts};
use crate::job::{Action, FindingsNetwork, Job, Step};
use crate::machine::model::Predicate;
use halfsplit_bayes::VarId;

/// A check of a part is offered if the part is fitted with at least this probability.
const FITTED: f64 = 0.02;

/// The obstacle to an action; none if it can be done now.
pub(super) fn obstacle(
    job: &Job,
    bench: &FindingsNetwork,
    marginals: &dyn Fn(VarId) -> Vec<f64>,
    gates: &ClosedGates,
    action: &Action,
) -> Option<NotNow> {
    let facts = steps::facts(job.machine, action);
    let chance = |predicate: &Predicate| gate::chance(bench, marginals, predicate);
    let needs = facts.needs;
    let obstacle = if let Some(missing) = needs.tools.iter().find(|t| !job.has(**t)) {
        let tool = job.machine.tool(*missing);
        Obstacle::Tool { id: tool.id.clone(), name: tool.name.clone() }
    } else if needs.fits.iter().any(|predicate| chance(predicate) < FITTED) {
        Obstacle::NotFitted
    } else if facts.kind == StepKind::Bypass && !job.was_tried() {
        Obstacle::TryFirst
    } else if let Some(any_of) = missing_findings(job, &facts) {
        Obstacle::ComesAfter { any_of }
    } else if let Some(waits) = gates.obstacle(job, action, &facts) {
        waits
    } else {
        let held = needs.hold_off.iter().find(|h| chance(&h.predicate) > h.over)?;
        Obstacle::HeldOff { why: held.why.clone() }
    };
    Some(NotNow { kind: facts.kind, id: facts.id.to_owned(), name: facts.name.to_owned(), obstacle })
}

/// The findings of which one must come first; none if the action needs none or one has been made.
fn missing_findings(job: &Job, facts: &ActionFacts) -> Option<Vec<RequiredFinding>> {
    let wanted = &facts.needs.after;
    let found = wanted.iter().any(|(check, results)| {
        job.steps.iter().any(|s| match s {
            Step::Check { check: done, finding, .. } => {
                done == check && (results.is_empty() || results.contains(&finding.result()))
            }
            _ => false,
        })
    });
    if wanted.is_empty() || found {
        return None;
    }
    let required = wanted.iter().map(|(check, results)| {
        let check = job.machine.check(*check);
        RequiredFinding {
            check: check.id.clone(),
            name: check.name.clone(),
            results: results.iter().map(|r| check.results[*r].name.clone()).collect(),
        }
    });
    Some(required.collect())
}
