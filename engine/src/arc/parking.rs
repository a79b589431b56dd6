//! The two ends of a plan between bodies: the orbit departed from, the orbit arrived in, and what the burns there cost.

use super::asymptote::speed_at;
use super::plan_error::PlanError;
use super::route::Route;
use crate::conic;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;

/// What is departed from.
#[derive(Debug, Clone, PartialEq)]
pub enum Parking {
    /// A circular orbit at this altitude (m) above the equatorial radius, in the plane that suits the departure: it holds
    /// the departure asymptote, is inclined to the equator as little as that allows, and is posigrade.
    Altitude(f64),
    /// A given orbit: its plane is kept and what the turn costs is charged; the burn waits for its place on the orbit.
    Orbit(Box<Orbit>),
}

/// What is arrived in, by one burn at periapsis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ArrivalOrbit {
    /// A circular orbit at this altitude, m.
    Circular {
        /// Above the equatorial radius, m.
        altitude: f64,
    },
    /// An ellipse by the altitudes of its apsides, m.
    Ellipse {
        /// Above the equatorial radius, m.
        periapsis_altitude: f64,
        /// Above the equatorial radius, m.
        apoapsis_altitude: f64,
    },
}

impl ArrivalOrbit {
    /// Periapsis radius about `body`, m.
    pub fn periapsis_radius(&self, body: &Body) -> f64 {
        match *self {
            Self::Circular { altitude } => body.radius() + altitude,
            Self::Ellipse { periapsis_altitude, .. } => body.radius() + periapsis_altitude,
        }
    }

    /// Speed at periapsis, m/s.
    pub fn periapsis_speed(&self, body: &Body) -> f64 {
        let periapsis = self.periapsis_radius(body);
        let apoapsis = match *self {
            Self::Circular { .. } => periapsis,
            Self::Ellipse { apoapsis_altitude, .. } => body.radius() + apoapsis_altitude,
        };
        (2.0 * Orbit::gm_of(body) * apoapsis / (periapsis * (periapsis + apoapsis))).sqrt()
    }

    /// Whether such an orbit exists about `body`.
    ///
    /// # Errors
    /// An altitude that is not positive or reaches beyond the sphere of influence; apsides in the wrong order.
    pub fn check(&self, body: &Body) -> Result<(), PlanError> {
        match *self {
            Self::Circular { altitude } => check_altitude(body, altitude),
            Self::Ellipse { periapsis_altitude, apoapsis_altitude } => {
                check_altitude(body, periapsis_altitude)?;
                check_altitude(body, apoapsis_altitude)?;
                if apoapsis_altitude < periapsis_altitude {
                    return Err(PlanError::ApsidesSwapped {
                        periapsis_m: periapsis_altitude,
                        apoapsis_m: apoapsis_altitude,
                    });
                }
                Ok(())
            }
        }
    }
}

/// An altitude that an orbit can have.
pub(super) fn check_altitude(body: &Body, altitude: f64) -> Result<(), PlanError> {
    if altitude.is_finite() && altitude > 0.0 && body.radius() + altitude < body.sphere_of_influence() {
        return Ok(());
    }
    Err(PlanError::Altitude { body: body.name().to_string(), altitude_m: altitude })
}

/// One rung between the central arc and a body nested below: the moon's circle about its planet.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Rung {
    gm: f64,
    radius: f64,
    speed: f64,
}

/// What an end costs, from excess speeds alone.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct End {
    rungs: Vec<Rung>,
    gm: f64,
    /// Radius of the burn, m.
    pub radius: f64,
    /// Speed on the orbit there, m/s.
    pub speed: f64,
}

impl End {
    /// An end at `body`, with a burn at `radius` (m) between an orbit of that `speed` (m/s) and the hyperbola.
    /// `chain` runs from the child of the central body down to `body`.
    ///
    /// # Errors
    /// The ephemeris does not reach `epoch`.
    pub(super) fn new(chain: &[Body], body: &Body, radius: f64, speed: f64, epoch: Epoch) -> Result<Self, PlanError> {
        let mut rungs = Vec::new();
        for pair in chain.windows(2) {
            let gm = Orbit::gm_of(&pair[0]);
            let axis = semi_major_axis(&pair[1], &pair[0], epoch)?;
            rungs.push(Rung { gm, radius: axis, speed: (gm / axis).sqrt() });
        }
        Ok(Self { rungs, gm: Orbit::gm_of(body), radius, speed })
    }

    /// Excess speed about the body (m/s) from the one about the outermost body of the chain, each moon met where that costs
    /// least: along its motion. What the moon's phase adds is for the search within a window.
    pub(super) fn excess(&self, outer: f64) -> f64 {
        self.rungs.iter().fold(outer, |v, rung| (speed_at(rung.gm, v, rung.radius) - rung.speed).abs())
    }

    /// Δv (m/s) of a burn along the velocity between the orbit and the hyperbola with this excess speed about the body.
    pub(super) fn dv(&self, excess: f64) -> f64 {
        (speed_at(self.gm, excess, self.radius) - self.speed).abs()
    }
}

/// Semi-major axis (m) of a body's orbit about its parent at an epoch.
pub(super) fn semi_major_axis(body: &Body, parent: &Body, epoch: Epoch) -> Result<f64, PlanError> {
    let energy = conic::energy(Orbit::gm_of(parent), &body.state(epoch)?);
    Ok((-0.5 * Orbit::gm_of(parent) / energy).abs())
}

/// Time (s) of half an ellipse between the circles of the two ends: Hohmann's, the scale of every search.
pub(super) fn half_ellipse(route: &Route, epoch: Epoch, periapsis_radius: f64) -> Result<f64, PlanError> {
    let axis = |chain: &[Body]| match chain.first() {
        Some(body) => semi_major_axis(body, &route.about, epoch),
        None => Ok(periapsis_radius),
    };
    let mean = 0.5 * (axis(&route.down_to_start)? + axis(&route.down_to_goal)?);
    Ok(std::f64::consts::PI * (mean.powi(3) / Orbit::gm_of(&route.about)).sqrt())
}

/// Time (s) of half an ellipse between the orbits of two siblings, from their semi-major axes.
///
/// # Errors
/// Bodies that do not go round the same one.
pub fn half_ellipse_between(from: &Body, to: &Body) -> Result<f64, PlanError> {
    let unrelated = || PlanError::Unrelated { from: from.name().to_owned(), to: to.name().to_owned() };
    let about = from.parent().filter(|about| to.parent().as_ref() == Some(about)).ok_or_else(unrelated)?;
    let (Some(a), Some(b)) = (from.semi_major_axis(), to.semi_major_axis()) else { return Err(unrelated()) };
    Ok(std::f64::consts::PI * (0.125 * (a + b).powi(3) / Orbit::gm_of(&about)).sqrt())
}
