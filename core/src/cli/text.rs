//! Answers as text for people: the layout. The sentences are in `words.rs`.

use std::fmt::Write;

use halfsplit::advise::{Assessment, CauseOdds, JobStatus, NotNow, Obstacle, StepAdvice};
use halfsplit::machine::Machine;
use halfsplit::machine::file::MachineFile;
use halfsplit_bayes::{Network, Posterior, PredictedOutcome};

use crate::words::{self, percent};

/// Causes and steps that are shown, at most.
const CAUSES: usize = 20;
const STEPS: usize = 8;

/// The answer about a job; with `all`, every step that can be done now.
pub(crate) fn assessment(machine: &Machine, a: &Assessment, all: bool) -> String {
    let mut out = String::new();
    match a.status {
        JobStatus::Running => closing(&mut out, a),
        JobStatus::Open => {
            waits(&mut out, a);
            open(&mut out, machine, a);
            others(&mut out, a, all);
        }
    }
    if !a.abnormal.is_empty() {
        line(&mut out, "\nNot normal, and what it came to");
        for finding in &a.abnormal {
            line(&mut out, &format!("  {}", finding.finding));
            for v in &finding.speaks_for {
                let verdict = words::verdict(v.kind);
                let chances = format!("there {}, the reason {}", percent(v.p_present), percent(v.p_cause));
                line(&mut out, &format!("    {}: {verdict} ({})", v.name, chances.trim()));
            }
        }
    }
    readings(&mut out, a);
    line(&mut out, &format!("\n{}", words::spent(&a.spent)));
    if !a.left_out.is_empty() {
        line(&mut out, &format!("\n{}", words::left_out(&a.left_out)));
    }
    if !a.outweighed.is_empty() {
        line(&mut out, &format!("\n{}", words::outweighed(&a.outweighed)));
    }
    out
}

/// The readings, and what they mean.
fn readings(out: &mut String, a: &Assessment) {
    if !a.readings.is_empty() {
        line(out, "\nReadings, and what they mean");
    }
    for reading in &a.readings {
        let value = reading.reading.as_ref().map_or_else(|| reading.band.clone(), words::reading);
        line(out, &format!("  {}, {value}: {}", reading.name, reading.text));
    }
}

/// What must wait, why, and the steps that end the wait; each reason once.
fn waits(out: &mut String, a: &Assessment) {
    let wait = |step: &NotNow| match &step.obstacle {
        Obstacle::Waits { why, until } => Some((why.clone(), until.clone())),
        _ => None,
    };
    let mut told = Vec::new();
    for (why, until) in a.not_now.iter().filter_map(wait) {
        if told.contains(&why) {
            continue;
        }
        let waiting = a.not_now.iter().filter(|step| wait(step).is_some_and(|(other, _)| other == why));
        let names: Vec<&str> = waiting.map(|step| step.name.as_str()).collect();
        for sentence in words::waits(&why, &until, &names) {
            line(out, &sentence);
        }
        line(out, "");
        told.push(why);
    }
}

/// The answer about an engine that does not run.
fn open(out: &mut String, machine: &Machine, a: &Assessment) {
    if let Some(next) = &a.next {
        line(out, &format!("Next: {} [{}]", next.name, next.id));
        line(out, &format!("  {}", price(next)));
        for paragraph in how(machine, next) {
            line(out, &format!("  {paragraph}"));
        }
        line(out, &format!("  Why: {}", words::reason(&next.reason)));
        for r in &next.results {
            let then = r
                .leader
                .as_ref()
                .map_or("done".to_owned(), |l| format!("{} {}", l.name, percent(l.p_cause).trim()));
            line(out, &format!("  {} {}: then {then}; {:.0} to go", percent(r.p), r.name, r.expected_cost));
        }
    }
    for conclusion in &a.conclusions {
        line(out, &format!("  {}", words::conclusion(conclusion)));
    }
    if let Some(estimate) = &a.estimate {
        line(out, &format!("\n{}", words::estimate(estimate, a.perfect_information_cost)));
    }
    line(out, &format!("\nWhat stops it (nothing any more: {})", percent(a.p_no_cause).trim()));
    line(out, "  the reason   there");
    for c in a.causes.iter().take(CAUSES) {
        line(
            out,
            &format!(
                "  {:>9}  {:>7}   {} [{}/{}]",
                percent(c.p_cause),
                percent(c.p_present),
                c.name,
                c.part,
                c.condition
            ),
        );
    }
}

