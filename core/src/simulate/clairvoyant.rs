//! What somebody does who knows the causes, and so never looks: the floor that no policy gets below by
//! more than luck.

use crate::job::{Action, Job};
use crate::machine::ConditionId;

/// The first of the cheapest repairs that make good all that acts; an attempt where nothing does; handing
/// over where that is cheaper.
pub(super) fn next(job: &Job, acting: &[ConditionId]) -> Option<Action> {
    if acting.is_empty() {
        return Some(Action::PLAIN_ATTEMPT);
    }
    job.best_for(acting).map(Action::Repair)
}
