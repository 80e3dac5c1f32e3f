//! Exact inference in discrete Bayesian networks.
//!
//! A program describes how causes and observations depend on each other, enters what has been observed, and
//! asks how probable everything else is now. All answers are exact, up to the rounding of `f64`. One compiled
//! network answers any number of queries.
//!
//! ```
//! use halfsplit_bayes::{Evidence, JunctionTree, NetworkBuilder};
//!
//! // The wet grass of Pearl (1988), with the numbers of Russell and Norvig, "Artificial Intelligence": is it
//! // wet because of the sprinkler or because of rain?
//! let states = ["no", "yes"];
//! let mut builder = NetworkBuilder::new();
//! let cloudy = builder.add("cloudy", states, &[], vec![0.5, 0.5])?;
//! let sprinkler = builder.add("sprinkler", states, &[cloudy], vec![0.5, 0.5, 0.9, 0.1])?;
//! let rain = builder.add("rain", states, &[cloudy], vec![0.8, 0.2, 0.2, 0.8])?;
//! let table = vec![1.0, 0.0, 0.1, 0.9, 0.1, 0.9, 0.01, 0.99];
//! let wet = builder.add("wet grass", states, &[sprinkler, rain], table)?;
//! let network = builder.build()?;
//!
//! let tree = JunctionTree::compile(&network)?;
//! let mut evidence = Evidence::new();
//! evidence.observe(&network, wet, "yes")?;
//! let posterior = tree.posterior(&evidence)?;
//! assert!((posterior.marginal(sprinkler)[1] - 0.4298).abs() < 5e-5);
//! assert!((posterior.marginal(rain)[1] - 0.7079).abs() < 5e-5);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # Bayesian networks
//!
//! A Bayesian network is a directed acyclic graph. Each node is a variable with finitely many states. Each
//! variable has one *conditional probability table*: for every combination of its parents' states, a row with
//! the probability of each of its own states. The joint distribution is the product of all tables:
//!
//! `P(x_1, ..., x_n) = prod_i P(x_i | parents of x_i)`
//!
//! The network above has four tables with 18 entries in all:
//!
//! ```text
//!            cloudy                 P(cloudy)
//!           /      \
//!     sprinkler    rain             P(sprinkler | cloudy)   P(rain | cloudy)
//!           \      /
//!          wet grass                P(wet grass | sprinkler, rain)
//! ```
//!
//! A *posterior marginal* is the distribution of one variable given the evidence.
//! [`posterior_by_enumeration`] computes it from the definition: it adds up the joint probabilities of all
//! combinations of states. Its cost doubles with every binary variable. It is the reference that everything
//! else is tested against.
//!
//! # Junction trees
//!
//! A junction tree gets the same sums from small tables. Compilation takes three steps (Lauritzen and
//! Spiegelhalter 1988; Jensen, Lauritzen and Olesen 1990):
//!
//! 1. All variables that share a table are connected with each other, and the directions of the edges are
//!    dropped.
//! 2. Vertices are eliminated one after another. Elimination connects all remaining neighbours of a vertex. A
//!    vertex and its neighbours at that moment form a *clique*.
//! 3. Cliques become the nodes of a tree in which all cliques that contain a given variable are connected.
//!    Two neighbours in the tree share a *separator*. Each table goes to one clique that contains all its
//!    variables.
//!
//! The sprinkler network has two cliques:
//!
//! ```text
//!   +-----------------------------+       separator       +--------------------------------+
//!   |   cloudy, sprinkler, rain   | --{sprinkler, rain}-- |  sprinkler, rain, wet grass   |
//!   +-----------------------------+                       +-------------------------------+
//!     P(cloudy) P(sprinkler | cloudy)                       P(wet grass | sprinkler, rain)
//!     P(rain | cloudy)
//! ```
//!
//! A *message* from one clique to its neighbour is the clique's table, multiplied by the messages from its
//! other neighbours and summed down to the separator. One pass of messages to the root (*collect*) gives the
//! probability of the evidence. A second pass away from the root (*distribute*) gives every marginal. The
//! message to a neighbour leaves out the neighbour's own message. It is a product of the others and needs no
//! division (Shafer and Shenoy 1990), so zeros are no special case.
//!
//! # Cost
//!
//! One pass costs one step for each clique entry. The entries of a clique are the product of the numbers of
//! states of its variables, so the cost is exponential in the size of the largest clique. That size less one,
//! minimised over all elimination orders, is the *treewidth* of the graph. To find the best order is NP-hard;
//! [`Compiler`] compares several greedy orders (Kjaerulff 1990). A network that is nearly a tree stays cheap
//! with thousands of variables. A grid of 30 by 30 variables is too large.
//!
//! * Entries that are zero are not stored. Deterministic tables and hard evidence shrink a tree, often a
//!   hundredfold.
//! * [`JunctionTree::entries`] returns the number of stored entries: the work of one pass, at 20 to 40 bytes
//!   each.
//! * [`Compiler::max_entries`] sets a limit. A network above it is refused with [`InferenceError::TooLarge`]
//!   before anything large is allocated.
//! * [`Compiler::with_evidence`] builds evidence into a tree. Later queries then work on the smaller tree.
//! * A [`Workspace`] keeps its messages. The next query in it recomputes only messages that a changed finding
//!   affects.
//! * [`JunctionTree::propagate_lanes`] answers several queries in one pass, with SIMD instructions where they
//!   exist.
//!
//! # Noisy-MAX
//!
//! A noisy-MAX describes a variable with ordered states and many independent causes (Henrion 1989; Diez
//! 1993). Each parent alone contributes a random level, and the variable takes the highest contribution:
//!
//! `P(Y <= y | x) = prod_i P(C_i <= y | x_i)`
//!
//! It needs one small table for each parent, where a full table has a row for each combination of the
//! parents' states. With two levels it is the noisy-OR. [`NetworkBuilder::noisy_max`] adds one.
//!
//! In a junction tree a full table would put all parents into one clique. The *threshold factorisation*
//! avoids this (Diez and Galan 2003; the idea of a factorised noisy-MAX goes back to Heckerman and Breese
//! 1996). It adds one auxiliary variable `T`, which ranges over the levels of `Y`:
//!
//! `P(Y = y | x) = sum_T D(y, T) prod_i P(C_i <= T | x_i)`, with `D(y, y) = 1`, `D(y, y - 1) = -1`, and 0
//! elsewhere
//!
//! ```text
//!     x_1  x_2  ...  x_n              x_1  x_2  ...  x_n
//!       \   |       /                   \   |       /       each edge: P(C_i <= T | x_i)
//!        \  |      /       becomes       \  |      /
//!            Y                               T
//!                                            |              D(Y, T)
//!                                            Y
//! ```
//!
//! The sum is the difference `P(Y <= y) - P(Y <= y - 1)`, which explains the entries of -1: `D` is a
//! difference operator and no distribution. Every factor now has at most two variables, so the parents are no
//! longer connected through `Y`. Negative entries cause one difficulty. A sum of terms with both signs that
//! should be zero comes out as a rounding error. Propagation compares small sums with the size of their terms
//! and sets those that cancel to zero.
//!
//! # Evidence
//!
//! [`Evidence`] holds one likelihood per observed variable. An observed state is *hard evidence*: the
//! likelihood is 1 for that state and 0 for all others ([`Evidence::observe`]). Any other likelihood is *soft
//! evidence*, also called virtual evidence (Pearl 1988, section 2.2.2). The likelihood of a state is the
//! probability of the uncertain report, given that the variable is in that state
//! ([`Evidence::set_likelihood`]). Only ratios of likelihoods affect posteriors.
//!
//! Evidence with probability zero is an error, [`InferenceError::Impossible`], which names a smallest set of
//! findings that contradict each other. The product of many likelihoods may be far below the smallest `f64`:
//! messages are scaled by powers of two, and the logarithm of the total is kept.
//!
//! # Queries
//!
//! | question | function |
//! |---|---|
//! | How probable is each state of each variable? How probable is the evidence? | [`JunctionTree::posterior`] |
//! | How probable is each combination of states of some variables? | [`JunctionTree::joint`] |
//! | Which complete configurations are most probable? | [`most_probable_explanations`] |
//! | What would each possible next observation tell about the root causes? | [`predictions`] |
//! | How does the probability of the evidence depend on each number in the network? | [`derivatives`] |
//! | Which findings contradict each other? | [`smallest_conflict`] |
//! | How well do the findings fit together? | [`JunctionTree::data_conflict`] |
//!
//! # Map of the types
//!
//! ```text
//!   NetworkBuilder --build--> Network --Compiler::compile--> JunctionTree --posterior--> Posterior
//!   NetworkFile (JSON) ------/             ^                    ^    |
//!                                          |                    |    +--workspace--> Workspace
//!   EvidenceFile (JSON) --on--> Evidence --+--------------------+
//! ```
//!
//! * [`NetworkBuilder`] collects variables and tables and validates them. A [`Network`] is immutable and
//!   valid.
//! * [`Network`] holds [`Variable`]s, addressed by [`VarId`]; a [`Variable`] has states, addressed by
//!   [`StateId`], and a [`Cpt`], which is a table or a [`NoisyMax`].
//! * [`Compiler`] holds the options for compilation. [`JunctionTree::compile`] uses the defaults.
//! * [`JunctionTree`] is immutable and can be shared between threads; each thread needs its own
//!   [`Workspace`].
//! * [`NetworkFile`] and [`EvidenceFile`] are the JSON formats.
//! * [`NetworkError`] says what is wrong with a network or a name, [`InferenceError`] why a query has no
//!   answer.
//!
//! # Features
//!
//! All are off by default.
//!
//! * `threads`: independent work runs in parallel on rayon's thread pool. Results are identical
//!   without it.
//! * `typescript`: TypeScript declarations (with tsify) for the types that cross to a web page.

#![cfg_attr(docsrs, feature(doc_cfg))]
#![warn(clippy::missing_errors_doc, clippy::missing_panics_doc)]

mod inference;
#[doc(hidden)]
pub mod json;
mod network;
pub mod precision;
#[doc(hidden)]
pub mod support;

pub use inference::{
    Compiler, DataConflict, Derivatives, Evidence, EvidenceFile, Explanation, Finding, InferenceError,
    JunctionTree, ParameterDerivatives, Posterior, PredictedOutcome, Targets, Workspace, derivatives,
    most_probable_explanations, posterior_by_enumeration, predictions, smallest_conflict,
};
pub use network::{
    Cpt, Network, NetworkBuilder, NetworkError, NetworkFile, NoisyMax, NoisyParent, StateId, VarId, Variable,
    VariableFile, for_each_configuration,
};

/// Runs the examples of the README as documentation tests.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct ReadmeDoctests;
