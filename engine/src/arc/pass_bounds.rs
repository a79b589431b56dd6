//! What a pass must keep clear of: the ground, the air, the ring.
//!
//! A ring lies in the body's equator plane and is thin, tens of metres to a few kilometres: a conic meets it only where it crosses
//! that plane, and an orbit within the plane meets all of it between its apsides.

use std::f64::consts::{PI, TAU};

use super::flyby::Flyby;
use super::flyby_burn::BurnPass;
use crate::conic::{Elements, State, angular_momentum, eccentricity_vector, hyperbola};
use crate::system::{Air, Body, Ring};
use crate::time::Epoch;
use crate::vector::Vec3;

/// Which bound a pass breaks, and by how much.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PassError {
    /// Below the ground.
    #[error("the pass of `{body}` is {:.3} km below its ground: periapsis radius {:.3} km, radius {:.3} km",
        (radius_m - periapsis_m) / 1e3, periapsis_m / 1e3, radius_m / 1e3)]
    Ground {
        /// Name.
        body: String,
        /// Periapsis radius, m.
        periapsis_m: f64,
        /// Equatorial radius, m.
        radius_m: f64,
    },
    /// Within the air.
    #[error("the pass of `{body}` dips {:.3} km into its air: periapsis altitude {:.3} km, top of the air {:.3} km",
        (top_m - altitude_m) / 1e3, altitude_m / 1e3, top_m / 1e3)]
    Air {
        /// Name.
        body: String,
        /// Periapsis altitude, m.
        altitude_m: f64,
        /// Top of the air's model, m.
        top_m: f64,
    },
    /// Lower than asked for.
    #[error("the pass of `{body}` is {:.3} km lower than the least altitude of {:.3} km",
        (least_m - altitude_m) / 1e3, least_m / 1e3)]
    Altitude {
        /// Name.
        body: String,
        /// Periapsis altitude, m.
        altitude_m: f64,
        /// As asked, m.
        least_m: f64,
    },
    /// Through the ring.
    #[error("the path crosses the ring plane of `{body}` {:.0} km from the centre, inside the ring from {:.0} to {:.0} km: {:.0} km from its {} edge",
        crossing_m / 1e3, inner_m / 1e3, outer_m / 1e3,
        (outer_m - crossing_m).min(crossing_m - inner_m) / 1e3,
        if outer_m - crossing_m < crossing_m - inner_m { "outer" } else { "inner" })]
    Ring {
        /// Name.
        body: String,
        /// Radius at the ring plane, m.
        crossing_m: f64,
        /// Inner edge, m.
        inner_m: f64,
        /// Outer edge, m.
        outer_m: f64,
    },
    /// In the ring's own plane.
    #[error("the path lies in the ring plane of `{body}` and comes as near as {:.0} km, inside the ring's outer edge of {:.0} km by {:.0} km",
        periapsis_m / 1e3, outer_m / 1e3, (outer_m - periapsis_m) / 1e3)]
    RingPlane {
        /// Name.
        body: String,
        /// Periapsis radius, m.
        periapsis_m: f64,
        /// Outer edge, m.
        outer_m: f64,
    },
}

/// A crossing of a plane through the centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// Distance from the centre, m.
    pub radius: f64,
    /// True anomaly, rad, −π to π.
    pub true_anomaly: f64,
}

/// Inclinations to the plane below this (rad) count as in it: at a giant's ring the orbit then leaves the plane by less than a ring is
/// thick, 1e-6 of a hundred thousand kilometres being a hundred metres.
const IN_PLANE: f64 = 1e-6;

/// Where a conic crosses the plane across `pole` (unit) through the centre, ascending node first; a hyperbola may have none or one on its
/// own branch. `None` where it lies in the plane.
///
/// # Source
/// [Battin1999], section 3.3, the equation of orbit r = p/(1 + e cos ν) at both ends of the line of nodes.
pub fn crossings(gm: f64, state: &State, pole: &Vec3) -> Option<Vec<Crossing>> {
    let momentum = angular_momentum(state);
    let normal = momentum.try_normalize(0.0)?;
    let line = pole.cross(&normal);
    if line.norm() < IN_PLANE {
        return None;
    }
    let line = line.normalize();
    let apse = eccentricity_vector(gm, state);
    let p = momentum.norm_squared() / gm;
    // A circle has no apse: its anomalies count from the state.
    let first = if apse.norm() > 1e-12 { apse.normalize() } else { state.position.normalize() };
    let second = normal.cross(&first);
    let mut found = Vec::new();
    for node in [line, -line] {
        let below = 1.0 + apse.dot(&node);
        if below > 0.0 {
            found.push(Crossing { radius: p / below, true_anomaly: node.dot(&second).atan2(node.dot(&first)) });
        }
    }
    Some(found)
}

