//! Remaining time and cost until the engine runs or is handed over, with mean and percentiles.

use super::answer::{Estimate, Spread};
use super::plan::PlanEnd;
use halfsplit_bayes::support::order::largest_first;

/// The estimate from every way in which the job may end. Their chances need not sum to 1.
pub(super) fn of(ends: &[PlanEnd]) -> Estimate {
    let all: f64 = ends.iter().map(|e| e.p).sum();
    let runs: f64 = ends.iter().filter(|e| e.runs).map(|e| e.p).sum();
    Estimate {
        p_runs: if all > 0.0 { runs / all } else { 0.0 },
        minutes: spread(ends.iter().map(|e| (e.minutes, e.p)).collect()),
        wait_hours: spread(ends.iter().map(|e| (e.wait_hours, e.p)).collect()),
        cost: spread(ends.iter().map(|e| (e.cost, e.p)).collect()),
    }
}

/// Mean and percentiles of values with their weights.
fn spread(values: Vec<(f64, f64)>) -> Spread {
    let all: f64 = values.iter().map(|(_, p)| p).sum();
    let mean = if all > 0.0 { values.iter().map(|(v, p)| v * p).sum::<f64>() / all } else { 0.0 };
    let rising = largest_first(values, |(v, _)| -v);
    let at = |share: f64| {
        let mut up_to = 0.0;
        let reached = |(_, p): &&(f64, f64)| {
            up_to += p;
            // Rounding must not carry the percentile past the value that just reaches the share.
            up_to >= share * all * (1.0 - 1e-12)
        };
        rising.iter().find(reached).or(rising.last()).map_or(0.0, |(v, _)| *v)
    };
    Spread { mean, median: at(0.5), p90: at(0.9) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn percentiles_are_the_least_values_that_hold_their_share() {
        // By hand, and in any order.
        let end = |p, cost, minutes, runs| PlanEnd { p, cost, minutes, wait_hours: minutes / 2.0, runs };
        let ends = [end(0.1, 90.0, 8.0, false), end(0.5, 5.0, 10.0, true), end(0.4, 20.0, 30.0, true)];
        let estimate = of(&ends);
        assert!((estimate.p_runs - 0.9).abs() < 1e-12);
        assert!((estimate.cost.mean - 19.5).abs() < 1e-12);
        assert_eq!((estimate.cost.median, estimate.cost.p90), (5.0, 20.0));
        assert!((estimate.minutes.mean - 17.8).abs() < 1e-12);
        assert_eq!((estimate.minutes.median, estimate.minutes.p90), (10.0, 30.0));
        assert!((estimate.wait_hours.mean - 8.9).abs() < 1e-12);
        assert_eq!((estimate.wait_hours.median, estimate.wait_hours.p90), (5.0, 15.0));
    }

    #[test]
    fn nothing_that_may_come_is_no_division_by_zero() {
        let Spread { mean, median, p90 } = of(&[]).cost;
        assert_eq!((mean, median, p90), (0.0, 0.0, 0.0));
    }
}
