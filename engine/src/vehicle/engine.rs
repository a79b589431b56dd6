//! A rocket engine: thrust and specific impulse in vacuum and in air.

use super::VehicleError;
use crate::constants::STANDARD_GRAVITY;

/// A rocket engine. Specific impulse and, where known, thrust are above zero and finite, in vacuum.
///
/// In air of pressure p the thrust is F = F_vacuum − p A, with A the area of the nozzle's exit; the mass flow stays as it is. In air thick
/// enough the thrust goes below zero: it is not clamped.
#[derive(Debug, Clone, PartialEq)]
pub struct Engine {
    pub(super) name: String,
    pub(super) specific_impulse: f64,
    pub(super) thrust: Option<f64>,
    pub(super) exit_area: f64,
    /// Least and greatest share of the thrust, where told.
    pub(super) throttle: Option<(f64, f64)>,
    pub(super) ignitions: Option<u32>,
    pub(super) propellant: Option<String>,
    pub(super) mixture_ratio: Option<f64>,
    pub(super) mass: Option<f64>,
}

impl Engine {
    /// An engine whose thrust is the same in air and in vacuum.
    ///
    /// - `specific_impulse`: in vacuum, s, above zero.
    /// - `thrust`: in vacuum, N, above zero; `None` where burns are impulses anyway.
    ///
    /// # Errors
    /// A figure outside its range, or no finite number.
    pub fn new(name: &str, specific_impulse: f64, thrust: Option<f64>) -> Result<Engine, VehicleError> {
        positive(name, "specific impulse", specific_impulse)?;
        if let Some(force) = thrust {
            positive(name, "thrust", force)?;
            positive(name, "mass flow", force / (specific_impulse * STANDARD_GRAVITY))?;
        }
        positive(name, "exhaust speed", specific_impulse * STANDARD_GRAVITY)?;
        Ok(Engine {
            name: name.to_owned(),
            specific_impulse,
            thrust,
            exit_area: 0.0,
            throttle: None,
            ignitions: None,
            propellant: None,
            mixture_ratio: None,
            mass: None,
        })
    }

    /// The engine with a nozzle of this exit area, m², zero or more.
    ///
    /// # Errors
    /// An area below zero, or no finite number.
    pub fn with_exit_area(self, area: f64) -> Result<Engine, VehicleError> {
        if !(area >= 0.0 && area.is_finite()) {
            return Err(VehicleError::NotPositive { stage: self.name, what: "exit area", value: area });
        }
        Ok(Engine { exit_area: area, ..self })
    }

    /// The engine with the specific impulse (s) that it has at a pressure (Pa): the exit area follows from both impulses at equal mass flow,
    /// A = ṁ g0 (I_vacuum − I) / p.
    ///
    /// # Errors
    /// A figure that is not above zero, an impulse above that in vacuum, or an engine of unknown thrust.
    ///
    /// # Source
    /// [SuttonBiblarz2017], equation 2-13.
    pub fn with_impulse_at(self, pressure: f64, specific_impulse: f64) -> Result<Engine, VehicleError> {
        positive(&self.name, "pressure of the second specific impulse", pressure)?;
        positive(&self.name, "specific impulse at a pressure", specific_impulse)?;
        if specific_impulse > self.specific_impulse {
            return Err(VehicleError::MoreInAir {
                engine: self.name,
                in_air_s: specific_impulse,
                in_vacuum_s: self.specific_impulse,
            });
        }
        let Some(flow) = self.mass_flow() else {
            return Err(VehicleError::NoThrust { stage: self.name });
        };
        let area = flow * STANDARD_GRAVITY * (self.specific_impulse - specific_impulse) / pressure;
        self.with_exit_area(area)
    }

    /// The engine with the thrust (N) that it has at a pressure (Pa): A = (F_vacuum − F) / p.
    ///
    /// # Errors
    /// A figure that is not above zero, a thrust above that in vacuum, or an engine of unknown thrust.
    ///
    /// # Source
    /// [SuttonBiblarz2017], equation 2-13.
    pub fn with_thrust_at(self, pressure: f64, thrust: f64) -> Result<Engine, VehicleError> {
        positive(&self.name, "pressure of the second thrust", pressure)?;
        let Some(vacuum) = self.thrust else {
            return Err(VehicleError::NoThrust { stage: self.name });
        };
        self.with_exit_area((vacuum - thrust) / pressure)
    }

