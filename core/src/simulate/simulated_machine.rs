//! A simulated machine: its hidden conditions, and its behaviour.
//!
//! It is drawn part by part from the tables of which the network of a job is made. The severity of a
//! condition, and how far the condition spoils a function, are drawn once for as long as the part stays as it
//! is. The result of a check is drawn once per state of its parents. The outcome of an attempt is drawn anew
//! each time. The changes that a step makes (`job/effects.rs`) are drawn here too.

use super::draw::pick;
use crate::job::{Action, Job, JobError, JobRule, Outcome, ReadingRecord, Step, StepEffects, StepRecord};
use crate::machine::model::{ObservationKind, PartState, ReadingModel, Role, Source};
use crate::machine::{BypassId, CheckId, ConditionId, ContextId, FunctionId, Machine, PartId};
use crate::reading::Span;
use typed_index_collections::TiVec;

/// Limit on the machines drawn until one does not start. More than a fifth of incoming machines do not start.
const TRIES: u32 = 10_000;

/// The result that a check shows.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Shown {
    /// A result, by its place.
    Result(usize),
    /// A reading.
    Reading(ReadingRecord),
}

/// A machine with all states drawn.
#[derive(Clone)]
pub(crate) struct SimulatedMachine<'m> {
    machine: &'m Machine,
    seed: String,
    /// By context: its state.
    contexts: TiVec<ContextId, usize>,
    /// By part: its state on arrival.
    arrival: TiVec<PartId, usize>,
    /// By part: its state now, how many steps have touched it, and how often its state changed.
    now: TiVec<PartId, usize>,
    touched: TiVec<PartId, u32>,
    changed: TiVec<PartId, u32>,
    /// Attempts so far, as texts.
    attempts: Vec<String>,
}

impl<'m> SimulatedMachine<'m> {
    /// Draws an incoming machine.
    pub(crate) fn draw(machine: &'m Machine, seed: String) -> Self {
        let file = machine.file();
        let contexts: TiVec<ContextId, usize> = file
            .context
            .iter()
            .map(|b| {
                let shares: Vec<f64> = b.states.iter().map(|s| s.share).collect();
                // The texts that draws are named by never change: an exercise keeps its faults.
                pick(&seed, &format!("background {}", b.id), &shares)
            })
            .collect();
        let mut arrival: TiVec<PartId, usize> = TiVec::new();
        for (part, model) in file.parts.iter().zip(&machine.model.parts) {
            let row = model.parents.iter().fold(0, |row, source| match source {
                Source::Context(b) => row * file.context(*b).states.len() + contexts[*b],
                Source::Part(p) => row * machine.model.parts[*p].states.len() + arrival[*p],
                Source::Function(_) => row,
            });
            let count = model.states.len();
            let chances = &model.table[row * count..(row + 1) * count];
            arrival.push(pick(&seed, &format!("part {}", part.id), chances));
        }
        let untouched: TiVec<PartId, u32> = vec![0; arrival.len()].into();
        SimulatedMachine {
            machine,
            seed,
            contexts,
            now: arrival.clone(),
            arrival,
            changed: untouched.clone(),
            touched: untouched,
            attempts: Vec::new(),
        }
    }

    /// The machine of a seed: the first drawn machine that does not start. If `stopped`, a cause stops it;
    /// otherwise it may only have started badly.
    ///
    /// # Errors
    /// A machine that nearly always starts.
    pub(crate) fn not_starting(machine: &'m Machine, seed: &str, stopped: bool) -> Result<Self, JobError> {
        (0..TRIES)
            .map(|n| SimulatedMachine::draw(machine, format!("{seed} {n}")))
            .find(|truth| {
                (!stopped || truth.acting().next().is_some()) && truth.clone().attempt(&[]) != Outcome::Runs
            })
            .ok_or_else(|| JobError::rule("seed", JobRule::AlwaysStarts))
    }

    /// Conditions that stop the engine now.
    pub(crate) fn acting(&self) -> impl Iterator<Item = ConditionId> {
        self.states_now().filter(|state| state.acts()).filter_map(PartState::condition)
    }

    /// Conditions that are present now.
    pub(crate) fn present(&self) -> impl Iterator<Item = ConditionId> {
        self.states_now().filter_map(PartState::condition)
    }

    fn states_now(&self) -> impl Iterator<Item = PartState> {
        self.machine.model.parts.iter().zip(&self.now).map(|(part, now)| part.states[*now])
    }

