//! Why a burn cannot be planned.

use crate::conic::ConicError;
use crate::orbit::OrbitError;
use thiserror::Error;

/// Facts about a plan that does not work out.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum BurnError {
    /// A quantity that must be above zero and finite.
    #[error("{what} must be above zero and finite, got {value}")]
    NotPositive {
        /// Which one, with its unit.
        what: &'static str,
        /// As given.
        value: f64,
    },
    /// A quantity that must be finite.
    #[error("{what} must be a finite number, got {value}")]
    NotFinite {
        /// Which one, with its unit.
        what: &'static str,
        /// As given.
        value: f64,
    },
    /// The place is beyond what an arc reaches.
    #[error("the arc never reaches {radius_m} m: its greatest radius is {greatest_m} m")]
    OutOfReach {
        /// Wanted, m.
        radius_m: f64,
        /// m.
        greatest_m: f64,
    },
    /// A tangent arc from one radius to another cannot arrive at this true anomaly.
    #[error("no arc that leaves {from_m} m along the orbit arrives at {to_m} m with a true anomaly of {} degrees", true_anomaly_rad.to_degrees())]
    NoTangentArc {
        /// m.
        from_m: f64,
        /// m.
        to_m: f64,
        /// rad.
        true_anomaly_rad: f64,
    },
    /// Energy too low for the place.
    #[error("an energy of {energy_m2_s2} m²/s² does not reach {radius_m} m")]
    EnergyTooLow {
        /// Per mass, m²/s².
        energy_m2_s2: f64,
        /// m.
        radius_m: f64,
    },
    /// The orbit has no period.
    #[error("the orbit is open (energy {energy_m2_s2} m²/s²): it never comes back")]
    Open {
        /// Per mass, m²/s².
        energy_m2_s2: f64,
    },
    /// The orbit does not leave.
    #[error("the orbit is bound (energy {energy_m2_s2} m²/s²): it has no asymptote to capture from")]
    Bound {
        /// Per mass, m²/s².
        energy_m2_s2: f64,
    },
    /// The phasing orbit would have no positive period.
    #[error("{revolutions} revolutions are too few to gain {ahead_s} s on a period of {period_s} s")]
    TooFewRevolutions {
        /// Whole revolutions asked for.
        revolutions: u32,
        /// Time to gain, s.
        ahead_s: f64,
        /// s.
        period_s: f64,
    },
    /// Periods so equal that the bodies never change their phase.
    #[error("both periods are {period_s} s: the phase never changes")]
    EqualPeriods {
        /// s.
        period_s: f64,
    },
    /// A direction that is zero, not finite, or leaves a plane open.
    #[error("{what} gives no direction")]
    NoDirection {
        /// Which one.
        what: &'static str,
    },
    /// No part, or too many.
    #[error("a burn splits into at least one part, got {parts}")]
    Parts {
        /// As given.
        parts: usize,
    },
    /// A burn that was planned about one body is burnt about another.
    #[error("this burn was planned about {planned}, the orbit goes round {here}")]
    OtherBody {
        /// Name.
        planned: String,
        /// Name.
        here: String,
    },
    /// A burn that was planned on one orbit is burnt on another.
    #[error("this burn was planned on another orbit: at its epoch the craft is {:.3} km and {:.3} m/s off", gap_m / 1e3, gap_m_s)]
    OtherOrbit {
        /// Between the places, m.
        gap_m: f64,
        /// Between the velocities, m/s.
        gap_m_s: f64,
    },
    /// Refused by the orbit below.
    #[error(transparent)]
    Orbit(#[from] OrbitError),
    /// Refused by the conic below.
    #[error(transparent)]
    Conic(#[from] ConicError),
}

/// The value, if it is above zero and finite.
pub(super) fn positive(what: &'static str, value: f64) -> Result<f64, BurnError> {
    if value > 0.0 && value.is_finite() { Ok(value) } else { Err(BurnError::NotPositive { what, value }) }
}

/// The value, if it is finite.
pub(super) fn finite(what: &'static str, value: f64) -> Result<f64, BurnError> {
    if value.is_finite() { Ok(value) } else { Err(BurnError::NotFinite { what, value }) }
}

pub(super) const GM: &str = "the gravitational parameter, m³/s²,";
