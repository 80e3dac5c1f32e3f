//! The inner loops: what a clique says to its parent, and what it says to everyone else.
//!
//! `L` questions are answered side by side, in lanes: the same entries and places serve all of
//! them, and the arithmetic of lanes next to each other is what SIMD units do (`lanes.rs`).
//! Each lane's numbers are those that it would have alone, to the last bit.
//!
//! What goes to a link leaves out what came from it, by multiplying the others together (Shafer and
//! Shenoy 1990). Dividing it out again (Jensen, Lauritzen and Olesen 1990) needs every entry's
//! product stored, and breaks down where a message is zero without all its terms being so.

use super::clique::Clique;
use super::lanes::{larger, plus, times, times_one, wide_registers};

/// Messages are scaled by powers of two, so that scaling rounds nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scaled {
    /// What the largest entry has been multiplied by is `2^-exponent`.
    pub(super) exponent: i64,
    /// Whether what has been added up may have lost places to underflow.
    pub(super) faint: bool,
}

/// A largest entry below this may have lost places to underflow on the way: products of messages
/// are at worst some hundred orders of magnitude below their sum.
const FAINT: f64 = 1e-200;

/// Brings the largest entry of a lane to between 1 and 2, or leaves zeros alone.
pub(super) fn scale<const L: usize>(message: &mut [[f64; L]]) -> [Scaled; L] {
    let mut scaled = [Scaled { exponent: 0, faint: false }; L];
    wide_registers::<L>(
        #[inline(always)]
        || {
            let mut largest = [0.0_f64; L];
            for entry in message.iter() {
                larger(&mut largest, entry);
            }
            let mut factors = [1.0; L];
            for lane in 0..L {
                scaled[lane].faint = largest[lane] < FAINT;
                if largest[lane] > 0.0 {
                    let exponent = exponent(largest[lane]);
                    factors[lane] = power_of_two(-exponent);
                    scaled[lane].exponent = exponent;
                }
            }
            for entry in message {
                times(entry, &factors);
            }
        },
    );
    scaled
}

/// Places and lanes of the sums that are not zero and no larger than this.
pub(super) fn small<const L: usize>(message: &[[f64; L]], bound: f64) -> Vec<(usize, usize)> {
    let is_small = |sum: f64| (sum != 0.0) & (sum.abs() <= bound);
    let mut places = Vec::new();
    wide_registers::<L>(
        #[inline(always)]
        || {
            for (at, sums) in message.iter().enumerate() {
                let mut any = false;
                for sum in sums {
                    any |= is_small(*sum);
                }
                if any {
                    places.extend((0..L).filter(|lane| is_small(sums[*lane])).map(|lane| (at, lane)));
                }
            }
        },
    );
    places
}

/// Exponent of a positive number; the least one of a normal number for those below.
pub(super) fn exponent(x: f64) -> i64 {
    ((x.to_bits() >> 52 & 0x7ff) as i64 - 1023).max(-1022)
}

/// `2^exponent` for exponents of normal numbers.
fn power_of_two(exponent: i64) -> f64 {
    f64::from_bits(((exponent.clamp(-1022, 1023) + 1023) as u64) << 52)
}

/// What a clique says to its parent: by configuration, the sum over its entries of the entry's value
/// times what comes in. `inputs` are places of links.
pub(super) fn up<const L: usize>(
    clique: &Clique,
    inputs: &[usize],
    said: &[[f64; L]],
    message: &mut Vec<[f64; L]>,
) {
    message.clear();
    message.reserve(clique.configurations());
    wide_registers::<L>(
        #[inline(always)]
        || match *inputs {
            [a] => up_from::<1, L>(clique, [a], said, message),
            [a, b] => up_from::<2, L>(clique, [a, b], said, message),
            _ => up_from_many(clique, inputs, said, message),
        },
    );
}

#[inline(always)]
fn up_from<const N: usize, const L: usize>(
    clique: &Clique,
    inputs: [usize; N],
    said: &[[f64; L]],
    message: &mut Vec<[f64; L]>,
) {
    let width = clique.links.len();
    for run in clique.starts.windows(2) {
        let mut sum = [0.0; L];
        for entry in run[0] as usize..run[1] as usize {
            let places = &clique.places[entry * width..(entry + 1) * width];
            let mut product = [clique.values[entry]; L];
            for input in inputs {
                times(&mut product, &said[places[input] as usize]);
            }
            plus(&mut sum, &product);
        }
        message.push(sum);
    }
}

