//! Reasons and sensitivities as text for people: the layout. The sentences are in `words.rs`.

use halfsplit::explain::{Reasons, SensitivityReport};

use crate::text::line;
use crate::words::{self, percent};

/// Causes, steps or pairs, and numbers that are shown, at most.
const CAUSES: usize = 3;
const STEPS: usize = 4;
const NUMBERS: usize = 12;

pub(crate) fn text(why: &Reasons, analysis: &SensitivityReport) -> String {
    let mut out = String::new();
    for item in &why.summary {
        line(&mut out, &words::summary_item(item, &why.steps));
    }
    weights(&mut out, why);
    if !why.not_the_reason.is_empty() {
        line(&mut out, "\nNot normal, and not the reason");
        for finding in &why.not_the_reason {
            line(&mut out, &format!("  {}", finding.finding));
        }
    }
    if !why.conflict.pairs.is_empty() {
        line(&mut out, "\nSeldom found together");
        for pair in why.conflict.pairs.iter().take(STEPS) {
            let [a, b] = pair.steps.map(|step| why.steps[step].as_str());
            line(&mut out, &format!("  {a}; {b}: {:.0} times rarer than by chance", pair.conflict.exp()));
        }
    }
    if !why.overturns.is_empty() {
        line(&mut out, "\nWhat would put another cause in the lead");
        for step in why.overturns.iter().take(STEPS) {
            line(&mut out, &format!("  {} {}", percent(step.p), step.name));
            for result in &step.results {
                let (p, name, leader) = (percent(result.p), &result.name, &result.leader);
                line(
                    &mut out,
                    &format!("    {p} {name}: then {} {}", leader.name, percent(leader.p_cause).trim()),
                );
            }
        }
    }
    numbers(&mut out, analysis);
    advice(&mut out, analysis);
    out
}

fn weights(out: &mut String, why: &Reasons) {
    if why.steps.is_empty() {
        return;
    }
    let told = |weight: Option<f64>| match weight {
        None => "     -".to_owned(),
        // What rounds to nothing has no sign.
        Some(w) if w.abs() < 0.05 => "   0.0".to_owned(),
        Some(w) => format!("{w:>+6.1}"),
    };
    line(out, "\nWeight of each step, in decibans: as it came in; and given all the others");
    for cause in why.causes.iter().take(CAUSES) {
        line(out, &format!("  {} {}", percent(cause.p[why.steps.len()]), cause.name));
        for (at, step) in why.steps.iter().enumerate() {
            line(out, &format!("    {} {}  {step}", told(cause.in_order[at]), told(cause.left_out[at])));
        }
    }
}

fn numbers(out: &mut String, analysis: &SensitivityReport) {
    let Some(cause) = analysis.cause.as_ref().filter(|_| !analysis.ranges.is_empty()) else { return };
    let (name, now) = (&cause.name, percent(cause.p));
    line(out, &format!("\nNumbers that move {name} most, now {}: odds halved, doubled", now.trim()));
    let told = |p: Option<f64>| p.map_or("       -".to_owned(), percent);
    for swing in analysis.ranges.iter().take(NUMBERS) {
        line(
            out,
            &format!(
                "  {} {}  {}",
                told(swing.p_low),
                told(swing.p_high),
                words::parameter(&swing.parameter)
            ),
        );
    }
    line(
        out,
        "  Other entries of the same row keep their proportions; readings' laws move by half a spread.",
    );
}

fn advice(out: &mut String, analysis: &SensitivityReport) {
    let moved = &analysis.robustness.moved;
    if moved.is_empty() {
        return;
    }
    let changing: Vec<_> = moved.iter().filter(|m| !m.advice_stays).collect();
    line(
        out,
        &format!("\nThe advice: {} of {} numbers change it, halved or doubled", changing.len(), moved.len()),
    );
    for m in changing {
        let [low, high] = m.advice_within;
        line(
            out,
            &format!(
                "  {}: stays from {low:.3} to {high:.3}, now {:.3}",
                words::parameter(&m.parameter),
                m.now
            ),
        );
    }
    let leaders = moved.iter().filter(|m| !m.leader_stays).count();
    if leaders > 0 {
        line(out, &format!("  {leaders} of them change which cause leads."));
    }
    match analysis.robustness.overtaken_by.as_deref() {
        Some([]) => line(out, "  Three times rarer against any rival three times commoner, it still leads."),
        Some(rivals) => {
            line(
                out,
                &format!(
                    "  Three times rarer, and they three times commoner, it is overtaken by: {}.",
                    rivals.join(", ")
                ),
            );
        }
        None => {}
    }
}
