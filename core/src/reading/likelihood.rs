//! Likelihood of a reading under several laws, with tails that keep their evidence.
//!
//! Let `f_r(x)` be the chance of the reading `x` under law `r`, slips included. Slips are spread evenly over the
//! scale. Beyond the tails of all laws only slips are left, and all laws are alike, as if nothing had been read.
//! But a battery that shows 5 V is not less flat than one that shows 11.9 V. So a law that a reading has left
//! behind stays behind:
//!
//! ```text
//! E_r(x) = f_r(x) / g(x)                            within the usual range of law r
//! E_r(x) = min { f_r(y) / g(y) : y from there to x }   beyond it
//! ```
//!
//! The usual range of a law is its middle 95 %, without slips (two standard deviations of a normal law). The
//! reference `g` is the largest `f`. Beyond the usual ranges of all laws it is the `f` of the outermost one.
//! Otherwise the widest law would win far out, on whichever side.

use super::{Law, Span};

/// Share of a law on either side of its usual range.
const TAIL: f64 = 0.025;

/// Readings between a law and a reading are taken at every step of the scale, but at most this many on the whole
/// scale.
const STEPS: f64 = 4096.0;

/// A reading wider than this many steps of the scale is a range, not a number.
const WIDEST_NUMBER: f64 = 2.0;

/// A direction on the scale.
#[derive(Clone, Copy, PartialEq)]
enum Side {
    Above,
    Below,
}

/// By law: the likelihood of a reading, relative to the largest. `resolution` is a step of the scale, which all
/// laws share.
#[must_use]
pub fn relative_likelihoods(laws: &[Law], span: Span, resolution: f64) -> Vec<f64> {
    let mut held = scaled(masses(laws, span));
    for side in [Side::Above, Side::Below] {
        let passed = passed(laws, span, resolution, side);
        let Some(outermost) = outermost(laws, &passed, side) else { continue };
        if passed[0].beyond.iter().all(|beyond| *beyond) {
            held.fill(f64::INFINITY);
        }
        for place in &passed {
            let all_beyond = place.beyond.iter().all(|beyond| *beyond);
            let largest = place.masses.iter().copied().fold(0.0, f64::max);
            let reference = if all_beyond { place.masses[outermost] } else { largest };
            for r in (0..laws.len()).filter(|r| place.beyond[*r] && reference > 0.0) {
                held[r] = held[r].min(place.masses[r] / reference);
            }
        }
    }
    scaled(held)
}

/// A reading between the laws and the reading that was made.
struct Place {
    span: Span,
    /// By law: the chance of the reading.
    masses: Vec<f64>,
    /// By law: whether it has been left behind.
    beyond: Vec<bool>,
}

/// The reading, and those nearer to the laws, up to the first that has left no law behind.
fn passed(laws: &[Law], span: Span, resolution: f64, side: Side) -> Vec<Place> {
    let mut passed = Vec::new();
    for span in std::iter::once(span).chain(nearer(laws, span, resolution, side)) {
        let beyond: Vec<bool> = laws.iter().map(|law| rest(law, span, side) < TAIL).collect();
        let last = !beyond.contains(&true);
        passed.push(Place { span, masses: masses(laws, span), beyond });
        if last {
            break;
        }
    }
    passed
}

/// The law with the outermost end: the last one that a reading leaves behind. None if none is left behind.
fn outermost(laws: &[Law], passed: &[Place], side: Side) -> Option<usize> {
    let place = passed.iter().find(|place| place.beyond.contains(&false))?;
    let share = |r: &usize| rest(&laws[*r], place.span, side);
    passed[0].beyond.contains(&true).then(|| (0..laws.len()).max_by(|a, b| share(a).total_cmp(&share(b))))?
}

/// By law: the chance of the span.
fn masses(laws: &[Law], span: Span) -> Vec<f64> {
    laws.iter().map(|law| law.mass(span)).collect()
}

/// The numbers relative to the largest; all 1 if there is none above 0.
fn scaled(mut all: Vec<f64>) -> Vec<f64> {
    let largest = all.iter().copied().filter(|p| p.is_finite()).fold(0.0, f64::max);
    all.iter_mut().for_each(|p| *p = if largest > 0.0 && p.is_finite() { *p / largest } else { 1.0 });
    all
}

/// Share of the law at the span and further out on this side, without slips.
fn rest(law: &Law, span: Span, side: Side) -> f64 {
    let [low, high] = law.scale();
    law.mass_without_slips(match side {
        Side::Above => Span { from: span.from, to: high },
        Side::Below => Span { from: low, to: span.to },
    })
}

