//! Eight numbers in a vector of AVX-512.

#![allow(
    unsafe_code,
    reason = "intrinsics: `Eight` is named by `dispatch` alone, after it has seen that the processor has AVX-512 F and DQ"
)]

#[allow(clippy::wildcard_imports, reason = "a file of intrinsics")]
use std::arch::x86_64::*;
use std::ops::{Add, BitAnd, BitOr, Div, Mul, Neg, Not, Sub};

use super::{Lane, Mask, Pair};

/// Eight numbers.
#[derive(Debug, Clone, Copy)]
pub(super) struct Eight(__m512d);

/// Eight truths, a bit each.
#[derive(Debug, Clone, Copy)]
pub(super) struct EightTruths(__mmask8);

macro_rules! operator {
    ($Trait:ident, $name:ident, $intrinsic:ident) => {
        impl $Trait for Eight {
            type Output = Self;
            #[inline(always)]
            fn $name(self, other: Self) -> Self {
                // SAFETY: the processor has AVX-512, see the head of this file.
                Eight(unsafe { $intrinsic(self.0, other.0) })
            }
        }
        impl $Trait<f64> for Eight {
            type Output = Self;
            #[inline(always)]
            fn $name(self, other: f64) -> Self {
                self.$name(Eight::splat(other))
            }
        }
    };
}
operator!(Add, add, _mm512_add_pd);
operator!(Sub, sub, _mm512_sub_pd);
operator!(Mul, mul, _mm512_mul_pd);
operator!(Div, div, _mm512_div_pd);

/// A lane or mask from an expression of intrinsics.
macro_rules! vector {
    ($Kind:ident, $value:expr) => {
        // SAFETY: the processor has AVX-512, see the head of this file.
        $Kind(unsafe { $value })
    };
}

impl Neg for Eight {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        vector!(Eight, _mm512_xor_pd(self.0, _mm512_set1_pd(-0.0)))
    }
}

impl Lane for Eight {
    type Mask = EightTruths;
    type Twin = Pair<Self>;
    const ITEMS: usize = 8;

    #[inline(always)]
    fn splat(x: f64) -> Self {
        vector!(Eight, _mm512_set1_pd(x))
    }
    #[inline(always)]
    fn load(from: &[f64]) -> Self {
        let from = &from[..8];
        vector!(Eight, _mm512_loadu_pd(from.as_ptr()))
    }
    #[inline(always)]
    fn store(self, to: &mut [f64]) {
        let to = &mut to[..8];
        // SAFETY: there are eight places, and the processor has AVX-512.
        unsafe { _mm512_storeu_pd(to.as_mut_ptr(), self.0) }
    }
    #[inline(always)]
    fn mul_add(self, factor: Self, term: Self) -> Self {
        vector!(Eight, _mm512_fmadd_pd(self.0, factor.0, term.0))
    }
    #[inline(always)]
    fn neg_mul_add(self, factor: Self, term: Self) -> Self {
        vector!(Eight, _mm512_fnmadd_pd(self.0, factor.0, term.0))
    }
    #[inline(always)]
    fn mul_sub(self, factor: Self, term: Self) -> Self {
        vector!(Eight, _mm512_fmsub_pd(self.0, factor.0, term.0))
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        vector!(Eight, _mm512_sqrt_pd(self.0))
    }
    #[inline(always)]
    fn abs(self) -> Self {
        vector!(Eight, _mm512_andnot_pd(_mm512_set1_pd(-0.0), self.0))
    }
    #[inline(always)]
    fn min(self, other: Self) -> Self {
        vector!(Eight, _mm512_min_pd(self.0, other.0))
    }
    #[inline(always)]
    fn max(self, other: Self) -> Self {
        vector!(Eight, _mm512_max_pd(self.0, other.0))
    }
    #[inline(always)]
    fn copysign(self, sign: Self) -> Self {
        vector!(Eight, {
            let mask = _mm512_set1_pd(-0.0);
            _mm512_or_pd(_mm512_andnot_pd(mask, self.0), _mm512_and_pd(mask, sign.0))
        })
    }
    #[inline(always)]
    fn round(self) -> Self {
        vector!(Eight, _mm512_roundscale_pd::<{ _MM_FROUND_TO_NEAREST_INT | _MM_FROUND_NO_EXC }>(self.0))
    }
    #[inline(always)]
    fn less(self, other: Self) -> EightTruths {
        vector!(EightTruths, _mm512_cmp_pd_mask::<_CMP_LT_OQ>(self.0, other.0))
    }
    #[inline(always)]
    fn at_most(self, other: Self) -> EightTruths {
        vector!(EightTruths, _mm512_cmp_pd_mask::<_CMP_LE_OQ>(self.0, other.0))
    }
    #[inline(always)]
    fn equal(self, other: Self) -> EightTruths {
        vector!(EightTruths, _mm512_cmp_pd_mask::<_CMP_EQ_OQ>(self.0, other.0))
    }
    #[inline(always)]
    fn select(mask: EightTruths, yes: Self, no: Self) -> Self {
        vector!(Eight, _mm512_mask_blend_pd(mask.0, no.0, yes.0))
    }
    #[inline(always)]
    fn and_bits(self, mask: u64) -> Self {
        vector!(Eight, _mm512_and_pd(self.0, _mm512_set1_pd(f64::from_bits(mask))))
    }
    #[inline(always)]
    fn or_bits(self, mask: u64) -> Self {
        vector!(Eight, _mm512_or_pd(self.0, _mm512_set1_pd(f64::from_bits(mask))))
    }
    #[inline(always)]
    fn add_bits(self, n: u64) -> Self {
        vector!(Eight, {
            _mm512_castsi512_pd(_mm512_add_epi64(_mm512_castpd_si512(self.0), _mm512_set1_epi64(n.cast_signed())))
        })
    }
    #[inline(always)]
    fn shift_bits_up<const N: u32>(self) -> Self {
        vector!(Eight, _mm512_castsi512_pd(_mm512_slli_epi64::<N>(_mm512_castpd_si512(self.0))))
    }
    #[inline(always)]
    fn shift_bits_down<const N: u32>(self) -> Self {
        vector!(Eight, _mm512_castsi512_pd(_mm512_srli_epi64::<N>(_mm512_castpd_si512(self.0))))
    }
}

impl BitAnd for EightTruths {
    type Output = Self;
    #[inline(always)]
    fn bitand(self, other: Self) -> Self {
        EightTruths(self.0 & other.0)
    }
}

impl BitOr for EightTruths {
    type Output = Self;
    #[inline(always)]
    fn bitor(self, other: Self) -> Self {
        EightTruths(self.0 | other.0)
    }
}

impl Not for EightTruths {
    type Output = Self;
    #[inline(always)]
    fn not(self) -> Self {
        EightTruths(!self.0)
    }
}

impl Mask for EightTruths {
    const ITEMS: u32 = 8;

    #[inline(always)]
    fn any(self) -> bool {
        self.0 != 0
    }
    #[inline(always)]
    fn all(self) -> bool {
        self.0 == 0xff
    }
    #[inline(always)]
    fn bits(self) -> u32 {
        u32::from(self.0)
    }
}
