//! One number alone as a lane: single solutions run the very operations of the batches.

#![allow(clippy::use_self, reason = "the methods of the number itself are meant, by name")]

use super::{Lane, Mask};

impl Lane for f64 {
    type Mask = bool;
    type Twin = f64;
    const ITEMS: usize = 1;

    #[inline(always)]
    fn splat(x: f64) -> f64 {
        x
    }
    #[inline(always)]
    fn load(from: &[f64]) -> f64 {
        from[0]
    }
    #[inline(always)]
    fn store(self, to: &mut [f64]) {
        to[0] = self;
    }
    #[inline(always)]
    fn mul_add(self, factor: f64, term: f64) -> f64 {
        f64::mul_add(self, factor, term)
    }
    #[inline(always)]
    fn sqrt(self) -> f64 {
        f64::sqrt(self)
    }
    #[inline(always)]
    fn abs(self) -> f64 {
        f64::abs(self)
    }
    #[inline(always)]
    fn min(self, other: f64) -> f64 {
        if self < other { self } else { other }
    }
    #[inline(always)]
    fn max(self, other: f64) -> f64 {
        if self > other { self } else { other }
    }
    #[inline(always)]
    fn copysign(self, sign: f64) -> f64 {
        f64::copysign(self, sign)
    }
    #[inline(always)]
    fn round(self) -> f64 {
        f64::round_ties_even(self)
    }
    #[inline(always)]
    fn less(self, other: f64) -> bool {
        self < other
    }
    #[inline(always)]
    fn at_most(self, other: f64) -> bool {
        self <= other
    }
    #[inline(always)]
    fn equal(self, other: f64) -> bool {
        self == other
    }
    #[inline(always)]
    fn select(mask: bool, yes: f64, no: f64) -> f64 {
        if mask { yes } else { no }
    }
    #[inline(always)]
    fn and_bits(self, mask: u64) -> f64 {
        f64::from_bits(self.to_bits() & mask)
    }
    #[inline(always)]
    fn or_bits(self, mask: u64) -> f64 {
        f64::from_bits(self.to_bits() | mask)
    }
    #[inline(always)]
    fn add_bits(self, n: u64) -> f64 {
        f64::from_bits(self.to_bits().wrapping_add(n))
    }
    #[inline(always)]
    fn shift_bits_up<const N: u32>(self) -> f64 {
        f64::from_bits(self.to_bits() << N)
    }
    #[inline(always)]
    fn shift_bits_down<const N: u32>(self) -> f64 {
        f64::from_bits(self.to_bits() >> N)
    }
}

impl Mask for bool {
    const ITEMS: u32 = 1;

    #[inline(always)]
    fn any(self) -> bool {
        self
    }
    #[inline(always)]
    fn all(self) -> bool {
        self
    }
    #[inline(always)]
    fn bits(self) -> u32 {
        u32::from(self)
    }
}
