//! Inverse tangent, logarithm and cube root without a library call: short polynomials, the same bits on every machine.
//!
//! Coefficients fitted at Chebyshev's nodes with 60 digits; the errors stated are those of the exact polynomial.

use std::f64::consts::FRAC_PI_4;

/// What the nearest number to π lacks of π.
const PI_REST: f64 = 1.2246467991473532e-16;

/// The angle of the point (x, y), rad, from −π to π, to some two roundings. Both numbers below 1e150, not both zero.
///
/// No branch and no table, so that many can be taken side by side.
#[inline(always)]
pub(crate) fn arc_tangent(y: f64, x: f64) -> f64 {
    const TAN_22_5_DEG: f64 = 0.41421356237309503;
    let (across, along) = (y.abs(), x.abs());
    let (small, large) = (across.min(along), across.max(along));
    // Above 22.5° the angle is counted from 45°.
    let fold = if small > TAN_22_5_DEG * large { 1.0 } else { 0.0 };
    let t = (small - fold * large) / (large + fold * small);
    // The angle that is counted from, in eighths of a turn, and in which direction.
    let sense = if (across > along) == (x < 0.0) { 1.0 } else { -1.0 };
    let axis = if across > along { 2.0 } else { 0.0 } + if x < 0.0 && along >= across { 4.0 } else { 0.0 };
    let eighths = axis + sense * fold;
    let angle = sense * (t + t * arc_tangent_rest(t * t));
    (eighths * FRAC_PI_4 + (angle + eighths * (0.25 * PI_REST))).copysign(y)
}

/// (atan t)/t − 1 of z = t² up to tan² 22.5°, off by less than 8e-18.
#[inline(always)]
fn arc_tangent_rest(z: f64) -> f64 {
    let z2 = z * z;
    let z4 = z2 * z2;
    let low = (-0.3333333333333333 + z * 0.1999999999999552) + z2 * (-0.14285714284666542 + z * 0.11111111015256361);
    let middle =
        (-0.09090904578123903 + z * 0.07692183190826087) + z2 * (-0.06664511447381948 + z * 0.0585814891280221);
    let high = (-0.0508544973794026 + z * 0.03923165829558719) - z2 * 0.01917688711906226;
    z * (low + z4 * (middle + z4 * high))
}

/// Natural logarithm of a normal number above zero, to some two roundings.
#[inline(always)]
pub(crate) fn logarithm(x: f64) -> f64 {
    /// √½, from which the mantissa is counted.
    const FROM: u64 = 0x3fe6_a09e_667f_3bcd;
    const ONE: u64 = 0x3ff0_0000_0000_0000;
    /// ln 2 in two parts: the first has its lower 32 bits clear, so that its product with an exponent is exact.
    const LN_2: [f64; 2] = [0.6931467056274414, 4.7493250390316726e-07];
    let shifted = x.to_bits().wrapping_add(ONE - FROM);
    let exponent = f64::from((shifted >> 52) as i32 - 1023);
    let mantissa = f64::from_bits((shifted & 0x000f_ffff_ffff_ffff) + FROM);
    let t = (mantissa - 1.0) / (mantissa + 1.0);
    let z = t * t;
    let z2 = z * z;
    // (artanh t)/t − 1 of z = t², off by less than 5e-18.
    let rest = z
        * (((0.3333333333333335 + z * 0.19999999999949752) + z2 * (0.14285714312987743 + z * 0.1111110556739754))
            + (z2 * z2) * ((0.09091444562630861 + z * 0.07665860800278021) + z2 * 0.07308224842521703));
    exponent * LN_2[0] + (2.0 * t + (2.0 * t * rest + exponent * LN_2[1]))
}

/// x^(−1/3) to some 1e-5 for normal x above zero: the exponent divided by three, then two steps of Newton, which need no
/// division.
#[inline(always)]
pub(crate) fn rough_inverse_cube_root(x: f64) -> f64 {
    /// 4/3 of the upper half of the bits of 1, less what centres the error.
    const OFFSET: f64 = 1_072_693_248.0 * 4.0 / 3.0 - 52_000.0;
    // The upper half of the bits is a piecewise linear logarithm of x.
    let logarithm = (x.to_bits() >> 32) as i32;
    let third = (OFFSET - f64::from(logarithm) * (1.0 / 3.0)) as i32;
    let y = f64::from_bits((third as u64) << 32);
    let y = y * (4.0 / 3.0 - (1.0 / 3.0) * x * y * y * y);
    y * (4.0 / 3.0 - (1.0 / 3.0) * x * y * y * y)
}

/// Cube root of a normal number above zero, to some two roundings.
#[inline(always)]
pub(crate) fn cube_root(x: f64) -> f64 {
    let y = rough_inverse_cube_root(x);
    let root = x * (y * y);
    // With h = 1 − x y³ the root is x y² (1 − h)^(−2/3), whose series is short for so small an h.
    let h = 1.0 - root * y;
    root + root * (h * (2.0 / 3.0 + h * (5.0 / 9.0 + h * (40.0 / 81.0))))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_PI_2, PI};

    #[test]
    fn angle_of_a_point() {
        // Against the library's own, of other making: within a rounding of each.
        for i in 0..720 {
            let angle = f64::from(i - 360) * PI / 360.0 + 1e-4;
            let (y, x) = angle.sin_cos();
            let (ours, theirs) = (arc_tangent(3.0 * y, 3.0 * x), f64::atan2(3.0 * y, 3.0 * x));
            assert!((ours - theirs).abs() <= 3.0 * f64::EPSILON * theirs.abs(), "{angle}: {ours} {theirs}");
        }
        assert_eq!(arc_tangent(0.0, 1.0), 0.0);
        assert_eq!(arc_tangent(1.0, 0.0), FRAC_PI_2);
        assert_eq!(arc_tangent(0.0, -1.0), PI);
        assert_eq!(arc_tangent(1e-200, 1.0), 1e-200);
    }

    #[test]
    fn logarithm_and_cube_root_against_the_library() {
        for i in -3000..3000 {
            let x = 1.037_f64.powi(i) * 1.0001;
            if !x.is_normal() {
                continue;
            }
            let (ours, theirs) = (logarithm(x), x.ln());
            assert!((ours - theirs).abs() <= 3.0 * f64::EPSILON * theirs.abs(), "ln {x}: {ours} {theirs}");
            let (ours, theirs) = (cube_root(x), x.cbrt());
            assert!((ours - theirs).abs() <= 2.0 * f64::EPSILON * theirs.abs(), "cbrt {x}: {ours} {theirs}");
        }
        assert_eq!(logarithm(1.0), 0.0);
    }
}
