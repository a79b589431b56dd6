//! A state flown along its conic through a time.

#![allow(clippy::needless_bitwise_bool, reason = "conditions without branches go side by side")]

use std::f64::consts::TAU;

use crate::conic::kepler::{depressed_cubic_root, eccentric_from_mean};
use crate::conic::universal::Universal;
use crate::conic::{ConicError, State, invariants, propagate_batch, time_since_periapsis};
use crate::numerics::elementary::{arc_tangent, logarithm};
use crate::vector::Vec3;

/// Where a state is after `dt` seconds (either sign) on its conic about a centre of `gm` (m³/s²).
///
/// One method for circle, ellipse, parabola, hyperbola and straight line: Kepler's equation in universal variables, its
/// root kept between brackets. Whole revolutions are taken off first. The error stays within some twenty times what one
/// rounding of the inputs does to the answer. A straight fall is followed through the centre as the limit of ever more
/// slender ellipses.
///
/// # Errors
/// A bad gravitational parameter, numbers that are not finite, a place at the centre at either end.
///
/// # Source
/// [Battin1999], sections 4.5 to 4.7; corrections of the Laguerre kind [Conway1986].
///
/// # Example
/// A quarter of a circular orbit.
/// ```
/// use visviva_engine::conic::{State, propagate};
/// use visviva_engine::vector::Vec3;
/// let start = State::new(Vec3::new(1.0, 0.0, 0.0), Vec3::new(0.0, 1.0, 0.0));
/// let end = propagate(1.0, &start, std::f64::consts::FRAC_PI_2)?;
/// assert!((end.position - Vec3::new(0.0, 1.0, 0.0)).norm() < 1e-15);
/// # Ok::<(), visviva_engine::conic::ConicError>(())
/// ```
pub fn propagate(gm: f64, state: &State, dt: f64) -> Result<State, ConicError> {
    checked(gm, state, dt)?;
    if dt == 0.0 {
        return Ok(*state);
    }
    match propagate_batch::one(gm, state, dt) {
        Some(end) => Ok(end),
        None => far_or_odd(gm, state, dt),
    }
}

/// The flights that the lanes leave: far along a hyperbola, in from far out, a straight line through the centre, numbers of
/// extreme size, and what has no answer. [`propagate`] without its first attempt.
pub(super) fn alone(gm: f64, state: &State, dt: f64) -> Result<State, ConicError> {
    checked(gm, state, dt)?;
    if dt == 0.0 { Ok(*state) } else { far_or_odd(gm, state, dt) }
}

fn checked(gm: f64, state: &State, dt: f64) -> Result<(), ConicError> {
    state.checked(gm)?;
    if dt.is_finite() { Ok(()) } else { Err(ConicError::NotFinite { what: "the time of flight" }) }
}

#[cold]
fn far_or_odd(gm: f64, state: &State, dt: f64) -> Result<State, ConicError> {
    // Backwards in time is forwards with the velocity turned round: one sign of everything below.
    let mut sign = 1.0_f64.copysign(dt);
    let mut path = Path {
        gm,
        alpha: invariants::alpha(gm, state),
        radius: state.radius(),
        sigma: sign * state.position.dot(&state.velocity),
    };
    if path.sigma < 0.0 && path.alpha * path.radius < -gm {
        return through_periapsis(gm, state, dt);
    }
    let time = path.within_period(dt.abs());
    if time == 0.0 {
        return Ok(*state);
    }
    let way = 1.0_f64.copysign(time);
    let time = time.abs();
    sign *= way;
    path.sigma *= way;
    let u = path.solve(time)?;
    let (distance, end) = path.end(state, &u, time, sign);
    if distance <= 0.0 {
        return Err(ConicError::AtCentre { distance_m: distance });
    }
    finite(end)
}

fn finite(end: State) -> Result<State, ConicError> {
    if end.is_finite() { Ok(end) } else { Err(ConicError::NotFinite { what: "the state after this time" }) }
}

/// A hyperbola flown from far out on its way towards periapsis, in axes through periapsis.
///
/// Counted from the start, the universal functions grow like the exponential of the anomaly and cancel again; counted
/// from periapsis, every sum has one sign.
fn through_periapsis(gm: f64, state: &State, dt: f64) -> Result<State, ConicError> {
    let momentum = invariants::angular_momentum(state);
    let h = momentum.norm();
    let eccentricity = invariants::eccentricity(gm, state).0;
    let periapsis = invariants::eccentricity_vector(gm, state).normalize();
    // On a straight line there is nothing across.
    let across = if h > 0.0 { momentum.cross(&periapsis) / h } else { Vec3::zeros() };
    let radius = h * h / (gm * (1.0 + eccentricity));
    let time = time_since_periapsis(gm, state) + dt;
    let path = Path { gm, alpha: invariants::alpha(gm, state), radius, sigma: 0.0 };
    let Universal { u0, u1, u2, .. } =
        if time == 0.0 { Universal::at(path.alpha, 0.0) } else { path.solve(time.abs())? };
    let u1 = u1.copysign(time);
    let distance = radius * u0 + gm * u2;
    if distance <= 0.0 {
        return Err(ConicError::AtCentre { distance_m: distance });
    }
    finite(State {
        position: (radius - gm * u2) * periapsis + (h * u1) * across,
        velocity: (-gm * u1 / distance) * periapsis + (h * u0 / distance) * across,
    })
}

