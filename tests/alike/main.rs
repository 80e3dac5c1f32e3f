//! Prints what the engine says here about jobs drawn at random, for the same engine in the browser to compare.

mod said;

use rayon::prelude::*;

fn main() {
    let machines = said::machines();
    let all: Vec<(u64, f64)> =
        (0..said::JOBS).into_par_iter().map(|number| said::said(&machines, number)).collect();
    for (mark, sum) in all {
        // All digits of the sum, so that what reads it has the very same.
        println!("{mark:016x} {:016x}", sum.to_bits());
    }
}
