//! The authored form of a machine, which mirrors `core/machines/*.json` field by field.
//!
//! This form is checked for its shape only. [`Machine::new`](super::Machine::new) checks the rest and names
//! the place of every mistake. The version of the schema is [`SCHEMA`].
//!
//! **Predicates.** A description refers to a state of the machine by a short text:
//!
//! | text | holds when |
//! |---|---|
//! | `part/condition` | the part is in that condition, whatever its severity |
//! | `part/condition/acting` | ... and its severity is not `harmless` |
//! | `part/condition/harmless` | ... and its severity is `harmless` |
//! | `part/sound` | nothing is wrong with the part |
//! | `context=state` | the context is in that state |
//! | `function=level` | the function is at that level |
//! | `a & b` | both hold |
//!
//! A step can change the machine: an [`Effect`] of a step states which state becomes which. A machine is
//! written in one file, or composed of blocks that several machines share (see [`super::family`]). Both
//! result in this form.

use serde::{Deserialize, Serialize};

use super::authored::authored;
pub use super::gate_file::{After, Gate, Involvement, Lift, Likely};

/// The schema that this version reads. The `schema` field of a file must be equal to it.
pub const SCHEMA: &str = "halfsplit-machine/2";

/// Cost of an hour of waiting where neither the job nor the description states it, in the unit of the rate. Common practice,
/// no source: the machine takes room, and its owner waits, but nobody stands beside it.
pub const WAIT_COST_PER_HOUR: f64 = 3.0;

