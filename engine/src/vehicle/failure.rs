//! Engines that fail: the vehicle without them, and what that costs.

use super::{Rung, Stage, Vehicle, VehicleError, ladder, phase};
use crate::system::{Body, nearest};

/// One row of [`Vehicle::failures`]: a stage as it is, or with one engine out from its ignition on.
#[derive(Debug, Clone, PartialEq)]
pub struct Failure {
    /// The stage.
    pub stage: String,
    /// The engine.
    pub engine: String,
    /// How many of them run; of all units of the stage together.
    pub running: u32,
    /// How many are out.
    pub out: u32,
    /// Thrust over weight at the body's ground when the stage is lit: of what is lit on the pad in the air of the ground, of others in
    /// vacuum; `None` where the thrust is not known, zero where none of them runs.
    pub weight_ratio: Option<f64>,
    /// Ideal change of speed in vacuum of the whole vehicle, m/s. A stage whose engines are all out is left behind when its turn comes.
    pub dv: f64,
    /// So much less than the whole vehicle gives, m/s.
    pub dv_lost: f64,
    /// How long the stage burns, s, where the thrust is known.
    pub burn_time: Option<f64>,
    /// Whether the vehicle rises from the ground; `None` for stages that are not lit there, and where the thrust is not known.
    pub lifts: Option<bool>,
}

impl Vehicle {
    /// The vehicle with engines out, from now on: their mass stays, their thrust, flow and exit area are gone.
    ///
    /// - `name`: a stage, at any depth, or an engine: then of the first stage that has one.
    /// - `number`: how many fail.
    ///
    /// What is lit beside the failed ones is taken to balance the thrust: a moment about the centre of mass is not looked at.
    ///
    /// # Errors
    /// Nothing of that name; none, or as many engines as there are: a stage without engine cannot burn.
    pub fn failed(&self, name: &str, number: u32) -> Result<Vehicle, VehicleError> {
        let mut vehicle = self.clone();
        let by_engine = |stage: &Stage| stage.engines.iter().any(|mount| mount.engine.name == name);
        let stage = match self.stage(name) {
            Some(_) => name.to_owned(),
            None => self
                .all_stages()
                .into_iter()
                .find(|stage| by_engine(stage))
                .map(|stage| stage.name.clone())
                .ok_or_else(|| VehicleError::NoSuchPart {
                    vehicle: self.name.clone(),
                    what: "stage or engine",
                    name: name.to_owned(),
                    nearest: nearest(name, self.stages_and_engines()),
                })?,
        };
        if let Some(stage) = vehicle.stage_mut(&stage) {
            let there: u32 = stage.engines.iter().map(|mount| mount.number).sum();
            if number == 0 || number >= there {
                return Err(VehicleError::EnginesOut { stage: stage.name.clone(), there, out: number });
            }
            let only = stage.name != name;
            take_out(stage, number, only.then_some(name));
            // An engine of that name may be rarer than the stage's engines are.
            let left: u32 = stage.engines.iter().map(|mount| mount.number).sum();
            if there - left != number {
                return Err(VehicleError::EnginesOut { stage: stage.name.clone(), there: there - left, out: number });
            }
        }
        vehicle.checked()
    }

    /// For each of its own stages with engines: as it is, and with one engine of each kind out.
    ///
    /// # Errors
    /// Masses that do not stay finite.
    pub fn failures(&self, body: &Body) -> Result<Vec<Failure>, VehicleError> {
        let whole = self.dv();
        let mut rows = Vec::new();
        for stage in self.stages.iter().filter(|stage| !stage.engines.is_empty()) {
            let all: u32 = stage.engines.iter().map(|mount| mount.number).sum();
            for (index, mount) in stage.engines.iter().enumerate() {
                let outs: &[u32] = if index == 0 { &[0, 1] } else { &[1] };
                for &out in outs {
                    let mut failed = self.clone();
                    if out > 0
                        && let Some(own) = failed.stages.iter_mut().find(|own| own.name == stage.name)
                    {
                        take_out(own, 1, Some(&mount.engine.name));
                    }
                    let (dv, rungs) = climb(&failed.stages);
                    rows.push(Failure {
                        stage: stage.name.clone(),
                        engine: mount.engine.name.clone(),
                        running: if stage.engines.len() > 1 && out == 0 { all } else { mount.number - out },
                        out,
                        weight_ratio: self.ratio_of(&failed, stage, body, &rungs),
                        dv,
                        dv_lost: whole - dv,
                        burn_time: burn_time(stage, &rungs),
                        lifts: self.lifts(&failed, stage, body),
                    });
                }
            }
        }
        Ok(rows)
    }

