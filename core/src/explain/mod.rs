//! Explanations: what an answer depends on.
//!
//! They give the weight of every finding (`weights.rs`), the conflict between findings (`conflict.rs`), the
//! steps that may put another cause in the lead (`overturn.rs`), and how far the most likely cause and the
//! advice depend on every single number (`sensitivity.rs`, `robustness.rs`). They are computed on request and
//! are no part of the ranking.

mod cause;
mod conflict;
mod overturn;
mod parameter;
mod parameter_name;
mod robustness;
mod sensitivity;
mod weights;

pub use cause::Cause;
pub use conflict::{Conflict, FindingConflict, PairConflict};
pub use overturn::{Overturn, OverturningResult};
pub use parameter_name::{ParameterKind, ParameterName};
pub use robustness::{ParameterTrial, Robustness};
pub use sensitivity::SensitivityRange;
pub use weights::CauseWeights;

use std::borrow::Borrow;
use std::sync::Arc;

use serde::Serialize;

use crate::advise::{Abnormal, JobStatus, StepKind, VerdictKind};
use crate::job::{Job, JobError, JobFile};
use crate::machine::{ConditionId, Machine};
use robustness::Survey;
use sensitivity::Sensitivity;

/// The explanation of the odds of a job.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Reasons {
    /// By step: the action and its result, for people.
    pub steps: Vec<String>,
    /// The most likely cause; none where no cause has a chance.
    pub leader: Option<Cause>,
    /// The weight of every step on every cause, most likely cause first.
    pub causes: Vec<CauseWeights>,
    /// Conflict between the findings.
    pub conflict: Conflict,
    /// Abnormal findings for which no condition that they speak for is the reason.
    pub not_the_reason: Vec<Abnormal>,
    /// Steps after which another cause may lead; empty once the engine runs.
    pub overturns: Vec<Overturn>,
    /// The most important points, in the order in which to say them.
    pub summary: Vec<SummaryItem>,
}

/// A sentence of the summary, in a form that a program can put into any language.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub enum SummaryItem {
    /// The most likely cause.
    Leads {
        /// Name of the cause.
        name: String,
        /// Its chance.
        p: f64,
    },
    /// The step without which the leader would lose most.
    MostFor {
        /// Place of the step in the job, from 0.
        step: usize,
        /// Its weight, in decibans.
        weight: f64,
    },
    /// The step without which the leader would gain most.
    MostAgainst {
        /// Place of the step in the job, from 0.
        step: usize,
        /// Its weight, in decibans, below 0.
        weight: f64,
    },
    /// The findings conflict, and no listed cause explains it: a finding may be wrong, or the cause is not on
    /// the list.
    Conflicting {
        /// The step whose finding resolves the conflict if it is wrong; none if there is no such step.
        wrong: Option<usize>,
    },
    /// The findings rarely occur together, but a listed cause explains it.
    Unusual {
        /// Name of the cause.
        name: String,
    },
    /// The step most likely to put another cause in the lead.
    Overturn {
        /// The kind of step.
        step: StepKind,
        /// Name of the step.
        name: String,
        /// Chance that another cause leads after it.
        p: f64,
    },
}

/// Minimum weight of a sentence of the summary, in decibans: a factor of two on the odds.
const TOLD: f64 = 3.0;

/// Returns the explanation of the odds of a job.
///
/// # Errors
/// [`JobError::Impossible`].
pub fn reasons(job: &Job) -> Result<Reasons, JobError> {
    let answer = job.assess_in_full()?;
    let chance = |w: &CauseWeights| w.p.last().copied().unwrap_or(0.0);
    let causes = halfsplit_bayes::support::order::largest_first(weights::weights(job)?, chance);
    let leader = causes.first().filter(|w| chance(w) > 0.0).map(|w| Cause {
        part: w.part.clone(),
        condition: w.condition.clone(),
        name: w.name.clone(),
        p: chance(w),
    });
    let conflict = conflict::conflict(job)?;
    let reason = |a: &&Abnormal| a.speaks_for.iter().any(|v| v.kind == VerdictKind::ThereNotTheReason);
    let open = |a: &&Abnormal| {
        a.speaks_for.iter().all(|v| !matches!(v.kind, VerdictKind::TheReason | VerdictKind::ThereUndecided))
    };
    let not_the_reason = answer.abnormal.iter().filter(reason).filter(open).cloned().collect();
    let overturns = match answer.status {
        JobStatus::Open => overturn::overturns(&answer),
        JobStatus::Running => Vec::new(),
    };
    let summary = summary(leader.as_ref(), &causes, &conflict, &overturns);
    let steps = (0..job.steps.len()).map(|step| job.describe(step)).collect();
    Ok(Reasons { steps, leader, causes, conflict, not_the_reason, overturns, summary })
}

