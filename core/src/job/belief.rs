//! What is believed of a job as it stands: the chance of its findings and every marginal.
//!
//! The worst severity now is a noisy-MAX over most parts and ties them together, which takes three times
//! the table entries that the rest does. It need not stand in the network: with a threshold `T`,
//!
//! `P(Y = y | x) = prod_i P(X_i <= y | x_i) - prod_i P(X_i <= y - 1 | x_i)`
//!
//! (Diez and Galan 2003, as in [`inference`](crate::inference)), and each of the two products is a
//! likelihood for every part alone. So the network in which the severity is a root ([`Scope::Given`])
//! answers with seven questions, side by side, for every class that a bypass sets apart.

use std::collections::BTreeMap;

use super::bench::{Acting, Bench, Scope};
use super::{Job, JobError};
use crate::inference::{Evidence, JunctionTree, Workspace};
use crate::network::{VarId, for_each_row};

/// Questions side by side.
const LANES: usize = 8;
/// Classes that may be asked about like that: with two it is 49 questions, with three 343, and then the
/// network that has everything in it is quicker.
const MOST_CLASSES: usize = 2;
/// A difference smaller than this share of its terms is their rounding: the same bound as in propagation.
const ROUNDING: f64 = 1e-12;

/// Beliefs given everything found.
pub(crate) struct Belief {
    log_p: f64,
    /// By variable of the bench.
    marginals: Vec<Vec<f64>>,
}

/// One of the questions: the sign that it counts with, and what is known.
struct Term {
    sign: f64,
    evidence: Evidence,
}

/// The answer to it.
struct Answer {
    sign: f64,
    log_p: f64,
    /// Marginals of all variables, one after the other.
    marginals: Vec<f64>,
}

impl Belief {
    /// What is believed of a job, and the bench whose variables that is about where it is not `given`.
    ///
    /// # Errors
    /// [`JobError::Impossible`] where findings exclude each other.
    pub(crate) fn new(job: &Job, given: &Bench) -> Result<(Self, Option<Bench>), JobError> {
        if let Some(belief) = Self::from_given(given)? {
            return Ok((belief, None));
        }
        // Too many classes, or findings that exclude each other, of which this knows how to tell.
        let (bench, work) = Bench::new(job, Scope::Ahead)?;
        Ok((Self::read(&bench.tree, &work), Some(bench)))
    }

    /// Natural logarithm of the probability of the findings.
    pub(crate) fn log_p_evidence(&self) -> f64 {
        self.log_p
    }

    /// Marginal of a variable.
    pub(crate) fn marginal(&self, var: VarId) -> &[f64] {
        &self.marginals[var.index()]
    }

    fn read(tree: &JunctionTree, work: &Workspace) -> Self {
        let marginals = tree.network().iter().map(|(var, _)| tree.marginal(work, var)).collect();
        Belief { log_p: tree.log_p_evidence(work), marginals }
    }

    /// From a bench on which it is to be said what acts; none where there are too many classes, or where
    /// nothing is left.
    fn from_given(given: &Bench) -> Result<Option<Self>, JobError> {
        let acting = &given.ahead()?.acting;
        if acting.len() > MOST_CLASSES {
            return Ok(None);
        }
        let tree = &given.tree;
        let mut work = tree.lanes::<LANES>();
        let mut answers: Vec<Answer> = Vec::new();
        for terms in terms(acting).chunks(LANES) {
            let questions: Vec<&Evidence> = terms.iter().map(|t| &t.evidence).collect();
            let possible = tree.propagate_lanes(&mut work, &questions, None);
            for (lane, term) in terms.iter().enumerate().filter(|(lane, _)| possible[*lane]) {
                let mut marginals = Vec::new();
                for (var, _) in tree.network().iter() {
                    tree.read_marginal(&work, lane, var, &mut marginals);
                }
                let log_p = tree.log_p_evidence_in(&work, lane);
                answers.push(Answer { sign: term.sign, log_p, marginals });
            }
        }
        Ok(Self::sum(tree, &answers))
    }

