//! The time of flight of a conic arc between two places, as a function of one variable, and its inverse.
//!
//! Variables of Lancaster and Blanchard: `x² = 1 − s/2a` with the semiperimeter `s` of the triangle of the two places and
//! the centre, `λ² = 1 − c/s` with its chord `c` (λ negative beyond 180°), and the time in units of √(s³/2gm). [LancasterBlanchard1969]
//! [Izzo2015]
//!
//! No difference of nearly equal numbers is taken. With cos a = x, sin b = λ sin a, Lagrange's equation reads
//! `T = Q(a) − λ³ Q(b)`, `Q(φ) = (φ − sin φ cos φ)/sin³ φ`: two positive terms where λ < 0. Where λ ≥ 0 the half difference
//! ψ = a − b of the eccentric anomalies takes over: `T = η³ Q(ψ) + 2λη` with `η = cos b − λ cos a`, positive again ([Battin1999],
//! section 6.7, 7.1). Near the parabola `Q = (1 + u) B(u)` with `u = tan²(φ/2)` and
//! `B(u) = Σ (−1)^(k+1) 2 u^k / ((2k−1)(2k+1)(2k+3))`, which follows from the series of the arc tangent.

use crate::numerics::elementary::{arc_tangent, cube_root, logarithm, rough_inverse_cube_root};
use std::f64::consts::PI;

/// The polynomials are used for |u| up to this: cosines from 0.64 to 1.56.
const SERIES_REACH: f64 = 0.22;

/// `B(u)` by the polynomial through 14 of Chebyshev's nodes (fitted with 60 digits to the series above), off by less than 4e-17.
/// Summed in pairs so that the processor need not wait for each product.
#[inline(always)]
fn series(u: f64, u2: f64, u4: f64) -> f64 {
    let p0 = (0.6666666666666666 + 0.13333333333333333 * u) + (-0.019047619047604412 + 0.0063492063491943414 * u) * u2;
    let p1 = (-0.0028860028908107133 + 0.0015540015579461287 * u)
        + (-0.0009324003411348621 + 0.0006033177653131281 * u) * u2;
    let p2 = (-0.00041283123271618926 + 0.00029488311192851156 * u)
        + (-0.0002169057399117047 + 0.0001647864840640036 * u) * u2;
    let p3 = -0.0001438878292195069 + 0.00011451716737797387 * u;
    (p0 + p1 * u4) + (p2 + p3 * u4) * (u4 * u4)
}

/// `dB/du` likewise, through 12 nodes, off by less than 2e-14: it steers the search and does not enter the answer.
#[inline(always)]
fn series_slope(u: f64, u2: f64, u4: f64) -> f64 {
    let p0 = (0.13333333333332376 - 0.03809523809522975 * u) + (0.019047619061815013 - 0.011544011556365025 * u) * u2;
    let p1 =
        (0.007770004372705796 - 0.0055944026381737665 * u) + (0.004223524238659808 - 0.0033026315497321863 * u) * u2;
    let p2 =
        (0.0026420561794207784 - 0.0021692381985199687 * u) + (0.0020299485204156547 - 0.0017267699081141177 * u) * u2;
    (p0 + p1 * u4) + p2 * (u4 * u4)
}

/// `Q` and `dQ/dcos` at a cosine inside the reach of the series.
#[inline(always)]
fn near_parabola(cosine: f64) -> (f64, f64) {
    let u = (1.0 - cosine) / (1.0 + cosine);
    let u2 = u * u;
    let (u4, one) = (u2 * u2, 1.0 + u);
    let (value, slope) = (series(u, u2, u4), series_slope(u, u2, u4));
    (one * value, -0.5 * one * one * (value + one * slope))
}

/// Time and its slope at one `x`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Flight {
    /// T, in units of √(s³/2gm).
    pub(super) time: f64,
    /// dT/dx.
    pub(super) slope: f64,
    /// 1/(1 − x²), infinite at the parabola.
    per_um: f64,
    /// 1/y.
    per_y: f64,
}

