//! Kepler's equation in its hard direction: the anomaly from the time.

use std::f64::consts::PI;

use crate::conic::anomaly::{TURN, hyperbolic_sine_excess};
use crate::numerics::elementary::{cube_root, rough_inverse_cube_root};

/// Eccentric anomaly E of an ellipse with 0 ≤ e < 1 from its mean anomaly M = E − e sin E, in the same revolution as M.
///
/// No loop, no branch, no library call: a cubic start good to 5e-4 everywhere, then one correction of the fifth order.
/// E − e sin E is taken in a form that does not cancel near periapsis, so the relative error stays within a few
/// roundings of what the inputs themselves allow, for every eccentricity and any number of revolutions.
///
/// # Source
/// [Markley1995].
#[inline]
pub fn eccentric_from_mean(e: f64, mean: f64) -> f64 {
    let m = within_half_turn_of_zero(mean);
    // Adding the revolutions to M rather than to E keeps what the reduction kept.
    mean + (within_half_turn(e, m) - m)
}

/// [`eccentric_from_mean`] for many pairs; the same bits, faster for the company. Slices of one length.
///
/// One equation is a long chain in which each operation waits for the one before. A block of them goes through it stage
/// by stage, so that the processor always has the next equation to work on.
pub fn eccentric_from_mean_batch(e: &[f64], mean: &[f64], eccentric: &mut [f64]) {
    const BLOCK: usize = 64;
    let (blocks, rest) = eccentric.as_chunks_mut::<BLOCK>();
    let ((e, e_rest), (mean, mean_rest)) = (e.as_chunks::<BLOCK>(), mean.as_chunks::<BLOCK>());
    let mut reduced = [0.0; BLOCK];
    let mut cubics = [[0.0; BLOCK]; 4];
    let mut starts = [0.0; BLOCK];
    let mut slopes = [[0.0; BLOCK]; 4];
    for ((answer, e), mean) in blocks.iter_mut().zip(e).zip(mean) {
        for i in 0..BLOCK {
            reduced[i] = within_half_turn_of_zero(mean[i]);
            [cubics[0][i], cubics[1][i], cubics[2][i], cubics[3][i]] = cubic(e[i], reduced[i].abs());
        }
        for i in 0..BLOCK {
            starts[i] = cubic_root(reduced[i].abs(), [cubics[0][i], cubics[1][i], cubics[2][i], cubics[3][i]]);
        }
        for i in 0..BLOCK {
            [slopes[0][i], slopes[1][i], slopes[2][i], slopes[3][i]] = derivatives(e[i], reduced[i].abs(), starts[i]);
        }
        for i in 0..BLOCK {
            let step = correction([slopes[0][i], slopes[1][i], slopes[2][i], slopes[3][i]]);
            answer[i] = mean[i] + ((starts[i] + step).copysign(reduced[i]) - reduced[i]);
        }
    }
    for ((answer, &e), &mean) in rest.iter_mut().zip(e_rest).zip(mean_rest) {
        *answer = eccentric_from_mean(e, mean);
    }
}

/// Eccentric anomaly for |M| ≤ π.
#[inline(always)]
fn within_half_turn(e: f64, mean: f64) -> f64 {
    let start = cubic_root(mean.abs(), cubic(e, mean.abs()));
    (start + correction(derivatives(e, mean.abs(), start))).copysign(mean)
}

/// The cubic whose root is the start, as d, q, r and r + √(q³ + r²) of the cited paper, for 0 ≤ M ≤ π.
#[inline(always)]
fn cubic(e: f64, m: f64) -> [f64; 4] {
    const SHIFT: f64 = 3.0 * PI * PI / (PI * PI - 6.0);
    const SLOPE: f64 = 1.6 * PI / (PI * PI - 6.0);
    let from_one = 1.0 - e;
    // 1/(1 + e) by the parabola through e = 0.35, 0.65 and 1: for the start that is near enough, and a division less.
    let inverse = 0.948934 - e * (0.673401 - e * 0.224467);
    let alpha = SHIFT + SLOPE * (PI - m) * inverse;
    let d = 3.0 * from_one + alpha * e;
    let square = m * m;
    let q = 2.0 * alpha * d * from_one - square;
    let r = (3.0 * alpha * d * (d - from_one) + square) * m;
    [d, q, r, r + (q * q * q + r * r).sqrt()]
}

