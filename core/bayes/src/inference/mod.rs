//! Exact inference from a network.
//!
//! The way of a query, with the file of each stage:
//!
//! 1. `factor`: the network and the evidence to build in become factors over vertices.
//! 2. `elimination`, `clique_tree`: the vertices get an elimination order, and the order a tree of cliques.
//! 3. `entry_count`, `entry_list`: the size of the tree is checked, and the non-zero entries of each clique
//!    are listed. `compiler` runs stages 1 to 3; the result is the `junction_tree`.
//! 4. `propagation`: messages go to the root and back. `kernel` has the inner loops, `lanes` their SIMD
//!    arithmetic, and `extended_exponent` the slow variant for products that underflow.
//!
//! The other files each hold one query. `enumeration` computes posteriors from the definition, as the
//! reference for tests.

mod clique;
mod clique_tree;
mod compiler;
mod d_separation;
mod data_conflict;
mod derivatives;
mod elimination;
mod entry_count;
mod entry_list;
mod enumeration;
mod error;
mod evidence;
mod explanation;
mod extended_exponent;
mod factor;
mod joint;
mod junction_tree;
mod kernel;
mod lanes;
mod layout;
mod posterior;
mod predictions;
mod propagation;
mod relevance;
mod smallest_conflict;
mod workspace;

pub use compiler::Compiler;
pub use data_conflict::DataConflict;
pub use derivatives::{Derivatives, ParameterDerivatives, derivatives};
pub use enumeration::posterior_by_enumeration;
pub use error::InferenceError;
pub use evidence::{Evidence, EvidenceFile, Finding};
pub use explanation::{Explanation, most_probable_explanations};
pub use junction_tree::JunctionTree;
pub use posterior::Posterior;
pub use predictions::{PredictedOutcome, predictions};
pub use smallest_conflict::smallest_conflict;
pub use workspace::{Targets, Workspace};
