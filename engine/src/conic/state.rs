//! Place and velocity at one instant.

use crate::conic::ConicError;
use crate::vector::Vec3;

/// Position (m) and velocity (m/s) about a centre, in inertial axes that the owner states.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// m, from the centre of attraction
    pub position: Vec3,
    /// m/s
    pub velocity: Vec3,
}

impl State {
    /// A state from its position (m) and velocity (m/s).
    pub fn new(position: Vec3, velocity: Vec3) -> Self {
        Self { position, velocity }
    }

    /// Distance from the centre, m.
    pub fn radius(&self) -> f64 {
        self.position.norm()
    }

    /// Speed, m/s.
    pub fn speed(&self) -> f64 {
        self.velocity.norm()
    }

    /// The same place, flown through the other way.
    pub fn reversed(&self) -> Self {
        Self { position: self.position, velocity: -self.velocity }
    }

    /// Whether all six numbers are finite.
    pub fn is_finite(&self) -> bool {
        self.position.iter().chain(self.velocity.iter()).all(|x| x.is_finite())
    }

    /// Nothing, if a conic about a centre of `gm` (m³/s²) passes through this state.
    ///
    /// # Errors
    /// A bad gravitational parameter, a number that is not finite, or a place at the centre.
    pub fn checked(&self, gm: f64) -> Result<(), ConicError> {
        if !(gm > 0.0 && gm.is_finite()) {
            return Err(ConicError::GravitationalParameter { gm_m3_s2: gm });
        }
        if !self.is_finite() {
            return Err(ConicError::NotFinite { what: "the state" });
        }
        if self.position == Vec3::zeros() {
            return Err(ConicError::AtCentre { distance_m: 0.0 });
        }
        Ok(())
    }
}