/// The other steps, and with `all` also those that are not worth doing now.
fn others(out: &mut String, a: &Assessment, all: bool) {
    line(out, "\nOther steps, by expected cost until it runs");
    let shown = if all { a.ranking.len() } else { STEPS };
    for step in a.ranking.iter().skip(1).take(shown) {
        line(out, &listed(step));
    }
    if all && !a.set_aside.is_empty() {
        line(out, "\nNot worth doing now");
        for step in &a.set_aside {
            line(out, &listed(step));
        }
    }
}

/// A step of a list in one line.
fn listed(step: &StepAdvice) -> String {
    let StepAdvice { expected_cost, information_bits, name, id, .. } = step;
    let bits = information_bits.map(|bits| format!("{bits:.2} bits")).unwrap_or_default();
    format!("  {expected_cost:>5.1}  {bits:9}  {name} [{id}], {}", price(step))
}

/// The answer about an engine that runs.
fn closing(out: &mut String, a: &Assessment) {
    line(out, "It runs.\n\nThe reason, by everything found");
    for c in a.causes.iter().take(3) {
        line(out, &format!("  {:>9}  {} [{}/{}]", percent(c.p_was_cause), c.name, c.part, c.condition));
    }
    let merely: Vec<&CauseOdds> = a.causes.iter().filter(|c| c.p_was_present - c.p_was_cause > 0.5).collect();
    if !merely.is_empty() {
        line(out, "There, but not the reason");
        for c in merely {
            line(
                out,
                &format!(
                    "  {:>9}  {} [{}/{}]",
                    percent(c.p_was_present - c.p_was_cause),
                    c.name,
                    c.part,
                    c.condition
                ),
            );
        }
    }
}

/// Instructions, cautions and limits of a step, from the machine description; empty for stopping.
fn how(machine: &Machine, step: &StepAdvice) -> Vec<String> {
    let file = machine.file();
    let Some((how, cautions, setups)) = described(file, &step.id) else { return Vec::new() };
    let mut lines = vec![format!("How: {how}")];
    let mut ids: Vec<&String> = cautions.iter().collect();
    for setup in file.setups.iter().filter(|s| setups.contains(&s.id)) {
        lines.push(format!("Before: {}", setup.name));
        ids.extend(&setup.cautions);
    }
    for caution in file.cautions.iter().filter(|c| ids.contains(&&c.id)) {
        lines.push(format!("Caution: {}", caution.text));
        if !caution.stop.is_empty() {
            lines.push(format!("  When to stop: {}", caution.stop));
        }
    }
    lines.push(words::DEFERRAL.to_owned());
    lines
}

/// The instructions of a step with the ids of its cautions and its set-up work; none if it is no step of the machine.
fn described<'a>(file: &'a MachineFile, id: &str) -> Option<(&'a str, &'a [String], &'a [String])> {
    if let Some(c) = file.checks.iter().find(|c| c.id == id) {
        Some((&c.how, &c.cautions, &c.setups))
    } else if let Some(b) = file.bypasses.iter().find(|b| b.id == id) {
        Some((&b.how, &b.cautions, &b.setups))
    } else if let Some(r) = file.repairs.iter().find(|r| r.id == id) {
        Some((&r.how, &r.cautions, &r.setups))
    } else {
        (id == "attempt").then_some((&file.attempt.how, &file.attempt.cautions, &[]))
    }
}

/// Minutes, waiting and parts of a step; the cost of stopping.
fn price(step: &StepAdvice) -> String {
    let StepAdvice { minutes, wait_hours, parts_cost, cost, .. } = step;
    if *minutes == 0.0 && *wait_hours == 0.0 {
        return format!("{cost:.0}");
    }
    let parts = if *parts_cost > 0.0 { format!(" and {parts_cost:.0} for parts") } else { String::new() };
    format!("about {minutes:.0} min{}{parts}", words::waiting(*wait_hours))
}

