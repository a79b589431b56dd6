//! Why an aim is not met.

use crate::arc::lambert::LambertError;
use crate::arc::pass_bounds::PassError;
use crate::burn::BurnError;
use crate::conic::ConicError;
use crate::ephemeris::EphemerisError;
use crate::motion::MotionError;
use crate::orbit::OrbitError;
use crate::time::Epoch;

/// Why a burn could not be shot.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ShootError {
    /// The coast does not come near the target on any conic of the way.
    #[error("the coast never comes onto a conic that approaches {body}")]
    NotReached {
        /// Name of the target.
        body: String,
    },
    /// The target cannot be passed or orbited: it is the root of the system.
    #[error("{body} is the centre of its system: there is no sphere to arrive in")]
    NoSphere {
        /// Name of the target.
        body: String,
    },
    /// The aim is for a body of another system.
    #[error("{body} is not in the system of the orbit")]
    OtherSystem {
        /// Name of the target.
        body: String,
    },
    /// The time of arrival is not after the burn.
    #[error("arrival at {asked} is not after the burn at {now}")]
    Past {
        /// Epoch of arrival.
        asked: Epoch,
        /// Epoch of the burn.
        now: Epoch,
    },
    /// A figure of the aim is outside its range.
    #[error("{what} of the aim is out of range: {value}")]
    BadAim {
        /// Which figure.
        what: &'static str,
        /// SI.
        value: f64,
    },
    /// A periapsis above the place of the burn: whatever is burnt, the orbit goes through that place.
    #[error(
        "a periapsis radius of {asked_km:.3} km cannot be had by a burn at a distance of {distance_km:.3} km from {body}"
    )]
    AboveTheBurn {
        /// Name of the body.
        body: String,
        /// Radius asked for, km.
        asked_km: f64,
        /// Distance from the centre, km.
        distance_km: f64,
    },
    /// The plane asked for does not hold the approach's asymptote.
    #[error(
        "an inclination of {asked_deg:.3} deg cannot be had: the approach comes in at a declination of {declination_deg:.3} deg"
    )]
    Inclination {
        /// deg.
        asked_deg: f64,
        /// Declination of v-infinity to the target's equator, deg.
        declination_deg: f64,
    },
    /// An approach without an asymptote: a bound orbit about the target or out of its parent's sphere.
    #[error("the conic about {body} is bound: it has no asymptote to aim with")]
    Bound {
        /// Name of the body.
        body: String,
    },
    /// A flyby that breaks a bound.
    #[error(transparent)]
    Pass(#[from] PassError),
    /// A flyby whose better side does not serve: the turn leads past the direction of the most.
    #[error(
        "no side of this pass {wanted} the energy about the parent of {body}: it turns by {turn_deg:.3} deg and changes it by {gained_km2_s2:+.4} km²/s²"
    )]
    NoGain {
        /// Name.
        body: String,
        /// `lowers` or `raises`.
        wanted: &'static str,
        /// What it does, km²/s².
        gained_km2_s2: f64,
        /// deg.
        turn_deg: f64,
    },
    /// No convergence.
    #[error("the aim is not met after {iterations} steps: {off_m:.3} m off at best, with {dv_m_s:.3} m/s")]
    NotMet {
        /// Steps taken.
        iterations: usize,
        /// Size of what is left, m.
        off_m: f64,
        /// Size of the best burn, m/s.
        dv_m_s: f64,
    },
    /// The run was told to stop.
    #[error("interrupted")]
    Interrupted,
    /// The conic cannot.
    #[error(transparent)]
    Conic(#[from] ConicError),
    /// The orbit cannot.
    #[error(transparent)]
    Orbit(#[from] OrbitError),
    /// The model cannot.
    #[error(transparent)]
    Motion(#[from] MotionError),
    /// A body's place is not known there.
    #[error(transparent)]
    Ephemeris(#[from] EphemerisError),
    /// The burn has no local axes.
    #[error(transparent)]
    Burn(#[from] BurnError),
    /// No arc.
    #[error(transparent)]
    Lambert(#[from] LambertError),
}
