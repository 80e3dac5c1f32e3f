//! Diagnosis of a small engine that will not start, and the best next step, from a Bayesian network.
//!
//! A [`machine`] is described in JSON: its parts, what can be wrong with each of them and how often,
//! and the checks, bypasses and repairs that a workshop can do. A [`job`] records in order what was seen,
//! said, measured, repaired and tried on one machine. The crate turns both into a Bayesian network, and an
//! assessment of the job holds
//!
//! * the probability of every cause now, apart from conditions that are present but not the reason,
//! * the next step: the check, start attempt or repair that gets the engine running at the least expected
//!   cost, or the advice to stop,
//! * the expected cost with and without it.
//!
//! ```
//! use halfsplit::job::{Job, JobFile};
//! use halfsplit::machine::Machine;
//!
//! // A lawn mower with a recoil starter. A start attempt did nothing, and the spark tester stays dark.
//! let file = JobFile::from_json(
//!     r#"{"machine": "mower-recoil", "steps": [
//!         {"do": "attempt", "outcome": "nothing"},
//!         {"do": "check", "check": "spark-gap-tester", "result": "none"}]}"#,
//! )?;
//! let machine = Machine::shipped(&file.machine)?;
//! let job = Job::new(&machine, &file)?;
//! let assessment = job.assess()?;
//!
//! // The most probable cause lies in the ignition or in the controls that stop it.
//! let cause = &assessment.causes[0];
//! println!("{}: {:.0} %", cause.name, 100.0 * cause.p_cause);
//! assert!(["ignition", "controls"].contains(&cause.subsystem.as_str()));
//!
//! let next = assessment.next.as_ref().expect("an engine that does not run has a next step");
//! println!("next: {}, {:.0} minutes", next.name, next.minutes);
//! for result in &next.results {
//!     println!("  {}: {:.0} %", result.name, 100.0 * result.p);
//! }
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! The library computes and does nothing else: it reads no files and no clock, keeps no global state, and
//! takes random numbers from its caller. The same job gives the same answer on every platform.
//!
//! # Modules
//!
//! From below upwards; each module imports only from those above it in this list.
//!
//! * [`halfsplit_bayes`], a crate of its own, re-exported as [`bayes`]: networks and exact inference. It
//!   knows nothing of engines.
//! * [`reading`]: a measured value with its unit, as a likelihood.
//! * [`machine`]: a description of a machine, as variables and tables. Five machines are part of the crate.
//! * [`job`]: what was done, in order, as evidence on a network.
//! * [`advise`]: the probability of every cause, and the next step.
//! * [`explain`]: what an answer depends on: the weight of each finding, conflicts, findings that would
//!   overturn the advice, and the sensitivity to every number.
//! * [`simulate`]: policies compared on simulated machines with hidden faults.
//! * [`link`]: a job as the text of a link. [`report`]: a job as a work sheet. [`lesson`]: a job as a lesson,
//!   and exercises with a hidden fault.
//!
//! # Features
//!
//! * `cli` (default): the program `halfsplit`; it turns on all of the following except `typescript`.
//! * `shipped`: the machine descriptions are part of the library, for
//!   [`Machine::shipped`](machine::Machine::shipped).
//! * `pack`: links are compressed by this crate.
//! * `schema`: JSON Schema of the file formats.
//! * `threads`: independent work runs in parallel; the answers are identical without it.
//! * `typescript`: TypeScript declarations (with tsify) for the types that cross to a web page.

#![cfg_attr(docsrs, feature(doc_cfg))]

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

/// Runs the example of the README as a documentation test.
#[cfg(all(doctest, feature = "shipped"))]
#[doc = include_str!("../README.md")]
struct ReadmeDoctests;
