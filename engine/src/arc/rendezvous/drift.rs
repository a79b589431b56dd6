//! The approach from below: onto a co-elliptic orbit, along it, and from there to the target.

use super::search::{Problem, Way};
use super::{Below, Plan, RendezvousError};
use crate::conic::{State, propagate};
use crate::numerics::minimum;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::vector::Vec3;
use std::f64::consts::TAU;

/// The interception on circles of the two orbits' sizes: what it takes, and how far behind it begins.
struct Interception {
    /// s.
    time: f64,
    /// How far the target is ahead when it begins, rad.
    lead: f64,
}

/// The whole plan.
pub(super) fn plan<'p>(
    problem: &Problem<'p>,
    below: &Below,
    within: f64,
    watch: &Watch<'_>,
) -> Result<Plan<'p>, RendezvousError> {
    let axis = -0.5 * problem.target.gm() / problem.target.energy();
    if !(below.height.abs() > 0.0 && below.height.abs() < 0.2 * axis) {
        let needs = "above zero and less than a fifth of the target's semi-major axis";
        return Err(RendezvousError::Figure { what: "the height below the target, m,", value: below.height, needs });
    }
    if !(below.drift >= 0.0 && below.drift.is_finite()) {
        let needs = "zero or more";
        return Err(RendezvousError::Figure { what: "the time of drifting, s,", value: below.drift, needs });
    }
    if !(below.angle > 0.0 && below.angle < TAU && (below.angle - 0.5 * TAU).abs() > 1e-3) {
        let needs = "above 0 and below 360 degrees, and not 180, which leaves the plane open";
        return Err(RendezvousError::Figure { what: "the angle of the interception, rad,", value: below.angle, needs });
    }
    let interception = intercept(problem, axis, below);
    let after_arrival = below.drift + interception.time;
    if !(within > after_arrival) {
        return Err(RendezvousError::Within { within_s: within, least_s: after_arrival });
    }
    // The place on the drift orbit that leads to the interception: where the drifting craft is at a time of arrival.
    let place = |arrival: f64| -> Result<State, RendezvousError> {
        let begin = drifting(problem, axis, below, &interception, arrival + below.drift)?;
        Ok(propagate(problem.target.gm(), &begin, -below.drift)?)
    };
    let way = problem.cheapest(within - after_arrival, place, watch)?;
    let arrival = way.wait + way.time;
    let epoch = problem.chaser.epoch().after(arrival);
    let onto = Orbit::new(problem.chaser.body().clone(), epoch, place(arrival)?)?;
    let mut plan = Plan::begin(problem, &way, Some(&onto))?;
    let dv = plan.last_dv();
    plan.coast("drift", below.drift, dv)?;
    // Epochs are whole nanoseconds: the last arc is solved from where the craft is then.
    let meeting = plan.at.epoch().after(interception.time);
    let time = meeting.seconds_since(plan.at.epoch());
    let target = problem.target.at(meeting)?;
    let arc = Problem { revolutions: 0, ..*problem }.arc(plan.at.state(), target.state(), time);
    let Some(Way { v1, periapsis, .. }) = arc else {
        return Err(RendezvousError::TooLow { least_radius_m: problem.least_radius, best_m: 0.0 });
    };
    if periapsis < problem.least_radius {
        return Err(RendezvousError::TooLow { least_radius_m: problem.least_radius, best_m: periapsis });
    }
    plan.burn_to(v1, "interception")?;
    let dv = plan.last_dv();
    plan.coast("interception", time, dv)?;
    plan.brake()
}

/// The time of an interception by the angle asked for that takes the least Δv, between circles of the two sizes.
fn intercept(problem: &Problem<'_>, axis: f64, below: &Below) -> Interception {
    let gm = problem.target.gm();
    let (inner, outer) = (axis - below.height, axis);
    let circle = |radius: f64, angle: f64| {
        let speed = (gm / radius).sqrt();
        State {
            position: Vec3::new(angle.cos(), angle.sin(), 0.0) * radius,
            velocity: Vec3::new(-angle.sin(), angle.cos(), 0.0) * speed,
        }
    };
    let (from, to) = (circle(inner, 0.0), circle(outer, below.angle));
    let rate = (gm / (outer * outer * outer)).sqrt();
    let natural = below.angle / rate;
    let cost = |time: f64| {
        let options =
            crate::arc::lambert::Options { way: crate::arc::lambert::Way::Prograde(Vec3::z()), max_revolutions: 0 };
        match crate::arc::lambert::solve(gm, &from.position, &to.position, time, &options) {
            Ok(arcs) => {
                arcs.first().map_or(f64::NAN, |arc| (arc.v1 - from.velocity).norm() + (to.velocity - arc.v2).norm())
            }
            Err(_) => f64::NAN,
        }
    };
    let (time, _) = minimum::bracketed(cost, 0.8 * natural, 1.2 * natural, 1e-3);
    Interception { time, lead: below.angle - rate * time }
}

/// Where the drifting craft is when the interception begins, `begin` s after the common epoch: on the co-elliptic orbit, behind the target
/// by the lead.
///
/// # Source
/// Co-elliptic orbits: a' = a − h, v_r' = v_r (a/a')^1.5; [Prussing1993], chapter 8 (from memory).
fn drifting(
    problem: &Problem<'_>,
    axis: f64,
    below: &Below,
    interception: &Interception,
    begin: f64,
) -> Result<State, RendezvousError> {
    let gm = problem.target.gm();
    let rate = (gm / (axis * axis * axis)).sqrt();
    let behind = problem.target_at(begin - interception.lead / rate)?;
    let radius = behind.radius();
    let up = behind.position / radius;
    let rising = behind.velocity.dot(&up);
    let ahead = (behind.velocity - up * rising).normalize();
    let (inner, inner_axis) = (radius - below.height, axis - below.height);
    let rising = rising * (axis / inner_axis).powf(1.5);
    let square = gm * (2.0 / inner - 1.0 / inner_axis) - rising * rising;
    Ok(State { position: up * inner, velocity: up * rising + ahead * square.max(0.0).sqrt() })
}
