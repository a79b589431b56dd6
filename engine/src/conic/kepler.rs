//! Kepler's equation in its hard direction: the anomaly from the time.

use std::f64::consts::PI;

use crate::conic::anomaly::hyperbolic_sine_excess;
use crate::numerics::elementary::cube_root;
use crate::numerics::lanes::elementary::{eight_terms, rough_inverse_cube_root, within_half_turn};
use crate::numerics::lanes::{self, Kernel, Lane, Width};

/// Eccentric anomaly E of an ellipse with 0 ≤ e < 1 from its mean anomaly M = E − e sin E, in the same revolution as M.
///
/// No loop, no branch, no library call: a cubic start good to 1e-3 everywhere, then one correction of the fifth order.
/// E − e sin E is taken in a form that does not cancel near periapsis, so the relative error stays within a few
/// roundings of what the inputs themselves allow, for every eccentricity and any number of revolutions.
///
/// # Source
/// [Markley1995]; the correction is the series of the equation turned round. [Abramowitz1964], 3.6.25
#[inline]
pub fn eccentric_from_mean(e: f64, mean: f64) -> f64 {
    lanes::single(One { e, mean })
}

/// [`eccentric_from_mean`] for many pairs, several side by side in the lanes of the processor: the same bits. Slices of
/// one length; what is beyond the shortest stays as it is.
pub fn eccentric_from_mean_batch(e: &[f64], mean: &[f64], eccentric: &mut [f64]) {
    eccentric_from_mean_batch_at(Width::widest(), e, mean, eccentric);
}

/// [`eccentric_from_mean_batch`] on lanes of a given width, to compare them; plain ones where the processor has not that
/// width.
pub fn eccentric_from_mean_batch_at(width: Width, e: &[f64], mean: &[f64], eccentric: &mut [f64]) {
    lanes::at_width(width, Many { e, mean, eccentric });
}

struct One {
    e: f64,
    mean: f64,
}

impl Kernel for One {
    type Answer = f64;

    #[inline(always)]
    fn run<L: Lane>(self) -> f64 {
        let mut answer = [0.0; lanes::MOST_ITEMS];
        solve(L::splat(self.e), L::splat(self.mean)).store(&mut answer);
        answer[0]
    }
}

struct Many<'a> {
    e: &'a [f64],
    mean: &'a [f64],
    eccentric: &'a mut [f64],
}

impl Kernel for Many<'_> {
    type Answer = ();

    #[inline(always)]
    fn run<L: Lane>(self) {
        let many = self.e.len().min(self.mean.len()).min(self.eccentric.len());
        let (e, mean, eccentric) = (&self.e[..many], &self.mean[..many], &mut self.eccentric[..many]);
        let mut i = 0;
        while many - i >= L::ITEMS {
            solve(L::load(&e[i..]), L::load(&mean[i..])).store(&mut eccentric[i..]);
            i += L::ITEMS;
        }
        let rest = many - i;
        if rest > 0 {
            // The last ones with a circle in the places that are left.
            let (mut last_e, mut last_mean) = ([0.0; lanes::MOST_ITEMS], [1.0; lanes::MOST_ITEMS]);
            last_e[..rest].copy_from_slice(&e[i..]);
            last_mean[..rest].copy_from_slice(&mean[i..]);
            let mut answer = [0.0; lanes::MOST_ITEMS];
            solve(L::load(&last_e), L::load(&last_mean)).store(&mut answer);
            eccentric[i..].copy_from_slice(&answer[..rest]);
        }
    }
}

#[inline(always)]
fn solve<L: Lane>(e: L, mean: L) -> L {
    let reduced = within_half_turn(mean);
    let m = reduced.abs();
    let start = cubic_start(e, m);
    let eccentric = start + correction(e, m, start);
    // Adding the revolutions to M rather than to E keeps what the reduction kept.
    mean + (eccentric.copysign(reduced) - reduced)
}

/// Eccentric anomaly to 1e-3 of itself for 0 ≤ M ≤ π: the root of the cubic of the cited paper.
#[inline(always)]
pub(super) fn cubic_start<L: Lane>(e: L, m: L) -> L {
    const SHIFT: f64 = 3.0 * PI * PI / (PI * PI - 6.0);
    const SLOPE: f64 = 1.6 * PI / (PI * PI - 6.0);
    let from_one = -(e - 1.0);
    // 1/(1 + e) by the parabola through e = 0.35, 0.65 and 1: for the start that is near enough, and a division less.
    let inverse = e
        .neg_mul_add(e.neg_mul_add(L::splat(SLOPE * 0.224467), L::splat(SLOPE * 0.673401)), L::splat(SLOPE * 0.948934));
    let alpha = (-(m - PI)).mul_add(inverse, L::splat(SHIFT));
    let d = alpha.mul_add(e, from_one * 3.0);
    let square = m * m;
    let product = alpha * d;
    let q = (product * 2.0).mul_sub(from_one, square);
    let r = (product * 3.0).mul_add(d - from_one, square) * m;
    let cube = r + (q * q).mul_add(q, r * r).sqrt();
    let w = cube * rough_inverse_cube_root(cube);
    let divisor = w.mul_add(w + q, q * q);
    (r * 2.0).mul_add(w, m * divisor) / (divisor * d)
}

