//! Several numbers side by side, one operation on all of them: vectors of the processor at hand, the same bits on each.
//!
//! A kernel is written once over [`Lane`] and runs on eight items of a plain array, on AVX2, on AVX-512, or on one
//! number alone; `widest` chooses once for a whole batch. Every lane does the same IEEE operations in the same order,
//! the fused multiply-add among them, which is rounded once everywhere: by the processor where it has the instruction,
//! by the (slow) library where not. No approximate reciprocal is ever used.
//!
//! Kernels are `#[inline(always)]` throughout and hold no closures: a closure does not inherit the instruction set of
//! the function around it, and its operations would stay calls. docs/lanes.md tells the whole story.

#![allow(dead_code, reason = "a vocabulary: not every kernel uses every word")]

mod array;
mod dispatch;
pub(crate) mod elementary;
mod exponential;
mod pair;
mod single;
#[cfg(target_arch = "x86_64")]
mod x86_avx2;
#[cfg(target_arch = "x86_64")]
mod x86_avx512;

#[cfg(test)]
mod elementary_values;
#[cfg(test)]
mod same_bits;

pub use dispatch::Width;
#[allow(unused_imports, reason = "the doors for kernels to come")]
pub(crate) use dispatch::{Kernel, at_width, single, widest};
pub use exponential::exponential;
pub(crate) use pair::Pair;

use std::ops::{Add, BitAnd, BitOr, Div, Mul, Neg, Not, Sub};

/// Items of the widest lane that there is, two of the widest vectors: room for what any lane stores.
pub(crate) const MOST_ITEMS: usize = 16;

/// Numbers side by side. All operations are IEEE 754 binary64, rounded to nearest, on each item for itself.
pub trait Lane:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
{
    /// A truth for each item.
    type Mask: Mask;
    /// The lane for work in which most operations wait for the one before: twice as wide where there are registers for it.
    type Twin: Lane;

    /// How many numbers stand side by side.
    const ITEMS: usize;

    /// The same number in every place.
    fn splat(x: f64) -> Self;
    /// The first `ITEMS` numbers of a slice that has as many.
    fn load(from: &[f64]) -> Self;
    /// Writes the numbers to the front of a slice that has room for them.
    fn store(self, to: &mut [f64]);

    /// self × factor + term, rounded once.
    fn mul_add(self, factor: Self, term: Self) -> Self;
    /// Square root, correctly rounded.
    fn sqrt(self) -> Self;
    /// Without its sign.
    fn abs(self) -> Self;
    /// The lesser; `other` where they are equal or one is not a number.
    fn min(self, other: Self) -> Self;
    /// The greater; `other` where they are equal or one is not a number.
    fn max(self, other: Self) -> Self;
    /// The magnitude of self with the sign of `sign`.
    fn copysign(self, sign: Self) -> Self;
    /// The nearest whole number, the even one of two as near.
    fn round(self) -> Self;

    /// Where self < other; false where one is not a number.
    fn less(self, other: Self) -> Self::Mask;
    /// Where self ≤ other; false where one is not a number.
    fn at_most(self, other: Self) -> Self::Mask;
    /// Where self = other; false where one is not a number.
    fn equal(self, other: Self) -> Self::Mask;
    /// `yes` where the mask is true, `no` elsewhere.
    fn select(mask: Self::Mask, yes: Self, no: Self) -> Self;

    /// The bits of each number and those of `mask`.
    fn and_bits(self, mask: u64) -> Self;
    /// The bits of each number or those of `mask`.
    fn or_bits(self, mask: u64) -> Self;
    /// The bits as a whole number, plus `n`, wrapping.
    fn add_bits(self, n: u64) -> Self;
    /// The bits moved up by `N` places, zeros from below.
    fn shift_bits_up<const N: u32>(self) -> Self;
    /// The bits moved down by `N` places, zeros from above.
    fn shift_bits_down<const N: u32>(self) -> Self;

    /// term − self × factor, rounded once.
    #[inline(always)]
    fn neg_mul_add(self, factor: Self, term: Self) -> Self {
        (-self).mul_add(factor, term)
    }
    /// self × factor − term, rounded once.
    #[inline(always)]
    fn mul_sub(self, factor: Self, term: Self) -> Self {
        self.mul_add(factor, -term)
    }
    /// Where self > other.
    #[inline(always)]
    fn more(self, other: Self) -> Self::Mask {
        other.less(self)
    }
    /// Where a number is finite.
    #[inline(always)]
    fn is_finite(self) -> Self::Mask {
        self.abs().less(Self::splat(f64::INFINITY))
    }
    /// A polynomial, its lowest coefficient first, by Horner's rule: the fewest operations, one after the other.
    #[inline(always)]
    fn polynomial<const N: usize>(self, coefficients: [f64; N]) -> Self {
        let mut sum = Self::splat(coefficients[N - 1]);
        let mut i = N - 1;
        while i > 0 {
            i -= 1;
            sum = sum.mul_add(self, Self::splat(coefficients[i]));
        }
        sum
    }
}

/// A truth for each item of a lane.
pub trait Mask: Copy + BitAnd<Output = Self> + BitOr<Output = Self> + Not<Output = Self> {
    /// How many truths stand side by side.
    const ITEMS: u32;

    /// Whether it is true anywhere.
    fn any(self) -> bool;
    /// Whether it is true everywhere.
    fn all(self) -> bool;
    /// One bit for each item, the first the lowest.
    fn bits(self) -> u32;
}
