//! A resolved machine: the data from which the network of a job is built.

use super::gate_file::Involvement;
use super::ids::{BypassId, CheckId, ConditionId, ContextId, FunctionId, PartId, RepairId, SetupId, ToolId};
use crate::reading::{Law, LawShape, Unit, matter};
use typed_index_collections::TiVec;

/// Severity of a condition at a start attempt, from least to worst, in the order of the outcomes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Present and worth repairing, but not the reason.
    Harmless,
    /// The engine fires up and stops again.
    Dies,
    /// The engine coughs or pops.
    Tries,
    /// The engine does not cough once.
    Nothing,
}

impl Severity {
    /// All four, from least to worst.
    pub const ALL: [Severity; 4] = [Severity::Harmless, Severity::Dies, Severity::Tries, Severity::Nothing];

    /// Id of the severity, as in files.
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

/// A state of a part: sound, or in a condition that acts or does not. State 0 is sound. The severity of an
/// acting condition matters to start attempts only and is drawn separately.
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

/// A variable on which others depend.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Source {
    Context(ContextId),
    Part(PartId),
    Function(FunctionId),
}

/// A predicate on one variable: the states in which it holds.
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
    /// Conditional probability table: by configuration of the parents (the last fastest), then by state.
    pub(crate) table: Vec<f64>,
}

#[derive(Debug, Clone)]
pub(crate) struct ConditionModel {
    pub(crate) part: PartId,
    /// Place of the condition in its part.
    pub(crate) index: usize,
    /// Chance of each severity if the condition acts; the chance of `harmless` is 0.
    pub(crate) severity: [f64; 4],
}

#[derive(Debug, Clone)]
pub(crate) struct FunctionModel {
    pub(crate) level_names: Vec<String>,
    /// By part that spoils the function: by state, the chance of each level.
    pub(crate) spoilers: Vec<(PartId, Vec<Vec<f64>>)>,
}

/// The parents and the distribution of a check's finding.
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
    /// By configuration of the parents: the chance of every result or band. Readings that depend on air
    /// pressure are `air` times those at sea level.
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
    /// By row: terms with their weights, at sea level.
    pub(crate) terms: Vec<Vec<(f64, LawShape)>>,
    /// Upper edges of all bands but the last.
    pub(crate) edges: Vec<f64>,
}

impl ReadingModel {
    /// The laws by row. Readings that depend on air pressure are `air` times those at sea level.
    pub(crate) fn laws(&self, air: f64) -> Vec<Law> {
        let factor = if self.follows_air { air } else { 1.0 };
        let [low, high] = self.range;
        self.terms
            .iter()
            .filter_map(|terms| {
                let scaled: Vec<_> = terms.iter().map(|(w, shape)| (*w, shape.scaled(factor))).collect();
                // The constructor of the machine accepted the same terms at every height that a job may give.
                Law::new(&scaled, low, high, self.slip).ok()
            })
            .collect()
    }

    /// Ratio of a reading at a temperature to the reading at the reference temperature.
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
    /// Checks, each with the places of the required results; empty for any result.
    pub(crate) after: Vec<(CheckId, Vec<usize>)>,
    pub(crate) hold_off: Vec<HoldOffModel>,
}

/// A gate: see [`Gate`](crate::machine::file::Gate).
#[derive(Debug, Clone)]
pub(crate) struct GateModel {
    /// Checks, each with the places of the results that close the gate; empty for any result.
    pub(crate) after: Vec<(CheckId, Vec<usize>)>,
    /// States that close the gate while their chance is above the number.
    pub(crate) likely: Vec<(Predicate, f64)>,
    pub(crate) holds: Vec<Involvement>,
    pub(crate) why: String,
    /// The steps that open the gate, the one to do first in front.
    pub(crate) until: Vec<LiftModel>,
}

/// A step that opens a gate.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum LiftModel {
    /// A check, with the places of the results that open the gate; empty for any.
    Check(CheckId, Vec<usize>),
    /// A repair.
    Repair(RepairId),
}

#[derive(Debug, Clone)]
pub(crate) struct CheckModel {
    pub(crate) needs: Needs,
    pub(crate) observation: ObservationModel,
    pub(crate) effects: Vec<EffectModel>,
    /// Checks that are part of the same work and come first.
    pub(crate) follows: Vec<CheckId>,
    /// By result, then by authored sentence: when it applies.
    pub(crate) means: Vec<Vec<Alternatives>>,
}

