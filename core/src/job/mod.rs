//! Jobs: the steps done, in order, and the network in which they are evidence.

mod action;
mod builder;
mod effects;
mod error;
mod file;
mod leaves;
mod network;
mod noisy_max_node;
mod reading;
mod rule;
mod variables;

pub use action::Action;
pub use error::JobError;
pub use file::{
    JobFile, KnownAct, Objective, Outcome, Provenance, ReadingRecord, StepRecord, TemperatureRecord,
};
pub use rule::JobRule;

pub(crate) use effects::StepEffects;
pub(crate) use network::{FindingsNetwork, JobNetwork, LookaheadNetwork, PredictionNetwork};

use crate::json::ShapeError;
use crate::machine::file::{CheckKind, ContextKind, WAIT_COST_PER_HOUR};
use crate::machine::model::{ChoiceModel, ObservationKind};
use crate::machine::resolve::AIR_RANGE;
use crate::machine::{BypassId, CheckId, ContextId, Machine, PartId, RepairId, ToolId};
use crate::reading::{Span, air};
use halfsplit_bayes::support::suggest::find;
use reading::{short, span};
use typed_index_collections::TiVec;

/// Heights that correspond to [`AIR_RANGE`], rounded inwards.
const HEIGHTS_M: [f64; 2] = [-500.0, 5500.0];

/// A job checked against its machine.
#[derive(Debug, Clone)]
pub struct Job<'m> {
    pub(crate) machine: &'m Machine,
    /// By tool: whether it is at hand.
    pub(crate) kit: TiVec<ToolId, bool>,
    pub(crate) rate_per_hour: f64,
    /// Cost of an hour of waiting.
    pub(crate) wait_cost_per_hour: f64,
    pub(crate) hand_over_cost: f64,
    /// Value of the machine once it runs, if the job states it.
    pub(crate) machine_value: Option<f64>,
    pub(crate) spare: Objective,
    /// Air pressure as a share of the pressure at sea level.
    pub(crate) air: f64,
    /// Whether the machine works in thin air.
    pub(crate) high: bool,
    /// By setting: the choice, if one is made.
    pub(crate) choices: Vec<Option<usize>>,
    /// Odds factors in addition to those of the choices, for what-if questions.
    pub(crate) moved: ChoiceModel,
    /// By context: its state, if the job says what is fitted.
    pub(crate) fitted: TiVec<ContextId, Option<usize>>,
    /// Whether the whole story is told.
    pub(crate) told: bool,
    pub(crate) steps: Vec<Step>,
}

/// A step with its ids resolved.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Step {
    /// A finding.
    Check {
        check: CheckId,
        finding: Found,
        known: Provenance,
        trust: f64,
        /// Whether whoever keeps the job made the check, or asked the question. A finding that was told without
        /// being asked for leaves the machine unchanged and takes no time.
        made: bool,
        /// The reading as it was recorded.
        given: Option<ReadingRecord>,
    },
    /// A repair. If it is only `told`, it has taken with a lower chance.
    Repair { repair: RepairId, told: bool },
    /// A start attempt. If it is `left_out`, it has changed the machine, but its outcome is no evidence.
    Attempt { bypasses: Vec<BypassId>, outcome: Outcome, told: bool, left_out: bool },
}

impl Step {
    /// Whether the step was told and not done by whoever keeps the job.
    pub(crate) fn was_told(&self) -> bool {
        match self {
            Step::Check { made, .. } => !made,
            Step::Repair { told, .. } | Step::Attempt { told, .. } => *told,
        }
    }

    /// The step as an action, without its result.
    pub(crate) fn action(&self) -> Action {
        match self {
            Step::Check { check, .. } => Action::Check(*check),
            Step::Attempt { bypasses, .. } => Action::Attempt(bypasses.clone()),
            Step::Repair { repair, .. } => Action::Repair(*repair),
        }
    }
}

/// The finding of a check.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Found {
    /// A result, by its place.
    Result(usize),
    /// A reading in this span, in the check's unit, and the band that holds it.
    Reading(Span, usize),
}

