//! Inference by enumeration of the joint distribution: the reference for everything else.

use super::{Evidence, InferenceError, Posterior};
use crate::network::{Network, for_each_configuration};

/// Maximum number of combinations of states.
const LIMIT: f64 = 1e8;

/// Returns all posterior marginals and the probability of the evidence, by summing over every combination of
/// states.
///
/// It is slow and simple. Use it to check other algorithms;
/// [`JunctionTree::posterior`](crate::JunctionTree::posterior) gives the same answer fast.
///
/// # Errors
/// [`InferenceError::TooLarge`] above 1e8 combinations. [`InferenceError::Impossible`] if the evidence has
/// probability zero; it then names all findings.
///
/// # Panics
/// If the evidence refers to variables that the network does not have.
pub fn posterior_by_enumeration(network: &Network, evidence: &Evidence) -> Result<Posterior, InferenceError> {
    let cards: Vec<usize> = network.iter().map(|(_, v)| v.cardinality()).collect();
    let entries: f64 = cards.iter().map(|c| *c as f64).product();
    if entries > LIMIT {
        return Err(InferenceError::TooLarge { entries, limit: LIMIT });
    }
    let mut p_evidence = 0.0;
    let mut marginals: Vec<Vec<f64>> = cards.iter().map(|c| vec![0.0; *c]).collect();
    for_each_configuration(&cards, |row| {
        let p = joint(network, row) * evidence.iter().map(|(v, l)| l[row[v.index()]]).product::<f64>();
        p_evidence += p;
        for (marginal, state) in marginals.iter_mut().zip(row) {
            marginal[*state] += p;
        }
    });
    if p_evidence == 0.0 {
        return Err(InferenceError::Impossible {
            conflict: evidence.variables().iter().map(|v| evidence.describe(network, *v)).collect(),
        });
    }
    for x in marginals.iter_mut().flatten() {
        *x /= p_evidence;
    }
    Ok(Posterior::new(p_evidence.ln(), marginals))
}

/// Probability of one complete configuration.
fn joint(network: &Network, row: &[usize]) -> f64 {
    network
        .iter()
        .map(|(id, v)| {
            let parents: Vec<usize> = v.parents().iter().map(|p| row[p.index()]).collect();
            v.probability(&parents, row[id.index()])
        })
        .product()
}
