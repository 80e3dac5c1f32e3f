//! What to do next, and how the odds stand.
//!
//! Every check, start attempt, bypass and repair that can be done now is ranked by the expected cost
//! until the engine runs or is handed over, if that step comes first. For a check or an attempt that
//! is its own cost plus the mean, over its results, of what the repair plan costs then (one step
//! ahead: the expected value of sample information, Raiffa and Schlaifer 1961). For a repair it is
//! the plan that begins with it.

mod answer;
mod plan;
mod sets;
mod steps;
mod verdict;
mod why;

pub use answer::{
    Abnormal, Assessment, CauseOdds, Leader, NotNow, ResultOutlook, Spent, Standing, StepAdvice, StepKind,
    Verdict, VerdictKind,
};

use crate::inference::{Evidence, Workspace};
use crate::job::{Bench, Job, JobError, Outcome, Scope};
use crate::machine::{BypassId, ConditionId, RepairId};
use crate::network::VarId;
use crate::precision::TIE;
use plan::{First, Prices, RepairPrice};
use sets::{CauseSet, ResultPosterior, SetPosterior, bit};
use steps::Action;

impl Job<'_> {
    /// The odds of every cause and the ranking of everything that can be done next.
    ///
    /// # Errors
    /// [`JobError::Impossible`] where findings exclude each other, naming the smallest set of them.
    pub fn assess(&self) -> Result<Assessment, JobError> {
        let bench = Bench::new(self, Scope::Ahead)?;
        let mut work = bench.tree.workspace();
        bench.tree.propagate(&mut work, &Evidence::new());
        let marginals = |var: VarId| bench.tree.marginal(&work, var);
        let causes = self.causes(&bench, &work)?;
        let p_cause: Vec<f64> = causes.iter().map(|c| c.p_cause).collect();
        let log_p = bench.tree.log_p_evidence(&work);
        let sets = match &bench.ahead {
            Some(ahead) => SetPosterior::new(self, &bench, ahead, &p_cause, log_p),
            None => return Err(JobError::rule("job", "no look ahead was built")),
        };
        let standing = if self.is_running() { Standing::Running } else { Standing::Open };

        let mut not_now = Vec::new();
        let mut ranking = Vec::new();
        if standing == Standing::Open {
            let ranker =
                Ranker { job: self, prices: self.prices(), sets: &sets, open: steps::open_setups(self) };
            let checks = sets.checks.iter().map(|(check, _)| Action::Check(*check));
            let bypasses =
                (0..self.machine.file().bypasses.len()).map(|b| Action::Attempt(Some(BypassId::new(b))));
            let repairs = (0..self.machine.file().repairs.len()).map(|r| Action::Repair(RepairId::new(r)));
            for action in checks.chain([Action::Attempt(None)]).chain(bypasses).chain(repairs) {
                let described = steps::describe(self, &action);
                match steps::obstacle(self, &bench, &marginals, &described) {
                    Some(obstacle) => not_now.push(obstacle),
                    None => ranking.extend(ranker.rate(&action)),
                }
            }
            ranking.push(ranker.hand_over());
            rank(&mut ranking);
            let alive = why::Situation {
                expected_now: ranker.value(&sets.p, sets.p_beyond),
                leader: ranker.leader(&sets.p),
            };
            ranking.iter_mut().for_each(|step| step.why = why::sentence(step, &alive));
        }
        let mut causes = causes;
        sort_causes(&mut causes, standing);
        Ok(Assessment {
            machine: self.machine.id().to_owned(),
            standing,
            p_no_cause: sets.p.first().copied().unwrap_or(0.0),
            next: ranking.first().cloned(),
            expected_cost: ranking.first().map_or(0.0, |s| s.expected_cost),
            abnormal: verdict::abnormal_findings(self, &bench, &marginals),
            spent: steps::spent(self),
            log_p_evidence: log_p,
            p_beyond: sets.p_beyond,
            causes,
            ranking,
            not_now,
        })
    }

    /// Odds of every condition, in the order of the description.
    fn causes(&self, bench: &Bench, work: &Workspace) -> Result<Vec<CauseOdds>, JobError> {
        let earlier = if self.steps.is_empty() { None } else { Some(self.before_last().cause_chances()?) };
        let odds = |condition: ConditionId, var: VarId| {
            Bench::condition_odds(self, condition, &bench.tree.marginal(work, var))
        };
        Ok(self
            .machine
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
                    p_cause_before: earlier.as_ref().map_or(p_cause, |e| e[id.index()]),
                    repaired: bench.is_repaired(part_id),
                }
            })
            .collect())
    }

    /// Chance of each condition to be there now and stop the engine, in the order of the description.
    ///
    /// # Errors
    /// [`JobError::Impossible`].
    pub fn cause_chances(&self) -> Result<Vec<f64>, JobError> {
        let bench = Bench::new(self, Scope::Findings)?;
        let mut work = bench.tree.workspace();
        bench.tree.propagate(&mut work, &Evidence::new());
        let chance = |id: ConditionId| {
            let part = self.machine.part_of(id);
            Bench::condition_odds(self, id, &bench.tree.marginal(&work, bench.now(part))).0
        };
        Ok(self.machine.condition_ids().map(chance).collect())
    }

    fn prices(&self) -> Prices {
        let file = self.machine.file();
        let price = |r: RepairId| {
            let model = &self.machine.model.repairs[r.index()];
            let repair = &file.repairs[r.index()];
            let closed = vec![false; file.setups.len()];
            let minutes = repair.minutes + steps::setup_minutes(self, &model.needs.setups, &closed);
            let possible = model.needs.tools.iter().all(|t| self.has(*t));
            RepairPrice {
                // A repair that the kit cannot do cures nothing, so that places stay the same.
                cures: if possible { model.cures.iter().map(|c| bit(*c)).fold(0, |a, b| a | b) } else { 0 },
                takes: repair.takes,
                cost: steps::money(self, minutes) + repair.parts_cost.typical,
            }
        };
        Prices::new(
            (0..file.repairs.len()).map(|r| price(RepairId::new(r))).collect(),
            steps::money(self, file.attempt.minutes),
            self.hand_over_cost,
        )
    }
}

