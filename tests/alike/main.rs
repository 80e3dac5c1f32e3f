//! Prints the native engine's answers about random jobs, to be compared with those of the engine in the browser.

mod said;

use halfsplit::machine::Machine;
use rayon::prelude::*;

fn main() {
    let machines = Machine::all_shipped().expect("the machines that come with the program");
    let all: Vec<String> =
        (0..said::JOBS).into_par_iter().map(|number| said::written(said::said(&machines, number))).collect();
    println!("{}", all.concat());
}
