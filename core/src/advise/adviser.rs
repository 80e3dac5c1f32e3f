//! Advice as it comes about: a first answer at once, and better ones the further it looks ahead.

use super::ahead::Ahead;
use super::answer::{Assessment, JobStatus, LookaheadProgress};
use super::rank::{Ground, Ranker, Rated};
use super::sets::SetPosterior;
use super::steps;
use super::{conclusion, left_out, verdict};
use crate::job::{Action, FindingsNetwork, Job, JobError, LookaheadNetwork};
use crate::machine::{BypassId, RepairId};
use halfsplit_bayes::VarId;
use halfsplit_bayes::Workspace;
use halfsplit_bayes::support::order::largest_first;
use halfsplit_bayes::support::parallel;

/// Advice on a job that can be looked at at any time, and goes on in pieces of some milliseconds.
///
/// ```
/// use halfsplit::advise::Adviser;
/// use halfsplit::job::{Job, JobFile};
/// use halfsplit::machine::Machine;
///
/// let machine = Machine::shipped("mower-recoil")?;
/// let job = JobFile::from_json(r#"{"machine": "mower-recoil", "steps": [{"do": "attempt", "outcome": "nothing"}]}"#)?;
/// let job = Job::new(&machine, &job)?;
/// let mut adviser = Adviser::new(&job)?;
/// let first = adviser.so_far().expected_cost;
/// while adviser.go_on(&job) {}
/// assert!(adviser.so_far().expected_cost <= first);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug)]
pub struct Adviser {
    /// All but the ranking.
    said: Assessment,
    /// None once the engine runs.
    thinking: Option<Thinking>,
}

#[derive(Debug)]
struct Thinking {
    ground: Ground,
    rated: Vec<Rated>,
    ahead: Ahead,
}

impl Adviser {
    /// The odds, and the first answer.
    ///
    /// # Errors
    /// As with [`Job::assess`].
    pub fn new(job: &Job) -> Result<Self, JobError> {
        Adviser::leaving_out(job, 0)
    }

    /// The same with some outcomes left out at least: those of a job of which this one is the continuation.
    pub(crate) fn leaving_out(job: &Job, at_least: usize) -> Result<Self, JobError> {
        left_out::answered(job, at_least, Adviser::of)
    }

    /// The same with nothing more left out: an error where the job is too large.
    fn of(job: &Job) -> Result<Self, JobError> {
        let before = |bench: &FindingsNetwork, work: &Workspace| {
            let before = job.steps.len() - 1;
            job.chances(|part| bench.tree.marginal(work, bench.variables.at_step(part, before)))
        };
        // Findings that exclude each other are told of before a job that is too large.
        let ((bench, work, earlier), given) = parallel::both(
            || FindingsNetwork::with_earlier_belief(job, before),
            || LookaheadNetwork::all(job),
        )?;
        let bench = &bench;
        let marginals = |var: VarId| bench.tree.marginal(&work, var);
        let log_p = bench.tree.log_p_evidence(&work);
        let sets = SetPosterior::new(job, &given, &job.chances_to_act(bench, &marginals), log_p)?;
        let status = if job.is_running() { JobStatus::Running } else { JobStatus::Open };
        let causes = largest_first(job.causes(bench, &marginals, earlier.as_deref()), |c| match status {
            JobStatus::Open => c.p_cause,
            JobStatus::Running => c.p_was_cause,
        });
        let mut said = Assessment {
            machine: job.machine.id().to_owned(),
            status,
            p_no_cause: sets.p_none,
            next: None,
            expected_cost: 0.0,
            perfect_information_cost: 0.0,
            plan_cost: 0.0,
            abnormal: verdict::abnormal_findings(job, bench, &marginals),
            spent: steps::spent(job),
            left_out: job.left_out(),
            log_p_evidence: log_p,
            unenumerated_mass: sets.unenumerated_mass,
            estimate: None,
            conclusions: Vec::new(),
            causes,
            ranking: Vec::new(),
            not_now: Vec::new(),
            lookahead: LookaheadProgress { done: 0, of: 0, rounds: 0 },
        };
        if status == JobStatus::Running {
            said.conclusions = conclusion::conclusions(job.machine, &said.causes, &[]);
            return Ok(Adviser { said, thinking: None });
        }
        let file = job.machine.file();
        let checks = sets.checks.iter().map(|(check, _)| Action::Check(*check));
        let bypasses = (0..file.bypasses.len()).map(|b| Action::Attempt(vec![BypassId::new(b)]));
        let repairs = (0..file.repairs.len()).map(|r| Action::Repair(RepairId::new(r)));
        let mut offered = Vec::new();
        for action in checks.chain([Action::PLAIN_ATTEMPT]).chain(bypasses).chain(repairs) {
            match steps::obstacle(job, bench, &marginals, &steps::describe(job, &action)) {
                Some(obstacle) => said.not_now.push(obstacle),
                None => offered.push(action),
            }
        }
        let ground = Ground::new(job, job.prices(), sets, offered);
        let rated = Ranker::new(job, &ground).rated();
        let ahead = Ahead::new(&rated);
        said.lookahead = ahead.progress();
        let mut adviser = Adviser { said, thinking: Some(Thinking { ground, rated, ahead }) };
        adviser.rank(job);
        Ok(adviser)
    }

    /// Looks a little further ahead; whether there is more to look at. The job must be the one that it was made
    /// for.
    pub fn go_on(&mut self, job: &Job) -> bool {
        self.look_ahead(job, parallel::pieces())
    }

    /// The best answer so far: that of the last round of looks that is over.
    #[must_use]
    pub fn so_far(&self) -> &Assessment {
        &self.said
    }

    /// The answer so far, and no more.
    pub(crate) fn at_once(self) -> Assessment {
        self.said
    }

    /// The last answer.
    pub(crate) fn at_last(mut self, job: &Job) -> Assessment {
        while self.look_ahead(job, usize::MAX) {}
        self.said
    }

    /// Takes some more looks at most; whether there are more to take.
    fn look_ahead(&mut self, job: &Job, most: usize) -> bool {
        let Some(Thinking { ground, rated, ahead }) = &mut self.thinking else { return false };
        ahead.go_on(Ranker::new(job, ground), rated, most);
        let before = std::mem::replace(&mut self.said.lookahead, ahead.progress());
        if self.said.lookahead.rounds > before.rounds {
            self.rank(job);
        }
        self.said.lookahead.done < self.said.lookahead.of
    }

    /// Says what everything comes to as it is rated now.
    fn rank(&mut self, job: &Job) {
        let Some(Thinking { ground, rated, .. }) = &self.thinking else { return };
        let ranked = Ranker::new(job, ground).rank(rated);
        let said = &mut self.said;
        said.conclusions = conclusion::conclusions(job.machine, &said.causes, &ranked.steps);
        said.next = ranked.steps.first().cloned();
        said.expected_cost = ranked.steps.first().map_or(0.0, |s| s.expected_cost);
        said.estimate = Some(ranked.estimate);
        (said.plan_cost, said.perfect_information_cost) = (ranked.plan_cost, ranked.perfect_information_cost);
        said.ranking = ranked.steps;
    }
}
