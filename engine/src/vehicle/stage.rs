//! One stage: its masses and its engine.

use super::VehicleError;
use crate::constants::STANDARD_GRAVITY;

/// One stage of a vehicle: dry mass (kg), propellant (kg), specific impulse in vacuum (s), thrust in vacuum (N, where known).
///
/// Dry mass and specific impulse are above zero, propellant is zero or more, thrust is above zero; all finite.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    name: String,
    dry: f64,
    propellant: f64,
    specific_impulse: f64,
    thrust: Option<f64>,
}

impl Stage {
    /// A stage from its masses and its engine.
    ///
    /// - `dry`: mass without propellant, kg, above zero.
    /// - `propellant`: kg, zero or more.
    /// - `specific_impulse`: in vacuum, s, above zero.
    /// - `thrust`: in vacuum, N, above zero; `None` where burns are impulsive anyway.
    ///
    /// # Errors
    /// A figure outside its range, or no finite number.
    pub fn new(
        name: &str,
        dry: f64,
        propellant: f64,
        specific_impulse: f64,
        thrust: Option<f64>,
    ) -> Result<Stage, VehicleError> {
        let positive = |what, value: f64| {
            if value > 0.0 && value.is_finite() {
                Ok(())
            } else {
                Err(VehicleError::NotPositive { stage: name.to_owned(), what, value })
            }
        };
        positive("dry mass", dry)?;
        positive("specific impulse", specific_impulse)?;
        if let Some(force) = thrust {
            positive("thrust", force)?;
        }
        if !(propellant >= 0.0 && propellant.is_finite()) {
            return Err(VehicleError::NegativePropellant { stage: name.to_owned(), value_kg: propellant });
        }
        // Sums of masses stay finite further on.
        positive("mass", dry + propellant)?;
        positive("exhaust speed", specific_impulse * STANDARD_GRAVITY)?;
        Ok(Stage { name: name.to_owned(), dry, propellant, specific_impulse, thrust })
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Mass without propellant, kg.
    pub fn dry(&self) -> f64 {
        self.dry
    }

    /// Propellant left, kg.
    pub fn propellant(&self) -> f64 {
        self.propellant
    }

    /// Mass with propellant, kg.
    pub fn mass(&self) -> f64 {
        self.dry + self.propellant
    }

    /// Specific impulse in vacuum, s.
    pub fn specific_impulse(&self) -> f64 {
        self.specific_impulse
    }

    /// Effective exhaust speed, m/s: specific impulse × standard gravity. [SuttonBiblarz2017], chapter 2.
    pub fn exhaust_speed(&self) -> f64 {
        self.specific_impulse * STANDARD_GRAVITY
    }

    /// Thrust in vacuum, N, where known.
    pub fn thrust(&self) -> Option<f64> {
        self.thrust
    }

    /// The same stage holding another mass of propellant; the caller keeps it in range.
    pub(super) fn holding(&self, propellant: f64) -> Stage {
        Stage { propellant, ..self.clone() }
    }
}