/// What a triangle and a number of revolutions fix: the curve T(x).
#[derive(Clone, Copy, Debug)]
pub(super) struct Curve {
    /// λ, from −1 to 1.
    lambda: f64,
    /// c/s = 1 − λ², formed without that difference; above 0.
    chord: f64,
    /// Whole revolutions.
    revolutions: f64,
}

/// A root of the curve.
#[derive(Clone, Copy, Debug)]
pub(super) struct Root {
    /// The variable of Lancaster and Blanchard.
    pub(super) x: f64,
    /// Evaluations of the curve.
    pub(super) iterations: u32,
}

impl Curve {
    pub(super) fn new(lambda: f64, chord: f64, revolutions: u32) -> Curve {
        Curve { lambda, chord, revolutions: f64::from(revolutions) }
    }

    /// `y = √(1 − λ²(1 − x²))`: a sum of positive terms.
    #[inline(always)]
    pub(super) fn y(&self, x: f64) -> f64 {
        (self.chord + self.lambda * self.lambda * x * x).sqrt()
    }

    /// `(y − λx, y + λx)`: their product is 1 − λ², so the smaller one follows from the larger.
    #[inline(always)]
    pub(super) fn sums(&self, x: f64, y: f64) -> (f64, f64) {
        let larger = y + (self.lambda * x).abs();
        let smaller = self.chord / larger;
        if self.lambda * x > 0.0 { (smaller, larger) } else { (larger, smaller) }
    }

    /// T(x) and T'(x) for `x > −1` (and `x < 1` with revolutions).
    #[inline(always)]
    pub(super) fn at(&self, x: f64) -> Flight {
        let (lambda, um) = (self.lambda, (1.0 - x) * (1.0 + x));
        let y = self.y(x);
        let (eta, _) = self.sums(x, y);
        let l2 = lambda * lambda;
        let cosine = lambda + x * eta;
        let (per_um, per_y) = (1.0 / um, 1.0 / y);
        // The quantity whose nearness to 1 would cost digits in the closed form.
        let critical = if lambda < 0.0 { x } else { cosine };
        let (mut time, mut slope);
        if (1.0 - critical).abs() <= SERIES_REACH * (1.0 + critical) {
            if lambda < 0.0 {
                let ((qx, dqx), (qy, dqy)) = (near_parabola(x), near_parabola(y));
                time = qx - l2 * lambda * qy;
                slope = dqx - l2 * l2 * lambda * (x * per_y) * dqy;
            } else {
                let (q, dq) = near_parabola(cosine);
                let eta2 = eta * eta;
                time = eta * (eta2 * q + 2.0 * lambda);
                slope = eta * per_y * (eta2 * eta2 * dq - 3.0 * lambda * eta2 * q - 2.0 * l2);
            }
            if self.revolutions > 0.0 {
                let turns = self.revolutions * PI * um.sqrt() * (per_um * per_um);
                time += turns;
                slope += 3.0 * x * turns * per_um;
            }
        } else {
            let root = um.abs().sqrt();
            let sine = eta * root;
            let angle = if um > 0.0 { arc_tangent(sine, cosine) } else { logarithm(sine + cosine) };
            time = if lambda < 0.0 {
                (angle * (root * per_um.abs()) - (x - lambda * y)) * per_um
            } else {
                (angle - sine * cosine) * (root * per_um.abs()) * per_um + 2.0 * lambda * eta
            };
            if self.revolutions > 0.0 {
                time += self.revolutions * PI * root * (per_um * per_um);
            }
            slope = (3.0 * time * x - 2.0 + 2.0 * l2 * lambda * x * per_y) * per_um;
        }
        Flight { time, slope, per_um, per_y }
    }