/// What Kepler's equation needs of the start, with time counted forwards.
#[derive(Debug, Clone, Copy)]
struct Path {
    /// m³/s²
    gm: f64,
    /// gm over the semi-major axis, m²/s²
    alpha: f64,
    /// m
    radius: f64,
    /// r · v, m²/s
    sigma: f64,
}

impl Path {
    /// The time to the same place that is least, without whole revolutions, s: at most half a period, below zero where
    /// the way back is shorter.
    #[inline(always)]
    fn within_period(&self, time: f64) -> f64 {
        if self.alpha <= 0.0 {
            return time;
        }
        let period = TAU * self.gm / (self.alpha * self.alpha.sqrt());
        let turns = whole(time / period);
        // The product of revolutions and period to twice the digits, or the rest would keep only those of the whole.
        let (product, error) = exact_product(turns, period);
        (time - product) - error
    }

    /// The distance, m, and the state at the end, from the universal functions there; `sign` of the velocity's direction.
    #[inline(always)]
    fn end(&self, state: &State, u: &Universal, time: f64, sign: f64) -> (f64, State) {
        let Universal { u0, u1, u2, u3 } = *u;
        let radius = self.radius * u0 + self.sigma * u1 + self.gm * u2;
        let (per_start, per_end) = (1.0 / self.radius, 1.0 / radius);
        let f = 1.0 - self.gm * u2 * per_start;
        let (ahead, back) = (self.radius * u1 + self.sigma * u2, time - self.gm * u3);
        let g = sign * if self.sigma >= 0.0 { ahead } else { back };
        let f_rate = -sign * self.gm * u1 * (per_start * per_end);
        let g_rate = 1.0 - self.gm * u2 * per_end;
        let end = State {
            position: f * state.position + g * state.velocity,
            velocity: f_rate * state.position + g_rate * state.velocity,
        };
        (radius, end)
    }

    /// Time from the start, s, and its first three derivatives by s.
    #[inline(always)]
    fn time(&self, u: &Universal) -> (f64, f64, f64, f64) {
        let time = self.radius * u.u1 + self.sigma * u.u2 + self.gm * u.u3;
        let radius = self.radius * u.u0 + self.sigma * u.u1 + self.gm * u.u2;
        let drive = self.gm - self.alpha * self.radius;
        let sigma = self.sigma * u.u0 + drive * u.u1;
        (time, radius, sigma, drive * u.u0 - self.alpha * self.sigma * u.u1)
    }

    /// The universal functions where `time` (s, positive) is reached.
    fn solve(&self, time: f64) -> Result<Universal, ConicError> {
        let (mut low, mut high) = (0.0_f64, f64::INFINITY);
        if self.alpha > 0.0 {
            high = self.most();
        }
        let mut s = self.start(time).min(high);
        let mut residual = f64::INFINITY;
        for _ in 0..200 {
            let u = Universal::at(self.alpha, s);
            let (t, radius, sigma, third) = self.time(&u);
            residual = t - time;
            if !residual.is_finite() {
                high = s;
                s = 0.5 * (low + high);
                continue;
            }
            if residual > 0.0 {
                high = s;
            } else {
                low = s;
            }
            let (mut step, last) = self.correction(s, residual, radius, sigma, third);
            if last {
                return Ok(u.moved(self.alpha, step));
            }
            let root = (16.0 * radius * radius - 20.0 * residual * sigma).abs().sqrt();
            let far = -5.0 * residual / (radius + root);
            if step.is_nan() || (step - far).abs() > 0.1 * far.abs() {
                step = far;
            }
            let next = s + step;
            s = if next > low && next < high {
                next
            } else if high.is_finite() {
                if low > 0.0 { 0.5 * (low + high) } else { 0.125 * high }
            } else {
                2.0 * s
            };
            if high.is_finite() && high - low <= 2.0 * f64::EPSILON * high {
                return Ok(Universal::at(self.alpha, s));
            }
        }
        Err(ConicError::NotConverged { iterations: 200, residual_s: residual })
    }

