//! How far rounding can carry a state along a conic, and what that does to its invariants.

use crate::conic::State;

/// Half a unit in the last place of 1, twice: the relative spacing of doubles.
pub(super) const EPSILON: f64 = f64::EPSILON;

/// Relative error that propagation may leave in the invariants of a state: (20 + 20 κ) ε.
///
/// κ is the condition of Lagrange's solution r = f r₀ + g v₀, v = ḟ r₀ + ġ v₀ as it is summed:
///
/// κ = max( (|f| r₀ + |g| v₀ + v τ) / r, (|ḟ| r₀ + |ġ| v₀ + (gm/r²) τ) / v ),
///
/// its last terms being what a relative nudge of the time τ does. Whole revolutions do not count in τ: they slide a
/// state along its conic, which leaves the invariants alone. f, g and their rates are taken from the two states and the
/// areas between them, so that the propagator is not asked about itself. [Battin1999], section 3.6.
///
/// - `gm`: m³/s²; `time`: s from `start` to `end`; `period`: s, where the conic is bound.
pub(super) fn propagation(gm: f64, start: &State, end: &State, time: f64, period: Option<f64>) -> f64 {
    let (r0, v0) = (start.position.norm(), start.velocity.norm());
    let (r, v) = (end.position.norm(), end.velocity.norm());
    let tau = period.map_or(time.abs(), |whole| time.abs().min(whole));
    let momentum = start.position.cross(&start.velocity);
    let square = momentum.norm_squared();
    let part = |a: &crate::vector::Vec3, b: &crate::vector::Vec3| (a.cross(b).dot(&momentum) / square).abs();
    // On a straight line through the centre the areas vanish; there f r₀ and g v₀ are bounded by their sum's parts.
    let (from_place, from_speed) = if square > (1e-12 * r0 * v0).powi(2) {
        (
            part(&end.position, &start.velocity) * r0 + part(&start.position, &end.position) * v0,
            part(&end.velocity, &start.velocity) * r0 + part(&start.position, &end.velocity) * v0,
        )
    } else {
        (r + r0 + v0 * tau, v + v0 + gm / (r0 * r0) * tau)
    };
    let kappa = ((from_place + v * tau) / r).max((from_speed + gm / (r * r) * tau) / v);
    (20.0 + 20.0 * kappa) * EPSILON
}

/// What a relative error `c` of place and velocity does to the specific energy, m²/s²: c (v² + gm/r).
pub(super) fn of_energy(gm: f64, state: &State, c: f64) -> f64 {
    c * (state.velocity.norm_squared() + gm / state.position.norm())
}

/// What a relative error `c` of place and velocity does to the specific angular momentum, m²/s: 2 c r v.
pub(super) fn of_angular_momentum(state: &State, c: f64) -> f64 {
    2.0 * c * state.position.norm() * state.velocity.norm()
}

/// What a relative error `c` of place and velocity does to the eccentricity vector: c (6 r v²/gm + 2).
///
/// Term by term from gm e = (v² − gm/r) r − (r·v) v: 2v δv r + (gm/r²) δr r + |v² − gm/r| δr + (δr v + r δv) v + (r v) δv.
pub(super) fn of_eccentricity(gm: f64, state: &State, c: f64) -> f64 {
    c * (6.0 * state.position.norm() * state.velocity.norm_squared() / gm + 2.0)
}

/// As the bound that the audit itself takes: the relative error that a coast of `time` s from `start` to `end` may leave.
pub fn propagation_error(gm: f64, start: &State, end: &State, time: f64) -> f64 {
    let energy = start.velocity.norm_squared() / 2.0 - gm / start.position.norm();
    let period = (energy < 0.0).then(|| std::f64::consts::TAU * gm / (-2.0 * energy).powf(1.5));
    propagation(gm, start, end, time, period)
}
