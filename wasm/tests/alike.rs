//! Test that the engine in a browser gives the same answers as the native engine.

#![cfg(target_arch = "wasm32")]
#![allow(missing_docs)]

#[path = "../../tests/alike/said.rs"]
mod said;

use halfsplit::machine::Machine;
use js_sys::{Function, Promise, Reflect};
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;
use wasm_bindgen_test::{console_log, wasm_bindgen_test, wasm_bindgen_test_configure};

wasm_bindgen_test_configure!(run_in_browser);

/// The output of `cargo run -p halfsplit-tests --bin alike`, which the test script passes in this variable.
const THERE: Option<&str> = option_env!("HALFSPLIT_ALIKE");

/// Relative tolerance of the sums.
///
/// Each sum has a few hundred terms of up to a few hundred each. The two engines may round differently,
/// mostly in logarithms.
const SUM: f64 = 1e-9;

/// Number of jobs after which the browser gets a turn.
const PIECE: u64 = 20;

/// Gives the browser a turn. Its driver gives up on a page that does not answer for 30 s.
async fn give_the_browser_a_turn() {
    let promise = Promise::new(&mut |resolve, _| {
        let timer =
            Reflect::get(&js_sys::global(), &JsValue::from("setTimeout")).expect("a browser has timers");
        timer.unchecked_into::<Function>().call1(&JsValue::NULL, &resolve).expect("a timer starts");
    });
    JsFuture::from(promise).await.expect("a timer ends");
}

#[wasm_bindgen_test]
async fn a_thousand_jobs_come_out_alike() {
    let there = THERE.expect("HALFSPLIT_ALIKE: what `cargo run -p halfsplit-tests --bin alike` prints");
    let machines = Machine::all_shipped().expect("the machines that come with the program");
    let (mut compared, mut same_bits, mut otherwise) = (0, 0, Vec::new());
    for (number, (mark, sum)) in (0..said::JOBS).zip(said::read(there)) {
        if number % PIECE == 0 {
            give_the_browser_a_turn().await;
        }
        let here = said::said(&machines, number);
        if here.0 != mark {
            otherwise.push(format!("job {number}: other words, or in another order"));
        } else if (here.1 - sum).abs() > SUM * sum.abs() {
            otherwise.push(format!("job {number}: {} here, {sum} there", here.1));
        }
        compared += 1;
        same_bits += u32::from(here.1.to_bits() == sum.to_bits());
    }
    assert_eq!(compared, said::JOBS);
    assert!(
        otherwise.is_empty(),
        "{} of {compared}: {:?}",
        otherwise.len(),
        &otherwise[..otherwise.len().min(20)]
    );
    console_log!("{compared} jobs alike, {same_bits} to the last bit");
}
