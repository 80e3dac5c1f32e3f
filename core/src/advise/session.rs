//! Sessions: advice on one job that improves with further lookahead.

use std::borrow::Borrow;
use std::sync::Arc;

use super::answer::{Assessment, JobStatus, Leader, LookaheadProgress};
use super::candidate::Candidate;
use super::context::RankingContext;
use super::gate::ClosedGates;
use super::lookahead::Lookahead;
use super::precedence::Precedence;
use super::prediction::Predictions;
use super::sets::SetPosterior;
use super::{conclusion, left_out, meaning, obstacle, rank, render, steps, verdict};
use crate::job::{Action, FindingsNetwork, Job, JobError, JobFile, LookaheadNetwork};
use crate::machine::{BypassId, Machine, RepairId};
use halfsplit_bayes::VarId;
use halfsplit_bayes::Workspace;
use halfsplit_bayes::support::order::largest_first;
use halfsplit_bayes::support::parallel;

/// Advice on one job: an [`assessment`](AdviceSession::assessment) at any time, which gets better with every
/// [`step`](AdviceSession::step) of some milliseconds.
///
/// The session holds the machine through `M`: an [`Arc`], an [`Rc`](std::rc::Rc) or a reference.
///
/// ```
/// use halfsplit::advise::AdviceSession;
/// use halfsplit::job::JobFile;
/// use halfsplit::machine::Machine;
///
/// let machine = Machine::shipped("mower-recoil")?;
/// let job = JobFile::from_json(r#"{"machine": "mower-recoil", "steps": [{"do": "attempt", "outcome": "nothing"}]}"#)?;
/// let mut session = AdviceSession::new(&machine, &job)?;
/// let first = session.assessment().expected_cost;
/// while session.step() {}
/// assert!(session.assessment().expected_cost <= first);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug)]
pub struct AdviceSession<M = Arc<Machine>> {
    machine: M,
    assessment: Assessment,
    /// None once the engine runs.
    work: Option<Work>,
    /// The job whose figures are incomplete: they are completed before the lookahead begins.
    incomplete: Option<JobFile>,
}

/// Number of observations that have their figures in the first answer of a session.
const READ_FIRST: usize = 2;

/// The figures of observations that a session states: chances of results, the causes after them, and information.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Figures {
    /// Exact ones for the steps that are read first. The first step of the session completes them.
    Advised,
    /// Exact ones for the first places of the ranking, none for others.
    Leading,
    /// Exact ones for every observation.
    All,
    /// Those of the evaluated sets of causes, which are not exact. They are enough to decide by, and not to be shown.
    Sampled,
}

/// The state of the ranking.
#[derive(Debug)]
struct Work {
    context: RankingContext,
    candidates: Vec<Candidate>,
    precedence: Precedence,
    lookahead: Lookahead,
    /// The exact figures; none in a session that only decides.
    predictions: Option<Predictions>,
}

impl<M: Borrow<Machine>> AdviceSession<M> {
    /// Begins a session with the first assessment of a job.
    ///
    /// # Errors
    /// Anything wrong with the job, and the errors of [`Job::assess`].
    pub fn new(machine: M, job: &JobFile) -> Result<Self, JobError> {
        let checked = Job::new(machine.borrow(), job)?;
        let (assessment, work) = left_out::answered(&checked, 0, |job| begin(job, Figures::Advised))?;
        let incomplete = work.is_some().then(|| job.clone());
        let mut session = AdviceSession { machine, assessment, work, incomplete };
        session.rank();
        Ok(session)
    }

    /// Continues the lookahead for some milliseconds, the first time after completing the figures of the leading steps.
    /// Returns whether it is unfinished.
    pub fn step(&mut self) -> bool {
        if let Some(job) = self.incomplete.take() {
            self.complete(&job);
        }
        self.look_ahead(parallel::pieces())
    }

    /// Computes the exact figures of all leading steps.
    fn complete(&mut self, job: &JobFile) {
        let Some(Work { context, candidates, precedence, lookahead, predictions: Some(predictions) }) =
            &mut self.work
        else {
            return;
        };
        let Ok(mut job) = Job::new(self.machine.borrow(), job) else { return };
        self.assessment.left_out.iter().for_each(|step| job.leave_out(*step));
        let leading = render::leading(job.machine, context, candidates, precedence, lookahead.leading());
        // Findings that were possible for the first figures are possible for these.
        let _ = predictions.replace_observations(&job, context, &leading);
    }

    /// The best assessment so far: that of the last finished round of lookahead.
    #[must_use]
    pub fn assessment(&self) -> &Assessment {
        &self.assessment
    }

    /// The assessment as it is now.
    pub(crate) fn into_assessment(self) -> Assessment {
        self.assessment
    }

    /// The assessment after all rounds of lookahead.
    pub(crate) fn finish(mut self) -> Assessment {
        while self.look_ahead(usize::MAX) {}
        self.assessment
    }

    /// Refines at most some more candidates. Returns whether the lookahead is unfinished.
    fn look_ahead(&mut self, most: usize) -> bool {
        let Some(Work { context, candidates, lookahead, .. }) = &mut self.work else { return false };
        lookahead.step(context, candidates, most);
        let before = std::mem::replace(&mut self.assessment.lookahead, lookahead.progress());
        if self.assessment.lookahead.rounds > before.rounds {
            self.rank();
        }
        let LookaheadProgress { done, of, .. } = self.assessment.lookahead;
        done < of
    }

