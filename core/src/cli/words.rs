//! Sentences of the terminal: what the engine answers as data, in English.

use halfsplit::advise::{Conclusion, Estimate, Reason, RequiredStep, Spent, Spread, VerdictKind};
use halfsplit::explain::{ParameterKind, ParameterName, SummaryItem};
use halfsplit::job::ReadingRecord;
use halfsplit_bayes::support::order::rounded;

/// A smaller saving is said without its amount.
const WORTH_A_NUMBER: f64 = 0.5;

/// What overrides every instruction.
pub(crate) const DEFERRAL: &str = "The maker's manual, local rules and licensed practice come first.";

/// A shorter wait is not said, in hours.
const SHORT_WAIT: f64 = 0.05;

/// The reason for a step.
pub(crate) fn reason(reason: &Reason) -> String {
    match reason {
        Reason::Observation { saves, most_informative } => {
            let saves = rounded(*saves);
            let worth = if saves > WORTH_A_NUMBER {
                format!("Saves about {saves:.0} on average against repairing by the odds alone")
            } else {
                "Saves little on average".to_owned()
            };
            let Some(result) = most_informative else { return format!("{worth}.") };
            let (p, leader) = (chance(result.p), &result.leader);
            let then = chance(leader.p_cause);
            format!(
                "{worth}. If it shows \"{}\" (chance {p}), {} leads with {then}.",
                result.name, leader.name
            )
        }
        Reason::Attempt { p_runs } => {
            format!(
                "It runs now with a chance of {}; and what it does says more than any tester.",
                chance(*p_runs)
            )
        }
        Reason::Repair { p_runs, then, keep_going } => {
            let then = then.as_ref().map_or(String::new(), |leader| {
                format!(" If it still does not, {} leads with {}.", leader.name, chance(leader.p_cause))
            });
            let keep_going = match keep_going {
                true => " Go on from there before the next try: more than one thing is likely to be wrong.",
                false => "",
            };
            format!("It runs afterwards with a chance of {}.{then}{keep_going}", chance(*p_runs))
        }
        Reason::Stop => "Going on is expected to cost at least as much as stopping.".to_owned(),
    }
}

/// Why steps must wait, the steps that end the wait, and the names of those that wait.
pub(crate) fn waits(why: &str, until: &[RequiredStep], waiting: &[&str]) -> [String; 3] {
    let first: Vec<String> = until.iter().map(|step| format!("{} [{}]", step.name, step.id)).collect();
    [
        format!("Must wait: {why}"),
        format!("  Do first: {}", first.join("; or: ")),
        format!("  Until then these wait: {}", waiting.join("; ")),
    ]
}

/// A conclusion from odds and costs.
pub(crate) fn conclusion(conclusion: &Conclusion) -> String {
    match conclusion {
        Conclusion::EnoughIsKnown { .. } => {
            "Enough is known: nothing that could be looked at or tried first is worth what it costs."
                .to_owned()
        }
        Conclusion::OneRepairCures { causes, .. } => {
            let names: Vec<&str> = causes.iter().map(|c| c.name.as_str()).collect();
            format!("{} causes are left, and this cures all of them: {}.", names.len(), names.join("; "))
        }
        Conclusion::BetterStop { .. } => "Going on is expected to cost more than stopping here.".to_owned(),
    }
}

/// The expected remaining time and cost, in two sentences.
pub(crate) fn estimate(estimate: &Estimate, perfect_information_cost: f64) -> String {
    let Estimate { p_runs, minutes, wait_hours, cost } = estimate;
    let within = |spread: &Spread, unit: &str| {
        format!(
            "{unit}, half the time within {:.0}, nine times in ten within {:.0}",
            spread.median, spread.p90
        )
    };
    let waits = if wait_hours.mean < SHORT_WAIT && wait_hours.p90 < SHORT_WAIT {
        String::new()
    } else {
        let (mean, p90) = (rounded(wait_hours.mean), rounded(wait_hours.p90));
        format!("; {mean:.1} h of waiting, nine times in ten within {p90:.1}")
    };
    format!(
        "Still to come, by the plan: about {:.0} {}{waits}; it then runs with a chance of at least about {}.\nIn money at \
         most about {:.0} {}, handing over included; {perfect_information_cost:.0} if the causes were known.",
        minutes.mean,
        within(minutes, "min"),
        percent(*p_runs).trim(),
        cost.mean,
        within(cost, "on average"),
    )
}

/// What the job took so far.
pub(crate) fn spent(spent: &Spent) -> String {
    let Spent { minutes, wait_hours, parts_cost, cost } = spent;
    let waiting = waiting(*wait_hours);
    format!("So far: about {minutes:.0} min{waiting} and {parts_cost:.0} for parts, {cost:.0} in all.")
}