fn summary(
    leader: Option<&Cause>,
    causes: &[CauseWeights],
    conflict: &Conflict,
    overturns: &[Overturn],
) -> Vec<SummaryItem> {
    let mut all = Vec::new();
    if let (Some(leader), Some(first)) = (leader, causes.first()) {
        all.push(SummaryItem::Leads { name: leader.name.clone(), p: leader.p });
        let weighed = || first.left_out.iter().enumerate().filter_map(|(step, w)| Some((step, (*w)?)));
        let most = weighed().max_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, w)| *w >= TOLD);
        let least = weighed().min_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, w)| *w <= -TOLD);
        all.extend(most.map(|(step, weight)| SummaryItem::MostFor { step, weight }));
        all.extend(least.map(|(step, weight)| SummaryItem::MostAgainst { step, weight }));
    }
    if conflict.overall > 0.0 {
        all.push(match &conflict.explained_by {
            Some(cause) => SummaryItem::Unusual { name: cause.name.clone() },
            None => SummaryItem::Conflicting { wrong: conflict.resolved_without },
        });
    }
    all.extend(overturns.first().map(|o| SummaryItem::Overturn {
        step: o.kind,
        name: o.name.clone(),
        p: o.p,
    }));
    all
}

/// Dependence of the most likely cause and the advice on the numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct SensitivityReport {
    /// The cause that the report is about: the most likely one; none where no cause has a chance.
    pub cause: Option<Cause>,
    /// Every number that changes the chance of the cause, largest change first; empty where the findings
    /// prove the cause.
    pub ranges: Vec<SensitivityRange>,
    /// Whether the most likely cause and the advice stay the same when priors are halved or doubled.
    pub robustness: Robustness,
    /// How much of the work is done, in [0, 1].
    pub progress: f64,
}

/// The computation of a [`SensitivityReport`], step by step. A step takes about as long as a ranking.
///
/// The analysis holds the machine through `M`: an [`Arc`], an [`Rc`](std::rc::Rc) or a reference.
pub struct SensitivityAnalysis<M = Arc<Machine>> {
    machine: M,
    job: JobFile,
    work: Analysis,
}

impl<M: Borrow<Machine>> SensitivityAnalysis<M> {
    /// Begins an analysis of a job.
    ///
    /// # Errors
    /// Anything wrong with the job, and findings that exclude each other.
    pub fn new(machine: M, job: JobFile) -> Result<Self, JobError> {
        let work = Analysis::new(&Job::new(machine.borrow(), &job)?)?;
        Ok(SensitivityAnalysis { machine, job, work })
    }

    /// Does one more step. Returns whether there is more to do.
    ///
    /// # Errors
    /// None for a job that began well.
    pub fn step(&mut self) -> Result<bool, JobError> {
        self.work.step(&Job::new(self.machine.borrow(), &self.job)?)
    }

    /// The report on the work done so far.
    #[must_use]
    pub fn report(&self) -> SensitivityReport {
        self.work.report()
    }
}

/// The state of an analysis. The job comes with every call.
struct Analysis {
    /// None where no cause has a chance.
    of_leader: Option<OfLeader>,
    done: bool,
}

/// The analysis of the most likely cause.
struct OfLeader {
    cause: Cause,
    id: ConditionId,
    sensitivity: Sensitivity,
    survey: Option<Survey>,
}

/// Shares of the work: the sensitivity to every number, and the advice with changed numbers.
const SHARES: [f64; 2] = [0.2, 0.8];

impl Analysis {
    fn new(job: &Job) -> Result<Self, JobError> {
        let Some((id, p)) = robustness::leader(job)? else {
            return Ok(Analysis { of_leader: None, done: true });
        };
        let sensitivity = Sensitivity::new(job, id, p)?;
        let cause = Cause::of(job, id, p);
        Ok(Analysis { of_leader: Some(OfLeader { cause, id, sensitivity, survey: None }), done: false })
    }

    /// Returns whether there is more to do.
    fn step(&mut self, job: &Job) -> Result<bool, JobError> {
        if let Some(of) = self.of_leader.as_mut().filter(|_| !self.done) {
            match &mut of.survey {
                None if of.sensitivity.go_on(job)? => {
                    of.survey = Some(Survey::new(job, of.id, of.sensitivity.top_priors())?);
                }
                None => {}
                Some(survey) => self.done = survey.go_on(job)?,
            }
        }
        Ok(!self.done)
    }

