//! The changes that every step of a job makes to the parts.
//!
//! A repair cures a condition. Pulling the starter floods the cylinder. With the plug out, the cylinder dries. A look
//! only looks. Findings before and after such a step are about two different states of the machine. So a part that a
//! step touches is a new variable from then on (`builder.rs`).
//!
//! A check that was told has changed nothing. A repair that was told has been done with the machine's trust in what is
//! told, which multiplies the chances of its changes. An attempt that was told has been made.

use super::{Job, Step};
use crate::machine::model::{EffectModel, Needs};
use crate::machine::{PartId, SetupId};
use typed_index_collections::TiVec;

/// The transition matrix of a step on one part: by state before, the chance of each state after.
pub(crate) type Transition = Vec<Vec<f64>>;

/// The changes that the steps of a job make to its parts.
pub(crate) struct StepEffects<'m> {
    /// By step.
    effects: Vec<Vec<&'m EffectModel>>,
}

impl<'m> StepEffects<'m> {
    pub(crate) fn of(job: &Job<'m>) -> Self {
        let model = &job.machine.model;
        let mut open: TiVec<SetupId, bool> = vec![false; model.setup_effects.len()].into();
        let mut effects = Vec::with_capacity(job.steps.len());
        for (at, step) in job.steps.iter().enumerate() {
            let time = 1 + job.steps[..at].iter().filter(|s| same_act(s, step)).count();
            let (needs, result): (Vec<&Needs>, _) = match step {
                Step::Check { made: false, .. } => {
                    effects.push(Vec::new());
                    continue;
                }
                Step::Check { check, finding, .. } => {
                    (vec![&model.checks[*check].needs], Some(finding.result()))
                }
                // Nobody has opened the machine on the bench for it.
                Step::Repair { told: true, .. } => (Vec::new(), None),
                Step::Repair { repair, .. } => (vec![&model.repairs[*repair].needs], None),
                Step::Attempt { bypasses, outcome, .. } => {
                    let needs = bypasses.iter().map(|b| &model.bypasses[*b].needs);
                    (needs.collect(), Some(*outcome as usize))
                }
            };
            let mut list: Vec<&EffectModel> = Vec::new();
            for setup in needs.iter().flat_map(|n| &n.setups) {
                if !std::mem::replace(&mut open[*setup], true) {
                    list.extend(&model.setup_effects[*setup]);
                }
            }
            match step {
                Step::Check { check, .. } => list.extend(&model.checks[*check].effects),
                Step::Repair { repair, .. } => list.extend(&model.repairs[*repair].effects),
                Step::Attempt { bypasses, .. } => {
                    list.extend(&model.attempt_effects);
                    bypasses.iter().for_each(|b| list.extend(&model.bypasses[*b].effects));
                    // A start attempt needs the machine closed.
                    open.fill(false);
                }
            }
            list.retain(|e| time >= e.from_time);
            list.retain(|e| e.only_after.is_empty() || result.is_some_and(|r| e.only_after.contains(&r)));
            effects.push(list);
        }
        StepEffects { effects }
    }

    /// By part: the states other than sound that a step of this job may put it into.
    pub(crate) fn put_into(&self, parts: usize) -> TiVec<PartId, Vec<usize>> {
        let mut states: TiVec<PartId, _> = vec![Vec::new(); parts].into();
        for effect in self.effects.iter().flatten().filter(|e| e.to != 0) {
            states[effect.part].push(effect.to);
        }
        states
    }

    /// The transition of a part at a step; none if the step does not touch the part.
    pub(crate) fn on(&self, job: &Job, step: usize, part: PartId) -> Option<Transition> {
        let states = &job.machine.model.parts[part].states;
        let mut all: Option<Transition> = None;
        // A repair that is only told may not have been done.
        let mut done = 1.0;
        if let Step::Repair { repair, told } = &job.steps[step] {
            if *told {
                done = job.machine.file().trust.told;
            }
            let cures = &job.machine.model.repairs[*repair].cures;
            let takes = done * job.machine.repair(*repair).takes;
            let cured: Vec<bool> =
                states.iter().map(|s| s.condition().is_some_and(|c| cures.contains(&c))).collect();
            if cured.contains(&true) {
                all = Some(change(all, &cured, 0, takes));
            }
        }
        for effect in self.effects[step].iter().filter(|e| e.part == part) {
            all = Some(change(all, &effect.from, effect.to, done * effect.chance));
        }
        all
    }
}

/// Whether an earlier step did the same thing as a later one. All start attempts do. A check that was only told
/// did nothing.
fn same_act(earlier: &Step, later: &Step) -> bool {
    match (earlier, later) {
        (Step::Check { check: a, made, .. }, Step::Check { check: b, .. }) => *made && a == b,
        (Step::Repair { repair: a, .. }, Step::Repair { repair: b, .. }) => a == b,
        (Step::Attempt { .. }, Step::Attempt { .. }) => true,
        _ => false,
    }
}

/// A transition, followed by one more change: each state marked in `from` becomes `to` with this chance.
fn change(before: Option<Transition>, from: &[bool], to: usize, chance: f64) -> Transition {
    let count = from.len();
    let point = |state: usize| (0..count).map(|s| f64::from(u8::from(s == state))).collect();
    let mut rows = before.unwrap_or_else(|| (0..count).map(point).collect());
    for row in &mut rows {
        for state in (0..count).filter(|s| from[*s] && *s != to) {
            let moved = row[state] * chance;
            row[state] -= moved;
            row[to] += moved;
        }
    }
    rows
}
