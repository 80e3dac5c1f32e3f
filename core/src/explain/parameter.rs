//! The numbers that an answer depends on, one by one: what each number is, and the job with another value of
//! it.
//!
//! One number changes, and every other stays as written, except the entries of the same row. A row still sums
//! to 1, and its other entries keep their proportions. The rate of a condition changes by a factor on its
//! odds, whatever the history. The conditions that it raises follow.

use crate::advise::{StepAdvice, StepKind};
use crate::job::{Found, Job, JobError, Step};
use crate::machine::file::{LawTerm, MachineFile, OutcomeLaw};
use crate::machine::model::Source;
use crate::machine::{BypassId, ChangedParameters, CheckId, ConditionId, ContextId, FunctionId, RepairId};

/// A number, by its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Parameter {
    Rate(ConditionId),
    Share(ContextId, usize),
    Harmless(ConditionId),
    Severity(ConditionId, usize),
    Spoils { function: FunctionId, row: usize, level: usize },
    Finding { check: CheckId, row: usize, result: usize },
    Middle { check: CheckId, row: usize, term: usize },
    Spread { check: CheckId, row: usize, term: usize },
    Ends { severity: usize, outcome: usize },
    BypassEnds { bypass: BypassId, severity: usize, outcome: usize },
    Takes(RepairId),
    Trust(usize),
}

/// Changes of the laws of readings: the middle moves by this share of the spread, and the spread by a factor
/// of one and a half.
const MIDDLE: f64 = 0.5;
const SPREAD: f64 = 1.5;

/// Odds of a chance that is neither 0 nor 1.
pub(super) fn odds(p: f64) -> f64 {
    p / (1.0 - p)
}

/// A chance with its odds multiplied.
pub(super) fn with_odds_times(p: f64, factor: f64) -> f64 {
    factor * p / (1.0 + (factor - 1.0) * p)
}

/// Entries of a row that can change. Of two entries that sum to 1 it lists only the second, because it
/// determines the first.
fn listed(row: &[f64]) -> impl Iterator<Item = usize> + use<> {
    let open: Vec<usize> = (0..row.len()).filter(|i| row[*i] > 0.0 && row[*i] < 1.0).collect();
    let first = usize::from(open.len() == 2);
    open.into_iter().skip(first)
}

/// The priors: the rate of every condition and the share of every piece of history.
pub(super) fn priors(job: &Job) -> Vec<Parameter> {
    let contexts = (0..job.machine.file().context.len()).map(ContextId::new);
    let shares =
        contexts.flat_map(|b| listed(&job.context_shares(b)).map(move |state| Parameter::Share(b, state)));
    job.machine.condition_ids().map(Parameter::Rate).chain(shares).collect()
}

/// The entries of every table that the findings use.
pub(super) fn tables(job: &Job) -> Vec<Parameter> {
    let mut all: Vec<Parameter> = Vec::new();
    let mut checks: Vec<CheckId> = Vec::new();
    let mut add = |parameters: Vec<Parameter>| {
        for parameter in parameters {
            if !all.contains(&parameter) {
                all.push(parameter);
            }
        }
    };
    for c in job.machine.condition_ids() {
        let severity = &job.machine.model.conditions[c].severity;
        add([Parameter::Harmless(c)]
            .into_iter()
            .chain(listed(severity).map(|s| Parameter::Severity(c, s)))
            .collect());
    }
    for (at, step) in job.steps.iter().enumerate() {
        match step {
            Step::Check { check, finding, .. } => {
                checks.push(*check);
                add(of_check(job, *check, Some(*finding)));
                add(vec![Parameter::Trust(at)]);
            }
            Step::Repair { repair, .. } => add(vec![Parameter::Takes(*repair)]),
            Step::Attempt { bypasses, outcome, .. } => {
                let outcome = *outcome as usize;
                add((0..4).map(|severity| Parameter::Ends { severity, outcome }).collect());
                for bypass in bypasses {
                    let ends = |severity| Parameter::BypassEnds { bypass: *bypass, severity, outcome };
                    add((0..4).map(ends).collect());
                }
            }
        }
    }
    for check in checks {
        for source in &job.machine.model.checks[check].observation.parents {
            if let Source::Function(function) = source {
                add(of_function(job.machine.file(), *function));
            }
        }
    }
    all
}

