//! Robustness: whether the most likely cause and the advice stay the same when numbers change. The numbers
//! are the priors and every entry that the two best steps depend on.

use serde::Serialize;

use super::parameter::{self, Parameter, odds, with_odds_times};
use super::parameter_name::ParameterName;
use super::weights;
use crate::advise::{StepAdvice, StepKind};
use crate::job::{Job, JobError};
use crate::machine::ConditionId;
use halfsplit_bayes::support::order::descending;
use halfsplit_bayes::support::parallel;

/// Number of rivals with which the most likely cause is compared.
const RIVALS: usize = 4;

/// Error that all priors may have at once: this factor on the odds, either way.
const AT_ONCE: f64 = 3.0;

/// Robustness of the most likely cause and of the advice.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Robustness {
    /// Trials with one number changed. The priors come first, the one that changes the chance of the leading
    /// cause most at the top. The entries of the advised step and of the second step of the ranking follow.
    pub moved: Vec<ParameterTrial>,
    /// Names of the rivals that overtake the leading cause if it is three times less common and the rival
    /// three times more common, all other odds being the same. The most likely rival comes first; none where
    /// not computed yet.
    pub overtaken_by: Option<Vec<String>>,
}

/// The leading cause and the advice with one number changed.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct ParameterTrial {
    /// The number.
    pub parameter: ParameterName,
    /// Its present value.
    pub now: f64,
    /// The values that are tried: odds halved and doubled, or laws of readings moved.
    pub tried: [f64; 2],
    /// By value: name of the leading cause; none where no cause has a chance.
    pub leaders: [Option<String>; 2],
    /// By value: name of the advised step; none once the engine runs.
    pub steps: [Option<String>; 2],
    /// Whether the present leading cause leads with both values.
    pub leader_stays: bool,
    /// Whether the present advice stays with both values.
    pub advice_stays: bool,
    /// The range within which the same step is advised, as far as it was tried.
    pub advice_within: [f64; 2],
}

/// Number of bisections for the value at which the advice changes. They locate it within a sixty-fourth of
/// the range tried.
const HALVINGS: usize = 6;

type Advised = Option<(StepKind, String)>;

fn which(step: Option<&StepAdvice>) -> Advised {
    step.map(|s| (s.kind, s.id.clone()))
}

/// The most likely cause and its chance; none where no cause has a chance.
pub(super) fn leader(job: &Job) -> Result<Option<(ConditionId, f64)>, JobError> {
    let chances = weights::chances(job, !job.is_running())?;
    let place = descending(&chances).first().copied().filter(|at| chances[*at] > 0.0);
    Ok(place.and_then(|at| Some((job.machine.condition_ids().nth(at)?, chances[at]))))
}

/// The computation of the robustness, one number at a time.
pub(super) struct Survey {
    leader: ConditionId,
    advised: Advised,
    parameters: Vec<Parameter>,
    done: usize,
    moved: Vec<ParameterTrial>,
    overtaken_by: Option<Vec<String>>,
}

impl Survey {
    /// Begins the computation for a leading cause. `parameters` are tried first.
    pub(super) fn new(
        job: &Job,
        leader: ConditionId,
        mut parameters: Vec<Parameter>,
    ) -> Result<Self, JobError> {
        let answer = job.assess()?;
        let entries = answer.ranking.iter().take(2).flat_map(|step| parameter::of_step(job, step));
        for parameter in parameter::priors(job).into_iter().chain(entries) {
            if !parameters.contains(&parameter) && parameter.tried(job).is_some() {
                parameters.push(parameter);
            }
        }
        let advised = which(answer.next.as_ref());
        Ok(Survey { leader, advised, parameters, done: 0, moved: Vec::new(), overtaken_by: None })
    }

    pub(super) fn progress(&self) -> f64 {
        let done = self.done + usize::from(self.overtaken_by.is_some());
        done as f64 / (self.parameters.len() + 1) as f64
    }

