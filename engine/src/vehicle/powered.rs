//! A vehicle under thrust: what burns now, the vehicle when some of it is burned, and what is left behind when a tank is empty.

use super::{Stage, Vehicle, VehicleError, phase};

/// What burns until the next tank is empty, as flight needs it: a phase of the ladder with its thrust. All figures above zero and finite, the exit
/// area zero or more.
#[derive(Debug, Clone, PartialEq)]
pub struct Powered {
    /// Name of the first stage whose tanks are drawn on.
    pub stage: String,
    /// Names of the stages whose engines run.
    pub burning: Vec<String>,
    /// Mass of the stack when the phase begins, kg.
    pub mass: f64,
    /// What burns until the end of the phase, kg.
    pub propellant: f64,
    /// In vacuum, N, of all engines that run, at the throttle that the vehicle's file gives them.
    pub thrust: f64,
    /// kg/s at that thrust.
    pub flow: f64,
    /// Exit area of all nozzles that run, m².
    pub exit_area: f64,
    /// Least and greatest share of `thrust` that all engines that run can be set to; (1, 1) where a range is not told for one of them.
    pub throttle: (f64, f64),
}

impl Powered {
    /// Effective exhaust speed in vacuum, m/s.
    pub fn exhaust_speed(&self) -> f64 {
        self.thrust / self.flow
    }

    /// Time of burning at full thrust, s.
    pub fn time(&self) -> f64 {
        self.propellant / self.flow
    }
}

/// A part that was left behind.
#[derive(Debug, Clone, PartialEq)]
pub struct Left {
    /// Name of the stage or fairing.
    pub name: String,
    /// How many units fall: of a pair two.
    pub number: u32,
    /// Of all units, kg.
    pub mass: f64,
}

impl Vehicle {
    /// What burns next, when all that is empty has left; `None` where nothing holds propellant.
    ///
    /// # Errors
    /// Engines whose thrust is not known.
    ///
    /// # Example
    /// ```
    /// # use visviva_engine::vehicle::Vehicle;
    /// let tug = Vehicle::new("tug", 2000.0, 3000.0, 320.0, Some(20_000.0))?;
    /// let burning = tug.powered()?.expect("it holds propellant");
    /// assert_eq!((burning.mass, burning.propellant, burning.throttle), (5000.0, 3000.0, (1.0, 1.0)));
    /// let half = tug.burned(1500.0);
    /// assert_eq!(half.mass(), 3500.0);
    /// # Ok::<(), visviva_engine::vehicle::VehicleError>(())
    /// ```
    pub fn powered(&self) -> Result<Option<Powered>, VehicleError> {
        let stages = self.flying();
        let Some(phase) = phase::next(&stages) else { return Ok(None) };
        let name = phase.name(&stages).to_owned();
        let (Some(thrust), Some(flow)) = (phase.thrust, phase.flow) else {
            let unknown = phase.burning.first().and_then(|&index| stages.get(index));
            return Err(VehicleError::NoThrust { stage: unknown.map_or(name, |stage| stage.name.clone()) });
        };
        Ok(Some(Powered {
            stage: name,
            burning: phase.burning.iter().map(|&index| stages[index].name.clone()).collect(),
            mass: stages.iter().map(Stage::mass).sum(),
            propellant: phase.propellant,
            thrust,
            flow,
            exit_area: phase.exit_area,
            throttle: range(&phase.burning.iter().map(|&index| &stages[index]).collect::<Vec<_>>()),
        }))
    }

    /// The vehicle when so much (kg) of the phase that burns now is burned, at most what the phase has; what was empty before has left, what becomes
    /// empty is still there.
    #[must_use]
    pub fn burned(&self, propellant: f64) -> Vehicle {
        let mut stages = self.flying();
        if let Some(phase) = phase::next(&stages) {
            let all = propellant >= phase.propellant;
            phase.burn(&mut stages, propellant.clamp(0.0, phase.propellant), all);
        }
        Vehicle { stages, ..self.clone() }
    }

    /// The vehicle when all that is empty has left, and what that was. A fairing that leaves by height or heating stays.
    pub fn staged(&self) -> (Vehicle, Vec<Left>) {
        let stages = self.flying();
        let mut left = Vec::new();
        for stage in &self.stages {
            match stages.iter().find(|other| other.name == stage.name) {
                None => left.push(Left { name: stage.name.clone(), number: stage.number, mass: stage.mass() }),
                Some(kept) => {
                    let gone = stage.equipment.fairings.iter();
                    let gone =
                        gone.filter(|fairing| kept.equipment.fairings.iter().all(|own| own.name != fairing.name));
                    left.extend(gone.map(|part| Left {
                        name: part.name.clone(),
                        number: part.segments,
                        mass: part.mass,
                    }));
                }
            }
        }
        (Vehicle { stages, ..self.clone() }, left)
    }

