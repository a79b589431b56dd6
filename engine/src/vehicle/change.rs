//! What a vehicle becomes: figures changed, parts left behind, craft released, loads taken on, propellant boiled off.

use super::{Stage, Vehicle, VehicleError, phase};
use crate::system::nearest;

/// What [`Vehicle::changed`] is to change; `None` keeps. Masses are of all units of the stage together.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Change {
    /// Another name of the vehicle.
    pub name: Option<String>,
    /// The stage that the figures below are of, also one of a carried craft; not needed where there is one stage.
    pub stage: Option<String>,
    /// Dry mass, kg.
    pub dry: Option<f64>,
    /// Propellant, kg.
    pub propellant: Option<f64>,
    /// Specific impulse in vacuum of all its engines, s.
    pub specific_impulse: Option<f64>,
    /// Thrust in vacuum of all its engines together, N.
    pub thrust: Option<f64>,
    /// Share of the thrust at which it burns.
    pub throttle: Option<f64>,
    /// The share while another stage burns too.
    pub throttle_beside: Option<f64>,
    /// Whether it feeds the stage that it stands beside.
    pub crossfeed: Option<bool>,
}

impl Vehicle {
    /// The same vehicle with some figures changed.
    ///
    /// # Errors
    /// A figure outside its range; no such stage; a figure without a stage's name where the vehicle has several.
    pub fn changed(&self, change: &Change) -> Result<Vehicle, VehicleError> {
        let mut vehicle = self.clone();
        let kept = Change { name: change.name.clone(), ..Change::default() };
        if *change != kept {
            let stage = match (&change.stage, vehicle.stages.as_mut_slice()) {
                (Some(name), _) => vehicle.stage_mut(name).ok_or_else(|| self.no_stage(name))?,
                (None, [stage]) => stage,
                (None, _) => {
                    let (name, stages) = (self.name.clone(), self.stages.len());
                    return Err(VehicleError::SeveralStages { name, stages });
                }
            };
            edit(stage, change)?;
        }
        if let Some(name) = &change.name {
            if self.stages.len() == 1 && vehicle.stages[0].name == self.name {
                vehicle.stages[0].name.clone_from(name);
            }
            vehicle.name.clone_from(name);
        }
        vehicle.checked()
    }

    /// The vehicle without a stage, a part or a carried craft: what is dropped, thrown off or released. With a stage goes all that is listed
    /// before it and does not stand beside something that stays.
    ///
    /// # Errors
    /// Nothing of that name, or the last stage.
    pub fn without(&self, name: &str) -> Result<Vehicle, VehicleError> {
        let mut vehicle = self.clone();
        if let Some(index) = vehicle.stages.iter().position(|stage| stage.name == name) {
            if index + 1 == vehicle.stages.len() {
                return Err(VehicleError::LastStage { vehicle: self.name.clone(), name: name.to_owned() });
            }
            for place in self.leaving_with(index) {
                phase::remove(&mut vehicle.stages, place);
            }
            return Ok(vehicle);
        }
        if vehicle.take(name) {
            return Ok(vehicle);
        }
        Err(VehicleError::NoSuchPart {
            vehicle: self.name.clone(),
            what: "stage, part or craft",
            name: name.to_owned(),
            nearest: nearest(name, self.names()),
        })
    }

    /// A craft that it carries, at any depth.
    ///
    /// # Errors
    /// No craft of that name.
    pub fn carried(&self, name: &str) -> Result<&Vehicle, VehicleError> {
        self.find_carried(name).ok_or_else(|| VehicleError::NoSuchPart {
            vehicle: self.name.clone(),
            what: "carried craft",
            name: name.to_owned(),
            nearest: nearest(name, self.all_carried().into_iter().map(Vehicle::name)),
        })
    }

    /// All craft that it carries, each followed by what that one carries.
    pub fn all_carried(&self) -> Vec<&Vehicle> {
        let mut found = Vec::new();
        for craft in self.stages.iter().flat_map(|stage| &stage.carries) {
            found.push(craft);
            found.extend(craft.all_carried());
        }
        found
    }

