//! Which findings contradict each other.

use super::{Evidence, InferenceError, JunctionTree};
use crate::network::{Network, VarId};

/// Maximum number of sets tried in the search for a smallest one.
const MAX_SETS: usize = 20_000;

/// Returns a smallest set of findings that together have probability zero. It is empty if the evidence has a
/// probability above zero.
///
/// Findings are first removed one by one as long as the rest stays contradictory; this gives an irreducible
/// set. Then all smaller sets are tried, up to 20,000 of them. The result is therefore always irreducible,
/// and of the smallest size unless the evidence has very many findings.
///
/// ```
/// use halfsplit_bayes::{Evidence, NetworkBuilder, smallest_conflict};
///
/// let states = ["no", "yes"];
/// let mut builder = NetworkBuilder::new();
/// let fuel = builder.add("fuel", states, &[], vec![0.1, 0.9])?;
/// let spark = builder.add("spark", states, &[], vec![0.2, 0.8])?;
/// let runs = builder.deterministic("runs", states, &[fuel, spark], |s| s[0].min(s[1]))?;
/// let network = builder.build()?;
/// let mut evidence = Evidence::new();
/// for (variable, state) in [(fuel, "yes"), (spark, "no"), (runs, "yes")] {
///     evidence.observe(&network, variable, state)?;
/// }
/// assert_eq!(smallest_conflict(&network, &evidence)?, [spark, runs]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`InferenceError::TooLarge`].
///
/// # Panics
/// If the evidence refers to variables that the network does not have.
pub fn smallest_conflict(network: &Network, evidence: &Evidence) -> Result<Vec<VarId>, InferenceError> {
    let tree = JunctionTree::compile(network)?;
    let mut work = tree.workspace();
    let mut possible = |set: &[VarId]| tree.collect_evidence(&mut work, &[&evidence.restricted_to(set)])[0];
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
            if tries > MAX_SETS {
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

/// The error for evidence with probability zero.
pub(super) fn impossible(network: &Network, evidence: &Evidence) -> InferenceError {
    match smallest_conflict(network, evidence) {
        Ok(conflict) => InferenceError::Impossible {
            conflict: conflict.iter().map(|v| evidence.describe(network, *v)).collect(),
        },
        Err(error) => error,
    }
}

impl JunctionTree {
    /// The error for evidence that, with the evidence built in, has probability zero.
    pub(super) fn impossible(&self, evidence: &Evidence) -> InferenceError {
        impossible(self.network(), &self.with_built_in(evidence))
    }
}

/// Advances `set` to the next set of the same size out of `0..n`, in lexicographic order. Returns `false`
/// after the last.
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
    fn a_pair_is_found_among_other_findings() {
        // either = a or b; "either = n" and "b = y" contradict each other; "a = n" and "c = y" do not.
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
    fn combinations_are_in_lexicographic_order() {
        let mut set = vec![0, 1];
        let mut seen = vec![set.clone()];
        while next_combination(&mut set, 4) {
            seen.push(set.clone());
        }
        assert_eq!(seen, [[0, 1], [0, 2], [0, 3], [1, 2], [1, 3], [2, 3]]);
    }
}
