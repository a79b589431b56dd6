//! The verbs that burn.

use super::goal::horizontal;
use super::{Leg, LegKind, Manner, Separated, Voyage, VoyageError};
use crate::audit::{place_between, rocket_equation, time_between, velocity_change};
use crate::burn::Burn;
use crate::conic::State;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::vector::Vec3;
use crate::vehicle::{Spending, Stage};

/// How far off its plan a burn may be executed: 1 km and 1 m/s.
const PLACE_OFF: f64 = 1e3;
const SPEED_OFF: f64 = 1.0;

impl Voyage {
    /// Execute a burn. One that was planned coasts to its epoch first; one without a plan is executed here and now. A craft
    /// that is lost on the way to its burn is lost: an outcome and no error.
    ///
    /// # Errors
    /// A voyage that has ended; a plan that is past, about another body, or for an orbit more than 1 km or 1 m/s away; a burn
    /// beyond the propellant. The voyage is left as it was.
    pub fn burn(&mut self, burn: &Burn, watch: &Watch<'_>) -> Result<(), VoyageError> {
        self.burn_as(burn, None, watch)
    }

    /// Burn at right angles to the radius so that the orbit is circular at the distance where the craft is, in its plane.
    ///
    /// # Errors
    /// As [`Voyage::burn`]; a craft that moves straight along its radius.
    pub fn circularise(&mut self, watch: &Watch<'_>) -> Result<(), VoyageError> {
        self.check_not_lost()?;
        self.check_aloft("circularise")?;
        let state = self.now.state();
        let along = horizontal(state).ok_or(VoyageError::NoPlane)?;
        let speed = (self.now.gm() / state.position.norm()).sqrt();
        let burn = Burn::planned(self.body(), self.epoch(), *state, along * speed - state.velocity)?
            .labelled("circularisation");
        self.burn_as(&burn, None, watch)
    }

    /// As [`Voyage::burn`], with what its plan had estimated, m/s, for the ledger.
    pub(super) fn burn_as(&mut self, burn: &Burn, estimate: Option<f64>, watch: &Watch<'_>) -> Result<(), VoyageError> {
        self.check_not_lost()?;
        self.check_aloft("burn")?;
        let mut work = self.clone();
        let label = burn.label.as_str();
        let label = if label.is_empty() { "burn" } else { label };
        if let Some(plan) = &burn.plan {
            work.coast_until(plan.epoch, &format!("coast to {label}"), watch)?;
            if work.check_not_lost().is_err() {
                *self = work;
                return Ok(());
            }
            work.check_planned(burn, label)?;
        }
        let dv = burn.dv_at(work.now.state())?;
        work.push_burn(label, dv, estimate)?;
        *self = work;
        Ok(())
    }

    /// Nothing, if the voyage is where and as fast as a burn was planned, to 1 km and 1 m/s.
    pub(super) fn check_planned(&self, burn: &Burn, label: &str) -> Result<(), VoyageError> {
        let Some(plan) = &burn.plan else { return Ok(()) };
        if *self.body() != plan.body {
            return Err(VoyageError::OtherBody {
                burn: label.to_owned(),
                planned: plan.body.name().to_owned(),
                actual: self.body().name().to_owned(),
                epoch: plan.epoch,
            });
        }
        let off_m = (self.now.state().position - plan.before.position).norm();
        let off_m_s = (self.now.state().velocity - plan.before.velocity).norm();
        if off_m <= PLACE_OFF && off_m_s <= SPEED_OFF {
            return Ok(());
        }
        Err(VoyageError::NotAsPlanned { burn: label.to_owned(), epoch: plan.epoch, off_m, off_m_s })
    }

    /// Change the velocity, spend the propellant, enter the leg.
    pub(super) fn push_burn(&mut self, label: &str, dv: Vec3, dv_estimate: Option<f64>) -> Result<(), VoyageError> {
        let size = dv.norm();
        let spending = self.vehicle().spending(size)?;
        let before = self.now.clone();
        let state = State { velocity: before.state().velocity + dv, ..*before.state() };
        let after = Orbit::new(before.body().clone(), before.epoch(), state)?;
        let left = self.left_in(&before, &dv, &spending)?;
        let mut audit = Vec::new();
        if let Some((end, state)) = self.last_end() {
            audit.push(time_between(label, end, before.epoch()));
            audit.push(place_between(label, &state, before.state()));
        }
        audit.push(rocket_equation(label, size, &spending));
        audit.push(velocity_change(label, before.state(), after.state(), &dv));
        let leg = Leg {
            name: label.to_owned(),
            start: before.epoch(),
            end: before.epoch(),
            dv: size,
            dv_estimate,
            propellant: spending.propellant,
            mass: spending.vehicle.mass(),
            audit,
            kind: LegKind::Burn { before, after: after.clone(), dv, left },
        };
        self.equip(spending.vehicle);
        let leaving = self.leaving.clone();
        self.enter(leg, after, leaving);
        Ok(())
    }
}

