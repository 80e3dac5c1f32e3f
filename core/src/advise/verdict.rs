//! Verdicts on findings that were not normal: *there, and the reason* or *there, but not the reason*.

use super::answer::{Abnormal, Verdict, VerdictKind};
use crate::job::{FindingsNetwork, Found, Job, Step};
use crate::machine::model::{ObservationKind, ObservationModel, Source};
use crate::machine::{CheckId, ConditionId};
use halfsplit_bayes::for_each_configuration;
use halfsplit_bayes::support::order::largest_first;

/// A finding speaks for a condition if the condition alone makes it at least this many times as likely as a sound
/// machine does: 3 decibans, about the least that a person would call a hint.
const SPEAKS: f64 = 2.0;
/// A finding clears a condition if the condition alone makes it at most this many times as likely as a sound machine
/// does: 7 decibans.
const CLEARS: f64 = 0.2;
/// Limit on the conditions named for one finding.
const NAMED: usize = 3;
/// A condition after the first is named only if it is present with at least this chance.
const WORTH_NAMING: f64 = 0.05;
/// A condition is the reason if its chance to be the cause, given that it is present, is at least this (odds
/// of 4 to 1 for). It is not the reason up to [`NOT_THE_REASON`] (4 to 1 against). In between the verdict is
/// undecided.
const THE_REASON: f64 = 0.8;
const NOT_THE_REASON: f64 = 0.2;

/// The findings that were not normal and count, in order.
pub(super) fn abnormal_findings(
    job: &Job,
    bench: &FindingsNetwork,
    marginals: &dyn Fn(halfsplit_bayes::VarId) -> Vec<f64>,
) -> Vec<Abnormal> {
    let file = job.machine.file();
    let mut list: Vec<Abnormal> = Vec::new();
    for (step, done) in job.steps.iter().enumerate() {
        let Step::Check { check, finding, .. } = done else { continue };
        if bench.outweighed.contains(&step) {
            continue;
        }
        let authored = file.check(*check);
        let result = &authored.results[finding.result()];
        // A check that is made again replaces its earlier finding.
        list.retain(|a| a.check != authored.id);
        if result.normal {
            continue;
        }
        let speaks_for: Vec<Verdict> = spoken_for(job, *check, *finding)
            .into_iter()
            .map(|c| verdict(job, bench, marginals, c, step))
            .collect();
        let mut speaks_for = largest_first(speaks_for, |v| v.p_present);
        let mut named = 0;
        speaks_for.retain(|v| {
            named += 1;
            named == 1 || (named <= NAMED && v.p_present >= WORTH_NAMING)
        });
        list.push(Abnormal {
            step,
            check: authored.id.clone(),
            finding: format!("{}: {}", authored.name, result.name),
            speaks_for,
        });
    }
    list
}

fn verdict(
    job: &Job,
    bench: &FindingsNetwork,
    marginals: &dyn Fn(halfsplit_bayes::VarId) -> Vec<f64>,
    condition: ConditionId,
    step: usize,
) -> Verdict {
    let part = job.machine.part_of(condition);
    let marginal = marginals(bench.variables.at_step(part, step));
    let (p_cause, p_present) = job.condition_odds(condition, &marginal);
    let kind = if p_present < 0.5 {
        VerdictKind::NotThere
    } else if p_cause >= THE_REASON * p_present {
        VerdictKind::TheReason
    } else if p_cause <= NOT_THE_REASON * p_present {
        VerdictKind::ThereNotTheReason
    } else {
        VerdictKind::ThereUndecided
    };
    let (part, authored) = job.machine.condition(condition);
    Verdict {
        part: part.id.clone(),
        condition: authored.id.clone(),
        name: authored.name.clone(),
        kind,
        p_present,
        p_cause,
    }
}

/// The conditions that a finding speaks for, each taken alone.
fn spoken_for(job: &Job, check: CheckId, finding: Found) -> Vec<ConditionId> {
    by_ratio(job, check, finding, |ratio| ratio >= SPEAKS)
}