impl Found {
    /// Place of the result or band.
    pub(crate) fn result(self) -> usize {
        match self {
            Found::Result(r) | Found::Reading(_, r) => r,
        }
    }
}

impl JobFile {
    /// Reads a job.
    ///
    /// # Errors
    /// [`JobError::Shape`] with the place.
    pub fn from_json(text: &str) -> Result<Self, JobError> {
        Ok(crate::json::read(text)?)
    }

    /// Reads a job from a JSON value.
    ///
    /// # Errors
    /// [`ShapeError`] with the place.
    pub fn from_value(value: &serde_json::Value) -> Result<Self, ShapeError> {
        crate::json::read_value(value)
    }

    /// The demo job, an invented example.
    ///
    /// # Errors
    /// None in a crate that passes its tests.
    pub fn demo() -> Result<Self, JobError> {
        Self::from_json(include_str!("../../examples/jobs/demo.json"))
    }

    /// The job as the JSON text of a job file.
    ///
    /// # Errors
    /// None in a program that passes its tests.
    pub fn to_json(&self) -> Result<String, JobError> {
        serde_json::to_string_pretty(self).map_err(|error| JobError::NotWritten(error.to_string()))
    }
}

impl<'m> Job<'m> {
    /// Checks a job against its machine.
    ///
    /// # Errors
    /// [`JobError`] with the place of the first mistake. Findings that exclude each other are detected only
    /// when the odds are computed.
    pub fn new(machine: &'m Machine, file: &JobFile) -> Result<Self, JobError> {
        let authored = machine.file();
        if file.machine != machine.id() {
            return Err(JobError::rule(
                "machine",
                JobRule::AnotherMachine { job: file.machine.clone(), description: machine.id().to_owned() },
            ));
        }
        let mut kit: TiVec<ToolId, bool> = vec![file.kit.is_none(); authored.tools.len()].into();
        for (i, id) in file.kit.iter().flatten().enumerate() {
            let known = authored.tools.iter().map(|t| t.id.as_str());
            kit[ToolId::new(find(&format!("kit[{i}]"), "tool", id, known)?)] = true;
        }
        let price = |place: &str, given: Option<f64>| match given {
            Some(given) if !(given > 0.0 && given.is_finite()) => {
                Err(JobError::rule(place, JobRule::NotAboveNothing { given }))
            }
            given => Ok(given),
        };
        let defaults = &authored.defaults;
        let height = file.altitude_m.unwrap_or(0.0);
        let air = air::gauge_factor(height);
        if !(AIR_RANGE[0]..=AIR_RANGE[1]).contains(&air) {
            let [lowest_m, highest_m] = HEIGHTS_M;
            let rule = JobRule::Height { given_m: height, lowest_m, highest_m };
            return Err(JobError::rule("altitude_m", rule));
        }
        let mut choices = vec![None; authored.settings.len()];
        for (setting, choice) in &file.settings {
            let known = authored.settings.iter().map(|s| s.id.as_str());
            let at = find("settings", "setting", setting, known)?;
            let known = authored.settings[at].choices.iter().map(|c| c.id.as_str());
            choices[at] = Some(find(&format!("settings.{setting}"), "choice", choice, known)?);
        }
        let mut job = Job {
            machine,
            high: machine.model.thin_air.as_ref().is_some_and(|(from_m, _)| height >= *from_m),
            choices,
            moved: ChoiceModel::default(),
            fitted: fitted(machine, file)?,
            kit,
            rate_per_hour: price("rate_per_hour", file.rate_per_hour)?.unwrap_or(defaults.rate_per_hour),
            wait_cost_per_hour: price("wait_cost_per_hour", file.wait_cost_per_hour)?
                .or(defaults.wait_cost_per_hour)
                .unwrap_or(WAIT_COST_PER_HOUR),
            hand_over_cost: price("hand_over_cost", file.hand_over_cost)?.unwrap_or(defaults.hand_over_cost),
            machine_value: price("machine_value", file.machine_value)?,
            spare: file.spare.unwrap_or_default(),
            air,
            told: file.told,
            steps: Vec::with_capacity(file.steps.len()),
        };
        for (i, record) in file.steps.iter().enumerate() {
            let step = job.step(&format!("steps[{i}]"), record)?;
            job.steps.push(step);
        }
        Ok(job)
    }

