//! Simulated jobs: machines with hidden faults, and policies that get them running or give up.
//!
//! A machine that does not start is drawn from the network (`simulated_machine.rs`), or from a network with
//! other rates (`disturb.rs`). A [`Policy`] plays a job on it to its end (`play.rs`). A [`Summary`] states
//! the time and cost of the jobs, and a [`Calibration`] how often the odds were right.

mod calibration;
mod disturb;
mod draw;
mod play;
mod policies;
mod policy;
mod ranking;
mod rule;
mod simulated_machine;
mod summary;

pub use calibration::{Bin, Calibration, Score};
pub use disturb::disturbed;
pub use play::{Ending, SimulatedJob, Simulation};
pub use policies::{POLICIES, policy};
pub use policy::{Decision, Policy, Situation};
pub use summary::{SampleSummary, Summary};

pub(crate) use ranking::action_of;
pub(crate) use simulated_machine::SimulatedMachine;
