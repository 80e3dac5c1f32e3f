//! Which findings cannot all be true.

use super::{Evidence, InferenceError, JunctionTree};
use crate::network::{Network, VarId};

/// Sets tried one by one before the search for the very smallest set is given up.
const TRIES: usize = 20_000;

/// A smallest set of findings that has probability zero together; empty where all the evidence is
/// possible.
///
/// First, findings are left out one after another as long as the rest stays impossible: what is
/// left is irreducible. Then every smaller set is tried, up to 20,000 of them; so the answer is
/// always irreducible and, but for evidence of very many findings, of the smallest size.
///
/// # Errors
/// [`InferenceError::TooLarge`].
pub fn smallest_conflict(network: &Network, evidence: &Evidence) -> Result<Vec<VarId>, InferenceError> {
    let tree = JunctionTree::compile(network)?;
    let mut work = tree.workspace();
    let mut possible = |set: &[VarId]| tree.weigh(&mut work, &[&evidence.restricted_to(set)])[0];
    let all = evidence.variables();
    if possible(&all) {
        return Ok(Vec::new());
    }
    let mut irreducible = all.clone();
    let mut i = 0;
    while i < irreducible.len() {
        let mut without = irreducible.clone();
        without.remove(i);
        if possible(&without) {
            i += 1;
        } else {
            irreducible = without;
        }
    }
    let mut tries = 0;
    for size in 1..irreducible.len() {
        let mut set: Vec<usize> = (0..size).collect();
        loop {
            tries += 1;
            if tries > TRIES {
                return Ok(irreducible);
            }
            let chosen: Vec<VarId> = set.iter().map(|i| all[*i]).collect();
            if !possible(&chosen) {
                return Ok(chosen);
            }
            if !next_combination(&mut set, all.len()) {
                break;
            }
        }
    }
    Ok(irreducible)
}

/// The error for impossible evidence.
pub(super) fn impossible(network: &Network, evidence: &Evidence) -> InferenceError {
    match smallest_conflict(network, evidence) {
        Ok(conflict) => InferenceError::Impossible {
            conflict: conflict.iter().map(|v| evidence.describe(network, *v)).collect(),
        },
        Err(error) => error,
    }
}

/// The next set of the same size out of `0..n`, in order; false after the last.
fn next_combination(set: &mut [usize], n: usize) -> bool {
    let k = set.len();
    let Some(i) = (0..k).rev().find(|i| set[*i] < n - k + i) else { return false };
    set[i] += 1;
    for j in i + 1..k {
        set[j] = set[j - 1] + 1;
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::NetworkBuilder;

    #[test]
    fn the_pair_is_found_among_innocent_findings() {
        // either = a or b; "either = n" and "b = y" exclude each other, "a = n" and "c" are innocent.
        let mut b = NetworkBuilder::new();
        let coin = || vec![0.5, 0.5];
        let a = b.add("a", ["n", "y"], &[], coin()).unwrap();
        let bb = b.add("b", ["n", "y"], &[], coin()).unwrap();
        let c = b.add("c", ["n", "y"], &[], coin()).unwrap();
        let either = b.deterministic("either", ["n", "y"], &[a, bb], |s| s[0].max(s[1])).unwrap();
        let network = b.build().unwrap();
        let mut evidence = Evidence::new();
        for (var, state) in [(a, "n"), (bb, "y"), (c, "y"), (either, "n")] {
            evidence.observe(&network, var, state).unwrap();
        }
        assert_eq!(smallest_conflict(&network, &evidence).unwrap(), vec![bb, either]);
        let error = JunctionTree::compile(&network).unwrap().posterior(&evidence).unwrap_err();
        assert_eq!(error.to_string(), "these findings cannot all be true: b = y; either = n");
        evidence.retract(either);
        assert!(smallest_conflict(&network, &evidence).unwrap().is_empty());
    }

    #[test]
    fn combinations_come_in_order_and_end() {
        let mut set = vec![0, 1];
        let mut seen = vec![set.clone()];
        while next_combination(&mut set, 4) {
            seen.push(set.clone());
        }
        assert_eq!(seen, [[0, 1], [0, 2], [0, 3], [1, 2], [1, 3], [2, 3]]);
    }
}
