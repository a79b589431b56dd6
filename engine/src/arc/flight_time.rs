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

use super::parabola_series::{SERIES_REACH, near_parabola};
use crate::numerics::elementary::{arc_tangent, logarithm};
use std::f64::consts::PI;

/// Time and its slope at one `x`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Flight {
    /// T, in units of √(s³/2gm).
    pub(super) time: f64,
    /// dT/dx.
    pub(super) slope: f64,
}

/// What every form of the time equation takes from an x.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shape {
    /// 1 − x².
    pub(super) um: f64,
    /// √(1 − λ²(1 − x²)).
    pub(super) y: f64,
    /// y − λx.
    pub(super) eta: f64,
    /// Of the half difference of the eccentric anomalies.
    pub(super) cosine: f64,
    /// 1/(1 − x²), infinite at the parabola.
    pub(super) per_um: f64,
    /// 1/y.
    pub(super) per_y: f64,
}

/// The forms of the time equation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Form {
    /// A series in each anomaly.
    TwoSeries,
    /// A series in half the difference of the anomalies.
    OneSeries,
    /// Closed, with an angle.
    Ellipse,
    /// Closed, with a logarithm.
    Hyperbola,
}

/// What a triangle and a number of revolutions fix: the curve T(x).
#[derive(Clone, Copy, Debug)]
pub(super) struct Curve {
    /// λ, from −1 to 1.
    pub(super) lambda: f64,
    /// c/s = 1 − λ², formed without that difference; above 0.
    pub(super) chord: f64,
    /// Whole revolutions.
    pub(super) revolutions: f64,
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

    /// What every form of the time equation takes from an x.
    #[inline(always)]
    pub(super) fn shape(&self, x: f64) -> Shape {
        let um = (1.0 - x) * (1.0 + x);
        let y = self.y(x);
        let (eta, _) = self.sums(x, y);
        Shape { um, y, eta, cosine: self.lambda + x * eta, per_um: 1.0 / um, per_y: 1.0 / y }
    }

    /// Which form of the time equation keeps its digits at an x.
    #[inline(always)]
    pub(super) fn form(&self, x: f64, shape: &Shape) -> Form {
        if self.in_series(x, shape) {
            if self.lambda < 0.0 { Form::TwoSeries } else { Form::OneSeries }
        } else if shape.um > 0.0 {
            Form::Ellipse
        } else {
            Form::Hyperbola
        }
    }

    #[inline(always)]
    fn in_series(&self, x: f64, shape: &Shape) -> bool {
        // The quantity whose nearness to 1 would cost digits in the closed form.
        let critical = if self.lambda < 0.0 { x } else { shape.cosine };
        (1.0 - critical).abs() <= SERIES_REACH * (1.0 + critical)
    }

    /// T(x) and T'(x) for `x > −1` (and `x < 1` with revolutions).
    #[inline(always)]
    pub(super) fn at(&self, x: f64) -> Flight {
        self.at_shape(x, &self.shape(x))
    }

    /// The same, the shape being known.
    #[inline(always)]
    pub(super) fn at_shape(&self, x: f64, shape: &Shape) -> Flight {
        match self.form(x, shape) {
            Form::TwoSeries => self.two_series(x, shape),
            Form::OneSeries => self.one_series(x, shape),
            Form::Ellipse => self.ellipse(x, shape),
            Form::Hyperbola => self.hyperbola(x, shape),
        }
    }

    /// Near the parabola, beyond 180°.
    #[inline(always)]
    pub(super) fn two_series(&self, x: f64, shape: &Shape) -> Flight {
        let (lambda, l2) = (self.lambda, self.lambda * self.lambda);
        let ((qx, dqx), (qy, dqy)) = (near_parabola(x), near_parabola(shape.y));
        self.turned(x, shape, qx - l2 * lambda * qy, dqx - l2 * l2 * lambda * (x * shape.per_y) * dqy)
    }

    /// Near the parabola or for a small half difference of the anomalies, up to 180°.
    #[inline(always)]
    pub(super) fn one_series(&self, x: f64, shape: &Shape) -> Flight {
        let (lambda, l2, eta) = (self.lambda, self.lambda * self.lambda, shape.eta);
        let (q, dq) = near_parabola(shape.cosine);
        let eta2 = eta * eta;
        let time = eta * (eta2 * q + 2.0 * lambda);
        self.turned(x, shape, time, eta * shape.per_y * (eta2 * eta2 * dq - 3.0 * lambda * eta2 * q - 2.0 * l2))
    }

    /// The time of the whole revolutions added to that of a series.
    #[inline(always)]
    fn turned(&self, x: f64, shape: &Shape, time: f64, slope: f64) -> Flight {
        let turns = self.revolutions * PI * shape.um.sqrt() * (shape.per_um * shape.per_um);
        // At the parabola itself that is no number, and without a revolution nothing.
        let turns = if self.revolutions > 0.0 { turns } else { 0.0 };
        let longer = if self.revolutions > 0.0 { 3.0 * x * turns * shape.per_um } else { 0.0 };
        Flight { time: time + turns, slope: slope + longer }
    }

    /// The closed form on an ellipse.
    #[inline(always)]
    pub(super) fn ellipse(&self, x: f64, shape: &Shape) -> Flight {
        let root = shape.um.abs().sqrt();
        let sine = shape.eta * root;
        let angle = arc_tangent(sine, shape.cosine);
        self.closed(x, shape, root, sine, angle)
    }

    /// The closed form on a hyperbola.
    #[inline(always)]
    pub(super) fn hyperbola(&self, x: f64, shape: &Shape) -> Flight {
        let root = shape.um.abs().sqrt();
        let sine = shape.eta * root;
        let angle = logarithm(sine + shape.cosine);
        self.closed(x, shape, root, sine, angle)
    }

    #[inline(always)]
    fn closed(&self, x: f64, shape: &Shape, root: f64, sine: f64, angle: f64) -> Flight {
        let (lambda, l2) = (self.lambda, self.lambda * self.lambda);
        let Shape { y, eta, cosine, per_um, per_y, .. } = *shape;
        let scale = root * per_um.abs();
        let beyond = (angle * scale - (x - lambda * y)) * per_um;
        let within = (angle - sine * cosine) * scale * per_um + 2.0 * lambda * eta;
        let part = if lambda < 0.0 { beyond } else { within };
        let time = part + self.revolutions * PI * root * (per_um * per_um);
        Flight { time, slope: (3.0 * time * x - 2.0 + 2.0 * l2 * lambda * x * per_y) * per_um }
    }

    /// Second and third derivative, from the differential equation that T obeys; limits at the parabola.
    #[inline(always)]
    pub(super) fn higher(&self, x: f64, shape: &Shape, flight: Flight) -> (f64, f64) {
        let (l, l2) = (self.lambda, self.lambda * self.lambda);
        let l3m = l2 * l * self.chord;
        let per_y2 = shape.per_y * shape.per_y;
        let a = l3m * per_y2 * shape.per_y;
        let second = (3.0 * flight.time + 5.0 * x * flight.slope + 2.0 * a) * shape.per_um;
        let third = (7.0 * x * second + 8.0 * flight.slope - 6.0 * a * l2 * x * per_y2) * shape.per_um;
        let limit = (1.0 / 7.0) * (6.0 * l3m * l2 - 8.0 * flight.slope);
        let near = shape.um.abs() < 1e-5;
        let third_limit = (1.0 / 9.0) * (6.0 * l3m * l2 * (1.0 - 5.0 * l2) - 15.0 * limit);
        (if near { limit } else { second }, if near { third_limit } else { third })
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
}
