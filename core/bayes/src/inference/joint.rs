//! Joint distributions of any variables.

use ndarray::{ArrayD, IxDyn};

use super::{Evidence, InferenceError, JunctionTree};
use crate::network::{VarId, for_each_configuration};

/// Maximum number of entries of a joint distribution.
const LIMIT: f64 = 1e7;
/// Number of configurations propagated side by side.
const LANES: usize = 4;

impl JunctionTree {
    /// Returns the joint posterior distribution of some variables: one axis for each variable, in the order
    /// given.
    ///
    /// The variables need not share a clique. All of them but the one with the most states are set to each
    /// combination of their states in turn, and only messages that this changes are propagated.
    ///
    /// ```
    /// use halfsplit_bayes::{Evidence, JunctionTree, NetworkBuilder};
    ///
    /// let mut builder = NetworkBuilder::new();
    /// let rain = builder.add("rain", ["no", "yes"], &[], vec![0.8, 0.2])?;
    /// let wet = builder.add("wet", ["no", "yes"], &[rain], vec![0.9, 0.1, 0.05, 0.95])?;
    /// let tree = JunctionTree::compile(&builder.build()?)?;
    /// let joint = tree.joint(&Evidence::new(), &[wet, rain])?;
    /// assert!((joint[[1, 1]] - 0.2 * 0.95).abs() < 1e-15);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`InferenceError::Impossible`] if the evidence has probability zero; [`InferenceError::Repeated`] if a
    /// variable is named twice; [`InferenceError::TooLarge`] above 1e7 combinations.
    ///
    /// # Panics
    /// If a variable, or one with evidence, does not belong to the tree's network.
    pub fn joint(&self, evidence: &Evidence, vars: &[VarId]) -> Result<ArrayD<f64>, InferenceError> {
        if let Some((_, twice)) = vars.iter().enumerate().find(|(i, v)| vars[..*i].contains(v)) {
            let variable = self.network().variable(*twice).name().to_owned();
            return Err(InferenceError::Repeated { variable });
        }
        let cards: Vec<usize> = vars.iter().map(|v| self.network().variable(*v).cardinality()).collect();
        let entries: f64 = cards.iter().map(|c| *c as f64).product();
        if entries > LIMIT {
            return Err(InferenceError::TooLarge { entries, limit: LIMIT });
        }
        let mut joint = ArrayD::zeros(IxDyn(&cards));
        let Some(read) = (0..vars.len()).max_by_key(|i| cards[*i]) else {
            joint.fill(1.0);
            return if self.is_possible(evidence) { Ok(joint) } else { Err(self.impossible(evidence)) };
        };
        let targets = self.targets(&[vars[read]]);
        let mut work = self.lane_workspace::<LANES>();
        if !self.collect_evidence(&mut work, &[evidence])[0] {
            return Err(self.impossible(evidence));
        }
        let log_p = self.log_p_evidence(&work);
        let set: Vec<usize> = (0..vars.len()).filter(|i| *i != read).collect();
        let mut rows: Vec<Vec<usize>> = Vec::new();
        for_each_configuration(&set.iter().map(|i| cards[*i]).collect::<Vec<_>>(), |row| {
            rows.push(row.to_vec())
        });
        for rows in rows.chunks(LANES) {
            let with: Vec<Evidence> = rows
                .iter()
                .map(|row| {
                    let mut with = evidence.clone();
                    for (i, state) in set.iter().zip(row) {
                        let mut likelihood = vec![0.0; cards[*i]];
                        likelihood[*state] = evidence.get(vars[*i]).map_or(1.0, |l| l[*state]);
                        with.insert_unchecked(vars[*i], likelihood);
                    }
                    with
                })
                .collect();
            let with: Vec<&Evidence> = with.iter().collect();
            let possible = self.propagate_lanes(&mut work, &with, Some(&targets));
            for (lane, row) in rows.iter().enumerate().filter(|(lane, _)| possible[*lane]) {
                let p = (self.lane_log_p_evidence(&work, lane) - log_p).exp();
                let mut at = vec![0; vars.len()];
                set.iter().zip(row).for_each(|(i, state)| at[*i] = *state);
                for (state, share) in self.lane_marginal(&work, lane, vars[read]).into_iter().enumerate() {
                    at[read] = state;
                    joint[at.as_slice()] = p * share;
                }
            }
        }
        Ok(joint)
    }
}