    fn step(&self, place: &str, record: &StepRecord) -> Result<Step, JobError> {
        match record {
            StepRecord::Check { check, result, reading, known } => {
                let id = self.machine.find_check(&format!("{place}.check"), check)?;
                let finding = self.finding(place, id, result.as_deref(), reading.as_ref())?;
                let known = known.unwrap_or_else(|| self.usual(id));
                Ok(Step::Check {
                    check: id,
                    finding,
                    known,
                    trust: self.trust(id, known),
                    made: self.is_made(id, known),
                    given: reading.clone(),
                })
            }
            StepRecord::Repair { repair, known } => Ok(Step::Repair {
                repair: self.machine.find_repair(&format!("{place}.repair"), repair)?,
                told: self.is_told(*known),
            }),
            StepRecord::Attempt { bypass, outcome, known } => {
                let mut bypasses = Vec::new();
                for (b, id) in bypass.iter().enumerate() {
                    bypasses.push(self.machine.find_bypass(&format!("{place}.bypass[{b}]"), id)?);
                }
                bypasses.sort_unstable();
                bypasses.dedup();
                Ok(Step::Attempt { bypasses, outcome: *outcome, told: self.is_told(*known), left_out: false })
            }
        }
    }

    fn finding(
        &self,
        place: &str,
        check: CheckId,
        result: Option<&str>,
        reading: Option<&ReadingRecord>,
    ) -> Result<Found, JobError> {
        let authored = self.machine.check(check);
        let model = &self.machine.model.checks[check].observation.kind;
        match (result, reading, model) {
            (Some(result), None, _) => {
                let known = authored.results.iter().map(|r| r.id.as_str());
                let at = find(&format!("{place}.result"), "result", result, known)?;
                Ok(match model {
                    ObservationKind::Table(_) => Found::Result(at),
                    ObservationKind::Reading(reading) => Found::Reading(reading.band(at), at),
                })
            }
            (None, Some(reading), ObservationKind::Reading(model)) => {
                let span = span(&format!("{place}.reading"), reading, model)?;
                Ok(Found::Reading(
                    span,
                    model.band_of((span.from.max(model.range[0]) + span.to.min(model.range[1])) / 2.0),
                ))
            }
            (None, Some(_), ObservationKind::Table(_)) => Err(JobError::rule(
                format!("{place}.reading"),
                JobRule::NoNumber { check: authored.id.clone() },
            )),
            _ => Err(JobError::rule(place, JobRule::ResultOrReading { check: authored.id.clone() })),
        }
    }

    /// The provenance of a finding of this check, unless the step states another.
    pub(crate) fn usual(&self, check: CheckId) -> Provenance {
        if self.told || self.is_question(check) { Provenance::Told } else { Provenance::Seen }
    }

    /// Whether whoever keeps the job has made the check, or asked the question.
    fn is_made(&self, check: CheckId, known: Provenance) -> bool {
        known != Provenance::Told || (self.is_question(check) && !self.told)
    }

    /// The same job with one more step: an action with a result, by its place. A result of a repair counts nothing.
    pub(crate) fn followed_by(&self, action: &Action, result: usize) -> Self {
        let step = match action {
            Action::Check(check) => {
                let known = self.usual(*check);
                Step::Check {
                    check: *check,
                    finding: Found::Result(result),
                    known,
                    trust: self.trust(*check, known),
                    made: self.is_made(*check, known),
                    given: None,
                }
            }
            Action::Repair(repair) => Step::Repair { repair: *repair, told: self.told },
            Action::Attempt(bypasses) => Step::Attempt {
                bypasses: bypasses.clone(),
                outcome: Outcome::ALL[result],
                told: self.told,
                left_out: false,
            },
        };
        let mut job = self.clone();
        job.steps.push(step);
        job
    }

