#![doc = include_str!("../../README.md")]
//!
//! # The crate
//!
//! From below upwards, each importing only from those below it:
//!
//! * [`Network`]: variables, tables, a directed acyclic graph; [`JunctionTree`]: exact answers.
//!   These know nothing of engines and can be used alone.
//! * [`reading`]: a measured value as a likelihood.
//! * [`machine`]: an authored description as variables and tables.
//! * [`job`]: what was done, in order, as evidence on a network.
//! * [`advise`]: the odds of every cause, and what to do next.
//! * [`explain`]: what an answer rests on: weights, conflict, what would overturn it, every number.
//! * [`simulate`]: policies played on machines with hidden faults.
//! * [`link`]: a job as a text that fits in a link; [`report`]: a job as a work sheet;
//!   [`lesson`]: a job as a lesson, and exercises.
//!
//! ```
//! use halfsplit::job::{Job, JobFile};
//! use halfsplit::machine::Machine;
//!
//! let file = JobFile::from_json(
//!     r#"{"machine": "mower-recoil", "steps": [
//!         {"do": "attempt", "outcome": "nothing"},
//!         {"do": "check", "check": "spark-gap-tester", "result": "none"}]}"#,
//! )?;
//! let machine = Machine::shipped(&file.machine)?;
//! let answer = Job::new(&machine, &file)?.assess()?;
//! let leader = &answer.causes[0];
//! assert!(["ignition", "controls"].contains(&leader.subsystem.as_str()));
//! let next = answer.next.expect("an engine that does not run has a next step");
//! println!("{} ({:.0} min): {}", next.name, next.minutes, next.why);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod advise;
pub mod explain;
mod inference;
pub mod job;
pub mod json;
pub mod lesson;
pub mod link;
pub mod machine;
mod network;
mod order;
mod parallel;
pub mod precision;
pub mod reading;
pub mod report;
pub mod simulate;
mod suggest;

pub use inference::{
    Compiler, DataConflict, Derivatives, Evidence, EvidenceFile, Explanation, Finding, InferenceError,
    JunctionTree, Outlook, Posterior, TableDerivatives, Targets, Workspace, derivatives, enumerate,
    explanations, smallest_conflict, sweep,
};
pub use network::{
    Cpt, Network, NetworkBuilder, NetworkError, NetworkFile, NoisyMax, NoisyParent, StateId, VarId, Variable,
    VariableFile,
};
pub use suggest::NoSuchId;