    /// The engine with the range of its throttle, as shares of the thrust.
    ///
    /// # Errors
    /// Shares that are not 0 < least ≤ greatest ≤ 1.2; some engines are rated above their nominal thrust, none far above.
    pub fn with_throttle(self, least: f64, greatest: f64) -> Result<Engine, VehicleError> {
        if !(least > 0.0 && greatest >= least && greatest <= 1.2) {
            return Err(VehicleError::BadThrottle { engine: self.name, least, greatest });
        }
        Ok(Engine { throttle: Some((least, greatest)), ..self })
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Specific impulse in vacuum, s.
    pub fn specific_impulse(&self) -> f64 {
        self.specific_impulse
    }

    /// Effective exhaust speed in vacuum, m/s: specific impulse × standard gravity. [SuttonBiblarz2017], chapter 2.
    pub fn exhaust_speed(&self) -> f64 {
        self.specific_impulse * STANDARD_GRAVITY
    }

    /// Thrust in vacuum, N, where known.
    pub fn thrust(&self) -> Option<f64> {
        self.thrust
    }

    /// Area of the nozzle's exit, m²; zero where no figure in air is known.
    pub fn exit_area(&self) -> f64 {
        self.exit_area
    }

    /// Mass flow at full thrust, kg/s, where the thrust is known.
    pub fn mass_flow(&self) -> Option<f64> {
        self.thrust.map(|force| force / self.exhaust_speed())
    }

    /// Thrust at a pressure (Pa), N, where known; below zero in air too thick for the engine.
    pub fn thrust_at(&self, pressure: f64) -> Option<f64> {
        self.thrust.map(|force| force - pressure * self.exit_area)
    }

    /// Specific impulse at a pressure (Pa), s.
    pub fn specific_impulse_at(&self, pressure: f64) -> f64 {
        match (self.thrust_at(pressure), self.mass_flow()) {
            (Some(force), Some(flow)) => force / (flow * STANDARD_GRAVITY),
            _ => self.specific_impulse,
        }
    }

    /// Least and greatest share of the thrust, where told.
    pub fn throttle(&self) -> Option<(f64, f64)> {
        self.throttle
    }

    /// How often it can be lit, where that is limited.
    pub fn ignitions(&self) -> Option<u32> {
        self.ignitions
    }

    /// What it burns, such as `methalox`, where told.
    pub fn propellant(&self) -> Option<&str> {
        self.propellant.as_deref()
    }

    /// Mass of oxidiser over mass of fuel, where told.
    pub fn mixture_ratio(&self) -> Option<f64> {
        self.mixture_ratio
    }

    /// Its mass, kg, where told; it is part of the stage's dry mass.
    pub fn mass(&self) -> Option<f64> {
        self.mass
    }
}

/// Refuses what is not above zero.
pub(super) fn positive(part: &str, what: &'static str, value: f64) -> Result<(), VehicleError> {
    if value > 0.0 && value.is_finite() {
        Ok(())
    } else {
        Err(VehicleError::NotPositive { stage: part.to_owned(), what, value })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_impulses_are_met_at_equal_mass_flow() {
        let engine = Engine::new("pad", 352.0, Some(1.15e6)).unwrap().with_impulse_at(101_325.0, 318.0).unwrap();
        // The area is computed from these very figures: a few roundings of 1e-16 remain.
        assert!((engine.specific_impulse_at(101_325.0) - 318.0).abs() < 1e-11);
        assert!((engine.thrust_at(101_325.0).unwrap() - 1.15e6 * 318.0 / 352.0).abs() < 1e-6);
        assert_eq!(engine.specific_impulse_at(0.0), 352.0);
        // Thick air turns the thrust round; it is not clamped.
        assert!(engine.thrust_at(9.2e6).unwrap() < 0.0);
    }

    #[test]
    fn refuses_what_cannot_be() {
        let engine = || Engine::new("e", 300.0, Some(1e3)).unwrap();
        assert!(matches!(engine().with_impulse_at(1e5, 310.0), Err(VehicleError::MoreInAir { .. })));
        assert!(engine().with_impulse_at(0.0, 290.0).is_err());
        assert!(engine().with_thrust_at(1e5, 2e3).is_err());
        assert!(engine().with_throttle(0.0, 1.0).is_err());
        assert!(engine().with_throttle(0.5, 0.4).is_err());
        assert!(Engine::new("e", 0.0, None).is_err());
        assert!(Engine::new("e", 300.0, None).unwrap().with_impulse_at(1e5, 290.0).is_err());
    }
}
