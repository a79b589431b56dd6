//! The vehicle: a name and its stages, first to burn first.

use super::ladder::{propellant_for, rungs};
use super::{Rung, Spending, Stage, Step, VehicleError};
use crate::system::Body;

/// A craft: a stack of stages, first to burn first. At least one stage; the last one is never left behind.
#[derive(Debug, Clone, PartialEq)]
pub struct Vehicle {
    name: String,
    stages: Vec<Stage>,
}

/// What [`Vehicle::changed`] is to change; `None` keeps.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Change {
    /// Another name.
    pub name: Option<String>,
    /// Dry mass, kg.
    pub dry: Option<f64>,
    /// Propellant, kg.
    pub propellant: Option<f64>,
    /// Specific impulse in vacuum, s.
    pub specific_impulse: Option<f64>,
    /// Thrust in vacuum, N.
    pub thrust: Option<f64>,
}

impl Vehicle {
    /// A vehicle of one stage: dry mass and propellant (kg), specific impulse (s), thrust (N, optional).
    ///
    /// # Errors
    /// A figure outside its range, as [`Stage::new`].
    ///
    /// # Example
    /// ```
    /// # use visviva_engine::vehicle::Vehicle;
    /// let tug = Vehicle::new("tug", 2000.0, 3000.0, 320.0, None)?;
    /// assert!((tug.dv() - 320.0 * 9.80665 * 2.5_f64.ln()).abs() < 1e-9);
    /// assert!(Vehicle::new("tug", 2000.0, 3000.0, 0.0, None).is_err());
    /// # Ok::<(), visviva_engine::vehicle::VehicleError>(())
    /// ```
    pub fn new(
        name: &str,
        dry: f64,
        propellant: f64,
        specific_impulse: f64,
        thrust: Option<f64>,
    ) -> Result<Vehicle, VehicleError> {
        Ok(Vehicle {
            name: name.to_owned(),
            stages: vec![Stage::new(name, dry, propellant, specific_impulse, thrust)?],
        })
    }

