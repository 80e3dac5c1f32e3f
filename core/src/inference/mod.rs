//! Exact answers from a network.
//!
//! [`JunctionTree`] compiles a network once and then answers many times: probability of the
//! evidence and all marginals, with hard and virtual evidence. [`enumerate`] does the same by
//! adding up the whole joint distribution; it is slow and simple, and everything else is tested
//! against it. [`smallest_conflict`] says which findings cannot all be true.

mod conflict;
mod enumerate;
mod error;
mod evidence;
mod factor;
mod junction_tree;
mod order;
mod shape;
mod sweep;

pub use conflict::smallest_conflict;
pub use enumerate::enumerate;
pub use error::InferenceError;
pub use evidence::{Evidence, EvidenceFile, Finding};
pub use junction_tree::{JunctionTree, Posterior, Restricted, Workspace};
pub use sweep::{Outlook, sweep};
