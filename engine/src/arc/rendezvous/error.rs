//! Why no burns bring one craft to another.

use crate::arc::lambert::LambertError;
use crate::burn::BurnError;
use crate::conic::ConicError;
use crate::orbit::OrbitError;

/// Why no burns bring one craft to another.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RendezvousError {
    /// The orbits are about two bodies.
    #[error("the chaser is about {chaser}, the target about {target}: a rendezvous is about one body")]
    TwoBodies {
        /// Name of the chaser's body.
        chaser: String,
        /// Name of the target's body.
        target: String,
    },
    /// One of the orbits is open.
    #[error("a rendezvous needs two closed orbits")]
    Open,
    /// No time, or less than drift and interception take.
    #[error("`within` must be more than {least_s:.0} s here, got {within_s:.0} s")]
    Within {
        /// As given, s.
        within_s: f64,
        /// s.
        least_s: f64,
    },
    /// A figure of the approach that is outside its range.
    #[error("{what} is {value}; it must be {needs}")]
    Figure {
        /// Which figure.
        what: &'static str,
        /// As given, SI.
        value: f64,
        /// What it must be.
        needs: &'static str,
    },
    /// All arcs pass too low.
    #[error(
        "no arc meets the target in this time with its periapsis above {least_radius_m:.0} m from the centre (the best one has {best_m:.0} m)"
    )]
    TooLow {
        /// The bound, m.
        least_radius_m: f64,
        /// The highest periapsis among the arcs, m.
        best_m: f64,
    },
    /// The run was told to stop.
    #[error("interrupted")]
    Interrupted,
    /// The burn cannot.
    #[error(transparent)]
    Burn(#[from] BurnError),
    /// The orbit cannot.
    #[error(transparent)]
    Orbit(#[from] OrbitError),
    /// The conic cannot.
    #[error(transparent)]
    Conic(#[from] ConicError),
    /// No arc.
    #[error(transparent)]
    Lambert(#[from] LambertError),
}