    pub(super) fn stands(&self) -> Robustness {
        Robustness { moved: self.moved.clone(), overtaken_by: self.overtaken_by.clone() }
    }

    /// Tries one more number, or compares the rivals after the last. Returns whether all is done.
    pub(super) fn go_on(&mut self, job: &Job) -> Result<bool, JobError> {
        if let Some(parameter) = self.parameters.get(self.done) {
            match self.moved(job, *parameter) {
                // The changed law does not fit its range.
                Err(JobError::Machine(_)) => {}
                moved => self.moved.extend(moved?),
            }
            self.done += 1;
            return Ok(false);
        }
        self.overtaken_by = Some(self.overtaken_by(job)?);
        Ok(true)
    }

    fn moved(&self, job: &Job, parameter: Parameter) -> Result<Option<ParameterTrial>, JobError> {
        let Some(tried) = parameter.tried(job) else { return Ok(None) };
        let now = parameter.now(job);
        let ask = |value: f64| {
            parameter.at(job, value, |job| Ok((leader(job)?.map(|(cause, _)| cause), job.assess()?.next)))
        };
        let stays = |next: &Option<StepAdvice>| which(next.as_ref()) == self.advised;
        let limit = |end: f64, next: &Option<StepAdvice>| -> Result<f64, JobError> {
            if stays(next) {
                return Ok(end);
            }
            let (mut same, mut other) = (0.0, 1.0);
            for _ in 0..HALVINGS {
                let middle = 0.5 * (same + other);
                let next =
                    parameter.at(job, parameter.between(now, end, middle), |job| Ok(job.assess()?.next))?;
                if stays(&next) {
                    same = middle;
                } else {
                    other = middle;
                }
            }
            Ok(parameter.between(now, end, same))
        };
        let side = |end: f64| -> Result<_, JobError> {
            let (leader, next) = ask(end)?;
            let limit = limit(end, &next)?;
            Ok((leader, next, limit))
        };
        let found: [_; 2] = parallel::both(|| side(tried[0]), || side(tried[1]))?.into();
        Ok(Some(ParameterTrial {
            parameter: parameter.name(job),
            now,
            tried,
            leader_stays: found.iter().all(|(leader, ..)| *leader == Some(self.leader)),
            advice_stays: found.iter().all(|(_, next, _)| stays(next)),
            leaders: [0, 1].map(|i| found[i].0.map(|cause| job.machine.condition(cause).1.name.clone())),
            advice_within: [found[0].2, found[1].2],
            steps: found.map(|(_, next, _)| next.map(|step| step.name)),
        }))
    }

    /// Names of the rivals that lead with the priors that are worst for the leading cause against them.
    fn overtaken_by(&self, job: &Job) -> Result<Vec<String>, JobError> {
        let chances_now = weights::chances(job, !job.is_running())?;
        let ids: Vec<ConditionId> = job.machine.condition_ids().collect();
        let rivals = descending(&chances_now).into_iter().map(|at| ids[at]).filter(|id| *id != self.leader);
        let rivals: Vec<ConditionId> = rivals.take(RIVALS).collect();
        let overtaken = parallel::each(rivals, |rival| {
            let against = Parameter::Rate(self.leader);
            let less = with_odds_times(against.now(job), 1.0 / AT_ONCE);
            let more = with_odds_times(Parameter::Rate(rival).now(job), AT_ONCE);
            let then = against.at(job, less, |job| {
                let factor = odds(more) / odds(Parameter::Rate(rival).now(job));
                let mut job = job.clone();
                job.moved.conditions.push((rival, factor));
                weights::chances(&job, !job.is_running())
            })?;
            let overtakes = then[rival.index()] > then[self.leader.index()];
            Ok(overtakes.then(|| job.machine.condition(rival).1.name.clone()))
        });
        overtaken.into_iter().filter_map(Result::transpose).collect()
    }
}
