//! Laws of readings: the likelihood of a reading.

use statrs::distribution::{ContinuousCDF, LogNormal, Normal};
use thiserror::Error;

/// The shape of one term of a law.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LawShape {
    /// Normal with this mean and standard deviation.
    Normal {
        /// Mean.
        mean: f64,
        /// Standard deviation.
        sd: f64,
    },
    /// Log-normal with this median; `ln(ratio)` is the standard deviation of the logarithm, so that
    /// 16 % lie above `median * ratio` and 16 % below `median / ratio`.
    LogNormal {
        /// Median.
        median: f64,
        /// Ratio of the value one standard deviation above the median to the median.
        ratio: f64,
    },
}

impl LawShape {
    /// The law if every reading is `factor` times as large.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        match self {
            LawShape::Normal { mean, sd } => LawShape::Normal { mean: mean * factor, sd: sd * factor },
            LawShape::LogNormal { median, ratio } => LawShape::LogNormal { median: median * factor, ratio },
        }
    }
}

/// A term as a distribution.
#[derive(Debug, Clone)]
enum Term {
    Normal(Normal),
    LogNormal(LogNormal),
}

impl Term {
    fn new(shape: LawShape) -> Result<Self, LawError> {
        match shape {
            LawShape::Normal { mean, sd } => {
                let normal = if mean.is_finite() { Normal::new(mean, sd).ok() } else { None };
                normal.map(Term::Normal).ok_or(LawError::Normal { mean, sd })
            }
            LawShape::LogNormal { median, ratio } => {
                let law = if median > 0.0 && ratio > 1.0 {
                    LogNormal::new(median.ln(), ratio.ln()).ok()
                } else {
                    None
                };
                law.map(Term::LogNormal).ok_or(LawError::LogNormal { median, ratio })
            }
        }
    }

    /// Probability between two values, computed from the tail that keeps the digits.
    fn mass(&self, from: f64, to: f64) -> f64 {
        fn interval(law: &impl ContinuousCDF<f64, f64>, middle: f64, from: f64, to: f64) -> f64 {
            let mass = if from > middle { law.sf(from) - law.sf(to) } else { law.cdf(to) - law.cdf(from) };
            mass.max(0.0)
        }
        match self {
            Term::Normal(n) => {
                interval(n, statrs::statistics::Distribution::mean(n).unwrap_or(0.0), from, to)
            }
            Term::LogNormal(l) => interval(l, l.inverse_cdf(0.5), from, to),
        }
    }
}

/// A mixture of normal and log-normal laws, truncated at the ends of the scale. A small share of slips is
/// spread evenly over the whole scale, so that no reading rules anything out.
/// [`relative_likelihoods`](super::relative_likelihoods) compares laws at a reading.
#[derive(Debug, Clone)]
pub struct Law {
    /// Weight of each term, the term, and its probability on the scale.
    terms: Vec<(f64, Term, f64)>,
    low: f64,
    high: f64,
    slip: f64,
}

/// An error of a law.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum LawError {
    /// The weights do not sum to 1.
    #[error("the weights sum to {sum}, not to 1")]
    Weights {
        /// Their sum.
        sum: f64,
    },
    /// A standard deviation that is not positive, or a mean that is not finite.
    #[error("mean {mean} with standard deviation {sd}; a finite mean and a positive deviation are needed")]
    Normal {
        /// The mean.
        mean: f64,
        /// The deviation.
        sd: f64,
    },
    /// A median that is not above 0, or a ratio that is not above 1.
    #[error("median {median} with ratio {ratio}; a median above 0 and a ratio above 1 are needed")]
    LogNormal {
        /// The median.
        median: f64,
        /// The ratio.
        ratio: f64,
    },
    /// A scale of no length, or a share of slips outside [0, 1).
    #[error(
        "scale from {low} to {high} with a share of slips of {slip}; the scale must have a length and the share lie in [0, 1)"
    )]
    Scale {
        /// Low end.
        low: f64,
        /// High end.
        high: f64,
        /// Share of slips.
        slip: f64,
    },
    /// No part of the law lies on the scale.
    #[error("the law has no part on the scale from {low} to {high}")]
    OffScale {
        /// Low end.
        low: f64,
        /// High end.
        high: f64,
    },
}

/// The values that a reading stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Lower end.
    pub from: f64,
    /// Upper end.
    pub to: f64,
}

impl Law {
    /// A law from terms with their weights, on a scale.
    ///
    /// # Errors
    /// [`LawError`].
    pub fn new(terms: &[(f64, LawShape)], low: f64, high: f64, slip: f64) -> Result<Self, LawError> {
        if low.partial_cmp(&high) != Some(std::cmp::Ordering::Less) || !(0.0..1.0).contains(&slip) {
            return Err(LawError::Scale { low, high, slip });
        }
        let sum: f64 = terms.iter().map(|t| t.0).sum();
        if (sum - 1.0).abs() > crate::precision::ROW_SUM {
            return Err(LawError::Weights { sum });
        }
        let terms = terms
            .iter()
            .map(|&(weight, shape)| {
                let term = Term::new(shape)?;
                let whole = term.mass(low, high);
                if whole > 0.0 { Ok((weight, term, whole)) } else { Err(LawError::OffScale { low, high }) }
            })
            .collect::<Result<Vec<_>, _>>()?;
        Ok(Law { terms, low, high, slip })
    }

