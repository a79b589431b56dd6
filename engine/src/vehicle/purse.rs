//! Who pays: legs by stages, with reserves that earlier legs may not eat.

use super::{Vehicle, VehicleError};

/// One leg that asks for a change of speed.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Demand {
    /// Name of the leg.
    pub name: String,
    /// m/s, zero or more.
    pub dv: f64,
    /// Stages, parts and craft left behind before it.
    pub drops: Vec<String>,
    /// Dry mass taken on before it, kg; below zero when set down.
    pub load: f64,
    /// The carried craft that pays, by its own ladder; the vehicle itself when `None`.
    pub payer: Option<String>,
    /// The reserve that it may use up.
    pub uses: Option<String>,
}

/// Propellant of a stage that legs may not eat, but for the one that names the reserve.
#[derive(Debug, Clone, PartialEq)]
pub struct Reserve {
    /// Name.
    pub name: String,
    /// Whose propellant, at any depth.
    pub stage: String,
    /// kg.
    pub propellant: f64,
}

/// What each stage pays for each leg.
#[derive(Debug, Clone, PartialEq)]
pub struct Purses {
    /// Names of the stages that can pay, in the order of burning; those of carried craft behind.
    pub stages: Vec<String>,
    /// One row for each leg.
    pub legs: Vec<Paid>,
    /// Change of speed that each stage has left after the last leg, or had when it was left behind, m/s. Above the floors of the reserves.
    pub left: Vec<f64>,
    /// Propellant left with it, kg.
    pub propellant_left: Vec<f64>,
    /// Reserves, with what is left of each, kg.
    pub reserves: Vec<(Reserve, f64)>,
    /// Whether each stage was left behind before the last leg.
    pub left_behind: Vec<bool>,
    /// The vehicle after the last leg.
    pub vehicle: Vehicle,
}

/// One leg, paid.
#[derive(Debug, Clone, PartialEq)]
pub struct Paid {
    /// Name of the leg.
    pub leg: String,
    /// m/s.
    pub dv: f64,
    /// By each stage, m/s.
    pub by_stage: Vec<f64>,
    /// kg.
    pub propellant: f64,
    /// Mass of who pays after the leg, kg.
    pub mass: f64,
}

impl Purses {
    /// What each stage spent in all, m/s.
    pub fn spent(&self) -> Vec<f64> {
        (0..self.stages.len()).map(|column| self.legs.iter().map(|leg| leg.by_stage[column]).sum()).collect()
    }

    /// What a stage spent and has left, m/s.
    pub fn total(&self, stage: &str) -> Option<f64> {
        let column = self.stages.iter().position(|name| name == stage)?;
        Some(self.spent()[column] + self.left[column])
    }
}

impl Vehicle {
    /// Pays legs in order, each by the stages that burn then; propellant below a reserve's floor is for the leg that names the reserve.
    ///
    /// # Errors
    /// A leg that cannot be paid, or not without eating a reserve; a name that the vehicle does not have.
    pub fn who_pays(&self, legs: &[Demand], reserves: &[Reserve]) -> Result<Purses, VehicleError> {
        for reserve in reserves {
            let stage = self.stage(&reserve.stage).ok_or_else(|| self.no_stage(&reserve.stage))?;
            if !(reserve.propellant >= 0.0 && reserve.propellant <= stage.propellant) {
                return Err(VehicleError::BadSizing {
                    what: "the propellant of a reserve",
                    value: reserve.propellant,
                    needs: "from zero to what the stage holds",
                });
            }
        }
        let stages: Vec<String> = payers(self);
        // Legs are entries of a budget: several may be one burn, so ignitions are not counted.
        let mut now = self.without_limits();
        let mut rows = Vec::with_capacity(legs.len());
        let mut purses: Vec<(f64, f64)> = vec![(0.0, 0.0); stages.len()];
        let mut behind = vec![false; stages.len()];
        let mut used: Vec<String> = Vec::new();
        for leg in legs {
            let of_leg = |error| VehicleError::Leg { leg: leg.name.clone(), source: Box::new(error) };
            let floors = |used: &[String]| {
                reserves.iter().filter(|reserve| !used.contains(&reserve.name)).cloned().collect::<Vec<_>>()
            };
            for name in &leg.drops {
                let without = now.without(name).map_err(of_leg)?;
                // What goes keeps what it had; a craft that pays later is paid from its own copy.
                note(&now, &floors(&used), &stages, &mut purses, &behind);
                for (column, stage) in stages.iter().enumerate() {
                    behind[column] |= now.stage(stage).is_some() && without.stage(stage).is_none();
                }
                now = without;
            }
            if let Some(name) = &leg.uses {
                if !reserves.iter().any(|reserve| reserve.name == *name) {
                    return Err(of_leg(VehicleError::NoSuchPart {
                        vehicle: self.name.clone(),
                        what: "reserve",
                        name: name.clone(),
                        nearest: crate::system::nearest(name, reserves.iter().map(|reserve| reserve.name.as_str())),
                    }));
                }
                used.push(name.clone());
            }
            let (row, after) = pay(&now, leg, &floors(&used), &stages)?;
            rows.push(row);
            now = after;
        }
        let floors: Vec<Reserve> = reserves.iter().filter(|reserve| !used.contains(&reserve.name)).cloned().collect();
        note(&now, &floors, &stages, &mut purses, &behind);
        let reserves = reserves
            .iter()
            .map(|reserve| {
                let held = now.stage(&reserve.stage).map_or(0.0, |stage| stage.propellant);
                (reserve.clone(), held.min(reserve.propellant))
            })
            .collect();
        let (left, propellant_left) = purses.into_iter().unzip();
        Ok(Purses { stages, legs: rows, left, propellant_left, reserves, left_behind: behind, vehicle: now })
    }
}

