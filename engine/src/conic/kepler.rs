//! Kepler's equation in its hard direction: the anomaly from the time.

use std::f64::consts::PI;

use crate::conic::anomaly::{hyperbolic_sine_excess, sine_excess, whole_turns};

/// Eccentric anomaly E of an ellipse with 0 ≤ e < 1 from its mean anomaly M = E − e sin E, in the same revolution as M.
///
/// No loop: a cubic start good to 5e-4 everywhere, then one correction of the fifth order. E − e sin E is taken in a
/// form that does not cancel near periapsis, so the relative error stays within a few roundings of what the inputs
/// themselves allow, for every eccentricity and any number of revolutions.
///
/// # Source
/// [Markley1995].
pub fn eccentric_from_mean(e: f64, mean: f64) -> f64 {
    let (turns, m) = whole_turns(mean);
    let eccentric = within_half_turn(e, m);
    // Adding the revolutions to M rather than to E would lose what the reduction kept.
    if turns == 0.0 { eccentric } else { mean + (eccentric - m) }
}

/// Eccentric anomaly for |M| ≤ π.
#[inline]
pub(crate) fn within_half_turn(e: f64, mean: f64) -> f64 {
    let m = mean.abs();
    if m == 0.0 {
        return mean;
    }
    let from_one = 1.0 - e;
    let alpha = (3.0 * PI * PI + 1.6 * PI * (PI - m) / (1.0 + e)) / (PI * PI - 6.0);
    let d = 3.0 * from_one + alpha * e;
    let q = 2.0 * alpha * d * from_one - m * m;
    let r = (3.0 * alpha * d * (d - from_one) + m * m) * m;
    let w = (r + (q * q * q + r * r).sqrt()).cbrt();
    let w = w * w;
    let start = (2.0 * r * w / (w * w + w * q + q * q) + m) / d;
    let (sine, cosine) = start.sin_cos();
    let (f0, f1) = if start < 1.0 {
        let excess = sine_excess(start);
        let half = (0.5 * start).sin();
        (from_one * start + e * excess - m, from_one + 2.0 * e * half * half)
    } else {
        (start - e * sine - m, 1.0 - e * cosine)
    };
    let (f2, f3) = (e * sine, e * cosine);
    let d3 = -f0 / (f1 - 0.5 * f0 * f2 / f1);
    let d4 = -f0 / (f1 + 0.5 * d3 * f2 + d3 * d3 * f3 / 6.0);
    let d5 = -f0 / (f1 + 0.5 * d4 * f2 + d4 * d4 * f3 / 6.0 - d4 * d4 * d4 * f2 / 24.0);
    (start + d5).copysign(mean)
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
    let root = (half + (half * half + p * p * p).sqrt()).cbrt();
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