    /// Conditions that were present on arrival, with whether they act and whether they are still present.
    pub(crate) fn conditions(&self) -> impl Iterator<Item = (ConditionId, bool, bool)> {
        self.machine.model.parts.iter().zip(&self.arrival).zip(&self.now).filter_map(|((part, was), now)| {
            let state = part.states[*was];
            Some((state.condition()?, state.acts(), now == was))
        })
    }

    /// The result of a check now. Repeated with nothing changed, a check gives the same result.
    pub(crate) fn check(&self, check: CheckId, air: f64) -> Shown {
        let authored = self.machine.check(check);
        let observation = &self.machine.model.checks[check].observation;
        let mut looked_at = String::new();
        let row = observation.parents.iter().fold(0, |row, source| {
            let (state, count) = match source {
                Source::Context(b) => (self.contexts[*b], self.machine.context(*b).states.len()),
                Source::Part(p) => {
                    looked_at += &format!(" {}", self.touched[*p]);
                    (self.now[*p], self.machine.model.parts[*p].states.len())
                }
                Source::Function(f) => {
                    let model = &self.machine.model.functions[*f];
                    for (part, _) in &model.spoilers {
                        looked_at += &format!(" {}", self.touched[*part]);
                    }
                    (self.level(*f), model.level_names.len())
                }
            };
            row * count + state
        });
        let what = format!("check {}{looked_at}", authored.id);
        match &observation.kind {
            ObservationKind::Table(rows) => Shown::Result(pick(&self.seed, &what, &rows[row])),
            ObservationKind::Reading(model) => Shown::Reading(self.reading(model, row, air, &what)),
        }
    }

    /// A reading on the scale of the gauge.
    fn reading(&self, model: &ReadingModel, row: usize, air: f64, what: &str) -> ReadingRecord {
        let [low, high] = model.range;
        let law = &model.laws(air)[model.row_of[row]];
        let count = ((high - low) / model.resolution).floor() as usize;
        let half = model.resolution / 2.0;
        let values: Vec<f64> = (0..=count).map(|i| low + i as f64 * model.resolution).collect();
        let weights: Vec<f64> =
            values.iter().map(|v| law.mass(Span { from: v - half, to: v + half })).collect();
        // The sum of steps is not exact in the last decimal places.
        let value = (values[pick(&self.seed, what, &weights)] * 1e6).round() / 1e6;
        ReadingRecord { value: Some(value), over: None, between: None, unit: model.unit, temperature: None }
    }

    /// Level of a function: the maximum of the contributions of all parts.
    fn level(&self, function: FunctionId) -> usize {
        let id = &self.machine.function(function).id;
        let push = |(part, rows): &(PartId, Vec<Vec<f64>>)| {
            if self.now[*part] == 0 {
                return 0;
            }
            pick(&self.seed, &format!("push {id} {}", self.spell(*part)), &rows[self.now[*part]])
        };
        self.machine.model.functions[function].spoilers.iter().map(push).max().unwrap_or(0)
    }

    /// A text that names a part and its present state, and changes with that state.
    fn spell(&self, part: PartId) -> String {
        let id = &self.machine.part(part).id;
        match self.changed[part] {
            0 => id.clone(),
            changed => format!("{id} {changed}"),
        }
    }

    /// The outcome of an attempt with these bypasses.
    pub(crate) fn attempt(&mut self, bypasses: &[BypassId]) -> Outcome {
        let model = &self.machine.model;
        let (mut acting, mut held) = (0, 0);
        let mut apart: Vec<(BypassId, usize, usize)> = Vec::new();
        for condition in self.acting() {
            let (part, authored) = self.machine.condition(condition);
            let mut what = format!("severity {}/{}", part.id, authored.id);
            match self.changed[self.machine.part_of(condition)] {
                0 => {}
                changed => what += &format!(" {changed}"),
            }
            let severity = pick(&self.seed, &what, &model.conditions[condition].severity);
            match model.role(bypasses, condition) {
                Role::Acts => acting = severity.max(acting),
                Role::Lifted => held = severity.max(held),
                Role::Apart(bypass, group) => {
                    match apart.iter_mut().find(|(b, g, _)| (*b, *g) == (bypass, group)) {
                        Some((_, _, worst)) => *worst = severity.max(*worst),
                        None => apart.push((bypass, group, severity)),
                    }
                }
            }
        }
        let law = model.outcomes(model.lift_law(bypasses), acting, held, apart.into_iter());
        let mut same = String::new();
        for bypass in bypasses {
            same += &format!(" {}", self.machine.bypass(*bypass).id);
        }
        for touched in &self.touched {
            same += &format!(" {touched}");
        }
        let before = self.attempts.iter().filter(|a| **a == same).count();
        let outcome = Outcome::ALL[pick(&self.seed, &format!("attempt{same} {before}"), &law)];
        self.attempts.push(same);
        outcome
    }

