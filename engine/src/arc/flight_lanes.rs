//! The time of flight and its inverse for many arcs side by side.
//!
//! Variables as for the single flight: Lagrange's equation is `T = Q(a) − λ³ Q(b)` with cos a = x and cos b = y where λ < 0,
//! and `T = η³ Q(ψ) + 2λη` where λ ≥ 0, sums of positive terms both. One formula serves for `Q(φ) = (φ − sin φ cos φ)/sin³ φ`
//! on ellipses, at the parabola and on hyperbolas, so that no lane waits for the form of another: in `h = cos(φ/2)`, which
//! is cosh of it beyond the parabola, `h³ Q` is analytic as far as h = −1, and a quotient of two polynomials with positive
//! coefficients gives it to the last place. No angle, logarithm or case is left. For ψ the half angle keeps its digits too:
//! `cos(ψ/2) = (1 + λ + η) √((1 + x)/(1 + y))/2`, from cos² and sin² of the halves of a and b.
//!
//! What this does not hold for is told apart and left to the search for a single root: within 5e-4 of the parabola, where
//! the slopes lose their digits; hyperbolas beyond cosh 3.25; what has not come to its root within a few steps.

#![allow(clippy::needless_bitwise_bool, reason = "truths stand side by side, one of a single lane among them")]

use crate::numerics::lanes::{Lane, Mask};
use std::f64::consts::{FRAC_PI_2, FRAC_PI_8, PI};

/// h³ Q = ABOVE/BELOW of h from 0 to [`REACH`], by interpolation with 60 digits at 16 of Chebyshev's nodes in the logarithm of
/// 1 + h: off by less than 2e-17 of it.
const ABOVE: [f64; 9] = [
    FRAC_PI_8,
    1.5669070921948356,
    3.115844929064189,
    3.79239622311019,
    2.8343994367736745,
    1.250680097492604,
    0.3054731420056456,
    0.036522131518874144,
    0.0015765637177925806,
];
const BELOW: [f64; 8] = [
    1.0,
    3.990096145416907,
    6.43443395789372,
    5.3697661893332045,
    2.4648855595265777,
    0.6093687824767031,
    0.07304428460668258,
    0.003153127110998649,
];

/// The largest h.
const REACH: f64 = 3.25;

/// |1 − x²| below which the third derivative is left with less than three digits.
const NEAR_PARABOLA: f64 = 5e-4;

/// Evaluations after which a root is left to the search for a single one.
const MOST_STEPS: u32 = 6;

/// Where the guesses for whole revolutions take the rest of the time from.
const REST_AT: f64 = 0.45;

/// Curves T(x) side by side, and the times wanted.
#[derive(Clone, Copy, Debug)]
pub(super) struct Curves<L> {
    /// λ.
    pub(super) lambda: L,
    /// c/s = 1 − λ².
    pub(super) chord: L,
    /// T wanted.
    pub(super) time: L,
    /// Whole revolutions.
    pub(super) revolutions: L,
}

/// Roots side by side.
#[derive(Clone, Copy, Debug)]
pub(super) struct Roots<L: Lane> {
    /// The variable of Lancaster and Blanchard.
    pub(super) x: L,
    /// Where x is a root.
    pub(super) found: L::Mask,
    /// Evaluations of the curve.
    pub(super) iterations: L,
}

/// Where a step leads.
struct Step<L: Lane> {
    next: L,
    /// The next x is the root, if the step is sound.
    last: L::Mask,
    /// The search is on the root's side, and inside what the formulas hold for.
    sound: L::Mask,
}

impl<L: Lane> Curves<L> {
    /// The arcs without a whole revolution.
    #[inline(always)]
    pub(super) fn roots(&self) -> Roots<L> {
        self.search::<false>(self.start(), L::splat(-1.0))
    }

    /// The arcs with whole revolutions left (`[0]`) and right of the least time.
    #[inline(always)]
    pub(super) fn root_pairs(&self) -> [Roots<L>; 2] {
        let middle = self.middle();
        [
            self.search::<true>(self.start_past(middle, -REST_AT), L::splat(-1.0)),
            self.search::<true>(self.start_past(middle, REST_AT), L::splat(1.0)),
        ]
    }

    /// One of the two.
    #[inline(always)]
    pub(super) fn roots_past(&self, right: bool) -> Roots<L> {
        let side = if right { 1.0 } else { -1.0 };
        self.search::<true>(self.start_past(self.middle(), side * REST_AT), L::splat(side))
    }

    /// T at x = 0 without whole revolutions, to 1e-4: cos⁻¹ λ by [Abramowitz1964], 4.4.45, and √(1 + |λ|) by a cubic.
    #[inline(always)]
    fn middle(&self) -> L {
        let size = self.lambda.abs();
        let root = self.less(size).sqrt();
        let angle = root * size.polynomial([1.5707288, -0.2121144, 0.0742610, -0.0187293]);
        let angle = L::splat(FRAC_PI_2) - (L::splat(FRAC_PI_2) - angle).copysign(self.lambda);
        let root_of_chord = root * size.polynomial([1.00009202, 0.49681674, -0.10678404, 0.02416111]);
        self.lambda.mul_add(root_of_chord, angle)
    }

