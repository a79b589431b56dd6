//! Times of places on a conic.

use std::f64::consts::{PI, TAU};

use crate::conic::universal::Universal;
use crate::conic::{Elements, State, anomaly, invariants};

/// On which way a radius is passed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Passage {
    /// away from the centre
    Outbound,
    /// towards the centre
    Inbound,
}

/// Time since the nearest passage of periapsis, s, negative before it; `gm` in m³/s². On a circular orbit from the
/// place where [`Elements`] count its true anomaly from.
///
/// Accurate through the parabola: the time is a sum of one sign in universal functions counted from periapsis.
///
/// # Source
/// [Battin1999], section 4.5.
pub fn time_since_periapsis(gm: f64, state: &State) -> f64 {
    Shape::of(gm, state).time_of_state(state)
}

/// Time to the next passage of a true anomaly (rad), s, 0 or more; none beyond the asymptote, or on an open orbit that
/// has passed it. A passage less than some roundings of the orbit's time ago counts as now. `gm` in m³/s².
///
/// # Source
/// [Battin1999], section 4.5.
pub fn time_to_true_anomaly(gm: f64, state: &State, true_anomaly: f64) -> Option<f64> {
    let shape = Shape::of(gm, state);
    let nu = anomaly::wrapped_signed(true_anomaly);
    shape.until(shape.time_of_state(state), shape.time_of_anomaly(nu)?)
}

/// Time to the next passage of a radius (m) on the way out or in, s, 0 or more; none if the orbit does not reach it
/// again. `gm` in m³/s².
///
/// # Source
/// [Battin1999], section 4.5.
pub fn time_to_radius(gm: f64, state: &State, radius: f64, passage: Passage) -> Option<f64> {
    let shape = Shape::of(gm, state);
    let after_periapsis = shape.time_of_radius(radius)?;
    let event = match passage {
        Passage::Outbound => after_periapsis,
        Passage::Inbound => -after_periapsis,
    };
    shape.until(shape.time_of_state(state), event)
}

/// Time from periapsis out to a radius (m) on the conic of a state, s; none if the conic does not reach it, or is a circle.
/// `gm` in m³/s². A straight line has its periapsis at the centre.
///
/// # Source
/// [Battin1999], section 4.5.
pub fn time_from_periapsis(gm: f64, state: &State, radius: f64) -> Option<f64> {
    Shape::of(gm, state).time_of_radius(radius)
}

/// A conic about its periapsis.
#[derive(Debug, Clone, Copy)]
struct Shape {
    gm: f64,
    alpha: f64,
    eccentricity: f64,
    /// m
    periapsis: f64,
}

impl Shape {
    fn of(gm: f64, state: &State) -> Self {
        let eccentricity = invariants::eccentricity(gm, state).0;
        let momentum = invariants::angular_momentum(state);
        let periapsis = momentum.norm_squared() / (gm * (1.0 + eccentricity));
        let alpha = invariants::alpha(gm, state);
        // An energy within the rounding of its two terms is that of a parabola: no period comes of it.
        if alpha.abs() <= 8.0 * f64::EPSILON * gm / state.radius() {
            return Self { gm, alpha: 0.0, eccentricity: 1.0, periapsis: 0.5 * momentum.norm_squared() / gm };
        }
        Self { gm, alpha, eccentricity, periapsis }
    }

    fn is_circular(&self) -> bool {
        self.eccentricity <= 2e-14
    }

    fn period(&self) -> Option<f64> {
        (self.alpha > 0.0).then(|| TAU * self.gm / (self.alpha * self.alpha.sqrt()))
    }

    /// Time since periapsis at `s` from it: q s + gm e U3.
    fn time_at(&self, s: f64) -> f64 {
        self.periapsis * s + self.gm * self.eccentricity * Universal::at(self.alpha, s).u3
    }

    /// s from twice the angle whose tangent is √α `tangent`, by its series where that is small.
    fn s_of_half_tangent(&self, tangent: f64) -> f64 {
        let x = self.alpha * tangent * tangent;
        if x.abs() < 0.01 {
            let series = 1.0
                - x * (1.0 / 3.0
                    - x * (1.0 / 5.0
                        - x * (1.0 / 7.0 - x * (1.0 / 9.0 - x * (1.0 / 11.0 - x * (1.0 / 13.0 - x / 15.0))))));
            return 2.0 * tangent * series;
        }
        let root = self.alpha.abs().sqrt();
        if self.alpha > 0.0 {
            2.0 * (root * tangent).atan() / root
        } else {
            2.0 * (root * tangent).clamp(-1.0, 1.0).atanh() / root
        }
    }