    /// The vehicle with so much more dry mass on its last stage, kg: samples, a payload. Less when below zero.
    ///
    /// # Errors
    /// A mass that would leave no dry mass, or no number.
    pub fn loaded(&self, mass: f64) -> Result<Vehicle, VehicleError> {
        let mut vehicle = self.clone();
        if let Some(stage) = vehicle.stages.last_mut() {
            stage.dry += mass;
            super::engine::positive(&stage.name, "dry mass", stage.dry)?;
        }
        vehicle.checked()
    }

    /// The vehicle after so much time of boiling (s), in all its stages and in all craft that it carries.
    ///
    /// # Errors
    /// A time below zero, or no number.
    pub fn after(&self, time: f64) -> Result<Vehicle, VehicleError> {
        if time >= 0.0 && time.is_finite() {
            Ok(self.after_boiling(time))
        } else {
            Err(VehicleError::BadSizing { what: "the time of boiling", value: time, needs: "zero or more seconds" })
        }
    }

    pub(super) fn after_boiling(&self, time: f64) -> Vehicle {
        Vehicle { stages: self.stages.iter().map(|stage| stage.after_boiling(time)).collect(), ..self.clone() }
    }

    /// Names of all stages, parts and craft, at any depth.
    pub fn names(&self) -> Vec<&str> {
        let mut names = Vec::new();
        for stage in &self.stages {
            names.push(stage.name.as_str());
            names.extend(stage.equipment.names());
            for craft in &stage.carries {
                names.push(craft.name.as_str());
                names.extend(craft.names());
            }
        }
        names
    }

    /// A stage, at any depth.
    pub fn stage(&self, name: &str) -> Option<&Stage> {
        self.stages
            .iter()
            .find(|stage| stage.name == name)
            .or_else(|| self.stages.iter().flat_map(|stage| &stage.carries).find_map(|craft| craft.stage(name)))
    }

    pub(super) fn stage_mut(&mut self, name: &str) -> Option<&mut Stage> {
        for stage in &mut self.stages {
            if stage.name == name {
                return Some(stage);
            }
            if let Some(found) = stage.carries.iter_mut().find_map(|craft| craft.stage_mut(name)) {
                return Some(found);
            }
        }
        None
    }

    pub(super) fn no_stage(&self, name: &str) -> VehicleError {
        VehicleError::NoSuchPart {
            vehicle: self.name.clone(),
            what: "stage",
            name: name.to_owned(),
            nearest: nearest(name, self.names().into_iter().filter(|other| self.stage(other).is_some())),
        }
    }

    /// Puts a carried craft in the place of the one of that name, at any depth.
    pub(super) fn put_back(&mut self, name: &str, craft: &Vehicle) {
        for stage in &mut self.stages {
            for carried in &mut stage.carries {
                if carried.name == name {
                    carried.clone_from(craft);
                } else {
                    carried.put_back(name, craft);
                }
            }
        }
    }

    fn find_carried(&self, name: &str) -> Option<&Vehicle> {
        self.all_carried().into_iter().find(|craft| craft.name == name)
    }

    /// Takes a part or a craft off, at any depth; tells whether there was one.
    fn take(&mut self, name: &str) -> bool {
        self.stages.iter_mut().any(|stage| {
            let before = stage.carries.len();
            stage.carries.retain(|craft| craft.name != name);
            stage.carries.len() < before
                || stage.equipment.take(name)
                || stage.carries.iter_mut().any(|craft| craft.take_of_carried(name))
        })
    }

    /// A carried craft may lose a stage too, but not its last one.
    fn take_of_carried(&mut self, name: &str) -> bool {
        if let Some(index) = self.stages.iter().position(|stage| stage.name == name)
            && index + 1 < self.stages.len()
        {
            phase::remove(&mut self.stages, index);
            return true;
        }
        self.take(name)
    }
}