    /// Second and third derivative, from the differential equation that T obeys; limits at the parabola.
    #[inline(always)]
    fn higher(&self, x: f64, flight: Flight) -> (f64, f64) {
        let (l, l2, um) = (self.lambda, self.lambda * self.lambda, (1.0 - x) * (1.0 + x));
        let l3m = l2 * l * self.chord;
        if um.abs() < 1e-5 {
            let second = -(8.0 * flight.slope - 6.0 * l3m * l2) / 7.0;
            return (second, -(15.0 * second - 6.0 * l3m * l2 * (1.0 - 5.0 * l2)) / 9.0);
        }
        let per_y2 = flight.per_y * flight.per_y;
        let a = l3m * per_y2 * flight.per_y;
        let second = (3.0 * flight.time + 5.0 * x * flight.slope + 2.0 * a) * flight.per_um;
        let third = (7.0 * x * second + 8.0 * flight.slope - 6.0 * a * l2 * x * per_y2) * flight.per_um;
        (second, third)
    }

    /// Householder steps of third order from a start. `rising`: the sign of T' that the wanted root has.
    ///
    /// A step of third order leaves an error of about `dx · L³`, with `L` the size of the step on the scale on which the
    /// curve bends; the search ends when that is below the last place. `None`: not within a few steps, search with a bracket.
    #[inline(always)]
    fn householder(&self, start: f64, time: f64, rising: bool) -> Option<Root> {
        let mut x = start;
        for iterations in 1..=8 {
            let flight = self.at(x);
            let (second, third) = self.higher(x, flight);
            let (f, d) = (flight.time - time, flight.slope);
            let step = f * (d * d - 0.5 * f * second) / (d * (d * d - f * second) + third * f * f * (1.0 / 6.0));
            let next = x - step;
            // L is the larger of |step T''/T'| and |step/(1 + x)|; both sides by the cube of what it is divided by.
            let (above, below) = ((second * (1.0 + x)).abs().max(d.abs()), (d * (1.0 + x)).abs());
            let (square, above) = (step * step, above * above * above);
            if square * square * above < 3e-17 * (1.0 + x.abs()) * (below * below * below) {
                return ((d > 0.0) == rising && next > -1.0 && (self.revolutions == 0.0 || next < 1.0))
                    .then_some(Root { x: next, iterations });
            }
            x = if next > -1.0 { next } else { 0.5 * (x - 1.0) };
            if self.revolutions > 0.0 && next >= 1.0 || !next.is_finite() {
                return None;
            }
        }
        None
    }

    /// Newton steps kept inside a bracket, halved where they leave it: as slow as needed, and certain.
    fn bracketed(&self, low: f64, high: f64, time: f64, rising: bool) -> Root {
        let (mut low, mut high) = (low, high);
        let mut x = 0.5 * (low + high);
        let mut iterations = 0;
        while iterations < 200 {
            iterations += 1;
            let flight = self.at(x);
            let f = flight.time - time;
            if f == 0.0 {
                break;
            }
            if (f > 0.0) == rising {
                high = x;
            } else {
                low = x;
            }
            let newton = x - f / flight.slope;
            let next = if low < newton && newton < high { newton } else { 0.5 * (low + high) };
            if (next - x).abs() <= 1e-16 * (1.0 + x.abs()) || next <= low || next >= high {
                x = next;
                break;
            }
            x = next;
        }
        Root { x, iterations }
    }

    /// The arc without a whole revolution; one for every time above 0.
    #[inline]
    pub(super) fn root_without_revolution(&self, time: f64) -> Root {
        let start = self.start(time);
        match self.householder(start, time, false) {
            Some(root) => root,
            None => self.slow_root_without_revolution(time),
        }
    }

    #[cold]
    fn slow_root_without_revolution(&self, time: f64) -> Root {
        let mut low = -0.5;
        while low > -1.0 + 1e-15 && self.at(low).time < time {
            low = 0.5 * (low - 1.0);
        }
        let mut high = 1.0;
        while high < 1e150 && self.at(high).time > time {
            high *= 2.0;
        }
        self.bracketed(low, high, time, false)
    }