    fn time_of_state(&self, state: &State) -> f64 {
        let (gm, alpha, e) = (self.gm, self.alpha, self.eccentricity);
        if self.is_circular() {
            let longitude = Elements::from_state(gm, state).map_or(0.0, |elements| elements.true_anomaly);
            return self.time_of_anomaly(anomaly::wrapped_signed(longitude)).unwrap_or(0.0);
        }
        let sigma = state.position.dot(&state.velocity);
        // tan(E/2)/√α = sin E/(1 + cos E)/√α, with e sin E and e cos E from the state.
        let cosine = gm - alpha * state.radius();
        let denominator = gm * e + cosine;
        let tangent = sigma / denominator;
        // Near apoapsis both parts of the tangent are rounding: only the half of the ellipse about periapsis goes this way.
        if (alpha <= 0.0 || cosine > 0.0) && denominator > 0.0 && alpha * tangent * tangent > -0.5 {
            return self.time_at(self.s_of_half_tangent(tangent));
        }
        let root = alpha.abs().sqrt();
        let anomaly = if alpha > 0.0 { (sigma * root).atan2(cosine) } else { (sigma * root / (gm * e)).asinh() };
        self.time_at(anomaly / root)
    }

    /// `nu` within ±π.
    fn time_of_anomaly(&self, nu: f64) -> Option<f64> {
        let e = self.eccentricity;
        if self.is_circular() {
            return self.period().map(|period| period * nu / TAU);
        }
        if let Some(limit) = anomaly::limit(e)
            && nu.abs() >= limit
        {
            return None;
        }
        let (sine, cosine) = (0.5 * nu).sin_cos();
        let scale = (self.gm * (1.0 + e)).sqrt();
        let q = self.periapsis.sqrt();
        let s = if self.alpha > 0.0 && nu.abs() > 0.5 * PI {
            let root = self.alpha.sqrt();
            2.0 * (root * q * sine).atan2(scale * cosine) / root
        } else {
            self.s_of_half_tangent(q * sine / (scale * cosine))
        };
        let time = self.time_at(s);
        time.is_finite().then_some(time)
    }

    /// Time from periapsis out to a radius, s.
    fn time_of_radius(&self, radius: f64) -> Option<f64> {
        if !(radius > 0.0 && radius.is_finite()) || self.is_circular() {
            return None;
        }
        let rise = radius - self.periapsis;
        if rise < -4.0 * f64::EPSILON * radius {
            return None;
        }
        // U2 = 2 U1² of the half argument, and U0² = 1 − α U1² there.
        let square = 0.5 * rise.max(0.0) / (self.gm * self.eccentricity);
        let rest = 1.0 - self.alpha * square;
        if rest < -4.0 * f64::EPSILON {
            return None;
        }
        let rest = rest.max(0.0);
        let s = if self.alpha > 0.0 && rest < 0.5 {
            let root = self.alpha.sqrt();
            2.0 * (root * square.sqrt()).atan2(rest.sqrt()) / root
        } else if self.alpha < 0.0 && rest > 2.0 {
            let root = (-self.alpha).sqrt();
            2.0 * (root * square.sqrt()).asinh() / root
        } else {
            self.s_of_half_tangent((square / rest).sqrt())
        };
        Some(self.time_at(s))
    }

    /// From one time since periapsis to the next at or after it.
    fn until(&self, now: f64, event: f64) -> Option<f64> {
        let wait = event - now;
        let slack = 1e-14 * (event.abs() + now.abs());
        if wait.abs() <= slack {
            return Some(wait.max(0.0));
        }
        match self.period() {
            // Both times are within half a period of periapsis, so that one period is enough.
            Some(period) => {
                let wait = if wait < 0.0 { wait + period } else { wait };
                Some(if wait <= slack { 0.0 } else { wait })
            }
            None => (wait > 0.0).then_some(wait),
        }
    }
}
