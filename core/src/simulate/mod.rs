//! Simulated jobs: machines with hidden faults, and policies that get them running or give up.
//!
//! A machine that does not start is drawn from the network (`simulated_machine.rs`), or from a network with
//! other rates (`disturb.rs`). A [`Policy`] plays a job on it to its end (`play.rs`). A [`Summary`] states
//! the time and cost of the jobs, a [`PairedDifference`] compares two policies on the same machines, a [`Calibration`]
//! states how often the odds were right, and a [`ForecastSummary`] how far the predicted course was.
//!
//! A job costs what it takes until the engine runs *and* every fault that was found is put right. When the engine runs,
//! the cheapest repair of each fault that the job's own findings have shown, that is really there and that is not
//! repaired yet is added, with set-up work on the closed machine counted once. This holds for every policy. A wrong part
//! is a part bought for a fault that is not there.

mod calibration;
mod disturb;
mod draw;
mod forecast;
mod pair;
mod play;
mod policies;
mod policy;
mod ranking;
mod rule;
mod simulated_machine;
mod summary;

pub use calibration::{Bin, Calibration, Score};
pub use disturb::disturbed;
pub use forecast::{ForecastSummary, PredictedObserved};
pub use pair::{MeanDifference, PairedDifference, PairedOutcome};
pub use play::{Ending, Forecast, SimulatedJob, Simulation};
pub use policies::{POLICIES, policy};
pub use policy::{Decision, Policy, Situation};
pub use summary::{SampleSummary, Summary};

pub(crate) use ranking::action_of;
pub(crate) use simulated_machine::SimulatedMachine;