    /// 1 − l for l = ±λ, by the chord where that difference would lose its digits: c/s = (1 − λ)(1 + λ).
    #[inline(always)]
    fn less(&self, l: L) -> L {
        L::select(l.less(L::splat(0.999)), L::splat(1.0) - l, self.chord * (L::splat(0.75) - l * 0.25))
    }

    /// First guesses without a whole revolution, as for the single root: [Izzo2015], equation 30, and between the parabola
    /// and x = 0 the rational curve through both with the slopes that T has there. One quotient serves for all three.
    #[inline(always)]
    fn start(&self) -> L {
        let (l, time, one) = (self.lambda, self.time, L::splat(1.0));
        let l2 = l * l;
        let three = l2 + (one + l);
        let five = l2.mul_add(l2 + l, three);
        let less = self.less(l);
        let (parabola, ellipse) = (less * three * (2.0 / 3.0), self.middle());
        let (before, past, between) = (ellipse - time, time - parabola, ellipse - parabola);
        let (both, scale) = (before * past, five * less);
        let middle_above = scale * before.mul_add(before, both * between * 0.5);
        let middle_below = scale.mul_add(between * 0.5 - 2.0, between * 2.5).mul_add(both, scale * between * between);
        let (fast, slow) = (time.at_most(parabola), ellipse.at_most(time));
        let above = L::select(fast, past * three * (-5.0 / 3.0), L::select(slow, ellipse, middle_above));
        let below = L::select(fast, time * five, L::select(slow, time, middle_below));
        let ratio = above / below;
        let power = ratio * rough_inverse_cube_root(ratio);
        L::select(fast, ratio + 1.0, L::select(slow, power - 1.0, ratio))
    }

    /// First guesses with whole revolutions: `T (1 − x²)^(3/2) = Nπ + K`, where K is taken at `rest_at` from the cubic with
    /// its values π and 0 at x = −1 and 1 and its value and slope at 0.
    #[inline(always)]
    fn start_past(&self, middle: L, rest_at: f64) -> L {
        let x = rest_at;
        let rest =
            middle.mul_add(L::splat(1.0 - x * x), L::splat(-x * (2.0 - x * (FRAC_PI_2 + x * (2.0 - FRAC_PI_2)))));
        let root = rough_inverse_cube_root(self.time / self.revolutions.mul_add(L::splat(PI), rest));
        root.neg_mul_add(root, L::splat(1.0)).max(L::splat(0.01)).sqrt().copysign(L::splat(rest_at))
    }

    /// Householder's steps from a start until all have come to an end. Those that end early keep what they have.
    #[inline(always)]
    fn search<const TURNS: bool>(&self, start: L, sign: L) -> Roots<L> {
        // No start is so good that the first step could be the last one.
        let first = self.step::<TURNS>(start, sign);
        let (mut x, mut going) = (first.next, first.sound);
        let (mut found, mut iterations) = (going & !going, L::splat(1.0));
        let mut step_number = 1;
        while step_number < MOST_STEPS {
            step_number += 1;
            let step = self.step::<TURNS>(x, sign);
            x = L::select(going, step.next, x);
            iterations = L::select(going, L::splat(f64::from(step_number)), iterations);
            found = found | (going & step.sound & step.last);
            going = going & step.sound & !step.last;
            if !going.any() {
                break;
            }
        }
        Roots { x, found, iterations }
    }