fn of_function(file: &MachineFile, function: FunctionId) -> Vec<Parameter> {
    let authored = file.function(function);
    let rows = authored.spoiled_by.iter().enumerate();
    rows.flat_map(|(row, by)| listed(&by.levels).map(move |level| Parameter::Spoils { function, row, level }))
        .collect()
}

/// Entries of a check's table: those for the finding, or all of them.
fn of_check(job: &Job, check: CheckId, found: Option<Found>) -> Vec<Parameter> {
    let authored = job.machine.check(check);
    match (&authored.reading, found) {
        (Some(reading), _) => (0..reading.rows.len())
            .flat_map(|row| {
                (0..reading.rows[row].law.len()).flat_map(move |term| {
                    [Parameter::Middle { check, row, term }, Parameter::Spread { check, row, term }]
                })
            })
            .collect(),
        (None, Some(found)) => (0..authored.rows.len())
            .map(|row| Parameter::Finding { check, row, result: found.result() })
            .collect(),
        (None, None) => authored
            .rows
            .iter()
            .enumerate()
            .flat_map(|(row, of)| listed(&of.p).map(move |result| Parameter::Finding { check, row, result }))
            .collect(),
    }
}

/// Every entry that the results of a step directly depend on.
pub(super) fn of_step(job: &Job, step: &StepAdvice) -> Vec<Parameter> {
    let (machine, place, id) = (job.machine, "ranking", &step.id);
    let parameters = match step.kind {
        StepKind::Check => machine.find_check(place, id).map(|check| of_check(job, check, None)),
        StepKind::Attempt => Ok(of_attempt(job, None)),
        StepKind::Bypass => machine.find_bypass(place, id).map(|bypass| of_attempt(job, Some(bypass))),
        StepKind::Repair => machine.find_repair(place, id).map(|repair| vec![Parameter::Takes(repair)]),
        StepKind::HandOver => Ok(Vec::new()),
    };
    parameters.unwrap_or_default()
}

/// All entries of the laws for the outcome of an attempt.
fn of_attempt(job: &Job, bypass: Option<BypassId>) -> Vec<Parameter> {
    let all = || (0..4).flat_map(|severity| (0..4).map(move |outcome| (severity, outcome)));
    match bypass {
        None => all().map(|(severity, outcome)| Parameter::Ends { severity, outcome }).collect(),
        Some(bypass) if job.machine.model.bypasses[bypass].law.is_some() => {
            all().map(|(severity, outcome)| Parameter::BypassEnds { bypass, severity, outcome }).collect()
        }
        Some(_) => of_attempt(job, None),
    }
}

impl Parameter {
    /// The present value of the number.
    pub(super) fn now(self, job: &Job) -> f64 {
        let file = job.machine.file();
        match self {
            Parameter::Rate(c) => {
                let rate = &job.machine.condition(c).1.rate;
                let factor: f64 = job
                    .chosen()
                    .flat_map(|m| &m.conditions)
                    .filter(|(id, _)| *id == c)
                    .map(|(_, f)| f)
                    .product();
                with_odds_times(rate.harmless + rate.acting(), factor)
            }
            Parameter::Share(b, state) => job.context_shares(b)[state],
            Parameter::Harmless(c) => {
                let rate = &job.machine.condition(c).1.rate;
                rate.harmless / (rate.harmless + rate.acting())
            }
            Parameter::Severity(c, s) => job.machine.model.conditions[c].severity[s],
            Parameter::Spoils { function, row, level } => {
                file.function(function).spoiled_by[row].levels[level]
            }
            Parameter::Finding { check, row, result } => file.check(check).rows[row].p[result],
            Parameter::Middle { check, row, term } => {
                term_of(file, check, row, term).map_or(0.0, |t| t.mean.or(t.median).unwrap_or(0.0))
            }
            Parameter::Spread { check, row, term } => {
                term_of(file, check, row, term).map_or(0.0, |t| t.sd.or(t.ratio).unwrap_or(0.0))
            }
            Parameter::Ends { severity, outcome } => law_row(&file.attempt.law, severity)[outcome],
            Parameter::BypassEnds { bypass, severity, outcome } => {
                let law = file.bypass(bypass).law.as_ref();
                law.map_or(0.0, |law| law_row(law, severity)[outcome])
            }
            Parameter::Takes(repair) => file.repair(repair).takes,
            Parameter::Trust(step) => match &job.steps[step] {
                Step::Check { trust, .. } => *trust,
                _ => 0.0,
            },
        }
    }

