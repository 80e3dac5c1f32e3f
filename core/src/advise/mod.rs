//! The odds of every cause, and what to do next.
//!
//! Every check, start attempt and repair that can be done now is a candidate for the next step. Its value is the
//! expected cost until the engine runs or is handed over, if it comes first. From the job to the answer:
//!
//! 1. `sets.rs`: the posterior over sets of causes that act together, and over sets and results of checks.
//! 2. `context.rs`: that posterior with costs, observations and `observe_repair.rs`: all that values are computed from.
//! 3. `plan.rs` and `planner.rs`: expected cost of a simple plan from any state of belief (`belief.rs`).
//! 4. `rank.rs`: the value of every candidate (`candidate.rs`) if the plan is followed after it.
//! 5. `lookahead.rs`: better values for the leading candidates, with further observations before the plan.
//! 6. `prediction.rs`: exact chances of results, and the odds after them.
//! 7. `gate.rs` and `precedence.rs`: what must wait, the order of work, and what is set aside.
//! 8. `render.rs`: the candidates as the answer states them (`answer.rs`), each with its `reason.rs`.
//!
//! An [`AdviceSession`] holds all of this for one job.

mod answer;
mod belief;
mod candidate;
mod conclusion;
mod context;
mod cost;
mod ends;
mod estimate;
mod gate;
mod left_out;
mod lookahead;
mod meaning;
mod observe_repair;
mod obstacle;
mod plan;
mod planner;
mod possible;
mod precedence;
mod prediction;
mod rank;
mod reason;
mod render;
mod session;
mod sets;
mod steps;
mod verdict;

pub use answer::{
    Abnormal, Assessment, CauseOdds, Conclusion, Estimate, InformativeResult, JobStatus, Leader,
    LookaheadProgress, NotNow, Obstacle, ReadingMeaning, Reason, RequiredFinding, RequiredStep,
    ResultOutlook, Spent, Spread, StepAdvice, StepKind, Verdict, VerdictKind,
};
pub use session::AdviceSession;

pub(crate) use possible::Possible;
pub(crate) use session::Figures;

use crate::job::{FindingsNetwork, Job, JobError, Outcome};
use crate::machine::{ConditionId, PartId, RepairId};
use cost::{Costs, RepairCost};
use halfsplit_bayes::VarId;
use sets::bit;
use steps::Effort;