/// Stages that can pay: those that name a phase, and those of carried craft.
fn payers(vehicle: &Vehicle) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    let ladders = std::iter::once(vehicle).chain(vehicle.all_carried()).map(Vehicle::ladder);
    for rung in ladders.flatten() {
        if rung.propellant > 0.0 && !names.contains(&rung.stage) {
            names.push(rung.stage);
        }
    }
    names
}

/// The vehicle as its legs may use it: the floors of reserves are moved into its residuals.
fn above(vehicle: &Vehicle, floors: &[Reserve]) -> Vehicle {
    let mut held = vehicle.clone();
    for reserve in floors {
        if let Some(stage) = held.stage_mut(&reserve.stage) {
            let floor = reserve.propellant.min(stage.propellant);
            stage.propellant -= floor;
            stage.residual += floor;
        }
    }
    held
}

/// The same the other way round, after a leg.
fn given_back(spent: &Vehicle, before: &Vehicle, floors: &[Reserve]) -> Vehicle {
    let mut vehicle = spent.clone();
    for reserve in floors {
        let floor = before.stage(&reserve.stage).map_or(0.0, |stage| reserve.propellant.min(stage.propellant));
        if let Some(stage) = vehicle.stage_mut(&reserve.stage) {
            stage.propellant += floor;
            stage.residual -= floor;
        }
    }
    vehicle
}

fn pay(now: &Vehicle, leg: &Demand, floors: &[Reserve], stages: &[String]) -> Result<(Paid, Vehicle), VehicleError> {
    let of_leg = |error| VehicleError::Leg { leg: leg.name.clone(), source: Box::new(error) };
    // A craft that has its own legs is taken out, pays, and is put back.
    let payer = match &leg.payer {
        Some(name) => now.carried(name).map_err(of_leg)?.clone(),
        None => now.clone(),
    };
    let loaded = if leg.load == 0.0 { payer } else { payer.loaded(leg.load).map_err(of_leg)? };
    let held = above(&loaded, floors);
    let spending = match held.spending(leg.dv) {
        Ok(spending) => spending,
        // Enough but for a reserve: that is what to say.
        Err(VehicleError::NotEnough { needed_m_s, left_m_s, .. }) if loaded.dv() >= leg.dv => {
            let reserve = floors.iter().find(|floor| loaded.stage(&floor.stage).is_some());
            let reserve = reserve.map_or(String::new(), |floor| floor.name.clone());
            return Err(VehicleError::Reserved { leg: leg.name.clone(), reserve, needed_m_s, left_m_s });
        }
        Err(error) => return Err(of_leg(error)),
    };
    let mut by_stage = vec![0.0; stages.len()];
    for step in &spending.steps {
        if let Some(column) = stages.iter().position(|name| *name == step.stage) {
            by_stage[column] += step.dv;
        }
    }
    let paid = given_back(&spending.vehicle, &loaded, floors);
    let (mass, propellant) = (paid.mass(), spending.propellant);
    let after = match &leg.payer {
        Some(name) => {
            let mut whole = now.clone();
            whole.put_back(name, &paid);
            whole
        }
        None => paid,
    };
    Ok((Paid { leg: leg.name.clone(), dv: leg.dv, by_stage, propellant, mass }, after))
}

