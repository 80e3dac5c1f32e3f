//! Simulated jobs: machines with hidden faults, and policies that get them running or give up.
//!
//! A machine that does not start is drawn from the network (`truth.rs`) or from one whose rates were moved
//! (`disturb.rs`), a policy (`policy.rs`) plays a job on it to its end (`play.rs`), and what the jobs took is
//! summed up (`summary.rs`), as is how often the odds were right (`calibration.rs`).

mod calibration;
mod cheapest;
mod checklist;
mod clairvoyant;
mod disturb;
mod draw;
mod play;
mod policy;
mod summary;
mod truth;

pub use calibration::{Bin, Calibration, Score};
pub use disturb::disturbed;
pub use play::{Ended, Ending, Simulation};
pub use policy::Policy;
pub use summary::{SampleSummary, Summary};

pub(crate) use truth::{Doing, Truth};