    /// The values that are tried. The odds of a chance are halved and doubled; a law of readings is moved by
    /// half its spread. None for a chance of 0 or 1, which is meant exactly.
    pub(super) fn tried(self, job: &Job) -> Option<[f64; 2]> {
        let now = self.now(job);
        match self {
            Parameter::Middle { check, row, term } => {
                let law = term_of(job.machine.file(), check, row, term)?;
                Some(match (law.sd, law.ratio) {
                    (Some(sd), _) => [now - MIDDLE * sd, now + MIDDLE * sd],
                    (None, Some(ratio)) => [now / ratio.powf(MIDDLE), now * ratio.powf(MIDDLE)],
                    (None, None) => return None,
                })
            }
            Parameter::Spread { check, row, term } => {
                let law = term_of(job.machine.file(), check, row, term)?;
                Some(match law.sd {
                    Some(sd) => [sd / SPREAD, sd * SPREAD],
                    // A ratio is a spread of the logarithm.
                    None => [now.powf(1.0 / SPREAD), now.powf(SPREAD)],
                })
            }
            _ => (now > 0.0 && now < 1.0).then(|| [with_odds_times(now, 0.5), with_odds_times(now, 2.0)]),
        }
    }

    /// A value part of the way from the present one (share 0) to another (share 1). A chance is interpolated
    /// by the logarithm of its odds, a number of a law of readings linearly.
    pub(super) fn between(self, now: f64, end: f64, share: f64) -> f64 {
        if self.is_chance() {
            with_odds_times(now, (odds(end) / odds(now)).powf(share))
        } else {
            now + share * (end - now)
        }
    }

    /// Whether it is a chance, and not a number of a law of readings.
    pub(super) fn is_chance(self) -> bool {
        !matches!(self, Parameter::Middle { .. } | Parameter::Spread { .. })
    }

    /// Whether every table that contains the number is an affine function of it.
    pub(super) fn is_affine(self, job: &Job) -> bool {
        match self {
            Parameter::Rate(c) => job.machine.model.parts[job.machine.part_of(c)].parents.is_empty(),
            _ => self.is_chance(),
        }
    }

    /// Evaluates a function on the job with another value of the number.
    ///
    /// # Errors
    /// The errors of the function, and values that break a rule of descriptions.
    pub(super) fn at<R>(
        self,
        job: &Job,
        value: f64,
        ask: impl FnOnce(&Job) -> Result<R, JobError>,
    ) -> Result<R, JobError> {
        let mut changed = job.clone();
        let which = match self {
            Parameter::Rate(c) => {
                changed.moved.conditions.push((c, odds(value) / odds(self.now(job))));
                return ask(&changed);
            }
            Parameter::Share(b, state) => {
                changed.moved.contexts.push((b, state, odds(value) / odds(self.now(job))));
                return ask(&changed);
            }
            Parameter::Trust(step) => {
                if let Step::Check { trust, .. } = &mut changed.steps[step] {
                    *trust = value;
                }
                return ask(&changed);
            }
            Parameter::Harmless(c) | Parameter::Severity(c, _) => ChangedParameters::Severities(c),
            Parameter::Spoils { .. } => ChangedParameters::Functions,
            Parameter::Finding { check, .. }
            | Parameter::Middle { check, .. }
            | Parameter::Spread { check, .. } => ChangedParameters::Check(check),
            Parameter::Ends { .. } => ChangedParameters::Attempt,
            Parameter::BypassEnds { bypass, .. } => ChangedParameters::Bypass(bypass),
            Parameter::Takes(_) => ChangedParameters::AsAuthored,
        };
        let place = match self {
            Parameter::Harmless(c) | Parameter::Severity(c, _) => {
                let model = &job.machine.model.conditions[c];
                (model.part.index(), model.index)
            }
            _ => (0, 0),
        };
        let machine = job.machine.with_figures(which, |file| self.write(file, place, value))?;
        ask(&Job { machine: &machine, ..changed })
    }

