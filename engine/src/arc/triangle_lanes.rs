//! Triangles of places and centre side by side: what Lambert's problem takes from them, and the velocities it gives back.
//!
//! The same geometry as the single triangle, with fewer roots and divisions. Square roots: the three sides, half of
//! r1 r2 + r1·r2, and the unit of time. The velocity across a radius needs no unit normal: `(r1 × r2) × r1` is across r1,
//! and the sine that would divide it goes with that in the speed.

#![allow(clippy::needless_bitwise_bool, reason = "truths stand side by side, one of a single lane among them")]

use super::flight_lanes::Curves;
use super::triangle::{IN_LINE, Toward};
use crate::numerics::lanes::Lane;

/// Three components side by side.
pub(super) type Vector<L> = [L; 3];

/// Distances outside this range are left to the single solution: products of several of them would leave that of numbers.
const RANGE: [f64; 2] = [1e-30, 1e30];

/// What all triangles of a batch share.
#[derive(Clone, Copy, Debug)]
pub(super) struct Centre {
    gm: f64,
    half_per_gm: f64,
    toward: Toward,
}

impl Centre {
    /// For a gravitational parameter (m³/s²) and a way round; nothing fits a parameter that is not above zero.
    pub(super) fn new(gm: f64, toward: Toward) -> Centre {
        let gm = if gm > 0.0 && gm.is_finite() { gm } else { f64::NAN };
        Centre { gm, half_per_gm: 0.5 / gm, toward }
    }
}

/// Triangles side by side.
#[derive(Clone, Copy, Debug)]
pub(super) struct Triangles<L> {
    pub(super) lambda: L,
    /// c/s.
    pub(super) flatness: L,
    /// Time of flight in units of √(s³/2gm).
    pub(super) scaled: L,
    pub(super) semiperimeter: L,
    /// r1 r2 ± r1·r2.
    pub(super) more: L,
    pub(super) less: L,
    /// (r1 − r2)/c.
    pub(super) rho: L,
    /// √(gm s/2)/r1² and /r2².
    pub(super) gains: [L; 2],
    /// Momentum's sense over c √(½ (r1 r2 + r1·r2)).
    pub(super) across: L,
    /// r1 × r2, or r1 × (r1 + r2).
    pub(super) cross: Vector<L>,
}

impl<L: Lane> Triangles<L> {
    /// The triangles, and which of them are in the general position, with a time above zero.
    #[inline(always)]
    pub(super) fn formed(centre: &Centre, r1: &Vector<L>, r2: &Vector<L>, time: L) -> (Triangles<L>, L::Mask) {
        let (one, zero) = (L::splat(1.0), L::splat(0.0));
        let difference = [r2[0] - r1[0], r2[1] - r1[1], r2[2] - r1[2]];
        let sum = [r1[0] + r2[0], r1[1] + r2[1], r1[2] + r2[2]];
        let squares = [dot(r1, r1), dot(r2, r2)];
        let (radius1, radius2) = (squares[0].sqrt(), squares[1].sqrt());
        let chord = dot(&difference, &difference).sqrt();
        let along = dot(r1, r2);
        let ahead = along.more(zero);
        // Crossing with the shorter of sum and difference keeps the digits of a small angle and of a nearly straight one.
        let shorter = [
            L::select(ahead, difference[0], sum[0]),
            L::select(ahead, difference[1], sum[1]),
            L::select(ahead, difference[2], sum[2]),
        ];
        let cross = cross(r1, &shorter);
        let sine2 = dot(&cross, &cross);
        let (product, both) = (radius1 * radius2, radius1 + radius2);
        let larger = product + along.abs();
        let semiperimeter = (both + chord) * 0.5;
        // One division for the reciprocals of four.
        let (first_two, last_two) = (larger * semiperimeter, chord * both);
        let inverse = one / (first_two * last_two);
        let (per_first, per_last) = (inverse * last_two, inverse * first_two);
        let (per_larger, per_semiperimeter, per_chord) =
            (per_first * semiperimeter, per_first * larger, per_last * both);
        let smaller = sine2 * per_larger;
        // √(½ (r1 r2 + r1·r2)); behind, times the larger one, so that the root need not wait for the division.
        let root = (larger * L::select(ahead, L::splat(0.5), sine2 * 0.5)).sqrt();
        let size = root * per_semiperimeter * L::select(ahead, one, per_larger);
        let (short, sided) = centre.sides(&cross);
        let sense = L::select(short, one, L::splat(-1.0));
        let swing = (semiperimeter * centre.half_per_gm).sqrt();
        let scaled = time / (semiperimeter * swing);
        let gamma = swing * centre.gm;
        let product2 = squares[0] * squares[1];
        let again = one / (product2 * root);
        let (per_root, per_product2) = (again * product2, again * root * gamma);
        let triangles = Triangles {
            lambda: size * sense,
            flatness: chord * per_semiperimeter,
            scaled,
            semiperimeter,
            more: L::select(ahead, larger, smaller),
            less: L::select(ahead, smaller, larger),
            rho: -(dot(&difference, &sum) * per_last),
            gains: [per_product2 * squares[1], per_product2 * squares[0]],
            across: sense * per_chord * per_root * L::select(ahead, one, larger),
            cross,
        };
        let fits = (product * product * (IN_LINE * IN_LINE)).less(sine2)
            & radius1.min(radius2).more(L::splat(RANGE[0]))
            & radius1.max(radius2).less(L::splat(RANGE[1]))
            & chord.more(zero)
            & sided
            & time.more(zero)
            & scaled.more(zero)
            & scaled.is_finite();
        (triangles, fits)
    }

