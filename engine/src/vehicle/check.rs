//! What a stack of stages must fulfil before it is a vehicle.

use super::{Stage, Vehicle, VehicleError, phase};
use crate::system::nearest;

impl Vehicle {
    /// The vehicle itself, when its stages fit together.
    pub(super) fn checked(self) -> Result<Vehicle, VehicleError> {
        if self.stages.is_empty() {
            return Err(VehicleError::NoStage { name: self.name });
        }
        self.check_names()?;
        self.check_feeding()?;
        for (index, stage) in self.stages.iter().enumerate() {
            self.check_place(index, stage)?;
        }
        let mass = self.mass();
        if !(mass.is_finite() && mass > 0.0) {
            return Err(VehicleError::NotPositive { stage: self.name, what: "mass", value: mass });
        }
        Ok(self)
    }

    /// A name means one thing, so that it can be dropped or changed.
    fn check_names(&self) -> Result<(), VehicleError> {
        let mut seen = std::collections::BTreeSet::new();
        for stage in &self.stages {
            if !seen.insert(stage.name.as_str()) {
                return Err(VehicleError::DuplicateName { vehicle: self.name.clone(), name: stage.name.clone() });
            }
        }
        Ok(())
    }

    fn check_feeding(&self) -> Result<(), VehicleError> {
        for start in &self.stages {
            let mut way = vec![start.name.clone()];
            let mut at = start;
            while let Some(next) = at.feeds.as_deref() {
                way.push(next.to_owned());
                if next == start.name {
                    return Err(VehicleError::FeedLoop { stages: way });
                }
                let Some(other) = self.stages.iter().find(|stage| stage.name == next) else { break };
                // A loop further on that the start is not part of is found from its own members.
                if way.len() > self.stages.len() {
                    break;
                }
                at = other;
            }
        }
        Ok(())
    }

    fn check_place(&self, index: usize, stage: &Stage) -> Result<(), VehicleError> {
        if stage.propellant > 0.0 && stage.engines.is_empty() && stage.feeds.is_none() {
            return Err(VehicleError::NoEngine { stage: stage.name.clone() });
        }
        Self::check_engines(stage)?;
        let Some(beside) = &stage.beside else { return Ok(()) };
        let Some(place) = self.stages.iter().position(|other| other.name == *beside) else {
            return Err(VehicleError::NoSuchPart {
                vehicle: self.name.clone(),
                what: "stage",
                name: beside.clone(),
                nearest: nearest(beside, self.stages.iter().map(|other| other.name.as_str())),
            });
        };
        if place <= index {
            return Err(VehicleError::BesideEarlier { stage: stage.name.clone(), other: beside.clone() });
        }
        // Stages that burn together share a flow, which needs all thrusts.
        let members = phase::group(&self.stages[index..]);
        let stages = &self.stages[index..];
        for member in members {
            let unknown = stages[member].engines.iter().any(|mount| mount.engine.thrust.is_none());
            if unknown {
                return Err(VehicleError::NoThrust { stage: stages[member].name.clone() });
            }
        }
        if stage.feeds.is_some() {
            Self::check_propellant(stage, &self.stages[place])?;
        }
        Ok(())
    }

    /// Shares of the thrust that each engine can be set to, and sums that stay finite.
    fn check_engines(stage: &Stage) -> Result<(), VehicleError> {
        for mount in &stage.engines {
            let Some((least, greatest)) = mount.engine.throttle else { continue };
            for share in [stage.throttle, stage.throttle_beside()] {
                if share < least || share > greatest {
                    let (stage, engine) = (stage.name.clone(), mount.engine.name.clone());
                    return Err(VehicleError::ThrottleRange { stage, share, engine, least, greatest });
                }
            }
        }
        if let Some(thrust) = stage.thrust() {
            super::engine::positive(&stage.name, "thrust", thrust)?;
        }
        Ok(())
    }

    /// What feeds an engine must be what it burns, where both are told.
    fn check_propellant(stage: &Stage, fed: &Stage) -> Result<(), VehicleError> {
        let burned = |stage: &Stage| stage.engines.iter().find_map(|mount| mount.engine.propellant.clone());
        match (burned(stage), burned(fed)) {
            (Some(held), Some(burned)) if held != burned => {
                Err(VehicleError::OtherPropellant { stage: stage.name.clone(), held, other: fed.name.clone(), burned })
            }
            _ => Ok(()),
        }
    }
}
