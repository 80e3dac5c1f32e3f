//! Arithmetic of lanes: the same in every lane, to the last bit, by the registers that there are. Four lanes at a
//! time where a processor is found to have AVX2, two in plain x86-64; in WebAssembly two where it was compiled with
//! simd128, and else one.

pub(super) use arithmetic::{larger, plus, times};

/// Does some work on lanes with the widest registers that the processor has.
#[cfg(not(target_arch = "wasm32"))]
#[inline(always)]
pub(super) fn wide_registers<const L: usize>(work: impl FnOnce()) {
    if L > 2 { pulp::Arch::new().dispatch(work) } else { work() }
}

#[cfg(target_arch = "wasm32")]
#[inline(always)]
pub(super) fn wide_registers<const L: usize>(work: impl FnOnce()) {
    work();
}

/// `a[lane] *= factor` in every lane.
#[inline(always)]
pub(super) fn times_one<const L: usize>(a: &mut [f64; L], factor: f64) {
    times(a, &[factor; L]);
}

/// Loops that the compiler turns into registers of what it is told there is.
#[cfg(not(all(target_arch = "wasm32", target_feature = "simd128")))]
mod arithmetic {
    /// `a[lane] *= b[lane]`.
    #[inline(always)]
    pub(crate) fn times<const L: usize>(a: &mut [f64; L], b: &[f64; L]) {
        for lane in 0..L {
            a[lane] *= b[lane];
        }
    }

    /// `a[lane] += b[lane]`.
    #[inline(always)]
    pub(crate) fn plus<const L: usize>(a: &mut [f64; L], b: &[f64; L]) {
        for lane in 0..L {
            a[lane] += b[lane];
        }
    }

    /// Keeps what is further from 0, without its sign.
    #[inline(always)]
    pub(crate) fn larger<const L: usize>(a: &mut [f64; L], b: &[f64; L]) {
        for lane in 0..L {
            let size = b[lane].abs();
            a[lane] = if size > a[lane] { size } else { a[lane] };
        }
    }
}

/// Registers of two by hand: at the level at which the page's engine is compiled the compiler looks for none.
#[cfg(all(target_arch = "wasm32", target_feature = "simd128"))]
mod arithmetic {
    use bytemuck::must_cast;
    use core::arch::wasm32::{f64x2_abs, f64x2_add, f64x2_mul, f64x2_pmax, v128};

    #[inline(always)]
    pub(crate) fn times<const L: usize>(a: &mut [f64; L], b: &[f64; L]) {
        by_two(a, b, |a, b| f64x2_mul(a, b), |a, b| a * b);
    }

    #[inline(always)]
    pub(crate) fn plus<const L: usize>(a: &mut [f64; L], b: &[f64; L]) {
        by_two(a, b, |a, b| f64x2_add(a, b), |a, b| a + b);
    }

    #[inline(always)]
    pub(crate) fn larger<const L: usize>(a: &mut [f64; L], b: &[f64; L]) {
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
