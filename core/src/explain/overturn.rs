//! Steps that may put another cause in the lead.

use serde::Serialize;

use crate::advise::{Assessment, Leader, StepKind};
use halfsplit_bayes::support::order::largest_first;

/// A step that can be done now and may put another cause in the lead.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Overturn {
    /// The kind of step.
    pub kind: StepKind,
    /// Its id.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Chance that another cause leads after it.
    pub p: f64,
    /// The results after which another leads, in the order of the outlook.
    pub results: Vec<OverturningResult>,
}

/// A result after which another cause leads.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct OverturningResult {
    /// Id of the result or outcome.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Chance of it.
    pub p: f64,
    /// The cause that leads then.
    pub leader: Leader,
}

/// Every step that can be done now and may put another cause in the lead, the one with the largest chance of
/// that first. Repairs are not included: they remove a cause and give no evidence about others.
pub(super) fn overturns(answer: &Assessment) -> Vec<Overturn> {
    let Some(now) = answer.causes.first() else { return Vec::new() };
    let others = |leader: &&Leader| leader.part != now.part || leader.condition != now.condition;
    let steps = answer.ranking.iter().filter(|step| step.kind != StepKind::Repair);
    let all: Vec<Overturn> = steps
        .filter_map(|step| {
            let results: Vec<OverturningResult> = step
                .results
                .iter()
                .filter_map(|result| {
                    let leader = result.leader.as_ref().filter(others)?;
                    Some(OverturningResult {
                        id: result.id.clone(),
                        name: result.name.clone(),
                        p: result.p,
                        leader: leader.clone(),
                    })
                })
                .collect();
            let p = results.iter().map(|r| r.p).sum();
            let (kind, id, name) = (step.kind, step.id.clone(), step.name.clone());
            (!results.is_empty()).then_some(Overturn { kind, id, name, p, results })
        })
        .collect();
    largest_first(all, |o| o.p)
}
