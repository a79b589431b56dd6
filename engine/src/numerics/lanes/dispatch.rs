//! Which lanes the processor has, asked once for each batch.

#![cfg_attr(
    target_arch = "x86_64",
    allow(
        unsafe_code,
        reason = "a function compiled for an instruction set is called, after the processor was asked whether it has it"
    )
)]

use super::Lane;
use super::array::Eight;
#[cfg(target_arch = "x86_64")]
use super::{Pair, x86_avx2, x86_avx512};

/// Work written over any lane. `run` is `#[inline(always)]`, and so is all that it calls in its loops.
pub(crate) trait Kernel {
    /// What the work leaves.
    type Answer;

    /// Does the work with lanes of this kind.
    fn run<L: Lane>(self) -> Self::Answer;
}

/// Lanes of a processor. The bits of every answer are the same on all of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Width {
    /// Plain arrays for any processor: what the compiler makes of them.
    Plain,
    /// x86-64 with AVX2 and FMA: two vectors of four.
    Avx2,
    /// x86-64 with AVX-512 F and DQ: one vector of eight.
    Avx512,
}

impl Width {
    /// All of them, narrowest first.
    pub const ALL: [Width; 3] = [Width::Plain, Width::Avx2, Width::Avx512];

    /// The widest that this processor has.
    #[inline]
    pub fn widest() -> Width {
        if Width::Avx512.is_here() {
            Width::Avx512
        } else if Width::Avx2.is_here() {
            Width::Avx2
        } else {
            Width::Plain
        }
    }

    /// Whether this processor has it.
    #[inline]
    pub fn is_here(self) -> bool {
        match self {
            Width::Plain => true,
            #[cfg(target_arch = "x86_64")]
            Width::Avx2 => is_x86_feature_detected!("avx2") && is_x86_feature_detected!("fma"),
            #[cfg(target_arch = "x86_64")]
            Width::Avx512 => {
                Width::Avx2.is_here()
                    && is_x86_feature_detected!("avx512f")
                    && is_x86_feature_detected!("avx512dq")
                    && is_x86_feature_detected!("avx512vl")
            }
            #[cfg(not(target_arch = "x86_64"))]
            _ => false,
        }
    }
}

/// Runs a kernel on the widest lanes of this processor.
#[inline]
pub(crate) fn widest<K: Kernel>(kernel: K) -> K::Answer {
    at_width(Width::widest(), kernel)
}

/// Runs a kernel on lanes of this width; on plain ones if the processor does not have them.
#[inline]
pub(crate) fn at_width<K: Kernel>(width: Width, kernel: K) -> K::Answer {
    #[cfg(target_arch = "x86_64")]
    {
        if width == Width::Avx512 && width.is_here() {
            // SAFETY: the processor has just been asked for it.
            return unsafe { with_avx512::<K, x86_avx512::Eight>(kernel) };
        }
        if width == Width::Avx2 && width.is_here() {
            // SAFETY: the processor has just been asked for it.
            return unsafe { with_avx2::<K, Pair<x86_avx2::Four>>(kernel) };
        }
    }
    let _ = width;
    kernel.run::<Eight>()
}

/// Runs a kernel on one number at a time, with the fused multiply-add of the processor where it has one.
#[inline]
pub(crate) fn single<K: Kernel>(kernel: K) -> K::Answer {
    #[cfg(target_arch = "x86_64")]
    if Width::Avx2.is_here() {
        // SAFETY: the processor has just been asked for it.
        return unsafe { with_avx2::<K, f64>(kernel) };
    }
    kernel.run::<f64>()
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,fma")]
fn with_avx2<K: Kernel, L: Lane>(kernel: K) -> K::Answer {
    kernel.run::<L>()
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,fma,avx512f,avx512dq,avx512vl")]
fn with_avx512<K: Kernel, L: Lane>(kernel: K) -> K::Answer {
    kernel.run::<L>()
}