/// A machine: what it is, its parts, and what can be done on it.
pub(crate) fn machine(machine: &Machine) -> String {
    let file = machine.file();
    let mut out = String::new();
    line(&mut out, &format!("{}: {}\n{}\n", file.id, file.name, file.about));
    let sample = &file.equivalent_sample_size;
    line(
        &mut out,
        &format!(
            "Figures count for as much as {} machines of one's own, rows of checks and attempts as {} cases each.\n",
            sample.rates, sample.rows
        ),
    );
    machine_parts(&mut out, file);
    machine_steps(&mut out, file);
    out
}

/// The context and the parts of a machine, with their rates.
fn machine_parts(out: &mut String, file: &MachineFile) {
    line(out, "Context");
    for b in &file.context {
        let states: Vec<String> =
            b.states.iter().map(|s| format!("{} {}", s.id, percent(s.share).trim())).collect();
        line(out, &format!("  {}: {} ({})", b.id, b.name, states.join(", ")));
    }
    for subsystem in &file.subsystems {
        line(out, &format!("\n{}", subsystem.name));
        for part in file.parts.iter().filter(|p| p.subsystem == subsystem.id) {
            for c in &part.conditions {
                let cause = c.rate.dies + c.rate.tries + c.rate.nothing;
                let line_text = format!(
                    "  {}/{}: {}; stops {}, harmless {} of machines",
                    part.id,
                    c.id,
                    c.name,
                    percent(cause).trim(),
                    percent(c.rate.harmless).trim()
                );
                line(out, &line_text);
            }
        }
    }
}

/// The checks, bypasses, repairs and tools of a machine.
fn machine_steps(out: &mut String, file: &MachineFile) {
    line(out, "\nChecks");
    for c in &file.checks {
        let results: Vec<&str> = c.results.iter().map(|r| r.id.as_str()).collect();
        line(
            out,
            &format!(
                "  {}: {}, {:.0} min{}; {}",
                c.id,
                c.name,
                c.minutes,
                words::waiting(c.wait_hours),
                results.join(" | ")
            ),
        );
    }
    line(out, "\nBypasses");
    for b in &file.bypasses {
        line(
            out,
            &format!(
                "  {}: {}, {:.0} min{}; lifts {}",
                b.id,
                b.name,
                b.minutes,
                words::waiting(b.wait_hours),
                b.lifts.join(", ")
            ),
        );
    }
    line(out, "\nRepairs");
    for r in &file.repairs {
        let cost = &r.parts_cost;
        line(
            out,
            &format!(
                "  {}: {}, {:.0} min{}, parts {:.0}/{:.0}/{:.0}; cures {}",
                r.id,
                r.name,
                r.minutes,
                words::waiting(r.wait_hours),
                cost.low,
                cost.typical,
                cost.high,
                r.cures.join(", ")
            ),
        );
    }
    line(out, "\nTools");
    for t in &file.tools {
        line(out, &format!("  {}: {}", t.id, t.name));
    }
}

/// The marginals of a network.
pub(crate) fn posterior(network: &Network, posterior: &Posterior) -> String {
    let mut out = String::new();
    line(&mut out, &format!("P(evidence) = {:e}", posterior.log_p_evidence().exp()));
    for (id, v) in network.iter() {
        let states: Vec<String> =
            v.states().iter().zip(posterior.marginal(id)).map(|(s, p)| format!("{s} {p:.6}")).collect();
        line(&mut out, &format!("{}: {}", v.name(), states.join(", ")));
    }
    out
}

/// The marginals of the roots after every possible further finding.
pub(crate) fn sweep(network: &Network, outlooks: &[PredictedOutcome]) -> String {
    let mut out = String::new();
    for outlook in outlooks {
        let leaf = network.variable(outlook.leaf);
        line(
            &mut out,
            &format!("{} = {}: {:.6}", leaf.name(), leaf.states()[outlook.state.index()], outlook.p),
        );
        for (root, marginal) in &outlook.roots {
            let root = network.variable(*root);
            let states: Vec<String> =
                root.states().iter().zip(marginal).map(|(s, p)| format!("{s} {p:.6}")).collect();
            line(&mut out, &format!("  {}: {}", root.name(), states.join(", ")));
        }
    }
    out
}

/// Writes a line.
pub(crate) fn line(out: &mut String, text: &str) {
    // Writing to a String cannot fail.
    let _ = writeln!(out, "{text}");
}
