//! The inverse of the time of flight: the x whose arc takes a given time.

#![allow(clippy::needless_bitwise_bool, reason = "plain loops and conditions without branches go side by side")]

use super::flight_time::{Curve, Flight, Shape};
use crate::numerics::elementary::{cube_root, rough_inverse_cube_root};
use std::f64::consts::PI;

/// A root of the curve.
#[derive(Clone, Copy, Debug)]
pub(super) struct Root {
    /// The variable of Lancaster and Blanchard.
    pub(super) x: f64,
    /// Evaluations of the curve.
    pub(super) iterations: u32,
}

/// Where a step leads.
#[derive(Clone, Copy, Debug)]
pub(super) struct Step {
    /// The next x.
    pub(super) next: f64,
    /// It is the root.
    pub(super) found: bool,
    /// The search has left the root's side.
    pub(super) lost: bool,
}

/// Steps after which a bracket takes over.
pub(super) const MOST_STEPS: u32 = 8;

impl Curve {
    /// One step of Householder's of third order towards the root whose T' has the `sign` wanted, 1 or −1.
    ///
    /// It leaves an error of about `dx · L³`, with `L` the size of the step on the scale on which the curve bends; the
    /// search ends when that is below the last place.
    #[inline(always)]
    pub(super) fn step(&self, x: f64, shape: &Shape, flight: Flight, time: f64, sign: f64) -> Step {
        let (second, third) = self.higher(x, shape, flight);
        let (f, d) = (flight.time - time, flight.slope);
        let step = f * (d * d - 0.5 * f * second) / (d * (d * d - f * second) + third * f * f * (1.0 / 6.0));
        let next = x - step;
        // L is the larger of |step T''/T'| and |step/(1 + x)|; both sides by the cube of what it is divided by.
        let (above, below) = ((second * (1.0 + x)).abs().max(d.abs()), (d * (1.0 + x)).abs());
        let (square, above) = (step * step, above * above * above);
        let last = square * square * above < 3e-17 * (1.0 + x.abs()) * (below * below * below);
        let above_reach = (self.revolutions > 0.0) & (next >= 1.0);
        let right = (d * sign > 0.0) & (next > -1.0) & !above_reach;
        Step {
            next: if next > -1.0 { next } else { 0.5 * (x - 1.0) },
            found: last & right,
            lost: if last { !right } else { above_reach | !next.is_finite() },
        }
    }

    /// Steps of Householder's from a start. `None`: not within a few steps, search with a bracket.
    #[inline(always)]
    fn householder(&self, start: f64, time: f64, sign: f64) -> Option<Root> {
        let mut x = start;
        for iterations in 1..=MOST_STEPS {
            let shape = self.shape(x);
            let step = self.step(x, &shape, self.at_shape(x, &shape), time, sign);
            if step.lost {
                return None;
            }
            x = step.next;
            if step.found {
                return Some(Root { x, iterations });
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
        match self.householder(start, time, -1.0) {
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
    pub(super) fn start(&self, time: f64) -> f64 {
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

    /// T at x = 0 without whole revolutions, to 7e-5: cos⁻¹ λ by [Abramowitz1964], 4.4.45.
    #[inline(always)]
    pub(super) fn middle(&self) -> f64 {
        let size = self.lambda.abs();
        let angle = (1.0 - size).max(0.0).sqrt()
            * ((1.5707288 - 0.2121144 * size) + size * size * (0.0742610 - 0.0187293 * size));
        // The angle of −λ is what is missing to π.
        (0.5 * PI - (0.5 * PI - angle).copysign(self.lambda)) + self.lambda * self.chord.sqrt()
    }

    #[inline(always)]
    fn root_past(&self, middle: f64, time: f64, right: bool) -> Result<Root, f64> {
        match self.householder(self.start_past(middle, time, right), time, if right { 1.0 } else { -1.0 }) {
            Some(root) => Ok(root),
            None => self.slow_root_with_revolutions(time, right),
        }
    }

    /// First guess with whole revolutions, left or right of the least time.
    #[inline(always)]
    pub(super) fn start_past(&self, middle: f64, time: f64, right: bool) -> f64 {
        // Two thirds powers of the ratios of [Izzo2015], equation 31.
        let (eight, turn) = (8.0 * time, PI * if right { self.revolutions } else { self.revolutions + 1.0 });
        let ratio = if right { eight / turn } else { turn / eight };
        let power = ratio * rough_inverse_cube_root(ratio);
        self.nearer(middle, (power - 1.0) / (power + 1.0), time)
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
