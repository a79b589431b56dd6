//! Two lanes as one of twice the width: while one waits for an operation to end, the other goes on.

use std::ops::{Add, BitAnd, BitOr, Div, Mul, Neg, Not, Sub};

use super::{Lane, Mask};

/// Two lanes; the items of the first come first.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Pair<L>(L, L);

macro_rules! operator {
    ($Trait:ident, $name:ident) => {
        impl<L: Lane> $Trait for Pair<L> {
            type Output = Self;
            #[inline(always)]
            fn $name(self, other: Self) -> Self {
                Pair(self.0.$name(other.0), self.1.$name(other.1))
            }
        }
    };
}
operator!(Add, add);
operator!(Sub, sub);
operator!(Mul, mul);
operator!(Div, div);

macro_rules! operator_with_number {
    ($Trait:ident, $name:ident) => {
        impl<L: Lane> $Trait<f64> for Pair<L> {
            type Output = Self;
            #[inline(always)]
            fn $name(self, other: f64) -> Self {
                Pair(self.0.$name(other), self.1.$name(other))
            }
        }
    };
}
operator_with_number!(Add, add);
operator_with_number!(Sub, sub);
operator_with_number!(Mul, mul);

impl<L: Lane> Neg for Pair<L> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Pair(-self.0, -self.1)
    }
}

impl<L: Lane> Lane for Pair<L> {
    type Mask = Pair<L::Mask>;
    type Twin = Self;
    const ITEMS: usize = 2 * L::ITEMS;

    #[inline(always)]
    fn splat(x: f64) -> Self {
        Pair(L::splat(x), L::splat(x))
    }
    #[inline(always)]
    fn load(from: &[f64]) -> Self {
        Pair(L::load(from), L::load(&from[L::ITEMS..]))
    }
    #[inline(always)]
    fn store(self, to: &mut [f64]) {
        self.0.store(to);
        self.1.store(&mut to[L::ITEMS..]);
    }
    #[inline(always)]
    fn mul_add(self, factor: Self, term: Self) -> Self {
        Pair(self.0.mul_add(factor.0, term.0), self.1.mul_add(factor.1, term.1))
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        Pair(self.0.sqrt(), self.1.sqrt())
    }
    #[inline(always)]
    fn abs(self) -> Self {
        Pair(self.0.abs(), self.1.abs())
    }
    #[inline(always)]
    fn min(self, other: Self) -> Self {
        Pair(self.0.min(other.0), self.1.min(other.1))
    }
    #[inline(always)]
    fn max(self, other: Self) -> Self {
        Pair(self.0.max(other.0), self.1.max(other.1))
    }
    #[inline(always)]
    fn copysign(self, sign: Self) -> Self {
        Pair(self.0.copysign(sign.0), self.1.copysign(sign.1))
    }
    #[inline(always)]
    fn round(self) -> Self {
        Pair(self.0.round(), self.1.round())
    }
    #[inline(always)]
    fn less(self, other: Self) -> Self::Mask {
        Pair(self.0.less(other.0), self.1.less(other.1))
    }
    #[inline(always)]
    fn at_most(self, other: Self) -> Self::Mask {
        Pair(self.0.at_most(other.0), self.1.at_most(other.1))
    }
    #[inline(always)]
    fn equal(self, other: Self) -> Self::Mask {
        Pair(self.0.equal(other.0), self.1.equal(other.1))
    }
    #[inline(always)]
    fn select(mask: Self::Mask, yes: Self, no: Self) -> Self {
        Pair(L::select(mask.0, yes.0, no.0), L::select(mask.1, yes.1, no.1))
    }
    #[inline(always)]
    fn and_bits(self, mask: u64) -> Self {
        Pair(self.0.and_bits(mask), self.1.and_bits(mask))
    }
    #[inline(always)]
    fn or_bits(self, mask: u64) -> Self {
        Pair(self.0.or_bits(mask), self.1.or_bits(mask))
    }
    #[inline(always)]
    fn add_bits(self, n: u64) -> Self {
        Pair(self.0.add_bits(n), self.1.add_bits(n))
    }
    #[inline(always)]
    fn shift_bits_up<const N: u32>(self) -> Self {
        Pair(self.0.shift_bits_up::<N>(), self.1.shift_bits_up::<N>())
    }
    #[inline(always)]
    fn shift_bits_down<const N: u32>(self) -> Self {
        Pair(self.0.shift_bits_down::<N>(), self.1.shift_bits_down::<N>())
    }
}

impl<M: Mask> BitAnd for Pair<M> {
    type Output = Self;
    #[inline(always)]
    fn bitand(self, other: Self) -> Self {
        Pair(self.0 & other.0, self.1 & other.1)
    }
}

impl<M: Mask> BitOr for Pair<M> {
    type Output = Self;
    #[inline(always)]
    fn bitor(self, other: Self) -> Self {
        Pair(self.0 | other.0, self.1 | other.1)
    }
}

impl<M: Mask> Not for Pair<M> {
    type Output = Self;
    #[inline(always)]
    fn not(self) -> Self {
        Pair(!self.0, !self.1)
    }
}

impl<M: Mask> Mask for Pair<M> {
    const ITEMS: u32 = 2 * M::ITEMS;

    #[inline(always)]
    fn any(self) -> bool {
        (self.0 | self.1).any()
    }
    #[inline(always)]
    fn all(self) -> bool {
        (self.0 & self.1).all()
    }
    #[inline(always)]
    fn bits(self) -> u32 {
        self.0.bits() | (self.1.bits() << M::ITEMS)
    }
}
