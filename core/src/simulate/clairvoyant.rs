//! What somebody does who knows the causes, and so never looks: the floor that no policy gets below by
//! more than luck.

use super::policy::Next;
use super::truth::Doing;
use crate::job::Job;
use crate::machine::ConditionId;

/// The first of the cheapest repairs that make good all that acts; an attempt where nothing does; handing
/// over where that is cheaper.
pub(super) fn next(job: &Job, acting: &[ConditionId]) -> Next {
    if acting.is_empty() {
        return Some(Doing::Attempt(Vec::new()));
    }
    job.best_for(acting).map(Doing::Repair)
}
