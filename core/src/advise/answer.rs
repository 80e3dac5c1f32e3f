//! What the engine says about a job: odds, advice and what was merely there.

use serde::Serialize;

macro_rules! answers {
    ($($(#[$meta:meta])* pub struct $name:ident { $($(#[$field_meta:meta])* pub $field:ident : $type:ty,)* })*) => {$(
        $(#[$meta])*
        #[derive(Debug, Clone, PartialEq, Serialize)]
        #[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
        pub struct $name { $($(#[$field_meta])* pub $field: $type,)* }
    )*};
}

answers! {
    /// Everything said about a job as it stands. Money is in the unit of the job's rate.
    pub struct Assessment {
        /// Id of the machine.
        pub machine: String,
        /// How the job stands.
        pub status: JobStatus,
        /// Every condition: likeliest cause first while the engine does not run, likeliest reason
        /// of the trouble first once it does.
        pub causes: Vec<CauseOdds>,
        /// Chance that nothing stops the engine now.
        pub p_no_cause: f64,
        /// The advice; none once the engine runs.
        pub next: Option<StepAdvice>,
        /// Everything that can be done now, best first; begins with `next`.
        pub ranking: Vec<StepAdvice>,
        /// What cannot or should not be done now, and why.
        pub not_now: Vec<NotNow>,
        /// Findings that were not normal, in order, and what they came to.
        pub abnormal: Vec<Abnormal>,
        /// Expected cost until it runs or is handed over, with the advice.
        pub expected_cost: f64,
        /// What it would cost on average if the causes were known: no advice, however good, can be expected to
        /// cost less, as far as the sets of causes looked at stand for all.
        pub perfect_information_cost: f64,
        /// The same as `expected_cost` with repairs by the odds alone, and nothing looked at any more.
        pub plan_cost: f64,
        /// What it may still take, following the advice; none once the engine runs.
        pub estimate: Option<Estimate>,
        /// What the odds and the prices come to, where they come to something.
        pub conclusions: Vec<Conclusion>,
        /// What the job took so far.
        pub spent: Spent,
        /// Places of the steps, from 0, that are left out of the odds, so that the job can be reckoned.
        pub left_out: Vec<usize>,
        /// Natural logarithm of the probability of everything found; readings count relative to the
        /// state of affairs that makes them likeliest.
        pub log_p_evidence: f64,
        /// How far the advice has been looked at: more makes it better.
        pub lookahead: LookaheadProgress,
        /// Share of the posterior with causes together that the advice did not look at one by one; sets
        /// drawn from it stand for it.
        pub unenumerated_mass: f64,
    }

    /// How many of the steps that lead have been looked at further ahead, and how often that is worth doing.
    pub struct LookaheadProgress {
        /// Looks taken.
        pub done: usize,
        /// Looks to take in all; fewer than it says where no margin turns out to be thin.
        pub of: usize,
        /// Rounds of looks that are over: with each the answer is another.
        pub rounds: usize,
    }

    /// The odds of one condition.
    pub struct CauseOdds {
        /// Id of the part.
        pub part: String,
        /// Id of the condition.
        pub condition: String,
        /// Name for people.
        pub name: String,
        /// Id of the subsystem.
        pub subsystem: String,
        /// Whether it stands for what is not listed.
        pub left_over: bool,
        /// Chance that it is there now and stops the engine.
        pub p_cause: f64,
        /// Chance that it is there now, stopping the engine or not.
        pub p_present: f64,
        /// Chance that it was there when the job began and stopped the engine.
        pub p_was_cause: f64,
        /// Chance that it was there when the job began, stopping the engine or not.
        pub p_was_present: f64,
        /// `p_cause` before the last step; the same as `p_cause` without steps.
        pub p_cause_before: f64,
        /// Whether a repair of it has been done.
        pub repaired: bool,
    }

    /// A step that can be done now.
    pub struct StepAdvice {
        /// What sort of step.
        pub kind: StepKind,
        /// Id of the check, bypass or repair; `attempt` for a plain try, `hand-over` and `not-worth-it` for stopping.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// Minutes, with the set-up that is not open yet.
        pub minutes: f64,
        /// Price of parts, typical.
        pub parts_cost: f64,
        /// Price of the step: minutes at the rate, and parts, as far as they are to be spared.
        pub cost: f64,
        /// Expected cost until it runs or is handed over, if this comes first.
        pub expected_cost: f64,
        /// Mutual information between the result and which causes act, in bits; 0 for repairs, whose
        /// results are only whether it runs.
        pub information_bits: f64,
        /// What may come out, and what then.
        pub results: Vec<ResultOutlook>,
        /// The result that tells most, by its place; none where no cause would lead after any.
        pub most_informative: Option<usize>,
        /// For repairs: whether a try to start comes right after it. Otherwise it is cheaper to go on
        /// first, while the machine is open or because more than one thing is likely to be wrong.
        pub then_try: bool,
        /// One sentence: why this step.
        pub why: String,
    }

    /// What a result would lead to.
    pub struct ResultOutlook {
        /// Id of the result or outcome.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// Chance of it.
        pub p: f64,
        /// Expected cost after it, until it runs or is handed over.
        pub expected_cost: f64,
        /// The likeliest cause then; none where the engine runs.
        pub leader: Option<Leader>,
    }

    /// The likeliest cause in some state of affairs.
    pub struct Leader {
        /// Id of the part.
        pub part: String,
        /// Id of the condition.
        pub condition: String,
        /// Name for people.
        pub name: String,
        /// Its chance of stopping the engine.
        pub p_cause: f64,
    }

    /// A step that is not offered.
    pub struct NotNow {
        /// What sort of step.
        pub kind: StepKind,
        /// Its id.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// What stands in the way.
        pub obstacle: Obstacle,
        /// The missing tool, the findings that must come first, or the state of affairs; or empty.
        pub detail: String,
        /// Why it is not offered, in a sentence.
        pub why: String,
    }

    /// A finding that was not normal.
    pub struct Abnormal {
        /// Place of the step in the job, from 0.
        pub step: usize,
        /// Id of the check.
        pub check: String,
        /// Name of the check and of its result, for people.
        pub finding: String,
        /// The conditions it speaks for most, likeliest first.
        pub speaks_for: Vec<Verdict>,
    }

    /// What an abnormal finding came to.
    pub struct Verdict {
        /// Id of the part.
        pub part: String,
        /// Id of the condition.
        pub condition: String,
        /// Name for people.
        pub name: String,
        /// Whether it is (or was) there, and whether it is (or was) the reason.
        pub kind: VerdictKind,
        /// Chance that it was there when the finding was made.
        pub p_present: f64,
        /// Chance that it then stopped the engine.
        pub p_cause: f64,
    }

    /// What the job took so far.
    pub struct Spent {
        /// Minutes, by the descriptions of the steps.
        pub minutes: f64,
        /// Price of parts, typical.
        pub parts_cost: f64,
        /// Both, at the rate.
        pub cost: f64,
    }

    /// What it may still take until it runs or is handed over: the advice, then whatever the plan
    /// behind its expected cost does.
    pub struct Estimate {
        /// Chance that it runs in the end and is not handed over.
        pub p_runs: f64,
        /// Minutes at the machine; handing over takes none.
        pub minutes: Spread,
        /// Minutes at the rate, parts, and handing over where it comes to that. The mean is the
        /// expected cost of the advice.
        pub cost: Spread,
    }

    /// How a number may turn out.
    pub struct Spread {
        /// What it is on average.
        pub mean: f64,
        /// At most this with a chance of one half.
        pub median: f64,
        /// At most this with a chance of nine in ten.
        pub p90: f64,
    }

    /// Something that comes out of the odds and the prices together.
    pub struct Conclusion {
        /// What.
        pub kind: ConclusionKind,
        /// Id of the repair that is advised; none where stopping is.
        pub repair: Option<String>,
        /// The causes that it is about, likeliest first.
        pub causes: Vec<Leader>,
        /// What the advice saves on average against the best step of the other sort.
        pub saves: Option<f64>,
    }
}

macro_rules! words {
    ($($(#[$meta:meta])* pub enum $name:ident { $($(#[$variant_meta:meta])* $variant:ident,)* })*) => {$(
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
        #[serde(rename_all = "kebab-case")]
        #[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
        pub enum $name { $($(#[$variant_meta])* $variant,)* }
    )*};
}

words! {
    /// How a job stands.
    pub enum JobStatus {
        /// The engine does not run yet.
        Open,
        /// The last plain attempt ended with the engine running.
        Running,
    }

    /// What sort of step.
    pub enum StepKind {
        /// An observation.
        Check,
        /// A plain try to start.
        Attempt,
        /// A try to start with a bypass.
        Bypass,
        /// A repair.
        Repair,
        /// Stop here: hand over, or give up what is not worth repairing.
        HandOver,
    }

    /// What stands in the way of a step.
    pub enum Obstacle {
        /// A tool is not at hand.
        Tool,
        /// What it is about is not fitted.
        NotFitted,
        /// It shows a difference to a plain try to start, and there was none.
        TryFirst,
        /// Other findings must come first.
        ComesAfter,
        /// It would be unwise or unsafe as things are.
        HeldOff,
    }

    /// What a conclusion says.
    pub enum ConclusionKind {
        /// Enough is known: a repair is advised, and nothing that could be looked at or tried first is
        /// worth what it costs.
        EnoughIsKnown,
        /// Several causes are left, and the repair that is advised cures all of them.
        OneRepairCures,
        /// Going on costs more than stopping.
        BetterStop,
    }

    /// What an abnormal finding came to.
    pub enum VerdictKind {
        /// There, and the reason.
        TheReason,
        /// There, but not the reason.
        ThereNotTheReason,
        /// There; whether it is the reason is open.
        ThereUndecided,
        /// Not there after all, most likely.
        NotThere,
    }
}
