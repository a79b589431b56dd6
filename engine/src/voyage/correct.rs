//! The verb that re-aims.

use super::{Voyage, VoyageError};
use crate::arc::shoot::{Aim, Shot, Start, shoot};
use crate::numerics::watch::Watch;
use crate::time::Epoch;

/// When and how to correct.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CorrectionOptions {
    /// When to burn; `None`: now.
    pub at: Option<Epoch>,
    /// About when the target is met, where the unaimed coast does not tell.
    pub expected: Option<Epoch>,
    /// What the burn is called; `None`: `correction`.
    pub label: Option<String>,
}

/// A correction flown: the burn shot, its estimate and what it meets.
pub type Correction = Shot;

impl Voyage {
    /// Coast to the epoch of the correction, shoot a burn in the voyage's model until its aim is met, and execute it. With
    /// fewer demands than three the least Δv is taken.
    ///
    /// Returns the shot; `None` where the craft was lost on the way to the burn.
    ///
    /// # Errors
    /// A voyage that has ended; an epoch that is past; an aim that is not met; a burn beyond the propellant.
    pub fn correct(
        &mut self,
        aim: &Aim,
        options: &CorrectionOptions,
        watch: &Watch,
    ) -> Result<Option<Correction>, VoyageError> {
        self.check_under_way()?;
        let mut work = self.clone();
        let label = options.label.as_deref().unwrap_or("correction");
        if let Some(epoch) = options.at {
            work.coast_until(epoch, &format!("coast to {label}"), watch)?;
            if work.check_under_way().is_err() {
                *self = work;
                return Ok(None);
            }
        }
        let start = Start { dv: None, expected: options.expected, leaving: work.leaving.clone() };
        let mut shot = shoot(&work.now, aim, &start, watch)?;
        shot.burn = shot.burn.labelled(label);
        let estimate = shot.estimate_dv.norm();
        // A coast that needs no burn has no estimate to show beside it.
        work.burn_as(&shot.burn, (estimate > 0.0).then_some(estimate), watch)?;
        *self = work;
        Ok(Some(shot))
    }
}
