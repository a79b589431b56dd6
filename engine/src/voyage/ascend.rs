//! The verb that leaves the ground.

use super::flown::{ForcedFlight, Happening};
use super::{Ending, Voyage, VoyageError, ending};
use crate::air_flight::ascent::{Ascent, Plane, Settings, TOLERANCE, Target, Task, ascend, plane_passages};
use crate::motion::force::Surroundings;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::quantity::Quantity;
use crate::system::Body;
use crate::time::Epoch;

/// An ascent as a voyage flew it.
#[derive(Debug, Clone, PartialEq)]
pub struct Ascended {
    /// The flight.
    pub ascent: Ascent,
    /// From whose ground.
    pub body: Body,
    /// Lift-off.
    pub epoch: Epoch,
}

/// What fell off on the way up, and where it ends on its conic.
#[derive(Debug, Clone, PartialEq)]
pub struct Fallen {
    /// What it was.
    pub name: String,
    /// Of all units, kg.
    pub mass: f64,
    /// s after lift-off.
    pub time: f64,
    /// The conic on which it is left.
    pub orbit: Orbit,
    /// Where that leads, without air.
    pub ending: Ending,
}

/// How long to look for the end of what fell off, s: a Julian year.
const YEAR: f64 = 365.25 * crate::constants::DAY;

impl Ascended {
    /// What fell off on the way up, in order.
    ///
    /// # Errors
    /// As of [`ending`].
    pub fn fallen(&self, watch: &Watch<'_>) -> Result<Vec<Fallen>, VoyageError> {
        self.ascent
            .drops
            .iter()
            .map(|drop| {
                let orbit = Orbit::new(self.body.clone(), self.epoch.after(drop.time), drop.state)?;
                let ending = ending(&orbit, None, YEAR, watch)?;
                Ok(Fallen { name: drop.part.name.clone(), mass: drop.part.mass, time: drop.time, orbit, ending })
            })
            .collect()
    }
}

impl Voyage {
    /// Flies from the site where the voyage stands to an orbit, with what the vehicle has. A plane that is wanted with its node is waited for on the ground.
    ///
    /// Figures for study: launches are for licensed operators under their authority's range safety.
    ///
    /// # Errors
    /// A voyage that is not on the ground or afloat; whatever [`ascend`] refuses. The voyage is left as it was.
    pub fn ascend(&mut self, target: &Target, settings: &Settings, watch: &Watch<'_>) -> Result<Ascended, VoyageError> {
        self.check_not_lost()?;
        let site = self.check_landed("ascend")?;
        let body = site.body().clone();
        let mut work = self.clone();
        let mut settings = settings.clone();
        if let Plane::Fixed(normal) = &target.plane {
            // The first time that the site is in the plane, or nearest to it.
            let passages = plane_passages(&body, &site.fixed(), normal, work.epoch(), 0.0);
            if let Some(first) = passages.into_iter().min_by_key(|passage| passage.epoch) {
                settings.southward = first.southward;
                if first.epoch > work.epoch() {
                    work.stay_until(&site, first.epoch, "wait for the plane")?;
                }
            }
        }
        let epoch = work.epoch();
        let around = Surroundings::of(&body, epoch);
        let vehicle = work.vehicle().clone();
        let task = Task {
            body: &body,
            around: &around,
            pad: site.state(epoch),
            north: body.pole(epoch),
            vehicle: &vehicle,
            target: *target,
            settings: &settings,
        };
        let ascent = ascend(&task, watch)?;
        let name = format!("ascent to {}", Quantity::length(target.periapsis - body.radius()).show());
        work.enter_flown(ForcedFlight {
            name: &name,
            clock: epoch,
            around: &around,
            flown: &ascent.flown,
            tolerance: TOLERANCE,
            happenings: happenings(&ascent),
            left: ascent.drops.iter().map(|drop| (drop.time, drop.vehicle.clone())).collect(),
            vehicle: ascent.vehicle.clone(),
            dv: None,
            estimate: None,
            fineness: None,
            audit: Vec::new(),
        })?;
        *self = work;
        Ok(Ascended { ascent, body, epoch })
    }
}

