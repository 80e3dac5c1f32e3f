//! What to do next, and how the odds stand.
//!
//! Every check, start attempt, bypass and repair that can be done now is ranked by the expected cost
//! until the engine runs or is handed over, if that step comes first (`rank.rs`).

mod adviser;
mod ahead;
mod answer;
mod conclusion;
mod estimate;
mod left_out;
mod look;
mod plan;
mod possible;
mod price;
mod rank;
mod sets;
mod steps;
mod verdict;
mod why;

pub use adviser::Adviser;
pub use answer::{
    Abnormal, Assessment, CauseOdds, Conclusion, ConclusionKind, Estimate, JobStatus, Leader,
    LookaheadProgress, NotNow, Obstacle, ResultOutlook, Spent, Spread, StepAdvice, StepKind, Verdict,
    VerdictKind,
};

pub(crate) use possible::Possible;

use crate::job::{FindingsNetwork, Job, JobError, Outcome};
use crate::machine::{ConditionId, PartId, RepairId};
use halfsplit_bayes::VarId;
use price::{Prices, RepairPrice};
use sets::bit;

impl Job<'_> {
    /// The odds of every cause and the ranking of everything that can be done next. Where the job hangs together in
    /// too many ways to be reckoned with, outcomes of start attempts are left out, no more than needed, and
    /// [named](Assessment::left_out): a long job is answered by most of what is known.
    ///
    /// # Errors
    /// [`JobError::Impossible`] where findings exclude each other, naming the smallest set of them; a rule where the
    /// job is too large even so.
    pub fn assess(&self) -> Result<Assessment, JobError> {
        Ok(Adviser::new(self)?.at_last(self))
    }

    /// Odds of every condition, in the order of the description; `earlier` are the chances of each to
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

    /// Chance of each condition to be there now and stop the engine, in the order of the description.
    ///
    /// # Errors
    /// [`JobError::Impossible`].
    pub fn cause_chances(&self) -> Result<Vec<f64>, JobError> {
        let (bench, work) = FindingsNetwork::new(self)?;
        Ok(self.chances_to_act(&bench, &|var| bench.tree.marginal(&work, var)))
    }

    /// The same from marginals.
    fn chances_to_act(&self, bench: &FindingsNetwork, marginals: &dyn Fn(VarId) -> Vec<f64>) -> Vec<f64> {
        self.chances(|part| marginals(bench.variables.now(part)))
    }

    /// The same from marginals of parts, at whatever time.
    fn chances(&self, marginal: impl Fn(PartId) -> Vec<f64>) -> Vec<f64> {
        let chance = |id: ConditionId| self.condition_odds(id, &marginal(self.machine.part_of(id))).0;
        self.machine.condition_ids().map(chance).collect()
    }

    /// What the job took so far, by the descriptions of its steps.
    #[must_use]
    pub fn spent(&self) -> Spent {
        steps::spent(self)
    }

    /// What somebody begins with who knows the causes; none where handing over is cheaper.
    pub(crate) fn best_for(&self, acting: &[ConditionId]) -> Option<RepairId> {
        let set = acting.iter().fold(0, |set, c| set | bit(*c));
        self.prices().known(set, steps::open_bits(self)).first.map(RepairId::new)
    }

    /// What a plain try to start costs.
    pub(crate) fn attempt_cost(&self) -> f64 {
        steps::toll(self, self.machine.file().attempt.minutes, 0.0).cost
    }

    fn prices(&self) -> Prices {
        let file = self.machine.file();
        let price = |r: RepairId| {
            let model = &self.machine.model.repairs[r];
            let repair = file.repair(r);
            let possible = model.needs.tools.iter().all(|t| self.has(*t));
            RepairPrice {
                // A repair that the kit cannot do cures nothing, so that places stay the same.
                cures: if possible { model.cures.iter().map(|c| bit(*c)).fold(0, |a, b| a | b) } else { 0 },
                takes: repair.takes,
                toll: steps::toll(self, repair.minutes, repair.parts_cost.typical),
                setups: steps::bits(&model.needs.setups),
            }
        };
        Prices::new(
            (0..file.repairs.len()).map(|r| price(RepairId::new(r))).collect(),
            steps::toll(self, file.attempt.minutes, 0.0),
            self.machine_value.map_or(self.hand_over_cost, |worth| worth.min(self.hand_over_cost)),
            file.setups.iter().map(|s| steps::toll(self, s.minutes, 0.0)).collect(),
        )
    }
}

impl Outcome {
    /// In words, for people.
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
