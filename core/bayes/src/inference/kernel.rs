//! The inner loops: the messages of one clique.
//!
//! `L` queries are answered side by side, in lanes. The same entries and slots serve all lanes, and
//! arithmetic on adjacent lanes maps to SIMD instructions (`lanes.rs`). Each lane has exactly the result that
//! it would have alone.
//!
//! The message to a link is the product of all other messages, without division (Shafer and Shenoy 1990).
//! Division by the link's own message (Jensen, Lauritzen and Olesen 1990) would need the product of every
//! entry to be stored, and fails for messages of zero.

use super::clique::Clique;
use super::lanes::{add, max_magnitude, multiply, multiply_by, with_simd};

/// The scale of a message. Powers of two scale without rounding.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scaled {
    /// The message has been multiplied by `2^-exponent`.
    pub(super) exponent: i64,
    /// Whether terms may have lost precision to underflow.
    pub(super) may_have_underflowed: bool,
}

/// Below this largest entry, terms may have lost precision to underflow. Products of messages are at most
/// some hundred orders of magnitude below their sum.
const UNDERFLOW_RISK: f64 = 1e-200;

/// Scales the largest entry of each lane to between 1 and 2. Lanes with zeros only stay as they are.
pub(super) fn scale<const L: usize>(message: &mut [[f64; L]]) -> [Scaled; L] {
    let mut scaled = [Scaled { exponent: 0, may_have_underflowed: false }; L];
    with_simd::<L>(
        #[inline(always)]
        || {
            let mut largest = [0.0_f64; L];
            for entry in message.iter() {
                max_magnitude(&mut largest, entry);
            }
            let mut factors = [1.0; L];
            for lane in 0..L {
                scaled[lane].may_have_underflowed = largest[lane] < UNDERFLOW_RISK;
                if largest[lane] > 0.0 {
                    let exponent = exponent(largest[lane]);
                    factors[lane] = power_of_two(-exponent);
                    scaled[lane].exponent = exponent;
                }
            }
            for entry in message {
                multiply(entry, &factors);
            }
        },
    );
    scaled
}

/// Indices and lanes of the sums that are not zero and at most `bound` in magnitude.
pub(super) fn small<const L: usize>(message: &[[f64; L]], bound: f64) -> Vec<(usize, usize)> {
    let is_small = |sum: f64| (sum != 0.0) & (sum.abs() <= bound);
    let mut slots = Vec::new();
    with_simd::<L>(
        #[inline(always)]
        || {
            for (at, sums) in message.iter().enumerate() {
                let mut any = false;
                for sum in sums {
                    any |= is_small(*sum);
                }
                if any {
                    slots.extend((0..L).filter(|lane| is_small(sums[*lane])).map(|lane| (at, lane)));
                }
            }
        },
    );
    slots
}

/// Binary exponent of a positive number; for subnormal numbers that of the least normal number.
pub(super) fn exponent(x: f64) -> i64 {
    ((x.to_bits() >> 52 & 0x7ff) as i64 - 1023).max(-1022)
}

/// `2^exponent` for exponents of normal numbers.
fn power_of_two(exponent: i64) -> f64 {
    f64::from_bits(((exponent.clamp(-1022, 1023) + 1023) as u64) << 52)
}

/// The message to the parent: for each separator configuration, the sum over its entries of the value times
/// the incoming messages. `inputs` are indices of links.
pub(super) fn upward_message<const L: usize>(
    clique: &Clique,
    inputs: &[usize],
    upward: &[[f64; L]],
    message: &mut Vec<[f64; L]>,
) {
    message.clear();
    message.reserve(clique.configurations());
    with_simd::<L>(
        #[inline(always)]
        || match *inputs {
            [a] => upward_from::<1, L>(clique, [a], upward, message),
            [a, b] => upward_from::<2, L>(clique, [a, b], upward, message),
            _ => upward_from_many(clique, inputs, upward, message),
        },
    );
}

#[inline(always)]
fn upward_from<const N: usize, const L: usize>(
    clique: &Clique,
    inputs: [usize; N],
    upward: &[[f64; L]],
    message: &mut Vec<[f64; L]>,
) {
    let width = clique.links.len();
    for run in clique.run_starts.windows(2) {
        let mut sum = [0.0; L];
        for entry in run[0] as usize..run[1] as usize {
            let slots = &clique.slots[entry * width..(entry + 1) * width];
            let mut product = [clique.values[entry]; L];
            for input in inputs {
                multiply(&mut product, &upward[slots[input] as usize]);
            }
            add(&mut sum, &product);
        }
        message.push(sum);
    }
}

