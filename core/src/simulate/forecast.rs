//! Predicted and observed rests of jobs.

use serde::Serialize;

use super::play::{Forecast, SimulatedJob};
use super::summary::SampleSummary;

/// Predictions at one decision, compared with what came, over the jobs that reached it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ForecastSummary {
    /// Number of the decision, from 1.
    pub decision: usize,
    /// Number of jobs that reached it.
    pub jobs: usize,
    /// Cost from the decision to the end.
    pub cost: PredictedObserved,
    /// Minutes from the decision to the end.
    pub minutes: PredictedObserved,
    /// Share of engines that run in the end.
    pub runs: PredictedObserved,
}

/// Means of a predicted and an observed number.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PredictedObserved {
    /// Mean prediction.
    pub predicted: f64,
    /// Mean observation.
    pub observed: f64,
    /// Mean of observed minus predicted.
    pub difference: f64,
    /// Standard error of the difference, by jobs.
    pub error: f64,
}

impl PredictedObserved {
    /// The means of pairs of a prediction and an observation.
    fn of(pairs: &[(f64, f64)]) -> Self {
        let mean = |of: &dyn Fn(&(f64, f64)) -> f64| SampleSummary::of(pairs.iter().map(of).collect());
        let difference = mean(&|(predicted, observed)| observed - predicted);
        PredictedObserved {
            predicted: mean(&|(predicted, _)| *predicted).mean,
            observed: mean(&|(_, observed)| *observed).mean,
            difference: difference.mean,
            error: difference.error,
        }
    }
}

impl ForecastSummary {
    /// The summaries of the predictions of some jobs; empty for a policy that predicts nothing.
    #[must_use]
    pub fn of(jobs: &[SimulatedJob]) -> Vec<Self> {
        let of_decision = |decision: usize| {
            let all: Vec<&Forecast> =
                jobs.iter().flat_map(|job| &job.forecasts).filter(|f| f.decision == decision).collect();
            let pairs = |pair: &dyn Fn(&Forecast) -> (f64, f64)| {
                PredictedObserved::of(&all.iter().map(|forecast| pair(forecast)).collect::<Vec<_>>())
            };
            (!all.is_empty()).then(|| ForecastSummary {
                decision,
                jobs: all.len(),
                cost: pairs(&|f| (f.estimate.cost.mean, f.cost)),
                minutes: pairs(&|f| (f.estimate.minutes.mean, f.minutes)),
                runs: pairs(&|f| (f.estimate.p_runs, f64::from(u8::from(f.runs)))),
            })
        };
        Forecast::DECISIONS.into_iter().filter_map(of_decision).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn predicted_and_observed_by_hand() {
        // Differences: 2, -1, 5. Mean 2; squares about it 0 + 9 + 9; 18 / 3 / 2 = 3.
        let means = PredictedObserved::of(&[(10.0, 12.0), (4.0, 3.0), (1.0, 6.0)]);
        assert!((means.predicted - 5.0).abs() < 1e-12 && (means.observed - 7.0).abs() < 1e-12);
        assert!((means.difference - 2.0).abs() < 1e-12 && (means.error - 3.0_f64.sqrt()).abs() < 1e-12);
    }
}