    /// All stages, at any depth, its own first.
    fn all_stages(&self) -> Vec<&Stage> {
        let carried = self.stages.iter().flat_map(|stage| &stage.carries).flat_map(Vehicle::all_stages);
        self.stages.iter().chain(carried).collect()
    }

    fn stages_and_engines(&self) -> Vec<&str> {
        let stages = self.all_stages();
        let engines = stages.iter().flat_map(|stage| &stage.engines).map(|mount| mount.engine.name.as_str());
        stages.iter().map(|stage| stage.name.as_str()).chain(engines).collect()
    }

    fn lit_first(&self, stage: &Stage) -> bool {
        let group = phase::group(&self.stages);
        group.iter().any(|&index| self.stages[index].name == stage.name)
    }

    /// Thrust over weight on the pad, with dead engines: what still runs of the first group.
    fn pad_ratio(failed: &Vehicle, body: &Body) -> Option<f64> {
        let pressure = body.air().map_or(0.0, crate::system::Air::surface_pressure);
        let weight = failed.mass() * body.surface_gravity();
        match phase::next(&failed.stages) {
            Some(phase) => phase.thrust_at(pressure).map(|force| force / weight),
            None => Some(0.0),
        }
    }

    fn ratio_of(&self, failed: &Vehicle, stage: &Stage, body: &Body, rungs: &[Rung]) -> Option<f64> {
        if self.lit_first(stage) {
            return Vehicle::pad_ratio(failed, body);
        }
        match rungs.iter().find(|rung| rung.burning.contains(&stage.name)) {
            Some(rung) => rung.weight_ratio(body.surface_gravity()),
            None => Some(0.0),
        }
    }

    fn lifts(&self, failed: &Vehicle, stage: &Stage, body: &Body) -> Option<bool> {
        if self.lit_first(stage) { Vehicle::pad_ratio(failed, body).map(|ratio| ratio > 1.0) } else { None }
    }
}

/// Takes engines out, of one name or of any, the last ones first.
fn take_out(stage: &mut Stage, number: u32, engine: Option<&str>) {
    let mut left = number;
    for mount in stage.engines.iter_mut().rev() {
        if engine.is_none_or(|name| mount.engine.name == name) {
            let gone = left.min(mount.number);
            mount.number -= gone;
            left -= gone;
        }
    }
    stage.engines.retain(|mount| mount.number > 0);
}

fn burn_time(stage: &Stage, rungs: &[Rung]) -> Option<f64> {
    let mut total = 0.0;
    for rung in rungs.iter().filter(|rung| rung.burning.contains(&stage.name)) {
        total += rung.burn_time?;
    }
    Some(total)
}