    /// Enters the present ranking into the assessment.
    fn rank(&mut self) {
        let Some(Work { context, candidates, precedence, predictions, .. }) = &self.work else { return };
        let machine = self.machine.borrow();
        let leader = self.assessment.causes.first().map(|c| Leader {
            part: c.part.clone(),
            condition: c.condition.clone(),
            name: c.name.clone(),
            p_cause: c.p_cause,
        });
        let exact = predictions.as_ref();
        let ranked = render::ranking(machine, context, candidates, precedence, exact, leader);
        let assessment = &mut self.assessment;
        assessment.conclusions = match ranked.enough {
            true => conclusion::conclusions(machine, &assessment.causes, &ranked.steps),
            false => Vec::new(),
        };
        assessment.next = ranked.steps.first().cloned();
        assessment.expected_cost = ranked.steps.first().map_or(0.0, |s| s.expected_cost);
        assessment.estimate = ranked.estimate;
        assessment.plan_cost = ranked.plan_cost;
        assessment.perfect_information_cost = ranked.perfect_information_cost;
        assessment.ranking = ranked.steps;
        assessment.set_aside = ranked.set_aside;
    }
}

impl<'m> AdviceSession<&'m Machine> {
    /// Begins a session on a checked job with at least some outcomes left out: those that are left out of the job
    /// that this one continues.
    ///
    /// # Errors
    /// The errors of [`Job::assess`].
    pub(crate) fn on(job: &Job<'m>, at_least: usize, figures: Figures) -> Result<Self, JobError> {
        let (assessment, work) = left_out::answered(job, at_least, |job| begin(job, figures))?;
        let mut session = AdviceSession { machine: job.machine, assessment, work, incomplete: None };
        session.rank();
        Ok(session)
    }
}

/// The assessment of a job without its ranking, and the work that the ranking is computed from.
///
/// # Errors
/// The errors of [`Job::assess`], and a rule where the job is too large.
fn begin(job: &Job, figures: Figures) -> Result<(Assessment, Option<Work>), JobError> {
    let before = |bench: &FindingsNetwork, work: &Workspace| {
        let before = job.steps.len() - 1;
        job.chances(|part| bench.tree.marginal(work, bench.variables.at_step(part, before)))
    };
    // Findings that exclude each other are reported before a job that is too large.
    let ((bench, work, earlier), given) =
        parallel::both(|| FindingsNetwork::with_earlier_belief(job, before), || LookaheadNetwork::all(job))?;
    let marginals = |var: VarId| bench.tree.marginal(&work, var);
    let log_p = bench.tree.log_p_evidence(&work);
    let sets = SetPosterior::new(job, &given, &job.chances_to_act(&bench, &marginals), log_p)?;
    let status = if job.is_running() { JobStatus::Running } else { JobStatus::Open };
    let causes = largest_first(job.causes(&bench, &marginals, earlier.as_deref()), |c| match status {
        JobStatus::Open => c.p_cause,
        JobStatus::Running => c.p_was_cause,
    });
    let mut assessment = Assessment {
        machine: job.machine.id().to_owned(),
        status,
        p_no_cause: sets.p_none,
        next: None,
        expected_cost: 0.0,
        perfect_information_cost: 0.0,
        plan_cost: 0.0,
        abnormal: verdict::abnormal_findings(job, &bench, &marginals),
        readings: meaning::readings(job, &bench, &marginals),
        spent: steps::spent(job),
        left_out: job.left_out(),
        outweighed: bench.outweighed.clone(),
        log_p_evidence: log_p,
        unenumerated_mass: sets.unenumerated_mass,
        estimate: None,
        conclusions: Vec::new(),
        causes,
        ranking: Vec::new(),
        set_aside: Vec::new(),
        not_now: Vec::new(),
        lookahead: LookaheadProgress { done: 0, of: 0, rounds: 0 },
    };
    if status == JobStatus::Running {
        return Ok((assessment, None));
    }
    let mut offered = Vec::new();
    let gates = ClosedGates::new(job, &bench, &marginals);
    for action in all_actions(job, &sets) {
        match obstacle::obstacle(job, &bench, &marginals, &gates, &action) {
            Some(not_now) => assessment.not_now.push(not_now),
            None => offered.push(action),
        }
    }
    let precedence = Precedence::new(job, &assessment.causes, &assessment.abnormal);
    let context = RankingContext::new(job, sets, offered, gates.lifts());
    let candidates = rank::candidates(job, &context);
    let lookahead = Lookahead::new(&candidates);
    assessment.lookahead = lookahead.progress();
    let leading = || render::leading(job.machine, &context, &candidates, &precedence, lookahead.leading());
    let predicted = match figures {
        Figures::Advised if !lookahead.is_done() => Some(leading().into_iter().take(READ_FIRST).collect()),
        Figures::Advised | Figures::Leading => Some(leading()),
        Figures::All => Some(context.actions.clone()),
        Figures::Sampled => None,
    };
    let parts = job.machine.model.parts.keys();
    let now: Vec<Vec<f64>> = parts.map(|part| marginals(bench.variables.now(part))).collect();
    let predictions =
        predicted.map(|some| Predictions::new(job, &bench, log_p, &now, &context, &some)).transpose()?;
    Ok((assessment, Some(Work { context, candidates, precedence, lookahead, predictions })))
}

/// Every possible next action of the job: checks, start attempts, repairs.
fn all_actions(job: &Job, sets: &SetPosterior) -> Vec<Action> {
    let file = job.machine.file();
    let checks = sets.checks.iter().map(|(check, _)| Action::Check(*check));
    let bypasses = (0..file.bypasses.len()).map(|b| Action::Attempt(vec![BypassId::new(b)]));
    let repairs = (0..file.repairs.len()).map(|r| Action::Repair(RepairId::new(r)));
    checks.chain([Action::PLAIN_ATTEMPT]).chain(bypasses).chain(repairs).collect()
}