/// What happened on the way, with the mass that was left behind.
fn happenings(ascent: &Ascent) -> Vec<Happening> {
    let mut all: Vec<Happening> = ascent
        .events
        .iter()
        .map(|event| Happening { time: event.time, what: event.what.clone(), dropped: 0.0 })
        .collect();
    for drop in &ascent.drops {
        let same = all.iter_mut().find(|seen| seen.time == drop.time && seen.what.contains(&drop.part.name));
        match same {
            Some(seen) => seen.dropped += drop.part.mass,
            None => all.push(Happening {
                time: drop.time,
                what: format!("{} dropped", drop.part.name),
                dropped: drop.part.mass,
            }),
        }
    }
    all.sort_by(|a, b| a.time.total_cmp(&b.time));
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::air_flight::ascent::Entry;
    use crate::audit::{Law, Verdict};
    use crate::system::{EphemerisChoice, Site, System};
    use crate::vehicle::Vehicle;
    use crate::voyage::rehearsal::{body, start, unwatched};

    #[test]
    fn a_voyage_leaves_the_ground_and_its_audit_is_whole() {
        let site = Site::new(&body("Veyra"), 6_f64.to_radians(), 0.4, 0.0).unwrap();
        let lantern = Vehicle::embedded("lantern").unwrap();
        let mut voyage = Voyage::on_site("pad", lantern, site, start()).unwrap();
        let before = voyage.mass();
        let settings = Settings::default();
        let target = Target::circular(&body("Veyra"), 180e3);
        let up = voyage.ascend(&target, &settings, &unwatched()).unwrap();
        let audit = voyage.audit();
        assert_eq!(audit.verdict(), Verdict::Good, "{:?}", audit.worst());
        assert_eq!(voyage.place(), "in orbit");
        assert!(voyage.mass() < 0.3 * before);
        assert_eq!(up.fallen(&unwatched()).unwrap().len(), up.ascent.drops.len());
        // What fell off is on the record, and the engines that burned were lit once for each time.
        let left = voyage.separated();
        assert_eq!(left.len(), up.ascent.drops.len());
        assert!(!left.is_empty());
        for (part, drop) in left.iter().zip(&up.ascent.drops) {
            assert!((part.mass() - drop.part.mass).abs() <= 1e-9 * drop.part.mass, "{}", part.name);
            assert_eq!((&part.name, part.orbit.state().position), (&drop.part.name, drop.state.position));
        }
        let last = &up.ascent.vehicle.stages()[0];
        assert!(last.lit() >= 1, "{}", last.name());
        // In orbit there is no second start.
        assert!(matches!(voyage.ascend(&target, &settings, &unwatched()), Err(VoyageError::WrongPlace { .. })));
    }

    #[test]
    fn an_ascent_from_near_rest_without_air_balances_its_speed() {
        // The ground of the Moon's equator goes round at 4.6 m/s: the direction of motion turns by a right angle in two seconds.
        let sol = System::embedded("sol", EphemerisChoice::Default).unwrap();
        let moon = sol.body("Moon").unwrap();
        let site = Site::new(&moon, 0.0, 0.4, 0.0).unwrap();
        let hopper = Vehicle::new("hopper", 2200.0, 2400.0, 311.0, Some(15.6e3)).unwrap();
        let mut voyage = Voyage::on_site("hop", hopper, site, sol.epoch()).unwrap();
        let settings = Settings { kick: Some(0.1), entry: Entry::Direct, ..Settings::default() };
        voyage.ascend(&Target::circular(&moon, 60e3), &settings, &unwatched()).unwrap();
        let audit = voyage.audit();
        assert_eq!(audit.verdict(), Verdict::Good, "{:?}", audit.worst());
        assert!(audit.entries().iter().any(|entry| entry.law == Law::SpeedBalance));
    }
}
