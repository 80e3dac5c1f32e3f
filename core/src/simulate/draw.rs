//! Repeatable random draws: every draw depends on a seed and on its purpose.
//!
//! Two people who take the same steps on the same machine, in another order or with other steps between, find
//! the same things. A condition added to a description changes no other draw.

use crate::hash::fnv_1a;
use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng as _, SeedableRng as _};

/// A place among the weights, with chances in proportion to them. If rounding exhausts the weights, it is the
/// last place with a positive weight.
pub(crate) fn pick(seed: &str, what: &str, weights: &[f64]) -> usize {
    let total: f64 = weights.iter().sum();
    let mut left = uniform(seed, what) * total;
    let mut last = 0;
    for (place, weight) in weights.iter().enumerate() {
        if *weight > 0.0 {
            last = place;
            if left < *weight {
                return place;
            }
        }
        left -= weight;
    }
    last
}

/// A uniform number in [0, 1) with 53 random bits.
pub(super) fn uniform(seed: &str, what: &str) -> f64 {
    // The hash spreads texts over all seeds (FNV-1a); the seeding of the generator spreads the bits.
    let mark = fnv_1a(&format!("{seed} {what}"));
    let bits = Pcg64Mcg::seed_from_u64(mark).next_u64() >> 11;
    bits as f64 / (1_u64 << 53) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_text_gives_the_same_number_on_every_machine() {
        // The value of rand_pcg 0.10.3, Pcg64Mcg::seed_from_u64(fnv_1a("7 part plug")), by this function. It
        // must not change, so that existing exercises keep their faults.
        assert_eq!(uniform("7", "part plug"), 0.990_317_358_660_319_4);
        assert_ne!(uniform("7", "part plug"), uniform("8", "part plug"));
        assert_ne!(uniform("7", "part plug"), uniform("7", "part coil"));
    }

    #[test]
    fn shares_come_out_as_asked() {
        let weights = [1.0, 0.0, 3.0];
        let n = 4000;
        let hits = (0..n).filter(|i| pick("1", &i.to_string(), &weights) == 2).count();
        // Four standard deviations of a binomial share of 3/4: 0.0274.
        assert!((hits as f64 / f64::from(n) - 0.75).abs() < 0.0274, "{hits}");
        assert!((0..n).all(|i| pick("1", &i.to_string(), &weights) != 1));
    }
}
