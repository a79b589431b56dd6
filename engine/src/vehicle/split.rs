//! What a vehicle lets go: a stage dropped, a part thrown off, a craft released; and a craft taken on.

use super::{Stage, Vehicle, VehicleError};
use crate::system::nearest;

/// What a name of a vehicle stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// A stage that is not a craft's last one.
    Stage,
    /// A fairing or a heat shield.
    Part,
    /// A carried craft.
    Craft,
}

impl Vehicle {
    /// What a name stands for, at any depth; `None` where there is nothing of that name.
    pub fn sort_of(&self, name: &str) -> Option<Sort> {
        if self.stages.iter().any(|stage| stage.name == name) {
            return Some(Sort::Stage);
        }
        if self.stages.iter().any(|stage| stage.equipment.names().any(|part| part == name)) {
            return Some(Sort::Part);
        }
        let carried = || self.stages.iter().flat_map(|stage| &stage.carries);
        if carried().any(|craft| craft.name == name) {
            return Some(Sort::Craft);
        }
        carried().find_map(|craft| craft.sort_of(name))
    }

    /// The vehicle in two: what stays, and what comes off as a vehicle of its own. With a stage comes off all that stands below it, as
    /// [`Vehicle::without`] tells; a fairing that the ladder counts off with a stage stays until it is thrown off. Propellant that comes
    /// off without an engine counts as residual from then on.
    ///
    /// # Errors
    /// Nothing of that name; the last stage; a shield without a mass of its own.
    ///
    /// # Example
    /// ```
    /// # use visviva_engine::vehicle::{Stage, Vehicle};
    /// let lower = Stage::new("lower", 1000.0, 200.0, 300.0, None)?;
    /// let upper = Stage::new("upper", 500.0, 2000.0, 450.0, None)?;
    /// let (rest, part) = Vehicle::of_stages("pair", vec![lower, upper])?.split("lower")?;
    /// assert_eq!((rest.mass(), part.mass(), part.name()), (2500.0, 1200.0, "lower"));
    /// # Ok::<(), visviva_engine::vehicle::VehicleError>(())
    /// ```
    pub fn split(&self, name: &str) -> Result<(Vehicle, Vehicle), VehicleError> {
        let mut rest = self.clone();
        match rest.take_off(name)? {
            Some(part) => Ok((rest.checked()?, part.checked()?)),
            None => Err(VehicleError::NoSuchPart {
                vehicle: self.name.clone(),
                what: "stage, part or craft",
                name: name.to_owned(),
                nearest: nearest(name, self.names()),
            }),
        }
    }

    /// The vehicle with another one on its last stage. One whose name is taken already gets the next free number.
    ///
    /// Returns the name under which it is carried too.
    ///
    /// # Errors
    /// Masses whose sum overflows.
    pub fn taking_on(&self, other: &Vehicle) -> Result<(Vehicle, String), VehicleError> {
        let taken = |name: &str| name == self.name || self.names().contains(&name);
        let mut name = other.name.clone();
        let mut count = 1;
        while taken(&name) {
            count += 1;
            name = format!("{} {count}", other.name);
        }
        let mut vehicle = self.clone();
        if let Some(stage) = vehicle.stages.last_mut() {
            stage.carries.push(Vehicle { name: name.clone(), ..other.clone() });
        }
        Ok((vehicle.checked()?, name))
    }

    /// What leaves when a stage is empty: the stage without its propellant, and the fairings that are counted off with it.
    ///
    /// # Errors
    /// A fairing without a mass.
    pub fn left_with(&self, name: &str) -> Result<Vec<Vehicle>, VehicleError> {
        let mut left = Vec::new();
        for stage in &self.stages {
            if stage.name == name {
                left.push(adrift(name, vec![Stage { propellant: 0.0, ..stage.clone() }]));
            }
            let mut equipment = stage.equipment.clone();
            for fairing in stage.equipment.fairings.iter().filter(|part| part.leaves.as_deref() == Some(name)) {
                left.extend(equipment.take_off(&fairing.name)?);
            }
        }
        Ok(left)
    }

