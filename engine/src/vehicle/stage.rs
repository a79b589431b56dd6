//! One stage: its masses, its engines, and what it stands beside and feeds.

use super::engine::positive;
use super::{Engine, Equipment, Vehicle, VehicleError};
use crate::constants::{DAY, STANDARD_GRAVITY};

/// Engines of one kind on a stage.
#[derive(Debug, Clone, PartialEq)]
pub struct Mount {
    /// The engine.
    pub engine: Engine,
    /// How many, on all units of the stage together.
    pub number: u32,
}

/// One stage of a vehicle: dry mass, propellant, engines; several units that burn and leave together count as one stage.
///
/// Masses are of all units together, kg. Dry mass is above zero, propellant and residual are zero or more, all finite. A stage without an
/// engine is inert: it holds no propellant.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    pub(super) name: String,
    pub(super) number: u32,
    pub(super) dry: f64,
    pub(super) propellant: f64,
    /// Propellant that cannot be burned, kg.
    pub(super) residual: f64,
    /// Propellant lost to boiling, kg/s.
    pub(super) boil_off: f64,
    pub(super) engines: Vec<Mount>,
    /// Share of the thrust at which it burns.
    pub(super) throttle: f64,
    /// The share while another stage burns too.
    pub(super) throttle_beside: Option<f64>,
    /// The stage that it stands beside: both are lit together.
    pub(super) beside: Option<String>,
    /// The stage whose engines it feeds too.
    pub(super) feeds: Option<String>,
    /// How often its engines were lit.
    pub(super) lit: u32,
    pub(super) equipment: Equipment,
    pub(super) carries: Vec<Vehicle>,
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
        let engine = Engine::new(name, specific_impulse, thrust)?;
        Stage::of_engines(name, dry, propellant, vec![Mount { engine, number: 1 }])
    }

    /// A stage from its masses (kg) and its engines.
    ///
    /// # Errors
    /// A mass outside its range; no engine; several engines of which one has no thrust.
    pub fn of_engines(name: &str, dry: f64, propellant: f64, engines: Vec<Mount>) -> Result<Stage, VehicleError> {
        if engines.iter().map(|mount| mount.number).sum::<u32>() == 0 {
            return Err(VehicleError::NoEngine { stage: name.to_owned() });
        }
        if engines.len() > 1 && engines.iter().any(|mount| mount.engine.thrust.is_none()) {
            return Err(VehicleError::NoThrust { stage: name.to_owned() });
        }
        if !(propellant >= 0.0 && propellant.is_finite()) {
            return Err(VehicleError::NegativePropellant { stage: name.to_owned(), value_kg: propellant });
        }
        let inert = Stage::inert(name, dry)?;
        // Sums of masses stay finite further on.
        positive(name, "mass", dry + propellant)?;
        Ok(Stage { propellant, engines, ..inert })
    }

    /// A stage that never burns: a load of this mass, kg.
    ///
    /// # Errors
    /// A mass that is not above zero.
    pub fn inert(name: &str, dry: f64) -> Result<Stage, VehicleError> {
        positive(name, "dry mass", dry)?;
        Ok(Stage {
            name: name.to_owned(),
            number: 1,
            dry,
            propellant: 0.0,
            residual: 0.0,
            boil_off: 0.0,
            engines: Vec::new(),
            throttle: 1.0,
            throttle_beside: None,
            beside: None,
            feeds: None,
            lit: 0,
            equipment: Equipment::default(),
            carries: Vec::new(),
        })
    }

    /// A drop tank: a stage without engines whose propellant (kg) another stage's engines burn; it becomes one by [`Stage::feeding`].
    ///
    /// # Errors
    /// A mass outside its range.
    pub fn tank(name: &str, dry: f64, propellant: f64) -> Result<Stage, VehicleError> {
        if !(propellant >= 0.0 && propellant.is_finite()) {
            return Err(VehicleError::NegativePropellant { stage: name.to_owned(), value_kg: propellant });
        }
        let inert = Stage::inert(name, dry)?;
        positive(name, "mass", dry + propellant)?;
        Ok(Stage { propellant, ..inert })
    }

    /// So many of this stage, burning and leaving together.
    #[must_use]
    pub fn times(mut self, number: u32) -> Stage {
        let number = number.max(1);
        let count = f64::from(number);
        self.number *= number;
        self.dry *= count;
        self.propellant *= count;
        self.residual *= count;
        self.boil_off *= count;
        for mount in &mut self.engines {
            mount.number *= number;
        }
        self
    }

    /// The stage beside another one: both are lit together.
    #[must_use]
    pub fn beside(self, other: &str) -> Stage {
        Stage { beside: Some(other.to_owned()), ..self }
    }

    /// The stage beside another one whose engines it feeds besides its own.
    #[must_use]
    pub fn feeding(self, other: &str) -> Stage {
        Stage { beside: Some(other.to_owned()), feeds: Some(other.to_owned()), ..self }
    }

    /// The stage with a craft on it that can be released.
    #[must_use]
    pub fn carrying(mut self, craft: Vehicle) -> Stage {
        self.carries.push(craft);
        self
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// How many units burn and leave together.
    pub fn number(&self) -> u32 {
        self.number
    }

    /// Mass without propellant, of all units and without what is carried, kg.
    pub fn dry(&self) -> f64 {
        self.dry
    }

    /// Propellant left that can be burned, kg.
    pub fn propellant(&self) -> f64 {
        self.propellant
    }

    /// Propellant that cannot be burned, kg.
    pub fn residual(&self) -> f64 {
        self.residual
    }

    /// Propellant lost to boiling, kg/s.
    pub fn boil_off(&self) -> f64 {
        self.boil_off
    }

    /// Mass with parts and carried craft and without propellant that can be burned, kg.
    pub fn empty_mass(&self) -> f64 {
        let carried: f64 = self.carries.iter().map(Vehicle::mass).sum();
        // Zeros add nothing, not even a rounding: a plain stage weighs what its two masses are.
        self.dry + self.residual + self.equipment.mass() + carried
    }

    /// Mass with propellant, parts and carried craft, kg.
    pub fn mass(&self) -> f64 {
        self.empty_mass() + self.propellant
    }

    /// Dry mass (with residuals) over dry mass and propellant.
    ///
    /// # Source
    /// Structural ratio ε, [Curtis2014], chapter on rocket vehicle dynamics; parts that are thrown off and loads are not counted.
    pub fn structural_ratio(&self) -> f64 {
        (self.dry + self.residual) / (self.dry + self.residual + self.propellant)
    }

    /// Its engines.
    pub fn engines(&self) -> &[Mount] {
        &self.engines
    }

    /// What it has besides tanks and engines.
    pub fn equipment(&self) -> &Equipment {
        &self.equipment
    }

    /// The craft that it carries.
    pub fn carries(&self) -> &[Vehicle] {
        &self.carries
    }

    /// The stage that it stands beside.
    pub fn stands_beside(&self) -> Option<&str> {
        self.beside.as_deref()
    }

    /// The stage whose engines it feeds too.
    pub fn feeds(&self) -> Option<&str> {
        self.feeds.as_deref()
    }

    /// Share of the thrust at which it burns.
    pub fn throttle(&self) -> f64 {
        self.throttle
    }

    /// Share of the thrust at which it burns while another stage burns too.
    pub fn throttle_beside(&self) -> f64 {
        self.throttle_beside.unwrap_or(self.throttle)
    }

    /// Specific impulse in vacuum, s: thrust over weight flow of all engines; zero for an inert stage.
    pub fn specific_impulse(&self) -> f64 {
        match self.engines.as_slice() {
            [] => 0.0,
            [mount] => mount.engine.specific_impulse,
            _ => match (self.thrust(), self.mass_flow()) {
                (Some(force), Some(flow)) => force / flow / STANDARD_GRAVITY,
                _ => 0.0,
            },
        }
    }

    /// Effective exhaust speed, m/s: specific impulse × standard gravity. [SuttonBiblarz2017], chapter 2.
    pub fn exhaust_speed(&self) -> f64 {
        self.specific_impulse() * STANDARD_GRAVITY
    }

    /// Thrust in vacuum of all engines at the stage's throttle, N, where known.
    pub fn thrust(&self) -> Option<f64> {
        self.sum(|engine| engine.thrust).map(|force| force * self.throttle)
    }

    /// Mass flow of all engines at the stage's throttle, kg/s, where known.
    pub fn mass_flow(&self) -> Option<f64> {
        self.sum(Engine::mass_flow).map(|flow| flow * self.throttle)
    }

    /// Exit area of all nozzles, m².
    pub fn exit_area(&self) -> f64 {
        self.sum(|engine| Some(engine.exit_area)).unwrap_or(0.0)
    }

    /// What is left after a time (s) of boiling, kg/s at most what there is.
    pub(super) fn after_boiling(&self, time: f64) -> Stage {
        let left = (self.propellant - self.boil_off * time).max(0.0);
        let carries = self.carries.iter().map(|craft| craft.after_boiling(time)).collect();
        Stage { propellant: left, carries, ..self.clone() }
    }

    /// The boil-off in kg per day, for a table.
    pub fn boil_off_per_day(&self) -> f64 {
        self.boil_off * DAY
    }

    /// A sum over all engines; `None` where one of them does not know, or there is none.
    pub(super) fn sum(&self, figure: impl Fn(&Engine) -> Option<f64>) -> Option<f64> {
        let mut total = None;
        for mount in &self.engines {
            total = Some(total.unwrap_or(0.0) + figure(&mount.engine)? * f64::from(mount.number));
        }
        total
    }
}