/// The step of the fifth order from a start to the root of E − e sin E − M.
#[inline(always)]
fn correction<L: Lane>(e: L, m: L, start: L) -> L {
    let from_one = -(e - 1.0);
    // Sine and cosine through the half angle x: x − sin x and 1 − cos x from their series, then doubled.
    let x = start * 0.5;
    let z = x * x;
    let z2 = z * z;
    let powers = [z, z2, z2 * z2];
    let u3 = x * z * eight_terms(powers, SINE_SERIES);
    let u2 = z * eight_terms(powers, COSINE_SERIES);
    let u1 = x - u3;
    let twice = u1 + u1;
    let versine = twice * u1;
    let sine = u2.neg_mul_add(twice, twice);
    let excess = twice.mul_add(u2, u3 + u3);
    let f0 = from_one.mul_add(start, e.mul_sub(excess, m));
    let rising = e * versine;
    // The series of the equation by the step, divided by its slope and turned round: f0 + d + a d² + b d³ − a/12 d⁴ = 0.
    let per = L::splat(1.0) / (from_one + rising);
    let newton = f0 * per;
    let a = e * sine * per * 0.5;
    let b = (e - rising) * per * (1.0 / 6.0);
    let a2 = a * a;
    let second = a2 + a2 - b;
    let third = a * (a2 - b).mul_add(L::splat(5.0), L::splat(-1.0 / 12.0));
    let squared = newton * newton;
    -(newton * squared.mul_add(newton.mul_add(third, second), newton.mul_add(a, L::splat(1.0))))
}

/// (x − sin x)/x³ of z = x² up to 2.5, off by less than 4e-19: fitted at Chebyshev's nodes with 40 digits.
const SINE_SERIES: [f64; 8] = [
    0.16666666666666666,
    -0.008333333333333314,
    0.0001984126984125376,
    -2.7557319218837673e-6,
    2.505210757580932e-8,
    -1.605897465969838e-10,
    7.643886158204389e-13,
    -2.730402537561207e-15,
];

/// (1 − cos x)/x² of z = x² up to 2.5, off by less than 8e-18: fitted at Chebyshev's nodes with 40 digits.
const COSINE_SERIES: [f64; 8] = [
    0.5,
    -0.041666666666666304,
    0.001388888888885841,
    -2.4801587291829438e-5,
    2.755731768929377e-7,
    -2.0876625841954573e-9,
    1.146453049361302e-11,
    -4.625701609891324e-14,
];

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
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn depressed_cubic_has_its_root() {
        for (a, b) in [(0.0, 8.0), (1.0, 2.0), (1e6, 1.0), (1e-9, 1e-3)] {
            let x: f64 = depressed_cubic_root(a, b);
            assert!((x * x * x + a * x - b).abs() < 4e-15 * b, "{a} {b} {x}");
        }
    }

    proptest! {
        #[test]
        fn company_and_width_change_no_bit(
            pairs in prop::collection::vec(
                (
                    prop_oneof![0.0..1.0, (0.0..16.0).prop_map(|x: f64| 1.0 - 10.0_f64.powf(-x).max(1.2e-16))],
                    prop_oneof![-3.2..3.2, -1e3..1e3, -1e300..1e300, (-30.0..0.0).prop_map(|x| 10.0_f64.powf(x))],
                ),
                0..40,
            )
        ) {
            let (e, mean): (Vec<f64>, Vec<f64>) = pairs.into_iter().unzip();
            for width in Width::ALL {
                let mut batch = vec![0.0; e.len()];
                eccentric_from_mean_batch_at(width, &e, &mean, &mut batch);
                for i in 0..e.len() {
                    let alone = eccentric_from_mean(e[i], mean[i]);
                    prop_assert!(alone.is_finite());
                    prop_assert_eq!(batch[i].to_bits(), alone.to_bits(), "{} {} on {:?}", e[i], mean[i], width);
                }
            }
        }
    }

    #[test]
    fn what_is_lost_in_the_turns_is_not_invented() {
        // From 2⁵³ on the two anomalies are the same number: they differ by less than half a last place.
        for mean in [1e16, -3e20, 1e300] {
            assert_eq!(eccentric_from_mean(0.7, mean), mean);
        }
        assert!(eccentric_from_mean(0.7, f64::NAN).is_nan());
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