    /// Its stages when all that is empty has left. A fairing that is told its height or heating leaves then, not with a stage as the ladder counts it.
    fn flying(&self) -> Vec<Stage> {
        let mut stages = self.stages.clone();
        for fairing in stages.iter_mut().flat_map(|stage| &mut stage.equipment.fairings) {
            if fairing.altitude.is_some() || fairing.heat_flux.is_some() {
                fairing.leaves = None;
            }
        }
        phase::leave_empty(&mut stages);
        stages
    }
}

/// The share of their thrust in the phase that all these stages' engines can be set to.
fn range(stages: &[&Stage]) -> (f64, f64) {
    let mut range = (0.0_f64, f64::INFINITY);
    for stage in stages {
        let share = if stages.len() > 1 { stage.throttle_beside() } else { stage.throttle };
        for mount in &stage.engines {
            let Some((least, greatest)) = mount.engine.throttle else { return (1.0, 1.0) };
            range = (range.0.max(least / share), range.1.min(greatest / share));
        }
    }
    // The throttle of the file lies within the ranges of all its engines, so 1 lies within what they share.
    (range.0.min(1.0), range.1.clamp(1.0, f64::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vehicle::{Engine, Fairing, Mount};

    fn stage(name: &str, dry: f64, propellant: f64) -> Stage {
        let engine = Engine::new("e", 300.0, Some(3e5)).unwrap().with_throttle(0.5, 1.0).unwrap();
        Stage::of_engines(name, dry, propellant, vec![Mount { engine, number: 1 }]).unwrap()
    }

    fn crossfed() -> Vehicle {
        let pair = stage("pair", 1000.0, 10_000.0).times(2).feeding("core");
        let mut core = stage("core", 2000.0, 20_000.0);
        core.throttle_beside = Some(0.8);
        core.equipment.fairings.push(Fairing {
            name: "fairing".into(),
            mass: 500.0,
            segments: 2,
            diameter: None,
            altitude: Some(1e5),
            heat_flux: None,
            leaves: Some("pair".into()),
        });
        Vehicle::of_stages("crossfed", vec![pair, core, stage("top", 100.0, 300.0)]).unwrap()
    }

    #[test]
    fn phases_follow_the_ladder_and_fairings_their_height() {
        let mut vehicle = crossfed();
        let rungs = vehicle.ladder();
        for rung in &rungs {
            let (left, gone) = vehicle.staged();
            let burning = left.powered().unwrap().unwrap();
            assert_eq!((&burning.stage, burning.propellant), (&rung.stage, rung.propellant));
            assert!((burning.exhaust_speed() / rung.exhaust_speed - 1.0).abs() < 4.0 * f64::EPSILON);
            assert!((burning.time() / rung.burn_time.unwrap() - 1.0).abs() < 4.0 * f64::EPSILON);
            assert_eq!(
                gone.iter().map(|part| part.name.as_str()).collect::<Vec<_>>(),
                match rung.stage.as_str() {
                    "pair" => vec![],
                    "core" => vec!["pair"],
                    _ => vec!["core"],
                }
            );
            vehicle = left.burned(burning.propellant);
        }
        assert_eq!(vehicle.powered().unwrap(), None);
        // The ladder drops the fairing with the pair; in flight it is on the core until its height.
        let (after_pair, _) = crossfed().burned(1e9).staged();
        assert_eq!(after_pair.mass(), 22_000.0 + 500.0 + 400.0);
    }

    #[test]
    fn all_engines_that_run_share_one_range_of_throttle() {
        let burning = crossfed().powered().unwrap().unwrap();
        // The core burns at 0.8 beside the pair: it cannot go below 0.5/0.8 of that, the pair not above 1.
        assert_eq!(burning.throttle, (0.625, 1.0));
        assert_eq!(burning.thrust, 3e5 * 2.8);
        let unknown = Vehicle::new("v", 1.0, 1.0, 300.0, None).unwrap();
        assert!(matches!(unknown.powered(), Err(VehicleError::NoThrust { .. })));
    }

    #[test]
    fn burning_in_pieces_keeps_the_shares() {
        let whole = crossfed().burned(7000.0);
        let pieces = crossfed().burned(3000.0).burned(4000.0);
        assert!((whole.mass() - pieces.mass()).abs() < 1e-9);
        assert_eq!(whole.stages()[1].propellant(), 20_000.0);
        assert!((whole.stages()[0].propellant() - 13_000.0).abs() < 1e-9);
    }
}