    /// First guess of [Izzo2015], equation 30: exact at x = 0 and at the parabola.
    #[inline(always)]
    fn start(&self, time: f64) -> f64 {
        let (l, l2) = (self.lambda, self.lambda * self.lambda);
        let less = if l > 0.0 { self.chord / (1.0 + l) } else { 1.0 - l };
        let parabola = 2.0 / 3.0 * less * (1.0 + l + l2);
        if time <= parabola {
            return 1.0 + 2.5 * parabola * (parabola - time) / (time * less * (1.0 + l + l2 + l2 * l + l2 * l2));
        }
        let ellipse = self.middle();
        if time >= ellipse {
            let ratio = ellipse / time;
            return ratio * rough_inverse_cube_root(ratio) - 1.0;
        }
        // Between the two: the rational curve through both with the slopes that T has there.
        let between = ellipse - parabola;
        let past = (ellipse - time) / between;
        let (first, last) = (0.5 * between, 2.5 * between / (less * (1.0 + l + l2 + l2 * l + l2 * l2)));
        let both = past * (1.0 - past);
        (past * past + first * both) / (1.0 + (first + last - 2.0) * both)
    }

    /// One of the two arcs with whole revolutions, or the least time if there is none. `right`: x above that of the least-time arc.
    #[inline(always)]
    pub(super) fn root_with_revolutions(&self, time: f64, right: bool) -> Result<Root, f64> {
        self.root_past(self.middle(), time, right)
    }

    /// Both of them, left and right.
    #[inline(always)]
    pub(super) fn roots_with_revolutions(&self, time: f64) -> Result<[Root; 2], f64> {
        let middle = self.middle();
        Ok([self.root_past(middle, time, false)?, self.root_past(middle, time, true)?])
    }

    /// T at x = 0 without whole revolutions, to 7e-5: cos⁻¹ λ by [Abramowitz1964], 4.4.45.
    #[inline(always)]
    fn middle(&self) -> f64 {
        let size = self.lambda.abs();
        let angle = (1.0 - size).max(0.0).sqrt()
            * ((1.5707288 - 0.2121144 * size) + size * size * (0.0742610 - 0.0187293 * size));
        // The angle of −λ is what is missing to π.
        (0.5 * PI - (0.5 * PI - angle).copysign(self.lambda)) + self.lambda * self.chord.sqrt()
    }

    #[inline(always)]
    fn root_past(&self, middle: f64, time: f64, right: bool) -> Result<Root, f64> {
        // Two thirds powers of the ratios of [Izzo2015], equation 31.
        let ratio =
            if right { 8.0 * time / (self.revolutions * PI) } else { (self.revolutions + 1.0) * PI / (8.0 * time) };
        let power = ratio * rough_inverse_cube_root(ratio);
        let start = self.nearer(middle, (power - 1.0) / (power + 1.0), time);
        match self.householder(start, time, right) {
            Some(root) => Ok(root),
            None => self.slow_root_with_revolutions(time, right),
        }
    }

    /// A start with whole revolutions brought nearer: a step of Halley on T (1 − x²)^(3/2) = Nπ + K(x), where K, which
    /// falls from π at x = −1 to 0 at x = 1, is replaced by the cubic with its value and slope at x = 0.
    #[inline(always)]
    fn nearer(&self, middle: f64, x: f64, time: f64) -> f64 {
        let (square, cube) = (0.5 * PI - middle, 2.0 - 0.5 * PI);
        let um = (1.0 - x) * (1.0 + x);
        let root = um.sqrt();
        let f = time * um * root - self.revolutions * PI - (middle - x * (2.0 - x * (square + x * cube)));
        let slope = -3.0 * time * x * root + 2.0 - x * (2.0 * square + 3.0 * cube * x);
        let bend = 3.0 * time * (x * x / root - root) - (2.0 * square + 6.0 * cube * x);
        let next = x - f * slope / (slope * slope - 0.5 * f * bend);
        if next.abs() < 1.0 && (next - x).abs() < 0.2 { next } else { x }
    }

    #[cold]
    fn slow_root_with_revolutions(&self, time: f64, right: bool) -> Result<Root, f64> {
        let (x_least, least) = self.least_time();
        if time < least {
            return Err(least);
        }
        // T ≥ Nπ/(1 − x²)^(3/2) gives an x at either side where the curve is above the wanted time.
        let um = 0.9 * cube_root(self.revolutions * PI / time).powi(2);
        let far = (1.0 - um).max(0.0).sqrt().min(1.0 - f64::EPSILON);
        Ok(if right {
            self.bracketed(x_least, far.max(x_least), time, true)
        } else {
            self.bracketed(-far, x_least, time, false)
        })
    }