impl Voyage {
    /// The stages that run dry in an impulse and stay behind, each with the share of the velocity that was given by then.
    fn left_in(&self, before: &Orbit, dv: &Vec3, spending: &Spending) -> Result<Vec<Separated>, VoyageError> {
        let whole = self.vehicle();
        let gone = |name: &str| spending.vehicle.stages().iter().all(|stage| stage.name() != name);
        let mut left = Vec::new();
        for stage in whole.stages().iter().filter(|stage| gone(stage.name())) {
            // Given when its tanks were empty: nothing, if they were so before; else all up to the end of the last step that it had a part in.
            let mut given = 0.0;
            if stage.propellant() > 0.0 {
                for step in &spending.steps {
                    given += step.dv;
                    let then = whole.spend(given.min(dv.norm()))?;
                    // A residue of the rounding of the steps counts as none.
                    let dry = |there: &Stage| there.propellant() <= 1e-9 * stage.propellant();
                    if then.stages().iter().find(|other| other.name() == stage.name()).is_none_or(dry) {
                        break;
                    }
                }
            }
            let share = if dv.norm() > 0.0 { (given / dv.norm()).min(1.0) } else { 0.0 };
            let orbit = before.after_impulse(dv * share)?;
            for vehicle in whole.left_with(stage.name())? {
                left.push(Separated {
                    name: vehicle.name().to_owned(),
                    from: self.name().to_owned(),
                    manner: Manner::Dropped,
                    vehicle,
                    orbit: orbit.clone(),
                    rest: orbit.clone(),
                });
            }
        }
        Ok(left)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::Verdict;
    use crate::vehicle::VehicleError;
    use crate::voyage::Goal;
    use crate::voyage::coast::TEN_YEARS;
    use crate::voyage::rehearsal::{parked, planned, unwatched};

    #[test]
    fn a_planned_burn_coasts_to_its_epoch() {
        let mut voyage = parked("Veyra");
        let later = voyage.orbit().at(voyage.epoch().after(1000.0)).unwrap();
        voyage.burn(&planned(&later, Vec3::new(10.0, 0.0, 0.0)).labelled("trim"), &unwatched()).unwrap();
        let names: Vec<&str> = voyage.legs().iter().map(|leg| leg.name.as_str()).collect();
        assert_eq!(names, ["coast to trim", "trim"]);
        assert_eq!(voyage.audit().verdict(), Verdict::Good);
    }

    #[test]
    fn refused_burns_leave_the_voyage_as_it_was() {
        let mut voyage = parked("Veyra");
        voyage.coast(10.0, &unwatched()).unwrap();
        let before = format!("{voyage:?}");
        let past = planned(voyage.start(), Vec3::new(10.0, 0.0, 0.0));
        assert!(matches!(voyage.burn(&past, &unwatched()), Err(VoyageError::Past { .. })));
        let other = parked("Maren").orbit().at(voyage.epoch().after(100.0)).unwrap();
        let elsewhere = planned(&other, Vec3::new(10.0, 0.0, 0.0));
        assert!(matches!(voyage.burn(&elsewhere, &unwatched()), Err(VoyageError::OtherBody { .. })));
        let mut off = *voyage.orbit().at(voyage.epoch().after(100.0)).unwrap().state();
        off.position *= 1.0 + 4e-4;
        let orbit = Orbit::new(voyage.body().clone(), voyage.epoch().after(100.0), off).unwrap();
        let moved = planned(&orbit, Vec3::new(10.0, 0.0, 0.0));
        assert!(matches!(voyage.burn(&moved, &unwatched()), Err(VoyageError::NotAsPlanned { .. })));
        let far = voyage.orbit().at(voyage.epoch().after(100.0)).unwrap();
        let much = planned(&far, Vec3::new(1e6, 0.0, 0.0));
        let refused = voyage.burn(&much, &unwatched());
        assert!(matches!(refused, Err(VoyageError::Vehicle(VehicleError::NotEnough { .. }))), "{refused:?}");
        assert_eq!(format!("{voyage:?}"), before);
    }

    #[test]
    fn stages_that_run_dry_in_a_burn_are_kept_where_they_were_left() {
        use crate::vehicle::Vehicle;
        let lower = Stage::new("lower", 1000.0, 9000.0, 300.0, None).unwrap();
        let upper = Stage::new("upper", 500.0, 2000.0, 450.0, None).unwrap();
        let pair = Vehicle::of_stages("pair", vec![lower, upper]).unwrap();
        let first = pair.ladder()[0].dv;
        let orbit = parked("Oru").orbit().clone();
        let mut voyage = Voyage::new("pair", pair, orbit.clone()).unwrap();
        voyage.burn(&Burn::local(first + 500.0, 0.0, 0.0).unwrap(), &unwatched()).unwrap();
        let left = voyage.separated();
        assert_eq!((left.len(), left[0].name.as_str(), left[0].mass()), (1, "lower", 1000.0));
        assert!((left[0].orbit.speed() - orbit.speed() - first).abs() < 1e-8);
        assert!((voyage.orbit().speed() - left[0].orbit.speed() - 500.0).abs() < 1e-8);
    }

    #[test]
    fn circularises_at_apoapsis() {
        let mut voyage = parked("Veyra");
        voyage.burn(&Burn::local(300.0, 0.0, 0.0).unwrap(), &unwatched()).unwrap();
        voyage.coast_to(&Goal::Apoapsis, TEN_YEARS, &unwatched()).unwrap();
        let radius = voyage.orbit().state().position.norm();
        voyage.circularise(&unwatched()).unwrap();
        let elements = voyage.orbit().elements().unwrap();
        assert!(elements.eccentricity < 1e-12, "{elements:?}");
        assert!((elements.semi_major_axis() - radius).abs() < 1e-4);
        assert_eq!(voyage.audit().verdict(), Verdict::Good);
    }
}
