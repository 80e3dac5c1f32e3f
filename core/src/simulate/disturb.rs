//! A machine whose rates differ from those that the advice assumes.

use super::draw::uniform;
use crate::machine::{Machine, MachineError};

/// A machine with the rate of every condition, and of every severity of it, multiplied by its own factor. The
/// factors are uniform on the logarithmic scale between `1 / by` and `by`. They multiply odds against a sound
/// part, so that some share always remains sound.
///
/// # Errors
/// A `by` that is not finite or is below 1.
pub fn disturbed(machine: &Machine, by: f64, seed: &str) -> Result<Machine, MachineError> {
    if !(by >= 1.0 && by.is_finite()) {
        return Err(MachineError::rule("disturb", format!("{by} is not a factor of 1 or more")));
    }
    let mut file = machine.file().clone();
    for part in &mut file.parts {
        let mut more = 0.0;
        for condition in &mut part.conditions {
            let rate = &mut condition.rate;
            let shares = [
                ("harmless", &mut rate.harmless),
                ("dies", &mut rate.dies),
                ("tries", &mut rate.tries),
                ("nothing", &mut rate.nothing),
            ];
            for (severity, share) in shares {
                let what = format!("rate {}/{} {severity}", part.id, condition.id);
                let factor = by.powf(2.0 * uniform(seed, &what) - 1.0);
                more += *share * (factor - 1.0);
                *share *= factor;
            }
        }
        for condition in &mut part.conditions {
            let rate = &mut condition.rate;
            for share in [&mut rate.harmless, &mut rate.dies, &mut rate.tries, &mut rate.nothing] {
                *share /= 1.0 + more;
            }
        }
    }
    Machine::new(file)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lesson::mower;

    #[test]
    fn odds_move_by_no_more_than_was_asked_and_the_rest_stays() {
        let moved = disturbed(mower(), 3.0, "1").expect("valid");
        let odds = |machine: &Machine| -> Vec<f64> {
            let parts = machine.file().parts.iter();
            parts
                .flat_map(|p| {
                    let rates: Vec<f64> = p.conditions.iter().flat_map(|c| c.rate.by_severity()).collect();
                    let sound = 1.0 - rates.iter().sum::<f64>();
                    rates.into_iter().map(move |r| r / sound)
                })
                .collect()
        };
        let factors: Vec<f64> =
            odds(&moved).iter().zip(odds(mower())).filter(|(_, b)| *b > 0.0).map(|(a, b)| a / b).collect();
        // Two divisions and a power in double precision.
        assert!(factors.iter().all(|f| (1.0 / 3.0 - 1e-9..=3.0 + 1e-9).contains(f)), "{factors:?}");
        let up = factors.iter().filter(|f| **f > 1.0).count();
        assert!(up > factors.len() / 3 && up < 2 * factors.len() / 3, "{up} of {}", factors.len());
        let mut file = moved.file().clone();
        for (part, as_it_was) in file.parts.iter_mut().zip(&mower().file().parts) {
            for (condition, was) in part.conditions.iter_mut().zip(&as_it_was.conditions) {
                condition.rate = was.rate.clone();
            }
        }
        assert_eq!(&file, mower().file());
        assert!(disturbed(mower(), 0.5, "1").is_err());
    }
}
