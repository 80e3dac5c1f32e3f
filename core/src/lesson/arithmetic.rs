//! The arithmetic of one step for one cause, in whole machines and as odds times a factor.

use serde::Serialize;

use super::odds_history::{Belief, belief, decibans, odds};
use crate::job::{Found, Job, JobError, JobRule, Step};
use crate::machine::ConditionId;

/// The change of the odds of one cause by one step.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Arithmetic {
    /// Place of the step in the job, from 0.
    pub step: usize,
    /// Name of the cause, for people.
    pub name: String,
    /// Whether the step is a finding. A repair changes the machine and is no evidence.
    pub finding: bool,
    /// Place of the earlier finding of the same check that this one replaces. The odds before the step are
    /// those without it.
    pub replaces: Option<usize>,
    /// Chance of the cause before the step.
    pub prior: f64,
    /// Chance of the cause after the step.
    pub posterior: f64,
    /// Odds before the step; none where they are 0 or infinite. The same holds for the next three fields.
    pub prior_odds: Option<f64>,
    /// Likelihood ratio: how many times more often the finding occurs with the cause than without it. The
    /// odds are multiplied by it.
    pub factor: Option<f64>,
    /// Odds after the step.
    pub posterior_odds: Option<f64>,
    /// Ten times the common logarithm of the factor.
    pub weight: Option<f64>,
    /// Chance of the finding if the cause is present, given everything before.
    pub found_if: f64,
    /// Chance of the finding if the cause is absent, given everything before.
    pub found_if_not: f64,
    /// Whether only the ratio of the two chances is meaningful. A number on a fine scale is rare in every
    /// state of the machine, so it counts relative to the state that makes it most likely.
    pub relative: bool,
    /// The same arithmetic in whole machines.
    pub of: Frequencies,
}

/// Machines for which everything is known that was known before the step (natural frequencies: Gigerenzer and
/// Hoffrage 1995).
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Frequencies {
    /// How many machines are considered.
    pub all: u32,
    /// Of them, how many have the cause.
    pub with: u32,
    /// Of these, how many show the finding.
    pub with_found: u32,
    /// How many do not have the cause.
    pub without: u32,
    /// Of these, how many show the finding.
    pub without_found: u32,
}

/// Numbers of machines to choose from: the first of them in which the cause is not too rare.
const MACHINES: [u32; 3] = [1_000, 10_000, 100_000];
/// Minimum number of machines with the cause.
const FEW: f64 = 5.0;

/// The arithmetic of one step for one cause.
///
/// # Errors
/// A step or a cause that does not exist, and [`JobError::Impossible`].
pub fn arithmetic(job: &Job, step: usize, part: &str, condition: &str) -> Result<Arithmetic, JobError> {
    let Some(done) = job.steps.get(step) else {
        return Err(JobError::rule("step", JobRule::NoStep { steps: job.steps.len() }));
    };
    let cause = find(job, part, condition)?;
    let (before, after, replaces) = around(job, step)?;
    let (prior, posterior) = (before.p[cause.index()], after.p[cause.index()]);
    // Both are probabilities of the same findings but one, so their difference gives the chance of that one.
    let found = (after.log_p - before.log_p).exp();
    let share = |joint: f64, of: f64| if of > 0.0 { (found * joint / of).min(1.0) } else { 0.0 };
    let found_if = share(posterior, prior);
    let found_if_not = share(1.0 - posterior, 1.0 - prior);
    let (prior_odds, posterior_odds) = (odds(prior), odds(posterior));
    let factor = prior_odds.and_then(|before| Some(posterior_odds? / before));
    Ok(Arithmetic {
        step,
        name: job.machine.condition(cause).1.name.clone(),
        finding: !matches!(done, Step::Repair { .. }),
        replaces,
        prior,
        posterior,
        prior_odds,
        factor,
        posterior_odds,
        weight: factor.and_then(decibans),
        found_if,
        found_if_not,
        relative: matches!(done, Step::Check { finding: Found::Reading(..), .. }),
        of: frequencies(prior, found_if, found_if_not),
    })
}

fn find(job: &Job, part: &str, condition: &str) -> Result<ConditionId, JobError> {
    let same = |id: &ConditionId| {
        let (p, c) = job.machine.condition(*id);
        p.id == part && c.id == condition
    };
    job.machine.condition_ids().find(same).ok_or_else(|| {
        let (part, condition) = (part.to_owned(), condition.to_owned());
        JobError::rule("cause", JobRule::NoCondition { part, condition })
    })
}

