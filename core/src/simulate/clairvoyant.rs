//! What somebody does who knows the causes, and so never looks: the floor that no policy gets below by
//! more than luck.

use super::policy::Next;
use super::truth::Doing;
use crate::job::Job;
use crate::machine::{ConditionId, RepairId};

/// The first of the cheapest repairs that make good all that acts; an attempt where nothing does; handing
/// over where that is cheaper.
pub(super) fn next(job: &Job, acting: &[ConditionId]) -> Next {
    let attempt = job.machine.file().attempt.minutes / 60.0 * job.rate_per_hour;
    if acting.is_empty() {
        return Some(Doing::Attempt(Vec::new()));
    }
    let mut search = Search { job, best: job.hand_over_cost - attempt, first: None };
    search.extend(&mut Vec::new(), acting, &job.open_setups(), 0.0);
    search.first.map(Doing::Repair)
}

/// All ways to cover the causes by repairs, cheapest kept.
struct Search<'a, 'm> {
    job: &'a Job<'m>,
    best: f64,
    first: Option<RepairId>,
}

impl Search<'_, '_> {
    /// Repairs that do not take are done again: each costs its price by its chance to take.
    fn extend(&mut self, chosen: &mut Vec<RepairId>, left: &[ConditionId], open: &[bool], cost: f64) {
        if cost >= self.best {
            return;
        }
        let Some(cause) = left.first() else {
            self.best = cost;
            self.first = chosen.first().copied();
            return;
        };
        let (file, model) = (self.job.machine.file(), &self.job.machine.model);
        for (at, repair) in model.repairs.iter().enumerate().filter(|(_, r)| r.cures.contains(cause)) {
            if !repair.needs.tools.iter().all(|t| self.job.has(*t)) {
                continue;
            }
            let authored = &file.repairs[at];
            let mut opened = open.to_vec();
            let mut minutes = authored.minutes / authored.takes;
            for setup in &repair.needs.setups {
                if !std::mem::replace(&mut opened[setup.index()], true) {
                    minutes += file.setups[setup.index()].minutes;
                }
            }
            let price =
                minutes / 60.0 * self.job.rate_per_hour + authored.parts_cost.typical / authored.takes;
            let rest: Vec<ConditionId> = left.iter().copied().filter(|c| !repair.cures.contains(c)).collect();
            chosen.push(RepairId::new(at));
            self.extend(chosen, &rest, &opened, cost + price);
            chosen.pop();
        }
    }
}
