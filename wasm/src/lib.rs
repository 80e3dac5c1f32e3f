//! halfsplit for the browser: a thin shell without logic of its own.
//!
//! The TypeScript declaration of every type is derived from the Rust type. `serde-wasm-bindgen` turns values into
//! plain objects and lists, and back. Every failure is thrown as a [`Trouble`] with its kind, place, rule and figures,
//! and the page puts it into words. Work that continues over several calls is a class: [`AdviceSession`] and
//! [`SensitivityAnalysis`]. The page must free its objects.
//!
//! Machine descriptions are no part of the engine. The page fetches the description that it needs and passes it to
//! [`load_machine`]. Later calls find it by its id.
//!
//! Two modules are built from this crate, by its features. `bench` serves the first screen and the bench, and is
//! downloaded at once. `study` serves lessons, exercises, reasons, the work sheet and text to paste, and is downloaded
//! when one of them is opened.

#[cfg(feature = "study")]
mod asked;
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
pub use bench::{AdviceSession, fingerprint, fit, link_text, linked, parse_job};
#[cfg(feature = "study")]
pub use hand_on::{paste, sheet};
pub use machines::load_machine;
#[cfg(feature = "study")]
pub use reasons::{SensitivityAnalysis, reasons};
#[cfg(feature = "study")]
pub use study::{arithmetic, exercise, graph, odds_history, play, reveal, take};
pub use trouble::Trouble;