/// The beliefs before and after a step, and the place of an earlier finding that the step replaces. The
/// belief before leaves that finding out.
fn around(job: &Job, step: usize) -> Result<(Belief, Belief, Option<usize>), JobError> {
    let (before, after) = (job.first(step), job.first(step + 1));
    let earlier = before.steps.iter().rposition(|s| match (s, &job.steps[step]) {
        (Step::Check { check: a, .. }, Step::Check { check: b, .. }) => a == b,
        _ => false,
    });
    let belief_after = belief(&after)?;
    if let Some(place) = earlier {
        let without = belief(&after.without(place))?;
        // A finding in force changes the probability of the findings; a replaced one does not.
        if (without.log_p - belief_after.log_p).abs() < crate::precision::EXACT {
            return Ok((belief(&before.without(place))?, belief_after, Some(place)));
        }
    }
    Ok((belief(&before)?, belief_after, None))
}

fn frequencies(prior: f64, found_if: f64, found_if_not: f64) -> Frequencies {
    let enough = |n: &&u32| f64::from(**n) * prior >= FEW;
    let all = *MACHINES.iter().find(enough).unwrap_or(&MACHINES[MACHINES.len() - 1]);
    let whole = |x: f64| x.round() as u32;
    let with = whole(f64::from(all) * prior);
    let without = all - with;
    Frequencies {
        all,
        with,
        with_found: whole(f64::from(with) * found_if),
        without,
        without_found: whole(f64::from(without) * found_if_not),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{JobFile, StepRecord};
    use crate::lesson::mower;

    fn demo() -> JobFile {
        JobFile::demo().expect("the demo job is valid")
    }

    #[test]
    fn odds_times_factor_are_the_odds_after() {
        let file = demo();
        let job = Job::new(mower(), &file).expect("valid");
        for step in 0..file.steps.len() {
            let a = arithmetic(&job, step, "stop-lead", "grounded").expect("possible");
            // Bayes' rule in its two forms, each with a handful of roundings.
            let (before, factor, after) =
                (a.prior_odds.expect("open"), a.factor.expect("open"), a.posterior_odds.expect("open"));
            assert!((before * factor / after - 1.0).abs() < 1e-9);
            assert!((a.found_if / a.found_if_not / factor - 1.0).abs() < 1e-6, "step {step}: {a:?}");
            assert_eq!(a.finding, !matches!(file.steps[step], StepRecord::Repair { .. }));
        }
    }

    #[test]
    fn a_step_s_chances_are_those_of_the_outlook() {
        // After 13 steps the advice says how likely the engine is to run with the stop lead off; the
        // demo job then tries that. The two come by different roads.
        let file = demo();
        let before = JobFile { steps: file.steps[..13].to_vec(), ..file.clone() };
        let job = Job::new(mower(), &file).expect("valid");
        let answer = Job::new(mower(), &before).and_then(|j| j.assess_in_full()).expect("possible");
        let step = answer.ranking.iter().find(|s| s.id == "stop-lead-off").expect("it can be done");
        let a = arithmetic(&job, 13, "stop-lead", "grounded").expect("possible");
        let found = a.prior * a.found_if + (1.0 - a.prior) * a.found_if_not;
        assert!((found - step.results[0].p).abs() < 1e-9, "{found} {}", step.results[0].p);
    }

    #[test]
    fn whole_machines_add_up() {
        let f = frequencies(0.04, 0.5, 0.1);
        assert_eq!(f, Frequencies { all: 1000, with: 40, with_found: 20, without: 960, without_found: 96 });
        // A rare cause is looked for among more machines.
        assert_eq!(frequencies(0.0007, 1.0, 0.0).all, 10_000);
        assert_eq!(frequencies(0.0, 1.0, 0.0).with, 0);
    }

    #[test]
    fn a_finding_made_again_is_compared_with_what_was_known_without_it() {
        let mut file = demo();
        file.steps.truncate(5);
        let mut again = file.clone();
        again.steps.push(StepRecord::Check {
            check: "filter-look".into(),
            result: Some("dirty".into()),
            reading: None,
            known: None,
        });
        let job = Job::new(mower(), &again).expect("valid");
        let second = arithmetic(&job, 5, "filter", "dirty").expect("possible");
        let first = arithmetic(&job, 4, "filter", "dirty").expect("possible");
        assert_eq!(second.replaces, Some(4));
        assert_eq!(first.replaces, None);
        assert!((second.prior - first.prior).abs() < 1e-12);
        assert!((second.posterior - first.posterior).abs() < 1e-12);
    }

    #[test]
    fn what_is_not_there_is_told() {
        let job = Job::new(mower(), &demo()).map(|j| j.first(2)).expect("valid");
        assert!(arithmetic(&job, 2, "stop-lead", "grounded").is_err());
        let error = arithmetic(&job, 0, "stop-lead", "ground").expect_err("no such condition");
        assert_eq!(error.to_string(), "at cause: the machine has no condition \"stop-lead/ground\"");
    }
}