    /// Whether a check is a question to the owner.
    fn is_question(&self, check: CheckId) -> bool {
        matches!(self.machine.check(check).kind, CheckKind::Asked)
    }

    /// Whether a repair or an attempt is only told.
    fn is_told(&self, known: Option<KnownAct>) -> bool {
        known.map_or(self.told, |known| known == KnownAct::Told)
    }

    /// Trust in a finding of this check with this provenance.
    pub(crate) fn trust(&self, check: CheckId, known: Provenance) -> f64 {
        let authored = self.machine.check(check);
        let trust = authored.trust.as_ref().unwrap_or(&self.machine.file().trust);
        match known {
            Provenance::Seen => trust.seen,
            Provenance::Told => trust.told,
            Provenance::Unsure => trust.unsure,
        }
    }

    /// Whether a repair has touched a part.
    pub(crate) fn is_repaired(&self, part: PartId) -> bool {
        self.steps.iter().any(|step| match step {
            Step::Repair { repair: r, .. } => {
                let cures = &self.machine.model.repairs[*r].cures;
                cures.iter().any(|c| self.machine.part_of(*c) == part)
            }
            _ => false,
        })
    }

    /// Odds factors of the populations that the job names, and the additional ones.
    pub(crate) fn chosen(&self) -> impl Iterator<Item = &ChoiceModel> {
        let settings = &self.machine.model.settings;
        let named = self.choices.iter().zip(settings).filter_map(|(choice, all)| choice.map(|c| &all[c]));
        let high = self.machine.model.thin_air.iter().filter(|_| self.high).map(|(_, choice)| choice);
        named.chain(high).chain([&self.moved])
    }

    /// Shares of the states of a context among machines of the populations that the job names. If the job
    /// says what is fitted, that state has the share 1.
    pub(crate) fn context_shares(&self, id: ContextId) -> Vec<f64> {
        let states = &self.machine.context(id).states;
        if let Some(known) = self.fitted[id] {
            return (0..states.len()).map(|state| if state == known { 1.0 } else { 0.0 }).collect();
        }
        let mut shares: Vec<f64> = states.iter().map(|s| s.share).collect();
        for choice in self.chosen() {
            for (_, state, factor) in choice.contexts.iter().filter(|(b, _, _)| *b == id) {
                shares[*state] *= factor;
            }
        }
        let whole: f64 = shares.iter().sum();
        shares.iter().map(|s| s / whole).collect()
    }

    /// The table of a part on arrival, among machines of the populations that the job names.
    pub(crate) fn part_table(&self, id: PartId) -> Vec<f64> {
        let part = &self.machine.model.parts[id];
        let mut factors = vec![1.0; part.states.len()];
        for (condition, factor) in self.chosen().flat_map(|c| &c.conditions) {
            for (f, state) in factors.iter_mut().zip(&part.states) {
                if state.condition() == Some(*condition) {
                    *f *= factor;
                }
            }
        }
        let mut table = part.table.clone();
        if factors.iter().all(|f| *f == 1.0) {
            return table;
        }
        for row in table.chunks_mut(factors.len()) {
            row.iter_mut().zip(&factors).for_each(|(p, f)| *p *= f);
            let whole: f64 = row.iter().sum();
            row.iter_mut().for_each(|p| *p /= whole);
        }
        table
    }

    /// The same job with its first steps only.
    pub(crate) fn first(&self, steps: usize) -> Self {
        let mut job = self.clone();
        job.steps.truncate(steps);
        job
    }

    /// The same job without one of its steps.
    pub(crate) fn without(&self, step: usize) -> Self {
        let mut job = self.clone();
        job.steps.remove(step);
        job
    }

    /// Leaves out the outcome of one start attempt.
    pub(crate) fn leave_out(&mut self, step: usize) {
        if let Some(Step::Attempt { left_out, .. }) = self.steps.get_mut(step) {
            *left_out = true;
        }
    }

    /// Places of the start attempts that are left out.
    pub(crate) fn left_out(&self) -> Vec<usize> {
        let left_out = |at: &usize| matches!(self.steps[*at], Step::Attempt { left_out: true, .. });
        (0..self.steps.len()).filter(left_out).collect()
    }

