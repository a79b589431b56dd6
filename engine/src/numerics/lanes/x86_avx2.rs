//! Four numbers in a vector of AVX2, with fused multiply-add.

#![allow(
    unsafe_code,
    reason = "intrinsics: `Four` is named by `dispatch` alone, after it has seen that the processor has AVX2 and FMA"
)]

#[allow(clippy::wildcard_imports, reason = "a file of intrinsics")]
use std::arch::x86_64::*;
use std::ops::{Add, BitAnd, BitOr, Div, Mul, Neg, Not, Sub};

use super::{Lane, Mask};

/// Four numbers.
#[derive(Debug, Clone, Copy)]
pub(super) struct Four(__m256d);

/// Four truths: all bits of an item, or none.
#[derive(Debug, Clone, Copy)]
pub(super) struct FourTruths(__m256d);

macro_rules! operator {
    ($Trait:ident, $name:ident, $intrinsic:ident) => {
        impl $Trait for Four {
            type Output = Self;
            #[inline(always)]
            fn $name(self, other: Self) -> Self {
                // SAFETY: the processor has AVX2, see the head of this file.
                Four(unsafe { $intrinsic(self.0, other.0) })
            }
        }
        impl $Trait<f64> for Four {
            type Output = Self;
            #[inline(always)]
            fn $name(self, other: f64) -> Self {
                self.$name(Four::splat(other))
            }
        }
    };
}
operator!(Add, add, _mm256_add_pd);
operator!(Sub, sub, _mm256_sub_pd);
operator!(Mul, mul, _mm256_mul_pd);
operator!(Div, div, _mm256_div_pd);

/// A lane or mask from an expression of intrinsics.
macro_rules! vector {
    ($Kind:ident, $value:expr) => {
        // SAFETY: the processor has AVX2 and FMA, see the head of this file.
        $Kind(unsafe { $value })
    };
}

impl Neg for Four {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        vector!(Four, _mm256_xor_pd(self.0, _mm256_set1_pd(-0.0)))
    }
}

impl Lane for Four {
    type Mask = FourTruths;
    type Twin = Self;
    const ITEMS: usize = 4;

    #[inline(always)]
    fn splat(x: f64) -> Self {
        vector!(Four, _mm256_set1_pd(x))
    }
    #[inline(always)]
    fn load(from: &[f64]) -> Self {
        let from = &from[..4];
        vector!(Four, _mm256_loadu_pd(from.as_ptr()))
    }
    #[inline(always)]
    fn store(self, to: &mut [f64]) {
        let to = &mut to[..4];
        // SAFETY: there are four places, and the processor has AVX2.
        unsafe { _mm256_storeu_pd(to.as_mut_ptr(), self.0) }
    }
    #[inline(always)]
    fn mul_add(self, factor: Self, term: Self) -> Self {
        vector!(Four, _mm256_fmadd_pd(self.0, factor.0, term.0))
    }
    #[inline(always)]
    fn neg_mul_add(self, factor: Self, term: Self) -> Self {
        vector!(Four, _mm256_fnmadd_pd(self.0, factor.0, term.0))
    }
    #[inline(always)]
    fn mul_sub(self, factor: Self, term: Self) -> Self {
        vector!(Four, _mm256_fmsub_pd(self.0, factor.0, term.0))
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        vector!(Four, _mm256_sqrt_pd(self.0))
    }
    #[inline(always)]
    fn abs(self) -> Self {
        vector!(Four, _mm256_andnot_pd(_mm256_set1_pd(-0.0), self.0))
    }
    #[inline(always)]
    fn min(self, other: Self) -> Self {
        vector!(Four, _mm256_min_pd(self.0, other.0))
    }
    #[inline(always)]
    fn max(self, other: Self) -> Self {
        vector!(Four, _mm256_max_pd(self.0, other.0))
    }
    #[inline(always)]
    fn copysign(self, sign: Self) -> Self {
        vector!(Four, {
            let mask = _mm256_set1_pd(-0.0);
            _mm256_or_pd(_mm256_andnot_pd(mask, self.0), _mm256_and_pd(mask, sign.0))
        })
    }
    #[inline(always)]
    fn round(self) -> Self {
        vector!(Four, _mm256_round_pd::<{ _MM_FROUND_TO_NEAREST_INT | _MM_FROUND_NO_EXC }>(self.0))
    }
    #[inline(always)]
    fn less(self, other: Self) -> FourTruths {
        vector!(FourTruths, _mm256_cmp_pd::<_CMP_LT_OQ>(self.0, other.0))
    }
    #[inline(always)]
    fn at_most(self, other: Self) -> FourTruths {
        vector!(FourTruths, _mm256_cmp_pd::<_CMP_LE_OQ>(self.0, other.0))
    }
    #[inline(always)]
    fn equal(self, other: Self) -> FourTruths {
        vector!(FourTruths, _mm256_cmp_pd::<_CMP_EQ_OQ>(self.0, other.0))
    }
    #[inline(always)]
    fn select(mask: FourTruths, yes: Self, no: Self) -> Self {
        vector!(Four, _mm256_blendv_pd(no.0, yes.0, mask.0))
    }
    #[inline(always)]
    fn and_bits(self, mask: u64) -> Self {
        vector!(Four, _mm256_and_pd(self.0, _mm256_set1_pd(f64::from_bits(mask))))
    }
    #[inline(always)]
    fn or_bits(self, mask: u64) -> Self {
        vector!(Four, _mm256_or_pd(self.0, _mm256_set1_pd(f64::from_bits(mask))))
    }
    #[inline(always)]
    fn add_bits(self, n: u64) -> Self {
        vector!(Four, {
            _mm256_castsi256_pd(_mm256_add_epi64(_mm256_castpd_si256(self.0), _mm256_set1_epi64x(n.cast_signed())))
        })
    }
    #[inline(always)]
    fn shift_bits_up<const N: u32>(self) -> Self {
        vector!(Four, {
            let count = _mm_cvtsi32_si128(N.cast_signed());
            _mm256_castsi256_pd(_mm256_sll_epi64(_mm256_castpd_si256(self.0), count))
        })
    }
    #[inline(always)]
    fn shift_bits_down<const N: u32>(self) -> Self {
        vector!(Four, {
            let count = _mm_cvtsi32_si128(N.cast_signed());
            _mm256_castsi256_pd(_mm256_srl_epi64(_mm256_castpd_si256(self.0), count))
        })
    }
}

impl BitAnd for FourTruths {
    type Output = Self;
    #[inline(always)]
    fn bitand(self, other: Self) -> Self {
        vector!(FourTruths, _mm256_and_pd(self.0, other.0))
    }
}

impl BitOr for FourTruths {
    type Output = Self;
    #[inline(always)]
    fn bitor(self, other: Self) -> Self {
        vector!(FourTruths, _mm256_or_pd(self.0, other.0))
    }
}

impl Not for FourTruths {
    type Output = Self;
    #[inline(always)]
    fn not(self) -> Self {
        vector!(FourTruths, _mm256_xor_pd(self.0, _mm256_castsi256_pd(_mm256_set1_epi64x(-1))))
    }
}

impl Mask for FourTruths {
    const ITEMS: u32 = 4;

    #[inline(always)]
    fn any(self) -> bool {
        self.bits() != 0
    }
    #[inline(always)]
    fn all(self) -> bool {
        self.bits() == 0xf
    }
    #[inline(always)]
    fn bits(self) -> u32 {
        // SAFETY: the processor has AVX2, see the head of this file.
        unsafe { _mm256_movemask_pd(self.0) }.cast_unsigned()
    }
}
