//! What the odds and the prices come to: enough is known, one repair cures all that is left, stop.
//!
//! None of it is a rule of its own: each says what the ranking has come to already.

use super::answer::{CauseOdds, Conclusion, ConclusionKind, Leader, StepAdvice, StepKind};
use crate::machine::Machine;

/// A cause is still in play with at least this chance: one that is cured and one in ten that is not are
/// not "all that is left".
const IN_PLAY: f64 = 0.1;

/// The conclusions; `causes` likeliest first, `ranking` best first, empty once the engine runs.
pub(super) fn conclusions(
    machine: &Machine,
    causes: &[CauseOdds],
    ranking: &[StepAdvice],
) -> Vec<Conclusion> {
    let Some(best) = ranking.first() else { return Vec::new() };
    // How much dearer the best step of another sort is.
    let saves = |sort: &dyn Fn(StepKind) -> bool| {
        ranking.iter().find(|s| sort(s.kind)).map(|s| s.expected_cost - best.expected_cost)
    };
    match best.kind {
        StepKind::HandOver => vec![Conclusion {
            kind: ConclusionKind::BetterStop,
            repair: None,
            causes: Vec::new(),
            saves: saves(&|kind| kind != StepKind::HandOver),
        }],
        StepKind::Repair => {
            let repair = Some(best.id.clone());
            let observes = |kind| matches!(kind, StepKind::Check | StepKind::Attempt | StepKind::Bypass);
            let mut conclusions = vec![Conclusion {
                kind: ConclusionKind::EnoughIsKnown,
                repair: repair.clone(),
                causes: Vec::new(),
                saves: saves(&observes),
            }];
            if let Some(causes) = all_cured(machine, causes, &best.id) {
                let saves = saves(&|kind| kind == StepKind::HandOver);
                conclusions.push(Conclusion { kind: ConclusionKind::OneRepairCures, repair, causes, saves });
            }
            conclusions
        }
        StepKind::Check | StepKind::Attempt | StepKind::Bypass => Vec::new(),
    }
}

/// The causes in play, if they are several and the repair cures every one.
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
