//! Three lanes as a vector.

use crate::numerics::lanes::Lane;

/// A vector in each lane.
pub(in crate::motion) type Triple<L> = [L; 3];

/// Below this a length has no direction: added under the root so that none divides by zero.
const NOTHING: f64 = 1e-300;

#[inline(always)]
pub(in crate::motion) fn dot<L: Lane>(a: &Triple<L>, b: &Triple<L>) -> L {
    a[0].mul_add(b[0], a[1].mul_add(b[1], a[2] * b[2]))
}

#[inline(always)]
pub(in crate::motion) fn cross<L: Lane>(a: &Triple<L>, b: &Triple<L>) -> Triple<L> {
    [a[1].mul_sub(b[2], a[2] * b[1]), a[2].mul_sub(b[0], a[0] * b[2]), a[0].mul_sub(b[1], a[1] * b[0])]
}

#[inline(always)]
pub(in crate::motion) fn splat<L: Lane>(v: &[f64; 3]) -> Triple<L> {
    [L::splat(v[0]), L::splat(v[1]), L::splat(v[2])]
}

/// a + b × factor.
#[inline(always)]
pub(in crate::motion) fn along<L: Lane>(a: &Triple<L>, b: &Triple<L>, factor: L) -> Triple<L> {
    [b[0].mul_add(factor, a[0]), b[1].mul_add(factor, a[1]), b[2].mul_add(factor, a[2])]
}

#[inline(always)]
pub(in crate::motion) fn scaled<L: Lane>(a: &Triple<L>, factor: L) -> Triple<L> {
    [a[0] * factor, a[1] * factor, a[2] * factor]
}

/// The length, above zero by less than can be seen.
#[inline(always)]
pub(in crate::motion) fn length<L: Lane>(a: &Triple<L>) -> L {
    (dot(a, a) + NOTHING).sqrt()
}

/// The direction; zero of a vector without one.
#[inline(always)]
pub(in crate::motion) fn unit<L: Lane>(a: &Triple<L>) -> Triple<L> {
    scaled(a, L::splat(1.0) / length(a))
}
