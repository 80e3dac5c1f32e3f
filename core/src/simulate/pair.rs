//! Differences between two policies on the same machines.

use serde::Serialize;

use super::play::{Ending, SimulatedJob};
use super::summary::SampleSummary;

/// What one job of a pair came to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairedOutcome {
    /// Cost of the job.
    pub cost: f64,
    /// Minutes at the bench.
    pub minutes: f64,
    /// Repairs with bought parts for conditions that were not there.
    pub wrong_parts: f64,
    /// Whether the engine ran in the end.
    pub runs: bool,
}

impl From<&SimulatedJob> for PairedOutcome {
    fn from(job: &SimulatedJob) -> Self {
        PairedOutcome {
            cost: job.cost,
            minutes: job.minutes,
            wrong_parts: f64::from(job.wrong_parts),
            runs: job.ending == Ending::Running,
        }
    }
}

/// Mean differences between jobs on the same machines, with their standard errors.
///
/// Equal seeds and numbers give equal machines, so the machines themselves add nothing to the errors.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PairedDifference {
    /// Number of pairs.
    pub jobs: usize,
    /// Difference in cost.
    pub cost: MeanDifference,
    /// Difference in minutes at the bench.
    pub minutes: MeanDifference,
    /// Difference in wrong parts.
    pub wrong_parts: MeanDifference,
    /// Difference in the share of engines that run in the end.
    pub running: MeanDifference,
}

/// A mean difference with its standard error.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MeanDifference {
    /// Mean.
    pub mean: f64,
    /// Standard error of the mean.
    pub error: f64,
}

impl PairedDifference {
    /// `these` minus `others`, job by job. Jobs without a partner are left out.
    #[must_use]
    pub fn of(these: &[PairedOutcome], others: &[PairedOutcome]) -> Self {
        let mean = |value: &dyn Fn(&PairedOutcome) -> f64| {
            let differences = these.iter().zip(others).map(|(this, other)| value(this) - value(other));
            let SampleSummary { mean, error, .. } = SampleSummary::of(differences.collect());
            MeanDifference { mean, error }
        };
        PairedDifference {
            jobs: these.len().min(others.len()),
            cost: mean(&|job| job.cost),
            minutes: mean(&|job| job.minutes),
            wrong_parts: mean(&|job| job.wrong_parts),
            running: mean(&|job| f64::from(u8::from(job.runs))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn differences_by_hand() {
        let job = |cost, runs| PairedOutcome { cost, minutes: 2.0 * cost, wrong_parts: 1.0, runs };
        let these = [job(10.0, true), job(40.0, false), job(9.0, true)];
        let others = [job(8.0, true), job(41.0, true)];
        let difference = PairedDifference::of(&these, &others);
        // 2 and -1: mean 0.5, squares about it 2.25 + 2.25; 4.5 / 2 / 1.
        assert_eq!(difference.jobs, 2);
        assert!((difference.cost.mean - 0.5).abs() < 1e-12 && (difference.cost.error - 1.5).abs() < 1e-12);
        assert!((difference.minutes.mean - 1.0).abs() < 1e-12);
        assert!((difference.running.mean + 0.5).abs() < 1e-12 && difference.wrong_parts.mean == 0.0);
    }
}
