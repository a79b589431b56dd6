//! The six classical elements, for every conic with a plane.

use std::f64::consts::{PI, TAU};

use crate::conic::anomaly::{self, wrapped};
use crate::conic::{ConicError, State, angular_momentum, invariants};
use crate::vector::Vec3;

/// Below this an eccentricity, or the sine of an inclination, is the rounding of a state whose true value is zero: a
/// hundred roundings, and still a fifth of the 1e-13 to which elements and state answer to each other.
const SINGULAR: f64 = 2e-14;

/// Classical elements of a conic, in the axes of the state they come from.
///
/// Where an angle is undefined, convention fixes it: a circular orbit has `argument_of_periapsis` 0 and counts
/// `true_anomaly` from the ascending node; an equatorial one has `ascending_node` 0 and counts `argument_of_periapsis`
/// from the x axis along the motion; a circular equatorial one counts `true_anomaly` from the x axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Elements {
    /// m, positive
    pub semi_latus_rectum: f64,
    /// dimensionless, 0 or more; 1 on a parabola
    pub eccentricity: f64,
    /// rad, 0 to π; above π/2 retrograde
    pub inclination: f64,
    /// rad, 0 to 2π, right ascension of the ascending node
    pub ascending_node: f64,
    /// rad, 0 to 2π
    pub argument_of_periapsis: f64,
    /// rad, 0 to 2π on ellipses, −π to π on open orbits
    pub true_anomaly: f64,
}

impl Elements {
    /// Elements of a state about a centre of `gm` (m³/s²).
    ///
    /// # Errors
    /// As [`State::checked`], and [`ConicError::Rectilinear`] if place and velocity are on one line.
    ///
    /// # Source
    /// [Battin1999], section 3.3; angles by their tangents, which keep their digits at 0 and π.
    pub fn from_state(gm: f64, state: &State) -> Result<Self, ConicError> {
        state.checked(gm)?;
        let momentum = angular_momentum(state);
        let h = momentum.norm();
        if h <= 4.0 * f64::EPSILON * state.radius() * state.speed() {
            return Err(ConicError::Rectilinear);
        }
        let tilt = momentum.x.hypot(momentum.y);
        let (eccentricity, along, across) = invariants::eccentricity(gm, state);
        let equatorial = tilt <= SINGULAR * h;
        let circular = eccentricity <= SINGULAR;
        let inclination = if equatorial { if momentum.z > 0.0 { 0.0 } else { PI } } else { tilt.atan2(momentum.z) };
        let node = if equatorial { Vec3::x() } else { Vec3::new(-momentum.y, momentum.x, 0.0) / tilt };
        let ascending_node = if equatorial { 0.0 } else { wrapped(momentum.x.atan2(-momentum.y)) };
        let ahead = momentum.cross(&node) / h;
        let latitude = state.position.dot(&ahead).atan2(state.position.dot(&node));
        let true_anomaly = if circular { latitude } else { across.atan2(along) };
        let argument_of_periapsis = if circular { 0.0 } else { wrapped(latitude - true_anomaly) };
        let semi_latus_rectum = h * h / gm;
        if !(semi_latus_rectum.is_finite() && eccentricity.is_finite()) {
            return Err(ConicError::NotFinite { what: "the elements" });
        }
        Ok(Self {
            semi_latus_rectum,
            eccentricity: if circular { 0.0 } else { eccentricity },
            inclination,
            ascending_node,
            argument_of_periapsis,
            true_anomaly: if eccentricity < 1.0 { wrapped(true_anomaly) } else { true_anomaly },
        })
    }

