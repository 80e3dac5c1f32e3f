//! A machine with everything resolved: what the network of a job is built from.

use super::ids::{BypassId, CheckId, ConditionId, ContextId, FunctionId, PartId, RepairId, SetupId, ToolId};
use crate::reading::{Law, LawShape, Unit, matter};
use typed_index_collections::TiVec;

/// How a condition acts on a start attempt, from least to worst; the order of the outcomes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Real, worth mending, and not the reason.
    Harmless,
    /// Fires up and stops again.
    Dies,
    /// Coughs or pops.
    Tries,
    /// Not one cough.
    Nothing,
}

impl Severity {
    /// All four, from least to worst.
    pub const ALL: [Severity; 4] = [Severity::Harmless, Severity::Dies, Severity::Tries, Severity::Nothing];

    /// Its name in files.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            Severity::Harmless => "harmless",
            Severity::Dies => "dies",
            Severity::Tries => "tries",
            Severity::Nothing => "nothing",
        }
    }
}

/// A state of a part: sound, or in a condition that acts or does not. State 0 is sound. How badly
/// an acting condition acts matters to start attempts only and is drawn apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum PartState {
    Sound,
    In { condition: ConditionId, acts: bool },
}

impl PartState {
    pub(crate) fn condition(self) -> Option<ConditionId> {
        match self {
            PartState::Sound => None,
            PartState::In { condition, .. } => Some(condition),
        }
    }

    pub(crate) fn acts(self) -> bool {
        matches!(self, PartState::In { acts: true, .. })
    }
}

/// A variable that others look at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Source {
    Context(ContextId),
    Part(PartId),
    Function(FunctionId),
}

/// A state of affairs of one variable: which of its states it holds in.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Predicate {
    pub(crate) source: Source,
    pub(crate) holds: Vec<bool>,
}

#[derive(Debug, Clone)]
pub(crate) struct PartModel {
    pub(crate) states: Vec<PartState>,
    pub(crate) state_names: Vec<String>,
    pub(crate) parents: Vec<Source>,
    /// Parents in order, the last fastest, then the states.
    pub(crate) table: Vec<f64>,
}

#[derive(Debug, Clone)]
pub(crate) struct ConditionModel {
    pub(crate) part: PartId,
    /// Place among the conditions of its part.
    pub(crate) index: usize,
    /// Chance of each severity if it acts; that of `harmless` is 0.
    pub(crate) severity: [f64; 4],
}

#[derive(Debug, Clone)]
pub(crate) struct FunctionModel {
    pub(crate) level_names: Vec<String>,
    /// For each part that spoils it: by state, the chance of each level.
    pub(crate) spoilers: Vec<(PartId, Vec<Vec<f64>>)>,
}

/// What a check's finding depends on, and how.
#[derive(Debug, Clone)]
pub(crate) struct ObservationModel {
    pub(crate) parents: Vec<Source>,
    pub(crate) kind: ObservationKind,
}

#[derive(Debug, Clone)]
pub(crate) enum ObservationKind {
    /// By configuration of the parents (the last fastest): the chance of each result.
    Table(Vec<Vec<f64>>),
    /// By configuration of the parents: the law of the reading, as an index into the laws.
    Reading(ReadingModel),
}

impl ObservationModel {
    /// By configuration of the parents: the chance of every result or band, where gauges read `air`
    /// times what they read at the sea.
    pub(crate) fn rows(&self, air: f64) -> Vec<Vec<f64>> {
        match &self.kind {
            ObservationKind::Table(rows) => rows.clone(),
            ObservationKind::Reading(model) => {
                let bands = |law: &Law| (0..=model.edges.len()).map(|b| law.mass(model.band(b))).collect();
                let by_row: Vec<Vec<f64>> = model.laws(air).iter().map(bands).collect();
                model.row_of.iter().map(|r| by_row[*r].clone()).collect()
            }
        }
    }
}

