//! A job as a lesson: the history of the odds, the arithmetic of one step, what-if questions, and exercises
//! with hidden faults.
//!
//! A lesson asks one question from beginning to end, so that a class can follow Bayes' rule: *what stopped
//! the machine when it came in?* Repairs change the machine and not the answer; only findings and outcomes of
//! attempts change the odds. (The bench asks what stops the machine now.)

mod arithmetic;
mod exercise;
mod graph;
mod odds_history;
mod suppose;

pub use arithmetic::{Arithmetic, Frequencies, arithmetic};
pub use exercise::{ActionRecord, Hidden, HiddenCondition, Played, exercise, play, reveal, take};
pub use graph::{Edge, Graph, Node, NodeKind, graph};
pub use odds_history::{CauseHistory, OddsHistory, odds_history};
pub use suppose::{OddsFactor, Supposition, suppose};

/// The mower, read once for all unit tests.
#[cfg(test)]
pub(crate) fn mower() -> &'static crate::machine::Machine {
    use crate::machine::Machine;
    static MOWER: std::sync::OnceLock<Machine> = std::sync::OnceLock::new();
    MOWER.get_or_init(|| Machine::shipped("mower-recoil").expect("the mower is valid"))
}

/// Its whole description as text.
#[cfg(test)]
pub(crate) fn mower_text() -> String {
    serde_json::to_string(mower().file()).expect("a description is JSON")
}
