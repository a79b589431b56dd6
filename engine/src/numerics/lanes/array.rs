//! Eight numbers in a plain array: for processors without a lane of their own here, the compiler's to arrange.

use std::ops::{Add, BitAnd, BitOr, Div, Mul, Neg, Not, Sub};

use super::{Lane, Mask};

const ITEMS: usize = 8;

/// Eight numbers.
#[derive(Debug, Clone, Copy)]
pub(super) struct Eight([f64; ITEMS]);

/// Eight truths.
#[derive(Debug, Clone, Copy)]
pub(super) struct EightTruths([bool; ITEMS]);

/// A lane from an expression of each place `$i`: a plain loop, because closures do not inherit an instruction set.
macro_rules! each {
    ($i:ident => $item:expr) => {{
        let mut answer = [0.0; ITEMS];
        let mut $i = 0;
        while $i < ITEMS {
            answer[$i] = $item;
            $i += 1;
        }
        Eight(answer)
    }};
}

macro_rules! each_truth {
    ($i:ident => $item:expr) => {{
        let mut answer = [false; ITEMS];
        let mut $i = 0;
        while $i < ITEMS {
            answer[$i] = $item;
            $i += 1;
        }
        EightTruths(answer)
    }};
}

macro_rules! operator {
    ($Trait:ident, $name:ident) => {
        impl $Trait for Eight {
            type Output = Self;
            #[inline(always)]
            fn $name(self, other: Self) -> Self {
                each!(i => self.0[i].$name(other.0[i]))
            }
        }
        impl $Trait<f64> for Eight {
            type Output = Self;
            #[inline(always)]
            fn $name(self, other: f64) -> Self {
                each!(i => self.0[i].$name(other))
            }
        }
    };
}
operator!(Add, add);
operator!(Sub, sub);
operator!(Mul, mul);
operator!(Div, div);

impl Neg for Eight {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        each!(i => -self.0[i])
    }
}

impl Lane for Eight {
    type Mask = EightTruths;
    type Twin = Self;
    const ITEMS: usize = ITEMS;

    #[inline(always)]
    fn splat(x: f64) -> Self {
        Eight([x; ITEMS])
    }
    #[inline(always)]
    fn load(from: &[f64]) -> Self {
        let from = &from[..ITEMS];
        each!(i => from[i])
    }
    #[inline(always)]
    fn store(self, to: &mut [f64]) {
        to[..ITEMS].copy_from_slice(&self.0);
    }
    #[inline(always)]
    fn mul_add(self, factor: Self, term: Self) -> Self {
        each!(i => f64::mul_add(self.0[i], factor.0[i], term.0[i]))
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        each!(i => f64::sqrt(self.0[i]))
    }
    #[inline(always)]
    fn abs(self) -> Self {
        each!(i => f64::abs(self.0[i]))
    }
    #[inline(always)]
    fn min(self, other: Self) -> Self {
        each!(i => Lane::min(self.0[i], other.0[i]))
    }
    #[inline(always)]
    fn max(self, other: Self) -> Self {
        each!(i => Lane::max(self.0[i], other.0[i]))
    }
    #[inline(always)]
    fn copysign(self, sign: Self) -> Self {
        each!(i => f64::copysign(self.0[i], sign.0[i]))
    }
    #[inline(always)]
    fn round(self) -> Self {
        each!(i => Lane::round(self.0[i]))
    }
    #[inline(always)]
    fn less(self, other: Self) -> EightTruths {
        each_truth!(i => self.0[i] < other.0[i])
    }
    #[inline(always)]
    fn at_most(self, other: Self) -> EightTruths {
        each_truth!(i => self.0[i] <= other.0[i])
    }
    #[inline(always)]
    fn equal(self, other: Self) -> EightTruths {
        each_truth!(i => self.0[i] == other.0[i])
    }
    #[inline(always)]
    fn select(mask: EightTruths, yes: Self, no: Self) -> Self {
        each!(i => if mask.0[i] { yes.0[i] } else { no.0[i] })
    }
    #[inline(always)]
    fn and_bits(self, mask: u64) -> Self {
        each!(i => self.0[i].and_bits(mask))
    }
    #[inline(always)]
    fn or_bits(self, mask: u64) -> Self {
        each!(i => self.0[i].or_bits(mask))
    }
    #[inline(always)]
    fn add_bits(self, n: u64) -> Self {
        each!(i => self.0[i].add_bits(n))
    }
    #[inline(always)]
    fn shift_bits_up<const N: u32>(self) -> Self {
        each!(i => self.0[i].shift_bits_up::<N>())
    }
    #[inline(always)]
    fn shift_bits_down<const N: u32>(self) -> Self {
        each!(i => self.0[i].shift_bits_down::<N>())
    }
}

impl BitAnd for EightTruths {
    type Output = Self;
    #[inline(always)]
    fn bitand(self, other: Self) -> Self {
        each_truth!(i => self.0[i] & other.0[i])
    }
}

impl BitOr for EightTruths {
    type Output = Self;
    #[inline(always)]
    fn bitor(self, other: Self) -> Self {
        each_truth!(i => self.0[i] | other.0[i])
    }
}

impl Not for EightTruths {
    type Output = Self;
    #[inline(always)]
    fn not(self) -> Self {
        each_truth!(i => !self.0[i])
    }
}

impl Mask for EightTruths {
    const ITEMS: u32 = 8;

    #[inline(always)]
    fn any(self) -> bool {
        self.bits() != 0
    }
    #[inline(always)]
    fn all(self) -> bool {
        self.bits() == 0xff
    }
    #[inline(always)]
    fn bits(self) -> u32 {
        let mut bits = 0;
        let mut i = 0;
        while i < ITEMS {
            bits |= u32::from(self.0[i]) << i;
            i += 1;
        }
        bits
    }
}
