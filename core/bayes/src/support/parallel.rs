//! Independent work, in parallel if the feature `threads` is on. Results come in the order of the items and
//! do not depend on the feature.

/// Does two things that may fail.
///
/// # Errors
/// The error of the first, else that of the second.
#[cfg(feature = "threads")]
pub fn both<A: Send, B: Send, E: Send>(
    a: impl FnOnce() -> Result<A, E> + Send,
    b: impl FnOnce() -> Result<B, E> + Send,
) -> Result<(A, B), E> {
    let (a, b) = rayon::join(a, b);
    Ok((a?, b?))
}

/// Applies `work` to every item.
#[cfg(feature = "threads")]
pub fn each<T: Send, R: Send>(items: Vec<T>, work: impl Fn(T) -> R + Sync + Send) -> Vec<R> {
    use rayon::prelude::*;
    items.into_par_iter().map(work).collect()
}

/// Number of pieces into which work is divided.
#[cfg(feature = "threads")]
pub fn pieces() -> usize {
    rayon::current_num_threads()
}

#[cfg(not(feature = "threads"))]
pub fn both<A, B, E>(
    a: impl FnOnce() -> Result<A, E>,
    b: impl FnOnce() -> Result<B, E>,
) -> Result<(A, B), E> {
    Ok((a()?, b()?))
}

#[cfg(not(feature = "threads"))]
pub fn each<T, R>(items: Vec<T>, work: impl Fn(T) -> R) -> Vec<R> {
    items.into_iter().map(work).collect()
}

#[cfg(not(feature = "threads"))]
pub fn pieces() -> usize {
    1
}