    /// Writes the value into a description; `place` is the condition's.
    fn write(self, file: &mut MachineFile, place: (usize, usize), value: f64) {
        match self {
            Parameter::Harmless(_) => {
                let rate = &mut file.parts[place.0].conditions[place.1].rate;
                let acting = rate.acting();
                let all = rate.harmless + acting;
                rate.harmless = all * value;
                let by = all * (1.0 - value) / acting;
                [&mut rate.dies, &mut rate.tries, &mut rate.nothing].into_iter().for_each(|r| *r *= by);
            }
            Parameter::Severity(_, severity) => {
                let rate = &mut file.parts[place.0].conditions[place.1].rate;
                let acting = rate.acting();
                let mut shares = [rate.dies, rate.tries, rate.nothing].map(|r| r / acting);
                vary(&mut shares, severity - 1, value);
                [rate.dies, rate.tries, rate.nothing] = shares.map(|s| s * acting);
            }
            Parameter::Spoils { function, row, level } => {
                vary(&mut file.functions[function.index()].spoiled_by[row].levels, level, value);
            }
            Parameter::Finding { check, row, result } => {
                vary(&mut file.checks[check.index()].rows[row].p, result, value);
            }
            Parameter::Middle { check, row, term } | Parameter::Spread { check, row, term } => {
                let reading = file.checks[check.index()].reading.as_mut();
                let Some(law) = reading.map(|r| &mut r.rows[row].law[term]) else { return };
                let middle = matches!(self, Parameter::Middle { .. });
                let number = match (middle, law.mean.is_some()) {
                    (true, true) => &mut law.mean,
                    (true, false) => &mut law.median,
                    (false, true) => &mut law.sd,
                    (false, false) => &mut law.ratio,
                };
                *number = Some(value);
            }
            Parameter::Ends { severity, outcome } => {
                vary(law_row_mut(&mut file.attempt.law, severity), outcome, value);
            }
            Parameter::BypassEnds { bypass, severity, outcome } => {
                if let Some(law) = &mut file.bypasses[bypass.index()].law {
                    vary(law_row_mut(law, severity), outcome, value);
                }
            }
            Parameter::Takes(repair) => file.repairs[repair.index()].takes = value,
            Parameter::Rate(_) | Parameter::Share(..) | Parameter::Trust(_) => {}
        }
    }
}

/// Changes one entry of a row. The others keep their proportions; if they are all 0, they share the rest
/// evenly.
fn vary(row: &mut [f64], at: usize, value: f64) {
    let rest = 1.0 - row[at];
    let even = (1.0 - value) / (row.len() - 1) as f64;
    for (i, p) in row.iter_mut().enumerate() {
        *p = match () {
            () if i == at => value,
            () if rest > 0.0 => *p * (1.0 - value) / rest,
            () => even,
        };
    }
}

fn term_of(file: &MachineFile, check: CheckId, row: usize, term: usize) -> Option<&LawTerm> {
    file.check(check).reading.as_ref().map(|r| &r.rows[row].law[term])
}

fn law_row(law: &OutcomeLaw, severity: usize) -> &[f64; 4] {
    [&law.harmless, &law.dies, &law.tries, &law.nothing][severity]
}

fn law_row_mut(law: &mut OutcomeLaw, severity: usize) -> &mut [f64; 4] {
    match severity {
        0 => &mut law.harmless,
        1 => &mut law.dies,
        2 => &mut law.tries,
        _ => &mut law.nothing,
    }
}
