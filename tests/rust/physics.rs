//! Checks the formulas for air, compression and units, and that the assessment of readings uses them.
//!
//! Standard atmosphere: U.S. Standard Atmosphere, 1976. "Recomputed" values are computed from the
//! published laws in Python, independently of this program.

use halfsplit::advise::Assessment;
use halfsplit::job::{JobFile, Outcome, StepRecord};
use halfsplit::reading::Unit;
use halfsplit::reading::air::{
    SEA_LEVEL_PA, compression_gauge, effective_ratio, gauge_factor, geopotential_m, standard_pressure_pa,
};
use halfsplit_tests::{
    assess, attempt, between, cause, close, found, found_as, job, odds, predicted, printed, read,
};
use proptest::prelude::*;

/// One standard foot, and the pound-force per square inch (NIST SP 811, appendix B: exact, and
/// 6.894757 E+03 Pa).
const FOOT_M: f64 = 0.3048;
const PSI_PA: f64 = 6_894.757;
/// The air pressure at sea level in the pages on compression cited below, in psi.
const SEA_LEVEL_PSI: f64 = 14.7;

#[test]
fn pressure_of_the_standard_atmosphere() {
    // Published (university copy of the 1976 standard): 101 325 Pa at sea level.
    close("sea", SEA_LEVEL_PA, 101_325.0, 0.0);
    // Published in the same copy: p0 (1 - h / 44329 m)^5.255876. The source rounds the height
    // to five digits (288.15 K / 6.5 K/km is 44 331 m), which changes the pressure at 3 km by 1.5e-5 of
    // its value.
    for h in [0.0_f64, 500.0, 1500.0, 3000.0] {
        let law = SEA_LEVEL_PA * (1.0 - h / 44_329.0).powf(5.255_876);
        close(&format!("law at {h} m"), standard_pressure_pa(h) / law, 1.0, 2e-5);
    }
    // Published engineering table, geopotential feet: 14.696, 12.228, 10.108 psia. Its last row
    // differs by .002 from the law (recomputed 10.106).
    for (feet, psi, tolerance) in
        [(0.0, 14.696, 5e-4), (5e3, 12.228, 5e-4), (1e4, 10.106, 5e-4), (1e4, 10.108, 3e-3)]
    {
        let got = standard_pressure_pa(feet * FOOT_M) / PSI_PA;
        close(&format!("{feet} ft"), got, psi, tolerance);
    }
}

#[test]
fn geometric_and_geopotential_height() {
    // From memory of the widely printed table by geometric height, in hPa. The recomputed values agree
    // within .06 hPa.
    for (metres, hpa) in [(500.0, 954.6), (1000.0, 898.8), (1500.0, 845.6), (2000.0, 795.0), (3000.0, 701.2)]
    {
        let got = standard_pressure_pa(geopotential_m(metres)) / 100.0;
        close(&format!("{metres} m"), got, hpa, 0.06);
    }
    // Geometric and geopotential height are equal at sea level by definition. They differ by 1.4 m at 3 km
    // (3000^2 / 6 356 766).
    close("sea", geopotential_m(0.0), 0.0, 0.0);
    printed("3 km", 3000.0 - geopotential_m(3000.0), 1.4, 1);
}

#[test]
fn a_gauge_reads_less_at_height() {
    // Recomputed (geopotential height): .942, .887, .824, .785, .692.
    for (metres, factor) in
        [(0.0, 1.0), (500.0, 0.942), (1000.0, 0.887), (1600.0, 0.824), (2000.0, 0.785), (3000.0, 0.692)]
    {
        printed(&format!("{metres} m"), gauge_factor(metres), factor, 3);
    }
}

#[test]
fn compression_from_the_ratio() {
    // Published reference page: 9:1, n = 1.3, 14.7 psia gives 255.8 psia and 241 psig.
    let gauge = compression_gauge(SEA_LEVEL_PSI, 9.0, 1.3);
    printed("9:1 absolute", gauge + SEA_LEVEL_PSI, 255.8, 1);
    printed("9:1 gauge", gauge, 241.0, 0);
    // Published reference page: 7.5:1, n = 1.3 gives 201.8 psia, 187.1 psig.
    let gauge = compression_gauge(SEA_LEVEL_PSI, 7.5, 1.3);
    printed("7.5:1 absolute", gauge + SEA_LEVEL_PSI, 201.8, 1);
    printed("7.5:1 gauge", gauge, 187.1, 1);
    // Recomputed, 14.696 psia: 6:1 with n = 1.0, 1.2, 1.3, 1.4.
    for (n, psig) in [(1.0, 73.0), (1.2, 111.0), (1.3, 136.0), (1.4, 166.0)] {
        printed(&format!("6:1, n = {n}"), compression_gauge(14.696, 6.0, n), psig, 0);
    }
    // A ratio of 1:1 gives no gauge pressure, and the gauge pressure is proportional to the air pressure.
    close("1:1", compression_gauge(14.696, 1.0, 1.3), 0.0, 1e-12);
    let high = compression_gauge(14.696 * gauge_factor(1600.0), 8.5, 1.3);
    printed("at 1600 m", high / compression_gauge(14.696, 8.5, 1.3), 0.824, 3);
}

