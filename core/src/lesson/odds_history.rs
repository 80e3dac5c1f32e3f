//! The odds of every cause before the first step and after each one.

use serde::Serialize;

use crate::job::{FindingsNetwork, Job, JobError};

/// The odds of all causes over a job.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct OddsHistory {
    /// Every condition, in the order of the description.
    pub causes: Vec<CauseHistory>,
    /// Number of points in time: one more than the steps.
    pub times: usize,
}

/// The odds of one condition over a job.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct CauseHistory {
    /// Id of the part.
    pub part: String,
    /// Id of the condition.
    pub condition: String,
    /// Name for people.
    pub name: String,
    /// Id of the subsystem.
    pub subsystem: String,
    /// Chance that it stopped the machine on arrival: before the first step, then after each step.
    pub p: Vec<f64>,
    /// By step: ten times the common logarithm of the factor on the odds (decibans: Good 1950); none where
    /// the odds are 0 or infinite.
    pub weights: Vec<Option<f64>>,
}

/// The odds of all causes over a job.
///
/// # Errors
/// [`JobError::Impossible`].
pub fn odds_history(job: &Job) -> Result<OddsHistory, JobError> {
    let times = job.steps.len() + 1;
    let columns: Vec<Vec<f64>> =
        (0..times).map(|n| Ok(belief(&job.first(n))?.p)).collect::<Result<_, JobError>>()?;
    let machine = job.machine;
    let causes = machine
        .condition_ids()
        .map(|id| {
            let (part, condition) = machine.condition(id);
            let p: Vec<f64> = columns.iter().map(|column| column[id.index()]).collect();
            CauseHistory {
                part: part.id.clone(),
                condition: condition.id.clone(),
                name: condition.name.clone(),
                subsystem: part.subsystem.clone(),
                weights: p.windows(2).map(|w| decibans(odds(w[1])? / odds(w[0])?)).collect(),
                p,
            }
        })
        .collect();
    Ok(OddsHistory { causes, times })
}

/// The belief about a job.
pub(super) struct Belief {
    /// By condition: chance that it stopped the machine on arrival.
    pub(super) p: Vec<f64>,
    /// Natural logarithm of the probability of all findings.
    pub(super) log_p: f64,
}

pub(super) fn belief(job: &Job) -> Result<Belief, JobError> {
    let (bench, work) = FindingsNetwork::new(job)?;
    let chance = |id| {
        let var = bench.variables.at_arrival(job.machine.part_of(id));
        job.condition_odds(id, &bench.tree.marginal(&work, var)).0
    };
    Ok(Belief {
        p: job.machine.condition_ids().map(chance).collect(),
        log_p: bench.tree.log_p_evidence(&work),
    })
}

/// Odds of a chance; none where they are 0 or infinite.
pub(super) fn odds(p: f64) -> Option<f64> {
    (p > 0.0 && p < 1.0).then(|| p / (1.0 - p))
}

/// The weight of a factor on the odds, in decibans.
pub(super) fn decibans(factor: f64) -> Option<f64> {
    (factor > 0.0 && factor.is_finite()).then(|| 10.0 * factor.log10())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::JobFile;
    use crate::lesson::mower;

    #[test]
    fn the_last_column_is_what_the_advice_says() {
        let file = JobFile::demo().expect("the demo job is valid");
        let job = Job::new(mower(), &file).expect("valid");
        let course = odds_history(&job).expect("possible");
        let answer = job.assess().expect("possible");
        assert_eq!(course.times, file.steps.len() + 1);
        for cause in &course.causes {
            let said = answer
                .causes
                .iter()
                .find(|c| c.part == cause.part && c.condition == cause.condition)
                .expect("the same machine");
            let last = cause.p[course.times - 1];
            assert!((last - said.p_was_cause).abs() < 1e-9, "{}: {last} {}", cause.name, said.p_was_cause);
        }
    }

    #[test]
    fn weights_add_up_and_repairs_weigh_nothing() {
        let file = JobFile::demo().expect("the demo job is valid");
        let job = Job::new(mower(), &file).expect("valid");
        let course = odds_history(&job).expect("possible");
        for cause in &course.causes {
            let Some(weights) = cause.weights.iter().copied().collect::<Option<Vec<f64>>>() else { continue };
            let (Some(first), Some(last)) = (odds(cause.p[0]), odds(cause.p[course.times - 1])) else {
                continue;
            };
            // Ten logarithms of factors; each is right to some 1e-12.
            let sum: f64 = weights.iter().sum();
            assert!((sum - 10.0 * (last / first).log10()).abs() < 1e-6, "{}", cause.name);
            // Step 6 fits a new filter: an act and no finding.
            assert!(weights[5].abs() < 1e-6, "{}: {}", cause.name, weights[5]);
        }
    }
}