/// The conditions that a finding clears, each taken alone.
pub(super) fn cleared_by(job: &Job, check: CheckId, finding: Found) -> Vec<ConditionId> {
    by_ratio(job, check, finding, |ratio| ratio <= CLEARS)
}

/// The conditions whose likelihood ratio against a sound machine, each taken alone, is such.
fn by_ratio(job: &Job, check: CheckId, finding: Found, is: impl Fn(f64) -> bool) -> Vec<ConditionId> {
    let machine = job.machine;
    let observation = &machine.model.checks[check].observation;
    let likelihood = likelihoods(job, observation, finding);
    let sound = average(job, observation, &likelihood, None);
    machine
        .condition_ids()
        .filter(|c| {
            let part = machine.part_of(*c);
            let reaches = observation.parents.iter().any(|s| match s {
                Source::Part(p) => *p == part,
                Source::Function(f) => machine.model.functions[*f].spoilers.iter().any(|(p, _)| *p == part),
                Source::Context(_) => false,
            });
            reaches && is(average(job, observation, &likelihood, Some(*c)) / sound)
        })
        .collect()
}

/// By configuration of the parents of the check: likelihood of the finding.
fn likelihoods(job: &Job, observation: &ObservationModel, finding: Found) -> Vec<f64> {
    match (&observation.kind, finding) {
        (ObservationKind::Table(rows), found) => rows.iter().map(|row| row[found.result()]).collect(),
        (ObservationKind::Reading(model), Found::Reading(span, _)) => {
            let by_row = model.likelihoods(job.air, span);
            model.row_of.iter().map(|r| by_row[*r]).collect()
        }
        (ObservationKind::Reading(model), Found::Result(_)) => vec![1.0; model.row_of.len()],
    }
}

/// Likelihood of a finding on a machine with at most one condition. Severities and contexts are averaged by their
/// shares.
fn average(job: &Job, observation: &ObservationModel, likelihood: &[f64], alone: Option<ConditionId>) -> f64 {
    let machine = job.machine;
    // The states of the part that is not sound, with their shares; one entry if every part is sound.
    let states: Vec<(usize, f64)> = match alone {
        None => vec![(0, 1.0)],
        Some(condition) => {
            let (_, authored) = machine.condition(condition);
            let acting = authored.rate.acting();
            let total = authored.rate.harmless + acting;
            let part = machine.part_of(condition);
            machine.model.parts[part]
                .states
                .iter()
                .enumerate()
                .filter(|(_, s)| s.condition() == Some(condition))
                .map(|(i, s)| (i, if s.acts() { acting } else { authored.rate.harmless } / total))
                .collect()
        }
    };
    let part = alone.map(|c| machine.part_of(c));
    states
        .into_iter()
        .map(|(state, share)| {
            let laws: Vec<Vec<f64>> = observation
                .parents
                .iter()
                .map(|source| match source {
                    Source::Context(b) => machine.context(*b).states.iter().map(|s| s.share).collect(),
                    Source::Part(p) => {
                        let at = if Some(*p) == part { state } else { 0 };
                        point(machine.model.parts[*p].states.len(), at)
                    }
                    Source::Function(f) => {
                        let function = &machine.model.functions[*f];
                        match function.spoilers.iter().find(|(p, _)| Some(*p) == part) {
                            Some((_, levels)) => levels[state].clone(),
                            None => point(function.level_names.len(), 0),
                        }
                    }
                })
                .collect();
            let cards: Vec<usize> = laws.iter().map(Vec::len).collect();
            let mut at = 0;
            let mut sum = 0.0;
            for_each_configuration(&cards, |row| {
                let p: f64 = laws.iter().zip(row).map(|(law, s)| law[*s]).product();
                sum += p * likelihood[at];
                at += 1;
            });
            share * sum
        })
        .sum()
}

fn point(length: usize, at: usize) -> Vec<f64> {
    (0..length).map(|i| f64::from(u8::from(i == at))).collect()
}
