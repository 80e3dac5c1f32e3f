use thiserror::Error;

use crate::network::NetworkError;

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum InferenceError {
    /// The evidence has probability zero.
    #[error("these findings cannot all be true: {}", .conflict.join("; "))]
    Impossible {
        /// The smallest set of findings that exclude each other, as `variable = state`.
        conflict: Vec<String>,
    },
    /// The tables would not fit.
    #[error("the exact answer needs tables of {entries:.3e} entries in all; the limit is {limit:.0e}")]
    TooLarge {
        /// Entries needed.
        entries: f64,
        /// The limit.
        limit: f64,
    },
    /// A variable asked about twice in one question.
    #[error("\"{variable}\" is named twice")]
    Repeated {
        /// The variable.
        variable: String,
    },
    /// A likelihood that is none.
    #[error("evidence on \"{variable}\": {rule}")]
    Likelihood {
        /// The variable.
        variable: String,
        /// What is wrong.
        rule: String,
    },
    /// A name that the network does not have.
    #[error(transparent)]
    Name(#[from] NetworkError),
}
