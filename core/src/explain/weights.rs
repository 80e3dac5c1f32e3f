//! The weight of every step on every cause.
//!
//! The weight *in order* is what a step does to the odds, given the steps before it. The weight *left out* is
//! what the odds lose without the step, given all the others. The weights in order sum to the whole change of
//! the odds. The weights left out do not, where findings are redundant or depend on each other. Weights are
//! in decibans: ten times the common logarithm of the factor on the odds (Good 1950, "Probability and the
//! weighing of evidence").
//!
//! The odds are those of the bench: what stops the engine now; once it runs, what stopped it before. A repair
//! acts on the odds of the conditions that it cures, and a failed attempt after it is evidence for all the
//! others. If a check is repeated with nothing changed in between, its weight left out is that of the
//! correction.

use serde::Serialize;

use crate::job::{FindingsNetwork, Job, JobError};
use halfsplit_bayes::support::parallel;

/// The weight of every step on one cause.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct CauseWeights {
    /// Id of the part.
    pub part: String,
    /// Id of the condition.
    pub condition: String,
    /// Name for people.
    pub name: String,
    /// Chance of it before the first step, then after each.
    pub p: Vec<f64>,
    /// By step: its weight given the steps before it, in decibans; none where the odds are 0 or infinite.
    pub in_order: Vec<Option<f64>>,
    /// By step: chance of the cause without the step, given all the others; none where the others exclude
    /// each other.
    pub p_without: Vec<Option<f64>>,
    /// By step: its weight given all the others, in decibans; none where the odds are 0 or infinite, or the
    /// others exclude each other.
    pub left_out: Vec<Option<f64>>,
}

/// Odds of a chance; none where they are 0 or infinite.
fn odds(p: f64) -> Option<f64> {
    (p > 0.0 && p < 1.0).then(|| p / (1.0 - p))
}

/// The weight of a change from one chance to another, in decibans.
pub(super) fn weight(from: f64, to: f64) -> Option<f64> {
    Some(10.0 * (odds(to)? / odds(from)?).log10())
}

/// Chance of each condition to be the cause, in the order of the description.
pub(super) fn chances(job: &Job, now: bool) -> Result<Vec<f64>, JobError> {
    let (bench, work) = FindingsNetwork::new(job)?;
    let chance = |id| {
        let part = job.machine.part_of(id);
        let var = if now { bench.variables.now(part) } else { bench.variables.at_arrival(part) };
        job.condition_odds(id, &bench.tree.marginal(&work, var)).0
    };
    Ok(job.machine.condition_ids().map(chance).collect())
}

/// The weight of every step on every cause, in the order of the description.
///
/// # Errors
/// [`JobError::Impossible`].
pub(super) fn weights(job: &Job) -> Result<Vec<CauseWeights>, JobError> {
    let count = job.steps.len();
    let now = !job.is_running();
    let jobs = (0..=count).map(|n| job.first(n)).chain((0..count).map(|step| job.without(step))).collect();
    let mut columns = parallel::each(jobs, |job| chances(&job, now));
    let without: Vec<Option<Vec<f64>>> = columns
        .split_off(count + 1)
        .into_iter()
        .map(|column| match column {
            Ok(p) => Ok(Some(p)),
            Err(JobError::Impossible { .. }) => Ok(None),
            Err(error) => Err(error),
        })
        .collect::<Result<_, _>>()?;
    let columns: Vec<Vec<f64>> = columns.into_iter().collect::<Result<_, _>>()?;
    let machine = job.machine;
    let of_cause = |at: usize| {
        let p: Vec<f64> = columns.iter().map(|column| column[at]).collect();
        let p_without: Vec<Option<f64>> = without.iter().map(|column| Some(column.as_ref()?[at])).collect();
        (p, p_without)
    };
    Ok(machine
        .condition_ids()
        .map(|id| {
            let (part, condition) = machine.condition(id);
            let (p, p_without) = of_cause(id.index());
            CauseWeights {
                part: part.id.clone(),
                condition: condition.id.clone(),
                name: condition.name.clone(),
                in_order: p.windows(2).map(|w| weight(w[0], w[1])).collect(),
                left_out: p_without.iter().map(|without| weight((*without)?, p[count])).collect(),
                p,
                p_without,
            }
        })
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::JobFile;
    use crate::lesson::{mower, play};
    use crate::precision::EXACT;

    /// Decibans between two odds that differ by no more than rounding, where the odds are no smaller
    /// than 1e-6: ten logarithms of 1 + 1e-3.
    const ROUNDED: f64 = 10.0 * 4.4e-4;

    #[test]
    fn a_roll_of_the_loaded_die() {
        // Good 1950: nine fair dice and one that shows a six with chance 1/3; values as recomputed by hand.
        assert!((10.0 * odds(0.1).expect("open").log10() + 9.54).abs() < 0.005);
        let after = |loaded: f64, fair: f64| 0.1 * loaded / (0.1 * loaded + 0.9 * fair);
        let six = weight(0.1, after(1.0 / 3.0, 1.0 / 6.0)).expect("open");
        let other = weight(0.1, after(2.0 / 3.0, 5.0 / 6.0)).expect("open");
        assert!((six - 3.01).abs() < 0.005 && (other + 0.97).abs() < 0.005, "{six} {other}");
        // Ten sixes in twenty add 20.41, which makes +10.87 and a chance of 0.9243.
        let after: f64 = 10.0 * odds(0.1).expect("open").log10() + 10.0 * (six + other);
        let odds_after = 10f64.powf(after / 10.0);
        assert!((after - 10.87).abs() < 0.005, "{after}");
        assert!((odds_after / (1.0 + odds_after) - 0.9243).abs() < 0.00005);
    }

    #[test]
    fn a_finding_that_proves_or_rules_out_has_no_weight() {
        assert_eq!(weight(0.3, 1.0), None);
        assert_eq!(weight(0.3, 0.0), None);
        assert_eq!(weight(0.0, 0.2), None);
    }

    #[test]
    fn weights_in_order_add_up_to_the_whole_shift_on_any_job() {
        for seed in 0..6 {
            let played = play(mower(), seed).expect("a job");
            let job = Job::new(mower(), &played.job).expect("valid");
            for cause in weights(&job).expect("possible") {
                let Some(each) = cause.in_order.iter().copied().collect::<Option<Vec<f64>>>() else {
                    continue;
                };
                if cause.p.iter().any(|p| *p < 1e-6) {
                    continue;
                }
                let whole = weight(cause.p[0], cause.p[each.len()]).expect("open");
                assert!((each.iter().sum::<f64>() - whole).abs() < ROUNDED, "{seed} {}", cause.name);
            }
        }
    }

    #[test]
    fn left_out_is_the_same_job_recorded_without_the_step() {
        let file = JobFile::demo().expect("the demo job is valid");
        let job = Job::new(mower(), &file).expect("valid");
        let all = weights(&job).expect("possible");
        let whole = chances(&job, !job.is_running()).expect("possible");
        for (step, _) in file.steps.iter().enumerate() {
            let mut shorter = file.clone();
            shorter.steps.remove(step);
            // Looking back or not is decided by the whole job.
            let shorter = Job::new(mower(), &shorter).expect("valid");
            let without = chances(&shorter, !job.is_running()).expect("possible");
            for (at, cause) in all.iter().enumerate() {
                let p = cause.p_without[step].expect("possible");
                assert!(
                    (p - without[at]).abs() < EXACT && (cause.p[file.steps.len()] - whole[at]).abs() < EXACT
                );
                assert_eq!(cause.left_out[step], weight(p, cause.p[file.steps.len()]));
            }
        }
    }
}
