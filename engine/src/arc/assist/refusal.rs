//! What an assist that does not capture lacks, and what else would do.

use super::bend::Turns;
use super::error::Shortfall;
use crate::arc::flyby::turn_angle;
use crate::conic::State;
use crate::orbit::Orbit;

/// The best pass of an arrival, though it does not capture.
pub(super) fn shortfall(turns: &Turns<'_>) -> Shortfall {
    let gm = Orbit::gm_of(turns.giant);
    let here = turns.arrival.state.position.norm();
    let far = turns.bounds.greatest_apoapsis;
    let energy_after = turns.least_energy();
    // An ellipse with this apoapsis and a periapsis no higher than here: where the velocity is square to the radius.
    let energy_wanted = -gm / (far + here);
    let speed = |energy: f64| (2.0 * (energy + gm / here)).max(0.0).sqrt();
    let v_infinity = turns.arrival.v_infinity.norm();
    let low = turns.bounds.least_radius;
    let captured = (2.0 * gm * far / (low * (low + far))).sqrt();
    Shortfall {
        moon: turns.moon.name().to_owned(),
        giant: turns.giant.name().to_owned(),
        epoch: turns.epoch,
        v_infinity,
        v_infinity_moon: turns.arrival.excess().norm(),
        pass_radius: turns.bounds.pass_radius,
        greatest_turn: turns.greatest(),
        energy_before: 0.5 * v_infinity * v_infinity,
        energy_after,
        energy_wanted,
        missing: (speed(energy_after) - speed(energy_wanted)).max(0.0),
        second_moon: second_moon(turns, energy_after),
        periapsis_burn: (v_infinity * v_infinity + 2.0 * gm / low).sqrt() - captured,
        periapsis_radius: low,
    }
}

/// The other moon whose pass would then brake most, were it where the craft crosses its orbit: circles in one plane.
fn second_moon(turns: &Turns<'_>, energy: f64) -> Option<(String, f64)> {
    let gm = Orbit::gm_of(turns.giant);
    let place = turns.arrival.state.position;
    let velocity = turns.arrival.moon.velocity + turns.braked();
    let first = State { position: place, velocity };
    let momentum = first.position.cross(&first.velocity).norm();
    let mut best: Option<(String, f64)> = None;
    for other in turns.giant.moons() {
        let Some(radius) = other.semi_major_axis() else { continue };
        // An orbit lower than the giant's bounds, or a moon with no sphere of its own above its ground, gives no pass.
        if other == *turns.moon || radius < turns.bounds.least_radius || other.sphere_of_influence() <= other.radius() {
            continue;
        }
        let across = momentum / radius;
        let square = 2.0 * (energy + gm / radius);
        // Never as low as this orbit.
        if square < across * across {
            continue;
        }
        let circular = (gm / radius).sqrt();
        let outward = (square - across * across).sqrt();
        let excess = (across - circular).hypot(outward);
        // A hundredth of its radius up, as where nothing else is said.
        let Ok(greatest) = turn_angle(other.gm(), excess, 1.01 * other.radius()) else { continue };
        // Angle of the excess velocity from straight against the motion.
        let angle = outward.atan2(circular - across);
        let left = (angle - greatest).max(0.0);
        let along = circular - excess * left.cos();
        let after = 0.5 * (along * along + (excess * left.sin()).powi(2)) - gm / radius;
        if best.as_ref().is_none_or(|(_, least)| after < *least) {
            best = Some((other.name().to_owned(), after));
        }
    }
    best
}
