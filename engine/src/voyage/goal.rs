//! What a coast waits for.

use std::fmt;

use super::VoyageError;
use crate::conic::State;
use crate::orbit::{Event, Orbit};
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
    /// Time from the start of an orbit to the goal on that conic, s; `None` where the conic never passes it. A goal that the
    /// craft stands on already is passed over: the next one counts ([`Orbit::time_to`]).
    pub(super) fn on_conic(&self, orbit: &Orbit) -> Result<Option<f64>, VoyageError> {
        let event = match *self {
            Goal::Epoch(_) | Goal::Arrival(_) | Goal::Departure => return Ok(None),
            Goal::Periapsis => Event::Periapsis,
            Goal::Apoapsis => Event::Apoapsis,
            Goal::AscendingNode => Event::AscendingNode,
            Goal::DescendingNode => Event::DescendingNode,
            Goal::Radius(m) => Event::Radius(m),
            Goal::Altitude(m) => Event::Altitude(m),
            Goal::TrueAnomaly(anomaly) => Event::TrueAnomaly(anomaly),
        };
        Ok(orbit.time_to(event)?)
    }
}

/// Where the horizon of a state lies: the unit vector along the motion, square to the place; `None` on a straight line.
pub(super) fn horizontal(state: &State) -> Option<Vec3> {
    let up = state.position.try_normalize(0.0)?;
    let flat = state.velocity - up * state.velocity.dot(&up);
    // Below rounding of the speed there is no direction left in it.
    (flat.norm() > 1e-12 * state.velocity.norm()).then(|| flat.normalize())
}
