//! How well findings fit together.

use super::{Evidence, InferenceError, JunctionTree};
use crate::network::VarId;
use crate::support::parallel;

/// Number of sets of findings propagated side by side.
const LANES: usize = 8;

/// Conflict measure of findings: `ln(P(e_1) ... P(e_n) / P(e_1, ..., e_n))` (Jensen, Chamberlain, Nordahl and
/// Jensen 1991, "Analysis in HUGIN of data conflict").
///
/// It is negative for findings that have a common explanation, because they occur together more often than by
/// chance. A value above zero means that a finding may be wrong, that the case is rare, or that the network
/// does not cover it.
#[derive(Debug, Clone, PartialEq)]
pub struct DataConflict {
    /// The variables with findings, in the network's order.
    pub findings: Vec<VarId>,
    /// Conflict of all findings.
    pub overall: f64,
    /// By finding: the conflict of all the others.
    pub without: Vec<f64>,
    /// Conflict of two findings, by their indices in `findings`; the smaller index comes first.
    pub pairs: Vec<(usize, usize, f64)>,
}

impl JunctionTree {
    /// Returns the conflict of the findings in `evidence`, given the evidence built in.
    ///
    /// ```
    /// use halfsplit_bayes::{Evidence, JunctionTree, NetworkBuilder};
    ///
    /// let mut builder = NetworkBuilder::new();
    /// let fuel = builder.add("fuel", ["none", "some"], &[], vec![0.02, 0.98])?;
    /// let gauge = builder.add("gauge", ["empty", "full"], &[fuel], vec![0.99, 0.01, 0.01, 0.99])?;
    /// let runs = builder.add("runs", ["no", "yes"], &[fuel], vec![1.0, 0.0, 0.05, 0.95])?;
    /// let network = builder.build()?;
    /// let mut evidence = Evidence::new();
    /// evidence.observe(&network, gauge, "empty")?;
    /// evidence.observe(&network, runs, "yes")?;
    /// let conflict = JunctionTree::compile(&network)?.data_conflict(&evidence)?;
    /// // P(empty) = 0.0296, P(runs) = 0.931, P(empty, runs) = 0.98 * 0.01 * 0.95 = 0.00931.
    /// assert!((conflict.overall - (0.0296_f64 * 0.931 / 0.00931).ln()).abs() < 1e-12);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`InferenceError::Impossible`] if the evidence has probability zero.
    ///
    /// # Panics
    /// If the evidence refers to variables that the tree's network does not have.
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

    /// Logarithms of the probabilities of subsets of the evidence; `None` if one of them is zero.
    fn log_p_of(&self, evidence: &Evidence, sets: &[Vec<VarId>]) -> Option<Vec<f64>> {
        let runs: Vec<&[Vec<VarId>]> =
            sets.chunks(sets.len().div_ceil(parallel::pieces()).next_multiple_of(LANES)).collect();
        let weighed = parallel::each(runs, |run| {
            let mut work = self.lane_workspace::<LANES>();
            let mut log_p = Vec::with_capacity(run.len());
            for sets in run.chunks(LANES) {
                let parts: Vec<Evidence> = sets.iter().map(|set| evidence.restricted_to(set)).collect();
                let parts: Vec<&Evidence> = parts.iter().collect();
                let possible = self.collect_evidence(&mut work, &parts);
                log_p.extend(
                    (0..sets.len()).map(|lane| possible[lane].then(|| self.lane_log_p_evidence(&work, lane))),
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
    use crate::inference::{EvidenceFile, posterior_by_enumeration};
    use crate::network::{Network, NetworkBuilder};
    use crate::precision::EXACT;

    /// The chest clinic of Lauritzen and Spiegelhalter 1988.
    fn clinic() -> Network {
        let states = ["yes", "no"];
        let mut b = NetworkBuilder::new();
        let mut add = |name: &str, parents: &[VarId], p_yes: &[f64]| {
            let table = p_yes.iter().flat_map(|p| [*p, 1.0 - p]).collect();
            b.add(name, states, parents, table).unwrap()
        };
        let asia = add("asia", &[], &[0.01]);
        let tub = add("tub", &[asia], &[0.05, 0.01]);
        let smoke = add("smoke", &[], &[0.5]);
        let lung = add("lung", &[smoke], &[0.1, 0.01]);
        let bronc = add("bronc", &[smoke], &[0.6, 0.3]);
        let either = add("either", &[lung, tub], &[1.0, 1.0, 1.0, 0.0]);
        add("xray", &[either], &[0.98, 0.05]);
        add("dysp", &[bronc, either], &[0.9, 0.8, 0.7, 0.1]);
        b.build().unwrap()
    }

    fn found(network: &Network, text: &str) -> DataConflict {
        let evidence = EvidenceFile::from_json(text).expect("evidence").on(network).expect("of the network");
        JunctionTree::compile(network).expect("compiles").data_conflict(&evidence).expect("possible")
    }

    #[test]
    fn conflicts_in_the_chest_clinic() {
        let network = clinic();
        // Computed from the definition by enumeration in a separate program, to four decimal places.
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
    fn subsets_and_pairs_agree_with_enumeration() {
        let network = clinic();
        let text = r#"{"asia": "yes", "smoke": "no", "bronc": "no", "dysp": "yes", "xray": [0.2, 0.9]}"#;
        let evidence = EvidenceFile::from_json(text).expect("evidence").on(&network).expect("of the network");
        let got = found(&network, text);
        let log_p = |of: &[VarId]| {
            posterior_by_enumeration(&network, &evidence.restricted_to(of))
                .expect("possible")
                .log_p_evidence()
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