#[test]
fn a_valve_that_closes_late() {
    // Recomputed (slider-crank, rod 1.7 strokes): an intake valve that closes 60 degrees late reduces
    // 8.5:1 to 7.05:1, which gives 138 to 171 psig (n = 1.2 to 1.3).
    let late = effective_ratio(8.5, 60.0, 1.7);
    printed("60 late", late, 7.05, 2);
    printed("n 1.2", compression_gauge(14.696, late, 1.2), 138.0, 0);
    printed("n 1.3", compression_gauge(14.696, late, 1.3), 171.0, 0);
    // Recomputed: a release that holds a valve off its seat to 60 degrees before top dead centre leaves
    // 3.3:1 and 51 psig (n = 1.25). This explains readings of 45 to 55 psig on healthy engines.
    let released = effective_ratio(8.5, 120.0, 1.7);
    printed("released", released, 3.3, 1);
    printed("n 1.25", compression_gauge(14.696, released, 1.25), 51.0, 0);
    // A valve that closes at bottom dead centre loses no compression; a valve that never closes loses all
    // of it.
    close("on time", effective_ratio(8.5, 0.0, 1.7), 8.5, 1e-12);
    close("never", effective_ratio(8.5, 180.0, 1.7), 1.0, 1e-12);
}

proptest! {
    #[test]
    fn units_agree_with_their_definitions(x in -1e4_f64..1e4) {
        // NIST SP 811, appendix B: 1 psi = 6.894757 kPa, 1 bar = 100 kPa, 1 in = 25.4 mm.
        let near = |got: f64, expected: f64| (got - expected).abs() <= 1e-7 * expected.abs();
        prop_assert!(near(Unit::Psi.convert(x, Unit::Kpa).expect("both pressures"), x * 6.894_757));
        prop_assert!(near(Unit::Bar.convert(x, Unit::Kpa).expect("both pressures"), x * 100.0));
        prop_assert!(near(Unit::In.convert(x, Unit::Mm).expect("both lengths"), x * 25.4));
        prop_assert!(Unit::Mm.convert(x, Unit::Psi).is_err());
        prop_assert!(Unit::Percent.convert(x, Unit::In).is_err());
    }
}

const SEALING: [&str; 4] = ["rings/worn", "valves/leaking", "head-gasket/blown", "compression-release/stuck"];

/// The assessment after a failed start and the given steps, at a height.
fn after(height_m: f64, steps: &[StepRecord]) -> Assessment {
    let mut all = vec![attempt(Outcome::Nothing)];
    all.extend_from_slice(steps);
    assess(&JobFile { altitude_m: Some(height_m), ..job(&all) })
}

fn present(answer: &Assessment, id: &str) -> f64 {
    cause(answer, id).p_present
}

#[test]
fn a_reading_at_height_is_judged_like_the_reading_at_the_sea() {
    let factor = gauge_factor(1600.0);
    for psi in [90.0, 70.0, 50.0, 30.0, 20.0] {
        let sea = after(0.0, &[between("gauge-pull", [psi - 2.0, psi + 2.0], Unit::Psi)]);
        let low = [(psi - 2.0) * factor, (psi + 2.0) * factor];
        let high = after(1600.0, &[between("gauge-pull", low, Unit::Psi)]);
        let forgotten = after(0.0, &[between("gauge-pull", low, Unit::Psi)]);
        let mut moved: f64 = 0.0;
        for id in SEALING {
            // Slips of the hand do not scale with the air pressure. They are the only reason why the two
            // assessments differ.
            let ratio = odds(present(&high, id)) / odds(present(&sea, id));
            close(&format!("{psi} psi, {id}"), ratio, 1.0, 0.03);
            moved = moved.max((odds(present(&forgotten, id)) / odds(present(&sea, id))).ln().abs());
        }
        assert!(moved > 0.05, "{psi} psi: forgetting the height must matter ({moved})");
    }
}