    /// A vehicle of several stages, first to burn first; a stage that has run dry is left behind when the next one fires.
    ///
    /// # Errors
    /// No stage at all, or masses whose sum overflows.
    pub fn of_stages(name: &str, stages: Vec<Stage>) -> Result<Vehicle, VehicleError> {
        if stages.is_empty() {
            return Err(VehicleError::NoStage { name: name.to_owned() });
        }
        let vehicle = Vehicle { name: name.to_owned(), stages };
        if !vehicle.mass().is_finite() {
            return Err(VehicleError::NotPositive { stage: name.to_owned(), what: "mass", value: vehicle.mass() });
        }
        Ok(vehicle)
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its stages, first to burn first.
    pub fn stages(&self) -> &[Stage] {
        &self.stages
    }

    /// Mass with all propellant, kg.
    pub fn mass(&self) -> f64 {
        self.stages.iter().map(Stage::mass).sum()
    }

    /// Mass without any propellant, kg.
    pub fn dry_mass(&self) -> f64 {
        self.stages.iter().map(Stage::dry).sum()
    }

    /// Propellant left in all stages, kg.
    pub fn propellant(&self) -> f64 {
        self.stages.iter().map(Stage::propellant).sum()
    }

    /// The stage that burns next: the first that holds propellant, or the last one.
    pub fn burning(&self) -> &Stage {
        let last = &self.stages[self.stages.len() - 1];
        self.stages.iter().find(|stage| stage.propellant() > 0.0).unwrap_or(last)
    }

    /// Effective exhaust speed of the stage that burns next, m/s.
    pub fn exhaust_speed(&self) -> f64 {
        self.burning().exhaust_speed()
    }

    /// Thrust of the stage that burns next, N, where known.
    pub fn thrust(&self) -> Option<f64> {
        self.burning().thrust()
    }

    /// Ideal change of speed left, m/s: the sum of the ladder.
    pub fn dv(&self) -> f64 {
        self.ladder().iter().map(|rung| rung.dv).sum()
    }

    /// What each stage still gives, first to burn first.
    pub fn ladder(&self) -> Vec<Rung> {
        rungs(&self.stages)
    }

    /// Thrust over weight on the ground of a body; `None` where the thrust is not known.
    pub fn weight_ratio(&self, body: &Body) -> Option<f64> {
        self.thrust().map(|force| force / (self.mass() * body.surface_gravity()))
    }

    /// The vehicle after an impulsive burn of `dv` (m/s, zero or more).
    ///
    /// # Errors
    /// Not enough propellant, or `dv` negative or no number.
    pub fn spend(&self, dv: f64) -> Result<Vehicle, VehicleError> {
        Ok(self.spending(dv)?.vehicle)
    }

    /// As [`Vehicle::spend`], with what each stage gave.
    ///
    /// # Errors
    /// Not enough propellant, or `dv` negative or no number.
    pub fn spending(&self, dv: f64) -> Result<Spending, VehicleError> {
        if !(dv >= 0.0 && dv.is_finite()) {
            return Err(VehicleError::BadBurn { size_m_s: dv });
        }
        let mut stages = self.stages.clone();
        let mut steps = Vec::new();
        let mut wanted = dv;
        while wanted > 0.0 {
            let mass: f64 = stages.iter().map(Stage::mass).sum();
            let stage = &stages[0];
            let needed = propellant_for(mass, wanted, stage.exhaust_speed());
            // A burn of all that is left asks for the last gram but for rounding of the two logarithms.
            let rounding = 4.0 * f64::EPSILON * mass;
            let (burned, given) = if needed <= stage.propellant() + rounding {
                (needed.min(stage.propellant()), wanted)
            } else if stages.len() > 1 {
                (stage.propellant(), rungs(&stages)[0].dv)
            } else {
                return Err(VehicleError::NotEnough {
                    needed_m_s: dv,
                    left_m_s: self.dv(),
                    needed_kg: self.propellant() - stage.propellant() + needed,
                    left_kg: self.propellant(),
                });
            };
            if burned > 0.0 {
                steps.push(Step {
                    stage: stage.name().to_owned(),
                    mass_before: mass,
                    mass_after: mass - burned,
                    exhaust_speed: stage.exhaust_speed(),
                    dv: given,
                });
            }
            stages[0] = stage.holding(stage.propellant() - burned);
            wanted -= given;
            if wanted > 0.0 {
                stages.remove(0);
            }
        }
        let propellant = steps.iter().map(|step| step.mass_before - step.mass_after).sum();
        Ok(Spending { vehicle: Vehicle { name: self.name.clone(), stages }, steps, propellant })
    }

    /// The same vehicle with some figures changed.
    ///
    /// # Errors
    /// A figure outside its range; a figure of a stage where the vehicle has several.
    pub fn changed(&self, change: &Change) -> Result<Vehicle, VehicleError> {
        let name = change.name.clone().unwrap_or_else(|| self.name.clone());
        let named_only = Change { name: change.name.clone(), ..Change::default() };
        if *change == named_only {
            return Ok(Vehicle { name, stages: self.stages.clone() });
        }
        let [stage] = self.stages.as_slice() else {
            return Err(VehicleError::SeveralStages { name: self.name.clone(), stages: self.stages.len() });
        };
        Vehicle::new(
            &name,
            change.dry.unwrap_or(stage.dry()),
            change.propellant.unwrap_or(stage.propellant()),
            change.specific_impulse.unwrap_or(stage.specific_impulse()),
            change.thrust.or(stage.thrust()),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::STANDARD_GRAVITY;

    fn tug() -> Vehicle {
        Vehicle::new("tug", 2000.0, 3000.0, 320.0, Some(20_000.0)).unwrap()
    }

    fn pair() -> Vehicle {
        let lower = Stage::new("lower", 1000.0, 9000.0, 300.0, Some(200_000.0)).unwrap();
        let upper = Stage::new("upper", 500.0, 2000.0, 450.0, None).unwrap();
        Vehicle::of_stages("pair", vec![lower, upper]).unwrap()
    }

    #[test]
    fn spends_what_the_rocket_equation_says() {
        let after = tug().spend(1000.0).unwrap();
        // m1 = m0 exp(-dv/c), rounded by a handful of operations on 5000 kg.
        let expected = 5000.0 * (-1000.0_f64 / (320.0 * STANDARD_GRAVITY)).exp();
        assert!((after.mass() - expected).abs() < 5000.0 * 8.0 * f64::EPSILON);
        assert!((tug().dv() - after.dv() - 1000.0).abs() < 1e-9);
    }

    #[test]
    fn two_halves_make_a_whole() {
        let twice = tug().spend(400.0).unwrap().spend(600.0).unwrap();
        let once = tug().spend(1000.0).unwrap();
        assert!((twice.mass() - once.mass()).abs() < 5000.0 * 16.0 * f64::EPSILON);
    }

    #[test]
    fn refuses_beyond_the_propellant_and_says_how_much_is_left() {
        let error = tug().spend(3000.0).unwrap_err();
        let VehicleError::NotEnough { needed_m_s, left_m_s, needed_kg, left_kg } = error else {
            panic!("wrong error: {error}");
        };
        assert_eq!((needed_m_s, left_kg), (3000.0, 3000.0));
        assert!(left_m_s < 2900.0 && needed_kg > 3000.0);
    }

    #[test]
    fn refuses_bad_figures() {
        for (dry, propellant, isp, thrust) in [
            (0.0, 1.0, 300.0, None),
            (-1.0, 1.0, 300.0, None),
            (1.0, -1.0, 300.0, None),
            (1.0, 1.0, 0.0, None),
            (1.0, 1.0, f64::NAN, None),
            (1.0, f64::INFINITY, 300.0, None),
            (f64::MAX, f64::MAX, 300.0, None),
            (1.0, 1.0, 300.0, Some(0.0)),
        ] {
            assert!(Vehicle::new("bad", dry, propellant, isp, thrust).is_err());
        }
        assert!(tug().spend(-1.0).is_err());
        assert!(tug().spend(f64::NAN).is_err());
        assert!(Vehicle::of_stages("none", vec![]).is_err());
    }

    #[test]
    fn a_vehicle_without_propellant_flies_but_does_not_burn() {
        let probe = Vehicle::new("probe", 100.0, 0.0, 220.0, None).unwrap();
        assert_eq!(probe.dv(), 0.0);
        assert_eq!(probe.spend(0.0).unwrap(), probe);
        assert!(probe.spend(1e-3).is_err());
    }

    #[test]
    fn a_burn_of_all_that_is_left_leaves_nothing() {
        let empty = tug().spend(tug().dv()).unwrap();
        assert!(empty.propellant() < 5000.0 * 4.0 * f64::EPSILON);
    }

    #[test]
    fn a_burn_runs_from_one_stage_into_the_next() {
        let ladder = pair().ladder();
        let spending = pair().spending(ladder[0].dv + 500.0).unwrap();
        assert_eq!(spending.steps.len(), 2);
        assert_eq!(spending.vehicle.stages().len(), 1);
        assert!((spending.vehicle.dv() - (ladder[1].dv - 500.0)).abs() < 1e-8);
        assert!((spending.steps[0].mass_after - 3500.0).abs() < 1e-9);
        assert!((spending.steps[1].mass_before - 2500.0).abs() < 1e-9);
    }

    #[test]
    fn changes_one_figure_and_keeps_the_rest() {
        let change = Change { propellant: Some(1000.0), ..Change::default() };
        let changed = tug().changed(&change).unwrap();
        assert_eq!((changed.mass(), changed.thrust()), (3000.0, Some(20_000.0)));
        assert!(pair().changed(&change).is_err());
        assert!(tug().changed(&Change { dry: Some(0.0), ..Change::default() }).is_err());
        let renamed = pair().changed(&Change { name: Some("couple".into()), ..Change::default() }).unwrap();
        assert_eq!(renamed.name(), "couple");
    }
}
