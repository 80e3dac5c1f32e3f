//! Arithmetic on lanes, with identical results for every width of the registers: four lanes at a time on
//! processors with AVX2, two on other x86-64 processors and in WebAssembly with simd128, otherwise one.

pub(super) use arithmetic::{add, max_magnitude, multiply};

/// Runs `work`, compiled for the widest registers that the processor has.
#[cfg(not(target_arch = "wasm32"))]
#[inline(always)]
pub(super) fn with_simd<const L: usize>(work: impl FnOnce()) {
    if L > 2 { pulp::Arch::new().dispatch(work) } else { work() }
}

#[cfg(target_arch = "wasm32")]
#[inline(always)]
pub(super) fn with_simd<const L: usize>(work: impl FnOnce()) {
    work();
}

/// `a[lane] *= factor` in every lane.
#[inline(always)]
pub(super) fn multiply_by<const L: usize>(a: &mut [f64; L], factor: f64) {
    multiply(a, &[factor; L]);
}

/// Loops that the compiler vectorises.
#[cfg(not(all(target_arch = "wasm32", target_feature = "simd128")))]
mod arithmetic {
    /// `a[lane] *= b[lane]`.
    #[inline(always)]
    pub(crate) fn multiply<const L: usize>(a: &mut [f64; L], b: &[f64; L]) {
        for lane in 0..L {
            a[lane] *= b[lane];
        }
    }

    /// `a[lane] += b[lane]`.
    #[inline(always)]
    pub(crate) fn add<const L: usize>(a: &mut [f64; L], b: &[f64; L]) {
        for lane in 0..L {
            a[lane] += b[lane];
        }
    }

    /// `a[lane] = max(a[lane], |b[lane]|)`.
    #[inline(always)]
    pub(crate) fn max_magnitude<const L: usize>(a: &mut [f64; L], b: &[f64; L]) {
        for lane in 0..L {
            let size = b[lane].abs();
            a[lane] = if size > a[lane] { size } else { a[lane] };
        }
    }
}

/// Explicit instructions for two lanes: the compiler does not vectorise at the optimisation level of the web
/// engine.
#[cfg(all(target_arch = "wasm32", target_feature = "simd128"))]
mod arithmetic {
    use bytemuck::must_cast;
    use core::arch::wasm32::{f64x2_abs, f64x2_add, f64x2_mul, f64x2_pmax, v128};

    #[inline(always)]
    pub(crate) fn multiply<const L: usize>(a: &mut [f64; L], b: &[f64; L]) {
        by_two(a, b, |a, b| f64x2_mul(a, b), |a, b| a * b);
    }

    #[inline(always)]
    pub(crate) fn add<const L: usize>(a: &mut [f64; L], b: &[f64; L]) {
        by_two(a, b, |a, b| f64x2_add(a, b), |a, b| a + b);
    }

    #[inline(always)]
    pub(crate) fn max_magnitude<const L: usize>(a: &mut [f64; L], b: &[f64; L]) {
        by_two(a, b, |a, b| f64x2_pmax(a, f64x2_abs(b)), |a, b| if b.abs() > a { b.abs() } else { a });
    }

    #[inline(always)]
    fn by_two<const L: usize>(
        a: &mut [f64; L],
        b: &[f64; L],
        two: impl Fn(v128, v128) -> v128,
        one: impl Fn(f64, f64) -> f64,
    ) {
        let ((a, a_left), (b, b_left)) = (a.as_chunks_mut::<2>(), b.as_chunks::<2>());
        for (a, b) in a.iter_mut().zip(b) {
            *a = must_cast(two(must_cast(*a), must_cast(*b)));
        }
        for (a, b) in a_left.iter_mut().zip(b_left) {
            *a = one(*a, *b);
        }
    }
}
