//! The sums of [`kernel`](super::kernel) with exponents of any size.
//!
//! Messages that contradict each other strongly have products below the smallest `f64`: for example hundreds
//! of likelihoods for one state and hundreds for another. For such a clique the sums are computed again, one
//! lane at a time, with a separate exponent for each number. This is slow and rarely needed.

use super::clique::Clique;
use super::kernel::exponent;

/// The number `mantissa * 2^exponent`. The magnitude of the mantissa is zero or between 1 and 2.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ExtendedExponent {
    mantissa: f64,
    exponent: i64,
}

impl ExtendedExponent {
    const ZERO: Self = ExtendedExponent { mantissa: 0.0, exponent: 0 };

    pub(super) fn new(x: f64) -> Self {
        ExtendedExponent { mantissa: x, exponent: 0 }.normalised()
    }

    fn normalised(mut self) -> Self {
        if self.mantissa == 0.0 {
            return Self::ZERO;
        }
        if self.mantissa.abs() < f64::MIN_POSITIVE {
            // The exponent of a subnormal number cannot be read from its bits.
            self.mantissa *= 2.0_f64.powi(64);
            self.exponent -= 64;
        }
        let shift = exponent(self.mantissa.abs());
        self.mantissa *= 2.0_f64.powi(-shift as i32);
        self.exponent += shift;
        self
    }

    pub(super) fn times(self, x: f64) -> Self {
        let x = Self::new(x);
        ExtendedExponent { mantissa: self.mantissa * x.mantissa, exponent: self.exponent + x.exponent }
            .normalised()
    }

    fn plus(self, other: Self) -> Self {
        if self.mantissa == 0.0 {
            return other;
        }
        if other.mantissa == 0.0 {
            return self;
        }
        let (large, small) = if self.exponent >= other.exponent { (self, other) } else { (other, self) };
        let apart = large.exponent - small.exponent;
        if apart > 1000 {
            return large;
        }
        let mantissa = large.mantissa + small.mantissa * 2.0_f64.powi(-apart as i32);
        ExtendedExponent { mantissa, exponent: large.exponent }.normalised()
    }
}

/// Writes sums as `f64`, scaled so that the largest is between 1 and 2. Returns the exponent of the scale:
/// values have been multiplied by `2^-exponent`.
pub(super) fn to_floats(sums: &[ExtendedExponent], mut write: impl FnMut(usize, f64)) -> i64 {
    let largest = sums.iter().filter(|s| s.mantissa != 0.0).map(|s| s.exponent).max().unwrap_or(0);
    for (at, sum) in sums.iter().enumerate() {
        let below = (largest - sum.exponent).clamp(0, 1100);
        write(at, sum.mantissa * 2.0_f64.powi(-below as i32));
    }
    largest
}

/// Computes the message to the parent in one lane. Returns the exponent of its scale.
pub(super) fn upward_message<const L: usize>(
    clique: &Clique,
    inputs: &[usize],
    upward: &[[f64; L]],
    lane: usize,
    message: &mut [[f64; L]],
) -> i64 {
    let sums: Vec<ExtendedExponent> = clique
        .run_starts
        .windows(2)
        .map(|run| {
            (run[0] as usize..run[1] as usize).fold(ExtendedExponent::ZERO, |sum, entry| {
                let slots = clique.slots_of(entry);
                let product = inputs.iter().fold(ExtendedExponent::new(clique.values[entry]), |p, i| {
                    p.times(upward[slots[*i] as usize][lane])
                });
                sum.plus(product)
            })
        })
        .collect();
    to_floats(&sums, |at, x| message[at][lane] = x)
}

/// Computes the message to one link in one lane. `start` and `length` are the link's range in the arena.
pub(super) fn downward_message<const L: usize>(
    clique: &Clique,
    inputs: &[usize],
    (link, start, length): (usize, usize, usize),
    upward: &[[f64; L]],
    lane: usize,
    downward: &mut [[f64; L]],
) {
    let mut sums = vec![ExtendedExponent::ZERO; length];
    for (run, at) in clique.run_starts.windows(2).zip(clique.message_start..) {
        for entry in run[0] as usize..run[1] as usize {
            let slots = clique.slots_of(entry);
            let product = inputs
                .iter()
                .filter(|i| **i != link)
                .fold(ExtendedExponent::new(clique.values[entry]).times(downward[at][lane]), |p, i| {
                    p.times(upward[slots[*i] as usize][lane])
                });
            let slot = slots[link] as usize - start;
            sums[slot] = sums[slot].plus(product);
        }
    }
    to_floats(&sums, |at, x| downward[start + at][lane] = x);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn products_far_below_the_smallest_double_keep_their_ratio() {
        let tiny = (0..50).fold(ExtendedExponent::new(1.0), |p, _| p.times(1e-300));
        let sums = [tiny, tiny.times(0.25), ExtendedExponent::ZERO, tiny.times(1e-300).times(1e-300)];
        let mut out = [0.0; 4];
        let exponent = to_floats(&sums, |at, x| out[at] = x);
        let log = out[0].ln() + exponent as f64 * std::f64::consts::LN_2;
        assert!((log - 50.0 * 1e-300_f64.ln()).abs() < 1e-9, "{log}");
        assert_eq!(out[1] / out[0], 0.25);
        assert_eq!(out[2..], [0.0, 0.0]);
        assert_eq!(tiny.plus(tiny.times(-1.0)), ExtendedExponent::ZERO);
        assert_eq!(
            ExtendedExponent::new(f64::MIN_POSITIVE / 8.0).times(8.0),
            ExtendedExponent::new(f64::MIN_POSITIVE)
        );
    }
}
