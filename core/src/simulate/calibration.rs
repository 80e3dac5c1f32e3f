//! How often the odds were right: of the causes given 70 to 80 %, 70 to 80 % must be the reason.

use serde::Serialize;

/// Bins of a tenth each.
const BINS: usize = 10;

/// What was said of all causes at all steps of one job, against what was so.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Score {
    bins: [Sums; BINS],
    /// Squared differences between the odds and what was so.
    squares: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Sums {
    said: u64,
    p: f64,
    was_so: u64,
    /// Variance of `was_so` if every chance holds and none hangs on another.
    variance: f64,
}

impl Score {
    /// Enters a chance that was given, and whether it was so.
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

/// Reliability of the odds over many jobs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Calibration {
    /// By tenth of the chance given.
    pub bins: Vec<Bin>,
    /// Mean square of the difference between a chance and what was so (1 or 0): 0 is best (Brier 1950).
    pub brier: f64,
    /// Standard error of that, by jobs.
    pub brier_error: f64,
    /// The same score for somebody who says of every cause, always, how often it is so on the whole.
    pub brier_of_shares: f64,
}

/// Chances in a tenth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bin {
    /// From this chance on.
    pub from: f64,
    /// Up to this one.
    pub to: f64,
    /// How often such a chance was given.
    pub said: u64,
    /// Mean of the chances given.
    pub p: f64,
    /// Share of them that was so.
    pub was_so: f64,
    /// Standard error of the difference of the two, by jobs: what is said in one job hangs together.
    pub error: f64,
    /// Standard deviation of the share if every chance holds and none hangs on another (binomial).
    pub binomial: f64,
}

impl Calibration {
    /// Sums up the scores of jobs.
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
