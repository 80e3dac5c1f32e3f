//! Conclusions from the odds and the costs together: enough is known, one repair cures all that is left, stop.
//!
//! A conclusion adds no rule. It states what the ranking already shows.

use super::answer::{CauseOdds, Conclusion, Leader, StepAdvice, StepKind};
use crate::machine::Machine;

/// A cause is in play with at least this chance. A repair that leaves a cause of one in ten does not cure all.
const IN_PLAY: f64 = 0.1;

/// The conclusions. `causes` begin with the most likely; `ranking` begins with the best, and is empty once the engine
/// runs.
pub(super) fn conclusions(
    machine: &Machine,
    causes: &[CauseOdds],
    ranking: &[StepAdvice],
) -> Vec<Conclusion> {
    let Some(best) = ranking.first() else { return Vec::new() };
    // The order of work may put a step in front of one that costs less; then its costs prove nothing.
    let proves = |conclusion: &Conclusion| match conclusion {
        Conclusion::EnoughIsKnown { saves, .. }
        | Conclusion::OneRepairCures { saves, .. }
        | Conclusion::BetterStop { saves } => saves.is_none_or(|saves| saves >= 0.0),
    };
    // Difference to the best step of another kind.
    let saves = |sort: &dyn Fn(StepKind) -> bool| {
        ranking.iter().find(|s| sort(s.kind)).map(|s| s.expected_cost - best.expected_cost)
    };
    let all = match best.kind {
        StepKind::HandOver => {
            vec![Conclusion::BetterStop { saves: saves(&|kind| kind != StepKind::HandOver) }]
        }
        StepKind::Repair => {
            let repair = || best.id.clone();
            let observes = |kind| matches!(kind, StepKind::Check | StepKind::Attempt | StepKind::Bypass);
            let enough = Conclusion::EnoughIsKnown { repair: repair(), saves: saves(&observes) };
            let all = all_cured(machine, causes, &best.id).map(|causes| Conclusion::OneRepairCures {
                repair: repair(),
                causes,
                saves: saves(&|kind| kind == StepKind::HandOver),
            });
            std::iter::once(enough).chain(all).collect()
        }
        StepKind::Check | StepKind::Attempt | StepKind::Bypass => Vec::new(),
    };
    all.into_iter().filter(proves).collect()
}

/// The causes in play, if there are several and the repair cures each of them.
fn all_cured(machine: &Machine, causes: &[CauseOdds], repair: &str) -> Option<Vec<Leader>> {
    let cures = &machine.model.repairs[machine.find_repair("ranking", repair).ok()?].cures;
    let cured = |cause: &CauseOdds| {
        cures.iter().any(|c| {
            let (part, condition) = machine.condition(*c);
            part.id == cause.part && condition.id == cause.condition
        })
    };
    let in_play: Vec<&CauseOdds> = causes.iter().filter(|c| c.p_cause >= IN_PLAY).collect();
    (in_play.len() > 1 && in_play.iter().all(|c| cured(c))).then(|| {
        let leader = |c: &&CauseOdds| Leader {
            part: c.part.clone(),
            condition: c.condition.clone(),
            name: c.name.clone(),
            p_cause: c.p_cause,
        };
        in_play.iter().map(leader).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::machine::ConditionId;

    fn odds(machine: &Machine, condition: ConditionId, p_cause: f64) -> CauseOdds {
        let (part, condition) = machine.condition(condition);
        CauseOdds {
            part: part.id.clone(),
            condition: condition.id.clone(),
            name: condition.name.clone(),
            subsystem: part.subsystem.clone(),
            left_over: part.left_over,
            p_cause,
            p_present: p_cause,
            p_was_cause: p_cause,
            p_was_present: p_cause,
            p_cause_before: p_cause,
            repaired: false,
        }
    }

    #[test]
    fn one_repair_cures_all_that_is_left_and_not_one_in_play_that_it_leaves() {
        let machine = Machine::shipped("mower-recoil").expect("the mower");
        let repairs = &machine.model.repairs;
        let repair = repairs.position(|r| r.cures.len() > 1).expect("a repair of two conditions");
        let cures = &repairs[repair].cures;
        let id = &machine.repair(repair).id;
        let other = machine.condition_ids().find(|c| !cures.contains(c)).expect("another condition");
        let with = |chances: &[(ConditionId, f64)]| {
            let causes: Vec<CauseOdds> = chances.iter().map(|(c, p)| odds(&machine, *c, *p)).collect();
            all_cured(&machine, &causes, id).map(|all| all.len())
        };
        let (a, b) = (cures[0], cures[1]);
        assert_eq!(with(&[(a, 0.5), (b, 0.4)]), Some(2));
        assert_eq!(with(&[(a, 0.5), (b, 0.4), (other, 0.05)]), Some(2));
        assert_eq!(with(&[(a, 0.5), (b, 0.3), (other, 0.15)]), None);
        assert_eq!(with(&[(a, 0.9), (b, 0.05)]), None, "one cause is not several");
        assert_eq!(with(&[]), None);
    }
}
