//! halfsplit for the browser: a thin shell that turns values over and holds no logic.
//!
//! Every type that crosses is declared in TypeScript from the Rust type. `serde-wasm-bindgen` turns its values
//! into plain objects and lists, and back. Every failure is thrown as a [`Trouble`]: its kind, place, rule and
//! figures, for the page to put into words.
//!
//! Machine descriptions are no part of the engine. The page fetches the one it needs and hands it
//! over with [`load_machine`]; every later call finds it by its id.
//!
//! Two modules are built from this crate, by its features: `bench` is all that the first screen and the
//! bench ask, and what a phone downloads at once; `study` is lessons, exercises, reasons, the sheet and text to
//! paste, for those who open them.

#[cfg(feature = "study")]
mod asked;
mod begun;
#[cfg(feature = "bench")]
mod bench;
mod cross;
#[cfg(feature = "study")]
mod hand_on;
mod machines;
#[cfg(feature = "study")]
mod reasons;
#[cfg(feature = "study")]
mod study;
mod trouble;

#[cfg(feature = "bench")]
pub use bench::{advise, fingerprint, fit, link_text, linked, look_ahead, parse_job};
#[cfg(feature = "study")]
pub use hand_on::{paste, sheet};
pub use machines::load_machine;
#[cfg(feature = "study")]
pub use reasons::{reasons, sensitivity};
#[cfg(feature = "study")]
pub use study::{arithmetic, exercise, graph, odds_history, play, reveal, take};
pub use trouble::Trouble;
