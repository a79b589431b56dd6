//! Arcs between an orbit about a body and one of its moons: up from periapsis, or down to it.
//!
//! One end is the moon's place at its epoch; the other is the arc's own periapsis at the radius of the parking orbit, so
//! that the burn there is along the velocity. The time of flight fixes the shape.

use crate::conic::{self, State};
use crate::numerics::root;
use crate::vector::Vec3;
use std::f64::consts::TAU;

/// Which end is the moon's.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Climb {
    /// From periapsis up to the moon.
    Ascending,
    /// From the moon down to periapsis.
    Descending,
}

/// An arc between periapsis and a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClimbArc {
    /// At periapsis.
    pub periapsis: State,
    /// At the far place.
    pub far: State,
    /// Angle between the two, rad, 0 to 2π.
    pub theta: f64,
}

/// The arc with periapsis radius `periapsis_radius` (m) that takes `seconds` between periapsis and the place `far` (m).
///
/// `normal` is the unit normal of the arc's plane, which must hold `far`; motion is posigrade about it. Half an orbit is the
/// cheapest; less time is flown faster, more time goes out past the far place and meets it on the way back (or the
/// mirror of that).
///
/// `None` when the far place is not above the periapsis radius or the time is not positive.
///
/// # Source
/// The conic through a place at true anomaly φ with periapsis rp: e = (r − rp) / (rp − r cos φ), from the orbit equation
/// ([Curtis2014], section 2.4). The time from periapsis grows with φ from nothing (e → ∞) without limit (e → 1, through apoapsis).
pub fn climb(gm: f64, far: &Vec3, normal: &Vec3, periapsis_radius: f64, seconds: f64, kind: Climb) -> Option<ClimbArc> {
    let r = far.norm();
    if !(r > periapsis_radius && periapsis_radius > 0.0 && seconds > 0.0 && seconds.is_finite()) {
        return None;
    }
    let at = |phi: f64| -> Option<(ClimbArc, f64)> {
        let eccentricity = (r - periapsis_radius) / (periapsis_radius - r * phi.cos());
        if !(eccentricity.is_finite() && eccentricity >= 0.0) {
            return None;
        }
        let turn = if kind == Climb::Ascending { -phi } else { phi };
        let r_hat = far / r;
        let p_hat = r_hat * turn.cos() + normal.cross(&r_hat) * turn.sin();
        let q_hat = normal.cross(&p_hat);
        let nu = -turn;
        // Parameter, and the two velocities from it.
        let parameter = periapsis_radius * (1.0 + eccentricity);
        let scale = (gm / parameter).sqrt();
        let velocity = (q_hat * (eccentricity + nu.cos()) - p_hat * nu.sin()) * scale;
        let far_state = State { position: *far, velocity };
        let periapsis = State { position: p_hat * periapsis_radius, velocity: q_hat * (scale * (1.0 + eccentricity)) };
        let mut time = conic::time_since_periapsis(gm, &far_state).abs();
        if phi > std::f64::consts::PI {
            let semi_major_axis = parameter / (1.0 - eccentricity * eccentricity);
            if semi_major_axis <= 0.0 || semi_major_axis.is_nan() {
                return None;
            }
            time = TAU * (semi_major_axis.powi(3) / gm).sqrt() - time;
        }
        Some((ClimbArc { periapsis, far: far_state, theta: phi }, time))
    };
    // Ends of φ: the straight fast arc, and the parabola that comes back from infinity.
    let least = (periapsis_radius / r).acos();
    let most = TAU - (2.0 * periapsis_radius / r - 1.0).clamp(-1.0, 1.0).acos();
    let residual = |phi: f64| at(phi).map_or(f64::NAN, |(_, time)| time.ln() - seconds.ln());
    let (mut low, mut high) = (1e-3, 1e-3);
    let width = most - least;
    // Walk the bracket towards its ends until the time is between them.
    while residual(least + low * width) > 0.0 && low > 1e-14 {
        low *= 0.1;
    }
    while residual(most - high * width) < 0.0 && high > 1e-14 {
        high *= 0.1;
    }
    let phi = root::bracketed(residual, least + low * width, most - high * width, 1e-15).ok()?;
    at(phi).map(|(arc, _)| arc)
}

#[cfg(test)]
mod tests {
    use super::*;

    const GM: f64 = 5.2e16;

    #[test]
    fn both_ends_lie_on_one_conic_and_the_time_is_kept() {
        let far = Vec3::new(7.0e8, -6.0e8, 0.0);
        let half = std::f64::consts::PI * f64::midpoint(far.norm(), 7.0e7).powf(1.5) / GM.sqrt();
        for kind in [Climb::Ascending, Climb::Descending] {
            for share in [0.2, 0.6, 1.0, 1.3, 2.5] {
                let arc = climb(GM, &far, &Vec3::z(), 7.0e7, share * half, kind).expect("an arc");
                let (start, end) = match kind {
                    Climb::Ascending => (arc.periapsis, arc.far),
                    Climb::Descending => (arc.far, arc.periapsis),
                };
                let flown = conic::propagate(GM, &start, share * half).expect("a conic");
                assert!((flown.position - end.position).norm() < 1e-9 * far.norm(), "{kind:?} {share}");
                assert!((flown.velocity - end.velocity).norm() < 1e-9 * end.velocity.norm());
                assert!((arc.theta > std::f64::consts::PI) == (share > 1.0) || share == 1.0);
            }
        }
    }

    #[test]
    fn half_an_orbit_is_the_tangent_arc_of_hohmann() {
        let far = Vec3::new(9.5e8, 0.0, 0.0);
        let half = std::f64::consts::PI * f64::midpoint(9.5e8, 7.0e7).powf(1.5) / GM.sqrt();
        let arc = climb(GM, &far, &Vec3::z(), 7.0e7, half, Climb::Ascending).expect("an arc");
        let expected = (2.0 * GM * (1.0 / 7.0e7 - 1.0 / (9.5e8 + 7.0e7))).sqrt();
        assert!((arc.periapsis.velocity.norm() / expected - 1.0).abs() < 1e-12);
        assert!(climb(GM, &far, &Vec3::z(), 2.0e9, half, Climb::Ascending).is_none());
    }
}
