//! Elementary functions over lanes: short polynomials with fused multiply-adds, the same bits on every width.
//!
//! Coefficients fitted at Chebyshev's nodes with 60 digits; the errors stated are those of the exact polynomial. Those of
//! the whole functions are held against answers of 60 digits in `elementary_values`.

use std::f64::consts::FRAC_PI_4;

use super::Lane;

/// What the nearest number to π lacks of π.
const PI_REST: f64 = 1.2246467991473532e-16;

/// Three parts of 2π: the first two have 33 bits each. [CodyWaite1980]
const TURN: [f64; 3] =
    [f64::from_bits(0x401921fb54400000), f64::from_bits(0x3df0b4611a600000), f64::from_bits(0x3bc3198a2e037073)];

/// A polynomial of eight coefficients, the lowest first, from z, z² and z⁴: half as long a wait as Horner's rule. [Estrin1960]
#[inline(always)]
pub(crate) fn eight_terms<L: Lane>([z, z2, z4]: [L; 3], c: [f64; 8]) -> L {
    let low = z2.mul_add(z.mul_add(L::splat(c[3]), L::splat(c[2])), z.mul_add(L::splat(c[1]), L::splat(c[0])));
    let high = z2.mul_add(z.mul_add(L::splat(c[7]), L::splat(c[6])), z.mul_add(L::splat(c[5]), L::splat(c[4])));
    z4.mul_add(high, low)
}

/// What remains of an angle without its whole turns, from −π to π.
///
/// The fused multiply-add takes off each part of 2π without rounding until the end. From 2⁵³ on, where neighbouring
/// numbers lie two radians and more apart, nothing remains.
#[inline(always)]
pub(crate) fn within_half_turn<L: Lane>(angle: L) -> L {
    let turns = (angle * (1.0 / std::f64::consts::TAU)).round();
    let rest = turns.neg_mul_add(L::splat(TURN[0]), angle);
    let rest = turns.neg_mul_add(L::splat(TURN[1]), rest);
    let rest = turns.neg_mul_add(L::splat(TURN[2]), rest);
    L::select(angle.abs().less(L::splat(9_007_199_254_740_992.0)), rest, L::splat(0.0))
}

/// The angle of the point (x, y), rad, from −π to π, off by less than 3e-7 of itself: a start for searches.
#[inline(always)]
pub(crate) fn rough_arc_tangent<L: Lane>(y: L, x: L) -> L {
    let (t, sense, eighths) = folded(y, x);
    // The first terms of the series of (atan t)/t.
    let z = t * t;
    let series = z.polynomial([1.0, -1.0 / 3.0, 1.0 / 5.0, -1.0 / 7.0, 1.0 / 9.0, -1.0 / 11.0, 1.0 / 13.0]);
    eighths.mul_add(L::splat(FRAC_PI_4), sense * t * series).copysign(y)
}

/// The angle of the point (x, y), rad, from −π to π, to some two roundings. Both numbers below 1e150, not both zero.
#[inline(always)]
pub(crate) fn arc_tangent<L: Lane>(y: L, x: L) -> L {
    let (t, sense, eighths) = folded(y, x);
    let z = t * t;
    let z2 = z * z;
    let z4 = z2 * z2;
    // (atan t)/t − 1 of z = t² up to tan² 22.5°, off by less than 8e-18, without its factor z.
    let low = eight_terms(
        [z, z2, z4],
        [
            -0.3333333333333333,
            0.1999999999999552,
            -0.14285714284666542,
            0.11111111015256361,
            -0.09090904578123903,
            0.07692183190826087,
            -0.06664511447381948,
            0.0585814891280221,
        ],
    );
    let high = z2.mul_add(
        L::splat(-0.01917688711906226),
        z.mul_add(L::splat(0.03923165829558719), L::splat(-0.0508544973794026)),
    );
    let rest = z * (z4 * z4).mul_add(high, low);
    let angle = sense * t.mul_add(rest, t);
    eighths.mul_add(L::splat(FRAC_PI_4), eighths.mul_add(L::splat(0.25 * PI_REST), angle)).copysign(y)
}