/// Alternatives, each of predicates that all must hold. None at all hold always.
pub(crate) type Alternatives = Vec<Vec<Predicate>>;

#[derive(Debug, Clone)]
pub(crate) struct BypassModel {
    pub(crate) needs: Needs,
    pub(crate) lifts: Vec<ConditionId>,
    /// Distribution of the outcomes by the worst lifted severity, if nothing else acts; none if lifted
    /// conditions behave as if they were absent.
    pub(crate) law: Option<[[f64; 4]; 4]>,
    /// Conditions with laws of their own.
    pub(crate) apart: Vec<ApartModel>,
    pub(crate) effects: Vec<EffectModel>,
}

/// Conditions, and the distribution of the outcomes by the worst severity among them.
pub(crate) type ApartModel = (Vec<ConditionId>, [[f64; 4]; 4]);

/// The role of a condition at an attempt with bypasses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Role {
    Acts,
    Lifted,
    /// It has its own law: the bypass that has the law, and the place of the law there.
    Apart(BypassId, usize),
}

#[derive(Debug, Clone)]
pub(crate) struct RepairModel {
    pub(crate) needs: Needs,
    pub(crate) cures: Vec<ConditionId>,
    pub(crate) effects: Vec<EffectModel>,
}

/// A change that a step makes to one part.
#[derive(Debug, Clone)]
pub(crate) struct EffectModel {
    pub(crate) part: PartId,
    /// By state of the part: whether it changes.
    pub(crate) from: Vec<bool>,
    /// The new state.
    pub(crate) to: usize,
    pub(crate) chance: f64,
    /// Places of the results or outcomes after which the change happens; empty for any.
    pub(crate) only_after: Vec<usize>,
    /// The change happens from this repetition of the step on; 1 is the first time.
    pub(crate) from_time: usize,
}

/// A population that a job may name: odds factors by condition and by state of a context.
#[derive(Debug, Clone, Default)]
pub(crate) struct ChoiceModel {
    pub(crate) conditions: Vec<(ConditionId, f64)>,
    pub(crate) contexts: Vec<(ContextId, usize, f64)>,
}

/// A resolved machine. Lists are in the order of the description.
#[derive(Clone)]
pub(crate) struct Model {
    pub(crate) conditions: TiVec<ConditionId, ConditionModel>,
    pub(crate) parts: TiVec<PartId, PartModel>,
    pub(crate) functions: TiVec<FunctionId, FunctionModel>,
    pub(crate) checks: TiVec<CheckId, CheckModel>,
    pub(crate) attempt_law: [[f64; 4]; 4],
    pub(crate) attempt_needs: Needs,
    pub(crate) attempt_effects: Vec<EffectModel>,
    /// By set-up work: its changes.
    pub(crate) setup_effects: TiVec<SetupId, Vec<EffectModel>>,
    /// By setting, then by choice.
    pub(crate) settings: Vec<Vec<ChoiceModel>>,
    /// Height in metres from which thin air counts, and how machines differ there.
    pub(crate) thin_air: Option<(f64, ChoiceModel)>,
    pub(crate) bypasses: TiVec<BypassId, BypassModel>,
    pub(crate) repairs: TiVec<RepairId, RepairModel>,
    pub(crate) gates: Vec<GateModel>,
}

impl Model {
    /// The role of a condition under some bypasses together, which stand in the order of the description. The first
    /// bypass that affects the condition decides.
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

    /// The law of the conditions that several bypasses lift together: that of the first bypass with a law.
    pub(crate) fn lift_law(&self, bypasses: &[BypassId]) -> Option<&[[f64; 4]; 4]> {
        bypasses.iter().find_map(|b| self.bypasses[*b].law.as_ref())
    }

    /// Distribution of the outcomes of an attempt, by the worst severity of the acting conditions, of the
    /// lifted ones, and of each group with its own law. The acting conditions, or the lifted ones if none
    /// acts, give one draw of the outcome. Every group gives another, and the worst draw is the outcome.
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

/// Distribution of the worse of two independent outcomes.
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
