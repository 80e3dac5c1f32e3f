//! Sensitivity of the chance of a cause to every single number.
//!
//! The probability of the findings, alone and together with the cause, is linear in the table of any one
//! variable. Two propagations give both as sums over the entries of every table (Darwiche 2003). A number
//! that occurs in one table changes the chance by a sensitivity function `(a x + b) / (c x + d)` (Laskey
//! 1995; Coupe and van der Gaag 2002, "Properties of sensitivity analysis of Bayesian belief networks"),
//! which needs no further propagation. For a number that occurs in several tables (an attempt made twice, a
//! repair that cures two parts) the inference is repeated.

use serde::Serialize;

use super::parameter::{self, Parameter};
use super::parameter_name::ParameterName;
use super::weights;
use crate::job::{Job, JobError, JobNetwork};
use crate::machine::ConditionId;
use crate::precision::EXACT;
use halfsplit_bayes::support::order::largest_first;
use halfsplit_bayes::support::parallel;
use halfsplit_bayes::{Cpt, Network, VarId, Variable};
use halfsplit_bayes::{Derivatives, ParameterDerivatives, derivatives};

/// The sensitivity of the chance of a cause to one number.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "typescript", derive(tsify::Tsify))]
pub struct SensitivityRange {
    /// The number.
    pub parameter: ParameterName,
    /// Its present value.
    pub now: f64,
    /// The lower value that is tried: odds halved, or a law of readings moved.
    pub low: f64,
    /// The higher value that is tried: odds doubled, or a law of readings moved.
    pub high: f64,
    /// Chance of the cause at the low value; none where that value breaks a rule of descriptions.
    pub p_low: Option<f64>,
    /// Chance of the cause at the high value; none where that value breaks a rule of descriptions.
    pub p_high: Option<f64>,
    /// `[a, b, c, d]` of the sensitivity function `(a x + b) / (c x + d)`, with `c now + d = 1`; none where
    /// several tables contain the number, or where a table is not affine in it.
    pub function: Option<[f64; 4]>,
}

impl SensitivityRange {
    /// The largest distance from the present chance to the chance at a value tried.
    fn width(&self, now: f64) -> f64 {
        let away = |p: Option<f64>| p.map_or(0.0, |p| (p - now).abs());
        let both = self.p_low.zip(self.p_high).map_or(0.0, |(low, high)| (low - high).abs());
        away(self.p_low).max(away(self.p_high)).max(both)
    }
}

/// Number of parameters evaluated together: one piece of the work.
const PIECE: usize = 32;

/// The sensitivity of the chance of a cause to every number.
pub(super) struct Sensitivity {
    cause: ConditionId,
    p: f64,
    /// None for a cause that the findings rule out or prove: no number changes its chance.
    open: Option<OpenCause>,
    parameters: Vec<Parameter>,
    ranges: Vec<(Parameter, SensitivityRange)>,
    done: usize,
}

/// The findings, without and with the cause, and the derivatives of both by every table.
struct OpenCause {
    network: Network,
    found: Derivatives,
    found_with_cause: Derivatives,
}

impl Sensitivity {
    /// Starts the analysis for a cause with its chance.
    ///
    /// # Errors
    /// [`JobError::Impossible`].
    pub(super) fn new(job: &Job, cause: ConditionId, p: f64) -> Result<Self, JobError> {
        let open = if p > 0.0 && p < 1.0 { Some(OpenCause::new(job, cause)?) } else { None };
        let parameters = match open {
            Some(_) => parameter::priors(job).into_iter().chain(parameter::tables(job)).collect(),
            None => Vec::new(),
        };
        Ok(Sensitivity { cause, p, open, parameters, ranges: Vec::new(), done: 0 })
    }

    /// Evaluates some more numbers. Returns whether all are done.
    ///
    /// # Errors
    /// None for a job that began well.
    pub(super) fn go_on(&mut self, job: &Job) -> Result<bool, JobError> {
        let Some(open) = &self.open else { return Ok(true) };
        let upto = (self.done + PIECE).min(self.parameters.len());
        let parameters = self.parameters[self.done..upto].to_vec();
        let ranges = parallel::each(parameters, |parameter| {
            Ok(self.swing(open, job, parameter)?.map(|swing| (parameter, swing)))
        });
        self.ranges.extend(ranges.into_iter().collect::<Result<Vec<_>, JobError>>()?.into_iter().flatten());
        self.done = upto;
        Ok(upto == self.parameters.len())
    }

    /// Every number that changes the chance, largest change first.
    pub(super) fn ranges(&self) -> Vec<SensitivityRange> {
        self.ordered().map(|(_, swing)| swing.clone()).collect()
    }

    /// The priors that change the chance, largest change first.
    pub(super) fn top_priors(&self) -> Vec<Parameter> {
        let priors = self.ordered().map(|(parameter, _)| *parameter);
        priors.filter(|f| matches!(f, Parameter::Rate(_) | Parameter::Share(..))).collect()
    }

    fn ordered(&self) -> impl Iterator<Item = &(Parameter, SensitivityRange)> {
        largest_first(self.ranges.iter().collect(), |(_, swing)| swing.width(self.p)).into_iter()
    }

