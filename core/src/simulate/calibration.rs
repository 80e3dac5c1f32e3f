//! Calibration: of the causes with a chance of 70 to 80 %, 70 to 80 % must be the reason.

use serde::Serialize;

/// Number of bins, each a tenth wide.
const BINS: usize = 10;

/// The chances of all causes at all steps of one job, compared with the truth.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Score {
    bins: [Sums; BINS],
    /// Sum of the squared differences between chances and truth.
    squares: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Sums {
    said: u64,
    p: f64,
    was_so: u64,
    /// Variance of `was_so` if every chance is right and all are independent.
    variance: f64,
}

impl Score {
    /// Adds a chance, and whether the cause was true.
    pub fn enter(&mut self, p: f64, was_so: bool) {
        let bin = &mut self.bins[((p * BINS as f64) as usize).min(BINS - 1)];
        bin.said += 1;
        bin.p += p;
        bin.was_so += u64::from(was_so);
        bin.variance += p * (1.0 - p);
        let difference = p - f64::from(u8::from(was_so));
        self.squares += difference * difference;
    }
}

/// Calibration of the odds over many jobs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Calibration {
    /// By tenth of the chance given.
    pub bins: Vec<Bin>,
    /// Mean squared difference between a chance and the truth (1 or 0): 0 is best (Brier 1950).
    pub brier: f64,
    /// Standard error of the Brier score, by jobs.
    pub brier_error: f64,
    /// Brier score of a forecast that always gives every cause its overall frequency.
    pub brier_of_shares: f64,
}

/// The chances in one tenth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bin {
    /// Lower end of the tenth.
    pub from: f64,
    /// Upper end of the tenth.
    pub to: f64,
    /// Number of chances in the tenth.
    pub said: u64,
    /// Mean of these chances.
    pub p: f64,
    /// Share of them that came true.
    pub was_so: f64,
    /// Standard error of the difference between the two, by jobs, because the chances of one job are
    /// correlated.
    pub error: f64,
    /// Standard deviation of the share if every chance is right and all are independent (binomial).
    pub binomial: f64,
}

impl Calibration {
    /// The calibration over the scores of jobs.
    #[must_use]
    pub fn of(scores: &[Score]) -> Self {
        let bin = |b: usize| {
            let mut sums = Sums::default();
            let mut squares = 0.0;
            for bin in scores.iter().map(|s| s.bins[b]) {
                sums.said += bin.said;
                sums.p += bin.p;
                sums.was_so += bin.was_so;
                sums.variance += bin.variance;
                squares += (bin.was_so as f64 - bin.p).powi(2);
            }
            let n = (sums.said as f64).max(1.0);
            Bin {
                from: b as f64 / BINS as f64,
                to: (b + 1) as f64 / BINS as f64,
                said: sums.said,
                p: sums.p / n,
                was_so: sums.was_so as f64 / n,
                error: squares.sqrt() / n,
                binomial: sums.variance.sqrt() / n,
            }
        };
        let said = |s: &Score| s.bins.iter().map(|b| b.said).sum::<u64>() as f64;
        let n: f64 = scores.iter().map(said).sum::<f64>().max(1.0);
        let brier = scores.iter().map(|s| s.squares).sum::<f64>() / n;
        let spread: f64 = scores.iter().map(|s| (s.squares - brier * said(s)).powi(2)).sum();
        let share = scores.iter().flat_map(|s| &s.bins).map(|b| b.was_so).sum::<u64>() as f64 / n;
        Calibration {
            bins: (0..BINS).map(bin).collect(),
            brier,
            brier_error: spread.sqrt() / n,
            brier_of_shares: share * (1.0 - share),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_are_those_of_a_reckoning_by_hand() {
        let mut one = Score::default();
        one.enter(0.75, true);
        one.enter(0.71, false);
        let mut other = Score::default();
        other.enter(0.79, true);
        other.enter(1.0, true);
        let table = Calibration::of(&[one, other]);
        let bin = &table.bins[7];
        assert_eq!((bin.said, table.bins[9].said), (3, 1));
        assert!((bin.p - 0.75).abs() < 1e-12 && (bin.was_so - 2.0 / 3.0).abs() < 1e-12);
        // Differences of the two jobs: 1 - 1.46 and 1 - 0.79.
        assert!((bin.error - (0.46_f64.powi(2) + 0.21_f64.powi(2)).sqrt() / 3.0).abs() < 1e-12);
        // (0.0625 + 0.5041 + 0.0441 + 0) / 4
        assert!((table.brier - 0.152_675).abs() < 1e-12);
    }
}
