//! How likely a reading is.

use statrs::distribution::{ContinuousCDF, Normal};
use thiserror::Error;

/// A mixture of normal laws cut off at the ends of the scale, with a small share of slips spread
/// evenly over the whole scale: a reading far from everything expected then says little instead of
/// ruling everything out.
#[derive(Debug, Clone)]
pub struct Law {
    terms: Vec<(f64, Normal)>,
    low: f64,
    high: f64,
    slip: f64,
}

/// What is wrong with a law.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum LawError {
    /// The weights do not sum to 1.
    #[error("the weights sum to {sum}, not to 1")]
    Weights {
        /// Their sum.
        sum: f64,
    },
    /// A spread that is not positive, or a mean that is no number.
    #[error("mean {mean} with standard deviation {sd}; a finite mean and a positive deviation are needed")]
    Normal {
        /// The mean.
        mean: f64,
        /// The deviation.
        sd: f64,
    },
    /// A scale without length, or a share of slips outside [0, 1).
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
    /// From.
    pub from: f64,
    /// To.
    pub to: f64,
}

impl Law {
    /// A law from `(weight, mean, standard deviation)` terms on a scale.
    ///
    /// # Errors
    /// [`LawError`].
    pub fn new(terms: &[(f64, f64, f64)], low: f64, high: f64, slip: f64) -> Result<Self, LawError> {
        if low.partial_cmp(&high) != Some(std::cmp::Ordering::Less) || !(0.0..1.0).contains(&slip) {
            return Err(LawError::Scale { low, high, slip });
        }
        let sum: f64 = terms.iter().map(|t| t.0).sum();
        if (sum - 1.0).abs() > crate::precision::ROW_SUM {
            return Err(LawError::Weights { sum });
        }
        let terms = terms
            .iter()
            .map(|&(weight, mean, sd)| {
                if !mean.is_finite() {
                    return Err(LawError::Normal { mean, sd });
                }
                Normal::new(mean, sd).map(|n| (weight, n)).map_err(|_| LawError::Normal { mean, sd })
            })
            .collect::<Result<Vec<_>, _>>()?;
        let law = Law { terms, low, high, slip };
        let on_scale = law.terms.iter().all(|(_, n)| n.cdf(high) - n.cdf(low) > 0.0);
        if on_scale { Ok(law) } else { Err(LawError::OffScale { low, high }) }
    }

    /// Probability of a value in the span. Every term is cut off at the ends of the scale and what is
    /// left of it taken as the whole.
    #[must_use]
    pub fn mass(&self, span: Span) -> f64 {
        let from = span.from.clamp(self.low, self.high);
        let to = span.to.clamp(self.low, self.high);
        let even = (to - from) / (self.high - self.low);
        let regular: f64 = self
            .terms
            .iter()
            .map(|(weight, n)| {
                let whole = n.cdf(self.high) - n.cdf(self.low);
                weight * interval(n, from, to) / whole
            })
            .sum();
        self.slip * even + (1.0 - self.slip) * regular
    }
}

/// Mass between two values, from the tail that keeps the digits.
fn interval(n: &Normal, from: f64, to: f64) -> f64 {
    let mean = statrs::statistics::Distribution::mean(n).unwrap_or(0.0);
    let mass = if from > mean { n.sf(from) - n.sf(to) } else { n.cdf(to) - n.cdf(from) };
    mass.max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const WHOLE: Span = Span { from: f64::NEG_INFINITY, to: f64::INFINITY };

    #[test]
    fn masses_are_those_of_the_normal_table() {
        // 0.682689..., NIST/SEMATECH e-Handbook of Statistical Methods 1.3.6.7.1: one deviation
        // either way holds 2 x 0.34134.
        let law = Law::new(&[(1.0, 50.0, 10.0)], -1e3, 1e3, 0.0).unwrap();
        assert!((law.mass(Span { from: 40.0, to: 60.0 }) - 0.68268).abs() < 1e-5);
        assert!((law.mass(WHOLE) - 1.0).abs() < 1e-12);
        // Far out the mass keeps its digits: P(Z > 10) = 7.6199e-24 (Abramowitz and Stegun 26.2,
        // from memory; scipy.stats.norm.sf(10) prints 7.61985302416e-24).
        let tail = law.mass(Span { from: 150.0, to: 1e3 });
        assert!((tail / 7.619_853_024_16e-24 - 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_scale_cuts_and_a_slip_floors() {
        let law = Law::new(&[(1.0, 3.0, 3.0)], 0.0, 300.0, 0.02).unwrap();
        assert!((law.mass(WHOLE) - 1.0).abs() < 1e-12);
        let far = law.mass(Span { from: 198.75, to: 201.25 });
        assert!((far - 0.02 * 2.5 / 300.0).abs() < 1e-12, "only slips read 200 here: {far}");
    }

    #[test]
    fn bad_laws_are_refused() {
        assert!(matches!(Law::new(&[(0.5, 1.0, 1.0)], 0.0, 9.0, 0.0), Err(LawError::Weights { .. })));
        assert!(matches!(Law::new(&[(1.0, 1.0, 0.0)], 0.0, 9.0, 0.0), Err(LawError::Normal { .. })));
        assert!(matches!(Law::new(&[(1.0, f64::NAN, 1.0)], 0.0, 9.0, 0.0), Err(LawError::Normal { .. })));
        assert!(matches!(Law::new(&[(1.0, 1.0, 1.0)], 9.0, 9.0, 0.0), Err(LawError::Scale { .. })));
        assert!(matches!(Law::new(&[(1.0, -1e6, 1.0)], 0.0, 9.0, 0.0), Err(LawError::OffScale { .. })));
    }
}