    /// The share of the work that is done, in [0, 1].
    pub(super) fn progress(&self) -> f64 {
        self.done as f64 / self.parameters.len().max(1) as f64
    }

    /// The sensitivity to one number; none where the number changes nothing.
    fn swing(
        &self,
        open: &OpenCause,
        job: &Job,
        parameter: Parameter,
    ) -> Result<Option<SensitivityRange>, JobError> {
        let Some([low, high]) = parameter.tried(job) else { return Ok(None) };
        let at = |value: f64| match parameter.at(job, value, |changed| open.at(changed, self.cause)) {
            // The changed law does not fit its range.
            Err(JobError::Machine(_)) => Ok(None),
            shift => shift.map(Some),
        };
        let (low_shift, high_shift) = (at(low)?, at(high)?);
        let untouched = |shift: &Option<Shift>| matches!(shift, Some(Shift::None));
        if untouched(&low_shift) && untouched(&high_shift) {
            return Ok(None);
        }
        let now = parameter.now(job);
        let p = |shift: &Option<Shift>| shift.as_ref().map(|s| s.p(self.p));
        let function = match high_shift {
            Some(Shift::OneTable { found, with_cause }) if parameter.is_affine(job) => {
                let c = (found - 1.0) / (high - now);
                let a = self.p * (with_cause - 1.0) / (high - now);
                Some([a, self.p - a * now, c, 1.0 - c * now])
            }
            _ => None,
        };
        let swing = SensitivityRange {
            parameter: parameter.name(job),
            now,
            low,
            high,
            p_low: p(&low_shift),
            p_high: p(&high_shift),
            function,
        };
        // A change within rounding is none.
        Ok((swing.width(self.p) > EXACT).then_some(swing))
    }
}

impl OpenCause {
    fn new(job: &Job, cause: ConditionId) -> Result<Self, JobError> {
        let draft = JobNetwork::new(job)?;
        let mut with_cause = draft.evidence.clone();
        let (var, mask) = acting(job, &draft, cause);
        with_cause.insert(var, mask);
        let (found, found_with_cause) = parallel::both(
            || derivatives(&draft.network, &draft.evidence),
            || derivatives(&draft.network, &with_cause),
        )?;
        Ok(OpenCause { network: draft.network, found, found_with_cause })
    }

    /// The effect of a job with another number on the chance of the cause.
    fn at(&self, job: &Job, cause: ConditionId) -> Result<Shift, JobError> {
        let draft = JobNetwork::new(job)?;
        let mut shift = Shift::None;
        if draft.network.len() != self.network.len() {
            return Ok(Shift::Anew(chance(job, cause)?));
        }
        for ((var, before), (_, after)) in self.network.iter().zip(draft.network.iter()) {
            let found = change(before, after, self.found.of(var));
            let with_cause = change(before, after, self.found_with_cause.of(var));
            shift = match (shift, found, with_cause) {
                (shift, Change::None, _) => shift,
                (Shift::None, Change::By(found), Change::By(with_cause)) => {
                    Shift::OneTable { found, with_cause }
                }
                _ => return Ok(Shift::Anew(chance(job, cause)?)),
            };
        }
        Ok(shift)
    }
}

/// The effect of a number on the probabilities of the findings, without and with the cause.
#[derive(Debug, Clone, Copy)]
enum Shift {
    None,
    /// Factors on both probabilities.
    OneTable {
        found: f64,
        with_cause: f64,
    },
    /// The chance of the cause from a repeated inference.
    Anew(f64),
}

impl Shift {
    fn p(self, now: f64) -> f64 {
        match self {
            Shift::None => now,
            Shift::OneTable { found, with_cause } => now * with_cause / found,
            Shift::Anew(p) => p,
        }
    }
}

/// The effect of a changed table on a probability that is linear in it.
enum Change {
    None,
    /// A factor.
    By(f64),
    /// The table has another form, or the probability is not linear in the change.
    Other,
}

fn change(before: &Variable, after: &Variable, by: &ParameterDerivatives) -> Change {
    if before.parents() != after.parents() {
        return Change::Other;
    }
    match (before.cpt(), after.cpt(), by) {
        (Cpt::Table(a), Cpt::Table(b), ParameterDerivatives::Table(by)) => {
            if a == b {
                Change::None
            } else if a.shape() != b.shape() {
                Change::Other
            } else {
                Change::By(b.iter().zip(by).map(|(x, by)| x * by).sum())
            }
        }
        (Cpt::NoisyMax(a), Cpt::NoisyMax(b), ParameterDerivatives::NoisyMax(by)) => {
            let levels = before.cardinality();
            let mut change = Change::None;
            for (parent, by_state) in by.iter().enumerate() {
                let entries =
                    || (0..by_state.len()).flat_map(|state| (0..levels).map(move |level| (state, level)));
                if entries().all(|(s, l)| a.at_most(parent, s, l) == b.at_most(parent, s, l)) {
                    continue;
                }
                // Contributions of two parents are multiplied with each other.
                if !matches!(change, Change::None) {
                    return Change::Other;
                }
                change = Change::By(entries().map(|(s, l)| b.at_most(parent, s, l) * by_state[s][l]).sum());
            }
            change
        }
        _ => Change::Other,
    }
}

