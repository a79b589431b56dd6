//! A plan flown in the patched-conic model: where its burn leads, and the burn shot until the aim is met.

use super::aimed::Flight;
use super::capture::{ArrivalPlane, aim, arrival_normal};
use super::shoot::{self, Aim, Start};
use super::window::Figures;
use crate::conic::{self, State};
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::vector::Vec3;

/// Why a plan was not flown to its aim.
pub(super) enum Unflown {
    /// The search was stopped from outside.
    Stopped,
    /// What the model says.
    Because(String),
}

/// Periapsis radius (m) at the goal that a burn leads to in the model.
pub(super) fn reached_periapsis(orbit: &Orbit, dv: &Vec3, flight: &Flight, watch: &Watch<'_>) -> Option<f64> {
    let after = orbit.after_impulse(*dv).ok()?;
    let met = shoot::meeting(&after, &flight.arc.to, flight.arc.arrive, None, watch).ok()?;
    Some(met.periapsis_radius()).filter(|radius| radius.is_finite())
}

/// The burn (m/s, inertial) that meets the plan's aim in the model, the point of the B-plane and the time of arrival; the excess
/// velocity it arrives with; and what it brings about.
pub(super) fn shot(
    flight: &Flight,
    radius: f64,
    plane: ArrivalPlane,
    watch: &Watch<'_>,
) -> Result<(Vec3, Vec3, Figures), Unflown> {
    let arrive = flight.arc.arrive;
    let mut dv = flight.after.velocity - flight.parking.state().velocity;
    let mut point = flight.aim.zip(flight.arc.v_inf_arrive);
    let mut shot = shoot_at(flight, point, radius, dv, watch)?;
    for _ in 0..AIMINGS {
        if point.is_none() || (shot.flown.periapsis_radius() - radius).abs() < 1.0 {
            break;
        }
        // The model met the point of the B-plane with another excess velocity than the plan's (another moon bent the way, or the plan
        // had not closed): aim again by the one it met it with.
        let v_infinity = shot.flown.v_infinity;
        let normal = arrival_normal(&flight.arc.to, &v_infinity, arrive, plane);
        point = Some((aim(&flight.arc.to, &v_infinity, &normal, radius), v_infinity));
        dv = shot.dv;
        shot = shoot_at(flight, point, radius, dv, watch)?;
    }
    let reached = shot.flown.periapsis_radius();
    let state =
        State { position: flight.parking.state().position, velocity: flight.parking.state().velocity + shot.dv };
    let figures = Figures {
        dv: shot.dv.norm(),
        v_inf_depart: conic::hyperbola::excess_speed(flight.parking.gm(), &state),
        v_inf_arrive: flight.aim.map(|_| shot.flown.v_infinity.norm()),
        arrive: shot.flown.epoch,
        periapsis_radius: reached,
        periapsis_miss: reached - radius,
    };
    Ok((shot.dv, shot.flown.v_infinity, figures))
}

/// Times that the aim is taken anew.
const AIMINGS: usize = 6;

/// One shot at a point of the B-plane (with the excess velocity that it is at right angles to), or at a periapsis radius where
/// the arc stays bound to the goal; the time of arrival is held.
fn shoot_at(
    flight: &Flight,
    point: Option<(Vec3, Vec3)>,
    radius: f64,
    dv: Vec3,
    watch: &Watch<'_>,
) -> Result<shoot::Shot, Unflown> {
    let body = flight.arc.to.clone();
    let arrive = flight.arc.arrive;
    let aim = match point {
        Some((b, v_infinity)) => {
            // Along the pole T has no direction; any fixed one serves.
            let pole = body.pole(arrive);
            let steep = v_infinity.cross(&pole).norm() < 1e-6 * v_infinity.norm();
            let pole = if steep { pole.cross(&Vec3::x()).normalize() } else { pole };
            let s = v_infinity.normalize();
            let t = s.cross(&pole).normalize();
            let r = s.cross(&t);
            Aim::BPlane { body, bt: b.dot(&t), br: b.dot(&r), pole: Some(pole), epoch: Some(arrive) }
        }
        None => Aim::Periapsis { body, radius, inclination: None, epoch: Some(arrive) },
    };
    let start = Start { dv: Some(dv), expected: Some(arrive), leaving: None };
    shoot::shoot(&flight.parking, &aim, &start, watch).map_err(|error| match error {
        shoot::ShootError::Interrupted => Unflown::Stopped,
        error => Unflown::Because(error.to_string()),
    })
}