    /// One thing that leaves, by itself: a stage without its propellant, or a fairing.
    ///
    /// # Errors
    /// Nothing of that name; a fairing without a mass.
    pub fn left_alone(&self, name: &str) -> Result<Vehicle, VehicleError> {
        match self.stages.iter().find(|stage| stage.name == name) {
            Some(stage) => Ok(adrift(name, vec![Stage { propellant: 0.0, ..stage.clone() }])),
            None => Ok(self.split(name)?.1),
        }
    }

    /// The places of the stages that leave with the one at a place: what stands beside it, and all below it that belongs to nothing
    /// that stays.
    pub(super) fn leaving_with(&self, index: usize) -> Vec<usize> {
        let mut stays: Vec<&str> = self.stages.iter().skip(index + 1).map(|stage| stage.name.as_str()).collect();
        let mut leaving = Vec::new();
        for (place, stage) in self.stages.iter().enumerate().take(index + 1).rev() {
            if place != index && stage.beside.as_deref().is_some_and(|beside| stays.contains(&beside)) {
                stays.push(&stage.name);
            } else {
                leaving.push(place);
            }
        }
        leaving
    }

    fn take_off(&mut self, name: &str) -> Result<Option<Vehicle>, VehicleError> {
        if let Some(index) = self.stages.iter().position(|stage| stage.name == name) {
            if index + 1 == self.stages.len() {
                return Err(VehicleError::LastStage { vehicle: self.name.clone(), name: name.to_owned() });
            }
            let mut off: Vec<Stage> = Vec::new();
            for place in self.leaving_with(index) {
                off.push(self.stages.remove(place));
            }
            off.reverse();
            return Ok(Some(adrift(name, off)));
        }
        for stage in &mut self.stages {
            if let Some(part) = stage.equipment.take_off(name)? {
                return Ok(Some(part));
            }
            if let Some(place) = stage.carries.iter().position(|craft| craft.name == name) {
                return Ok(Some(stage.carries.remove(place)));
            }
        }
        for craft in self.stages.iter_mut().flat_map(|stage| &mut stage.carries) {
            if let Some(part) = craft.take_off(name)? {
                return Ok(Some(part));
            }
        }
        Ok(None)
    }
}