    /// A step to the root at s, and whether what it leaves is below the last place.
    #[inline(always)]
    fn correction(&self, s: f64, residual: f64, radius: f64, sigma: f64, third: f64) -> (f64, bool) {
        // The series of time by the step turned round, to the fifth power: one division. [Abramowitz1964], 3.6.25
        let per = 1.0 / radius;
        let newton = -residual * per;
        let (a, b) = (0.5 * sigma * per, (1.0 / 6.0) * third * per);
        let (c, d) = ((-1.0 / 12.0) * self.alpha * a, (-1.0 / 20.0) * self.alpha * b);
        let a2 = a * a;
        let step = newton
            * ((1.0 - newton * (a - newton * (2.0 * a2 - b)))
                + (newton * newton * newton)
                    * ((5.0 * (a * b - a2 * a) - c)
                        + newton * (3.0 * (b * b + 2.0 * a * c) + 7.0 * a2 * (2.0 * a2 - 3.0 * b) - d)));
        // The step in units of the length on which the curve bends, squared: what is left after a step of the fifth
        // order is of the order of its square times the step.
        let bend = step * step * (sigma * sigma + radius * third.abs());
        let limit = radius * radius;
        let last = (bend * bend * step.abs() <= 1e-16 * s * (limit * limit))
            & (bend <= 1e-3 * limit)
            & (self.alpha.abs() * step * step <= 1e-3)
            & (s + step > 0.0);
        (step, last)
    }

    /// A first s on an ellipse, from Kepler's equation.
    #[inline(always)]
    fn start_on_ellipse(&self, time: f64) -> (f64, bool) {
        let Self { gm, alpha, radius, sigma } = *self;
        let root = alpha.abs().sqrt();
        let per_gm = 1.0 / gm;
        let (sine, cosine) = (sigma * root * per_gm, 1.0 - alpha * radius * per_gm);
        let e = (sine * sine + cosine * cosine).sqrt().min(1.0 - f64::EPSILON);
        let first = arc_tangent(sine, cosine);
        let mean = first - sine + time * alpha * root * per_gm;
        let ahead = eccentric_from_mean(e, mean) - first;
        (ahead / root, ahead > 1e-3)
    }

    /// Whether the time is so short that the distance changes little.
    #[inline(always)]
    fn is_short(&self, time: f64) -> bool {
        let short = time / self.radius;
        (self.sigma.abs() * short <= 1e-3 * self.radius) & (self.gm * short * short <= 1e-3 * self.radius)
    }

    /// Whether the start comes from Kepler's equation.
    #[inline(always)]
    fn is_elliptic(&self) -> bool {
        self.alpha * self.radius > 1e-3 * self.gm
    }

    /// A bound on s that a whole revolution gives.
    #[inline(always)]
    fn most(&self) -> f64 {
        TAU / self.alpha.sqrt() * (1.0 + 4.0 * f64::EPSILON)
    }

    /// A first s for `time`: from Kepler's equation on an ellipse, where it is right to some roundings at once; else
    /// from the cubic that the equation becomes on a parabola, and no more than growth on a hyperbola allows.
    fn start(&self, time: f64) -> f64 {
        let Self { gm, alpha, radius, sigma } = *self;
        // A short time changes the distance little, and the forms below would lose it among larger numbers.
        if self.is_short(time) {
            return time / radius;
        }
        if self.is_elliptic() {
            let (s, ahead) = self.start_on_ellipse(time);
            return if ahead { s } else { time / radius };
        }
        let root = alpha.abs().sqrt();
        // With s = y − σ/gm the square goes: y³ + a y = b.
        let shift = sigma / gm;
        let a = (6.0 * radius / gm - 3.0 * shift * shift).max(0.0);
        let b = 6.0 * time / gm + 6.0 * shift * radius / gm - 2.0 * shift * shift * shift;
        let cubic = depressed_cubic_root(a, b.abs()).copysign(b) - shift;
        let cubic = if cubic > 0.0 { cubic } else { time / radius };
        if alpha < 0.0 && -alpha * cubic * cubic > 1.0 {
            // gm U3 ≤ t with U3 ≥ (sinh x)/(−α)^(3/2)/6.9 beyond x = 1, counted from periapsis, which lies at most x = 1.4
            // ahead: further off the flight is counted from periapsis itself.
            let ahead = if sigma < 0.0 { 1.4 } else { 0.0 };
            let sinh = 6.9 * time * root * root * root / gm;
            return cubic.min((logarithm(sinh + (sinh * sinh + 1.0).sqrt()) + ahead) / root);
        }
        cubic
    }
}

/// The nearest whole number to a number that is not below zero.
#[inline(always)]
fn whole(x: f64) -> f64 {
    // Numbers from 2⁵² are whole; adding and taking away that rounds the others.
    const ROUNDER: f64 = 4_503_599_627_370_496.0;
    if x < ROUNDER { (x + ROUNDER) - ROUNDER } else { x }
}

/// A product of two numbers and what its rounding left out. [Dekker1971]
fn exact_product(a: f64, b: f64) -> (f64, f64) {
    let split = |x: f64| {
        let scaled = 134_217_729.0 * x;
        let high = scaled - (scaled - x);
        (high, x - high)
    };
    let product = a * b;
    let ((a1, a2), (b1, b2)) = (split(a), split(b));
    (product, ((a1 * b1 - product) + a1 * b2 + a2 * b1) + a2 * b2)
}