    fn report(&self) -> SensitivityReport {
        let of = self.of_leader.as_ref();
        let survey = of.and_then(|of| of.survey.as_ref());
        let shares = of.map_or(0.0, |of| {
            SHARES[0] * of.sensitivity.progress() + SHARES[1] * survey.map_or(0.0, Survey::progress)
        });
        SensitivityReport {
            cause: of.map(|of| of.cause.clone()),
            ranges: of.map_or_else(Vec::new, |of| of.sensitivity.ranges()),
            robustness: survey.map(Survey::stands).unwrap_or_default(),
            // Shares sum to 1 up to rounding.
            progress: if self.done { 1.0 } else { shares },
        }
    }
}

/// The complete sensitivity report of a job.
///
/// # Errors
/// [`JobError::Impossible`].
pub fn sensitivity(job: &Job) -> Result<SensitivityReport, JobError> {
    let mut analysis = Analysis::new(job)?;
    while analysis.step(job)? {}
    Ok(analysis.report())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::JobFile;
    use crate::lesson::mower;
    use crate::precision::EXACT;

    fn demo(steps: usize) -> Job<'static> {
        Job::new(mower(), &JobFile::demo().expect("the demo job is valid")).expect("valid").first(steps)
    }

    #[test]
    fn the_odds_are_those_of_the_board() {
        for steps in [0, 4, 9, 10] {
            let job = demo(steps);
            let (answer, why) = (job.assess().expect("possible"), reasons(&job).expect("possible"));
            assert_eq!(why.steps.len(), job.steps.len());
            for cause in &why.causes {
                let on_board =
                    answer.causes.iter().find(|c| c.part == cause.part && c.condition == cause.condition);
                let on_board = on_board.expect("on the board");
                let p = if job.is_running() { on_board.p_was_cause } else { on_board.p_cause };
                assert!((p - cause.p[steps.min(job.steps.len())]).abs() < EXACT, "{}", cause.name);
            }
        }
    }

    #[test]
    fn what_would_overturn_the_leader_does() {
        let job = demo(4);
        let why = reasons(&job).expect("possible");
        let leader = why.leader.expect("a leader");
        assert!(!why.overturns.is_empty());
        for step in &why.overturns {
            assert!(step.p > 0.0 && step.p < 1.0 + EXACT);
            assert!((step.results.iter().map(|r| r.p).sum::<f64>() - step.p).abs() < EXACT);
            for result in &step.results {
                assert!(result.leader.part != leader.part || result.leader.condition != leader.condition);
            }
        }
        assert!(why.overturns.windows(2).all(|w| w[0].p >= w[1].p));
    }

    #[test]
    fn conflict_of_a_job_is_the_product_of_its_single_findings_over_all() {
        let job = demo(4);
        let found = conflict::conflict(&job).expect("possible");
        let draft = crate::job::JobNetwork::new(&job).expect("a network");
        let tree = halfsplit_bayes::JunctionTree::compile(&draft.network).expect("compiles");
        let log_p = |of: &[halfsplit_bayes::VarId]| {
            tree.posterior(&draft.evidence.restricted_to(of)).expect("possible").log_p_evidence()
        };
        let leaves = draft.evidence.variables();
        let singles: f64 = leaves.iter().map(|leaf| log_p(&[*leaf])).sum();
        assert!((found.overall - (singles - log_p(&leaves))).abs() < EXACT);
        assert_eq!(found.findings.len(), leaves.len());
        for finding in &found.findings {
            assert!((finding.with_rest + finding.without - found.overall).abs() < EXACT);
        }
    }

    #[test]
    fn advice_within_its_bounds_is_the_same_and_beyond_them_another() {
        let job = demo(4);
        let analysis = sensitivity(&job).expect("open");
        assert!(analysis.progress >= 1.0);
        assert!(analysis.robustness.overtaken_by.is_some() && !analysis.robustness.moved.is_empty());
        let advised = job.assess().expect("possible").next.expect("a step").name;
        for moved in &analysis.robustness.moved {
            let [low, high] = moved.advice_within;
            assert!(low <= high && low.min(moved.now) == low && high.max(moved.now) == high, "{moved:?}");
            for side in [0, 1] {
                let stays = moved.steps[side].as_deref() == Some(&advised);
                assert_eq!(stays, moved.advice_within[side] == moved.tried[side], "{moved:?}");
            }
        }
    }
}