/// The ladder of a stack in which stages may be dead: those are left behind, full, when their turn comes.
fn climb(stages: &[Stage]) -> (f64, Vec<Rung>) {
    let mut left = stages.to_vec();
    let (mut dv, mut rungs) = (0.0, Vec::new());
    loop {
        let part = ladder::rungs(&left, 0.0);
        dv += part.iter().map(|rung| rung.dv).sum::<f64>();
        rungs.extend(part);
        phase::leave_empty(&mut left);
        while let Some(phase) = phase::next(&left) {
            phase.burn(&mut left, phase.propellant, true);
            phase::leave_empty(&mut left);
        }
        // What still stands first is dead, or the last stage.
        let dead = phase::group(&left);
        if dead.len() >= left.len() {
            return (dv, rungs);
        }
        for index in dead.into_iter().rev() {
            phase::remove(&mut left, index);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::STANDARD_GRAVITY;
    use crate::system::{EphemerisChoice, System};
    use crate::vehicle::{Engine, Mount};

    fn stage(name: &str, propellant: f64, number: u32) -> Stage {
        let engine = Engine::new(&format!("{name} engine"), 300.0, Some(1e5)).unwrap();
        Stage::of_engines(name, 1000.0, propellant, vec![Mount { engine, number }]).unwrap()
    }

    fn stack() -> Vehicle {
        Vehicle::of_stages("stack", vec![stage("lower", 9000.0, 3), stage("upper", 2000.0, 1)]).unwrap()
    }

    fn veyra() -> Body {
        System::embedded("velm", EphemerisChoice::Default).unwrap().body("Veyra").unwrap()
    }

    #[test]
    fn an_engine_out_takes_its_thrust_and_flow_and_no_mass() {
        let (whole, failed) = (stack(), stack().failed("lower", 1).unwrap());
        assert_eq!((failed.mass(), failed.thrust()), (whole.mass(), Some(2e5)));
        // The same exhaust speed: the ladder keeps its change of speed, and burns half as long again.
        assert!((failed.dv() - whole.dv()).abs() < 1e-9);
        let time = |vehicle: &Vehicle| vehicle.ladder()[0].burn_time.unwrap();
        assert!((time(&failed) / time(&whole) - 1.5).abs() < 1e-12);
        assert_eq!(stack().failed("lower engine", 1).unwrap(), failed);
        assert_eq!(failed.failed("lower", 1).unwrap().thrust(), Some(1e5));
    }

    #[test]
    fn refuses_to_take_out_none_or_all() {
        assert!(matches!(stack().failed("lower", 3), Err(VehicleError::EnginesOut { there: 3, out: 3, .. })));
        assert!(matches!(stack().failed("lower", 0), Err(VehicleError::EnginesOut { .. })));
        assert!(matches!(stack().failed("upper", 1), Err(VehicleError::EnginesOut { .. })));
        let slip = stack().failed("uper", 1);
        assert!(matches!(slip, Err(VehicleError::NoSuchPart { nearest: Some(near), .. }) if near == "upper"));
    }

    #[test]
    fn the_table_tells_what_each_failure_costs() {
        let rows = stack().failures(&veyra()).unwrap();
        let names: Vec<(&str, u32)> = rows.iter().map(|row| (row.stage.as_str(), row.out)).collect();
        assert_eq!(names, [("lower", 0), ("lower", 1), ("upper", 0), ("upper", 1)]);
        let weight = 13_000.0 * veyra().surface_gravity();
        assert!((rows[1].weight_ratio.unwrap() - 2e5 / weight).abs() < 1e-9);
        assert_eq!((rows[1].lifts, rows[2].lifts), (Some(true), None));
        assert!(rows[1].dv_lost.abs() < 1e-9);
        // Without its only engine the upper stage gives nothing: by hand, what the lower one gives.
        let lower = 300.0 * STANDARD_GRAVITY * (13_000.0_f64 / 4000.0).ln();
        assert!((rows[3].dv - lower).abs() < 1e-9 && rows[3].running == 0);
        assert_eq!((rows[3].weight_ratio, rows[3].burn_time), (Some(0.0), Some(0.0)));
    }

    #[test]
    fn a_dead_first_stage_does_not_lift_and_is_left_behind() {
        let stack = Vehicle::of_stages("s", vec![stage("lower", 9000.0, 1), stage("upper", 2000.0, 1)]).unwrap();
        let rows = stack.failures(&veyra()).unwrap();
        assert_eq!((rows[1].lifts, rows[1].weight_ratio), (Some(false), Some(0.0)));
        let upper = 300.0 * STANDARD_GRAVITY * 3.0_f64.ln();
        assert!((rows[1].dv - upper).abs() < 1e-9, "{:?}", rows[1]);
    }

    #[test]
    fn a_crossfed_pair_may_lose_one_of_its_engines() {
        let lantern = Vehicle::embedded("lantern").unwrap();
        let rows = lantern.failures(&veyra()).unwrap();
        assert_eq!((rows[0].stage.as_str(), rows[0].running), ("pair", 2));
        // Four pad engines stand against the weight with 1.45: three do with 1.09.
        assert!((rows[1].weight_ratio.unwrap() / rows[0].weight_ratio.unwrap() - 0.75).abs() < 1e-9);
        assert_eq!(rows[1].lifts, Some(true));
    }
}