    /// Probability of a value in the span. Every term is truncated at the ends of the scale and renormalised.
    #[must_use]
    pub fn mass(&self, span: Span) -> f64 {
        let from = span.from.clamp(self.low, self.high);
        let to = span.to.clamp(self.low, self.high);
        let even = (to - from) / (self.high - self.low);
        self.slip * even + (1.0 - self.slip) * self.mass_without_slips(span)
    }

    /// Probability of a value in the span, if the reading is no slip.
    pub(super) fn mass_without_slips(&self, span: Span) -> f64 {
        let from = span.from.clamp(self.low, self.high);
        let to = span.to.clamp(self.low, self.high);
        self.terms.iter().map(|(weight, term, whole)| weight * term.mass(from, to) / whole).sum()
    }

    /// The ends of the scale.
    pub(super) fn scale(&self) -> [f64; 2] {
        [self.low, self.high]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn normal(weight: f64, mean: f64, sd: f64) -> (f64, LawShape) {
        (weight, LawShape::Normal { mean, sd })
    }

    const WHOLE: Span = Span { from: f64::NEG_INFINITY, to: f64::INFINITY };

    #[test]
    fn masses_are_those_of_the_normal_table() {
        // 0.682689..., NIST/SEMATECH e-Handbook of Statistical Methods 1.3.6.7.1: one deviation
        // either way holds 2 x 0.34134.
        let law = Law::new(&[normal(1.0, 50.0, 10.0)], -1e3, 1e3, 0.0).unwrap();
        assert!((law.mass(Span { from: 40.0, to: 60.0 }) - 0.68268).abs() < 1e-5);
        assert!((law.mass(WHOLE) - 1.0).abs() < 1e-12);
        // Far out the mass keeps its digits: P(Z > 10) = 7.6199e-24 (Abramowitz and Stegun 26.2,
        // from memory; scipy.stats.norm.sf(10) prints 7.61985302416e-24).
        let tail = law.mass(Span { from: 150.0, to: 1e3 });
        assert!((tail / 7.619_853_024_16e-24 - 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_log_normal_law_is_a_normal_one_of_the_logarithm() {
        // Median 6 and 2.5 to 15 for the middle nine tenths: ratio exp(ln(15 / 2.5) / (2 x 1.644854)),
        // by the table of the normal law.
        let ratio = ((15.0_f64 / 2.5).ln() / (2.0 * 1.644_854)).exp();
        let law =
            Law::new(&[(1.0, LawShape::LogNormal { median: 6.123_724, ratio })], 0.0, 1e6, 0.0).unwrap();
        assert!((law.mass(Span { from: 2.5, to: 15.0 }) - 0.9).abs() < 1e-6);
        assert!((law.mass(Span { from: 0.0, to: 6.123_724 }) - 0.5).abs() < 1e-12);
        let bad = LawShape::LogNormal { median: 6.0, ratio: 1.0 };
        assert!(matches!(Law::new(&[(1.0, bad)], 0.0, 9.0, 0.0), Err(LawError::LogNormal { .. })));
    }

    #[test]
    fn a_scale_cuts_and_a_slip_floors() {
        let law = Law::new(&[normal(1.0, 3.0, 3.0)], 0.0, 300.0, 0.02).unwrap();
        assert!((law.mass(WHOLE) - 1.0).abs() < 1e-12);
        let far = law.mass(Span { from: 198.75, to: 201.25 });
        assert!((far - 0.02 * 2.5 / 300.0).abs() < 1e-12, "only slips read 200 here: {far}");
    }

    #[test]
    fn bad_laws_are_refused() {
        assert!(matches!(Law::new(&[normal(0.5, 1.0, 1.0)], 0.0, 9.0, 0.0), Err(LawError::Weights { .. })));
        assert!(matches!(Law::new(&[normal(1.0, 1.0, 0.0)], 0.0, 9.0, 0.0), Err(LawError::Normal { .. })));
        assert!(matches!(
            Law::new(&[normal(1.0, f64::NAN, 1.0)], 0.0, 9.0, 0.0),
            Err(LawError::Normal { .. })
        ));
        assert!(matches!(Law::new(&[normal(1.0, 1.0, 1.0)], 9.0, 9.0, 0.0), Err(LawError::Scale { .. })));
        assert!(matches!(Law::new(&[normal(1.0, -1e6, 1.0)], 0.0, 9.0, 0.0), Err(LawError::OffScale { .. })));
    }
}
