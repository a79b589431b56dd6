//! The rocket equation along the stack: what each stage can still give, and what a burn takes.

use super::{Stage, Vehicle};

/// One row of a vehicle's ladder: what a stage gives when it burns out with all that stands on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Rung {
    /// Name of the stage.
    pub stage: String,
    /// Mass of the stack when the stage lights, kg.
    pub mass_before: f64,
    /// Mass of the stack when it has run dry, kg.
    pub mass_after: f64,
    /// Effective exhaust speed, m/s.
    pub exhaust_speed: f64,
    /// Ideal change of speed, m/s.
    pub dv: f64,
    /// Thrust over weight at standard gravity when it lights, where the thrust is known.
    pub thrust_to_weight: Option<f64>,
}

/// What one stage does in a burn.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Name of the stage.
    pub stage: String,
    /// Mass of the stack before, kg.
    pub mass_before: f64,
    /// Mass of the stack after, before the stage is left behind, kg.
    pub mass_after: f64,
    /// Effective exhaust speed, m/s.
    pub exhaust_speed: f64,
    /// Change of speed that the stage gives, m/s.
    pub dv: f64,
}

/// A burn paid for: the vehicle after it and what each stage gave.
#[derive(Debug, Clone, PartialEq)]
pub struct Spending {
    /// The vehicle after the burn.
    pub vehicle: Vehicle,
    /// Stage by stage, in the order of burning.
    pub steps: Vec<Step>,
    /// Propellant burned, kg.
    pub propellant: f64,
}

/// The ladder of a stack of stages, first to burn first.
pub(super) fn rungs(stages: &[Stage]) -> Vec<Rung> {
    (0..stages.len()).map(|first| rung(&stages[first..])).collect()
}

/// What the first stage of a stack gives.
fn rung(stack: &[Stage]) -> Rung {
    let stage = &stack[0];
    let mass_before: f64 = stack.iter().map(Stage::mass).sum();
    let mass_after = mass_before - stage.propellant();
    let exhaust_speed = stage.exhaust_speed();
    Rung {
        stage: stage.name().to_owned(),
        mass_before,
        mass_after,
        exhaust_speed,
        // ln(before/after) loses digits when little propellant is left; ln_1p keeps them.
        dv: exhaust_speed * (stage.propellant() / mass_after).ln_1p(),
        thrust_to_weight: stage.thrust().map(|force| force / (mass_before * crate::constants::STANDARD_GRAVITY)),
    }
}

/// Propellant that a stack of mass `mass` burns for `dv` at `exhaust_speed`, kg.
///
/// # Source
/// The rocket equation, [SuttonBiblarz2017], equation 4-6; `exp_m1` keeps the digits of a small burn.
pub(super) fn propellant_for(mass: f64, dv: f64, exhaust_speed: f64) -> f64 {
    -mass * (-dv / exhaust_speed).exp_m1()
}
