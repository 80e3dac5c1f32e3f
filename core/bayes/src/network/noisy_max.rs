//! The noisy-MAX: a table by a rule.
//!
//! Several parents each push an ordered variable up by themselves, independently, and the highest
//! push counts: `P(Y <= y | x) = prod_i P(X_i <= y | x_i)`. One table would have an entry for every
//! combination of the parents; the rule has one small table per parent.
//! Sources: Henrion 1989; Diez 1993, "Parameter adjustment in Bayes networks: the generalized noisy
//! OR-gate".

use super::{NetworkBuilder, NetworkError, VarId};
use crate::precision::ROW_SUM;

/// A parent of a noisy-MAX: for each of its states, the chance of every level it pushes to.
#[derive(Debug, Clone)]
pub struct NoisyParent {
    /// The parent.
    pub parent: VarId,
    /// `levels[state][level]`; each row sums to 1. Level 0 is "no push".
    pub levels: Vec<Vec<f64>>,
}

impl NoisyParent {
    /// A parent whose states push to fixed levels.
    #[must_use]
    pub fn fixed(parent: VarId, level_of_state: &[usize], levels: usize) -> Self {
        let row = |level: usize| (0..levels).map(|l| f64::from(u8::from(l == level))).collect();
        NoisyParent { parent, levels: level_of_state.iter().map(|l| row(*l)).collect() }
    }

    /// Whether no state pushes at all.
    #[must_use]
    pub fn is_idle(&self) -> bool {
        self.levels.iter().all(|row| row[0] == 1.0)
    }
}

/// The rule of a variable that is a noisy-MAX of its parents.
#[derive(Debug, Clone)]
pub struct NoisyMax {
    /// By parent, state and level: chance that the parent's own push is at most that level.
    at_most: Vec<Vec<Vec<f64>>>,
}

impl NoisyMax {
    fn new(parents: &[NoisyParent]) -> Self {
        let cumulate = |row: &Vec<f64>| -> Vec<f64> {
            // What a row misses of 1 goes to its levels in proportion, and nothing is above the highest
            // that it names, whatever the rounding says: a zero stays a zero.
            let whole: f64 = row.iter().sum();
            let top = row.iter().rposition(|p| *p > 0.0).unwrap_or(0);
            let mut sum = 0.0;
            let mut all: Vec<f64> = row
                .iter()
                .map(|p| {
                    sum += p / whole;
                    sum
                })
                .collect();
            all[top..].fill(1.0);
            all
        };
        NoisyMax { at_most: parents.iter().map(|p| p.levels.iter().map(cumulate).collect()).collect() }
    }

    /// Chance that the push of the parent at this place, in this state, is at most this level.
    #[must_use]
    pub fn at_most(&self, parent: usize, state: usize, level: usize) -> f64 {
        self.at_most[parent][state][level]
    }

    /// Probability of a level given states of the parents.
    pub(super) fn probability(&self, parents: &[usize], level: usize) -> f64 {
        let up_to = |level: usize| -> f64 {
            self.at_most.iter().zip(parents).map(|(by_state, state)| by_state[*state][level]).product()
        };
        up_to(level) - if level == 0 { 0.0 } else { up_to(level - 1) }
    }
}

impl NetworkBuilder {
    /// Adds the noisy-MAX of `parents` with the given level names, lowest first. Parents that never
    /// push are left out; without any that do the variable stays at the lowest level.
    ///
    /// # Errors
    /// Rows of the wrong number or length, or that do not sum to 1; a name that is taken.
    pub fn noisy_max(
        &mut self,
        name: &str,
        levels: &[&str],
        parents: &[NoisyParent],
    ) -> Result<VarId, NetworkError> {
        let count = levels.len();
        for p in parents {
            let needed = self.cardinality(p.parent) * count;
            let found = p.levels.iter().map(Vec::len).sum();
            if found != needed || p.levels.iter().any(|row| row.len() != count) {
                return Err(NetworkError::TableLength { variable: name.to_owned(), needed, found });
            }
            for (row, entries) in p.levels.iter().enumerate() {
                let sum: f64 = entries.iter().sum();
                if (sum - 1.0).abs() > ROW_SUM || entries.iter().any(|x| !(0.0..=1.0).contains(x)) {
                    let given = self.row_text(&[p.parent], row);
                    return Err(NetworkError::RowSum { variable: name.to_owned(), row, given, sum });
                }
            }
        }
        let pushing: Vec<NoisyParent> = parents.iter().filter(|p| !p.is_idle()).cloned().collect();
        let var = self.variable(name, levels.iter().copied())?;
        let ids: Vec<VarId> = pushing.iter().map(|p| p.parent).collect();
        self.set_noisy_max(var, ids, NoisyMax::new(&pushing))?;
        Ok(var)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn noisy_or_of_fever() {
        // Lecture-note example of the noisy-OR (Russell and Norvig's fever): inhibitors cold .6,
        // flu .2, malaria .1 give .4, .8, .9, .88, .94, .98, .988.
        let mut b = NetworkBuilder::new();
        let parents: Vec<NoisyParent> = [("cold", 0.6), ("flu", 0.2), ("malaria", 0.1)]
            .into_iter()
            .map(|(name, inhibitor)| NoisyParent {
                parent: b.add(name, ["n", "y"], &[], vec![0.5, 0.5]).unwrap(),
                levels: vec![vec![1.0, 0.0], vec![inhibitor, 1.0 - inhibitor]],
            })
            .collect();
        let fever = b.noisy_max("fever", &["n", "y"], &parents).unwrap();
        let network = b.build().unwrap();
        let p = |c, f, m| network.variable(fever).probability(&[c, f, m], 1);
        for (got, published) in [
            (p(1, 0, 0), 0.4),
            (p(0, 1, 0), 0.8),
            (p(0, 0, 1), 0.9),
            (p(1, 1, 0), 0.88),
            (p(1, 0, 1), 0.94),
            (p(0, 1, 1), 0.98),
            (p(1, 1, 1), 0.988),
            (p(0, 0, 0), 0.0),
        ] {
            assert!((got - published).abs() < 1e-12, "{got} against {published}");
        }
    }

    #[test]
    fn rows_are_checked() {
        let mut b = NetworkBuilder::new();
        let x = b.add("x", ["n", "y"], &[], vec![0.5, 0.5]).unwrap();
        let bad = NoisyParent { parent: x, levels: vec![vec![1.0, 0.0], vec![0.5, 0.6]] };
        assert!(matches!(b.noisy_max("z", &["n", "y"], &[bad]), Err(NetworkError::RowSum { .. })));
        let short = NoisyParent { parent: x, levels: vec![vec![1.0, 0.0]] };
        assert!(matches!(b.noisy_max("z", &["n", "y"], &[short]), Err(NetworkError::TableLength { .. })));
    }
}