/// Nothing, if the part of a conic between two true anomalies (rad, a full turn for −π to π) stays out of a body's ring.
///
/// # Errors
/// A crossing within the ring, with its radius and how far off the nearer edge is.
pub fn clear_of_ring(body: &Body, epoch: Epoch, gm: f64, state: &State, between: (f64, f64)) -> Result<(), PassError> {
    let Some(Ring { inner, outer }) = body.ring() else { return Ok(()) };
    let Some(found) = crossings(gm, state, &body.pole(epoch)) else {
        let p = angular_momentum(state).norm_squared() / gm;
        let e = eccentricity_vector(gm, state).norm();
        // The nearest place of the part that is flown: periapsis, or the end that is nearer to it.
        let (low, high) = between;
        let nearest = if low <= 0.0 && high >= 0.0 { 0.0 } else { low.abs().min(high.abs()) };
        let farthest = if e < 1.0 { p / (1.0 - e) } else { f64::INFINITY };
        let near = p / (1.0 + e * nearest.cos());
        return if near < outer && farthest > inner {
            Err(PassError::RingPlane { body: body.name().to_owned(), periapsis_m: near, outer_m: outer })
        } else {
            Ok(())
        };
    };
    for Crossing { radius, true_anomaly } in found {
        let flown = between.0 <= true_anomaly && true_anomaly <= between.1;
        if flown && inner <= radius && radius <= outer {
            let body = body.name().to_owned();
            return Err(PassError::Ring { body, crossing_m: radius, inner_m: inner, outer_m: outer });
        }
    }
    Ok(())
}

/// Nothing, if a periapsis radius (m) is above a body's ground, its air, and a least altitude (m) if there is one.
///
/// # Errors
/// Which of them is broken, and by how much.
pub fn clear_of_ground(body: &Body, periapsis: f64, least_altitude: Option<f64>) -> Result<(), PassError> {
    let altitude = periapsis - body.radius();
    let name = || body.name().to_owned();
    // A tenth of a millimetre is the rounding of a radius of a giant.
    let below = |bound: f64| altitude < bound - 1e-4;
    if below(0.0) {
        return Err(PassError::Ground { body: name(), periapsis_m: periapsis, radius_m: body.radius() });
    }
    if let Some(top) = body.air().map(Air::top).filter(|top| below(*top)) {
        return Err(PassError::Air { body: name(), altitude_m: altitude, top_m: top });
    }
    match least_altitude {
        Some(least) if below(least) => Err(PassError::Altitude { body: name(), altitude_m: altitude, least_m: least }),
        _ => Ok(()),
    }
}

/// The least periapsis radius, m, that keeps clear of ground and air.
pub fn least_radius(body: &Body) -> f64 {
    body.radius() + body.air().map_or(0.0, Air::top)
}

/// Nothing, if a pass at an epoch keeps clear of the body's ground, air and ring; before and after a burn at periapsis.
///
/// # Errors
/// Which bound is broken, and by how much.
pub fn check(body: &Body, epoch: Epoch, gm: f64, pass: &Flyby, least_altitude: Option<f64>) -> Result<(), PassError> {
    clear_of_ground(body, pass.periapsis_radius, least_altitude)?;
    let Ok(before) = hyperbola::at_periapsis(gm, pass.v_in, pass.aim) else { return Ok(()) };
    let after = State::new(before.position, before.velocity * (1.0 + pass.burn / before.speed()));
    clear_of_ring(body, epoch, gm, &before, (-PI, 0.0))?;
    clear_of_ring(body, epoch, gm, &after, (0.0, PI))
}