#[derive(Debug, Clone)]
pub(crate) struct ReadingModel {
    pub(crate) unit: Unit,
    pub(crate) resolution: f64,
    pub(crate) range: [f64; 2],
    pub(crate) follows_air: bool,
    pub(crate) slip: f64,
    pub(crate) row_of: Vec<usize>,
    /// `(reference in degrees Celsius, growth per kelvin)`.
    pub(crate) follows_temperature: Option<(f64, f64)>,
    /// Terms with their weights at the sea, by row.
    pub(crate) terms: Vec<Vec<(f64, LawShape)>>,
    /// Upper edges of all bands but the last.
    pub(crate) edges: Vec<f64>,
}

impl ReadingModel {
    /// The laws by row, where gauges read `air` times what they read at the sea.
    pub(crate) fn laws(&self, air: f64) -> Vec<Law> {
        let factor = if self.follows_air { air } else { 1.0 };
        let [low, high] = self.range;
        self.terms
            .iter()
            .filter_map(|terms| {
                let scaled: Vec<_> = terms.iter().map(|(w, shape)| (*w, shape.scaled(factor))).collect();
                // The same terms passed when the machine was made, at every height that a job may give.
                Law::new(&scaled, low, high, self.slip).ok()
            })
            .collect()
    }

    /// What a reading at a temperature has to be divided by to stand at the reference.
    pub(crate) fn growth(&self, celsius: f64) -> f64 {
        self.follows_temperature.map_or(1.0, |(reference, a)| matter::growth(a, reference, celsius))
    }
}

#[derive(Debug, Clone)]
pub(crate) struct HoldOffModel {
    pub(crate) predicate: Predicate,
    pub(crate) over: f64,
    pub(crate) why: String,
}

#[derive(Debug, Clone, Default)]
pub(crate) struct Needs {
    pub(crate) tools: Vec<ToolId>,
    pub(crate) setups: Vec<SetupId>,
    pub(crate) fits: Vec<Predicate>,
    /// (check, result places; empty for any)
    pub(crate) after: Vec<(CheckId, Vec<usize>)>,
    pub(crate) hold_off: Vec<HoldOffModel>,
}

#[derive(Debug, Clone)]
pub(crate) struct CheckModel {
    pub(crate) needs: Needs,
    pub(crate) observation: ObservationModel,
    pub(crate) effects: Vec<EffectModel>,
}

#[derive(Debug, Clone)]
pub(crate) struct BypassModel {
    pub(crate) needs: Needs,
    pub(crate) lifts: Vec<ConditionId>,
    /// Outcomes by the worst lifted severity while nothing else acts; none where lifted conditions
    /// behave as if they were not there.
    pub(crate) law: Option<[[f64; 4]; 4]>,
    /// Conditions that act in another way.
    pub(crate) apart: Vec<ApartModel>,
    pub(crate) effects: Vec<EffectModel>,
}

/// Conditions, and the outcomes by the worst severity among them.
pub(crate) type ApartModel = (Vec<ConditionId>, [[f64; 4]; 4]);

/// What bypasses make of a condition at an attempt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Role {
    Acts,
    Lifted,
    /// It has a law of its own: of which bypass, and its place there.
    Apart(BypassId, usize),
}

#[derive(Debug, Clone)]
pub(crate) struct RepairModel {
    pub(crate) needs: Needs,
    pub(crate) cures: Vec<ConditionId>,
    pub(crate) effects: Vec<EffectModel>,
}

/// What a step changes in one part.
#[derive(Debug, Clone)]
pub(crate) struct EffectModel {
    pub(crate) part: PartId,
    /// By state of the part: whether it changes.
    pub(crate) from: Vec<bool>,
    /// The state that it becomes.
    pub(crate) to: usize,
    pub(crate) chance: f64,
    /// Places of results or outcomes; empty for any.
    pub(crate) only_after: Vec<usize>,
    /// From which time on that the step is made, counted from 1.
    pub(crate) from_time: usize,
}