/// The start: E to 5e-4.
#[inline(always)]
fn cubic_root(m: f64, [d, q, r, cube]: [f64; 4]) -> f64 {
    let w = cube * rough_inverse_cube_root(cube);
    let divisor = w * (w + q) + q * q;
    (2.0 * r * w + m * divisor) / (divisor * d)
}

/// E − e sin E − M at a start, its first and second derivative, and a sixth of the third.
#[inline(always)]
fn derivatives(e: f64, m: f64, start: f64) -> [f64; 4] {
    let from_one = 1.0 - e;
    // Sine and cosine through the half angle x: x − sin x and 1 − cos x from their series, then doubled.
    let x = 0.5 * start;
    let z = x * x;
    let u3 = x * z * sine_series(z);
    let u2 = z * cosine_series(z);
    let u1 = x - u3;
    let versine = 2.0 * u1 * u1;
    let sine = 2.0 * (1.0 - u2) * u1;
    let excess = 2.0 * (u3 + u1 * u2);
    [from_one * start + e * excess - m, from_one + e * versine, e * sine, (1.0 / 6.0) * (e - e * versine)]
}

/// The step of the fifth order to the root.
#[inline(always)]
fn correction([f0, f1, f2, f3]: [f64; 4]) -> f64 {
    let half = 0.5 * f2;
    let d3 = -f0 * f1 / (f1 * f1 - f0 * half);
    let d4 = -f0 / (f1 + d3 * (half + d3 * f3));
    -f0 / (f1 + d4 * (half + d4 * (f3 - d4 * (1.0 / 12.0) * half)))
}

/// Eccentric anomaly to some 5e-4 of itself in its revolution: a start for other searches.
#[inline(always)]
pub(crate) fn rough_eccentric_from_mean(e: f64, mean: f64) -> f64 {
    let m = within_half_turn_of_zero(mean);
    mean + (cubic_root(m.abs(), cubic(e, m.abs())).copysign(m) - m)
}

/// What remains of an angle without its whole turns, from −π to π; no branch.
#[inline(always)]
fn within_half_turn_of_zero(angle: f64) -> f64 {
    // Adding and taking away 1.5 × 2⁵² rounds to whole numbers.
    const ROUNDER: f64 = 6_755_399_441_055_744.0;
    let turns = (angle * (1.0 / std::f64::consts::TAU) + ROUNDER) - ROUNDER;
    ((angle - turns * TURN[0]) - turns * TURN[1]) - turns * TURN[2]
}

/// (x − sin x)/x³ of z = x² up to 2.5, off by less than 4e-19: fitted at Chebyshev's nodes with 40 digits.
#[inline(always)]
fn sine_series(z: f64) -> f64 {
    let z2 = z * z;
    let low =
        (0.16666666666666666 - z * 0.008333333333333314) + z2 * (0.0001984126984125376 - z * 2.7557319218837673e-6);
    let high =
        (2.505210757580932e-8 - z * 1.605897465969838e-10) + z2 * (7.643886158204389e-13 - z * 2.730402537561207e-15);
    low + (z2 * z2) * high
}

/// (1 − cos x)/x² of z = x² up to 2.5, off by less than 8e-18: fitted at Chebyshev's nodes with 40 digits.
#[inline(always)]
fn cosine_series(z: f64) -> f64 {
    let z2 = z * z;
    let low = (0.5 - z * 0.041666666666666304) + z2 * (0.001388888888885841 - z * 2.4801587291829438e-5);
    let high =
        (2.755731768929377e-7 - z * 2.0876625841954573e-9) + z2 * (1.146453049361302e-11 - z * 4.625701609891324e-14);
    low + (z2 * z2) * high
}

