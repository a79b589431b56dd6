//! What a coast waits for.

use std::fmt;

use super::VoyageError;
use crate::conic::{Elements, Passage, State, time_to_radius, time_to_true_anomaly};
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// What [`super::Voyage::coast_to`] waits for: the first that comes, whichever body the craft is about by then.
#[derive(Debug, Clone, PartialEq)]
pub enum Goal {
    /// An epoch.
    Epoch(Epoch),
    /// The next periapsis.
    Periapsis,
    /// The next apoapsis.
    Apoapsis,
    /// Northward through the plane that orbits about the body are counted in.
    AscendingNode,
    /// Southward through it.
    DescendingNode,
    /// A distance from the centre, m, crossed either way.
    Radius(f64),
    /// An altitude above the equatorial radius, m, crossed either way.
    Altitude(f64),
    /// A true anomaly, rad.
    TrueAnomaly(f64),
    /// Entering the sphere of influence of a body.
    Arrival(Body),
    /// Leaving the sphere of influence of the body that the craft is about.
    Departure,
}

impl fmt::Display for Goal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Goal::Epoch(epoch) => write!(f, "{epoch}"),
            Goal::Periapsis => f.write_str("periapsis"),
            Goal::Apoapsis => f.write_str("apoapsis"),
            Goal::AscendingNode => f.write_str("ascending node"),
            Goal::DescendingNode => f.write_str("descending node"),
            Goal::Radius(m) => write!(f, "radius of {:.3} km", m / 1e3),
            Goal::Altitude(m) => write!(f, "altitude of {:.3} km", m / 1e3),
            Goal::TrueAnomaly(rad) => write!(f, "true anomaly of {:.3} deg", rad.to_degrees()),
            Goal::Arrival(body) => write!(f, "arrival at {}", body.name()),
            Goal::Departure => f.write_str("departure from the sphere of influence"),
        }
    }
}

impl Goal {
    /// Time from the start of an orbit to the goal on that conic, s; `None` where the conic never passes it.
    ///
    /// A goal that the craft stands on already is passed over: the next one counts. "Standing on" is 1e-8 of the local
    /// time scale √(r³/gm), a thousand times what propagation and the rounding of epochs leave, and 2 ns.
    pub(super) fn on_conic(&self, orbit: &Orbit) -> Result<Option<f64>, VoyageError> {
        let (gm, state) = (orbit.gm(), orbit.state());
        let r = state.position.norm();
        let here = 1e-8 * (r * r * r / gm).sqrt() + 2e-9;
        Ok(match self {
            Goal::Epoch(_) | Goal::Arrival(_) | Goal::Departure => None,
            Goal::Periapsis => next_anomaly(gm, state, 0.0, here)?,
            Goal::Apoapsis => match Elements::from_state(gm, state)?.apoapsis_radius() {
                Some(_) => next_anomaly(gm, state, std::f64::consts::PI, here)?,
                None => None,
            },
            Goal::TrueAnomaly(anomaly) => next_anomaly(gm, state, *anomaly, here)?,
            Goal::AscendingNode | Goal::DescendingNode => {
                let Some(anomaly) = node_anomaly(orbit)? else { return Ok(None) };
                let turn = if *self == Goal::AscendingNode { 0.0 } else { std::f64::consts::PI };
                next_anomaly(gm, state, anomaly + turn, here)?
            }
            Goal::Radius(radius) => next_radius(gm, state, *radius, here)?,
            Goal::Altitude(altitude) => next_radius(gm, state, orbit.body().radius() + altitude, here)?,
        })
    }
}

/// Next time at a true anomaly, later than `here`.
fn next_anomaly(gm: f64, state: &State, anomaly: f64, here: f64) -> Result<Option<f64>, VoyageError> {
    let period = Elements::from_state(gm, state)?.period(gm);
    Ok(later(time_to_true_anomaly(gm, state, anomaly), here, period))
}

/// Next time at a distance, either way, later than `here`.
fn next_radius(gm: f64, state: &State, radius: f64, here: f64) -> Result<Option<f64>, VoyageError> {
    let period = Elements::from_state(gm, state)?.period(gm);
    let way = |passage| later(time_to_radius(gm, state, radius, passage), here, period);
    Ok(match (way(Passage::Inbound), way(Passage::Outbound)) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    })
}

/// A time after `here`: a whole period is added where the event is now; an unbound conic has no second one.
fn later(time: Option<f64>, here: f64, period: Option<f64>) -> Option<f64> {
    let time = time?;
    match period {
        _ if time > here => {
            // An event just passed comes out as nearly a whole period; that is its next one all the same.
            Some(time)
        }
        Some(whole) => Some(time + whole),
        None => None,
    }
}

/// True anomaly of the ascending node on the plane that orbits about the body are counted in; `None` where the orbit lies
/// in that plane or has no plane.
fn node_anomaly(orbit: &Orbit) -> Result<Option<f64>, VoyageError> {
    let elements = orbit.elements()?;
    let inclined = elements.inclination > 1e-12 && elements.inclination < std::f64::consts::PI - 1e-12;
    Ok(inclined.then_some(-elements.argument_of_periapsis))
}

/// Time until the craft strikes the ground on this conic, s, and the periapsis radius; `None` where it stays above.
pub(super) fn strike(orbit: &Orbit) -> Result<Option<(f64, f64)>, VoyageError> {
    let (gm, state) = (orbit.gm(), orbit.state());
    let ground = orbit.body().radius();
    let elements = Elements::from_state(gm, state)?;
    let periapsis = elements.periapsis_radius();
    if !(periapsis < ground) {
        return Ok(None);
    }
    if state.position.norm() <= ground && state.position.dot(&state.velocity) < 0.0 {
        return Ok(Some((0.0, periapsis)));
    }
    Ok(time_to_radius(gm, state, ground, Passage::Inbound).map(|time| (time, periapsis)))
}

/// Where the horizon of a state lies: the unit vector along the motion, square to the place; `None` on a straight line.
pub(super) fn horizontal(state: &State) -> Option<Vec3> {
    let up = state.position.try_normalize(0.0)?;
    let flat = state.velocity - up * state.velocity.dot(&up);
    // Below rounding of the speed there is no direction left in it.
    (flat.norm() > 1e-12 * state.velocity.norm()).then(|| flat.normalize())
}