/// A population that a job may name: odds factors by condition and by state of a context.
#[derive(Debug, Clone, Default)]
pub(crate) struct ChoiceModel {
    pub(crate) conditions: Vec<(ConditionId, f64)>,
    pub(crate) contexts: Vec<(ContextId, usize, f64)>,
}

/// Everything in a machine, resolved. Lists stand in the order of the description.
#[derive(Clone)]
pub(crate) struct Model {
    pub(crate) conditions: TiVec<ConditionId, ConditionModel>,
    pub(crate) parts: TiVec<PartId, PartModel>,
    pub(crate) functions: TiVec<FunctionId, FunctionModel>,
    pub(crate) checks: TiVec<CheckId, CheckModel>,
    pub(crate) attempt_law: [[f64; 4]; 4],
    pub(crate) attempt_needs: Needs,
    pub(crate) attempt_effects: Vec<EffectModel>,
    /// By set-up.
    pub(crate) setup_effects: TiVec<SetupId, Vec<EffectModel>>,
    /// By setting, by choice.
    pub(crate) settings: Vec<Vec<ChoiceModel>>,
    /// From which height on, in metres, and how machines differ there.
    pub(crate) thin_air: Option<(f64, ChoiceModel)>,
    pub(crate) bypasses: TiVec<BypassId, BypassModel>,
    pub(crate) repairs: TiVec<RepairId, RepairModel>,
}

impl Model {
    /// What some bypasses together make of a condition; the first that knows it says so.
    pub(crate) fn role(&self, bypasses: &[BypassId], condition: ConditionId) -> Role {
        for bypass in bypasses {
            let model = &self.bypasses[*bypass];
            if model.lifts.contains(&condition) {
                return Role::Lifted;
            }
            if let Some(group) = model.apart.iter().position(|(list, _)| list.contains(&condition)) {
                return Role::Apart(*bypass, group);
            }
        }
        Role::Acts
    }

    /// The law of conditions that several bypasses together lift: of the first that has one.
    pub(crate) fn lift_law(&self, bypasses: &[BypassId]) -> Option<&[[f64; 4]; 4]> {
        bypasses.iter().find_map(|b| self.bypasses[*b].law.as_ref())
    }

    /// Outcomes of an attempt by the worst severity of what acts, of what is lifted, and of each group with
    /// a law of its own. What is lifted shows only where nothing else acts; of all the others the worse of
    /// independent draws comes out.
    pub(crate) fn outcomes(
        &self,
        lift_law: Option<&[[f64; 4]; 4]>,
        acting: usize,
        lifted: usize,
        apart: impl Iterator<Item = (BypassId, usize, usize)>,
    ) -> [f64; 4] {
        let main = match (acting, lift_law) {
            (0, Some(law)) if lifted > 0 => Some(law[lifted]),
            (0, _) => None,
            _ => Some(self.attempt_law[acting]),
        };
        let apart = apart.filter(|(_, _, severity)| *severity > 0);
        let apart = apart.map(|(b, group, severity)| self.bypasses[b].apart[group].1[severity]);
        let nothing_acts = lift_law.map_or(self.attempt_law[0], |law| law[0]);
        main.into_iter().chain(apart).reduce(|a, b| worse(&a, &b)).unwrap_or(nothing_acts)
    }
}

/// Law of the worse of two independent draws of an outcome.
pub(crate) fn worse(a: &[f64; 4], b: &[f64; 4]) -> [f64; 4] {
    let (mut a_before, mut b_before) = (0.0, 0.0);
    let mut law = [0.0; 4];
    for ((p, a), b) in law.iter_mut().zip(a).zip(b) {
        let before = a_before * b_before;
        a_before += a;
        b_before += b;
        *p = a_before * b_before - before;
    }
    law
}
