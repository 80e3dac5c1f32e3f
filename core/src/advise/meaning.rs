//! What the readings of a job mean, in the sentences of the machine description.

use super::answer::ReadingMeaning;
use crate::job::{FindingsNetwork, Job, Step};
use crate::machine::model::{Alternatives, ObservationKind, Predicate};
use halfsplit_bayes::VarId;

/// What is fitted counts as known from this chance on.
const KNOWN: f64 = 0.9;

/// The latest reading of every gauge, in the order of the steps, and what it means.
pub(super) fn readings(
    job: &Job,
    bench: &FindingsNetwork,
    marginals: &dyn Fn(VarId) -> Vec<f64>,
) -> Vec<ReadingMeaning> {
    let known = |predicate: &Predicate| {
        bench.variables.of_predicate(predicate).is_some_and(|var| {
            let marginal = marginals(var);
            let chance: f64 =
                marginal.iter().zip(&predicate.holds).filter(|(_, h)| **h).map(|(p, _)| p).sum();
            chance >= KNOWN
        })
    };
    let applies = |when: &Alternatives| when.is_empty() || when.iter().any(|all| all.iter().all(known));
    let mut list: Vec<ReadingMeaning> = Vec::new();
    for (step, done) in job.steps.iter().enumerate() {
        let Step::Check { check, finding, given, .. } = done else { continue };
        let model = &job.machine.model.checks[*check];
        if !matches!(model.observation.kind, ObservationKind::Reading(_)) {
            continue;
        }
        let authored = job.machine.check(*check);
        let band = &authored.results[finding.result()];
        let sentence = band.means.iter().zip(&model.means[finding.result()]).find(|(_, when)| applies(when));
        list.retain(|earlier| earlier.check != authored.id);
        list.push(ReadingMeaning {
            step,
            check: authored.id.clone(),
            name: authored.name.clone(),
            reading: given.clone(),
            band: band.name.clone(),
            text: sentence.map_or(String::new(), |(meaning, _)| meaning.text.clone()),
        });
    }
    list
}
