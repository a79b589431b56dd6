//! Why a body's place cannot be told.

use crate::time::Epoch;

/// Why a body's place cannot be told.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EphemerisError {
    /// The ephemeris does not reach that epoch.
    #[error("`{system}` knows where its bodies are from {first} to {last}; {epoch} lies outside")]
    OutsideSpan {
        /// The system's name.
        system: String,
        /// What was asked.
        epoch: Epoch,
        /// The first epoch it knows.
        first: Epoch,
        /// The last epoch it knows.
        last: Epoch,
    },
    /// States of bodies of two systems have nothing to do with each other.
    #[error("`{body}` and `{other}` belong to different systems")]
    DifferentSystems {
        /// The body asked for.
        body: String,
        /// The body that its state was to be relative to.
        other: String,
    },
    /// From the star itself there is no direction to it.
    #[error("`{star}` is the star itself: it stands nowhere in its own sky")]
    OnTheStar {
        /// The star.
        star: String,
    },
}

impl EphemerisError {
    /// What to do instead, where that is known.
    pub fn hint(&self) -> Option<String> {
        match self {
            // The mean elements themselves end in AD 3000: past that there is nothing to point to.
            Self::OutsideSpan { system, last, epoch, .. }
                if system == "sol" && last.tdb_days().0 < 300_000.0 && epoch.tdb_days().0.abs() < 360_000.0 =>
            {
                Some("mean elements reach from 3000 BC to AD 3000: system(\"sol\", #{ ephemeris: \"mean\" })".into())
            }
            _ => None,
        }
    }
}
