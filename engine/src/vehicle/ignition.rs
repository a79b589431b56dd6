//! Ignitions: how often the engines of a stage were lit, and how often they can be.

use super::{Stage, Vehicle, VehicleError};

impl Stage {
    /// How often its engines were lit so far: all of a stage are lit together.
    pub fn lit(&self) -> u32 {
        self.lit
    }

    /// How often its engines can be lit still; `None` where none of them is limited.
    pub fn ignitions_left(&self) -> Option<u32> {
        let limits = self.engines.iter().filter_map(|mount| mount.engine.ignitions);
        limits.min().map(|most| most.saturating_sub(self.lit))
    }

    /// Lights its engines once more.
    ///
    /// # Errors
    /// An engine that was lit as often as it can be.
    pub(super) fn light(&mut self) -> Result<(), VehicleError> {
        for mount in &self.engines {
            if let Some(ignitions) = mount.engine.ignitions
                && self.lit >= ignitions
            {
                return Err(VehicleError::NoIgnition {
                    stage: self.name.clone(),
                    engine: mount.engine.name.clone(),
                    ignitions,
                });
            }
        }
        self.lit = self.lit.saturating_add(1);
        Ok(())
    }
}

impl Vehicle {
    /// The vehicle with the engines of some of its stages lit once more: what a burn begins with, and what a stage begins with that takes
    /// over in the middle of one. Names that are not among its own stages are passed over.
    ///
    /// # Errors
    /// An engine that was lit as often as it can be.
    pub fn ignited<S: AsRef<str>>(&self, stages: &[S]) -> Result<Vehicle, VehicleError> {
        let mut vehicle = self.clone();
        for stage in &mut vehicle.stages {
            if stages.iter().any(|name| name.as_ref() == stage.name) {
                stage.light()?;
            }
        }
        Ok(vehicle)
    }

    /// The vehicle with engines that can be lit without limit, in carried craft too.
    pub(super) fn without_limits(&self) -> Vehicle {
        let mut vehicle = self.clone();
        for stage in &mut vehicle.stages {
            for mount in &mut stage.engines {
                mount.engine.ignitions = None;
            }
            for craft in &mut stage.carries {
                *craft = craft.without_limits();
            }
        }
        vehicle
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vehicle::{Engine, Mount};

    fn stage(name: &str, ignitions: Option<u32>) -> Stage {
        let engine = Engine { ignitions, ..Engine::new("kick", 300.0, Some(1e4)).unwrap() };
        Stage::of_engines(name, 500.0, 1000.0, vec![Mount { engine, number: 2 }]).unwrap()
    }

    #[test]
    fn each_burn_takes_one_ignition() {
        let mut craft = Vehicle::of_stages("c", vec![stage("kick", Some(2))]).unwrap();
        assert_eq!(craft.spend(0.0).unwrap().stages()[0].ignitions_left(), Some(2));
        for left in [1, 0] {
            craft = craft.spend(10.0).unwrap();
            assert_eq!(craft.stages()[0].ignitions_left(), Some(left));
        }
        let refused = craft.spend(10.0).unwrap_err();
        assert_eq!(
            refused.to_string(),
            "engine `kick` of stage `kick` was lit 2 times: it can be lit 2 times and no more"
        );
        assert_eq!(stage("free", None).ignitions_left(), None);
    }

    #[test]
    fn a_burn_into_the_next_stage_lights_that_one_and_no_other() {
        let two = Vehicle::of_stages("c", vec![stage("lower", Some(1)), stage("upper", Some(1))]).unwrap();
        let first = two.ladder()[0].dv;
        let after = two.spend(first + 10.0).unwrap();
        assert_eq!((after.stages().len(), after.stages()[0].ignitions_left()), (1, Some(0)));
        assert!(matches!(after.spend(1.0), Err(VehicleError::NoIgnition { .. })));
        assert!(two.spend(first - 10.0).unwrap().spend(1.0).is_err());
    }

    #[test]
    fn a_core_that_burns_on_when_its_pair_is_empty_is_not_lit_again() {
        let pair = stage("pair", Some(1)).feeding("core");
        let craft = Vehicle::of_stages("c", vec![pair, stage("core", Some(1))]).unwrap();
        let all = craft.spend(craft.dv() - 1.0).unwrap();
        assert_eq!(all.stages()[0].lit(), 1);
        assert_eq!(craft.ignited(&["core"]).unwrap().stages()[1].lit(), 1);
    }
}
