//! The vehicle: a name and its stages, first to burn first.

use super::ladder::{self, propellant_for, rungs};
use super::{Rung, Spending, Stage, Step, VehicleError, phase};
use crate::system::Body;

/// Change of speed below which the last of a tank counts as rounding, m/s: a billionth of what stages give, and far above the roundings of
/// a ladder's sum.
const RESIDUE: f64 = 1e-6;

/// A craft: a stack of stages, first to burn first. At least one stage; the last one is never left behind.
#[derive(Debug, Clone, PartialEq)]
pub struct Vehicle {
    pub(super) name: String,
    pub(super) about: String,
    pub(super) stages: Vec<Stage>,
    /// Drag coefficient times area, m².
    pub(super) drag_area: Option<f64>,
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
        Vehicle::of_stages(name, vec![Stage::new(name, dry, propellant, specific_impulse, thrust)?])
    }

    /// A vehicle of several stages, first to burn first; a stage that has run dry is left behind when the next one fires. Stages that stand
    /// beside others burn with them and stand before them in the list.
    ///
    /// # Errors
    /// No stage at all, masses whose sum overflows, a name twice, stages that feed each other in a loop or stand beside what is not there.
    pub fn of_stages(name: &str, stages: Vec<Stage>) -> Result<Vehicle, VehicleError> {
        let vehicle = Vehicle { name: name.to_owned(), about: String::new(), stages, drag_area: None };
        vehicle.checked()
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

    /// Mass with its own tanks empty, kg: carried craft count with all they hold.
    pub fn dry_mass(&self) -> f64 {
        self.stages.iter().map(Stage::empty_mass).sum()
    }

    /// Propellant left in its own stages, kg.
    pub fn propellant(&self) -> f64 {
        self.stages.iter().map(Stage::propellant).sum()
    }

    /// What the file says about it.
    pub fn about(&self) -> &str {
        &self.about
    }

    /// Drag coefficient times area, m², where told.
    pub fn drag_area(&self) -> Option<f64> {
        self.drag_area
    }

    /// The stage that burns next: the first that holds propellant, or the last one.
    pub fn burning(&self) -> &Stage {
        let last = &self.stages[self.stages.len() - 1];
        self.stages.iter().find(|stage| stage.propellant() > 0.0).unwrap_or(last)
    }

    /// The phase that comes next, when what is empty has left.
    fn phase(&self) -> Option<phase::Phase> {
        let mut stages = self.stages.clone();
        phase::leave_empty(&mut stages);
        phase::next(&stages)
    }

    /// Effective exhaust speed in vacuum of the engines that burn next, m/s.
    pub fn exhaust_speed(&self) -> f64 {
        self.phase().map_or_else(|| self.burning().exhaust_speed(), |phase| phase.exhaust_speed)
    }

    /// Thrust in vacuum of the engines that burn next, N, where known.
    pub fn thrust(&self) -> Option<f64> {
        self.phase().map_or_else(|| self.burning().thrust(), |phase| phase.thrust)
    }

    /// Thrust at a pressure (Pa) of the engines that burn next, N, where known; below zero in air too thick for them.
    pub fn thrust_at(&self, pressure: f64) -> Option<f64> {
        let none = || self.burning().thrust().map(|force| force - pressure * self.burning().exit_area());
        self.phase().map_or_else(none, |phase| phase.thrust_at(pressure))
    }

    /// Mass flow of the engines that burn next, kg/s, where known.
    pub fn mass_flow(&self) -> Option<f64> {
        self.phase().map_or_else(|| self.burning().mass_flow(), |phase| phase.flow)
    }

    /// Ideal change of speed left in vacuum, m/s: the sum of the ladder.
    pub fn dv(&self) -> f64 {
        self.ladder().iter().map(|rung| rung.dv).sum()
    }

    /// What each phase still gives, first to burn first.
    pub fn ladder(&self) -> Vec<Rung> {
        rungs(&self.stages, 0.0)
    }

    /// The ladder with its figures in air at a pressure, Pa.
    pub fn ladder_at(&self, pressure: f64) -> Vec<Rung> {
        rungs(&self.stages, pressure)
    }

    /// Thrust over weight on the ground of a body, in the air that it has there; `None` where the thrust is not known.
    pub fn weight_ratio(&self, body: &Body) -> Option<f64> {
        let pressure = body.air().map_or(0.0, crate::system::Air::surface_pressure);
        self.thrust_at(pressure).map(|force| force / (self.mass() * body.surface_gravity()))
    }

    /// Refuses a vehicle that cannot rise from the ground of a body, in the air that it has there.
    ///
    /// # Errors
    /// A thrust that is not known or not above the weight.
    pub fn check_pad(&self, body: &Body) -> Result<(), VehicleError> {
        let stage = self.burning().name().to_owned();
        let pressure = body.air().map_or(0.0, crate::system::Air::surface_pressure);
        let Some(thrust_n) = self.thrust_at(pressure) else {
            return Err(VehicleError::NoThrust { stage });
        };
        let weight_n = self.mass() * body.surface_gravity();
        if thrust_n > weight_n {
            return Ok(());
        }
        let (vehicle, body) = (self.name.clone(), body.name().to_owned());
        Err(VehicleError::TooHeavy { vehicle, stage, body, thrust_n, weight_n, ratio: thrust_n / weight_n })
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
        let mut steps: Vec<Step> = Vec::new();
        let mut wanted = dv;
        // An engine that burns on from phase to phase is lit once.
        let mut running: Vec<String> = Vec::new();
        while wanted > 0.0 {
            phase::leave_empty(&mut stages);
            let mass = ladder::mass(&stages);
            let Some(phase) = phase::next(&stages) else {
                return Err(self.not_enough(dv, mass, wanted, stages.first(), &steps));
            };
            let needed = propellant_for(mass, wanted, phase.exhaust_speed);
            // A burn of all that is left asks for the last gram but for rounding of the two logarithms of each phase.
            let rounding = 4.0 * (steps.len() as f64 + 1.0) * f64::EPSILON * mass;
            let enough = needed <= phase.propellant + rounding;
            let burned = if enough { needed.min(phase.propellant) } else { phase.propellant };
            let given = if enough { wanted } else { ladder::dv(&phase, mass) };
            if burned > 0.0 {
                let lit: Vec<String> = phase.burning.iter().map(|&index| stages[index].name.clone()).collect();
                // A residue of rounding at the end of a tank is not lit for.
                let residue = !enough && given < RESIDUE;
                for &index in &phase.burning {
                    if !residue && !running.contains(&stages[index].name) {
                        stages[index].light()?;
                    }
                }
                running = lit;
                steps.push(Step {
                    stage: phase.name(&stages).to_owned(),
                    mass_before: mass,
                    mass_after: mass - burned,
                    exhaust_speed: phase.exhaust_speed,
                    dv: given,
                });
            }
            phase.burn(&mut stages, burned, burned >= phase.propellant);
            wanted -= given;
        }
        let propellant = steps.iter().map(|step| step.mass_before - step.mass_after).sum();
        Ok(Spending { vehicle: Vehicle { stages, ..self.clone() }, steps, propellant })
    }

    /// The refusal of a burn that finds nothing to burn any more, with `wanted` m/s still to give at this mass.
    fn not_enough(&self, dv: f64, mass: f64, wanted: f64, stage: Option<&Stage>, steps: &[Step]) -> VehicleError {
        // What the burn would take at the exhaust speed of the last stage that burned.
        let last = steps.last().map_or_else(|| stage.map_or(0.0, Stage::exhaust_speed), |step| step.exhaust_speed);
        let burned: f64 = steps.iter().map(|step| step.mass_before - step.mass_after).sum();
        let missing = if last > 0.0 { propellant_for(mass, wanted, last) } else { 0.0 };
        VehicleError::NotEnough {
            needed_m_s: dv,
            left_m_s: self.dv(),
            needed_kg: burned + missing,
            left_kg: self.propellant(),
        }
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
}