authored! {
    /// A whole machine description.
    pub struct MachineFile {
        /// Where an editor finds the JSON Schema of this form; not read.
        #[serde(rename = "$schema", default, skip_serializing_if = "Option::is_none")]
        pub json_schema: Option<String>,
        /// Must be [`SCHEMA`].
        pub schema: String,
        /// Short name used by jobs and on the command line.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// One paragraph: what kind of machine, and what is assumed about it.
        pub about: String,
        /// Sources of the figures.
        pub sources: Vec<String>,
        /// Equivalent sample size of its figures.
        #[serde(default)]
        #[serde(alias = "worth")]
        pub equivalent_sample_size: EquivalentSampleSize,
        /// Trust in a finding, by its provenance.
        pub trust: Trust,
        /// Tools that steps may need; a job's kit is a list of their ids.
        pub tools: Vec<Tool>,
        /// Warnings that steps refer to.
        pub cautions: Vec<Caution>,
        /// Work that opens the machine up and is shared by the steps that need it.
        pub setups: Vec<Setup>,
        /// Groups of parts.
        pub subsystems: Vec<Named>,
        /// Seasons, kinds of customer and other populations that a job can name. Each changes the rates;
        /// without a choice the rates stay as they are.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub settings: Vec<Setting>,
        /// The effects of thin air, in addition to those on gauges.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub thin_air: Option<ThinAir>,
        /// Contexts: what is fitted, and the history of the machine.
        #[serde(alias = "background")]
        pub context: Vec<Context>,
        /// Everything that can be wrong. A part with a condition of another part among its
        /// `raised_by` must come after that part.
        pub parts: Vec<Part>,
        /// Functions that several parts spoil together and several checks observe.
        pub functions: Vec<Function>,
        /// Observations.
        pub checks: Vec<Check>,
        /// One start attempt by the proper routine.
        pub attempt: Attempt,
        /// Temporary measures for one attempt.
        pub bypasses: Vec<Bypass>,
        /// Repairs, which make parts sound.
        pub repairs: Vec<Repair>,
        /// Findings and beliefs after which some steps wait.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub gates: Vec<Gate>,
        /// Limits and prices used where a job sets none.
        pub defaults: Defaults,
    }

    /// Equivalent sample size of the figures, beside one's own counts: the strength of the Dirichlet prior
    /// for each.
    pub struct EquivalentSampleSize {
        /// Number of machines, for rates and shares.
        pub rates: f64,
        /// Number of cases per row, for the rows of checks and the laws of attempts.
        pub rows: f64,
    }

    /// Trust in a finding, by its provenance: the weight of the check's own table in the mixture with a
    /// uniform one. In [0, 1].
    pub struct Trust {
        /// Seen by whoever keeps the job.
        pub seen: f64,
        /// Told by somebody else.
        pub told: f64,
        /// Seen, but not clearly.
        pub unsure: f64,
    }

    /// A tool.
    pub struct Tool {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// Whether most people have it; the page ticks these at first.
        pub common: bool,
        /// Ids of warnings that every step with this tool must give, itself or through its set-up.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub cautions: Vec<String>,
    }

    /// A warning.
    pub struct Caution {
        /// Short name.
        pub id: String,
        /// What to say, as one or two sentences.
        pub text: String,
        /// When to stop and hand the machine to a qualified person; may be empty.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        pub stop: String,
    }

    /// Opening work shared by several steps, such as taking the plug out.
    pub struct Setup {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// Minutes to open the machine, and later to close it again.
        pub minutes: f64,
        /// Ids of warnings.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub cautions: Vec<String>,
        /// Changes that the set-up work makes, after the step for which it was done.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub effects: Vec<Effect>,
    }

    /// A change that a step makes: a part in a state of `when` becomes another state.
    pub struct Effect {
        /// A predicate on a part.
        pub when: String,
        /// The new state of the part: `sound`, `condition/acting` or `condition/harmless`.
        pub becomes: String,
        /// Chance of the change.
        pub chance: f64,
        /// Ids of results or outcomes after which the change happens; empty for any.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub only_after: Vec<String>,
        /// The change happens from this repetition of the step on; 1 is the first time. Attempts with and
        /// without a bypass are counted together.
        #[serde(default = "first", skip_serializing_if = "is_first")]
        pub from_time: u32,
    }

    /// A question about where the machine comes from that a job may answer.
    pub struct Setting {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// The possible answers. None is chosen by default.
        pub choices: Vec<Choice>,
    }

    /// A population of machines.
    pub struct Choice {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// Differences from all incoming machines.
        pub moves: Vec<Move>,
    }

    /// Differences of machines that work at a great height.
    pub struct ThinAir {
        /// Height from which they apply, in metres.
        pub from_m: f64,
        /// Rates and shares that differ there.
        pub moves: Vec<Move>,
    }

    /// An odds factor on a rate or a share.
    pub struct Move {
        /// `part/condition` or `context=state`.
        pub of: String,
        /// Factor on the odds.
        pub factor: f64,
    }

    /// An id with a name.
    pub struct Named {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
    }

    /// A fact of the build or a piece of history: a root node of the network.
    pub struct Context {
        /// Short name; functions and contexts share one set of names.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// Whether it is a fact of the build or history.
        pub kind: ContextKind,
        /// Its states; the shares sum to 1.
        pub states: Vec<ContextState>,
    }

    /// A state of a [`Context`].
    pub struct ContextState {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// Share of incoming machines in this state.
        pub share: f64,
    }

    /// A component with its possible conditions. It is in at most one condition at a time.
    pub struct Part {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// Id of its subsystem.
        pub subsystem: String,
        /// The conditions that it can be in.
        pub conditions: Vec<Condition>,
        /// Whether this is the "something not listed" part of its subsystem.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        pub left_over: bool,
        /// Ids of warnings that every repair of it must give, itself or through its set-up.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub cautions: Vec<String>,
    }

    /// Something that can be wrong with a part.
    pub struct Condition {
        /// Short name, unique within the part.
        pub id: String,
        /// Name for people, readable alone ("stale fuel").
        pub name: String,
        /// Share of incoming machines with this condition, by its severity at a start attempt.
        pub rate: SeverityRates,
        /// Factors on the odds of the condition. The rate is the average over all of them.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub raised_by: Vec<Raise>,
        /// How to prevent the condition, or its return next season; may be empty.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        pub prevent: String,
    }

    /// Shares of incoming machines, by severity.
    pub struct SeverityRates {
        /// The condition is present, and the engine starts nevertheless.
        pub harmless: f64,
        /// The engine fires up and stops again.
        pub dies: f64,
        /// The engine coughs or pops.
        pub tries: f64,
        /// The engine does not cough once.
        pub nothing: f64,
    }

    /// An odds factor.
    pub struct Raise {
        /// A predicate on a context, or on a condition of an earlier part.
        pub when: String,
        /// Factor on the odds; 0 where the condition is impossible.
        pub factor: f64,
    }

    /// A function of the machine (spark at the plug, sealing of the cylinder): a noisy-MAX over
    /// ordered levels.
    pub struct Function {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// Levels from best to worst.
        pub levels: Vec<Named>,
        /// Sources of the figures; "common practice, no source" where there is none.
        pub source: String,
        /// Conditions that spoil the function. A condition not named here leaves it at the best level.
        pub spoiled_by: Vec<Spoil>,
    }

    /// How conditions spoil a function.
    pub struct Spoil {
        /// Predicates on parts; the row applies to each.
        pub when: Vec<String>,
        /// Chance of each level if only this condition is present; sums to 1.
        pub levels: Vec<f64>,
    }

    /// An observation.
    pub struct Check {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// The kind of observation.
        pub kind: CheckKind,
        /// How it is done.
        pub how: String,
        /// What the check tells and how it can mislead; may be empty.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        pub note: String,
        /// Hands-on minutes, without set-up.
        pub minutes: f64,
        /// Hours of waiting in the step (standing, charging, thawing), beside the minutes. A wait of a few minutes at
        /// the machine counts as minutes.
        #[serde(default, skip_serializing_if = "is_zero")]
        pub wait_hours: f64,
        /// What the step involves, and a gate may hold.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub involves: Vec<Involvement>,
        /// Ids of tools, all needed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub tools: Vec<String>,
        /// Ids of set-up work, all needed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub setups: Vec<String>,
        /// Ids of warnings.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub cautions: Vec<String>,
        /// Predicates on what is fitted. The check is offered only while each of them is possible.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub fits: Vec<String>,
        /// Findings of which one must come before the check.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub after: Vec<After>,
        /// Ids of checks that are part of the same work and come first where both are free looks.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub follows: Vec<String>,
        /// The check is not offered while one of these states is likely.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub hold_off: Vec<HoldOff>,
        /// Trust that differs from the machine's, for checks whose table already includes errors of the
        /// person asked.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub trust: Option<Trust>,
        /// The possible results. For a reading these are bands in ascending order.
        pub results: Vec<CheckResult>,
        /// Sources of the figures; "common practice, no source" where there is none.
        pub source: String,
        /// Chance of each result. The first row that applies counts.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub rows: Vec<Row>,
        /// For a check with a reading: its law, instead of `rows`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub reading: Option<ReadingFile>,
        /// Changes that the check makes.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub effects: Vec<Effect>,
    }

    /// A result of a check.
    pub struct CheckResult {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// Whether a sound machine is expected to give this result.
        pub normal: bool,
        /// For bands of a reading: the upper edge in the check's unit; absent for the last band.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub up_to: Option<f64>,
        /// For bands of a reading: what a reading in the band means. The first sentence that applies counts; the
        /// last applies to every machine.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub means: Vec<Meaning>,
    }

    /// What a reading means, on some or all builds of the machine.
    pub struct Meaning {
        /// Predicates on what is fitted, any of which makes the sentence apply; empty on the last sentence.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub when: Vec<String>,
        /// One sentence that follows the number that was read.
        pub text: String,
    }

    /// A row of a check's table.
    pub struct Row {
        /// Predicates, any of which makes the row apply; empty on the last row, "any other".
        pub when: Vec<String>,
        /// Chance of each result, in the order of the results; sums to 1.
        pub p: Vec<f64>,
    }

    /// A state of the machine that makes a step unwise or unsafe.
    pub struct HoldOff {
        /// A predicate on a part or a context.
        pub when: String,
        /// The step is not offered while the probability of the predicate is above this.
        pub over: f64,
        /// The reason, for people.
        pub why: String,
    }

    /// The law of a measured value.
    pub struct ReadingFile {
        /// The quantity measured.
        pub quantity: crate::reading::Quantity,
        /// Unit of everything in this check.
        pub unit: crate::reading::Unit,
        /// Step of the scale: a reading stands for a value within half a step either way.
        pub resolution: f64,
        /// Lowest and highest value the instrument shows.
        pub range: [f64; 2],
        /// Whether the means and spreads are proportional to air pressure.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        pub follows_air: bool,
        /// Dependence of the reading on the temperature of the object measured.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub follows_temperature: Option<TemperatureRule>,
        /// Share of readings that are slips, spread evenly over the range.
        pub slip: f64,
        /// The law by state of the machine. The first row that applies counts.
        pub rows: Vec<LawRow>,
    }

    /// A row of a reading's law.
    pub struct LawRow {
        /// Predicates, any of which makes the row apply; empty on the last row.
        pub when: Vec<String>,
        /// A mixture of normal and log-normal laws, truncated at the range.
        pub law: Vec<LawTerm>,
    }

    /// One term of a mixture: normal with `mean` and `sd`, or log-normal with `median` and `ratio`.
    pub struct LawTerm {
        /// Weight of the term; the weights of a row sum to 1.
        pub weight: f64,
        /// Mean, in the check's unit.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub mean: Option<f64>,
        /// Standard deviation, in the check's unit.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub sd: Option<f64>,
        /// Median, in the check's unit.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub median: Option<f64>,
        /// Factor of one standard deviation of the logarithm above the median; above 1.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub ratio: Option<f64>,
    }

    /// A linear dependence of a reading on temperature: `r = r0 (1 + a (T - T0))`.
    pub struct TemperatureRule {
        /// `T0`, in degrees Celsius; also the temperature if a job states none.
        pub reference_c: f64,
        /// `a`, per kelvin.
        pub per_kelvin: f64,
    }

    /// One start attempt by the proper routine.
    pub struct Attempt {
        /// How it is done.
        pub how: String,
        /// Minutes.
        pub minutes: f64,
        /// Ids of warnings.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub cautions: Vec<String>,
        /// An attempt is not offered while one of these states is likely.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub hold_off: Vec<HoldOff>,
        /// Sources of the figures; "common practice, no source" where there is none.
        pub source: String,
        /// Distribution of the outcomes, by the worst severity that acts.
        pub law: OutcomeLaw,
        /// Changes that an attempt makes, with a bypass or without.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub effects: Vec<Effect>,
    }

    /// Chance of the outcomes `[runs, dies, tries, nothing]` by the worst severity that acts.
    pub struct OutcomeLaw {
        /// If nothing acts.
        pub harmless: [f64; 4],
        /// If the worst severity is `dies`.
        pub dies: [f64; 4],
        /// If the worst severity is `tries`.
        pub tries: [f64; 4],
        /// If the worst severity is `nothing`.
        pub nothing: [f64; 4],
    }

    /// A temporary measure that lifts some conditions for one attempt.
    pub struct Bypass {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// How it is done, and how it is undone.
        pub how: String,
        /// What the bypass tells and how it can mislead; may be empty.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        pub note: String,
        /// Minutes, including the attempt.
        pub minutes: f64,
        /// Hours of waiting in the step (standing, charging, thawing), beside the minutes. A wait of a few minutes at
        /// the machine counts as minutes.
        #[serde(default, skip_serializing_if = "is_zero")]
        pub wait_hours: f64,
        /// What the bypass involves beside turning and spark, and a gate may hold.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub involves: Vec<Involvement>,
        /// Ids of tools, all needed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub tools: Vec<String>,
        /// Ids of set-up work, all needed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub setups: Vec<String>,
        /// Ids of warnings.
        pub cautions: Vec<String>,
        /// Predicates on what is fitted. The bypass is offered only while each of them is possible.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub fits: Vec<String>,
        /// Findings of which one must come before the bypass.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub after: Vec<After>,
        /// The bypass is not offered while one of these states is likely.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub hold_off: Vec<HoldOff>,
        /// Conditions that do not act while the bypass is in place, as `part/condition`.
        pub lifts: Vec<String>,
        /// Sources of the figures; "common practice, no source" where there is none.
        pub source: String,
        /// Distribution of the outcomes while nothing else acts, by the worst severity among the lifted
        /// conditions. Without this law the engine behaves as if those conditions were absent.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub law: Option<OutcomeLaw>,
        /// Conditions that act differently under the bypass: a dose makes a flood worse, and drying the
        /// cylinder cures some floods but not all.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub apart: Vec<Apart>,
        /// Changes that the bypass makes, in addition to those of an attempt.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub effects: Vec<Effect>,
    }

    /// Conditions with a law of their own under a bypass.
    pub struct Apart {
        /// The conditions, as `part/condition`; the bypass lifts none of them.
        pub conditions: Vec<String>,
        /// Distribution of the outcomes, by the worst severity among these conditions. Other acting
        /// conditions can only make the outcome worse.
        pub law: OutcomeLaw,
    }

    /// A measure that makes parts sound.
    pub struct Repair {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// How it is done.
        pub how: String,
        /// Hands-on minutes, without set-up work and attempt.
        pub minutes: f64,
        /// Hours of waiting in the step (standing, charging, thawing), beside the minutes. A wait of a few minutes at
        /// the machine counts as minutes.
        #[serde(default, skip_serializing_if = "is_zero")]
        pub wait_hours: f64,
        /// What the step involves, and a gate may hold.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub involves: Vec<Involvement>,
        /// Price of parts.
        pub parts_cost: PartsCost,
        /// Conditions that the repair cures, as `part/condition`.
        pub cures: Vec<String>,
        /// Chance that the repair takes.
        pub takes: f64,
        /// Ids of tools, all needed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub tools: Vec<String>,
        /// Ids of set-up work, all needed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub setups: Vec<String>,
        /// Ids of warnings.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub cautions: Vec<String>,
        /// Predicates on what is fitted. The repair is offered only while each of them is possible.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub fits: Vec<String>,
        /// The repair is not offered while one of these states is likely.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub hold_off: Vec<HoldOff>,
        /// What the repair leaves behind or requires afterwards; may be empty.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        pub leaves: String,
        /// Changes that the repair makes, in addition to its cures.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub effects: Vec<Effect>,
    }

    /// Price of parts in money, as found in shops.
    pub struct PartsCost {
        /// Cheap.
        pub low: f64,
        /// Usual; the advice uses this one.
        pub typical: f64,
        /// Dear.
        pub high: f64,
    }

    /// Limits and prices used where a job sets none.
    pub struct Defaults {
        /// Price of an hour of work.
        pub rate_per_hour: f64,
        /// Cost of an hour of waiting, in the unit of the rate; 3 where absent. A small sum, so that of two steps that are
        /// otherwise alike the one without a wait comes first (common practice, no source).
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub wait_cost_per_hour: Option<f64>,
        /// Cost of stopping: handing the machine over, or replacing it.
        pub hand_over_cost: f64,
    }
}

