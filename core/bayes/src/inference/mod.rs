//! Exact answers from a network.
//!
//! [`JunctionTree`] compiles a network once and then answers many times: probability of the
//! evidence and all marginals, with hard and virtual evidence. [`enumerate`] does the same by
//! adding up the whole joint distribution; it is slow and simple, and everything else is tested
//! against it. [`smallest_conflict`] says which findings cannot all be true.

mod clique;
mod conflict;
mod data_conflict;
mod derivative;
mod enumerate;
mod error;
mod evidence;
mod explanation;
mod extended_exponent;
mod factor;
mod joint;
mod kernel;
mod lanes;
mod order;
mod posterior;
mod predictions;
mod propagate;
mod relevance;
mod separation;
mod shape;
mod size;
mod tree;

pub use conflict::smallest_conflict;
pub use data_conflict::DataConflict;
pub use derivative::{Derivatives, TableDerivatives, derivatives};
pub use enumerate::enumerate;
pub use error::InferenceError;
pub use evidence::{Evidence, EvidenceFile, Finding};
pub use explanation::{Explanation, most_probable_explanations};
pub use posterior::Posterior;
pub use predictions::{PredictedOutcome, predictions};
pub use propagate::{Targets, Workspace};
pub use tree::{Compiler, JunctionTree};
