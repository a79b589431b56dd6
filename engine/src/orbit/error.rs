//! What can be wrong with an orbit.

use crate::conic::ConicError;
use crate::ephemeris::EphemerisError;
use crate::time::TimeError;

/// Why there is no such orbit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OrbitError {
    /// The lowest point lies under the surface.
    #[error("the orbit passes {below_km:.3} km under the surface of {body}", below_km = below_m / 1e3)]
    UnderTheSurface {
        /// Name of the body.
        body: String,
        /// How far under the equatorial radius the lowest point lies, m.
        below_m: f64,
    },
    /// The orbit asked for reaches beyond the sphere of influence.
    #[error(
        "a circular orbit {radius_km:.0} km from the centre of {body} lies outside its sphere of influence of {sphere_km:.0} km",
        radius_km = radius_m / 1e3, sphere_km = sphere_m / 1e3
    )]
    OutsideTheSphere {
        /// Name of the body.
        body: String,
        /// Radius asked for, m.
        radius_m: f64,
        /// Radius of the sphere of influence, m.
        sphere_m: f64,
    },
    /// The sphere of influence lies below the ground, so that nothing can orbit the body.
    #[error(
        "nothing can orbit {body}: its sphere of influence of {sphere_km:.1} km lies below its ground at {ground_km:.1} km",
        sphere_km = sphere_m / 1e3, ground_km = ground_m / 1e3
    )]
    NothingCanOrbit {
        /// Name of the body.
        body: String,
        /// Radius of the sphere of influence, m.
        sphere_m: f64,
        /// Equatorial radius, m.
        ground_m: f64,
    },
    /// A number that describes the orbit is out of its range.
    #[error("{what} must be {range}, not {value}")]
    OutOfRange {
        /// Which number.
        what: &'static str,
        /// What it may be.
        range: &'static str,
        /// What it was, SI.
        value: f64,
    },
    /// The event never comes on this conic.
    #[error("this orbit has no {event}")]
    NoSuchEvent {
        /// Which event.
        event: String,
    },
    /// The conic itself gives no answer.
    #[error(transparent)]
    Conic(#[from] ConicError),
    /// The body's place is not known.
    #[error(transparent)]
    Ephemeris(#[from] EphemerisError),
    /// An epoch is out of range.
    #[error(transparent)]
    Time(#[from] TimeError),
}
