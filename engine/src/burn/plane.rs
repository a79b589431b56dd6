//! Plane changes: the size of a turn, where two planes cross, and the burn at a node of an orbit.

use super::error::{BurnError, finite, positive};
use crate::conic::{ConicError, Elements, State, propagate, time_to_true_anomaly};
use crate::vector::Vec3;
use std::f64::consts::TAU;

/// Size, m/s, of the burn that turns a velocity of `speed` (m/s) at a flight path angle (rad; 0 on a circle) by `angle` (rad)
/// about the radius: the part along the radius stays.
///
/// # Errors
/// A speed not above zero, angles not finite.
///
/// # Source
/// [Vallado2013], equation 6-19.
pub fn turn(speed: f64, flight_path_angle: f64, angle: f64) -> Result<f64, BurnError> {
    positive("the speed, m/s,", speed)?;
    finite("the flight path angle, rad,", flight_path_angle)?;
    Ok(2.0 * speed * (flight_path_angle.cos() * (0.5 * finite("the angle, rad,", angle)?).sin()).abs())
}

/// Size, m/s, of the burn that changes a transverse speed from `before` to `after` (m/s) and turns it by `angle` (rad).
///
/// # Errors
/// Inputs not finite.
pub fn combined(before: f64, after: f64, angle: f64) -> Result<f64, BurnError> {
    finite("the speed before, m/s,", before)?;
    finite("the speed after, m/s,", after)?;
    let sine = (0.5 * finite("the angle, rad,", angle)?).sin();
    // (b − a)² + 4ab sin²: no digits lost where the burn is small.
    Ok(((before - after) * (before - after) + 4.0 * before * after * sine * sine).max(0.0).sqrt())
}

/// Where two planes given by inclination and node cross.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// Angle between the planes, rad, 0 to π.
    pub angle: f64,
    /// Argument of latitude of the crossing on the first orbit, rad, 0 to 2π; the other one is half a turn on.
    pub latitude_before: f64,
    /// On the second orbit.
    pub latitude_after: f64,
}

/// Crossing of the planes with inclinations `before` and `after` (rad) whose ascending nodes lie `node` (rad) apart.
///
/// # Errors
/// Angles not finite; planes that coincide.
///
/// # Source
/// [Vallado2013], equations 6-20 to 6-23; the angle taken from its sine and cosine.
pub fn crossing(before: f64, after: f64, node: f64) -> Result<Crossing, BurnError> {
    finite("the inclination before, rad,", before)?;
    finite("the inclination after, rad,", after)?;
    finite("the node change, rad,", node)?;
    let normal = |inclination: f64, node: f64| {
        Vec3::new(inclination.sin() * node.sin(), -inclination.sin() * node.cos(), inclination.cos())
    };
    let (first, second) = (normal(before, 0.0), normal(after, node));
    let line = first.cross(&second);
    let sine = line.norm();
    if !(sine > 1e-15) {
        return Err(BurnError::NoDirection { what: "the crossing of two planes that coincide" });
    }
    let latitude = |normal: &Vec3, node: f64| {
        let towards = Vec3::new(node.cos(), node.sin(), 0.0);
        line.dot(&normal.cross(&towards)).atan2(line.dot(&towards)).rem_euclid(TAU)
    };
    Ok(Crossing {
        angle: sine.atan2(first.dot(&second)),
        latitude_before: latitude(&first, 0.0),
        latitude_after: latitude(&second, node),
    })
}

/// A plane change at a node of an orbit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlaneChange {
    /// From the given state to the burn, s.
    pub wait: f64,
    /// State just before the burn, m and m/s.
    pub before: State,
    /// The burn, m/s, inertial.
    pub dv: Vec3,
    /// Angle between the planes, rad.
    pub angle: f64,
}

/// The two ways to turn an orbit into the plane with a `normal` (any length): at either node, the cheaper one first.
///
/// Size and shape of the orbit stay. A node beyond the reach of an open orbit is left out.
///
/// # Errors
/// A straight orbit; a normal without direction; planes that coincide; an open orbit past both nodes.
pub fn at_nodes(gm: f64, state: &State, normal: &Vec3) -> Result<Vec<PlaneChange>, BurnError> {
    let elements = Elements::from_state(gm, state)?;
    let own = state.position.cross(&state.velocity).normalize();
    let wanted = normal
        .try_normalize(0.0)
        .filter(|n| n.iter().all(|x| x.is_finite()))
        .ok_or(BurnError::NoDirection { what: "the normal of the wanted plane" })?;
    let line = own.cross(&wanted);
    let sine = line.norm();
    if !(sine > 1e-15) {
        return Err(BurnError::NoDirection { what: "the crossing of two planes that coincide" });
    }
    let (line, angle) = (line / sine, sine.atan2(own.dot(&wanted)));
    let here = state.position / state.radius();
    let mut changes = Vec::new();
    for node in [line, -line] {
        // Angle from here to the node, along the motion.
        let ahead = own.dot(&here.cross(&node)).atan2(here.dot(&node));
        let Some(wait) = time_to_true_anomaly(gm, state, elements.true_anomaly + ahead) else { continue };
        let before = propagate(gm, state, wait)?;
        let outward = before.position / before.radius();
        let radial = outward * outward.dot(&before.velocity);
        let transverse = (before.velocity - radial).norm();
        let after = radial + wanted.cross(&outward) * transverse;
        changes.push(PlaneChange { wait, before, dv: after - before.velocity, angle });
    }
    changes.sort_by(|a, b| a.dv.norm().total_cmp(&b.dv.norm()));
    if changes.is_empty() {
        return Err(ConicError::BeyondAsymptote {
            true_anomaly_rad: elements.true_anomaly,
            limit_rad: (-1.0 / elements.eccentricity).acos(),
        }
        .into());
    }
    Ok(changes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn burn_at_the_far_node_is_cheaper_and_reaches_the_plane() {
        let gm = 3.986e14;
        let state = State::new([7e6, 1e6, 0.5e6].into(), [-900.0, 8200.0, 1500.0].into());
        let normal = Vec3::new(0.1, -0.4, 1.0);
        let changes = at_nodes(gm, &state, &normal).unwrap();
        assert!(changes.len() == 2 && changes[0].dv.norm() < changes[1].dv.norm());
        for change in changes {
            let after = State::new(change.before.position, change.before.velocity + change.dv);
            let momentum = after.position.cross(&after.velocity);
            assert!(momentum.cross(&normal).norm() < 1e-10 * momentum.norm() * normal.norm());
            assert!((after.speed() - change.before.speed()).abs() < 1e-9);
        }
    }

    #[test]
    fn crossing_is_on_both_planes() {
        let cross = crossing(0.9, 0.7, 0.8).unwrap();
        // Latitude above the reference plane is the same on both orbits there.
        let height = |inclination: f64, latitude: f64| inclination.sin() * latitude.sin();
        assert!((height(0.9, cross.latitude_before) - height(0.7, cross.latitude_after)).abs() < 1e-15);
    }
}