    /// The record of a step with its result, as the job holds it. The machine does not change until
    /// [`SimulatedMachine::act`].
    pub(crate) fn take(&mut self, job: &Job, action: &Action) -> StepRecord {
        let file = self.machine.file();
        match action {
            Action::Check(id) => {
                let check = file.check(*id);
                let (result, reading) = match self.told(job, *id) {
                    Shown::Result(r) => (Some(check.results[r].id.clone()), None),
                    Shown::Reading(reading) => (None, Some(reading)),
                };
                StepRecord::Check { check: check.id.clone(), result, reading, known: None }
            }
            Action::Repair(id) => StepRecord::Repair { repair: file.repair(*id).id.clone(), known: None },
            Action::Attempt(bypasses) => StepRecord::Attempt {
                bypass: bypasses.iter().map(|b| file.bypass(*b).id.clone()).collect(),
                outcome: self.attempt(bypasses),
                known: None,
            },
        }
    }

    /// The result of a check or, if somebody only tells it, the result that is told. With chance 1 - trust,
    /// that is a random result.
    fn told(&self, job: &Job, check: CheckId) -> Shown {
        let shown = self.check(check, job.air);
        let trust = job.trust(check, job.usual(check));
        let authored = self.machine.check(check);
        let what = format!("told {}", authored.id);
        match shown {
            Shown::Result(_) if pick(&self.seed, &what, &[trust, 1.0 - trust]) == 1 => {
                Shown::Result(pick(&self.seed, &format!("{what} wrong"), &vec![1.0; authored.results.len()]))
            }
            shown => shown,
        }
    }

    /// Changes the machine as the last step of a job does.
    pub(crate) fn act(&mut self, job: &Job) {
        let Some(last) = job.steps.len().checked_sub(1) else { return };
        self.act_at(job, &StepEffects::of(job), last);
    }

    /// Applies the steps of a job to a machine that has just arrived.
    pub(crate) fn replay(&mut self, job: &Job) {
        let acts = StepEffects::of(job);
        for (at, step) in job.steps.iter().enumerate() {
            if let Step::Attempt { bypasses, .. } = step {
                self.attempt(bypasses);
            }
            self.act_at(job, &acts, at);
        }
    }

