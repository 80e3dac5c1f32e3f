//! Exact inference in discrete Bayesian networks.

#![cfg_attr(docsrs, feature(doc_cfg))]

mod inference;
#[doc(hidden)]
pub mod json;
mod network;
pub mod precision;
#[doc(hidden)]
pub mod support;

pub use inference::{
    Compiler, DataConflict, Derivatives, Evidence, EvidenceFile, Explanation, Finding, InferenceError,
    JunctionTree, Posterior, PredictedOutcome, TableDerivatives, Targets, Workspace, derivatives, enumerate,
    most_probable_explanations, predictions, smallest_conflict,
};
pub use network::{
    Cpt, Network, NetworkBuilder, NetworkError, NetworkFile, NoisyMax, NoisyParent, StateId, VarId, Variable,
    VariableFile, for_each_configuration,
};