#[inline(always)]
fn up_from_many<const L: usize>(
    clique: &Clique,
    inputs: &[usize],
    said: &[[f64; L]],
    message: &mut Vec<[f64; L]>,
) {
    for run in clique.starts.windows(2) {
        let mut sum = [0.0; L];
        for entry in run[0] as usize..run[1] as usize {
            let places = clique.places_of(entry);
            let mut product = [clique.values[entry]; L];
            for input in inputs {
                times(&mut product, &said[places[*input] as usize]);
            }
            plus(&mut sum, &product);
        }
        message.push(sum);
    }
}

/// Places of links: those that something comes in by and nobody asks about, those that something
/// comes in by and goes out by, and those that something only goes out by.
pub(super) type Links<'a> = (&'a [usize], &'a [usize], &'a [usize]);

/// What a clique says to its links: the sum of all that comes in but from the link itself. What the
/// parent says is read from `told`, and what is said is added there.
pub(super) fn down<const L: usize>(clique: &Clique, links: Links, said: &[[f64; L]], told: &mut [[f64; L]]) {
    wide_registers::<L>(
        #[inline(always)]
        || match *links.1 {
            // Leaves that nobody has looked at. A browser would have to fetch one more copy of the loop.
            #[cfg(not(target_arch = "wasm32"))]
            [] => down_from::<0, L>(clique, links, [], said, told),
            [a] => down_from::<1, L>(clique, links, [a], said, told),
            [a, b] => down_from::<2, L>(clique, links, [a, b], said, told),
            [a, b, c] => down_from::<3, L>(clique, links, [a, b, c], said, told),
            _ => down_from_many(clique, links, said, told),
        },
    );
}

#[inline(always)]
fn down_from<const N: usize, const L: usize>(
    clique: &Clique,
    (silent, _, others): Links,
    inputs: [usize; N],
    said: &[[f64; L]],
    told: &mut [[f64; L]],
) {
    let width = clique.links.len();
    for (run, at) in clique.starts.windows(2).zip(clique.slot..) {
        let from_parent = told[at];
        if from_parent == [0.0; L] {
            continue;
        }
        for entry in run[0] as usize..run[1] as usize {
            let places = &clique.places[entry * width..(entry + 1) * width];
            let mut so_far = from_parent;
            times_one(&mut so_far, clique.values[entry]);
            for input in silent {
                times(&mut so_far, &said[places[*input] as usize]);
            }
            // Product of the inputs before each, then after each.
            let mut before = [so_far; N];
            let mut after = [1.0; L];
            for i in 0..N {
                before[i] = so_far;
                times(&mut so_far, &said[places[inputs[i]] as usize]);
            }
            for i in (0..N).rev() {
                let place = places[inputs[i]] as usize;
                if i + 1 < N {
                    times(&mut before[i], &after);
                }
                plus(&mut told[place], &before[i]);
                if i > 0 {
                    times(&mut after, &said[place]);
                }
            }
            for other in others {
                plus(&mut told[places[*other] as usize], &so_far);
            }
        }
    }
}

#[inline(always)]
fn down_from_many<const L: usize>(
    clique: &Clique,
    (silent, inputs, others): Links,
    said: &[[f64; L]],
    told: &mut [[f64; L]],
) {
    let mut before = vec![[0.0; L]; inputs.len()];
    for (run, at) in clique.starts.windows(2).zip(clique.slot..) {
        let from_parent = told[at];
        if from_parent == [0.0; L] {
            continue;
        }
        for entry in run[0] as usize..run[1] as usize {
            let places = clique.places_of(entry);
            let mut so_far = from_parent;
            times_one(&mut so_far, clique.values[entry]);
            for input in silent {
                times(&mut so_far, &said[places[*input] as usize]);
            }
            for (before, input) in before.iter_mut().zip(inputs) {
                *before = so_far;
                times(&mut so_far, &said[places[*input] as usize]);
            }
            let mut after = [1.0; L];
            for (before, input) in before.iter_mut().zip(inputs).rev() {
                times(before, &after);
                plus(&mut told[places[*input] as usize], before);
                times(&mut after, &said[places[*input] as usize]);
            }
            for other in others {
                plus(&mut told[places[*other] as usize], &so_far);
            }
        }
    }
}
