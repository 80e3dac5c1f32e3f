//! Whether the findings of a job are consistent with each other.

use serde::Serialize;

use super::cause::Cause;
use crate::job::{Job, JobError, JobNetwork};
use halfsplit_bayes::{DataConflict, Evidence, InferenceError};

/// Pairs with at least this conflict are named: they are twice as rare together as if they were independent.
const NAMED: f64 = std::f64::consts::LN_2;

/// Conflict between findings: the natural logarithm of how many times rarer they are together than if they
/// were independent (Jensen, Chamberlain, Nordahl and Jensen 1991). Above zero, a finding may be wrong, or
/// the cause is not on the list, unless a rare cause explains all findings.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Conflict {
    /// Conflict between all findings in force.
    pub overall: f64,
    /// By finding, in order.
    pub findings: Vec<FindingConflict>,
    /// Pairs that are at least twice as rare together, worst first.
    pub pairs: Vec<PairConflict>,
    /// If there is a conflict: the listed cause that explains it best, if one does. Given this cause, the
    /// findings are consistent.
    pub explained_by: Option<Cause>,
    /// If there is a conflict: the step whose finding, if it is wrong, would resolve the conflict. If there
    /// are several, it is the step that leaves the smallest conflict.
    pub resolved_without: Option<usize>,
}

/// Conflict between one finding and the others.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct FindingConflict {
    /// Place of the step in the job, from 0.
    pub step: usize,
    /// Conflict between this finding and all others together.
    pub with_rest: f64,
    /// Conflict between the others.
    pub without: f64,
}

/// Two findings that rarely occur together.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct PairConflict {
    /// Places of both steps in the job, from 0, the earlier first.
    pub steps: [usize; 2],
    /// Conflict between the two.
    pub conflict: f64,
}

/// Conflict between the findings of a job. Repairs count as done; only findings and outcomes of attempts are
/// compared.
///
/// # Errors
/// [`JobError::Impossible`].
pub(super) fn conflict(job: &Job) -> Result<Conflict, JobError> {
    let draft = JobNetwork::new(job)?;
    let tree = draft.compile(job, &Evidence::new())?;
    let found = match tree.data_conflict(&draft.evidence) {
        // The error of compiling with the findings built in names them as people do.
        Err(error @ InferenceError::Impossible { .. }) => {
            draft.compile(job, &draft.evidence)?;
            return Err(error.into());
        }
        found => found?,
    };
    let DataConflict { findings, overall, without, pairs } = found;
    let steps: Vec<usize> = findings.iter().filter_map(|leaf| draft.step_of(*leaf)).collect();
    let mut of_findings: Vec<FindingConflict> = steps
        .iter()
        .zip(&without)
        .map(|(step, without)| FindingConflict {
            step: *step,
            with_rest: overall - without,
            without: *without,
        })
        .collect();
    of_findings.sort_by_key(|f| f.step);
    let mut named: Vec<PairConflict> = pairs
        .into_iter()
        .filter(|(.., conflict)| *conflict > NAMED)
        .map(|(i, j, conflict)| {
            let (a, b) = (steps[i], steps[j]);
            PairConflict { steps: [a.min(b), a.max(b)], conflict }
        })
        .collect();
    named.sort_by(|a, b| b.conflict.total_cmp(&a.conflict).then(a.steps.cmp(&b.steps)));
    let conflicting = overall > 0.0;
    let resolving = of_findings.iter().filter(|f| conflicting && f.without <= 0.0);
    Ok(Conflict {
        overall,
        resolved_without: resolving.min_by(|a, b| a.without.total_cmp(&b.without)).map(|f| f.step),
        findings: of_findings,
        pairs: named,
        explained_by: if conflicting { explained_by(job, &draft, overall)? } else { None },
    })
}

/// The cause given which the findings are most consistent, if it removes the conflict. A cause `h` reduces
/// the conflict by `ln(P(h | e) / P(h))`. A condition that stands for "something not listed" explains
/// nothing.
fn explained_by(job: &Job, draft: &JobNetwork, overall: f64) -> Result<Option<Cause>, JobError> {
    let now = !job.is_running();
    let chances = |given: &Evidence| -> Result<Vec<f64>, JobError> {
        let tree = draft.compile(job, given)?;
        let mut work = tree.workspace();
        tree.propagate(&mut work, &Evidence::new());
        let chance = |id| {
            let part = job.machine.part_of(id);
            let var = if now { draft.variables.now(part) } else { draft.variables.at_arrival(part) };
            job.condition_odds(id, &tree.marginal(&work, var)).0
        };
        Ok(job.machine.condition_ids().map(chance).collect())
    };
    let (before, after) = (chances(&Evidence::new())?, chances(&draft.evidence)?);
    let gain = |at: usize| if before[at] > 0.0 { (after[at] / before[at]).ln() } else { f64::NEG_INFINITY };
    let listed = job.machine.condition_ids().filter(|id| !job.machine.condition(*id).0.left_over);
    let best = listed.max_by(|a, b| gain(a.index()).total_cmp(&gain(b.index())));
    Ok(best.filter(|id| gain(id.index()) >= overall).map(|id| Cause::of(job, id, after[id.index()])))
}
