//! What a conic keeps: energy, angular momentum, eccentricity vector.

use crate::conic::State;
use crate::vector::Vec3;

/// Specific orbital energy v²/2 − gm/r, m²/s²; `gm` in m³/s². Negative on ellipses.
///
/// # Source
/// [Battin1999], section 3.3.
pub fn energy(gm: f64, state: &State) -> f64 {
    0.5 * state.velocity.norm_squared() - gm / state.radius()
}

/// Specific angular momentum r × v, m²/s, in the axes of the state.
pub fn angular_momentum(state: &State) -> Vec3 {
    state.position.cross(&state.velocity)
}

/// Eccentricity vector: towards periapsis, its length is the eccentricity; `gm` in m³/s².
///
/// # Source
/// [Battin1999], section 3.3.
pub fn eccentricity_vector(gm: f64, state: &State) -> Vec3 {
    state.velocity.cross(&angular_momentum(state)) / gm - state.position / state.radius()
}

/// Minus twice the energy, m²/s²: gm over the semi-major axis, positive on ellipses, zero on parabolas.
pub(crate) fn alpha(gm: f64, state: &State) -> f64 {
    2.0 * gm / state.radius() - state.velocity.norm_squared()
}

/// Eccentricity, and its components along and across the radius: (e, e cos ν, e sin ν).
///
/// The components keep their digits on near-circular orbits, where the difference of two large numbers under a root
/// would lose them. [Battin1999], section 3.3.
pub(crate) fn eccentricity(gm: f64, state: &State) -> (f64, f64, f64) {
    let radius = state.radius();
    let momentum_squared = angular_momentum(state).norm_squared();
    let along = momentum_squared / (gm * radius) - 1.0;
    let across = momentum_squared.sqrt() * state.position.dot(&state.velocity) / (gm * radius);
    (along.hypot(across), along, across)
}