/// Hours of waiting after the minutes of a step; empty if there are none to speak of.
pub(crate) fn waiting(hours: f64) -> String {
    if hours < SHORT_WAIT { String::new() } else { format!(" and {:.1} h of waiting", rounded(hours)) }
}

/// The steps whose outcomes do not count, by their places from 0.
pub(crate) fn left_out(steps: &[usize]) -> String {
    format!(
        "The job is too long for an exact answer with everything that was tried. Left out of the odds: {}.",
        numbered(steps)
    )
}

/// A reading as it was recorded.
pub(crate) fn reading(reading: &ReadingRecord) -> String {
    let unit = reading.unit.id();
    match (reading.value, reading.over, reading.between) {
        (Some(value), ..) => format!("{value} {unit}"),
        (_, Some(over), _) => format!("over {over} {unit}"),
        (.., Some([from, to])) => format!("{from} to {to} {unit}"),
        (None, None, None) => String::new(),
    }
}

/// The steps whose findings do not count, by their places from 0.
pub(crate) fn outweighed(steps: &[usize]) -> String {
    format!("Not counted, because an earlier finding is known better: {}.", numbered(steps))
}

/// The numbers of steps, from their places from 0.
fn numbered(steps: &[usize]) -> String {
    let numbers: Vec<String> = steps.iter().map(|step| (step + 1).to_string()).collect();
    format!("{} {}", if numbers.len() == 1 { "step" } else { "steps" }, numbers.join(", "))
}

/// Whether a condition is there, and whether it is the reason.
pub(crate) fn verdict(kind: VerdictKind) -> &'static str {
    match kind {
        VerdictKind::TheReason => "there, and the reason",
        VerdictKind::ThereNotTheReason => "there, but not the reason",
        VerdictKind::ThereUndecided => "there; whether it is the reason is open",
        VerdictKind::NotThere => "most likely not there",
    }
}

/// An item of the summary of reasons; `steps` are the names of the steps of the job.
pub(crate) fn summary_item(item: &SummaryItem, steps: &[String]) -> String {
    match item {
        SummaryItem::Leads { name, p } => format!("Likeliest: {name}, {}.", percent(*p).trim()),
        SummaryItem::MostFor { step, weight } => {
            format!("Most for it: {} ({weight:+.0} decibans).", steps[*step])
        }
        SummaryItem::MostAgainst { step, weight } => {
            format!("Most against it: {} ({weight:+.0} decibans).", steps[*step])
        }
        SummaryItem::Conflicting { wrong } => {
            let text = "The findings do not go together: one may be wrong, or the cause is not on the list.";
            match wrong {
                Some(step) => format!("{text} It would be resolved if this were wrong: {}.", steps[*step]),
                None => text.to_owned(),
            }
        }
        SummaryItem::Unusual { name } => {
            format!("The findings seldom come together, but this explains it: {name}.")
        }
        SummaryItem::Overturn { name, p, .. } => {
            format!("Most likely to change that: {name}, {}.", percent(*p).trim())
        }
    }
}

/// A parameter of the machine description.
pub(crate) fn parameter(name: &ParameterName) -> String {
    let ParameterName { of, result, .. } = name;
    let when = if name.when.is_empty() { "otherwise".to_owned() } else { name.when.join(" or ") };
    match name.kind {
        ParameterKind::Rate => format!("how common: {of}"),
        ParameterKind::Share => format!("how common: {of}: {result}"),
        ParameterKind::Harmless => format!("how often it does no harm: {of}"),
        ParameterKind::Severity => format!("how often it acts so that it {result}: {of}"),
        ParameterKind::Spoils => format!("{of}: {result}, by: {when}"),
        ParameterKind::Finding => format!("{of}: {result}, if: {when}"),
        ParameterKind::Middle => format!("{of}: middle of the readings, if: {when}"),
        ParameterKind::Spread => format!("{of}: spread of the readings, if: {when}"),
        ParameterKind::Ends => format!("a try: {result}, with at worst: {when}"),
        ParameterKind::BypassEnds => format!("{of}: {result}, with at worst: {when}"),
        ParameterKind::Takes => format!("repair that takes: {of}"),
        ParameterKind::Trust => format!("trust in: {of}"),
    }
}

/// A chance in per cent that does not claim certainty where there is none.
fn chance(p: f64) -> String {
    let percent = rounded(p * 100.0);
    if percent > 0.0 && percent < 1.0 {
        "under 1 %".to_owned()
    } else if percent > 99.0 && percent < 100.0 {
        "over 99 %".to_owned()
    } else {
        format!("{percent:.0} %")
    }
}

/// A probability in per cent, in columns.
pub(crate) fn percent(p: f64) -> String {
    match p * 100.0 {
        x if x > 0.0 && x < 0.1 => "  <0.1 %".to_owned(),
        x if x < 10.0 => format!("{x:>6.1} %"),
        x => format!("{x:>6.0} %"),
    }
}
