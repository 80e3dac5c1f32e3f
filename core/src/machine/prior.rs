//! Priors of parts: base rate times odds factors, on the odds scale.
//!
//! A description gives the rate of each condition as an average over all incoming machines, because a shop
//! can count that. Within a part, condition `c` given the context `u` has the odds `w_c prod f_c(u)` against
//! sound. Iterative proportional fitting finds the `w_c` for which the average over `u` equals the authored
//! rate (Deming and Stephan 1940).

use super::MachineError;
use super::file::{MachineFile, Part};
use super::ids::PartId;
use super::model::{PartModel, Predicate, Source};
use crate::precision::CALIBRATION;
use halfsplit_bayes::for_each_configuration;
use typed_index_collections::TiSlice;

/// Limit on the combinations of ancestors of a part.
const LIMIT: usize = 2_000_000;
const ROUNDS: usize = 10_000;

/// The table of a part's states given its parents.
///
/// `raises[c]` are the factors of condition `c`.
pub(super) fn table(
    place: &str,
    file: &MachineFile,
    earlier: &TiSlice<PartId, PartModel>,
    part: &Part,
    parents: &[Source],
    raises: &[Vec<(Predicate, f64)>],
) -> Result<Vec<f64>, MachineError> {
    let shares: Vec<Vec<f64>> = part
        .conditions
        .iter()
        .map(|c| [c.rate.harmless, c.rate.acting()].into_iter().filter(|r| *r > 0.0).collect())
        .collect();
    let rates: Vec<f64> = shares.iter().map(|s| s.iter().sum()).collect();
    let total: f64 = rates.iter().sum();
    if total >= 1.0 {
        return Err(MachineError::rule(
            place,
            format!("the rates of all conditions sum to {total}; less than 1 is left for sound"),
        ));
    }
    let contexts = parent_joint(place, file, earlier, parents)?;
    // By context: the factor of every condition.
    let mut factors: Vec<Vec<f64>> = Vec::with_capacity(contexts.len());
    for_each_configuration(&cards(file, earlier, parents), |row| {
        let of = |raise: &Vec<(Predicate, f64)>| -> f64 {
            raise
                .iter()
                .filter(|(predicate, _)| {
                    parents.iter().zip(row).any(|(p, s)| *p == predicate.source && predicate.holds[*s])
                })
                .map(|(_, f)| f)
                .product()
        };
        factors.push(raises.iter().map(of).collect());
    });
    let mut weights: Vec<f64> = rates.iter().map(|r| r / (1.0 - total)).collect();
    let chances = |weights: &[f64], factors: &[f64]| -> Vec<f64> {
        let odds: Vec<f64> = weights.iter().zip(factors).map(|(w, f)| w * f).collect();
        let all = 1.0 + odds.iter().sum::<f64>();
        odds.into_iter().map(|o| o / all).collect()
    };
    let mut settled = false;
    for _ in 0..ROUNDS {
        let mut average = vec![0.0; rates.len()];
        for (p, f) in contexts.iter().zip(&factors) {
            average.iter_mut().zip(chances(&weights, f)).for_each(|(a, c)| *a += p * c);
        }
        if let Some(c) = average.iter().position(|a| *a == 0.0) {
            let rule = format!(
                "condition \"{}\" has a rate but its factors rule it out everywhere",
                part.conditions[c].id
            );
            return Err(MachineError::rule(place, rule));
        }
        settled = average.iter().zip(&rates).all(|(a, r)| (a / r - 1.0).abs() < CALIBRATION);
        if settled {
            break;
        }
        weights.iter_mut().zip(&rates).zip(&average).for_each(|((w, r), a)| *w *= r / a);
        if weights.iter().any(|w| !w.is_finite()) {
            break;
        }
    }
    if !settled {
        return Err(MachineError::rule(
            place,
            "the rates cannot be reached with these factors: the context in which the condition can be is too rare",
        ));
    }
    let mut table = Vec::new();
    for f in &factors {
        let chances = chances(&weights, f);
        table.push((1.0 - chances.iter().sum::<f64>()).max(0.0));
        for ((chance, rate), shares) in chances.iter().zip(&rates).zip(&shares) {
            table.extend(shares.iter().map(|s| chance * s / rate));
        }
    }
    Ok(table)
}

/// Number of states of each source.
pub(super) fn cards(
    file: &MachineFile,
    parts: &TiSlice<PartId, PartModel>,
    sources: &[Source],
) -> Vec<usize> {
    sources
        .iter()
        .map(|s| match s {
            Source::Context(b) => file.context(*b).states.len(),
            Source::Part(p) => parts[*p].states.len(),
            Source::Function(f) => file.function(*f).levels.len(),
        })
        .collect()
}

/// Probability of every combination of the parents' states, the last parent fastest.
fn parent_joint(
    place: &str,
    file: &MachineFile,
    earlier: &TiSlice<PartId, PartModel>,
    parents: &[Source],
) -> Result<Vec<f64>, MachineError> {
    // The parents with all their ancestors, ancestors first.
    let mut closure: Vec<Source> = Vec::new();
    fn visit(source: Source, earlier: &TiSlice<PartId, PartModel>, closure: &mut Vec<Source>) {
        if closure.contains(&source) {
            return;
        }
        if let Source::Part(p) = source {
            for parent in &earlier[p].parents {
                visit(*parent, earlier, closure);
            }
        }
        closure.push(source);
    }
    for p in parents {
        visit(*p, earlier, &mut closure);
    }
    let closure_cards = cards(file, earlier, &closure);
    let combinations = closure_cards.iter().try_fold(1_usize, |n, c| n.checked_mul(*c)).unwrap_or(usize::MAX);
    if combinations > LIMIT {
        return Err(MachineError::rule(
            place,
            format!(
                "it is raised by so much that {combinations} combinations would have to be computed; the limit is {LIMIT}"
            ),
        ));
    }
    let place_of = |s: &Source| closure.iter().position(|c| c == s).unwrap_or(0);
    let places: Vec<usize> = parents.iter().map(place_of).collect();
    let parent_cards = cards(file, earlier, parents);
    // By ancestor that is a part: places of its own parents in the row, with their numbers of states.
    let inner: Vec<Vec<(usize, usize)>> = closure
        .iter()
        .map(|source| match source {
            Source::Part(part) => {
                let own = &earlier[*part].parents;
                own.iter().map(place_of).zip(cards(file, earlier, own)).collect()
            }
            _ => Vec::new(),
        })
        .collect();
    let mut joint = vec![0.0; parent_cards.iter().product()];
    for_each_configuration(&closure_cards, |row| {
        let p: f64 = closure
            .iter()
            .zip(row)
            .zip(&inner)
            .map(|((source, state), inner)| match source {
                Source::Context(b) => file.context(*b).states[*state].share,
                Source::Part(part) => {
                    let model = &earlier[*part];
                    let at = inner.iter().fold(0, |at, (p, c)| at * c + row[*p]);
                    model.table[at * model.states.len() + state]
                }
                Source::Function(_) => 1.0,
            })
            .product();
        let at = places.iter().zip(&parent_cards).fold(0, |at, (p, c)| at * c + row[*p]);
        joint[at] += p;
    });
    Ok(joint)
}