/// The same for a pass with a burn anywhere on it.
///
/// # Errors
/// As [`check`].
pub fn check_burn(body: &Body, epoch: Epoch, gm: f64, pass: &BurnPass) -> Result<(), PassError> {
    clear_of_ground(body, pass.pass.periapsis_radius, None)?;
    let after = State::new(pass.before.position, pass.before.velocity + pass.dv);
    let anomaly = |state: &State| {
        let turn = Elements::from_state(gm, state).map_or(0.0, |elements| elements.true_anomaly);
        turn - TAU * (turn / TAU).round()
    };
    clear_of_ring(body, epoch, gm, &pass.before, (-PI, anomaly(&pass.before)))?;
    clear_of_ring(body, epoch, gm, &after, (anomaly(&after), PI))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::arc::flyby::bend;
    use crate::system::{EphemerisChoice, System};

    fn oru() -> Body {
        System::embedded("velm", EphemerisChoice::Default).unwrap().body("Oru").unwrap()
    }

    #[test]
    fn a_crossing_is_where_the_propagated_orbit_has_no_height() {
        let gm = 5.2e16;
        let state = State::new(Vec3::new(9e7, 2e7, -3e7), Vec3::new(-8e3, 33e3, 9e3));
        let pole = Vec3::new(0.1, -0.2, 1.0).normalize();
        let found = crossings(gm, &state, &pole).unwrap();
        assert!(!found.is_empty());
        let elements = crate::conic::Elements::from_state(gm, &state).unwrap();
        for crossing in found {
            let there =
                crate::conic::Elements { true_anomaly: crossing.true_anomaly, ..elements }.to_state(gm).unwrap();
            assert!(there.position.dot(&pole).abs() < 1e-6 * crossing.radius);
            assert!((there.radius() / crossing.radius - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn a_pass_through_the_ring_is_refused_and_one_beside_it_is_not() {
        let oru = oru();
        let (epoch, gm) = (oru.system().epoch(), oru.gm());
        let equator = oru.equator(epoch);
        // In along the equator's x, over the pole: the line of nodes is the asymptote's own plane.
        let v = equator * Vec3::new(3e3, 0.0, 1e3);
        let over = equator * Vec3::new(0.0, 0.0, 1.0);
        let mut seen = (0, 0);
        for k in 0..40 {
            let radius = 66e6 + 2e6 * f64::from(k);
            let pass = bend(gm, &v, radius, &over).unwrap();
            let verdict = check(&oru, epoch, gm, &pass, None);
            let before = hyperbola::at_periapsis(gm, pass.v_in, pass.aim).unwrap();
            let hits =
                crossings(gm, &before, &oru.pole(epoch)).unwrap().iter().any(|at| (76e6..=97.5e6).contains(&at.radius));
            assert_eq!(hits, matches!(verdict, Err(PassError::Ring { .. })), "{radius} {verdict:?}");
            if hits { seen.0 += 1 } else { seen.1 += 1 }
        }
        assert!(seen.0 > 0 && seen.1 > 0, "{seen:?}");
        let flat = bend(gm, &(equator * Vec3::new(3e3, 0.0, 0.0)), 90e6, &(equator * Vec3::y())).unwrap();
        assert!(matches!(check(&oru, epoch, gm, &flat, None), Err(PassError::RingPlane { .. })));
        let wide = bend(gm, &(equator * Vec3::new(3e3, 0.0, 0.0)), 99e6, &(equator * Vec3::y())).unwrap();
        assert_eq!(check(&oru, epoch, gm, &wide, None), Ok(()));
    }

    #[test]
    fn ground_air_and_altitude_say_by_how_much() {
        let keld = oru().system().body("Keld").unwrap();
        let at = |altitude: f64, least| clear_of_ground(&keld, keld.radius() + altitude, least);
        assert!(matches!(at(-1e3, None), Err(PassError::Ground { .. })));
        let air = at(150e3, None).unwrap_err();
        assert!(air.to_string().contains("50.000 km into its air"), "{air}");
        assert!(matches!(at(250e3, Some(300e3)), Err(PassError::Altitude { .. })));
        assert_eq!(at(250e3, Some(250e3)), Ok(()));
    }
}
