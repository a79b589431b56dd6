//! Why a burn cannot be flown with thrust.

use crate::burn::BurnError;
use crate::conic::ConicError;
use crate::motion::IntegrationError;
use thiserror::Error;

/// Facts about a burn under thrust that does not work out.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum FiniteError {
    /// A figure of the engines that must be above zero and finite.
    #[error("{what} must be above zero and finite, got {value}")]
    NotPositive {
        /// Which one, with its unit.
        what: &'static str,
        /// As given.
        value: f64,
    },
    /// Nothing that burns.
    #[error("there is nothing to burn")]
    NothingToBurn,
    /// More change of speed than the propellant gives.
    #[error("flown with thrust the burn takes {needed_m_s:.3} m/s, beyond the {left_m_s:.3} m/s that are left")]
    NotEnough {
        /// m/s.
        needed_m_s: f64,
        /// m/s.
        left_m_s: f64,
    },
    /// A burn that is to be along the velocity and is not.
    #[error("the burn stands at {} degrees to the velocity: it cannot be flown along it", angle_rad.to_degrees().round())]
    NotAlong {
        /// rad.
        angle_rad: f64,
    },
    /// No start and direction give what the impulse gives.
    #[error(
        "the burn of {duration_s:.1} s sweeps {} degrees of its orbit: no start and direction give what the impulse gives, {left_m_s:.3} m/s are missing at best",
        swept_rad.to_degrees().round()
    )]
    NotMet {
        /// s.
        duration_s: f64,
        /// Angle about the centre, rad.
        swept_rad: f64,
        /// Of what the impulse gives, m/s.
        left_m_s: f64,
    },
    /// The burn would go through the ground.
    #[error("the burn comes {depth_m:.0} m below the ground, {after_s:.1} s after it begins")]
    EntersTheGround {
        /// m.
        depth_m: f64,
        /// s.
        after_s: f64,
    },
    /// An energy beyond what is left to burn.
    #[error("an energy of {wanted_j_kg:.0} J/kg is not reached with all propellant: {reached_j_kg:.0} J/kg is")]
    EnergyNotReached {
        /// J/kg.
        wanted_j_kg: f64,
        /// J/kg.
        reached_j_kg: f64,
    },
    /// Passes on an orbit that does not come back.
    #[error("a burn between two open orbits cannot be split over passes: neither comes back")]
    NeverComesBack,
    /// No number of passes.
    #[error("a burn is split over 1 to {most} passes, got {passes}")]
    Passes {
        /// As given.
        passes: usize,
        /// The ceiling.
        most: usize,
    },
    /// More loss than allowed with any number of passes.
    #[error("with {most} passes the loss is still {loss_m_s:.3} m/s, above the {limit_m_s:.3} m/s allowed")]
    StillTooMuch {
        /// m/s.
        loss_m_s: f64,
        /// m/s.
        limit_m_s: f64,
        /// Passes tried.
        most: usize,
    },
    /// The run was told to stop.
    #[error("interrupted")]
    Interrupted,
    /// The flight cannot be followed.
    #[error(transparent)]
    Flight(#[from] IntegrationError),
    /// The conic cannot.
    #[error(transparent)]
    Conic(#[from] ConicError),
    /// The burn cannot.
    #[error(transparent)]
    Burn(#[from] BurnError),
}

/// The value, if it is above zero and finite.
pub(super) fn positive(what: &'static str, value: f64) -> Result<f64, FiniteError> {
    if value > 0.0 && value.is_finite() { Ok(value) } else { Err(FiniteError::NotPositive { what, value }) }
}
