use thiserror::Error;

use crate::network::NetworkError;

/// Why a query has no answer.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum InferenceError {
    /// The evidence has probability zero.
    #[error("these findings cannot all be true: {}", .conflict.join("; "))]
    Impossible {
        /// A smallest set of findings that contradict each other, as `variable = state`.
        conflict: Vec<String>,
    },
    /// The exact answer needs more table entries than the limit.
    #[error("the exact answer needs tables of {entries:.3e} entries in all; the limit is {limit:.0e}")]
    TooLarge {
        /// Number of entries needed.
        entries: f64,
        /// The limit.
        limit: f64,
    },
    /// A query names a variable twice.
    #[error("\"{variable}\" is named twice")]
    Repeated {
        /// The variable.
        variable: String,
    },
    /// A likelihood is not valid.
    #[error("evidence on \"{variable}\": {rule}")]
    Likelihood {
        /// The variable.
        variable: String,
        /// What is wrong.
        rule: String,
    },
    /// The network has no variable or state of this name.
    #[error(transparent)]
    Name(#[from] NetworkError),
}