/// Notes what each stage that is still there has left, by the ladder of its own craft.
fn note(now: &Vehicle, floors: &[Reserve], stages: &[String], purses: &mut [(f64, f64)], behind: &[bool]) {
    let held = above(now, floors);
    for (column, purse) in purses.iter_mut().enumerate() {
        if !behind[column] {
            *purse = (0.0, 0.0);
        }
    }
    for craft in std::iter::once(&held).chain(held.all_carried()) {
        for rung in craft.ladder() {
            if let Some(column) = stages.iter().position(|name| *name == rung.stage)
                && !behind[column]
            {
                purses[column].0 += rung.dv;
                purses[column].1 += rung.propellant;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vehicle::Stage;

    fn demand(name: &str, dv: f64) -> Demand {
        Demand { name: name.into(), dv, ..Demand::default() }
    }

    fn stack() -> Vehicle {
        let lower = Stage::new("lower", 1000.0, 9000.0, 300.0, None).unwrap();
        let upper = Stage::new("upper", 500.0, 2000.0, 450.0, None).unwrap();
        Vehicle::of_stages("stack", vec![lower, upper]).unwrap()
    }

    #[test]
    fn rows_and_columns_add_up() {
        let (lower, upper) = (stack().ladder()[0].dv, stack().ladder()[1].dv);
        let purses = stack().who_pays(&[demand("climb", lower + 100.0), demand("leave", 300.0)], &[]).unwrap();
        assert_eq!(purses.stages, ["lower", "upper"]);
        // The sums of a handful of figures of some 1e3 m/s.
        assert!((purses.legs[0].by_stage.iter().sum::<f64>() - lower - 100.0).abs() < 1e-9);
        assert!((purses.total("upper").unwrap() - upper).abs() < 1e-9);
        assert!((purses.left[1] - (upper - 400.0)).abs() < 1e-9);
    }

    #[test]
    fn a_stage_left_behind_keeps_what_it_had_and_pays_no_more() {
        let drop = Demand { drops: vec!["lower".into()], ..demand("leave", 100.0) };
        let purses = stack().who_pays(&[demand("climb", 100.0), drop], &[]).unwrap();
        assert!(purses.left_behind[0] && !purses.left_behind[1]);
        assert!((purses.left[0] - (stack().ladder()[0].dv - 100.0)).abs() < 1e-9);
        assert_eq!(purses.legs[1].by_stage[0], 0.0);
    }

    #[test]
    fn a_reserve_is_a_floor_but_for_the_leg_that_names_it() {
        let reserve = Reserve { name: "floating".into(), stage: "upper".into(), propellant: 1500.0 };
        let all = stack().dv();
        let refused = stack().who_pays(&[demand("all", all - 10.0)], std::slice::from_ref(&reserve));
        assert!(matches!(refused, Err(VehicleError::Reserved { reserve, .. }) if reserve == "floating"));
        let paid = Demand { uses: Some("floating".into()), ..demand("all", all - 10.0) };
        let purses = stack().who_pays(&[paid], std::slice::from_ref(&reserve)).unwrap();
        assert!(purses.reserves[0].1 < 1500.0);
        let kept = stack().who_pays(&[demand("some", 100.0)], &[reserve]).unwrap();
        assert_eq!(kept.reserves[0].1, 1500.0);
        assert!(kept.left[1] < stack().ladder()[1].dv);
    }

    #[test]
    fn refuses_names_it_does_not_have() {
        let drop = Demand { drops: vec!["louer".into()], ..demand("leave", 100.0) };
        assert!(matches!(stack().who_pays(&[drop], &[]), Err(VehicleError::Leg { .. })));
        let unknown = Demand { uses: Some("nothing".into()), ..demand("leave", 1.0) };
        assert!(stack().who_pays(&[unknown], &[]).is_err());
    }
}