/// Initial values for common practice: some forty machines, some fifteen cases per row.
impl Default for EquivalentSampleSize {
    fn default() -> Self {
        EquivalentSampleSize { rates: 40.0, rows: 15.0 }
    }
}

fn first() -> u32 {
    1
}

#[allow(clippy::trivially_copy_pass_by_ref)] // serde wants a reference
fn is_zero(hours: &f64) -> bool {
    *hours == 0.0
}

#[allow(clippy::trivially_copy_pass_by_ref)] // serde wants a reference
fn is_first(time: &u32) -> bool {
    *time == 1
}

/// Whether a [`Context`] is a fact of the build or history.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum ContextKind {
    /// A fact of the build of this machine.
    Fitted,
    /// Something that happened to the machine before.
    History,
}

/// The kind of observation that a check makes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum CheckKind {
    /// A question to the owner.
    Asked,
    /// Looked at, with the eye or by hand.
    LookedAt,
    /// Smelt.
    Smelt,
    /// A tester that shows yes, no or something between.
    Tester,
    /// A gauge that shows a number.
    Gauge,
}

impl SeverityRates {
    /// The four shares, from harmless to the worst severity.
    #[must_use]
    pub fn by_severity(&self) -> [f64; 4] {
        [self.harmless, self.dies, self.tries, self.nothing]
    }

    /// Share of incoming machines that the condition stops.
    #[must_use]
    pub fn acting(&self) -> f64 {
        self.dies + self.tries + self.nothing
    }
}
