//! The answer about a job: odds, advice, and findings that are not the reason.

use serde::Serialize;

use crate::job::ReadingRecord;

macro_rules! answers {
    ($($(#[$meta:meta])* pub struct $name:ident { $($(#[$field_meta:meta])* pub $field:ident : $type:ty,)* })*) => {$(
        $(#[$meta])*
        #[derive(Debug, Clone, PartialEq, Serialize)]
        #[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
        pub struct $name { $($(#[$field_meta])* pub $field: $type,)* }
    )*};
}

answers! {
    /// The answer about a job in its present state. Money is in the unit of the job's rate.
    pub struct Assessment {
        /// Id of the machine.
        pub machine: String,
        /// Whether the engine runs.
        pub status: JobStatus,
        /// Every condition. The most likely cause comes first; once the engine runs, the most likely reason why it
        /// did not.
        pub causes: Vec<CauseOdds>,
        /// Chance that nothing stops the engine.
        pub p_no_cause: f64,
        /// The advice; none once the engine runs.
        pub next: Option<StepAdvice>,
        /// Everything that is worth doing now, best first; begins with `next`.
        pub ranking: Vec<StepAdvice>,
        /// Steps that can be done and are not worth doing now: repairs and attempts that save less than they cost,
        /// and observations that tell next to nothing.
        pub set_aside: Vec<StepAdvice>,
        /// Steps that cannot or should not be done now.
        pub not_now: Vec<NotNow>,
        /// Findings that were not normal, in order, each with its verdicts.
        pub abnormal: Vec<Abnormal>,
        /// The latest reading of every gauge, and what it means.
        pub readings: Vec<ReadingMeaning>,
        /// Expected cost until the engine runs or is handed over, if the advice is followed.
        pub expected_cost: f64,
        /// Expected cost with perfect information: for somebody who knows the causes. It is a lower bound for
        /// every policy, as far as the evaluated sets of causes represent all sets.
        pub perfect_information_cost: f64,
        /// Expected cost of repairing by the odds alone, without further observations.
        pub plan_cost: f64,
        /// Remaining time and cost if the advice is followed; none once the engine runs.
        pub estimate: Option<Estimate>,
        /// Conclusions from the odds and the costs together.
        pub conclusions: Vec<Conclusion>,
        /// Time and money spent on the job so far.
        pub spent: Spent,
        /// Places of the steps, from 0, whose outcomes are left out because the job is too large with them.
        pub left_out: Vec<usize>,
        /// Places of the steps, from 0, whose findings are recorded but do not count, because an earlier finding of the
        /// same check on the unchanged machine is known better.
        pub outweighed: Vec<usize>,
        /// Natural logarithm of the probability of all findings. A reading counts relative to the state that makes it
        /// most likely.
        pub log_p_evidence: f64,
        /// Progress of the lookahead. Each round improves the advice.
        pub lookahead: LookaheadProgress,
        /// Probability of all sets of causes that are not evaluated one by one. Sets drawn at random
        /// represent them.
        pub unenumerated_mass: f64,
    }

    /// Progress of the lookahead.
    pub struct LookaheadProgress {
        /// Candidates refined so far, counted again in every round.
        pub done: usize,
        /// Candidates to refine in all rounds, at most.
        pub of: usize,
        /// Completed rounds. The assessment changes with each.
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
        /// Whether it stands for causes that are not listed.
        pub left_over: bool,
        /// Chance that it is there now and stops the engine.
        pub p_cause: f64,
        /// Chance that it is there now, whether or not it stops the engine.
        pub p_present: f64,
        /// Chance that it was there when the job began and stopped the engine.
        pub p_was_cause: f64,
        /// Chance that it was there when the job began, whether or not it stopped the engine.
        pub p_was_present: f64,
        /// `p_cause` before the last step; equal to `p_cause` in a job without steps.
        pub p_cause_before: f64,
        /// Whether its part has been repaired.
        pub repaired: bool,
    }

    /// A step that can be done now.
    pub struct StepAdvice {
        /// The kind of step.
        pub kind: StepKind,
        /// Id of the check, bypass or repair; `attempt` for a plain attempt, `hand-over` and `not-worth-it`
        /// for stopping.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// Minutes, with the set-up work that is not open yet.
        pub minutes: f64,
        /// Hours of waiting in the step, during which nobody works on the machine.
        pub wait_hours: f64,
        /// Price of parts, typical.
        pub parts_cost: f64,
        /// Cost of the step: minutes at the rate, hours of waiting at their cost, and parts, weighted by the costs that
        /// the job minimises.
        pub cost: f64,
        /// Expected cost until the engine runs or is handed over, if this step comes first.
        pub expected_cost: f64,
        /// Mutual information between the result and the set of causes that acts, in bits. All sets of causes that are not
        /// evaluated one by one count as one, so it is exact, and a lower bound of the information about all sets. None for
        /// repairs, and for observations beyond the first places of the ranking.
        pub information_bits: Option<f64>,
        /// The possible results, with exact chances, each with what comes after it. Empty for observations beyond the first
        /// places of the ranking, whose exact chances are not computed.
        pub results: Vec<ResultOutlook>,
        /// For repairs: whether a start attempt comes right after it. Otherwise it is cheaper to take other
        /// steps first, because the machine is open or because more than one thing is likely to be wrong.
        pub then_try: bool,
        /// Why this step.
        pub reason: Reason,
    }

    /// A possible result of a step.
    pub struct ResultOutlook {
        /// Id of the result or outcome.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// Chance of it, exact. A repair counts as running where nothing stops the engine after it.
        pub p: f64,
        /// Expected cost after it, until the engine runs or is handed over.
        pub expected_cost: f64,
        /// The most likely cause after it and after the changes that the step makes; none where the engine runs.
        pub leader: Option<Leader>,
    }

    /// The most likely cause in some state of belief.
    pub struct Leader {
        /// Id of the part.
        pub part: String,
        /// Id of the condition.
        pub condition: String,
        /// Name for people.
        pub name: String,
        /// Chance that it is there and stops the engine.
        pub p_cause: f64,
    }

    /// A step that is not offered.
    pub struct NotNow {
        /// The kind of step.
        pub kind: StepKind,
        /// Its id.
        pub id: String,
        /// Name for people.
        pub name: String,
        /// The obstacle.
        pub obstacle: Obstacle,
    }

    /// A finding that was not normal.
    pub struct Abnormal {
        /// Place of the step in the job, from 0.
        pub step: usize,
        /// Id of the check.
        pub check: String,
        /// Name of the check and of its result, for people.
        pub finding: String,
        /// The conditions that it speaks for most, the most likely first.
        pub speaks_for: Vec<Verdict>,
    }

    /// A reading and what it means on this machine, as far as it is known what is fitted.
    pub struct ReadingMeaning {
        /// Place of the step in the job, from 0.
        pub step: usize,
        /// Id of the check.
        pub check: String,
        /// Name of the check, for people.
        pub name: String,
        /// The reading as it was recorded; none if only its band was.
        pub reading: Option<ReadingRecord>,
        /// Name of the band that holds the reading, for people.
        pub band: String,
        /// What it means: a sentence that follows the number.
        pub text: String,
    }

    /// The verdict on a condition that an abnormal finding speaks for.
    pub struct Verdict {
        /// Id of the part.
        pub part: String,
        /// Id of the condition.
        pub condition: String,
        /// Name for people.
        pub name: String,
        /// Whether the condition is or was there, and whether it is or was the reason.
        pub kind: VerdictKind,
        /// Chance that it was there when the finding was made.
        pub p_present: f64,
        /// Chance that it was there then and stopped the engine.
        pub p_cause: f64,
    }

    /// Time and money spent on a job so far. What was told and not done costs nothing.
    pub struct Spent {
        /// Minutes, by the descriptions of the steps.
        pub minutes: f64,
        /// Hours of waiting, by the descriptions of the steps.
        pub wait_hours: f64,
        /// Price of parts, typical.
        pub parts_cost: f64,
        /// Minutes at the rate, hours of waiting at their cost, and parts.
        pub cost: f64,
    }

    /// Remaining time and cost until the engine runs or is handed over, if the advice and then the plan behind its
    /// expected cost are followed.
    pub struct Estimate {
        /// Chance that the engine runs in the end and is not handed over.
        pub p_runs: f64,
        /// Minutes at the machine; handing over takes none.
        pub minutes: Spread,
        /// Hours of waiting.
        pub wait_hours: Spread,
        /// Minutes at the rate, hours of waiting at their cost, parts, and the cost of handing over if the job ends so. The mean is the
        /// expected cost of the advice.
        pub cost: Spread,
    }

    /// Mean and percentiles of a number.
    pub struct Spread {
        /// Mean.
        pub mean: f64,
        /// Median.
        pub median: f64,
        /// 90th percentile.
        pub p90: f64,
    }
}

impl Assessment {
    /// Every step that can be done now: the ranking, and then what is set aside.
    pub fn possible(&self) -> impl Iterator<Item = &StepAdvice> {
        self.ranking.iter().chain(&self.set_aside)
    }
}

/// The reason for a step, with its figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub enum Reason {
    /// A check, or a start attempt with a bypass, with the value of its result.
    Observation {
        /// Expected saving against repairing by the odds alone, in the unit of the job's rate. It may be negative.
        saves: f64,
        /// The most informative result; none if no cause leads after any result.
        most_informative: Option<InformativeResult>,
    },
    /// A plain start attempt.
    Attempt {
        /// Chance that the engine runs.
        p_runs: f64,
    },
    /// A repair.
    Repair {
        /// Chance that the engine runs after the repair.
        p_runs: f64,
        /// The most likely cause if the engine still does not run after it.
        then: Option<Leader>,
        /// Whether the next step is better done before the next start attempt, because the machine is open or
        /// because more than one thing is likely to be wrong.
        keep_going: bool,
    },
    /// Handing over or giving up: continuing is expected to cost at least as much.
    Stop,
}

/// A possible result, with the cause that leads after it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct InformativeResult {
    /// Id of the result or outcome.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Chance of the result.
    pub p: f64,
    /// The most likely cause after it.
    pub leader: Leader,
}

/// An obstacle to a step.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub enum Obstacle {
    /// A tool is not at hand.
    Tool {
        /// Id of the tool.
        id: String,
        /// Name for people.
        name: String,
    },
    /// The part that the step is about is not fitted.
    NotFitted,
    /// The step shows a difference from a plain start attempt, and none has been made.
    TryFirst,
    /// One of some findings must come first.
    ComesAfter {
        /// The findings.
        any_of: Vec<RequiredFinding>,
    },
    /// The step waits until another step is done.
    Waits {
        /// The reason, from the machine description.
        why: String,
        /// The steps of which one must be done first, the best in front.
        until: Vec<RequiredStep>,
    },
    /// The step would be unwise or unsafe as things are.
    HeldOff {
        /// The reason, from the machine description.
        why: String,
    },
}

/// A step that must be done first.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct RequiredStep {
    /// The kind of step.
    pub kind: StepKind,
    /// Id of the check or repair.
    pub id: String,
    /// Name for people.
    pub name: String,
}

/// A check that must be made first, and its results that count.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct RequiredFinding {
    /// Id of the check.
    pub check: String,
    /// Name of the check, for people.
    pub name: String,
    /// Names of the results, for people; empty where any result will do.
    pub results: Vec<String>,
}

