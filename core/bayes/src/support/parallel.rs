//! Independent pieces of work, side by side where the target has threads. Every piece gives the same
//! answer wherever it is done, and answers come back in order, so results do not depend on threads.

/// Does two things that may fail.
///
/// # Errors
/// That of the first, or else that of the second.
#[cfg(feature = "threads")]
pub fn both<A: Send, B: Send, E: Send>(
    a: impl FnOnce() -> Result<A, E> + Send,
    b: impl FnOnce() -> Result<B, E> + Send,
) -> Result<(A, B), E> {
    let (a, b) = rayon::join(a, b);
    Ok((a?, b?))
}

/// Does one thing for every item; results in the order of the items.
#[cfg(feature = "threads")]
pub fn each<T: Send, R: Send>(items: Vec<T>, work: impl Fn(T) -> R + Sync + Send) -> Vec<R> {
    use rayon::prelude::*;
    items.into_par_iter().map(work).collect()
}

/// Into how many pieces work is worth cutting.
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
