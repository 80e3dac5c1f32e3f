//! The authored form of a machine: what stands in `core/machines/*.json`, field for field.
//!
//! Nothing here is checked beyond its shape; [`Machine::new`](super::Machine::new) does that and
//! names the place of every mistake. The version of the schema is [`SCHEMA`].
//!
//! **Predicates.** Wherever a description has to point at a state of affairs it uses a short text:
//!
//! | text | holds when |
//! |---|---|
//! | `part/condition` | the part is in that condition, whatever its severity |
//! | `part/condition/acting` | ... and its severity is not `harmless` |
//! | `part/condition/harmless` | ... and its severity is `harmless` |
//! | `part/sound` | nothing is wrong with the part |
//! | `context=state` | that fact or piece of history is so |
//! | `function=level` | that function stands at that level |
//! | `a & b` | both hold |
//!
//! Whoever does something to a machine changes it: an [`Effect`] of a step says which state becomes
//! which. A machine is written out whole in one file, or put together from blocks that several
//! machines share (see [`super::family`]); both end up in this form.

use serde::{Deserialize, Serialize};

/// The schema that this version reads; the `schema` field of a file must say the same.
pub const SCHEMA: &str = "halfsplit-machine/2";

/// What people write: every unknown field is a mistake.
macro_rules! authored {
    ($($(#[$meta:meta])* pub struct $name:ident { $($(#[$field_meta:meta])* pub $field:ident : $type:ty,)* })*) => {$(
        $(#[$meta])*
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
        #[serde(deny_unknown_fields)]
        #[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        pub struct $name { $($(#[$field_meta])* pub $field: $type,)* }
    )*};
}
#[cfg(feature = "shipped")]
pub(super) use authored;

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
        /// Where the figures come from.
        pub sources: Vec<String>,
        /// How many cases of one's own its figures are worth.
        #[serde(default)]
        #[serde(alias = "worth")]
        pub equivalent_sample_size: EquivalentSampleSize,
        /// How far a finding is believed, by how it is known.
        pub trust: Trust,
        /// Tools that steps may need; a job's kit is a list of their ids.
        pub tools: Vec<Tool>,
        /// Warnings that steps refer to.
        pub cautions: Vec<Caution>,
        /// Work that opens the machine up and is shared by the steps that need it.
        pub setups: Vec<Setup>,
        /// Groups of parts.
        pub subsystems: Vec<Named>,
        /// Seasons, kinds of customer and other populations that a job can name, each of which moves
        /// the rates; without a choice the rates are as they stand.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub settings: Vec<Setting>,
        /// What thin air changes, beside what gauges read.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub thin_air: Option<ThinAir>,
        /// What is fitted, and what happened to the machine before.
        #[serde(alias = "background")]
        pub context: Vec<Context>,
        /// Everything that can be wrong. A part with a condition of another part among its
        /// `raised_by` must come after that part.
        pub parts: Vec<Part>,
        /// What several parts spoil together and several checks look at.
        pub functions: Vec<Function>,
        /// Observations.
        pub checks: Vec<Check>,
        /// One honest try to start.
        pub attempt: Attempt,
        /// Temporary acts for one attempt.
        pub bypasses: Vec<Bypass>,
        /// Repairs: acts that make parts sound.
        pub repairs: Vec<Repair>,
        /// Limits and prices used where a job sets none.
        pub defaults: Defaults,
    }

    /// What figures count for beside counts of one's own: the strength of a Dirichlet law around each.
    pub struct EquivalentSampleSize {
        /// Machines seen, for rates and shares.
        pub rates: f64,
        /// Cases of each state of affairs, for rows of checks and laws of attempts.
        pub rows: f64,
    }

    /// Belief in a finding by how it is known: the share of the check's own table in the mixture
    /// with an uninformative one. In [0, 1].
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
        /// Minutes to open and later to close again.
        pub minutes: f64,
        /// Ids of warnings.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub cautions: Vec<String>,
        /// What opening it changes, after the step that it was opened for.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub effects: Vec<Effect>,
    }

    /// What a step changes: a part that is in a state of `when` afterwards is in another one.
    pub struct Effect {
        /// A predicate on a part.
        pub when: String,
        /// What the part becomes: `sound`, `condition/acting` or `condition/harmless`.
        pub becomes: String,
        /// Chance of the change.
        pub chance: f64,
        /// Ids of results or outcomes after which it happens; empty for any.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub only_after: Vec<String>,
        /// From which time on that the step is made it happens; attempts with and without a bypass count
        /// together.
        #[serde(default = "first", skip_serializing_if = "is_first")]
        pub from_time: u32,
    }

    /// A question about where the machine comes from that a job may answer.
    pub struct Setting {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// What can be answered. None of them is chosen by itself.
        pub choices: Vec<Choice>,
    }

    /// A population of machines.
    pub struct Choice {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// How it differs from all incoming machines.
        pub moves: Vec<Move>,
    }

    /// How machines differ that work high up.
    pub struct ThinAir {
        /// From this height on, in metres.
        pub from_m: f64,
        /// What is more or less frequent there.
        pub moves: Vec<Move>,
    }

    /// An odds factor on a rate or a share.
    pub struct Move {
        /// `part/condition` or `context=state`.
        pub of: String,
        /// Its odds are multiplied by this.
        pub factor: f64,
    }

    /// An id with a name.
    pub struct Named {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
    }

    /// Something fitted or some piece of history: a root of the network.
    pub struct Context {
        /// Short name; functions and contexts share one set of names.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// Fact of the build, or history.
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

    /// A component and what can be wrong with it; in at most one condition at a time.
    pub struct Part {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// Id of its subsystem.
        pub subsystem: String,
        /// What can be wrong.
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
        /// Share of incoming machines with this condition, by how it acts on a start attempt.
        pub rate: SeverityRates,
        /// What multiplies the odds of the condition. Rates are averages over all of these.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub raised_by: Vec<Raise>,
        /// What keeps it from coming, or from coming back next season; may be empty.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        pub prevent: String,
    }

    /// Shares of incoming machines, by severity.
    pub struct SeverityRates {
        /// Present, and the engine starts in spite of it.
        pub harmless: f64,
        /// It fires up and stops again.
        pub dies: f64,
        /// It coughs or pops.
        pub tries: f64,
        /// Not one cough.
        pub nothing: f64,
    }

    /// An odds factor.
    pub struct Raise {
        /// A predicate on a context, or on a condition of an earlier part.
        pub when: String,
        /// Odds are multiplied by this; 0 where the condition cannot be.
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
        /// Where the figures come from; "common practice, no source" where nothing else can be said.
        pub source: String,
        /// What spoils it. A condition not named leaves it at the best level.
        pub spoiled_by: Vec<Spoil>,
    }

    /// How conditions spoil a function.
    pub struct Spoil {
        /// Predicates on parts; the row holds for each.
        pub when: Vec<String>,
        /// Chance of each level if this alone is wrong; sums to 1.
        pub levels: Vec<f64>,
    }

    /// An observation.
    pub struct Check {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// What sort of observation.
        pub kind: CheckKind,
        /// How it is done.
        pub how: String,
        /// What it tells and how it misleads; may be empty.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        pub note: String,
        /// Hands-on minutes, without set-up.
        pub minutes: f64,
        /// Ids of tools, all needed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub tools: Vec<String>,
        /// Ids of set-up work, all needed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub setups: Vec<String>,
        /// Ids of warnings.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub cautions: Vec<String>,
        /// Predicates on what is fitted; offered only while each is possible.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub fits: Vec<String>,
        /// Offered only after one of these findings.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub after: Vec<After>,
        /// Not offered while these are likely.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub hold_off: Vec<HoldOff>,
        /// Trust that differs from the machine's, for checks whose table is already somebody's word.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub trust: Option<Trust>,
        /// What can come out. For a reading these are bands, ascending.
        pub results: Vec<CheckResult>,
        /// Where the figures come from; "common practice, no source" where nothing else can be said.
        pub source: String,
        /// Chance of each result; the first row that holds counts.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub rows: Vec<Row>,
        /// For checks that give a number: its law instead of `rows`.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub reading: Option<ReadingFile>,
        /// What making the check changes.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub effects: Vec<Effect>,
    }

    /// A result of a check.
    pub struct CheckResult {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// Whether a sound machine is expected to give it.
        pub normal: bool,
        /// For bands of a reading: the upper edge in the check's unit; none on the last.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub up_to: Option<f64>,
    }

    /// A row of a check's table.
    pub struct Row {
        /// Predicates, any of which makes the row hold; empty on the last row, "any other".
        pub when: Vec<String>,
        /// Chance of each result, in their order; sums to 1.
        pub p: Vec<f64>,
    }

    /// A finding that must have come before.
    pub struct After {
        /// Id of a check.
        pub check: String,
        /// Ids of results; empty means any.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub results: Vec<String>,
    }

    /// A state of affairs that makes a step unwise or unsafe.
    pub struct HoldOff {
        /// A predicate on a part or a context.
        pub when: String,
        /// Not offered while the predicate's probability is above this.
        pub over: f64,
        /// What to say.
        pub why: String,
    }

    /// The law of a measured value.
    pub struct ReadingFile {
        /// What is measured.
        pub quantity: crate::reading::Quantity,
        /// Unit of everything in this check.
        pub unit: crate::reading::Unit,
        /// Step of the scale: a reading stands for a value within half a step either way.
        pub resolution: f64,
        /// Lowest and highest value the instrument shows.
        pub range: [f64; 2],
        /// Whether the means and spreads follow the pressure of the air.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        pub follows_air: bool,
        /// How the reading follows the temperature of what is measured.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub follows_temperature: Option<TemperatureRule>,
        /// Share of readings that are slips, spread evenly over the range.
        pub slip: f64,
        /// The law by state of affairs; the first row that holds counts.
        pub rows: Vec<LawRow>,
    }

    /// A row of a reading's law.
    pub struct LawRow {
        /// Predicates, any of which makes the row hold; empty on the last row.
        pub when: Vec<String>,
        /// A mixture of normal and log-normal laws, cut off at the range.
        pub law: Vec<LawTerm>,
    }

    /// One term of a mixture: normal with `mean` and `sd`, or log-normal with `median` and `ratio`.
    pub struct LawTerm {
        /// Share; the shares of a row sum to 1.
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
        /// Factor from the median to one standard deviation of the logarithm above it; over 1.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub ratio: Option<f64>,
    }

    /// A reading that grows in proportion with temperature: `r = r0 (1 + a (T - T0))`.
    pub struct TemperatureRule {
        /// `T0`, in degrees Celsius; also taken where a job gives no temperature.
        pub reference_c: f64,
        /// `a`, per kelvin.
        pub per_kelvin: f64,
    }

    /// One honest try to start.
    pub struct Attempt {
        /// How it is done.
        pub how: String,
        /// Minutes.
        pub minutes: f64,
        /// Ids of warnings.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub cautions: Vec<String>,
        /// Not offered while these are likely.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub hold_off: Vec<HoldOff>,
        /// Where the figures come from; "common practice, no source" where nothing else can be said.
        pub source: String,
        /// Outcomes by the worst severity that acts.
        pub law: OutcomeLaw,
        /// What trying changes, with a bypass or without.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub effects: Vec<Effect>,
    }

    /// Chance of the outcomes `[runs, dies, tries, nothing]` by the worst severity that acts.
    pub struct OutcomeLaw {
        /// Nothing acts.
        pub harmless: [f64; 4],
        /// The worst is `dies`.
        pub dies: [f64; 4],
        /// The worst is `tries`.
        pub tries: [f64; 4],
        /// The worst is `nothing`.
        pub nothing: [f64; 4],
    }

    /// A temporary act that lifts some conditions for one attempt.
    pub struct Bypass {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// How it is done, and how it is undone.
        pub how: String,
        /// What it tells and how it misleads; may be empty.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        pub note: String,
        /// Minutes, the attempt included.
        pub minutes: f64,
        /// Ids of tools, all needed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub tools: Vec<String>,
        /// Ids of set-up work, all needed.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub setups: Vec<String>,
        /// Ids of warnings.
        pub cautions: Vec<String>,
        /// Predicates on what is fitted; offered only while each is possible.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub fits: Vec<String>,
        /// Offered only after one of these findings.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub after: Vec<After>,
        /// Not offered while these are likely.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub hold_off: Vec<HoldOff>,
        /// Conditions that do not act while the bypass is in place, as `part/condition`.
        pub lifts: Vec<String>,
        /// Where the figures come from; "common practice, no source" where nothing else can be said.
        pub source: String,
        /// Outcomes while nothing else acts, by the worst severity among the lifted conditions;
        /// without it the engine behaves as if those conditions were not there.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pub law: Option<OutcomeLaw>,
        /// Conditions that act in another way while it is in place: a dose makes a flood worse, drying
        /// the cylinder cures some floods and not all.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub apart: Vec<Apart>,
        /// What it changes beside what trying changes.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub effects: Vec<Effect>,
    }

    /// Conditions with a law of their own under a bypass.
    pub struct Apart {
        /// The conditions, as `part/condition`; none of them among what the bypass lifts.
        pub conditions: Vec<String>,
        /// Outcomes by the worst severity among them. What else acts makes it worse.
        pub law: OutcomeLaw,
    }

    /// An act that makes parts sound.
    pub struct Repair {
        /// Short name.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// How it is done.
        pub how: String,
        /// Hands-on minutes, without set-up and attempt.
        pub minutes: f64,
        /// Price of parts.
        pub parts_cost: PartsCost,
        /// Conditions it makes good, as `part/condition`.
        pub cures: Vec<String>,
        /// Chance that it takes.
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
        /// Predicates on what is fitted; offered only while each is possible.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub fits: Vec<String>,
        /// Not offered while these are likely.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        pub hold_off: Vec<HoldOff>,
        /// What it leaves behind or asks for afterwards; may be empty.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        pub leaves: String,
        /// What it changes beside what it cures.
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
        /// What it costs to stop here: hand the machine over, or replace it.
        pub hand_over_cost: f64,
    }
}

/// Opening values of common practice: some forty machines, some fifteen cases each.
impl Default for EquivalentSampleSize {
    fn default() -> Self {
        EquivalentSampleSize { rates: 40.0, rows: 15.0 }
    }
}

fn first() -> u32 {
    1
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
    /// What is built into this machine.
    Fitted,
    /// What happened to it before.
    History,
}

/// What sort of observation a check is.
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
    /// The four, from harmless to worst.
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