    /// x and T of the least-time arc with whole revolutions.
    ///
    /// There T' = 0, so `3Tx = 2 − 2λ³x/y`; T ≥ Nπ then puts x between 0 and 4/(3Nπ).
    pub(super) fn least_time(&self) -> (f64, f64) {
        let (l, l2) = (self.lambda, self.lambda * self.lambda);
        let (mut low, mut high) = (0.0, 4.0 / (3.0 * PI * self.revolutions));
        let mut x = 0.5 * high;
        for _ in 0..200 {
            let flight = self.at(x);
            let y = self.y(x);
            let g = 3.0 * flight.time * x - 2.0 + 2.0 * l2 * l * x / y;
            if g > 0.0 {
                high = x;
            } else {
                low = x;
            }
            let newton = x - g / (3.0 * flight.time + 3.0 * x * flight.slope + 2.0 * l2 * l * self.chord / (y * y * y));
            let next = if low < newton && newton < high { newton } else { 0.5 * (low + high) };
            let done = (next - x).abs() <= 1e-15;
            x = next;
            if done {
                break;
            }
        }
        (x, self.at(x).time)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn series_and_closed_form_meet() {
        for lambda in [-0.999_999, -0.7, -1e-3, 0.0, 1e-3, 0.7, 0.99] {
            let chord = 1.0 - lambda * lambda;
            let curve = Curve::new(lambda, chord, 0);
            for x in [0.64, 1.56, 0.3, 2.5] {
                // Closed form of Lagrange, written out apart from the code under test; a few digits go with 1/(1 − x²).
                let (a, b) = if x < 1.0 {
                    let (a, b) = (f64::acos(x), (lambda * (1.0 - x * x).sqrt()).asin());
                    ((a - b) - (a.sin() * a.cos() - b.sin() * b.cos()), a.sin().powi(3))
                } else {
                    let (a, b) = (f64::acosh(x), (lambda * (x * x - 1.0).sqrt()).asinh());
                    ((a.sinh() * a.cosh() - b.sinh() * b.cosh()) - (a - b), a.sinh().powi(3))
                };
                let (direct, ours) = (a / b, curve.at(x).time);
                assert!((ours / direct - 1.0).abs() < 2e-14 / (1.0 - lambda), "{lambda} {x}: {ours} {direct}");
            }
        }
    }

    #[test]
    fn slope_is_the_derivative() {
        for (lambda, revolutions) in [(-0.95, 0), (0.0, 0), (0.6, 0), (0.999, 0), (-0.8, 2), (0.8, 1)] {
            let curve = Curve::new(lambda, 1.0 - lambda * lambda, revolutions);
            for x in [-0.9, -0.3, 0.2, 0.64, 0.8, 0.999, 1.0001, 1.3, 3.0] {
                if revolutions > 0 && x >= 1.0 {
                    continue;
                }
                let h = 1e-5 * f64::abs(1.0 - x).clamp(1e-3, 1.0);
                let finite = (curve.at(x + h).time - curve.at(x - h).time) / (2.0 * h);
                let slope = curve.at(x).slope;
                // Rounding of T over the step, and the step's own error.
                let bound = 4e-16 * curve.at(x).time / h + 1e-6 * slope.abs();
                assert!((finite - slope).abs() < bound, "{lambda} {revolutions} {x}: {finite} {slope}");
            }
        }
    }

    #[test]
    fn bracket_and_householder_agree() {
        for lambda in [-0.99, -0.2, 0.3, 0.999_9] {
            let curve = Curve::new(lambda, 1.0 - lambda * lambda, 0);
            for time in [1e-4, 0.1, 0.7, 2.0, 40.0] {
                let (fast, slow) = (curve.root_without_revolution(time), curve.slow_root_without_revolution(time));
                assert!((fast.x - slow.x).abs() < 1e-13 * (1.0 + slow.x.abs()), "{lambda} {time}: {fast:?} {slow:?}");
            }
        }
    }
}