#[inline(always)]
fn upward_from_many<const L: usize>(
    clique: &Clique,
    inputs: &[usize],
    upward: &[[f64; L]],
    message: &mut Vec<[f64; L]>,
) {
    for run in clique.run_starts.windows(2) {
        let mut sum = [0.0; L];
        for entry in run[0] as usize..run[1] as usize {
            let slots = clique.slots_of(entry);
            let mut product = [clique.values[entry]; L];
            for input in inputs {
                multiply(&mut product, &upward[slots[*input] as usize]);
            }
            add(&mut sum, &product);
        }
        message.push(sum);
    }
}

/// Indices of links, in three groups: those that only send a message, those that send and receive one, and
/// those that only receive one.
pub(super) type Links<'a> = (&'a [usize], &'a [usize], &'a [usize]);

/// Adds the messages to the links to `downward`, where the message from the parent is read. The message to a
/// link leaves out the link's own message.
pub(super) fn downward_messages<const L: usize>(
    clique: &Clique,
    links: Links,
    upward: &[[f64; L]],
    downward: &mut [[f64; L]],
) {
    with_simd::<L>(
        #[inline(always)]
        || match *links.1 {
            // Leaves without evidence. WebAssembly does without this copy of the loop, for a smaller
            // download.
            #[cfg(not(target_arch = "wasm32"))]
            [] => downward_from::<0, L>(clique, links, [], upward, downward),
            [a] => downward_from::<1, L>(clique, links, [a], upward, downward),
            [a, b] => downward_from::<2, L>(clique, links, [a, b], upward, downward),
            [a, b, c] => downward_from::<3, L>(clique, links, [a, b, c], upward, downward),
            _ => downward_from_many(clique, links, upward, downward),
        },
    );
}

#[inline(always)]
fn downward_from<const N: usize, const L: usize>(
    clique: &Clique,
    (inputs_only, _, others): Links,
    inputs: [usize; N],
    upward: &[[f64; L]],
    downward: &mut [[f64; L]],
) {
    let width = clique.links.len();
    for (run, at) in clique.run_starts.windows(2).zip(clique.message_start..) {
        let from_parent = downward[at];
        if from_parent == [0.0; L] {
            continue;
        }
        for entry in run[0] as usize..run[1] as usize {
            let slots = &clique.slots[entry * width..(entry + 1) * width];
            let mut so_far = from_parent;
            multiply_by(&mut so_far, clique.values[entry]);
            for input in inputs_only {
                multiply(&mut so_far, &upward[slots[*input] as usize]);
            }
            // Products of the inputs before each input, then after each.
            let mut before = [so_far; N];
            let mut after = [1.0; L];
            for i in 0..N {
                before[i] = so_far;
                multiply(&mut so_far, &upward[slots[inputs[i]] as usize]);
            }
            for i in (0..N).rev() {
                let slot = slots[inputs[i]] as usize;
                if i + 1 < N {
                    multiply(&mut before[i], &after);
                }
                add(&mut downward[slot], &before[i]);
                if i > 0 {
                    multiply(&mut after, &upward[slot]);
                }
            }
            for other in others {
                add(&mut downward[slots[*other] as usize], &so_far);
            }
        }
    }
}

#[inline(always)]
fn downward_from_many<const L: usize>(
    clique: &Clique,
    (inputs_only, inputs, others): Links,
    upward: &[[f64; L]],
    downward: &mut [[f64; L]],
) {
    let mut before = vec![[0.0; L]; inputs.len()];
    for (run, at) in clique.run_starts.windows(2).zip(clique.message_start..) {
        let from_parent = downward[at];
        if from_parent == [0.0; L] {
            continue;
        }
        for entry in run[0] as usize..run[1] as usize {
            let slots = clique.slots_of(entry);
            let mut so_far = from_parent;
            multiply_by(&mut so_far, clique.values[entry]);
            for input in inputs_only {
                multiply(&mut so_far, &upward[slots[*input] as usize]);
            }
            for (before, input) in before.iter_mut().zip(inputs) {
                *before = so_far;
                multiply(&mut so_far, &upward[slots[*input] as usize]);
            }
            let mut after = [1.0; L];
            for (before, input) in before.iter_mut().zip(inputs).rev() {
                multiply(before, &after);
                add(&mut downward[slots[*input] as usize], before);
                multiply(&mut after, &upward[slots[*input] as usize]);
            }
            for other in others {
                add(&mut downward[slots[*other] as usize], &so_far);
            }
        }
    }
}
