//! Suppositions: a machine with some rates and trusts changed, for what-if questions.

use serde::{Deserialize, Serialize};

use crate::job::{JobError, JobRule};
use crate::machine::Machine;
use crate::machine::file::{MachineFile, Part, Trust};

/// Changes of the numbers of a description.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct Supposition {
    /// Factors on the odds of conditions.
    #[serde(default)]
    pub factors: Vec<OddsFactor>,
    /// Trust in findings that somebody told, in [0, 1]. The trusts of single checks change in proportion.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub told: Option<f64>,
    /// Trust in findings that were seen, likewise.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seen: Option<f64>,
}

/// A factor on the odds of one condition among incoming machines.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct OddsFactor {
    /// Id of the part.
    pub part: String,
    /// Id of the condition.
    pub condition: String,
    /// Its odds against the part being sound are multiplied by this.
    pub factor: f64,
}

/// Returns the machine of a description with these changes.
///
/// # Errors
/// A condition that the machine does not have; numbers out of range.
pub fn suppose(mut file: MachineFile, what: &Supposition) -> Result<Machine, JobError> {
    for (i, change) in what.factors.iter().enumerate() {
        let place = format!("factors[{i}]");
        if !(change.factor > 0.0 && change.factor.is_finite()) {
            return Err(JobError::rule(place, JobRule::Factor { given: change.factor }));
        }
        let part = file.parts.iter_mut().find(|p| p.id == change.part);
        let Some((part, at)) = part.and_then(|part| {
            let at = part.conditions.iter().position(|c| c.id == change.condition)?;
            Some((part, at))
        }) else {
            let (part, condition) = (change.part.clone(), change.condition.clone());
            return Err(JobError::rule(place, JobRule::NoCondition { part, condition }));
        };
        multiply(part, at, change.factor);
    }
    for (place, given, of) in [
        ("told", what.told, (|t| &mut t.told) as fn(&mut Trust) -> &mut f64),
        ("seen", what.seen, |t| &mut t.seen),
    ] {
        let Some(trust) = given else { continue };
        if !(0.0..=1.0).contains(&trust) {
            return Err(JobError::rule(place, JobRule::Share { given: trust }));
        }
        set_trust(&mut file, trust, of);
    }
    Ok(Machine::new(file)?)
}

/// Multiplies the odds of a condition against a sound part. The other conditions of the part keep their odds
/// against sound.
fn multiply(part: &mut Part, at: usize, factor: f64) {
    let rate = |c: &crate::machine::file::Condition| c.rate.harmless + c.rate.acting();
    let own = rate(&part.conditions[at]);
    // With `s` the share of sound parts, the odds are rate / s. Dividing all odds and 1 by their sum gives
    // the shares.
    let scale = 1.0 / (1.0 + own * (factor - 1.0));
    for (i, condition) in part.conditions.iter_mut().enumerate() {
        let by = if i == at { factor * scale } else { scale };
        let rate = &mut condition.rate;
        for share in [&mut rate.harmless, &mut rate.dies, &mut rate.tries, &mut rate.nothing] {
            *share *= by;
        }
    }
}

fn set_trust(file: &mut MachineFile, trust: f64, of: fn(&mut Trust) -> &mut f64) {
    let usual = std::mem::replace(of(&mut file.trust), trust);
    for own in file.checks.iter_mut().filter_map(|c| c.trust.as_mut()) {
        let own = of(own);
        *own = if usual > 0.0 { (*own * trust / usual).min(1.0) } else { trust };
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Job, JobFile};
    use crate::lesson::mower;
    use crate::lesson::odds_history::{belief, odds};

    fn factor(part: &str, condition: &str, factor: f64) -> Supposition {
        let factors = vec![OddsFactor { part: part.into(), condition: condition.into(), factor }];
        Supposition { factors, ..Supposition::default() }
    }

    fn rate(machine: &Machine, part: &str, condition: &str) -> (f64, f64) {
        let part = machine.file().parts.iter().find(|p| p.id == part).expect("a part");
        let all: f64 = part.conditions.iter().map(|c| c.rate.harmless + c.rate.acting()).sum();
        let own = part.conditions.iter().find(|c| c.id == condition).expect("a condition");
        (own.rate.harmless + own.rate.acting(), 1.0 - all)
    }

    #[test]
    fn odds_against_sound_are_multiplied_and_the_others_stay() {
        let changed =
            suppose(mower().file().clone(), &factor("stop-lead", "grounded", 3.0)).expect("a machine");
        let (before, sound_before) = rate(mower(), "stop-lead", "grounded");
        let (after, sound_after) = rate(&changed, "stop-lead", "grounded");
        assert!(((after / sound_after) / (before / sound_before) / 3.0 - 1.0).abs() < 1e-12);
        let part = mower().file().parts.iter().find(|p| p.id == "stop-lead").expect("a part");
        for other in part.conditions.iter().filter(|c| c.id != "grounded") {
            let (a, s) = rate(mower(), "stop-lead", &other.id);
            let (b, t) = rate(&changed, "stop-lead", &other.id);
            assert!(((b / t) / (a / s) - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn a_lone_condition_s_posterior_odds_follow_the_factor() {
        // With no history behind it and nothing else in its part, the factor goes straight through the
        // odds after any findings; only the rest of the machine, averaged, moves a little with it.
        let file = JobFile::demo().expect("the demo job is valid");
        let job = Job::new(mower(), &file).expect("valid").first(4);
        let changed =
            suppose(mower().file().clone(), &factor("stop-lead", "grounded", 2.0)).expect("a machine");
        let file = JobFile { steps: file.steps[..4].to_vec(), ..file };
        let there = Job::new(&changed, &file).expect("valid");
        let at = mower()
            .condition_ids()
            .find(|c| mower().condition(*c).1.id == "grounded" && mower().condition(*c).0.id == "stop-lead")
            .expect("a condition");
        let (a, b) = (belief(&job).expect("possible").p, belief(&there).expect("possible").p);
        let moved = odds(b[at.index()]).expect("open") / odds(a[at.index()]).expect("open");
        assert!((moved - 2.0).abs() < 0.05, "{moved}");
    }

    #[test]
    fn trust_of_nothing_says_nothing() {
        let what = Supposition { told: Some(0.0), ..Supposition::default() };
        let deaf = suppose(mower().file().clone(), &what).expect("a machine");
        let text = r#"{"machine": "mower-recoil", "steps": [
            {"do": "check", "check": "ask-storage", "result": "long-dry"}]}"#;
        let file = JobFile::from_json(text).expect("a job");
        let told = belief(&Job::new(&deaf, &file).expect("valid")).expect("possible");
        let mut silent = file;
        silent.steps.clear();
        let nothing = belief(&Job::new(&deaf, &silent).expect("valid")).expect("possible");
        for (a, b) in told.p.iter().zip(&nothing.p) {
            assert!((a - b).abs() < 1e-12);
        }
    }

    #[test]
    fn figures_that_are_none_are_told() {
        let told =
            |what: &Supposition| suppose(mower().file().clone(), what).expect_err("refused").to_string();
        assert_eq!(told(&factor("stop-lead", "grounded", 0.0)), "at factors[0]: 0 is not a factor above 0");
        assert_eq!(told(&factor("x", "y", 2.0)), "at factors[0]: the machine has no condition \"x/y\"");
        let what = Supposition { seen: Some(1.5), ..Supposition::default() };
        assert_eq!(told(&what), "at seen: 1.5 is not between 0 and 1");
    }
}