impl Job<'_> {
    /// The odds of every cause, and the ranking of everything that can be done next, after all rounds of lookahead.
    ///
    /// If the network of a long job is too large, the assessment leaves out as few outcomes of start attempts
    /// as make it small enough. [`Assessment::left_out`] names them.
    ///
    /// # Errors
    /// [`JobError::Impossible`] if findings exclude each other, with the smallest set of such findings; a rule if the
    /// job is too large even without those outcomes.
    pub fn assess(&self) -> Result<Assessment, JobError> {
        Ok(AdviceSession::on(self, 0, Figures::Leading)?.finish())
    }

    /// As [`Job::assess`], with exact chances of results and information for every observation, not only for the first
    /// places of the ranking. It takes several times as long.
    ///
    /// # Errors
    /// The errors of [`Job::assess`].
    pub fn assess_in_full(&self) -> Result<Assessment, JobError> {
        Ok(AdviceSession::on(self, 0, Figures::All)?.finish())
    }

    /// The odds of every condition, in the order of the description. `earlier` are the chances of the conditions to
    /// act before the last step.
    fn causes(
        &self,
        bench: &FindingsNetwork,
        marginals: &dyn Fn(VarId) -> Vec<f64>,
        earlier: Option<&[f64]>,
    ) -> Vec<CauseOdds> {
        let odds = |condition: ConditionId, var: VarId| self.condition_odds(condition, &marginals(var));
        self.machine
            .condition_ids()
            .map(|id| {
                let part_id = self.machine.part_of(id);
                let (part, condition) = self.machine.condition(id);
                let (p_cause, p_present) = odds(id, bench.variables.now(part_id));
                let (p_was_cause, p_was_present) = odds(id, bench.variables.at_arrival(part_id));
                CauseOdds {
                    part: part.id.clone(),
                    condition: condition.id.clone(),
                    name: condition.name.clone(),
                    subsystem: part.subsystem.clone(),
                    left_over: part.left_over,
                    p_cause,
                    p_present,
                    p_was_cause,
                    p_was_present,
                    p_cause_before: earlier.map_or(p_cause, |e| e[id.index()]),
                    repaired: self.is_repaired(part_id),
                }
            })
            .collect()
    }

    /// By condition, in the order of the description: the chance that it is there now and stops the engine.
    ///
    /// # Errors
    /// [`JobError::Impossible`].
    pub fn cause_chances(&self) -> Result<Vec<f64>, JobError> {
        let (bench, work) = FindingsNetwork::new(self)?;
        Ok(self.chances_to_act(&bench, &|var| bench.tree.marginal(&work, var)))
    }

    /// By condition: the chance that it is there now and stops the engine, from the marginals of a network.
    fn chances_to_act(&self, bench: &FindingsNetwork, marginals: &dyn Fn(VarId) -> Vec<f64>) -> Vec<f64> {
        self.chances(|part| marginals(bench.variables.now(part)))
    }

    /// By condition: the chance that it acts, from the marginals of the parts at some time.
    fn chances(&self, marginal: impl Fn(PartId) -> Vec<f64>) -> Vec<f64> {
        let chance = |id: ConditionId| self.condition_odds(id, &marginal(self.machine.part_of(id))).0;
        self.machine.condition_ids().map(chance).collect()
    }

    /// Time and money spent on the job so far, by the descriptions of its steps.
    #[must_use]
    pub fn spent(&self) -> Spent {
        steps::spent(self)
    }

    /// The first repair with perfect information about the causes; none if handing over is cheaper.
    pub(crate) fn best_for(&self, acting: &[ConditionId]) -> Option<RepairId> {
        let set = acting.iter().fold(0, |set, c| set | bit(*c));
        self.costs().known(set, steps::open_bits(self)).first.map(RepairId::new)
    }

    /// Time and money of putting faults right on the closed machine, each by its cheapest repair. Set-up work counts once.
    pub(crate) fn putting_right(&self, faults: &[ConditionId]) -> Spent {
        steps::putting_right(self, faults)
    }

    /// Cost of a plain start attempt, in money.
    pub(crate) fn attempt_cost(&self) -> f64 {
        steps::cost(self, Effort::minutes(self.machine.file().attempt.minutes)).money
    }

    /// Costs of everything that a plan can do.
    fn costs(&self) -> Costs {
        let file = self.machine.file();
        let repair = |r: RepairId| {
            let model = &self.machine.model.repairs[r];
            let authored = file.repair(r);
            let possible = model.needs.tools.iter().all(|t| self.has(*t));
            RepairCost {
                // A repair that the kit cannot do cures nothing. It stays in the list, so that places are the same.
                cures: if possible { model.cures.iter().map(|c| bit(*c)).fold(0, |a, b| a | b) } else { 0 },
                takes: authored.takes,
                cost: steps::cost(self, Effort::of_repair(authored)),
                setups: steps::bits(&model.needs.setups),
            }
        };
        Costs::new(
            (0..file.repairs.len()).map(|r| repair(RepairId::new(r))).collect(),
            steps::cost(self, Effort::minutes(file.attempt.minutes)),
            self.machine_value.map_or(self.hand_over_cost, |worth| worth.min(self.hand_over_cost)),
            file.setups.iter().map(|s| steps::cost(self, Effort::minutes(s.minutes))).collect(),
        )
    }
}

impl Outcome {
    /// Name for people.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Outcome::Runs => "starts and keeps running",
            Outcome::Dies => "starts and dies",
            Outcome::Tries => "coughs or pops",
            Outcome::Nothing => "nothing at all",
        }
    }
}
