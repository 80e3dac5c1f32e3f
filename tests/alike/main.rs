//! Prints what the engine says here about jobs drawn at random, for the same engine in the browser to compare.

mod said;

use halfsplit::machine::Machine;
use rayon::prelude::*;

fn main() {
    let machines = Machine::all_shipped().expect("the machines that come with the program");
    let all: Vec<String> =
        (0..said::JOBS).into_par_iter().map(|number| said::written(said::said(&machines, number))).collect();
    println!("{}", all.concat());
}