/// A conclusion from the odds and the costs together.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub enum Conclusion {
    /// A repair is advised, and no observation before it saves more than it costs.
    EnoughIsKnown {
        /// Id of the repair.
        repair: String,
        /// Expected saving against the best observation; none where nothing can be observed.
        saves: Option<f64>,
    },
    /// Several causes are left, and the repair that is advised cures all of them.
    OneRepairCures {
        /// Id of the repair.
        repair: String,
        /// The causes, most likely first.
        causes: Vec<Leader>,
        /// Expected saving against stopping.
        saves: Option<f64>,
    },
    /// Continuing costs more than stopping.
    BetterStop {
        /// Expected saving against the best step; none where nothing can be done.
        saves: Option<f64>,
    },
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
    /// Whether the engine runs.
    pub enum JobStatus {
        /// The engine does not run yet.
        Open,
        /// The last plain attempt ended with the engine running.
        Running,
    }

    /// The kind of step.
    pub enum StepKind {
        /// An observation.
        Check,
        /// A plain start attempt.
        Attempt,
        /// A start attempt with a bypass.
        Bypass,
        /// A repair.
        Repair,
        /// Stopping: handing over, or giving up what is not worth repairing.
        HandOver,
    }

    /// Whether a condition is there, and whether it is the reason.
    pub enum VerdictKind {
        /// There, and the reason.
        TheReason,
        /// There, but not the reason.
        ThereNotTheReason,
        /// There, and undecided whether it is the reason.
        ThereUndecided,
        /// Most likely not there.
        NotThere,
    }
}