    fn act_at(&mut self, job: &Job, acts: &StepEffects, step: usize) {
        for part in self.now.keys() {
            let Some(rows) = acts.on(job, step, part) else { continue };
            self.touched[part] += 1;
            let id = &self.machine.part(part).id;
            let what = format!("step {} {id} {}", job.named(step), self.touched[part]);
            let then = pick(&self.seed, &what, &rows[self.now[part]]);
            if then != self.now[part] {
                self.now[part] = then;
                self.changed[part] += 1;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{FindingsNetwork, Job, JobFile};
    use crate::lesson::mower;
    use crate::machine::RepairId;

    /// A share of `n` draws may miss its chance by four standard deviations (one in 16,000).
    fn near(hits: usize, n: usize, p: f64, what: &str) {
        let share = hits as f64 / n as f64;
        let most = 4.0 * (p * (1.0 - p) / n as f64).sqrt();
        assert!((share - p).abs() <= most.max(1e-9), "{what}: {share} instead of {p} +- {most}");
    }

    const DRAWS: usize = 4000;

    fn draws() -> impl Iterator<Item = SimulatedMachine<'static>> {
        (0..DRAWS).map(|i| SimulatedMachine::draw(mower(), format!("test {i}")))
    }

    #[test]
    fn a_seed_keeps_its_faults_from_version_to_version() {
        // As the first version that simulated jobs drew them.
        let acting = |seed: &str| -> Vec<String> {
            let machine = SimulatedMachine::not_starting(mower(), seed, false).expect("a machine");
            let name = |condition| {
                let (part, condition) = mower().condition(condition);
                format!("{}/{}", part.id, condition.id)
            };
            machine.acting().map(name).collect()
        };
        assert_eq!(acting("1 0"), ["bowl/water", "coil/dead"]);
        assert_eq!(acting("1 1"), ["intake/leak"]);
    }

    #[test]
    fn drawn_machines_have_what_the_network_says() {
        let file = JobFile::from_json(r#"{"machine": "mower-recoil"}"#).expect("a job");
        let job = Job::new(mower(), &file).expect("valid");
        let (bench, work) = FindingsNetwork::new(&job).expect("possible");
        let mut there = vec![(0, 0); mower().condition_count()];
        for truth in draws() {
            for (condition, acts, _) in truth.conditions() {
                there[condition.index()].0 += 1;
                there[condition.index()].1 += usize::from(acts);
            }
        }
        for id in mower().condition_ids() {
            let var = bench.variables.at_arrival(mower().part_of(id));
            let (cause, present) = job.condition_odds(id, &bench.tree.marginal(&work, var));
            let name = &mower().condition(id).1.name;
            near(there[id.index()].0, DRAWS, present, name);
            near(there[id.index()].1, DRAWS, cause, name);
        }
    }

    #[test]
    fn drawn_findings_are_as_frequent_as_predicted() {
        let file = JobFile::from_json(
            r#"{"machine": "mower-recoil", "steps": [{"do": "attempt", "outcome": "nothing"}]}"#,
        )
        .expect("a job");
        let job = Job::new(mower(), &file).expect("valid");
        let answer = job.assess_in_full().expect("possible");
        let mut machines: Vec<SimulatedMachine> = draws().collect();
        machines.retain_mut(|t| t.attempt(&[]) == Outcome::Nothing);
        for id in ["filter-look", "spark-gap-tester", "tank-look", "plug-wet-look", "ask-storage"] {
            let Some(step) = answer.ranking.iter().find(|s| s.id == id) else { continue };
            let check =
                mower().file().checks.iter().position(|c| c.id == id).map(CheckId::new).expect("a check");
            for (r, result) in step.results.iter().enumerate() {
                let hits = machines.iter().filter(|t| t.told(&job, check) == Shown::Result(r)).count();
                near(hits, machines.len(), result.p, &format!("{id} {}", result.id));
            }
        }
        let again = answer.ranking.iter().find(|s| s.id == "attempt").expect("it can be tried");
        for (outcome, result) in Outcome::ALL.into_iter().zip(&again.results) {
            let hits = machines.iter().filter(|t| (*t).clone().attempt(&[]) == outcome).count();
            near(hits, machines.len(), result.p, &format!("attempt {}", result.id));
        }
    }

    #[test]
    fn a_check_repeated_shows_the_same_until_something_is_done() {
        let gauge = mower().file().checks.iter().position(|c| c.id == "gauge-pull").map(CheckId::new);
        let gauge = gauge.expect("the mower has a gauge check");
        for truth in draws().take(20) {
            let first = truth.check(gauge, 1.0);
            assert_eq!(first, truth.check(gauge, 1.0));
            let Shown::Reading(reading) = first else { panic!("a gauge gives a number") };
            let model = mower().check(gauge).reading.as_ref().expect("a law");
            let value = reading.value.expect("one number");
            assert!((model.range[0]..=model.range[1]).contains(&value), "{value}");
        }
    }

    #[test]
    fn a_repair_that_takes_makes_the_part_sound() {
        let new_plug = mower().file().repairs.iter().position(|r| r.id == "new-plug").map(RepairId::new);
        let new_plug = new_plug.expect("the mower has a plug");
        let cures = &mower().model.repairs[new_plug].cures;
        let takes = mower().repair(new_plug).takes;
        let file = JobFile::from_json(
            r#"{"machine": "mower-recoil", "steps": [{"do": "repair", "repair": "new-plug"}]}"#,
        )
        .expect("a job");
        let job = Job::new(mower(), &file).expect("valid");
        let (mut bad, mut mended) = (0, 0);
        for mut truth in draws() {
            let before = truth.conditions().filter(|(c, _, _)| cures.contains(c)).count();
            truth.act(&job);
            let left = truth.conditions().filter(|(c, _, still)| cures.contains(c) && *still).count();
            bad += before;
            mended += before - left;
        }
        assert!(bad > 200, "{bad}");
        near(mended, bad, takes, "new plug");
    }
}