    /// State about a centre of `gm` (m³/s²).
    ///
    /// # Errors
    /// A bad gravitational parameter, elements that describe no orbit, a true anomaly on or beyond the asymptote.
    ///
    /// # Source
    /// [Battin1999], section 3.3.
    pub fn to_state(&self, gm: f64) -> Result<State, ConicError> {
        self.checked(gm)?;
        let (p, e) = (self.semi_latus_rectum, self.eccentricity);
        let (sine, cosine) = self.true_anomaly.sin_cos();
        let spread = 1.0 + e * cosine;
        if spread <= 0.0 {
            let limit_rad = anomaly::limit(e).unwrap_or(PI);
            return Err(ConicError::BeyondAsymptote { true_anomaly_rad: self.true_anomaly, limit_rad });
        }
        let (sine_node, cosine_node) = self.ascending_node.sin_cos();
        let (sine_tilt, cosine_tilt) = self.inclination.sin_cos();
        let (sine_periapsis, cosine_periapsis) = self.argument_of_periapsis.sin_cos();
        let node = Vec3::new(cosine_node, sine_node, 0.0);
        let ahead = Vec3::new(-sine_node * cosine_tilt, cosine_node * cosine_tilt, sine_tilt);
        let periapsis = cosine_periapsis * node + sine_periapsis * ahead;
        let across = cosine_periapsis * ahead - sine_periapsis * node;
        let radius = p / spread;
        let speed = (gm / p).sqrt();
        let state = State {
            position: (radius * cosine) * periapsis + (radius * sine) * across,
            velocity: (-speed * sine) * periapsis + (speed * (e + cosine)) * across,
        };
        if !state.is_finite() {
            return Err(ConicError::NotFinite { what: "the state of these elements" });
        }
        Ok(state)
    }

    fn checked(&self, gm: f64) -> Result<(), ConicError> {
        if !(gm > 0.0 && gm.is_finite()) {
            return Err(ConicError::GravitationalParameter { gm_m3_s2: gm });
        }
        let (p, e) = (self.semi_latus_rectum, self.eccentricity);
        if !(p > 0.0 && p.is_finite() && e >= 0.0 && e.is_finite()) {
            return Err(ConicError::Shape { semi_latus_rectum_m: p, eccentricity: e });
        }
        let angles = [self.inclination, self.ascending_node, self.argument_of_periapsis, self.true_anomaly];
        if !angles.iter().all(|angle| angle.is_finite()) {
            return Err(ConicError::NotFinite { what: "an angle of the elements" });
        }
        Ok(())
    }

    /// m; negative on hyperbolas, infinite on a parabola.
    pub fn semi_major_axis(&self) -> f64 {
        self.semi_latus_rectum / ((1.0 - self.eccentricity) * (1.0 + self.eccentricity))
    }

    /// m, from the centre.
    pub fn periapsis_radius(&self) -> f64 {
        self.semi_latus_rectum / (1.0 + self.eccentricity)
    }

    /// m, from the centre; none on open orbits.
    pub fn apoapsis_radius(&self) -> Option<f64> {
        (self.eccentricity < 1.0).then(|| self.semi_latus_rectum / (1.0 - self.eccentricity))
    }

    /// s; none on open orbits. `gm` in m³/s².
    pub fn period(&self, gm: f64) -> Option<f64> {
        let a = self.semi_major_axis();
        (self.eccentricity < 1.0).then(|| TAU * a * (a / gm).sqrt())
    }

    /// Distance from the centre, m.
    pub fn radius(&self) -> f64 {
        self.semi_latus_rectum / (1.0 + self.eccentricity * self.true_anomaly.cos())
    }

    /// rad: E − e sin E from 0 to 2π on ellipses, e sinh H − H on hyperbolas, D + D³/3 with D = tan(ν/2) on a parabola.
    pub fn mean_anomaly(&self) -> f64 {
        let e = self.eccentricity;
        if e < 1.0 {
            anomaly::mean_from_eccentric(e, anomaly::eccentric_from_true(e, self.true_anomaly))
        } else if e > 1.0 {
            anomaly::mean_from_hyperbolic(e, anomaly::hyperbolic_from_true(e, self.true_anomaly))
        } else {
            anomaly::mean_from_parabolic(anomaly::parabolic_from_true(self.true_anomaly))
        }
    }
}
