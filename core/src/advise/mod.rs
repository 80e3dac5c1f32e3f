//! What to do next, and how the odds stand.
//!
//! Every check, start attempt, bypass and repair that can be done now is ranked by the expected cost
//! until the engine runs or is handed over, if that step comes first (`rank.rs`).

mod answer;
mod estimate;
mod look;
mod plan;
mod possible;
mod price;
mod rank;
mod remark;
mod sets;
mod steps;
mod verdict;
mod why;

pub use answer::{
    Abnormal, Assessment, CauseOdds, Estimate, Leader, NotNow, Obstacle, Remark, RemarkKind, ResultOutlook,
    Spent, Spread, Standing, StepAdvice, StepKind, Verdict, VerdictKind,
};

pub(crate) use possible::Possible;

use crate::job::{Bench, Job, JobError, Outcome, Scope};
use crate::machine::{BypassId, ConditionId, RepairId};
use crate::network::VarId;
use crate::order::largest_first;
use crate::parallel;
use price::{Prices, RepairPrice, Toll};
use rank::Ranker;
use sets::{SetPosterior, bit};
use steps::Action;

/// Outcomes left out of a job that is too large, at most: each is seconds of work, and a link from anywhere may bring
/// some hundreds.
const MOST_LEFT_OUT: usize = 8;

impl Job<'_> {
    /// The odds of every cause and the ranking of everything that can be done next. Where the job hangs together in
    /// too many ways to be reckoned with, outcomes of start attempts are left out, no more than needed, and
    /// [named](Assessment::left_out): a long job is answered by most of what is known.
    ///
    /// # Errors
    /// [`JobError::Impossible`] where findings exclude each other, naming the smallest set of them; a rule where the
    /// job is too large even so.
    pub fn assess(&self) -> Result<Assessment, JobError> {
        let mut answer = self.assess_as_it_is();
        let too_large = |answer: &Result<_, JobError>| answer.as_ref().is_err_and(JobError::is_tangled);
        if too_large(&answer) {
            let mut job = self.clone();
            for step in self.dispensable().into_iter().take(MOST_LEFT_OUT) {
                job.leave_out(step);
                answer = job.assess_as_it_is();
                if !too_large(&answer) {
                    break;
                }
            }
        }
        answer
    }

    /// The same, with nothing more left out: an error where it is too large.
    fn assess_as_it_is(&self) -> Result<Assessment, JobError> {
        let as_it_stands = || {
            let earlier = match self.steps.as_slice() {
                [] => None,
                _ => Some(self.before_last().cause_chances()?),
            };
            Ok::<_, JobError>((Bench::new(self, Scope::Findings)?, earlier))
        };
        let (given, as_it_stands) = parallel::both(|| Bench::given(self), as_it_stands);
        // Findings that exclude each other are told of before a job that is too large.
        let ((bench, work), earlier) = as_it_stands?;
        let (bench, given) = (&bench, given?);
        let marginals = |var: VarId| bench.tree.marginal(&work, var);
        let log_p = bench.tree.log_p_evidence(&work);
        let sets = SetPosterior::new(self, &given, &self.chances_to_act(bench, &marginals), log_p)?;
        let causes = self.causes(bench, &marginals, earlier.as_deref());
        let standing = if self.is_running() { Standing::Running } else { Standing::Open };

        let mut not_now = Vec::new();
        let mut ranking = Vec::new();
        let (mut plan_cost, mut at_least) = (0.0, 0.0);
        let mut estimate = None;
        if standing == Standing::Open {
            let checks = sets.checks.iter().map(|(check, _)| Action::Check(*check));
            let bypasses =
                (0..self.machine.file().bypasses.len()).map(|b| Action::Attempt(Some(BypassId::new(b))));
            let repairs = (0..self.machine.file().repairs.len()).map(|r| Action::Repair(RepairId::new(r)));
            let mut offered = Vec::new();
            for action in checks.chain([Action::Attempt(None)]).chain(bypasses).chain(repairs) {
                let described = steps::describe(self, &action);
                match steps::obstacle(self, bench, &marginals, &described) {
                    Some(obstacle) => not_now.push(obstacle),
                    None => offered.push(action),
                }
            }
            let prices = self.prices();
            let ranked = Ranker::new(self, &prices, &sets, &offered).rank();
            (ranking, estimate) = (ranked.steps, Some(ranked.estimate));
            (plan_cost, at_least) = (ranked.plan_cost, ranked.at_least);
        }
        let causes = sorted(causes, standing);
        Ok(Assessment {
            machine: self.machine.id().to_owned(),
            standing,
            p_no_cause: sets.p_none,
            next: ranking.first().cloned(),
            expected_cost: ranking.first().map_or(0.0, |s| s.expected_cost),
            at_least,
            plan_cost,
            abnormal: verdict::abnormal_findings(self, bench, &marginals),
            spent: steps::spent(self),
            left_out: self.left_out(),
            log_p_evidence: log_p,
            p_beyond: sets.p_beyond,
            estimate,
            remarks: remark::remarks(self.machine, &causes, &ranking),
            causes,
            ranking,
            not_now,
        })
    }

    /// Odds of every condition, in the order of the description; `earlier` are the chances of each to
    /// act before the last step.
    fn causes(
        &self,
        bench: &Bench,
        marginals: &dyn Fn(VarId) -> Vec<f64>,
        earlier: Option<&[f64]>,
    ) -> Vec<CauseOdds> {
        let odds =
            |condition: ConditionId, var: VarId| Bench::condition_odds(self, condition, &marginals(var));
        self.machine
            .condition_ids()
            .map(|id| {
                let part_id = self.machine.part_of(id);
                let (part, condition) = self.machine.condition(id);
                let (p_cause, p_present) = odds(id, bench.now(part_id));
                let (p_was_cause, p_was_present) = odds(id, bench.at_arrival(part_id));
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
        let (bench, work) = Bench::new(self, Scope::Findings)?;
        Ok(self.chances_to_act(&bench, &|var| bench.tree.marginal(&work, var)))
    }

    /// The same from marginals.
    fn chances_to_act(&self, bench: &Bench, marginals: &dyn Fn(VarId) -> Vec<f64>) -> Vec<f64> {
        let chance = |id: ConditionId| {
            let part = self.machine.part_of(id);
            Bench::condition_odds(self, id, &marginals(bench.now(part))).0
        };
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

    fn prices(&self) -> Prices {
        let file = self.machine.file();
        let price = |r: RepairId| {
            let model = &self.machine.model.repairs[r.index()];
            let repair = &file.repairs[r.index()];
            let possible = model.needs.tools.iter().all(|t| self.has(*t));
            RepairPrice {
                // A repair that the kit cannot do cures nothing, so that places stay the same.
                cures: if possible { model.cures.iter().map(|c| bit(*c)).fold(0, |a, b| a | b) } else { 0 },
                takes: repair.takes,
                toll: steps::toll(self, repair.minutes)
                    + Toll { cost: repair.parts_cost.typical, minutes: 0.0 },
                setups: steps::bits(&model.needs.setups),
            }
        };
        Prices::new(
            (0..file.repairs.len()).map(|r| price(RepairId::new(r))).collect(),
            steps::toll(self, file.attempt.minutes),
            self.hand_over_cost,
            file.setups.iter().map(|s| steps::toll(self, s.minutes)).collect(),
        )
    }
}

fn sorted(causes: Vec<CauseOdds>, standing: Standing) -> Vec<CauseOdds> {
    largest_first(causes, |c| match standing {
        Standing::Open => c.p_cause,
        Standing::Running => c.p_was_cause,
    })
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
