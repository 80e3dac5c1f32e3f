//! The same sums as in [`kernel`](super::kernel), with exponents of any size.
//!
//! Messages that contradict each other strongly (hundreds of witnesses for one state and hundreds
//! for another) have products below the smallest double. Where that may have happened the clique is
//! gone through again, one lane at a time, with each number's exponent beside it. It is slow and
//! seldom needed.

use super::clique::Clique;
use super::kernel::exponent;

/// A number `mantissa * 2^exponent`; the mantissa is zero or between 1 and 2 in size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ExtendedExponent {
    mantissa: f64,
    exponent: i64,
}

impl ExtendedExponent {
    const ZERO: Self = ExtendedExponent { mantissa: 0.0, exponent: 0 };

    pub(super) fn new(x: f64) -> Self {
        ExtendedExponent { mantissa: x, exponent: 0 }.normal()
    }

    fn normal(mut self) -> Self {
        if self.mantissa == 0.0 {
            return Self::ZERO;
        }
        if self.mantissa.abs() < f64::MIN_POSITIVE {
            // Below normal numbers the exponent cannot be read off.
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
            .normal()
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
        ExtendedExponent { mantissa, exponent: large.exponent }.normal()
    }
}

/// Writes sums as ordinary numbers, the largest between 1 and 2; what they have been multiplied by is
/// `2^-exponent` for the exponent that is returned.
pub(super) fn written(sums: &[ExtendedExponent], mut write: impl FnMut(usize, f64)) -> i64 {
    let largest = sums.iter().filter(|s| s.mantissa != 0.0).map(|s| s.exponent).max().unwrap_or(0);
    for (at, sum) in sums.iter().enumerate() {
        let below = (largest - sum.exponent).clamp(0, 1100);
        write(at, sum.mantissa * 2.0_f64.powi(-below as i32));
    }
    largest
}

/// What a clique says to its parent in one lane.
pub(super) fn up<const L: usize>(
    clique: &Clique,
    inputs: &[usize],
    said: &[[f64; L]],
    lane: usize,
    message: &mut [[f64; L]],
) -> i64 {
    let sums: Vec<ExtendedExponent> = clique
        .starts
        .windows(2)
        .map(|run| {
            (run[0] as usize..run[1] as usize).fold(ExtendedExponent::ZERO, |sum, entry| {
                let places = clique.places_of(entry);
                let product = inputs.iter().fold(ExtendedExponent::new(clique.values[entry]), |p, i| {
                    p.times(said[places[*i] as usize][lane])
                });
                sum.plus(product)
            })
        })
        .collect();
    written(&sums, |at, x| message[at][lane] = x)
}

/// What a clique says to one of its links in one lane. `slot` and `length` are the link's part of the
/// arena.
pub(super) fn down<const L: usize>(
    clique: &Clique,
    inputs: &[usize],
    (link, slot, length): (usize, usize, usize),
    said: &[[f64; L]],
    lane: usize,
    told: &mut [[f64; L]],
) {
    let mut sums = vec![ExtendedExponent::ZERO; length];
    for (run, at) in clique.starts.windows(2).zip(clique.slot..) {
        for entry in run[0] as usize..run[1] as usize {
            let places = clique.places_of(entry);
            let product = inputs
                .iter()
                .filter(|i| **i != link)
                .fold(ExtendedExponent::new(clique.values[entry]).times(told[at][lane]), |p, i| {
                    p.times(said[places[*i] as usize][lane])
                });
            let place = places[link] as usize - slot;
            sums[place] = sums[place].plus(product);
        }
    }
    written(&sums, |at, x| told[slot + at][lane] = x);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn products_far_below_the_smallest_double_keep_their_ratio() {
        let tiny = (0..50).fold(ExtendedExponent::new(1.0), |p, _| p.times(1e-300));
        let sums = [tiny, tiny.times(0.25), ExtendedExponent::ZERO, tiny.times(1e-300).times(1e-300)];
        let mut out = [0.0; 4];
        let exponent = written(&sums, |at, x| out[at] = x);
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