/// Stages that have come off, as a vehicle: ties to what stayed are cut.
fn adrift(name: &str, mut stages: Vec<Stage>) -> Vehicle {
    let names: Vec<String> = stages.iter().map(|stage| stage.name.clone()).collect();
    for stage in &mut stages {
        if stage.beside.as_ref().is_some_and(|beside| !names.contains(beside)) {
            stage.beside = None;
            stage.feeds = None;
        }
        if stage.engines.is_empty() && stage.feeds.is_none() {
            stage.residual += stage.propellant;
            stage.propellant = 0.0;
        }
    }
    Vehicle { name: name.to_owned(), about: String::new(), stages, drag_area: None }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vehicle::Equipment;
    use crate::vehicle::equipment::{Fairing, HeatShield};

    fn unit(name: &str) -> Stage {
        Stage::new(name, 1000.0, 10_000.0, 300.0, Some(3e5)).unwrap()
    }

    fn lantern() -> Vehicle {
        Vehicle::embedded("lantern").unwrap()
    }

    #[test]
    fn what_comes_off_and_what_stays_weigh_what_the_whole_did() {
        let whole = lantern();
        for name in whole.names() {
            let Ok((rest, part)) = whole.split(name) else {
                // The last stages of each craft, and the shield that is part of the capsule's dry mass.
                assert!(["orbiter", "base", "ascent", "capsule shield"].contains(&name), "{name}");
                continue;
            };
            // Sums of a dozen masses in another order: a few roundings of the whole.
            assert!((rest.mass() + part.mass() - whole.mass()).abs() < 16.0 * f64::EPSILON * whole.mass(), "{name}");
            assert_eq!(part.name(), name);
        }
        assert!(matches!(whole.split("capsule shield"), Err(VehicleError::StaysOn { .. })));
        assert!(matches!(whole.split("orbiter"), Err(VehicleError::LastStage { .. })));
        let slip = whole.split("fearing");
        assert!(matches!(slip, Err(VehicleError::NoSuchPart { nearest: Some(near), .. }) if near == "fairing"));
    }

    #[test]
    fn a_fairing_stays_when_the_stage_it_is_counted_with_is_dropped() {
        let (rest, part) = lantern().split("pair").unwrap();
        assert_eq!(part.mass(), 2.0 * 119_000.0);
        let (_, fairing) = rest.split("fairing").unwrap();
        assert_eq!((fairing.mass(), fairing.stages()[0].number()), (6000.0, 2));
    }

    #[test]
    fn a_stage_takes_along_what_stands_beside_it() {
        let tank = Stage::tank("tank", 200.0, 5000.0).unwrap().feeding("core");
        let stages = vec![unit("first"), tank, unit("pair").beside("core"), unit("core"), unit("upper")];
        let whole = Vehicle::of_stages("v", stages).unwrap();
        let names =
            |vehicle: &Vehicle| vehicle.stages().iter().map(|stage| stage.name().to_owned()).collect::<Vec<_>>();
        let (rest, part) = whole.split("pair").unwrap();
        assert_eq!(
            (names(&rest), names(&part)),
            (vec!["tank".into(), "core".into(), "upper".into()], vec!["first".into(), "pair".into()])
        );
        let (rest, part) = whole.split("core").unwrap();
        assert_eq!((names(&rest).len(), part.mass()), (1, 5200.0 + 3.0 * 11_000.0));
        // What it would leave behind on paper is what comes off.
        assert_eq!(whole.without("pair").unwrap(), whole.split("pair").unwrap().0);
        assert_eq!(whole.without("core").unwrap(), rest);
        // A drop tank alone holds propellant that nothing can burn.
        let (_, tank) = whole.split("tank").unwrap();
        assert_eq!((tank.stages().last().unwrap().residual(), tank.propellant()), (5000.0, 10_000.0));
    }

    #[test]
    fn craft_taken_on_can_be_let_go_again() {
        let tug = Vehicle::new("tug", 2000.0, 3000.0, 320.0, None).unwrap();
        let (both, name) = tug.taking_on(&tug).unwrap();
        assert_eq!((name.as_str(), both.mass()), ("tug 2", 10_000.0));
        let (rest, part) = both.split("tug 2").unwrap();
        assert_eq!((rest, part.mass()), (tug, 5000.0));
        assert_eq!(both.sort_of("tug 2"), Some(Sort::Craft));
    }

    #[test]
    fn a_shield_keeps_its_figures() {
        let shield = HeatShield {
            name: "shield".into(),
            mass: 300.0,
            diameter: Some(4.0),
            drag_coefficient: Some(1.4),
            nose_radius: None,
            ablator: None,
            heat_of_ablation: None,
        };
        let fairing = Fairing {
            name: "fairing".into(),
            mass: 100.0,
            segments: 3,
            diameter: None,
            altitude: None,
            heat_flux: None,
            leaves: None,
        };
        let mut stage = unit("stage");
        stage.equipment = Equipment { heat_shields: vec![shield], fairings: vec![fairing], ..Equipment::default() };
        let whole = Vehicle::of_stages("v", vec![stage]).unwrap();
        assert_eq!((whole.sort_of("shield"), whole.sort_of("stage")), (Some(Sort::Part), Some(Sort::Stage)));
        let (rest, part) = whole.split("shield").unwrap();
        assert_eq!((rest.mass(), part.mass()), (11_100.0, 300.0));
        assert_eq!(part.stages()[0].equipment().heat_shields[0].diameter, Some(4.0));
        assert_eq!(whole.split("fairing").unwrap().1.stages()[0].number(), 3);
    }
}
