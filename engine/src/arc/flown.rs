//! A plan flown in the patched-conic model: where its burn leads.

use super::aimed::Flight;
use super::window::Figures;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::vector::Vec3;

/// Why a plan was not flown to its aim.
pub(super) enum Unflown {
    /// The search was stopped from outside.
    Stopped,
    /// What the model says.
    Because(String),
}

/// Periapsis radius (m) at the goal that a burn leads to in the model.
pub(super) fn reached_periapsis(_: &Orbit, _: &Vec3, _: &Flight, watch: &Watch<'_>) -> Option<f64> {
    watch.stopped().then_some(f64::NAN)
}

/// The burn that meets the plan's aim in the model.
pub(super) fn shot(_: &Flight, _: f64, watch: &Watch<'_>) -> Result<(Vec3, Figures), Unflown> {
    if watch.stopped() {
        return Err(Unflown::Stopped);
    }
    Err(Unflown::Because("the model is not joined to the planners yet".to_string()))
}
