//! Why a motion cannot be told.

use crate::conic::ConicError;
use crate::ephemeris::EphemerisError;
use crate::orbit::OrbitError;
use crate::time::TimeError;

/// Why a motion cannot be told.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MotionError {
    /// The search was interrupted.
    #[error("interrupted")]
    Interrupted,
    /// The conic gives no answer.
    #[error(transparent)]
    Conic(#[from] ConicError),
    /// The orbit gives no answer.
    #[error(transparent)]
    Orbit(#[from] OrbitError),
    /// A body's place is not known.
    #[error(transparent)]
    Ephemeris(#[from] EphemerisError),
    /// An epoch is out of range.
    #[error(transparent)]
    Time(#[from] TimeError),
}
