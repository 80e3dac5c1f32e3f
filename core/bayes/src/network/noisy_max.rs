//! The noisy-MAX: conditional probabilities from one small table for each parent.
//!
//! Each parent alone contributes a random level, independently, and the variable takes the highest
//! contribution:
//! `P(Y <= y | x) = prod_i P(C_i <= y | x_i)`. Sources: Henrion 1989; Diez 1993, "Parameter adjustment in
//! Bayes networks: the generalized noisy OR-gate".

use super::VarId;

/// A parent of a noisy-MAX, with the distribution of its contribution for each of its states.
#[derive(Debug, Clone)]
pub struct NoisyParent {
    /// The parent.
    pub parent: VarId,
    /// `levels[state][level]` is the probability that the parent, in this state, contributes this level. Each
    /// row sums to 1. Level 0 means no contribution.
    pub levels: Vec<Vec<f64>>,
}

impl NoisyParent {
    /// A parent whose contribution is a function of its state: `level_of_state[state]`, out of `levels`
    /// levels.
    #[must_use]
    pub fn fixed(parent: VarId, level_of_state: &[usize], levels: usize) -> Self {
        let row = |level: usize| (0..levels).map(|l| f64::from(u8::from(l == level))).collect();
        NoisyParent { parent, levels: level_of_state.iter().map(|l| row(*l)).collect() }
    }

    /// Whether every state contributes level 0.
    #[must_use]
    pub(super) fn never_contributes(&self) -> bool {
        self.levels.iter().all(|row| row[0] == 1.0)
    }
}

/// The parameters of a variable that is a noisy-MAX of its parents.
#[derive(Debug, Clone)]
pub struct NoisyMax {
    /// By parent, state and level: the probability that the contribution is at most that level.
    at_most: Vec<Vec<Vec<f64>>>,
}

impl NoisyMax {
    pub(super) fn new(parents: &[NoisyParent]) -> Self {
        let cumulate = |row: &Vec<f64>| -> Vec<f64> {
            // The deviation of a row's sum from 1 is distributed in proportion. Levels above the highest with
            // a probability above zero keep zero.
            let total: f64 = row.iter().sum();
            let top = row.iter().rposition(|p| *p > 0.0).unwrap_or(0);
            let mut sum = 0.0;
            let mut all: Vec<f64> = row
                .iter()
                .map(|p| {
                    sum += p / total;
                    sum
                })
                .collect();
            all[top..].fill(1.0);
            all
        };
        NoisyMax { at_most: parents.iter().map(|p| p.levels.iter().map(cumulate).collect()).collect() }
    }

    /// Probability that the contribution of the parent with this index, in this state, is at most this level.
    ///
    /// # Panics
    /// If an index is out of range.
    #[must_use]
    pub fn at_most(&self, parent: usize, state: usize, level: usize) -> f64 {
        self.at_most[parent][state][level]
    }

    /// Probability of a level given a state of each parent.
    pub(super) fn probability(&self, parents: &[usize], level: usize) -> f64 {
        let up_to = |level: usize| -> f64 {
            self.at_most.iter().zip(parents).map(|(by_state, state)| by_state[*state][level]).product()
        };
        up_to(level) - if level == 0 { 0.0 } else { up_to(level - 1) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::{NetworkBuilder, NetworkError};

    #[test]
    fn noisy_or_of_fever() {
        // Published by Russell and Norvig: inhibition probabilities 0.6 (cold), 0.2 (flu), 0.1 (malaria).
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
