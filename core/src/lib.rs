//! Bayesian fault probabilities for small engines that will not start.
//!
//! The modules, from below upwards. Each imports only from those above it in this list, and all of them build on
//! [`halfsplit_bayes`], which answers questions about networks and knows nothing of engines:
//!
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
//! println!("{} ({:.0} min): {:?}", next.name, next.minutes, next.reason);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod advise;
pub mod explain;
mod hash;
pub mod job;
pub mod lesson;
pub mod link;
pub mod machine;
pub mod precision;
pub mod reading;
pub mod report;
pub mod simulate;

pub use halfsplit_bayes as bayes;
pub use halfsplit_bayes::json;
pub use halfsplit_bayes::support::suggest::NoSuchId;