/// The variable of the cause, and which of its states are the cause.
fn acting(job: &Job, draft: &JobNetwork, cause: ConditionId) -> (VarId, Vec<f64>) {
    let part = job.machine.part_of(cause);
    let states = &job.machine.model.parts[part].states;
    let mask = states.iter().map(|s| f64::from(u8::from(s.acts() && s.condition() == Some(cause)))).collect();
    let variables = &draft.variables;
    (if job.is_running() { variables.at_arrival(part) } else { variables.now(part) }, mask)
}

/// Chance of one cause.
fn chance(job: &Job, cause: ConditionId) -> Result<f64, JobError> {
    Ok(weights::chances(job, !job.is_running())?[cause.index()])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::JobFile;
    use crate::lesson::mower;
    use crate::precision::EXACT;

    fn demo(steps: usize) -> Job<'static> {
        Job::new(mower(), &JobFile::demo().expect("the demo job is valid")).expect("valid").first(steps)
    }

    fn all(job: &Job, (cause, p): (ConditionId, f64)) -> Vec<(Parameter, SensitivityRange)> {
        let mut work = Sensitivity::new(job, cause, p).expect("possible");
        while !work.go_on(job).expect("goes on") {}
        work.ranges
    }

    fn leader(job: &Job) -> (ConditionId, f64) {
        super::super::robustness::leader(job).expect("possible").expect("a leader")
    }

    #[test]
    fn every_swing_is_what_a_job_with_that_number_says() {
        for steps in [4, 9] {
            let job = demo(steps);
            let (cause, p) = leader(&job);
            let ranges = all(&job, (cause, p));
            let told = ranges.iter().filter(|(_, s)| s.function.is_some()).count();
            assert!(told > 10 && ranges.len() > 30, "{told} of {}", ranges.len());
            for (parameter, swing) in &ranges {
                let anew = |value: f64| parameter.at(&job, value, |job| chance(job, cause));
                for (value, p) in [(swing.low, swing.p_low), (swing.high, swing.p_high)] {
                    let Some(p) = p else { continue };
                    let anew = anew(value).expect("a chance");
                    assert!((p - anew).abs() < EXACT, "{:?} at {value}: {p} and {anew}", swing.parameter);
                }
                let Some([a, b, c, d]) = swing.function else { continue };
                assert!((c * swing.now + d - 1.0).abs() < EXACT);
                // The function holds far from where it was found.
                for x in [swing.now, 0.25 * swing.now, swing.now + 0.3 * (1.0 - swing.now)] {
                    let anew = anew(x).expect("a chance");
                    let p = (a * x + b) / (c * x + d);
                    assert!((p - anew).abs() < EXACT, "{:?} at {x}: {p} and {anew}", swing.parameter);
                }
            }
        }
    }

    #[test]
    fn numbers_that_are_not_in_the_list_move_nothing() {
        // Before anything is found most numbers have to do with other parts.
        let job = demo(0);
        let (cause, p) = leader(&job);
        let listed: Vec<Parameter> =
            all(&job, (cause, p)).into_iter().map(|(parameter, _)| parameter).collect();
        let parameters = parameter::priors(&job).into_iter().chain(parameter::tables(&job));
        let mut still = 0;
        for parameter in parameters.filter(|f| !listed.contains(f)) {
            let Some([low, high]) = parameter.tried(&job) else { continue };
            for value in [low, high] {
                let anew = parameter.at(&job, value, |job| chance(job, cause)).expect("a chance");
                assert!((anew - p).abs() < EXACT, "{:?}", parameter.name(&job));
            }
            still += 1;
        }
        assert!(still > 0);
    }

    #[test]
    fn nothing_moves_a_cause_that_is_proved() {
        let job = demo(4);
        let (cause, _) = leader(&job);
        assert!(all(&job, (cause, 1.0)).is_empty() && all(&job, (cause, 0.0)).is_empty());
    }

    #[test]
    fn a_row_changed_sums_to_one_and_keeps_its_proportions() {
        let job = demo(4);
        let rows = parameter::tables(&job).into_iter().filter_map(|f| match f {
            Parameter::Finding { check, row, result } => Some((f, check, row, result)),
            _ => None,
        });
        let mut seen = 0;
        for (parameter, check, row, result) in rows {
            let Some([_, high]) = parameter.tried(&job) else { continue };
            let before = job.machine.check(check).rows[row].p.clone();
            let after = parameter
                .at(&job, high, |job| Ok(job.machine.check(check).rows[row].p.clone()))
                .expect("a row");
            assert!((after.iter().sum::<f64>() - 1.0).abs() < 1e-12 && after[result] == high);
            for other in (0..before.len()).filter(|i| *i != result && before[*i] > 0.0) {
                let factor = (1.0 - high) / (1.0 - before[result]);
                assert!((after[other] / before[other] - factor).abs() < 1e-12);
            }
            seen += 1;
        }
        assert!(seen > 0);
    }
}