    /// One step of Householder's of third order; see the single root's for when it is the last one.
    #[inline(always)]
    fn step<const TURNS: bool>(&self, x: L, sign: L) -> Step<L> {
        let (one, zero, l) = (L::splat(1.0), L::splat(0.0), self.lambda);
        let (lx, l2) = (l * x, l * l);
        let l3 = l2 * l;
        let y = lx.mul_add(lx, self.chord).sqrt();
        let (sum, y1, um) = (y + lx.abs(), y + 1.0, x.neg_mul_add(x, one));
        // One division for the reciprocals of y + |λx|, 1 + y, y and 1 − x².
        let (first_two, last_two) = (sum * y1, y * um);
        let inverse = one / (first_two * last_two);
        let (per_first, per_last) = (inverse * last_two, inverse * first_two);
        let (per_sum, per_y1, per_y, per_um) = (per_first * y1, per_first * sum, per_last * um, per_last * y);
        let eta = L::select(lx.more(zero), self.chord * per_sum, sum);
        // cos of the halves of a, b and ψ.
        let half_a = x.mul_add(L::splat(0.5), L::splat(0.5)).sqrt();
        let half_b = (y1 * 0.5).sqrt();
        let half_psi = ((one + l) + eta) * (half_a * half_b) * per_y1;
        let beyond = l.less(zero);
        let half = L::select(beyond, half_a, half_psi);
        let below = half.polynomial(BELOW) * (half * half * half);
        let above = half.polynomial(ABOVE);
        let (mut top, mut bottom) = (above * (eta * eta * eta), below);
        if beyond.any() {
            let other_above = half_b.polynomial(ABOVE);
            let other_below = half_b.polynomial(BELOW) * (half_b * half_b * half_b);
            top = L::select(beyond, (other_above * l3).neg_mul_add(below, above * other_below), top);
            bottom = L::select(beyond, below * other_below, bottom);
        }
        let mut time = top / bottom + L::select(beyond, zero, (l + l) * eta);
        if TURNS {
            time = (self.revolutions * PI).mul_add(um.sqrt() * (per_um * per_um), time);
        }
        // The derivatives, from the differential equation that T obeys.
        let bend = l3 * self.chord * (per_y * per_y) * per_y;
        let of_first = (l3 * x * per_y).mul_add(L::splat(2.0), L::splat(-2.0));
        let first = (x * time).mul_add(L::splat(3.0), of_first) * per_um;
        let second = (x * first).mul_add(L::splat(5.0), time.mul_add(L::splat(3.0), bend + bend)) * per_um;
        let of_third = first.mul_add(L::splat(8.0), bend * l2 * x * (per_y * per_y) * -6.0);
        let third = (x * second).mul_add(L::splat(7.0), of_third) * per_um;
        let (miss, square) = (time - self.time, first * first);
        let bent = miss * second;
        let upper = miss * bent.mul_add(L::splat(-0.5), square);
        let lower = first.mul_add(square - bent, third * (miss * miss) * (1.0 / 6.0));
        let step = upper / lower;
        let next = x - step;
        let x1 = x + 1.0;
        let (wide, narrow) = ((second * x1).abs().max(first.abs()), (first * x1).abs());
        let (wide, narrow, step2) = (wide * wide * wide, narrow * narrow * narrow, step * step);
        let last = (step2 * step2 * wide).less((x.abs() + 1.0) * narrow * 3e-17);
        let inside = um.abs().more(L::splat(NEAR_PARABOLA)) & half.max(half_b).at_most(L::splat(REACH));
        let sound = (first * sign).more(zero) & next.more(L::splat(-1.0)) & inside;
        Step { next, last, sound: if TURNS { sound & next.less(one) } else { sound } }
    }
}

/// x^(−1/3) to some 1e-5 for normal x above zero: the exponent divided by three, then two steps of Newton.
#[inline(always)]
fn rough_inverse_cube_root<L: Lane>(x: L) -> L {
    /// 2^52, in whose bits a whole number added to it stands as it is.
    const TWO_52: f64 = 4_503_599_627_370_496.0;
    /// 4/3 of the upper half of the bits of 1, less what centres the error.
    const OFFSET: f64 = 1_072_693_248.0 * 4.0 / 3.0 - 52_000.0;
    // The upper half of the bits is a piecewise linear logarithm of x.
    let logarithm = x.shift_bits_down::<32>().or_bits(TWO_52.to_bits()) - TWO_52;
    let third = logarithm.mul_add(L::splat(-1.0 / 3.0), L::splat(OFFSET)) + TWO_52;
    let y = third.shift_bits_up::<32>();
    let minus_third = x * (-1.0 / 3.0);
    let y = y * (minus_third * y * y).mul_add(y, L::splat(4.0 / 3.0));
    y * (minus_third * y * y).mul_add(y, L::splat(4.0 / 3.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::arc::flight_time::Curve;

    #[test]
    fn roots_are_those_of_the_single_search() {
        let mut left_over = 0;
        for i in 0..4000_u32 {
            let part = |step: f64| (f64::from(i) * step).fract();
            let lambda = 2.0 * part(0.618_033_988_749_895) - 1.0;
            let chord = (1.0 - lambda) * (1.0 + lambda);
            let time = 0.3 * 200_f64.powf(part(0.754_877_666_246_693));
            let alone = Curve::new(lambda, chord, 0).root_without_revolution(time).x;
            let roots = Curves { lambda, chord, time, revolutions: 0.0 }.roots();
            left_over += u32::from(!roots.found);
            // A rounding or two of T, over the slope of ln T by ln (1 + x), which is above a half.
            assert!(
                !roots.found || (roots.x - alone).abs() < 1e-14 * (1.0 + alone),
                "{lambda} {time}: {roots:?} {alone}"
            );
            let turns = 1 + i % 5;
            let curve = Curve::new(lambda, chord, turns);
            let revolutions = f64::from(turns);
            let time = time + (revolutions + 1.0) * PI;
            let pair = Curves { lambda, chord, time, revolutions }.root_pairs();
            for (roots, right) in pair.into_iter().zip([false, true]) {
                let alone = curve.root_with_revolutions(time, right).unwrap().x;
                left_over += u32::from(!roots.found);
                assert!(!roots.found || (roots.x - alone).abs() < 1e-14, "{lambda} {time} {turns}: {roots:?} {alone}");
            }
        }
        assert!(left_over < 120, "{left_over}");
    }
}
