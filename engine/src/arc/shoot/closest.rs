//! The closest approach of a conic to a body that moves about the same parent, whether or not it is close.

use super::ShootError;
use crate::conic::{State, propagate};
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;

/// State relative to `body` on a conic about its parent, `time` s from the orbit's epoch.
pub(super) fn relative(orbit: &Orbit, body: &Body, time: f64) -> Result<State, ShootError> {
    let craft = propagate(orbit.gm(), orbit.state(), time)?;
    let there = body.state(orbit.epoch().after(time))?;
    Ok(State { position: craft.position - there.position, velocity: craft.velocity - there.velocity })
}

/// The closest approach nearest to `expected` (s from the orbit's epoch): time and relative state there.
///
/// Newton on r·v = 0 with the relative speed taken constant, which it nearly is where gravity of the parent alone bends
/// both paths alike; a step is kept below an eighth of the local time scale, so that it stays at its own minimum.
pub(super) fn near(orbit: &Orbit, body: &Body, expected: f64) -> Result<(f64, State), ShootError> {
    let mut time = expected;
    let mut state = relative(orbit, body, time)?;
    for _ in 0..100 {
        let speed = state.velocity.norm_squared();
        if speed == 0.0 {
            break;
        }
        let r = body.state(orbit.epoch().after(time))?.position.norm();
        let most = std::f64::consts::TAU * (r * r * r / orbit.gm()).sqrt() / 8.0;
        // Along the second derivative of half the distance squared where that is safely positive.
        let craft = propagate(orbit.gm(), orbit.state(), time)?;
        let there = craft.position - state.position;
        let pull = there / there.norm().powi(3) - craft.position / craft.position.norm().powi(3);
        let curvature = speed + orbit.gm() * state.position.dot(&pull);
        let bend = if curvature > 0.1 * speed { curvature } else { speed };
        let step = (-state.position.dot(&state.velocity) / bend).clamp(-most, most);
        time += step;
        state = relative(orbit, body, time)?;
        // Epochs are nanoseconds: nothing is gained below.
        if step.abs() < 1e-9 {
            break;
        }
    }
    Ok((time, state))
}

/// The nearest of all closest approaches between two times (s from the orbit's epoch), sampled at a thirty-second of the
/// shorter local time scale; `None` where the distance has its least value at an end.
pub(super) fn nearest(
    orbit: &Orbit,
    body: &Body,
    from: f64,
    to: f64,
    watch: &Watch<'_>,
) -> Result<Option<(f64, State)>, ShootError> {
    let mut best: Option<(f64, State)> = None;
    let mut time = from;
    let mut before: Option<(f64, f64)> = None;
    let mut last: Option<(f64, f64)> = None;
    loop {
        if watch.stopped() {
            return Err(ShootError::Interrupted);
        }
        let distance = relative(orbit, body, time)?.position.norm();
        if let (Some((_, a)), Some((middle, b))) = (before, last)
            && b <= a
            && b <= distance
        {
            let found = near(orbit, body, middle)?;
            let inside = found.0 >= from && found.0 <= to;
            if inside && best.as_ref().is_none_or(|(_, state)| found.1.position.norm() < state.position.norm()) {
                best = Some(found);
            }
        }
        if time >= to {
            return Ok(best);
        }
        (before, last) = (last, Some((time, distance)));
        let craft = propagate(orbit.gm(), orbit.state(), time)?.position.norm();
        let r = craft.min(body.state(orbit.epoch().after(time))?.position.norm());
        let step = std::f64::consts::TAU * (r * r * r / orbit.gm()).sqrt() / 32.0;
        time = (time + step.min((to - from) / 8.0)).min(to);
    }
}
