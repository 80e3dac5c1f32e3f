//! Time and cost of many jobs.

use serde::Serialize;

use super::play::{Ending, SimulatedJob};

/// Time and cost of the jobs of one policy.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Summary {
    /// The policy's id.
    pub policy: &'static str,
    /// Number of jobs.
    pub jobs: usize,
    /// Minutes at the bench to the end of the job, running or handed over.
    pub minutes: SampleSummary,
    /// Minutes at the bench of the jobs that ended with the engine running; zeros if there are none.
    pub minutes_if_running: SampleSummary,
    /// Hours of waiting to the end of the job.
    pub wait_hours: SampleSummary,
    /// Price of minutes, waiting and parts, of handing over for jobs that ended so, and of putting right what was found.
    pub cost: SampleSummary,
    /// The share of the cost for putting right what was found and still there when the engine ran.
    pub put_right_cost: SampleSummary,
    /// Repairs with bought parts for conditions that were not there.
    pub wrong_parts: SampleSummary,
    /// Share of jobs that ended with the engine running.
    pub running: f64,
    /// Share of jobs that were too long to continue; they count as handed over.
    pub broken_off: f64,
}

/// Mean, median and 90th percentile (nearest rank), with the standard error of the mean.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct SampleSummary {
    /// Mean.
    pub mean: f64,
    /// Standard error of the mean.
    pub error: f64,
    /// Half of the jobs take no more than this.
    pub p50: f64,
    /// Nine of ten jobs take no more than this.
    pub p90: f64,
}

impl SampleSummary {
    pub(super) fn of(mut values: Vec<f64>) -> Self {
        if values.is_empty() {
            return SampleSummary::default();
        }
        values.sort_by(f64::total_cmp);
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
        let rank = |share: f64| values[((share * n).ceil() as usize).clamp(1, values.len()) - 1];
        SampleSummary {
            mean,
            error: (squares / n / (n - 1.0).max(1.0)).sqrt(),
            p50: rank(0.5),
            p90: rank(0.9),
        }
    }
}

impl Summary {
    /// The summary of the jobs of the policy with this id.
    #[must_use]
    pub fn of(policy: &'static str, jobs: &[SimulatedJob]) -> Self {
        let share =
            |ending| jobs.iter().filter(|j| j.ending == ending).count() as f64 / (jobs.len() as f64).max(1.0);
        let runs = jobs.iter().filter(|j| j.ending == Ending::Running);
        Summary {
            policy,
            jobs: jobs.len(),
            minutes: SampleSummary::of(jobs.iter().map(|j| j.minutes).collect()),
            minutes_if_running: SampleSummary::of(runs.map(|j| j.minutes).collect()),
            wait_hours: SampleSummary::of(jobs.iter().map(|j| j.wait_hours).collect()),
            cost: SampleSummary::of(jobs.iter().map(|j| j.cost).collect()),
            put_right_cost: SampleSummary::of(jobs.iter().map(|j| j.put_right_cost).collect()),
            wrong_parts: SampleSummary::of(jobs.iter().map(|j| f64::from(j.wrong_parts)).collect()),
            running: share(Ending::Running),
            broken_off: share(Ending::BrokenOff),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spread_is_that_of_a_reckoning_by_hand() {
        let spread = SampleSummary::of((1..=10).rev().map(f64::from).collect());
        assert!((spread.mean - 5.5).abs() < 1e-12);
        // Squares about the mean add up to 82.5; 82.5 / 10 / 9.
        assert!((spread.error - (82.5_f64 / 90.0).sqrt()).abs() < 1e-12);
        assert_eq!((spread.p50, spread.p90), (5.0, 9.0));
    }
}
