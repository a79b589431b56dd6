//! Why an ascent is refused, or fails.

use crate::motion::IntegrationError;
use crate::vehicle::VehicleError;

/// Why an ascent is refused before it is flown, or does not reach its orbit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AscentError {
    /// A target whose lowest point is in the air.
    #[error(
        "the target orbit comes down to {:.1} km over {body}, whose air reaches to {:.1} km",
        .lowest_m / 1e3,
        .top_m / 1e3
    )]
    TargetInAir {
        /// Name of the body.
        body: String,
        /// Height of the target's periapsis above the equatorial radius, m.
        lowest_m: f64,
        /// Top of the air, m.
        top_m: f64,
    },
    /// A target that is under the ground, unbound, or otherwise no orbit to ascend to.
    #[error("the target orbit cannot be ascended to: {what} is {value}; it must be {needs}")]
    BadTarget {
        /// Which figure.
        what: &'static str,
        /// The figure, SI.
        value: f64,
        /// What it must be.
        needs: &'static str,
    },
    /// An option outside its range.
    #[error("{what} is {value}; it must be {needs}")]
    BadOption {
        /// Which option.
        what: &'static str,
        /// Its value, SI.
        value: f64,
        /// What it must be.
        needs: &'static str,
    },
    /// A vehicle in air of which no drag area is told.
    #[error("the drag area of `{vehicle}` is not known; in the air of {body} it needs one")]
    NoDragArea {
        /// Name of the vehicle.
        vehicle: String,
        /// Name of the body.
        body: String,
    },
    /// All propellant is burned before the orbit is reached.
    #[error(
        "the propellant of `{vehicle}` is burned {time_s:.0} s after lift-off, at {:.1} km and {speed_m_s:.0} m/s: about {missing_m_s:.0} m/s are missing",
        .height_m / 1e3
    )]
    OutOfPropellant {
        /// Name of the vehicle.
        vehicle: String,
        /// s after lift-off.
        time_s: f64,
        /// m.
        height_m: f64,
        /// Inertial, m/s.
        speed_m_s: f64,
        /// Speed that thrust would still have to give, m/s.
        missing_m_s: f64,
    },
    /// The path turns down before it is out of the air.
    #[error("the path turns down {time_s:.0} s after lift-off, at {:.1} km", .height_m / 1e3)]
    FellBack {
        /// s after lift-off.
        time_s: f64,
        /// m.
        height_m: f64,
    },
    /// The guidance law finds no steering to the target.
    #[error("no steering to the target is found {time_s:.0} s after lift-off, at {:.1} km and {speed_m_s:.0} m/s", .height_m / 1e3)]
    NoSteering {
        /// s after lift-off.
        time_s: f64,
        /// m.
        height_m: f64,
        /// Inertial, m/s.
        speed_m_s: f64,
    },
    /// An engine that would have to be lit more often than it can be.
    #[error("the closing burn needs engine `{engine}` to be lit again; it can be lit {ignitions} times")]
    NoIgnition {
        /// Name of the engine.
        engine: String,
        /// How often it can be lit.
        ignitions: u32,
    },
    /// No kick angle gives an ascent.
    #[error("no ascent of {flights} tried reaches the orbit; the one that came nearest: {nearest}")]
    NoAscent {
        /// How many were flown.
        flights: usize,
        /// Why the last of them failed.
        nearest: Box<AscentError>,
    },
    /// The vehicle cannot.
    #[error(transparent)]
    Vehicle(#[from] VehicleError),
    /// The motion cannot be followed.
    #[error(transparent)]
    Motion(#[from] IntegrationError),
}
