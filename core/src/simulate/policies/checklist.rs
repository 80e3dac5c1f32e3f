use crate::advise::Possible;
use crate::job::{Action, Job, JobError, Step};
use crate::machine::{BypassId, RepairId};
use crate::simulate::policy::{Decision, Policy, Situation};
use crate::simulate::rule::decide_by_rule;

/// Follows a fixed list for an engine that will not start, as is usual in the trade. The list goes from what
/// costs nothing to what takes long, and the repair that a look points to follows the look. Common practice,
/// no source.
///
/// The list is written for a walk-behind mower. Lines about things that a machine does not have are skipped.
#[derive(Debug)]
pub(super) struct Checklist;

impl Policy for Checklist {
    fn id(&self) -> &'static str {
        "checklist"
    }

    fn about(&self) -> &'static str {
        "A fixed list of the trade"
    }

    fn decide(&self, situation: &Situation) -> Result<Decision, JobError> {
        decide_by_rule(situation, next)
    }
}

/// Results and the repairs that they point to, in order.
type Points = &'static [(&'static [&'static str], &'static [&'static str])];

/// A line of the list.
enum Line {
    /// A check or a start with a bypass, and the repairs that its results point to.
    Look(&'static str, Points),
    /// A check or a start with a bypass, if something was found before.
    LookIf(Earlier, &'static str, Points),
    /// A repair, if something was found before.
    RepairIf(Earlier, &'static str),
    /// A repair in any case.
    Repair(&'static str),
    /// A start attempt by the proper routine.
    Try,
}

/// A check, a bypass or a plain `attempt`, and results or outcomes of it.
type Earlier = (&'static str, &'static [&'static str]);

use Line::{Look, LookIf, Repair, RepairIf, Try};

const DEAD: Earlier = ("spark-gap-tester", &["intermittent", "none"]);
const ON_THE_DOSE: Earlier = ("dose", &["runs", "dies"]);
const DUMB_ON_THE_DOSE: Earlier = ("dose", &["tries", "nothing"]);

const LIST: &[Line] = &[
    // What takes a minute: switches, fuel, lead, rope.
    Look("control-look", &[(&["in-stop", "mismatch"], &["controls-to-run", "set-throttle-cable"])]),
    Look("tank-look", &[(&["empty"], &["fill-tank"])]),
    Look("fuel-tap-look", &[(&["shut"], &["open-fuel-tap"])]),
    Look("lead-look", &[(&["loose"], &["push-lead-home"])]),
    Look("rope-feel", &[]),
    LookIf(("rope-feel", &["no-turn"]), "recoil-look", &[(&["fails"], &["mend-recoil"])]),
    LookIf(
        ("rope-feel", &["stops", "snatch"]),
        "blade-look",
        &[(&["jammed"], &["free-blade"]), (&["loose", "bruised"], &["tighten-blade"])],
    ),
    LookIf(("rope-feel", &["stops"]), "plug-wet", &[(&["dripping", "oily"], &["clear-headspace"])]),
    LookIf(("rope-feel", &["snatch"]), "key-look", &[(&["sheared", "marked"], &["new-key"])]),
    Try,
    // Things that can be seen without taking much off.
    LookIf(("attempt", &["dies"]), "cap-vent", &[(&["blocked"], &["clear-tank-cap"])]),
    Look("filter-look", &[(&["packed", "soaked"], &["new-filter"])]),
    Look("fuel-smell", &[(&["sour", "oily"], &["drain-and-refill"])]),
    // Plug out: wet or dry, and does it spark.
    Look("plug-wet", &[(&["dripping"], &["dry-out"]), (&["oily", "sooty"], &["new-plug"])]),
    Look("spark-gap-tester", &[]),
    LookIf(
        DEAD,
        "spark-stop-lead-off",
        &[(&["comes"], &["set-brake-cable", "free-stop-lead"]), (&["still-none"], &["new-coil"])],
    ),
    Repair("new-plug"),
    // A dose into the intake splits fuel from the rest.
    Look("dose", &[]),
    RepairIf(ON_THE_DOSE, "drain-and-refill"),
    LookIf(ON_THE_DOSE, "line-flow", &[(&["none", "slows"], &["clear-fuel-line"])]),
    LookIf(ON_THE_DOSE, "primer-squirt", &[(&["weak", "nothing"], &["new-primer"])]),
    LookIf(ON_THE_DOSE, "choke-look", &[(&["not-closing", "not-opening"], &["free-choke"])]),
    RepairIf(ON_THE_DOSE, "clean-carburettor"),
    RepairIf(ON_THE_DOSE, "new-carburettor"),
    // Not even on the dose: compression, timing, exhaust.
    LookIf(
        DUMB_ON_THE_DOSE,
        "gauge-pull",
        &[(&["next-to-none", "low"], &["set-valve-clearance", "new-head-gasket"])],
    ),
    LookIf(("gauge-pull", &["next-to-none", "low"]), "valves-move", &[(&["stuck"], &["free-valve"])]),
    LookIf(DUMB_ON_THE_DOSE, "key-peek", &[(&["offset"], &["new-key"])]),
    LookIf(DUMB_ON_THE_DOSE, "exhaust-look", &[(&["blocked", "no-puff"], &["clear-exhaust"])]),
    RepairIf(DUMB_ON_THE_DOSE, "drain-and-refill"),
    RepairIf(DUMB_ON_THE_DOSE, "clean-carburettor"),
    RepairIf(DEAD, "new-coil"),
];

/// The first line that is neither done nor impossible; none at the end of the list.
fn next(job: &Job, possible: &Possible) -> Option<Action> {
    let can = |action: &Action| possible.cost(action).is_some();
    let file = job.machine.file();
    let repair = |id: &str| {
        let at = RepairId::new(file.repairs.iter().position(|r| r.id == id)?);
        let done = job.steps.iter().any(|s| matches!(s, Step::Repair { repair, .. } if *repair == at));
        Some(Action::Repair(at)).filter(|action| !done && can(action))
    };
    let look = |id: &str, points: Points| match found(job, id) {
        Some(result) => {
            let of = points.iter().find(|(results, _)| results.contains(&result));
            of.into_iter().flat_map(|(_, repairs)| *repairs).find_map(|r| repair(r))
        }
        None => {
            let check = file.checks.iter().position(|c| c.id == id).map(|at| Action::Check(at.into()));
            let bypass = || {
                let at = file.bypasses.iter().position(|b| b.id == id)?;
                Some(Action::Attempt(vec![BypassId::new(at)]))
            };
            check.or_else(bypass).filter(can)
        }
    };
    let holds = |(id, results): &Earlier| found(job, id).is_some_and(|result| results.contains(&result));
    LIST.iter().find_map(|line| match line {
        Look(id, points) => look(id, points),
        LookIf(earlier, id, points) => holds(earlier).then(|| look(id, points)).flatten(),
        RepairIf(earlier, id) => holds(earlier).then(|| repair(id)).flatten(),
        Repair(id) => repair(id),
        Try => {
            let plain = |s: &&Step| matches!(s, Step::Attempt { bypasses, .. } if bypasses.is_empty());
            let tried = job.steps.iter().filter(plain).count();
            Some(Action::PLAIN_ATTEMPT).filter(|action| tried < 2 && can(action))
        }
    })
}

/// The latest result of a check, or outcome of a start.
fn found<'m>(job: &Job<'m>, id: &str) -> Option<&'m str> {
    let file = job.machine.file();
    job.steps.iter().rev().find_map(|step| match step {
        Step::Check { check, finding, .. } => {
            let check = file.check(*check);
            (check.id == id).then(|| check.results[finding.result()].id.as_str())
        }
        Step::Attempt { bypasses, outcome, .. } => {
            let is = match bypasses.as_slice() {
                [] => id == "attempt",
                some => some.iter().any(|b| file.bypass(*b).id == id),
            };
            is.then(|| outcome.id())
        }
        Step::Repair { .. } => None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lesson::mower;

    #[test]
    fn everything_on_the_list_is_there_on_the_mower() {
        let file = mower().file();
        let results = |id: &str| -> Vec<&str> {
            let check = file.checks.iter().find(|c| c.id == id);
            match check {
                Some(check) => check.results.iter().map(|r| r.id.as_str()).collect(),
                None => {
                    assert!(id == "attempt" || file.bypasses.iter().any(|b| b.id == id), "{id}");
                    vec!["runs", "dies", "tries", "nothing"]
                }
            }
        };
        let known = |id: &str, these: &[&str]| these.iter().all(|r| results(id).contains(r));
        let repair = |id: &str| assert!(file.repairs.iter().any(|r| r.id == id), "{id}");
        for line in LIST {
            if let LookIf((id, these), ..) | RepairIf((id, these), _) = line {
                assert!(known(id, these), "{id}");
            }
            match line {
                Look(id, points) | LookIf(_, id, points) => {
                    for (these, repairs) in *points {
                        assert!(known(id, these), "{id}");
                        repairs.iter().for_each(|r| repair(r));
                    }
                }
                Repair(id) | RepairIf(_, id) => repair(id),
                Try => {}
            }
        }
    }
}
