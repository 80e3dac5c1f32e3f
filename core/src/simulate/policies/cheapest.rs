use crate::advise::Possible;
use crate::job::{Action, Job, JobError, Step};
use crate::machine::RepairId;
use crate::simulate::policy::{Decision, Policy, Situation};
use crate::simulate::rule::decide_by_rule;

/// A condition that a finding speaks for counts as present from this chance.
const THERE: f64 = 0.5;

/// Takes the cheapest action.
#[derive(Debug)]
pub(super) struct Cheapest;

impl Policy for Cheapest {
    fn id(&self) -> &'static str {
        "cheapest"
    }

    fn about(&self) -> &'static str {
        "The cheapest step first; what is found to be abnormal is repaired"
    }

    fn decide(&self, situation: &Situation) -> Result<Decision, JobError> {
        decide_by_rule(situation, next)
    }
}

/// The cheapest repair of a condition that was found, otherwise the cheapest action not taken yet. Of two
/// actions with the same cost it is the first in the description.
fn next(job: &Job, possible: &Possible) -> Option<Action> {
    let (file, model) = (job.machine.file(), &job.machine.model);
    let first_named = possible.abnormal().into_iter().filter_map(|a| a.speaks_for.into_iter().next());
    let wrong: Vec<String> = first_named
        .filter(|verdict| verdict.p_present >= THERE)
        .map(|verdict| format!("{}/{}", verdict.part, verdict.condition))
        .collect();
    let all_repairs = || model.repairs.keys();
    let cures = |repair: &RepairId| file.repair(*repair).cures.iter().any(|c| wrong.contains(c));
    let pointed_at = all_repairs().filter(cures).map(Action::Repair);
    let checks = model.checks.keys().map(Action::Check);
    let bypasses = model.bypasses.keys().map(|bypass| Action::Attempt(vec![bypass]));
    let anything = checks.chain(bypasses).chain(all_repairs().map(Action::Repair));
    let cheapest = |actions: &mut dyn Iterator<Item = Action>| {
        let left = actions.filter(|action| !was_done(job, action));
        let priced = left.filter_map(|action| possible.cost(&action).map(|cost| (action, cost)));
        Some(priced.min_by(|(_, a), (_, b)| a.total_cmp(b))?.0)
    };
    cheapest(&mut { pointed_at }).or_else(|| cheapest(&mut { anything }))
}

fn was_done(job: &Job, action: &Action) -> bool {
    job.steps.iter().any(|done| match (done, action) {
        // A bypass counts as used if it was used together with others.
        (Step::Attempt { bypasses: used, .. }, Action::Attempt(bypasses)) => {
            !bypasses.is_empty() && bypasses.iter().all(|bypass| used.contains(bypass))
        }
        _ => done.action() == *action,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::JobFile;
    use crate::lesson::mower;

    /// The next action after these steps, and the cost of the job with it.
    fn after(steps: &str) -> (Action, f64) {
        let file = format!(r#"{{"machine": "mower-recoil", "steps": [{steps}]}}"#);
        let file = JobFile::from_json(&file).expect("a job file");
        let job = Job::new(mower(), &file).expect("a job");
        let possible = Possible::leaving_out(&job, 0).expect("what is believed");
        let action = next(&job, &possible).expect("a step");
        let cost = possible.cost(&action).expect("nothing in its way");
        (action, cost)
    }

    #[test]
    fn it_is_the_cheapest_thing_and_not_the_same_one_again() {
        let (first, cost) = after(r#"{"do": "attempt", "outcome": "nothing"}"#);
        let file = mower().file();
        assert!(file.checks.iter().all(|c| cost <= c.minutes), "{first:?} at {cost}");
        let Action::Check(check) = &first else { panic!("{first:?}") };
        let check = file.check(*check);
        let steps = format!(
            r#"{{"do": "attempt", "outcome": "nothing"}}, {{"do": "check", "check": "{}", "result": "{}"}}"#,
            check.id, check.results[0].id
        );
        assert_ne!(after(&steps).0, first);
    }

    #[test]
    fn what_was_found_is_mended_first() {
        let steps = r#"{"do": "check", "check": "tank-look", "result": "empty"}"#;
        let fill = mower().file().repairs.iter().position(|r| r.id == "fill-tank").expect("a repair");
        assert_eq!(after(steps).0, Action::Repair(RepairId::new(fill)));
    }
}