    /// Adds the answers up.
    fn sum(tree: &JunctionTree, answers: &[Answer]) -> Option<Self> {
        let largest = answers.iter().map(|a| a.log_p).fold(f64::NEG_INFINITY, f64::max);
        // By entry of the marginals, and last for the findings themselves: the sum, and that of its
        // terms without their signs.
        let length = answers.first()?.marginals.len() + 1;
        let mut sums = vec![(0.0, 0.0); length];
        for answer in answers {
            let weight = (answer.log_p - largest).exp();
            for ((sum, size), share) in sums.iter_mut().zip(answer.marginals.iter().chain([&1.0])) {
                *sum += answer.sign * weight * share;
                *size += weight * share;
            }
        }
        let mut sums = sums.into_iter().map(|(sum, size)| if sum <= ROUNDING * size { 0.0 } else { sum });
        let marginals: Vec<Vec<f64>> = tree
            .network()
            .iter()
            .map(|(_, variable)| {
                let joint: Vec<f64> = sums.by_ref().take(variable.cardinality()).collect();
                let all: f64 = joint.iter().sum();
                joint.into_iter().map(|p| p / all).collect()
            })
            .collect();
        let p = sums.next().filter(|p| *p > 0.0)?;
        Some(Belief { log_p: largest + p.ln(), marginals })
    }
}

/// Every combination, over the classes, of a severity with a threshold at it or just below it.
fn terms(acting: &[Acting]) -> Vec<Term> {
    let mut terms = Vec::new();
    let choices: Vec<usize> = acting.iter().map(|class| 2 * class.levels - 1).collect();
    for_each_row(&choices, |row| {
        let mut sign = 1.0;
        let mut evidence = Evidence::new();
        let mut parts: BTreeMap<VarId, Vec<f64>> = BTreeMap::new();
        for (class, choice) in acting.iter().zip(row) {
            // 0 at 0, 1 at 1, 1 below it, 2 at 2, 2 below it ...
            let severity = choice.div_ceil(2);
            let below = *choice > 0 && choice % 2 == 0;
            let threshold = if below { severity - 1 } else { severity };
            if below {
                sign = -sign;
            }
            // Over the even odds that it has in the network.
            let said = (0..class.levels).map(|s| if s == severity { class.levels as f64 } else { 0.0 });
            evidence.set(class.var, said.collect());
            for (part, rows) in &class.pushes {
                let likelihood = parts.entry(*part).or_insert_with(|| vec![1.0; rows.len()]);
                for (chance, row) in likelihood.iter_mut().zip(rows) {
                    *chance *= row[..=threshold].iter().sum::<f64>();
                }
            }
        }
        for (part, likelihood) in parts {
            evidence.set(part, likelihood);
        }
        terms.push(Term { sign, evidence });
    });
    terms
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::JobFile;
    use crate::machine::{Machine, PartId};

    #[test]
    fn what_acts_now_is_the_same_outside_the_network_as_in_it() {
        let machine = Machine::shipped("mower-recoil").expect("the shipped mower is valid");
        let demo = JobFile::demo().expect("the demo job is valid");
        let with_bypass = r#"{"machine": "mower-recoil", "steps": [
            {"do": "attempt", "bypass": [], "outcome": "nothing"},
            {"do": "attempt", "bypass": ["BYPASS"], "outcome": "dies"}]}"#;
        let with_bypass = with_bypass.replace("BYPASS", &machine.file().bypasses[0].id);
        let with_bypass = JobFile::from_json(&with_bypass).expect("a job");
        let mut looked_at = 0;
        for (file, steps) in [(&demo, 0), (&demo, 3), (&demo, demo.steps.len()), (&with_bypass, 2)] {
            let file = JobFile { steps: file.steps[..steps].to_vec(), ..file.clone() };
            let job = Job::new(&machine, &file).expect("a job on the mower");
            let given = Bench::given(&job).expect("possible");
            let belief = Belief::from_given(&given).expect("it looks ahead");
            let belief = belief.expect("no more than two classes");
            let (bench, work) = Bench::new(&job, Scope::Ahead).expect("possible");
            let log_p = bench.tree.log_p_evidence(&work);
            assert!((belief.log_p_evidence() - log_p).abs() < 1e-9, "{log_p}");
            let ahead = |bench: &Bench| -> Vec<VarId> {
                let ahead = bench.ahead().expect("it looks ahead");
                let parts = (0..machine.file().parts.len()).map(PartId::new);
                let parts = parts.flat_map(|p| [bench.now(p), bench.at_arrival(p)]);
                ahead.checks.iter().map(|(_, var)| *var).chain([ahead.worst]).chain(parts).collect()
            };
            for (here, there) in ahead(&given).into_iter().zip(ahead(&bench)) {
                for (a, b) in belief.marginal(here).iter().zip(bench.tree.marginal(&work, there)) {
                    assert!((a - b).abs() < 1e-9, "{}: {a} {b}", bench.tree.network().variable(there).name());
                    looked_at += 1;
                }
            }
        }
        assert!(looked_at > 1000, "{looked_at}");
    }
}
