//! The verb that re-aims.

use super::{Thrusting, Voyage, VoyageError};
use crate::arc::shoot::{Aim, Shot, Start, shoot};
use crate::numerics::watch::Watch;
use crate::time::Epoch;

/// When and how to correct.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CorrectionOptions {
    /// When to burn; `None`: now.
    pub at: Option<Epoch>,
    /// About when the target is met, where the unaimed coast does not tell.
    pub expected: Option<Epoch>,
    /// What the burn is called; `None`: `correction`.
    pub label: Option<String>,
    /// Flown with the vehicle's thrust; `None`: an impulse.
    pub thrust: Option<Thrusting>,
}

/// A correction flown: the burn shot, its estimate and what it meets.
pub type Correction = Shot;

impl Voyage {
    /// Coast to the epoch of the correction, shoot a burn in the voyage's model until its aim is met, and execute it. With
    /// fewer demands than three the least Δv is taken.
    ///
    /// Returns the shot; `None` where the craft was lost on the way to the burn.
    ///
    /// # Errors
    /// A voyage that has ended; an epoch that is past; an aim that is not met; a burn beyond the propellant. With thrust those of
    /// [`Voyage::burn_with_thrust`]: its ignition comes before the epoch of the correction.
    pub fn correct(
        &mut self,
        aim: &Aim,
        options: &CorrectionOptions,
        watch: &Watch<'_>,
    ) -> Result<Option<Correction>, VoyageError> {
        self.check_not_lost()?;
        self.check_aloft("correct")?;
        let mut work = self.clone();
        let label = options.label.as_deref().unwrap_or("correction");
        if let Some(epoch) = options.at {
            work.coast_until(epoch, &format!("coast to {label}"), watch)?;
            if work.check_not_lost().is_err() {
                *self = work;
                return Ok(None);
            }
        }
        let start = Start { dv: None, expected: options.expected, leaving: work.leaving.clone() };
        let mut shot = shoot(&work.now, aim, &start, watch)?;
        shot.burn = shot.burn.labelled(label);
        // With thrust the burn begins before the epoch that it was shot at: from where the voyage is still.
        if let Some(how) = options.thrust.as_ref().filter(|_| shot.burn.size() > 0.0) {
            self.burn_with_thrust(&shot.burn, how, watch)?;
            return Ok(Some(shot));
        }
        let estimate = shot.estimate_dv.norm();
        // A coast that needs no burn has no estimate to show beside it.
        work.burn_as(&shot.burn, (estimate > 0.0).then_some(estimate), watch)?;
        *self = work;
        Ok(Some(shot))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::Verdict;
    use crate::conic::{State, propagate};
    use crate::voyage::coast::TEN_YEARS;
    use crate::voyage::rehearsal::{body, on, parked, start, unwatched};
    use crate::voyage::{Goal, goal::horizontal};

    /// A craft about Oru that passes Keld's place in six days, a long way off.
    fn inbound(miss: f64) -> Voyage {
        let there = body("Keld").state(start().after(6.0 * 86_400.0)).unwrap();
        let across = there.position.cross(&there.velocity).normalize();
        let meeting = State {
            position: there.position + there.position.normalize() * miss,
            velocity: there.velocity * 1.5 + across * 2000.0,
        };
        let now = propagate(body("Oru").gm(), &meeting, -6.0 * 86_400.0).unwrap();
        on("Oru", now.position, now.velocity)
    }

    #[test]
    fn a_point_of_the_b_plane_is_met_from_outside_the_sphere() {
        let mut voyage = inbound(4.0e8);
        let aim = Aim::BPlane { body: body("Keld"), bt: 6.0e6, br: -2.0e6, pole: None, epoch: None };
        let shot = voyage.correct(&aim, &CorrectionOptions::default(), &unwatched()).unwrap().unwrap();
        assert!(shot.residuals.iter().all(|off| off.abs() < 1.0), "{shot:?}");
        assert!(shot.flown.inside && shot.estimate_dv != shot.dv);
        voyage.coast_to(&Goal::Arrival(body("Keld")), TEN_YEARS, &unwatched()).unwrap();
        voyage.coast_to(&Goal::Periapsis, TEN_YEARS, &unwatched()).unwrap();
        let periapsis = voyage.orbit().state().position.norm();
        assert!((periapsis - shot.flown.periapsis_radius()).abs() < 1.0, "{periapsis}");
        assert_eq!(voyage.audit().verdict(), Verdict::Good, "{:?}", voyage.audit().worst());
    }

    #[test]
    fn a_correction_with_thrust_meets_what_its_impulse_meets() {
        use crate::vehicle::Vehicle;
        let tug = Vehicle::new("tug", 2000.0, 8000.0, 450.0, Some(40_000.0)).unwrap();
        let mut voyage = Voyage::new("long", tug, inbound(4.0e8).orbit().clone()).unwrap();
        let aim = Aim::BPlane { body: body("Keld"), bt: 6.0e6, br: -2.0e6, pole: None, epoch: None };
        let at = Some(voyage.epoch().after(43_200.0));
        let options = CorrectionOptions { at, thrust: Some(Thrusting::default()), ..CorrectionOptions::default() };
        let shot = voyage.correct(&aim, &options, &unwatched()).unwrap().unwrap();
        // 10 t at 40 kN: the burn takes minutes, half of them before the epoch that its impulse had.
        let legs = voyage.legs();
        let leg = legs.last().unwrap();
        let took = leg.end.seconds_since(leg.start);
        let mass_ratio = (-shot.dv.norm() / (450.0 * crate::constants::STANDARD_GRAVITY)).exp();
        let needed = 10_000.0 * (1.0 - mass_ratio) / (40_000.0 / (450.0 * crate::constants::STANDARD_GRAVITY));
        assert!((took - needed).abs() < 1.0 && at.is_some_and(|at| leg.start < at), "{took} {needed}");
        voyage.coast_to(&Goal::Arrival(body("Keld")), TEN_YEARS, &unwatched()).unwrap();
        voyage.coast_to(&Goal::Periapsis, TEN_YEARS, &unwatched()).unwrap();
        let periapsis = voyage.orbit().state().position.norm();
        // A burn is matched to 1e-9 of speed (some 1e-5 m/s here) and of distance (some metres); in six days that is some tens of metres.
        assert!((periapsis - shot.flown.periapsis_radius()).abs() < 100.0, "{periapsis}");
        assert_eq!(voyage.audit().verdict(), Verdict::Good, "{:?}", voyage.audit().worst());
    }

    #[test]
    fn the_least_burn_is_no_longer_than_one_that_also_fixes_the_time() {
        let free = Aim::BPlane { body: body("Keld"), bt: 6.0e6, br: -2.0e6, pole: None, epoch: None };
        let mut voyage = inbound(1.5e8);
        let least = voyage.clone().correct(&free, &CorrectionOptions::default(), &unwatched()).unwrap().unwrap();
        let later = start().after(6.0 * 86_400.0 + 3600.0);
        let epoch = Some(later);
        let fixed = Aim::BPlane { body: body("Keld"), bt: 6.0e6, br: -2.0e6, pole: None, epoch };
        let timed = voyage.correct(&fixed, &CorrectionOptions::default(), &unwatched()).unwrap().unwrap();
        assert!(least.dv.norm() < timed.dv.norm());
        assert!(timed.flown.epoch.seconds_since(later).abs() < 1e-3);
        // No neighbour on the line of equal aims is shorter: the least burn is square to the free direction.
        let aimed_later = Aim::BPlane {
            body: body("Keld"),
            bt: 6.0e6,
            br: -2.0e6,
            pole: None,
            epoch: Some(least.flown.epoch.after(60.0)),
        };
        let later = inbound(1.5e8).correct(&aimed_later, &CorrectionOptions::default(), &unwatched()).unwrap().unwrap();
        let free_way = (later.dv - least.dv).normalize();
        assert!(free_way.dot(&least.dv.normalize()).abs() < 1e-3, "{}", free_way.dot(&least.dv.normalize()));
    }

    #[test]
    fn a_periapsis_with_its_inclination_is_met() {
        let mut voyage = inbound(5.0e7);
        let radius = body("Keld").radius() + 502e3;
        let aim = Aim::Periapsis { body: body("Keld"), radius, inclination: Some(1.9), epoch: None };
        voyage.correct(&aim, &CorrectionOptions::default(), &unwatched()).unwrap();
        voyage.coast_to(&Goal::Arrival(body("Keld")), TEN_YEARS, &unwatched()).unwrap();
        voyage.coast_to(&Goal::Periapsis, TEN_YEARS, &unwatched()).unwrap();
        let state = voyage.orbit().state();
        assert!((state.position.norm() - radius).abs() < 1.0);
        let inclination = state.position.cross(&state.velocity).angle(&body("Keld").pole(voyage.epoch()));
        assert!((inclination - 1.9).abs() < 1e-6, "{inclination}");
    }

    #[test]
    fn a_body_is_met_at_an_epoch_from_a_distant_start() {
        let mut voyage = inbound(1.5e9);
        let epoch = start().after(7.0 * 86_400.0);
        let aim = Aim::Intercept { body: body("Keld"), epoch };
        let shot = voyage.correct(&aim, &CorrectionOptions::default(), &unwatched()).unwrap().unwrap();
        assert!(shot.flown.relative.position.norm() < 1.0, "{shot:?}");
    }

    #[test]
    fn periapsis_about_the_body_itself_is_raised_with_the_least_burn() {
        let mut voyage = parked("Maren");
        let radius = voyage.body().radius() + 200e3;
        let aim = Aim::Periapsis { body: body("Maren"), radius, inclination: None, epoch: None };
        let shot = voyage.correct(&aim, &CorrectionOptions::default(), &unwatched()).unwrap().unwrap();
        let elements = voyage.orbit().elements().unwrap();
        assert!((elements.periapsis_radius() - radius).abs() < 1.0, "{elements:?}");
        assert!(shot.dv.norm() > 0.0 && horizontal(voyage.orbit().state()).is_some());
    }

    #[test]
    fn an_aim_that_cannot_be_met_leaves_the_voyage_as_it_was() {
        let mut voyage = parked("Maren");
        let before = format!("{voyage:?}");
        let aim = Aim::Intercept { body: body("Keld"), epoch: start().after(-5.0) };
        assert!(voyage.correct(&aim, &CorrectionOptions::default(), &unwatched()).is_err());
        let aim = Aim::Periapsis { body: body("Velm"), radius: 1e9, inclination: None, epoch: None };
        assert!(voyage.correct(&aim, &CorrectionOptions::default(), &unwatched()).is_err());
        assert_eq!(format!("{voyage:?}"), before);
    }
}