    /// What the search for a root takes.
    #[inline(always)]
    pub(super) fn curves(&self, revolutions: L) -> Curves<L> {
        Curves { lambda: self.lambda, chord: self.flatness, time: self.scaled, revolutions }
    }

    /// Velocities at both ends from x. [Gooding1990], section 3; [Izzo2015], section 2.
    #[inline(always)]
    pub(super) fn velocities(&self, r1: &Vector<L>, r2: &Vector<L>, x: L) -> [Vector<L>; 2] {
        let lx = self.lambda * x;
        let y = lx.mul_add(lx, self.flatness).sqrt();
        let larger = y + lx.abs();
        let plus = L::select(lx.more(L::splat(0.0)), larger, self.flatness / larger);
        let (a, b) = (self.lambda.mul_sub(y, x), self.rho * self.lambda.mul_add(y, x));
        let turn = plus * self.across;
        let [gain1, gain2] = self.gains;
        let (turned1, turned2) = (cross(&self.cross, r1), cross(&self.cross, r2));
        [combined((a - b) * gain1, r1, turn * gain1, &turned1), combined(-(a + b) * gain2, r2, turn * gain2, &turned2)]
    }
}

impl Centre {
    /// Whether the short way goes round as wanted, and whether the normal says so at all.
    #[inline(always)]
    fn sides<L: Lane>(&self, cross: &Vector<L>) -> (L::Mask, L::Mask) {
        let zero = L::splat(0.0);
        let (normal, fixed, positive) = self.toward.parts();
        let yes = zero.equal(zero);
        if fixed {
            return (if positive { yes } else { !yes }, yes);
        }
        let side = dot(cross, &[L::splat(normal.x), L::splat(normal.y), L::splat(normal.z)]);
        let above = side.more(zero);
        (if positive { above } else { !above }, side.abs().more(zero) & side.is_finite())
    }
}

/// a u + b v.
#[inline(always)]
fn combined<L: Lane>(a: L, u: &Vector<L>, b: L, v: &Vector<L>) -> Vector<L> {
    [a.mul_add(u[0], b * v[0]), a.mul_add(u[1], b * v[1]), a.mul_add(u[2], b * v[2])]
}

#[inline(always)]
fn dot<L: Lane>(a: &Vector<L>, b: &Vector<L>) -> L {
    a[2].mul_add(b[2], a[1].mul_add(b[1], a[0] * b[0]))
}

#[inline(always)]
fn cross<L: Lane>(a: &Vector<L>, b: &Vector<L>) -> Vector<L> {
    [a[1].mul_sub(b[2], a[2] * b[1]), a[2].mul_sub(b[0], a[0] * b[2]), a[0].mul_sub(b[1], a[1] * b[0])]
}
