//! Properties of what is measured: fuels by weight, coils by temperature, sparks by voltage.

/// Temperature coefficient of the resistance of copper at 20 degrees Celsius, per kelvin:
/// International Annealed Copper Standard, IEC 28 (1925).
pub const COPPER_PER_KELVIN: f64 = 0.003_93;

/// Ratio of the resistance at `celsius` to that at `reference_c`, for a winding whose coefficient at the
/// reference is `per_kelvin`: `1 + a (T - T0)`.
///
/// ```
/// use halfsplit::reading::matter::{COPPER_PER_KELVIN, growth};
/// // A copper winding at 80 degrees reads 24 % high.
/// assert!((growth(COPPER_PER_KELVIN, 20.0, 80.0) - 1.236).abs() < 5e-4);
/// ```
#[must_use]
pub fn growth(per_kelvin: f64, reference_c: f64, celsius: f64) -> f64 {
    1.0 + per_kelvin * (celsius - reference_c)
}

/// Weight in grams of `sample_ml` of a mixture of `(share by volume, density in kg/m3)`. Volumes are assumed
/// to add.
///
/// ```
/// use halfsplit::reading::matter::sample_grams;
/// // Half diesel at 835 and half petrol at 745 kg/m3: 79.0 g in 100 mL.
/// assert!((sample_grams(100.0, &[(0.5, 745.0), (0.5, 835.0)]) - 79.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn sample_grams(sample_ml: f64, mixture: &[(f64, f64)]) -> f64 {
    mixture.iter().map(|(share, density)| share * density * sample_ml * 1e-3).sum()
}

/// Height of the lower layer, as a percentage of the tube, after nine parts of fuel were shaken with one of
/// water. The layer is the water, the ethanol that the water washed out, and the free water that was in the
/// fuel. `ethanol` and `free_water` are shares of the fuel. Volumes are assumed to add.
#[must_use]
pub fn lower_layer_percent(ethanol: f64, free_water: f64) -> f64 {
    100.0 * (0.1 + 0.9 * (ethanol + free_water))
}

/// Breakdown voltage in kilovolts of a uniform gap in air: `24.22 x + 6.08 sqrt(x)`. Here `x` is the gap in
/// centimetres times the density of the gas over that of air at 760 torr and 20 degrees Celsius. (Naidu and
/// Kamaraju, High Voltage Engineering, chapter 2, from memory; pointed electrodes need less.)
#[must_use]
pub fn spark_kv(gap_mm: f64, relative_density: f64) -> f64 {
    let x = gap_mm / 10.0 * relative_density;
    24.22 * x + 6.08 * x.sqrt()
}

/// Ratio of the density of the charge at the end of compression to that of the air outside: `(1 + p)^(1/n)`.
/// `p` is the gauge pressure in units of the air pressure, and `n` is 1.4 for a quick stroke.
#[must_use]
pub fn compressed_density(gauge_in_atmospheres: f64, n: f64) -> f64 {
    (1.0 + gauge_in_atmospheres).powf(1.0 / n)
}
