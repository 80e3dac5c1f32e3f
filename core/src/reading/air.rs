//! Air pressure, and the compression pressure that follows from it.
//!
//! Sources: U.S. Standard Atmosphere, 1976 (equal to ISO 2533:1975 below 11 km) for the air; the polytropic
//! law `p2 / p1 = r^n` for compression (any engine handbook). The theory over-reads a rope-pulled small
//! engine by a third to a half, because the engine leaks and loses heat at 500 turns a minute. So the tables
//! of a machine hold the values that gauges show. The theory here gives ratios (height, release), not limits.

/// Standard pressure at sea level, in pascal.
pub const SEA_LEVEL_PA: f64 = 101_325.0;

/// Pressure of the standard atmosphere in pascal at a geopotential height in metres, below 11 km.
///
/// `p = p0 (1 - L h / T0)^(g0 M / (R L))` with `T0` = 288.15 K, `L` = 6.5 K/km,
/// `g0` = 9.80665 m/s2, `M` = 0.0289644 kg/mol, `R` = 8.31432 J/(mol K).
///
/// ```
/// use halfsplit::reading::air::standard_pressure_pa;
/// // 5,000 ft: 12.228 psi in the published table.
/// let psi = standard_pressure_pa(1524.0) / 6894.757;
/// assert!((psi - 12.228).abs() < 5e-4);
/// ```
#[must_use]
pub fn standard_pressure_pa(height_m: f64) -> f64 {
    const T0: f64 = 288.15;
    const LAPSE: f64 = 0.0065;
    const EXPONENT: f64 = 9.806_65 * 0.028_964_4 / (8.314_32 * LAPSE);
    SEA_LEVEL_PA * (1.0 - LAPSE * height_m / T0).powf(EXPONENT)
}

/// Geopotential height for a geometric height, both in metres (earth radius 6,356,766 m).
#[must_use]
pub fn geopotential_m(geometric_m: f64) -> f64 {
    const RADIUS_M: f64 = 6_356_766.0;
    RADIUS_M * geometric_m / (RADIUS_M + geometric_m)
}

/// Factor on a compression gauge at a height in metres. Gauge pressure is the air pressure times `r^n - 1`,
/// so it falls in proportion to the air pressure.
#[must_use]
pub fn gauge_factor(height_m: f64) -> f64 {
    standard_pressure_pa(height_m) / SEA_LEVEL_PA
}

/// Gauge pressure at the end of compression, in the unit of `air`: `air (r^n - 1)`.
///
/// `ratio` is the compression ratio, `n` the exponent: 1.4 without loss of heat, 1.2 to 1.3 usual
/// for cranking.
#[must_use]
pub fn compression_gauge(air: f64, ratio: f64, n: f64) -> f64 {
    air * (ratio.powf(n) - 1.0)
}

/// Compression ratio that is left when a valve closes late.
///
/// `closes_after_bottom_deg` is the crank angle after bottom dead centre at which the valve seats
/// (180 less the angle before top for a release that holds it open); `rod_ratio` the length of the
/// rod over the stroke. Slider-crank geometry.
#[must_use]
pub fn effective_ratio(ratio: f64, closes_after_bottom_deg: f64, rod_ratio: f64) -> f64 {
    let angle = (180.0 + closes_after_bottom_deg).to_radians();
    let (crank, rod) = (0.5, rod_ratio);
    let down = crank + rod - crank * angle.cos() - (rod * rod - (crank * angle.sin()).powi(2)).sqrt();
    let clearance = 1.0 / (ratio - 1.0);
    (down + clearance) / clearance
}
