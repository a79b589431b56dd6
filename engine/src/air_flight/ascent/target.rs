//! The orbit that an ascent is for, and the plane in which it flies.

use super::AscentError;
use super::azimuth;
use crate::conic::State;
use crate::frame::unit;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::vector::Vec3;

/// What is wanted of the orbit's plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Plane {
    /// None in particular: the one in which the climb leaves the air.
    Free,
    /// This angle to the equator, rad from 0 to π, with the node where it comes to be.
    Inclined(f64),
    /// This one: unit vector of the orbit's angular momentum, inertial.
    Fixed(Vec3),
}

/// The orbit that an ascent is for. Radii from the centre, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Target {
    /// Of the periapsis.
    pub periapsis: f64,
    /// Of the apoapsis, at least the periapsis.
    pub apoapsis: f64,
    /// Its plane.
    pub plane: Plane,
}

impl Target {
    /// A circular orbit at an altitude (m) above the equatorial radius, in whatever plane.
    pub fn circular(body: &Body, altitude: f64) -> Target {
        let radius = body.radius() + altitude;
        Target { periapsis: radius, apoapsis: radius, plane: Plane::Free }
    }

    /// The apsides and inclination of an orbit; its node too where `node` is true.
    ///
    /// # Errors
    /// An orbit that is not bound.
    pub fn of_orbit(orbit: &Orbit, node: bool) -> Result<Target, AscentError> {
        let (periapsis, apoapsis) = (orbit.periapsis_radius(), orbit.apoapsis_radius());
        let Some(apoapsis) = apoapsis.filter(|radius| radius.is_finite()) else {
            return Err(AscentError::BadTarget { what: "its energy", value: orbit.energy(), needs: "below zero" });
        };
        let momentum = orbit.angular_momentum();
        let Some(normal) = unit(&momentum) else {
            return Err(AscentError::BadTarget { what: "its angular momentum", value: 0.0, needs: "above zero" });
        };
        let pole = orbit.body().pole(orbit.epoch());
        let plane = if node {
            Plane::Fixed(normal)
        } else {
            Plane::Inclined(pole.cross(&normal).norm().atan2(pole.dot(&normal)))
        };
        Ok(Target { periapsis, apoapsis: apoapsis.max(periapsis), plane })
    }

    /// Refuses what cannot be ascended to: in the air, under the ground, out of the sphere of influence.
    ///
    /// # Errors
    /// As said.
    pub fn checked(&self, body: &Body) -> Result<(), AscentError> {
        let lowest_m = self.periapsis - body.radius();
        if !(self.periapsis.is_finite() && self.apoapsis.is_finite()) || lowest_m <= 0.0 {
            let what = "the height of its periapsis in metres";
            return Err(AscentError::BadTarget { what, value: lowest_m, needs: "above the ground" });
        }
        if let Some(top_m) = body.air().map(crate::system::Air::top)
            && lowest_m < top_m
        {
            return Err(AscentError::TargetInAir { body: body.name().to_owned(), lowest_m, top_m });
        }
        if self.apoapsis >= body.sphere_of_influence() {
            let what = "the radius of its apoapsis in metres";
            return Err(AscentError::BadTarget { what, value: self.apoapsis, needs: "within the sphere of influence" });
        }
        Ok(())
    }

    /// Energy by mass, J/kg, about a centre of `gm` (m³/s²).
    pub fn energy(&self, gm: f64) -> f64 {
        -gm / (self.periapsis + self.apoapsis)
    }

    /// Speed at a distance (m) between its apsides, m/s.
    pub fn speed(&self, gm: f64, radius: f64) -> f64 {
        (2.0 * (self.energy(gm) + gm / radius)).max(0.0).sqrt()
    }

    /// Unit vector of the angular momentum that a craft in a state should aim for; `north` is the body's pole.
    pub fn normal(&self, state: &State, north: &Vec3) -> Option<Vec3> {
        match self.plane {
            Plane::Fixed(normal) => Some(normal),
            Plane::Free => unit(&state.position.cross(&state.velocity)),
            Plane::Inclined(inclination) => azimuth::plane_through(state, north, inclination),
        }
    }
}