#[test]
fn fifty_by_rope_is_health_with_a_release_and_sickness_without() {
    let fifty = read("gauge-pull", 50.0, Unit::Psi);
    let on = |release: &[StepRecord]| {
        let before = after(0.0, release);
        let with: Vec<StepRecord> = release.iter().cloned().chain([fifty.clone()]).collect();
        let now = after(0.0, &with);
        SEALING[..3].iter().map(|id| odds(present(&now, id)) / odds(present(&before, id))).collect::<Vec<_>>()
    };
    let fitted = on(&[found("release-data", "fitted")]);
    let unknown = on(&[]);
    let none = on(&[found("release-data", "not-fitted")]);
    for ((id, fitted), (unknown, none)) in SEALING.iter().zip(fitted).zip(unknown.into_iter().zip(none)) {
        assert!(fitted < 0.8, "{id}, fitted: {fitted}");
        assert!(none > 1.5, "{id}, none: {none}");
        assert!(fitted < unknown && unknown < none, "{id}: {fitted} {unknown} {none}");
    }
    // While it is unknown whether a release is fitted, the reading also makes a release more likely.
    let before = predicted(&after(0.0, &[]), "release-data", "fitted");
    let now = predicted(&after(0.0, &[fifty]), "release-data", "fitted");
    assert!(odds(now) > 2.0 * odds(before), "{before} to {now}");
}

#[test]
fn a_low_reading_moves_the_release_and_the_wear() {
    let low = read("gauge-pull", 30.0, Unit::Psi);
    let (before, now) = (after(0.0, &[]), after(0.0, std::slice::from_ref(&low)));
    let fitted = |a: &Assessment| predicted(a, "release-data", "fitted");
    assert!(odds(fitted(&now)) > 2.0 * odds(fitted(&before)));
    let none = after(0.0, &[found("release-data", "not-fitted"), low]);
    for id in &SEALING[..3] {
        assert!(present(&now, id) > 1.5 * present(&before, id), "{id}");
        assert!(present(&now, id) < present(&none, id), "{id}");
    }
}

#[test]
fn spinning_it_tells_a_release_from_a_leak() {
    // Most releases disengage when a drill spins the engine: 35 psi by rope and 95 psi by drill means a
    // release, 35 psi and 38 psi a leak.
    let rope = read("gauge-pull", 35.0, Unit::Psi);
    let release = after(0.0, &[rope.clone(), read("gauge-spun", 95.0, Unit::Psi)]);
    let leak = after(0.0, &[rope.clone(), read("gauge-spun", 38.0, Unit::Psi)]);
    let rope = after(0.0, &[rope]);
    for id in &SEALING[..3] {
        assert!(present(&release, id) < 0.7 * present(&rope, id), "{id} after a release");
        assert!(present(&leak, id) > present(&rope, id), "{id} after a leak");
    }
}

#[test]
fn a_pressure_is_the_same_in_every_unit() {
    for psi in [8.0, 30.0, 50.0, 95.0] {
        let answers: Vec<Assessment> = [Unit::Psi, Unit::Kpa, Unit::Bar]
            .into_iter()
            .map(|unit| {
                let value = Unit::Psi.convert(psi, unit).expect("a pressure");
                after(0.0, &[read("gauge-pull", value, unit)])
            })
            .collect();
        for other in &answers[1..] {
            for a in &answers[0].causes {
                let b = cause(other, &format!("{}/{}", a.part, a.condition));
                close(&a.name, b.p_present, a.p_present, 1e-9);
                close(&a.name, b.p_cause, a.p_cause, 1e-9);
            }
        }
    }
    // The plug gap, in millimetres and in inches.
    let gap = |value, unit| after(0.0, &[read("plug-gap-measured", value, unit)]);
    let (mm, inch) = (gap(1.27, Unit::Mm), gap(0.05, Unit::In));
    close("gap", present(&inch, "plug-gap/wide"), present(&mm, "plug-gap/wide"), 1e-9);
}

#[test]
fn a_number_says_more_than_its_band() {
    // 62 psi and 34 psi are both "middling", but the numbers lead to very different assessments.
    let band = after(0.0, &[found_as("gauge-pull", "middling", halfsplit::job::Provenance::Seen)]);
    let (high, low) = (
        after(0.0, &[read("gauge-pull", 62.0, Unit::Psi)]),
        after(0.0, &[read("gauge-pull", 34.0, Unit::Psi)]),
    );
    for id in &SEALING[..3] {
        assert!(present(&high, id) < present(&band, id) && present(&band, id) < present(&low, id), "{id}");
    }
}