/// A tangent up to that of 22.5°, and how its angle is counted: the sense, and the eighths of a turn that it starts from.
#[inline(always)]
fn folded<L: Lane>(y: L, x: L) -> (L, L, L) {
    const TAN_22_5_DEG: f64 = 0.41421356237309503;
    let (zero, one) = (L::splat(0.0), L::splat(1.0));
    let (across, along) = (y.abs(), x.abs());
    let (small, large) = (across.min(along), across.max(along));
    // Above 22.5° the angle is counted from 45°.
    let fold = L::select(small.more(large * TAN_22_5_DEG), one, zero);
    let t = fold.neg_mul_add(large, small) / fold.mul_add(small, large);
    // The angle that is counted from, in eighths of a turn, and in which direction.
    let steep = across.more(along);
    let back = x.less(zero);
    let sense = L::select((steep & back) | (!steep & !back), one, -one);
    let axis = L::select(steep, L::splat(2.0), L::select(back, L::splat(4.0), zero));
    let eighths = sense.mul_add(fold, axis);
    (t, sense, eighths)
}

/// Natural logarithm of a normal number above zero, to some two roundings.
#[inline(always)]
pub(crate) fn logarithm<L: Lane>(x: L) -> L {
    /// √½, from which the mantissa is counted.
    const FROM: u64 = 0x3fe6_a09e_667f_3bcd;
    const ONE: u64 = 0x3ff0_0000_0000_0000;
    /// ln 2 in two parts: the first has its lower 32 bits clear.
    const LN_2: [f64; 2] = [0.6931467056274414, 4.7493250390316726e-07];
    let shifted = x.add_bits(ONE - FROM);
    let exponent = whole_from_bits(shifted.shift_bits_down::<52>()) - 1023.0;
    let mantissa = shifted.and_bits(0x000f_ffff_ffff_ffff).add_bits(FROM);
    let t = (mantissa - 1.0) / (mantissa + 1.0);
    let z = t * t;
    let z2 = z * z;
    // (artanh t)/t − 1 of z = t², off by less than 5e-18.
    let low = z2.mul_add(
        z.mul_add(L::splat(0.1111110556739754), L::splat(0.14285714312987743)),
        z.mul_add(L::splat(0.19999999999949752), L::splat(0.3333333333333335)),
    );
    let high = z2.mul_add(
        L::splat(0.07308224842521703),
        z.mul_add(L::splat(0.07665860800278021), L::splat(0.09091444562630861)),
    );
    let rest = z * (z2 * z2).mul_add(high, low);
    let twice = t + t;
    exponent.mul_add(L::splat(LN_2[0]), exponent.mul_add(L::splat(LN_2[1]), twice.mul_add(rest, twice)))
}

/// A whole number from the bits of one up to 2⁵².
#[inline(always)]
fn whole_from_bits<L: Lane>(bits: L) -> L {
    bits.or_bits(0x4330_0000_0000_0000) - 4_503_599_627_370_496.0
}

/// x^(−1/3) to some 3e-4 for normal x above zero: the exponent divided by three, then a step of the third order.
#[inline(always)]
pub(crate) fn rough_inverse_cube_root<L: Lane>(x: L) -> L {
    const UNIT: f64 = 4_503_599_627_370_496.0;
    /// 4/3 of the upper half of the bits of 1, less what centres the error, where the bits of a number from 2⁵² count units.
    const OFFSET: f64 = UNIT + UNIT / 3.0 + (1_072_693_248.0 * 4.0 / 3.0 - 52_000.0);
    // The upper half of the bits is a piecewise linear logarithm of x.
    let logarithm = x.shift_bits_down::<32>().or_bits(0x4330_0000_0000_0000);
    let y = logarithm.neg_mul_add(L::splat(1.0 / 3.0), L::splat(OFFSET)).shift_bits_up::<32>();
    let lack = (x * y).neg_mul_add(y * y, L::splat(1.0));
    (y * lack).mul_add(lack.mul_add(L::splat(2.0 / 9.0), L::splat(1.0 / 3.0)), y)
}

/// Cube root of a normal number above zero, to some two roundings.
#[inline(always)]
pub(crate) fn cube_root<L: Lane>(x: L) -> L {
    let y = rough_inverse_cube_root(x);
    let root = x * (y * y);
    // With h = 1 − x y³ the root is x y² (1 − h)^(−2/3), whose series is short for so small an h.
    let h = root.neg_mul_add(y, L::splat(1.0));
    let series = h.mul_add(
        h.mul_add(h.mul_add(L::splat(110.0 / 243.0), L::splat(40.0 / 81.0)), L::splat(5.0 / 9.0)),
        L::splat(2.0 / 3.0),
    );
    (root * h).mul_add(series, root)
}
