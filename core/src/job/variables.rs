use crate::machine::model::{Predicate, Source};
use crate::machine::{ContextId, PartId};
use halfsplit_bayes::VarId;
use typed_index_collections::TiVec;

/// The variables of a job's network that stand for contexts and parts.
///
/// A step that changes a part gives it a new variable, its next version.
#[derive(Debug)]
pub(crate) struct JobVariables {
    contexts: TiVec<ContextId, VarId>,
    /// By part: its variable at every version, oldest first.
    versions: TiVec<PartId, Vec<VarId>>,
    /// By time (before each step, and after the last): the version of each part.
    version_at: Vec<TiVec<PartId, usize>>,
}

impl JobVariables {
    /// No variables yet, for a job of so many steps.
    pub(super) fn new(parts: usize, steps: usize) -> Self {
        let version_at = vec![TiVec::from(vec![0; parts]); steps + 1];
        JobVariables { contexts: TiVec::new(), versions: TiVec::new(), version_at }
    }

    /// Adds the next context.
    pub(super) fn add_context(&mut self, var: VarId) {
        self.contexts.push(var);
    }

    /// Adds the next part, as it was on arrival.
    pub(super) fn add_part(&mut self, var: VarId) {
        self.versions.push(vec![var]);
    }

    /// Records the new version that a step gave a part, if it gave one.
    pub(super) fn enter_step(&mut self, part: PartId, step: usize, version: Option<VarId>) {
        let versions = &mut self.versions[part];
        versions.extend(version);
        self.version_at[step + 1][part] = versions.len() - 1;
    }

    /// The time after the last step.
    pub(super) fn end(&self) -> usize {
        self.version_at.len() - 1
    }

    /// The variable of a context.
    pub(super) fn context(&self, context: ContextId) -> VarId {
        self.contexts[context]
    }

    /// The variables of a part, oldest first.
    pub(super) fn versions(&self, part: PartId) -> &[VarId] {
        &self.versions[part]
    }

    /// The variable of a part as it is now.
    pub(crate) fn now(&self, part: PartId) -> VarId {
        self.at_step(part, self.end())
    }

    /// The variable of a part as it was when the job began.
    pub(crate) fn at_arrival(&self, part: PartId) -> VarId {
        self.at_step(part, 0)
    }

    /// The variable of a part as it was before a step, or now (one past the last step).
    pub(crate) fn at_step(&self, part: PartId, step: usize) -> VarId {
        self.versions[part][self.version_at[step][part]]
    }

    /// The present variable that a predicate is about; none for functions.
    pub(crate) fn of_predicate(&self, predicate: &Predicate) -> Option<VarId> {
        match predicate.source {
            Source::Context(context) => Some(self.context(context)),
            Source::Part(part) => Some(self.now(part)),
            Source::Function(_) => None,
        }
    }
}
