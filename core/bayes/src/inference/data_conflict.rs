//! How badly findings go together.

use super::{Evidence, InferenceError, JunctionTree};
use crate::network::VarId;
use crate::support::parallel;

/// Sets of findings weighed side by side.
const LANES: usize = 8;

/// Conflict between findings: `ln(P(e_1) ... P(e_n) / P(e_1, ..., e_n))`. Findings that one story explains
/// come together more often than by chance, and this is negative; above zero they are rarer together
/// than if they had nothing to do with each other. Then one of them may be wrong, or the network does
/// not hold what is the case, or the case is a rare one.
///
/// Jensen, Chamberlain, Nordahl and Jensen 1991, "Analysis in HUGIN of data conflict".
#[derive(Debug, Clone, PartialEq)]
pub struct DataConflict {
    /// The findings, by variable.
    pub findings: Vec<VarId>,
    /// Conflict between all of them.
    pub overall: f64,
    /// By finding: conflict between all the others.
    pub without: Vec<f64>,
    /// Conflict between two, by their places in `findings`, the first place smaller.
    pub pairs: Vec<(usize, usize, f64)>,
}

impl JunctionTree {
    /// Conflict between some findings, given what was built in when the tree was compiled.
    ///
    /// ```
    /// use halfsplit_bayes::{Evidence, JunctionTree, NetworkBuilder};
    ///
    /// let mut b = NetworkBuilder::new();
    /// let fuel = b.add("fuel", ["none", "some"], &[], vec![0.02, 0.98])?;
    /// let gauge = b.add("gauge", ["empty", "full"], &[fuel], vec![0.99, 0.01, 0.01, 0.99])?;
    /// let runs = b.add("runs", ["no", "yes"], &[fuel], vec![1.0, 0.0, 0.05, 0.95])?;
    /// let network = b.build()?;
    /// let mut evidence = Evidence::new();
    /// evidence.observe(&network, gauge, "empty")?;
    /// evidence.observe(&network, runs, "yes")?;
    /// let conflict = JunctionTree::compile(&network)?.data_conflict(&evidence)?;
    /// // P(empty) = 0.0296, P(runs) = 0.931, both 0.98 x 0.01 x 0.95 = 0.00931.
    /// assert!((conflict.overall - (0.0296_f64 * 0.931 / 0.00931).ln()).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`InferenceError::Impossible`].
    pub fn data_conflict(&self, evidence: &Evidence) -> Result<DataConflict, InferenceError> {
        let findings = evidence.variables();
        let count = findings.len();
        let mut sets: Vec<Vec<VarId>> = vec![Vec::new(), findings.clone()];
        sets.extend(findings.iter().map(|v| vec![*v]));
        sets.extend((0..count).map(|i| all_but(&findings, i)));
        let pairs: Vec<(usize, usize)> =
            (0..count).flat_map(|i| (i + 1..count).map(move |j| (i, j))).collect();
        sets.extend(pairs.iter().map(|(i, j)| vec![findings[*i], findings[*j]]));
        let Some(log_p) = self.log_p_of(evidence, &sets) else { return Err(self.impossible(evidence)) };
        let log_p: Vec<f64> = log_p.iter().map(|l| l - log_p[0]).collect();
        let (singles, rest) = log_p[2..].split_at(count);
        let (without, of_pairs) = rest.split_at(count);
        let sum: f64 = singles.iter().sum();
        Ok(DataConflict {
            overall: sum - log_p[1],
            without: without.iter().zip(singles).map(|(joint, single)| sum - single - joint).collect(),
            pairs: pairs
                .into_iter()
                .zip(of_pairs)
                .map(|((i, j), joint)| (i, j, singles[i] + singles[j] - joint))
                .collect(),
            findings,
        })
    }

    /// Logarithms of the probability of parts of some evidence; none where one of them is impossible.
    fn log_p_of(&self, evidence: &Evidence, sets: &[Vec<VarId>]) -> Option<Vec<f64>> {
        let runs: Vec<&[Vec<VarId>]> =
            sets.chunks(sets.len().div_ceil(parallel::pieces()).next_multiple_of(LANES)).collect();
        let weighed = parallel::each(runs, |run| {
            let mut work = self.lanes::<LANES>();
            let mut log_p = Vec::with_capacity(run.len());
            for sets in run.chunks(LANES) {
                let parts: Vec<Evidence> = sets.iter().map(|set| evidence.restricted_to(set)).collect();
                let parts: Vec<&Evidence> = parts.iter().collect();
                let possible = self.weigh(&mut work, &parts);
                log_p.extend(
                    (0..sets.len()).map(|lane| possible[lane].then(|| self.log_p_evidence_in(&work, lane))),
                );
            }
            log_p
        });
        weighed.into_iter().flatten().collect()
    }
}

fn all_but(findings: &[VarId], left_out: usize) -> Vec<VarId> {
    findings.iter().enumerate().filter(|(i, _)| *i != left_out).map(|(_, v)| *v).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inference::{EvidenceFile, enumerate};
    use crate::network::Network;
    use crate::precision::EXACT;

    /// Lauritzen and Spiegelhalter 1988, the chest clinic.
    const CLINIC: &str = include_str!("../../../../tests/peers/networks/asia.json");

    fn found(network: &Network, text: &str) -> DataConflict {
        let evidence = EvidenceFile::from_json(text).expect("evidence").on(network).expect("of the network");
        JunctionTree::compile(network).expect("compiles").data_conflict(&evidence).expect("possible")
    }

    #[test]
    fn conflicts_in_the_chest_clinic() {
        let network = Network::from_json(CLINIC).expect("a network");
        // log of the product of P(e_i) over P(e), Jensen, Chamberlain, Nordahl and Jensen 1991; the values
        // recomputed by enumeration to four places.
        for (text, expected) in [
            (r#"{"smoke": "no", "xray": "yes", "dysp": "yes"}"#, 0.4617),
            (r#"{"smoke": "yes", "xray": "yes", "dysp": "yes"}"#, -0.8369),
            (r#"{"asia": "yes", "xray": "yes"}"#, -0.2743),
            (r#"{"lung": "yes", "xray": "no"}"#, 3.7952),
            (r#"{"bronc": "no", "dysp": "yes", "xray": "no"}"#, 1.4528),
            (r#"{"tub": "yes", "lung": "yes"}"#, 0.0),
        ] {
            let got = found(&network, text).overall;
            assert!((got - expected).abs() < 0.00005, "{text}: {got}, expected {expected}");
        }
    }

    #[test]
    fn parts_and_pairs_are_those_of_enumeration() {
        let network = Network::from_json(CLINIC).expect("a network");
        let text = r#"{"asia": "yes", "smoke": "no", "bronc": "no", "dysp": "yes", "xray": [0.2, 0.9]}"#;
        let evidence = EvidenceFile::from_json(text).expect("evidence").on(&network).expect("of the network");
        let got = found(&network, text);
        let log_p = |of: &[VarId]| {
            enumerate(&network, &evidence.restricted_to(of)).expect("possible").log_p_evidence()
        };
        let conflict = |of: &[VarId]| of.iter().map(|v| log_p(&[*v])).sum::<f64>() - log_p(of);
        assert!((got.overall - conflict(&got.findings)).abs() < EXACT);
        for (i, without) in got.without.iter().enumerate() {
            assert!((without - conflict(&all_but(&got.findings, i))).abs() < EXACT);
        }
        assert_eq!(got.pairs.len(), 10);
        for (i, j, pair) in &got.pairs {
            assert!((pair - conflict(&[got.findings[*i], got.findings[*j]])).abs() < EXACT);
        }
    }
}
