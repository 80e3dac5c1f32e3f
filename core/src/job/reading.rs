//! Readings as they are recorded, on the scale of their gauge.

use super::{JobError, JobRule, ReadingRecord};
use crate::machine::model::ReadingModel;
use crate::machine::resolve::TEMPERATURE_RANGE;
use crate::reading::{Quantity, Span, UnitError, relative_likelihoods};

/// A gauge that a reading went past has an end; the next larger gauge has about twice the range. A number beyond
/// that is a mistake.
const LARGER_GAUGE: f64 = 2.0;

impl ReadingModel {
    /// The values of a band.
    pub(crate) fn band(&self, at: usize) -> Span {
        let from = if at == 0 { self.range[0] } else { self.edges[at - 1] };
        Span { from, to: self.edges.get(at).copied().unwrap_or(self.range[1]) }
    }

    /// The band that holds a value.
    pub(crate) fn band_of(&self, value: f64) -> usize {
        self.edges.iter().take_while(|e| value >= **e).count()
    }

    /// By row: the likelihood of a finding relative to the row that makes it most likely. A whole band has the
    /// chance that is predicted for it; any other reading has the [`relative_likelihoods`] of its laws. Readings
    /// that depend on air pressure are `air` times those at sea level.
    pub(crate) fn likelihoods(&self, air: f64, span: Span) -> Vec<f64> {
        let laws = self.laws(air);
        if !(0..=self.edges.len()).any(|at| self.band(at) == span) {
            return relative_likelihoods(&laws, span, self.resolution);
        }
        let masses: Vec<f64> = laws.iter().map(|law| law.mass(span)).collect();
        let largest = masses.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
        masses.iter().map(|mass| mass / largest).collect()
    }
}

/// A number, rounded to four decimal places.
pub(super) fn short(x: f64) -> f64 {
    (x * 1e4).round() / 1e4
}

/// Ratio of a reading at the temperature of the object measured to the reading at the reference temperature.
fn growth(place: &str, reading: &ReadingRecord, model: &ReadingModel) -> Result<f64, JobError> {
    let Some(temperature) = reading.temperature else { return Ok(1.0) };
    if model.follows_temperature.is_none() {
        return Err(JobError::rule(format!("{place}.temperature"), JobRule::NoTemperature));
    }
    let celsius = temperature.unit.to_celsius(temperature.value);
    let [low, high] = TEMPERATURE_RANGE;
    if !(low..=high).contains(&celsius) {
        return Err(JobError::rule(
            format!("{place}.temperature"),
            JobRule::Temperature { celsius: short(celsius), lowest: low, highest: high },
        ));
    }
    Ok(model.growth(celsius))
}

/// The numbers of a reading on the scale of its gauge.
struct Scale<'a> {
    place: &'a str,
    reading: &'a ReadingRecord,
    model: &'a ReadingModel,
    growth: f64,
}

impl Scale<'_> {
    /// A number in the unit of the gauge, at the reference temperature.
    fn converted(&self, x: f64) -> Result<f64, JobError> {
        if !x.is_finite() {
            return Err(JobError::rule(self.place, JobRule::NotFinite));
        }
        let converted = self.reading.unit.convert(x, self.model.unit);
        converted.map(|x| x / self.growth).map_err(|UnitError { given, wanted }| {
            JobError::rule(format!("{}.unit", self.place), JobRule::WrongUnit { given, wanted })
        })
    }

    /// A number that the gauge can show.
    fn shown(&self, x: f64) -> Result<f64, JobError> {
        let [low, high] = self.model.range;
        let own = self.converted(x)?;
        // Tolerance for rounding errors of the conversion at the ends of the scale.
        let slack = (high - low) * 1e-9;
        if (low - slack..=high + slack).contains(&own) {
            return Ok(own.clamp(low, high));
        }
        Err(self.off_scale(x, own))
    }

    /// A number that a reading went past. A number beyond the end of the scale, as a larger gauge may show it,
    /// counts as the last step of the scale.
    fn passed(&self, x: f64) -> Result<f64, JobError> {
        let [_, high] = self.model.range;
        let own = self.converted(x)?;
        if own < high {
            return self.shown(x);
        }
        if self.model.unit.quantity() == Quantity::Percent {
            return Err(JobError::rule(self.place, JobRule::NothingOver));
        }
        if own > LARGER_GAUGE * high {
            return Err(self.off_scale(x, own));
        }
        Ok(high - self.model.resolution)
    }

    fn off_scale(&self, given: f64, own: f64) -> JobError {
        let [lowest, highest] = self.model.range;
        let (given_unit, unit) = (self.reading.unit, self.model.unit);
        let rule = JobRule::OffScale { given, given_unit, own: short(own), unit, lowest, highest };
        JobError::rule(self.place, rule)
    }
}

/// The values that a reading stands for, in the check's unit.
pub(super) fn span(place: &str, reading: &ReadingRecord, model: &ReadingModel) -> Result<Span, JobError> {
    let growth = growth(place, reading, model)?;
    let scale = Scale { place, reading, model, growth };
    match (reading.value, reading.over, reading.between) {
        (Some(value), None, None) => {
            let value = scale.shown(value)?;
            let half = model.resolution / growth / 2.0;
            Ok(Span { from: value - half, to: value + half })
        }
        (None, Some(over), None) => Ok(Span { from: scale.passed(over)?, to: model.range[1] }),
        (None, None, Some([a, b])) => {
            let (from, to) = (scale.shown(a)?, scale.shown(b)?);
            if from >= to {
                return Err(JobError::rule(place, JobRule::EdgesTurned));
            }
            Ok(Span { from, to })
        }
        _ => Err(JobError::rule(place, JobRule::OneWay)),
    }
}