/// Hyperbolic anomaly H with e > 1 from M = e sinh H − H.
///
/// # Source
/// [Battin1999], section 4.4 for the equation; the start solves the cubic of the series where H is small.
pub fn hyperbolic_from_mean(e: f64, mean: f64) -> f64 {
    let m = mean.abs();
    if m == 0.0 {
        return mean;
    }
    let from_one = e - 1.0;
    // e H³/6 + (e − 1) H = M lies above the root everywhere; sinh H = (M + H)/e with that H is above it too, and
    // closer where H is large.
    let cubic = depressed_cubic_root(6.0 * from_one / e, 6.0 * m / e);
    let mut h = if cubic < 1.5 { cubic } else { cubic.min(((m + cubic.min(2.0 + (m / e).ln_1p())) / e).asinh()) };
    for _ in 0..50 {
        let (f0, f1, f2, f3) = if h < 1.0 {
            let half = (0.5 * h).sinh();
            let coshless = 2.0 * half * half;
            (
                from_one * h + e * hyperbolic_sine_excess(h) - m,
                from_one + e * coshless,
                e * h.sinh(),
                e * (1.0 + coshless),
            )
        } else {
            let (sinh, cosh) = (h.sinh(), h.cosh());
            (e * sinh - h - m, e * cosh - 1.0, e * sinh, e * cosh)
        };
        let d2 = -f0 / f1;
        let d3 = -f0 / (f1 + 0.5 * d2 * f2);
        let d4 = -f0 / (f1 + 0.5 * d3 * f2 + d3 * d3 * f3 / 6.0);
        h += d4;
        // The error left is of the order of the fourth power of this step.
        if d4.abs() <= 1e-5 * h {
            break;
        }
    }
    h.copysign(mean)
}

/// D = tan(ν/2) of a parabola from W = D + D³/3, in closed form.
///
/// # Source
/// [Battin1999], section 4.2: the cubic has one real root, 2 sinh(asinh(3W/2)/3).
pub fn parabolic_from_mean(w: f64) -> f64 {
    2.0 * ((1.5 * w).asinh() / 3.0).sinh()
}

/// The real root of x³ + 3 (a/3) x = b for a ≥ 0, b ≥ 0.
pub(crate) fn depressed_cubic_root(a: f64, b: f64) -> f64 {
    let p = a / 3.0;
    let half = 0.5 * b;
    let root = cube_root(half + (half * half + p * p * p).sqrt());
    // Of root − p/root, written so that the difference does not cancel.
    let square = root * root;
    b / (square + p + p * p / square)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn depressed_cubic_has_its_root() {
        for (a, b) in [(0.0, 8.0), (1.0, 2.0), (1e6, 1.0), (1e-9, 1e-3)] {
            let x: f64 = depressed_cubic_root(a, b);
            assert!((x * x * x + a * x - b).abs() < 4e-15 * b, "{a} {b} {x}");
        }
    }

    #[test]
    fn company_changes_no_bit() {
        let e: Vec<f64> = (0..200).map(|i| f64::from(i) / 200.0).collect();
        let mean: Vec<f64> = (0..200).map(|i| f64::from(i * i) * 0.01 - 7.0).collect();
        let mut batch = vec![0.0; 200];
        eccentric_from_mean_batch(&e, &mean, &mut batch);
        for i in 0..200 {
            assert_eq!(batch[i].to_bits(), eccentric_from_mean(e[i], mean[i]).to_bits(), "{} {}", e[i], mean[i]);
        }
    }

    #[test]
    fn mean_anomaly_comes_back() {
        for e in [0.0, 0.1, 0.5, 0.9, 0.999, 0.999_999_9] {
            for i in -40..=40 {
                let m = f64::from(i) * 0.37;
                let back = crate::conic::anomaly::mean_from_eccentric(e, eccentric_from_mean(e, m));
                assert!((back - m).abs() <= 8.0 * f64::EPSILON * m.abs().max(1.0), "{e} {m} {back}");
            }
        }
    }
}