/// Edits one stage; its masses and engines are checked again.
fn edit(stage: &mut Stage, change: &Change) -> Result<(), VehicleError> {
    let name = stage.name.clone();
    if let Some(dry) = change.dry {
        super::engine::positive(&name, "dry mass", dry)?;
        stage.dry = dry;
    }
    if let Some(propellant) = change.propellant {
        if !(propellant >= 0.0 && propellant.is_finite()) {
            return Err(VehicleError::NegativePropellant { stage: name, value_kg: propellant });
        }
        stage.propellant = propellant;
    }
    if let Some(impulse) = change.specific_impulse {
        super::engine::positive(&name, "specific impulse", impulse)?;
        for mount in &mut stage.engines {
            mount.engine.specific_impulse = impulse;
        }
    }
    if let Some(thrust) = change.thrust {
        super::engine::positive(&name, "thrust", thrust)?;
        if let Some(now) = stage.sum(|engine| engine.thrust) {
            // Several engines keep their shares; the exit areas grow with the thrust.
            for mount in &mut stage.engines {
                mount.engine.thrust = mount.engine.thrust.map(|own| own * (thrust / now));
                mount.engine.exit_area *= thrust / now;
            }
        } else {
            let number: u32 = stage.engines.iter().map(|mount| mount.number).sum();
            for mount in &mut stage.engines {
                mount.engine.thrust = Some(thrust / f64::from(number));
            }
        }
    }
    for (throttle, beside) in [(change.throttle, false), (change.throttle_beside, true)] {
        let Some(share) = throttle else { continue };
        if !(share > 0.0 && share <= 1.2) {
            return Err(VehicleError::BadThrottle { engine: name, least: share, greatest: share });
        }
        if beside {
            stage.throttle_beside = Some(share);
        } else {
            stage.throttle = share;
        }
    }
    match (change.crossfeed, &stage.beside) {
        (Some(true), Some(beside)) => stage.feeds = Some(beside.clone()),
        (Some(true), None) => {
            return Err(VehicleError::NoSuchPart {
                vehicle: name,
                what: "stage beside it to feed",
                name: String::new(),
                nearest: None,
            });
        }
        (Some(false), _) => stage.feeds = None,
        (None, _) => {}
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tug() -> Vehicle {
        Vehicle::new("tug", 2000.0, 3000.0, 320.0, Some(20_000.0)).unwrap()
    }

    fn pair() -> Vehicle {
        let lower = Stage::new("lower", 1000.0, 9000.0, 300.0, Some(200_000.0)).unwrap();
        let upper = Stage::new("upper", 500.0, 2000.0, 450.0, None).unwrap().carrying(tug());
        Vehicle::of_stages("pair", vec![lower, upper]).unwrap()
    }

    #[test]
    fn changes_one_figure_and_keeps_the_rest() {
        let change = Change { propellant: Some(1000.0), ..Change::default() };
        let changed = tug().changed(&change).unwrap();
        assert_eq!((changed.mass(), changed.thrust()), (3000.0, Some(20_000.0)));
        assert!(matches!(pair().changed(&change), Err(VehicleError::SeveralStages { stages: 2, .. })));
        assert!(tug().changed(&Change { dry: Some(0.0), ..Change::default() }).is_err());
        let renamed = pair().changed(&Change { name: Some("couple".into()), ..Change::default() }).unwrap();
        assert_eq!(renamed.name(), "couple");
    }

    #[test]
    fn changes_a_named_stage_at_any_depth() {
        let of = |stage: &str| Change { stage: Some(stage.into()), propellant: Some(100.0), ..Change::default() };
        assert_eq!(pair().changed(&of("upper")).unwrap().stages()[1].propellant(), 100.0);
        assert_eq!(pair().changed(&of("tug")).unwrap().carried("tug").unwrap().propellant(), 100.0);
        let slip = pair().changed(&of("uper"));
        assert!(matches!(slip, Err(VehicleError::NoSuchPart { nearest: Some(near), .. }) if near == "upper"));
    }

    #[test]
    fn what_leaves_takes_its_mass_with_it() {
        let whole = pair();
        assert_eq!(whole.mass(), 12_500.0 + 5000.0);
        assert_eq!(whole.without("tug").unwrap().mass(), 12_500.0);
        assert_eq!(whole.without("lower").unwrap().mass(), 2500.0 + 5000.0);
        assert!(matches!(whole.without("upper"), Err(VehicleError::LastStage { .. })));
        assert!(
            matches!(whole.without("tog"), Err(VehicleError::NoSuchPart { nearest: Some(near), .. }) if near == "tug")
        );
    }
}
