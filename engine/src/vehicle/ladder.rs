//! The rocket equation along the stack: what each phase can still give, and what a burn takes.

use super::phase::{self, Phase};
use super::{Stage, Vehicle};
use crate::constants::STANDARD_GRAVITY;

/// One row of a vehicle's ladder: what a phase gives when it burns out with all that stands on it. A stage that burns alone has one phase;
/// stages that burn together have one until each tank is empty.
#[derive(Debug, Clone, PartialEq)]
pub struct Rung {
    /// Name of the first stage whose tanks are drawn on: the one that leaves at the end, as a rule.
    pub stage: String,
    /// Names of the stages whose engines run.
    pub burning: Vec<String>,
    /// Mass of the stack when the phase begins, kg.
    pub mass_before: f64,
    /// Mass of the stack at its end, before anything leaves, kg.
    pub mass_after: f64,
    /// Propellant that the phase burns, kg.
    pub propellant: f64,
    /// Dry mass over dry mass and propellant of the stages that are drawn on, as they were when the ladder was asked for.
    pub structural_ratio: f64,
    /// Effective exhaust speed in vacuum, m/s: thrust over mass flow of all engines that run.
    pub exhaust_speed: f64,
    /// Ideal change of speed in vacuum, m/s.
    pub dv: f64,
    /// Ideal change of speed at the pressure that the ladder was asked for, m/s.
    pub dv_at_pressure: f64,
    /// Thrust at that pressure, N, where known.
    pub thrust: Option<f64>,
    /// Time of burning, s, where the thrust is known.
    pub burn_time: Option<f64>,
    /// Thrust in vacuum over weight at standard gravity when it begins, where the thrust is known.
    pub thrust_to_weight: Option<f64>,
}

impl Rung {
    /// Mass before over mass after.
    pub fn mass_ratio(&self) -> f64 {
        self.mass_before / self.mass_after
    }

    /// First and last acceleration by the thrust at the ladder's pressure, m/s², where it is known.
    pub fn accelerations(&self) -> Option<(f64, f64)> {
        self.thrust.map(|force| (force / self.mass_before, force / self.mass_after))
    }

    /// Thrust at the ladder's pressure over weight when the phase begins, on ground of this gravity (m/s²).
    pub fn weight_ratio(&self, gravity: f64) -> Option<f64> {
        self.thrust.map(|force| force / (self.mass_before * gravity))
    }
}

/// What one phase does in a burn.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Name of the phase, as [`Rung::stage`].
    pub stage: String,
    /// Mass of the stack before, kg.
    pub mass_before: f64,
    /// Mass of the stack after, before anything is left behind, kg.
    pub mass_after: f64,
    /// Effective exhaust speed, m/s.
    pub exhaust_speed: f64,
    /// Change of speed that the phase gives, m/s.
    pub dv: f64,
}

/// A burn paid for: the vehicle after it and what each phase gave.
#[derive(Debug, Clone, PartialEq)]
pub struct Spending {
    /// The vehicle after the burn.
    pub vehicle: Vehicle,
    /// Phase by phase, in the order of burning.
    pub steps: Vec<Step>,
    /// Propellant burned, kg.
    pub propellant: f64,
}

/// The ladder of a stack of stages, first to burn first, at a pressure (Pa).
pub(super) fn rungs(stages: &[Stage], pressure: f64) -> Vec<Rung> {
    let mut left = stages.to_vec();
    let ratio = |name: &str| stages.iter().find(|stage| stage.name == name);
    let mut rungs = Vec::new();
    phase::leave_empty(&mut left);
    while let Some(phase) = phase::next(&left) {
        let before = mass(&left);
        let drawn = phase.draws.iter().filter_map(|&(tank, _)| ratio(&left[tank].name));
        let (dry, propellant) =
            drawn.fold((0.0, 0.0), |sum, stage| (sum.0 + stage.dry + stage.residual, sum.1 + stage.propellant));
        rungs.push(rung(&left, &phase, before, dry / (dry + propellant), pressure));
        phase.burn(&mut left, phase.propellant, true);
        phase::leave_empty(&mut left);
    }
    if rungs.is_empty()
        && let Some(last) = left.first()
    {
        rungs.push(nothing(last, mass(&left)));
    }
    rungs
}

/// Mass of a stack, kg.
pub(super) fn mass(stages: &[Stage]) -> f64 {
    stages.iter().map(Stage::mass).sum()
}

/// Ideal change of speed of a phase that begins at this mass, m/s.
///
/// # Source
/// The rocket equation, [SuttonBiblarz2017], equation 4-6; ln(before/after) loses digits when little propellant is left, `ln_1p` keeps them.
pub(super) fn dv(phase: &Phase, before: f64) -> f64 {
    phase.exhaust_speed * (phase.propellant / (before - phase.propellant)).ln_1p()
}

fn rung(stages: &[Stage], phase: &Phase, before: f64, structural_ratio: f64, pressure: f64) -> Rung {
    let dv = dv(phase, before);
    let share = if pressure > 0.0 { phase.exhaust_speed_at(pressure) / phase.exhaust_speed } else { 1.0 };
    Rung {
        stage: phase.name(stages).to_owned(),
        burning: phase.burning.iter().map(|&index| stages[index].name.clone()).collect(),
        mass_before: before,
        mass_after: before - phase.propellant,
        propellant: phase.propellant,
        structural_ratio,
        exhaust_speed: phase.exhaust_speed,
        dv,
        dv_at_pressure: dv * share,
        thrust: phase.thrust_at(pressure),
        burn_time: phase.flow.map(|flow| phase.propellant / flow),
        thrust_to_weight: phase.thrust.map(|force| force / (before * STANDARD_GRAVITY)),
    }
}

/// The row of a craft that has nothing to burn.
fn nothing(stage: &Stage, mass: f64) -> Rung {
    Rung {
        stage: stage.name.clone(),
        burning: Vec::new(),
        mass_before: mass,
        mass_after: mass,
        propellant: 0.0,
        structural_ratio: 1.0,
        exhaust_speed: stage.exhaust_speed(),
        dv: 0.0,
        dv_at_pressure: 0.0,
        thrust: stage.thrust(),
        burn_time: stage.thrust().map(|_| 0.0),
        thrust_to_weight: stage.thrust().map(|force| force / (mass * STANDARD_GRAVITY)),
    }
}

/// Propellant that a stack of mass `mass` burns for `dv` at `exhaust_speed`, kg.
///
/// # Source
/// The rocket equation, [SuttonBiblarz2017], equation 4-6; `exp_m1` keeps the digits of a small burn.
pub(super) fn propellant_for(mass: f64, dv: f64, exhaust_speed: f64) -> f64 {
    -mass * (-dv / exhaust_speed).exp_m1()
}