/// The same kind of reading at every step of the scale that is nearer to the laws, beginning with the nearest to
/// the reading. A range that ends with the scale ("over 40") keeps that end; any other keeps its width.
fn nearer(laws: &[Law], span: Span, resolution: f64, side: Side) -> impl Iterator<Item = Span> {
    let [low, high] = laws.first().map_or([0.0, 0.0], Law::scale);
    let width = span.to - span.from;
    let step = resolution.max((high - low) / STEPS);
    let open = width > WIDEST_NUMBER * resolution
        && match side {
            Side::Above => span.to >= high,
            Side::Below => span.from <= low,
        };
    // A number stands in the middle of its span, so that the marks of the scale are those middles.
    let half = if open { 0.0 } else { width / 2.0 };
    let distance = match side {
        Side::Above => span.from + half - low,
        Side::Below => high - (span.to - half),
    };
    let marks = (distance / step - 1e-6).ceil().max(0.0) as usize;
    (0..marks).rev().map(move |mark| {
        let at = mark as f64 * step;
        match (side, open) {
            (Side::Above, true) => Span { from: low + at, to: high },
            (Side::Below, true) => Span { from: low, to: high - at },
            (Side::Above, false) => Span { from: low + at - half, to: low + at + half },
            (Side::Below, false) => Span { from: high - at - half, to: high - at + half },
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::precision::EXACT;
    use crate::reading::LawShape;

    const RESOLUTION: f64 = 0.05;

    /// Battery voltages: charged, half charged, flat (means and spreads of a usual 12 V battery).
    fn laws() -> Vec<Law> {
        let normal = |mean, sd| (1.0, LawShape::Normal { mean, sd });
        [(12.6, 0.13), (12.25, 0.2), (11.9, 0.4)]
            .map(|(mean, sd)| Law::new(&[normal(mean, sd)], 0.0, 15.0, 0.02).unwrap())
            .to_vec()
    }

    fn at(volts: f64) -> Vec<f64> {
        relative_likelihoods(
            &laws(),
            Span { from: volts - RESOLUTION / 2.0, to: volts + RESOLUTION / 2.0 },
            RESOLUTION,
        )
    }

    fn same(a: &[f64], b: &[f64]) {
        assert!(a.iter().zip(b).all(|(a, b)| (a - b).abs() < EXACT), "{a:?} {b:?}");
    }

    /// The likelihoods without the hold.
    fn plain(from: f64, to: f64) -> Vec<f64> {
        scaled(masses(&laws(), Span { from, to }))
    }

    #[test]
    fn readings_between_the_middles_of_the_outer_laws_stay_as_they_are() {
        for volts in [11.9, 12.2, 12.4, 12.6] {
            same(&at(volts), &plain(volts - RESOLUTION / 2.0, volts + RESOLUTION / 2.0));
        }
    }

    #[test]
    fn a_law_that_is_left_behind_stays_behind() {
        let steps = |from: f64, to: f64| {
            let count = ((from - to).abs() / RESOLUTION).round() as usize;
            (0..=count).map(move |i| from + (to - from) / count as f64 * i as f64)
        };
        // From the usual range of the outermost law, which is 11.9 to 12.9 V here, to the end of the scale.
        for (leads, others, start, end) in [(2, [0, 1], 11.9, 0.0), (0, [1, 2], 12.9, 15.0)] {
            let way = steps(start, end);
            let mut before = at(start);
            for volts in way {
                let now = at(volts);
                for other in others {
                    assert!(
                        now[leads] / now[other] >= before[leads] / before[other] * (1.0 - EXACT),
                        "{volts}"
                    );
                }
                before = now;
            }
        }
        // Without the hold only slips are left at 5 V, and all laws are alike there.
        same(&plain(4.975, 5.025), &[1.0; 3]);
        assert!(at(5.0)[0] < 0.01);
    }

    #[test]
    fn a_range_beyond_the_tails_keeps_its_evidence() {
        let over = |from: f64| relative_likelihoods(&laws(), Span { from, to: 15.0 }, RESOLUTION);
        same(&over(12.4), &plain(12.4, 15.0));
        let clear = over(12.8);
        let far = over(14.0);
        assert!(far[2] <= clear[2] && far[1] <= clear[1] && far[0] == 1.0, "{clear:?} {far:?}");
        let between = relative_likelihoods(&laws(), Span { from: 2.0, to: 4.0 }, RESOLUTION);
        assert!(between[0] < 0.1 && between[2] == 1.0, "{between:?}");
    }

    #[test]
    fn laws_without_slips_and_without_a_reading_give_numbers() {
        let law = |mean| Law::new(&[(1.0, LawShape::Normal { mean, sd: 1.0 })], 0.0, 900.0, 0.0).unwrap();
        let far = relative_likelihoods(&[law(10.0), law(20.0)], Span { from: 799.5, to: 800.5 }, 1.0);
        assert!(far[1] == 1.0 && far[0] < 1e-6, "{far:?}");
        assert!(relative_likelihoods(&[], Span { from: 0.0, to: 1.0 }, 1.0).is_empty());
    }
}