    /// Places of the start attempts whose outcomes can be left out, in the order in which to leave them out.
    /// Attempts with a bypass and the outcome `nothing` come first, then other attempts with a bypass, then
    /// plain attempts; the oldest comes first in each group. The last outcome of the job stays.
    pub(crate) fn dispensable(&self) -> Vec<usize> {
        let class = |step: &Step| match step {
            Step::Attempt { bypasses, .. } if bypasses.is_empty() => Some(2),
            Step::Attempt { outcome: Outcome::Nothing, .. } => Some(0),
            Step::Attempt { .. } => Some(1),
            Step::Check { .. } | Step::Repair { .. } => None,
        };
        let attempts: Vec<(usize, i32)> =
            self.steps.iter().enumerate().filter_map(|(at, step)| Some((at, class(step)?))).collect();
        let earlier = attempts.split_last().map_or(&[][..], |(_, earlier)| earlier);
        (0..3).flat_map(|class| earlier.iter().filter(move |(_, c)| *c == class)).map(|(at, _)| *at).collect()
    }

    /// Whether the last start attempt was a plain one and the engine ran.
    #[must_use]
    pub fn is_running(&self) -> bool {
        self.steps.iter().rev().find_map(|s| match s {
            Step::Attempt { bypasses, outcome, .. } => Some(bypasses.is_empty() && *outcome == Outcome::Runs),
            _ => None,
        }) == Some(true)
    }

    /// Whether a plain attempt has been made.
    pub(crate) fn was_tried(&self) -> bool {
        self.steps.iter().any(|s| matches!(s, Step::Attempt { bypasses, .. } if bypasses.is_empty()))
    }

    pub(crate) fn has(&self, tool: ToolId) -> bool {
        self.kit[tool]
    }

    /// Id of the check or repair of a step; `attempt` for a start attempt.
    pub(crate) fn named(&self, step: usize) -> &'m str {
        let authored = self.machine.file();
        match &self.steps[step] {
            Step::Check { check, .. } => &authored.check(*check).id,
            Step::Repair { repair: r, .. } => &authored.repair(*r).id,
            Step::Attempt { .. } => "attempt",
        }
    }

    /// A step in words: its number, its action and its result.
    pub(crate) fn describe(&self, step: usize) -> String {
        let authored = self.machine.file();
        let text = match &self.steps[step] {
            Step::Check { check, finding, .. } => {
                let check = authored.check(*check);
                match finding {
                    Found::Result(r) => format!("{} = {}", check.id, check.results[*r].id),
                    Found::Reading(span, _) => {
                        format!("{} = {} to {}", check.id, short(span.from), short(span.to))
                    }
                }
            }
            Step::Repair { repair: r, .. } => authored.repair(*r).id.clone(),
            Step::Attempt { bypasses, outcome, .. } => {
                let with: Vec<&str> = bypasses.iter().map(|b| authored.bypass(*b).id.as_str()).collect();
                match with.as_slice() {
                    [] => format!("attempt = {}", outcome.id()),
                    with => format!("attempt with {} = {}", with.join(" and "), outcome.id()),
                }
            }
        };
        format!("step {} ({text})", step + 1)
    }
}

/// By context: the state that the job says is fitted.
fn fitted(machine: &Machine, file: &JobFile) -> Result<TiVec<ContextId, Option<usize>>, JobError> {
    let all = &machine.file().context;
    let mut known: TiVec<ContextId, _> = vec![None; all.len()].into();
    let fitted = |id: &ContextId| machine.context(*id).kind == ContextKind::Fitted;
    let can_be: Vec<ContextId> = known.keys().filter(fitted).collect();
    for (thing, state) in &file.fitted {
        let ids = can_be.iter().map(|id| machine.context(*id).id.as_str());
        let at = can_be[find("fitted", "fitting", thing, ids)?];
        let states = machine.context(at).states.iter().map(|s| s.id.as_str());
        known[at] = Some(find(&format!("fitted.{thing}"), "choice", state, states)?);
    }
    Ok(known)
}