/// Best first; equally good steps stay in the order of the description.
fn rank(ranking: &mut [StepAdvice]) {
    ranking.sort_by(|a, b| a.expected_cost.total_cmp(&b.expected_cost));
    // Sorting is stable, but two routes to the same number may differ in the last digits.
    let least = ranking.first().map_or(0.0, |s| s.expected_cost);
    let level = |s: &StepAdvice| s.expected_cost <= least * (1.0 + TIE);
    let tied = ranking.iter().take_while(|s| level(s)).count();
    ranking[..tied].sort_by_key(|s| (s.kind, s.id.clone()));
}

fn sort_causes(causes: &mut [CauseOdds], standing: Standing) {
    let key = |c: &CauseOdds| match standing {
        Standing::Open => c.p_cause,
        Standing::Running => c.p_was_cause,
    };
    causes.sort_by(|a, b| key(b).total_cmp(&key(a)));
}

struct Ranker<'a> {
    job: &'a Job<'a>,
    prices: Prices,
    sets: &'a SetPosterior,
    open: Vec<bool>,
}

impl Ranker<'_> {
    /// An action with its expected cost; none where the findings leave it nothing to do.
    fn rate(&self, action: &Action) -> Option<StepAdvice> {
        let described = steps::describe(self.job, action);
        let minutes = described.minutes + steps::setup_minutes(self.job, &described.needs.setups, &self.open);
        let cost = steps::money(self.job, minutes) + described.parts_cost;
        let mut step = StepAdvice {
            kind: described.kind,
            id: described.id.to_owned(),
            name: described.name.to_owned(),
            minutes,
            parts_cost: described.parts_cost,
            cost,
            expected_cost: 0.0,
            information_bits: 0.0,
            results: Vec::new(),
            why: String::new(),
        };
        match action {
            Action::Check(check) => {
                let (_, results) = self.sets.checks.iter().find(|(c, _)| c == check)?;
                let authored = &self.job.machine.file().checks[check.index()].results;
                let names = authored.iter().map(|r| (r.id.as_str(), r.name.as_str()));
                self.observe(&mut step, results, names, false);
            }
            Action::Attempt(bypass) => {
                let results = self.sets.attempt(self.job, *bypass);
                let names = Outcome::ALL.iter().map(|o| (o.id(), o.words()));
                self.observe(&mut step, &results, names, bypass.is_none());
            }
            Action::Repair(repair) => {
                let r = repair.index();
                if self.prices.repairs[r].cures == 0 {
                    return None;
                }
                step.expected_cost = plan::expected_cost(
                    &self.prices,
                    &self.sets.sets,
                    &self.sets.p,
                    self.sets.p_beyond,
                    First::Repair(r),
                    cost,
                );
                step.results = self.after_repair(r, step.expected_cost - cost - self.prices.attempt);
            }
        }
        Some(step)
    }

    fn hand_over(&self) -> StepAdvice {
        StepAdvice {
            kind: StepKind::HandOver,
            id: "hand-over".into(),
            name: "Stop here: hand it over or replace it".into(),
            minutes: 0.0,
            parts_cost: 0.0,
            cost: self.prices.hand_over,
            expected_cost: self.prices.hand_over,
            information_bits: 0.0,
            results: Vec::new(),
            why: String::new(),
        }
    }

    /// Expected cost from a state of knowledge: the repair plan, or handing over.
    fn value(&self, weights: &[f64], beyond: f64) -> f64 {
        plan::expected_cost(&self.prices, &self.sets.sets, weights, beyond, First::Best, 0.0)
            .min(self.prices.hand_over)
    }

    /// Fills in what an observation is worth. `ends` says that its first result is a running engine,
    /// after which nothing is left to do.
    fn observe<'n>(
        &self,
        step: &mut StepAdvice,
        results: &[ResultPosterior],
        names: impl Iterator<Item = (&'n str, &'n str)>,
        ends: bool,
    ) {
        step.results = results
            .iter()
            .zip(names)
            .enumerate()
            .map(|(r, (result, (id, name)))| {
                let done = ends && r == 0;
                ResultOutlook {
                    id: id.to_owned(),
                    name: name.to_owned(),
                    p: result.p,
                    expected_cost: if done { 0.0 } else { self.value(&result.with_set, result.beyond) },
                    leader: if done { None } else { self.leader(&result.with_set) },
                }
            })
            .collect();
        step.expected_cost = step.cost + step.results.iter().map(|r| r.p * r.expected_cost).sum::<f64>();
        step.information_bits = self.information(results);
    }

    /// What a repair with the attempt after it may come to; `rest` is the expected cost of all that
    /// follows.
    fn after_repair(&self, repair: usize, rest: f64) -> Vec<ResultOutlook> {
        let price = &self.prices.repairs[repair];
        let mut cured = 0.0;
        let mut left = Vec::new();
        for (set, p) in self.sets.sets.iter().zip(&self.sets.p) {
            let remains = set & !price.cures;
            let success = if remains != 0 {
                0.0
            } else if *set == 0 {
                1.0
            } else {
                price.takes
            };
            cured += p * success;
            // A repair that did not take leaves the set as it was.
            left.push((if remains == 0 { *set } else { remains }, p * (1.0 - success)));
        }
        let still = 1.0 - cured;
        let (sets, weights): (Vec<CauseSet>, Vec<f64>) = left.into_iter().unzip();
        vec![
            ResultOutlook {
                id: Outcome::Runs.id().into(),
                name: Outcome::Runs.words().into(),
                p: cured,
                expected_cost: 0.0,
                leader: None,
            },
            ResultOutlook {
                id: "still-not".into(),
                name: "repaired, tried again, still does not run".into(),
                p: still,
                expected_cost: if still > 0.0 { rest / still } else { 0.0 },
                leader: self.leader_of(&sets, &weights),
            },
        ]
    }

    /// The likeliest cause under some weights of the sets.
    fn leader(&self, weights: &[f64]) -> Option<Leader> {
        self.leader_of(&self.sets.sets, weights)
    }

    fn leader_of(&self, sets: &[CauseSet], weights: &[f64]) -> Option<Leader> {
        let total: f64 = weights.iter().sum();
        let mut chances = vec![0.0; self.job.machine.condition_count()];
        for (set, weight) in sets.iter().zip(weights) {
            for id in self.job.machine.condition_ids().filter(|c| set & bit(*c) != 0) {
                chances[id.index()] += weight / total;
            }
        }
        let best = self
            .job
            .machine
            .condition_ids()
            .max_by(|a, b| chances[a.index()].total_cmp(&chances[b.index()]).then(b.cmp(a)))?;
        let (part, condition) = self.job.machine.condition(best);
        (total > 0.0).then(|| Leader {
            part: part.id.clone(),
            condition: condition.id.clone(),
            name: condition.name.clone(),
            p_cause: chances[best.index()],
        })
    }

    /// Mutual information between the result and the set of causes, in bits. What is left over
    /// counts as one more set.
    fn information(&self, results: &[ResultPosterior]) -> f64 {
        let term = |joint: f64, p_result: f64, p_set: f64| {
            if joint > 0.0 && p_result > 0.0 && p_set > 0.0 {
                joint * (joint / (p_result * p_set)).log2()
            } else {
                0.0
            }
        };
        let of_result = |result: &ResultPosterior| {
            let listed: f64 =
                result.with_set.iter().zip(&self.sets.p).map(|(joint, p)| term(*joint, result.p, *p)).sum();
            listed + term(result.beyond, result.p, self.sets.p_beyond)
        };
        results.iter().map(of_result).sum::<f64>().max(0.0)
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
