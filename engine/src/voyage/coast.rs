//! The verbs that coast.

use super::flight::{End, Flight, Seek, fly};
use super::{Goal, Leg, LegKind, Voyage, VoyageError};
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::time::Epoch;

/// How long a coast waits for its goal if it is not told otherwise, s: ten Julian years.
pub const TEN_YEARS: f64 = 10.0 * 365.25 * 86_400.0;

/// Why a coast that watches a closure stopped: the voyage's own reason, or the closure's.
#[derive(Debug, Clone, PartialEq)]
pub enum WatchedError<E> {
    /// The voyage cannot.
    Voyage(VoyageError),
    /// The closure failed.
    Closure(E),
}

impl<E> From<VoyageError> for WatchedError<E> {
    fn from(error: VoyageError) -> Self {
        WatchedError::Voyage(error)
    }
}

impl Voyage {
    /// Coast for a time, s, zero or more, crossing spheres of influence on the way; on the ground or afloat, wait. A craft that strikes the ground is lost;
    /// that is an outcome and no error.
    ///
    /// # Errors
    /// A voyage that has ended; a negative time; an ephemeris that does not reach; interruption.
    pub fn coast(&mut self, seconds: f64, watch: &Watch<'_>) -> Result<(), VoyageError> {
        self.check_not_lost()?;
        if !(seconds >= 0.0 && seconds.is_finite()) {
            return Err(VoyageError::BadTime { seconds });
        }
        self.coast_until(self.epoch().try_after(seconds)?, "coast", watch)
    }

    /// Coast to a goal.
    ///
    /// - `within`: s; how long to wait for it, see [`TEN_YEARS`]. An epoch as goal needs none.
    ///
    /// # Errors
    /// As [`Voyage::coast`]; a goal that does not come in time; an epoch that is past.
    pub fn coast_to(&mut self, goal: &Goal, within: f64, watch: &Watch<'_>) -> Result<(), VoyageError> {
        self.check_not_lost()?;
        if !(within > 0.0 && within.is_finite()) {
            return Err(VoyageError::BadTime { seconds: within });
        }
        match goal {
            Goal::Epoch(epoch) => return self.coast_until(*epoch, "coast", watch),
            _ => self.check_aloft("coast_to")?,
        }
        match goal {
            Goal::Arrival(body) => self.check_arrival(goal, body)?,
            Goal::Departure if self.body().parent().is_none() => {
                let why = format!("{} is the centre of its system", self.body().name());
                return Err(VoyageError::Impossible { goal: goal.to_string(), why });
            }
            _ => {}
        }
        let (until, bounded) = self.horizon(within);
        let flight = fly(&self.now, self.leaving.as_ref(), until, Seek::Goal(goal), watch)?;
        let name = format!("coast to {goal}");
        self.arrive(flight, name, &goal.to_string(), bounded)
    }

    /// Coast to the first change of sign of a quantity that is worked out from the orbit (body, epoch, state) on the way.
    ///
    /// The quantity is sampled at a sixty-fourth of the local time scale 2π √(r³/gm) of the conic, at least sixteen times a
    /// conic, and the change is then bracketed to 1 ns. What changes sign twice between two samples is not seen.
    ///
    /// # Errors
    /// As [`Voyage::coast_to`]; a value that is no number; whatever the closure answers.
    pub fn coast_to_change<E>(
        &mut self,
        mut quantity: impl FnMut(&Orbit) -> Result<f64, E>,
        within: f64,
        watch: &Watch<'_>,
    ) -> Result<(), WatchedError<E>> {
        self.check_not_lost()?;
        self.check_aloft("coast_to")?;
        if !(within > 0.0 && within.is_finite()) {
            return Err(VoyageError::BadTime { seconds: within }.into());
        }
        let mut refusal = None;
        let mut guarded = |orbit: &Orbit| {
            quantity(orbit).map_err(|error| {
                refusal.get_or_insert(error);
                VoyageError::Interrupted
            })
        };
        let (until, bounded) = self.horizon(within);
        let flown = fly(&self.now, self.leaving.as_ref(), until, Seek::Sign(&mut guarded), watch);
        if let Some(error) = refusal {
            return Err(WatchedError::Closure(error));
        }
        let goal = "change of sign of the watched quantity";
        Ok(self.arrive(flown?, "coast to event".to_owned(), goal, bounded)?)
    }

    /// Coast until an epoch, as a leg of some name; no leg where the epoch is now.
    pub(super) fn coast_until(&mut self, epoch: Epoch, name: &str, watch: &Watch<'_>) -> Result<(), VoyageError> {
        if epoch < self.epoch() {
            return Err(VoyageError::Past { asked: epoch, now: self.epoch() });
        }
        if epoch == self.epoch() {
            return Ok(());
        }
        if let Some(site) = self.site().cloned() {
            return self.stay_until(&site, epoch, if name == "coast" { "wait" } else { name });
        }
        let flight = fly(&self.now, self.leaving.as_ref(), epoch, Seek::Time, watch)?;
        self.record_coast(flight, name.to_owned())
    }

    fn check_arrival(&self, goal: &Goal, body: &crate::system::Body) -> Result<(), VoyageError> {
        if body.system() != self.body().system() {
            return Err(VoyageError::OtherSystem { a: self.name().to_owned(), b: body.name().to_owned() });
        }
        let impossible = |why: String| Err(VoyageError::Impossible { goal: goal.to_string(), why });
        if body.parent().is_none() {
            return impossible(format!("{} is the centre of its system and has no sphere of influence", body.name()));
        }
        if body.sphere_of_influence() <= body.radius() {
            return impossible(format!("the sphere of influence of {} lies below its ground", body.name()));
        }
        if body == self.body() {
            return impossible(format!("the craft is about {} already", body.name()));
        }
        Ok(())
    }

    /// Until when to wait: `within` from now, or the end of the ephemeris where that comes first (and then `true`).
    fn horizon(&self, within: f64) -> (Epoch, bool) {
        let until = self.epoch().after(within);
        match self.body().system().span() {
            Some((_, end)) if end < until => (end, true),
            _ => (until, false),
        }
    }

    /// Enter a coast that was to reach a goal.
    fn arrive(&mut self, flight: Flight, name: String, goal: &str, bounded: bool) -> Result<(), VoyageError> {
        if flight.end == End::Time {
            let within_days = flight.now.epoch().seconds_since(self.epoch()) / 86_400.0;
            let goal = if bounded { format!("{goal} before the ephemeris ends,") } else { goal.to_owned() };
            return Err(VoyageError::NoEvent { goal, within_days, now: self.epoch() });
        }
        self.record_coast(flight, name)
    }

    /// Enter a coast with its audit.
    fn record_coast(&mut self, flight: Flight, name: String) -> Result<(), VoyageError> {
        let name = match &flight.end {
            End::Struck(loss) => format!("{name}: {}", loss.what),
            _ => name,
        };
        let audit = self.audit_coast(&name, &flight.pieces)?;
        let leg = Leg {
            name,
            start: self.epoch(),
            end: flight.now.epoch(),
            dv: 0.0,
            dv_estimate: None,
            propellant: 0.0,
            mass: self.mass(),
            audit,
            kind: LegKind::Coast { pieces: flight.pieces },
        };
        self.enter(leg, flight.now, flight.leaving);
        if let End::Struck(loss) = flight.end {
            self.lose(loss);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::{Law, Verdict};
    use crate::burn::Burn;
    use crate::vector::Vec3;
    use crate::voyage::rehearsal::{body, on, parked, start, unwatched};

    /// A craft that comes from outside onto Oru's moon Keld: on the parent's conic that passes `aside` m beside it.
    fn inbound(aside: f64) -> Voyage {
        let keld = body("Keld");
        let there = keld.state(start().after(6.0 * 86_400.0)).unwrap();
        let across = there.position.cross(&there.velocity).normalize();
        let out = there.position.normalize();
        // 3.6 km/s against the moon, at the moon, six days from now; flown back to now.
        let meeting = crate::conic::State {
            position: there.position + out * aside,
            velocity: there.velocity * 1.5 + across * 2000.0,
        };
        let now = crate::conic::propagate(body("Oru").gm(), &meeting, -6.0 * 86_400.0).unwrap();
        on("Oru", now.position, now.velocity)
    }

    #[test]
    fn a_flyby_keeps_the_size_of_v_infinity_and_all_laws_are_good() {
        let mut voyage = inbound(2.0e7);
        voyage.coast_to(&Goal::Arrival(body("Keld")), TEN_YEARS, &unwatched()).unwrap();
        assert_eq!(voyage.body(), &body("Keld"));
        voyage.coast_to(&Goal::Periapsis, TEN_YEARS, &unwatched()).unwrap();
        voyage.coast_to(&Goal::Departure, TEN_YEARS, &unwatched()).unwrap();
        assert_eq!(voyage.body(), &body("Oru"));
        let audit = voyage.audit();
        let held = |law| audit.entries().iter().filter(|entry| entry.law == law).count();
        assert_eq!(held(Law::FlybySpeed), 1);
        assert_eq!((held(Law::PatchSpeed), held(Law::PatchAim), held(Law::PatchTime)), (2, 2, 2));
        for entry in audit.entries() {
            assert_eq!(entry.verdict, Verdict::Good, "{entry:?}");
        }
        // And on: the sphere that was left is not met again at once.
        voyage.coast(86_400.0, &unwatched()).unwrap();
        assert_eq!(voyage.body(), &body("Oru"));
        assert_eq!(voyage.audit().verdict(), Verdict::Good);
    }

    #[test]
    fn a_burn_inside_the_sphere_takes_the_flyby_law_away() {
        let mut voyage = inbound(2.0e7);
        voyage.coast_to(&Goal::Arrival(body("Keld")), TEN_YEARS, &unwatched()).unwrap();
        voyage.burn(&Burn::local(50.0, 0.0, 0.0).unwrap(), &unwatched()).unwrap();
        voyage.coast_to(&Goal::Departure, TEN_YEARS, &unwatched()).unwrap();
        let audit = voyage.audit();
        assert!(audit.entries().iter().all(|entry| entry.law != Law::FlybySpeed));
        assert_eq!(audit.verdict(), Verdict::Good, "{:?}", audit.worst());
    }

    #[test]
    fn striking_the_ground_loses_the_voyage_and_says_why() {
        let mut voyage = parked("Veyra");
        voyage.burn(&Burn::local(-500.0, 0.0, 0.0).unwrap(), &unwatched()).unwrap();
        voyage.coast(86_400.0, &unwatched()).unwrap();
        assert_eq!((voyage.outcome().name(), voyage.place()), ("lost", "on the ground"));
        let why = voyage.why().unwrap();
        assert!(why.contains("struck the ground of Veyra"), "{why}");
        // Where it struck is the ground.
        let height = voyage.orbit().state().position.norm() - body("Veyra").radius();
        assert!(height.abs() < 1e-2, "{height}");
        let before = format!("{voyage:?}");
        assert!(matches!(voyage.coast(1.0, &unwatched()), Err(VoyageError::Lost { .. })));
        assert_eq!(format!("{voyage:?}"), before);
    }

    #[test]
    fn apsides_nodes_and_heights_come_in_turn() {
        let mut voyage = parked("Maren");
        voyage.burn(&Burn::local(150.0, 60.0, 0.0).unwrap(), &unwatched()).unwrap();
        let period = voyage.orbit().period().unwrap();
        let begin = voyage.epoch();
        voyage.coast_to(&Goal::Apoapsis, TEN_YEARS, &unwatched()).unwrap();
        voyage.coast_to(&Goal::Periapsis, TEN_YEARS, &unwatched()).unwrap();
        voyage.coast_to(&Goal::Periapsis, TEN_YEARS, &unwatched()).unwrap();
        let turns = voyage.epoch().seconds_since(begin) / period;
        // Two whole turns from a start at periapsis; the apsides of an orbit are known to rounding over its eccentricity.
        assert!((turns - 2.0).abs() < 1e-9, "{turns}");
        voyage.coast_to(&Goal::AscendingNode, TEN_YEARS, &unwatched()).unwrap();
        let plane = voyage.body().orbit_plane();
        let local = plane.tr_mul(&voyage.orbit().state().position);
        let rate = plane.tr_mul(&voyage.orbit().state().velocity);
        assert!(local.z.abs() < 1e-3 && rate.z > 0.0, "{local}");
        voyage.coast_to(&Goal::Altitude(500e3), TEN_YEARS, &unwatched()).unwrap();
        let height = voyage.orbit().state().position.norm() - voyage.body().radius();
        assert!((height - 500e3).abs() < 1e-3, "{height}");
        assert_eq!(voyage.audit().verdict(), Verdict::Good);
    }

    #[test]
    fn events_that_do_not_come_are_errors() {
        let mut voyage = parked("Maren");
        let before = format!("{voyage:?}");
        let refused = voyage.coast_to(&Goal::Altitude(9000e3), 86_400.0, &unwatched());
        assert!(matches!(refused, Err(VoyageError::NoEvent { .. })));
        let refused = voyage.coast_to(&Goal::Arrival(body("Uldre")), TEN_YEARS, &unwatched());
        assert!(matches!(refused, Err(VoyageError::Impossible { .. })));
        let refused = voyage.coast_to(&Goal::Arrival(body("Maren")), TEN_YEARS, &unwatched());
        assert!(matches!(refused, Err(VoyageError::Impossible { .. })));
        let refused = voyage.coast_to(&Goal::Epoch(start().after(-1.0)), TEN_YEARS, &unwatched());
        assert!(matches!(refused, Err(VoyageError::Past { .. })));
        assert!(matches!(voyage.coast(-1.0, &unwatched()), Err(VoyageError::BadTime { .. })));
        assert!(matches!(voyage.coast(f64::NAN, &unwatched()), Err(VoyageError::BadTime { .. })));
        assert_eq!(format!("{voyage:?}"), before);
    }

    #[test]
    fn a_closure_stops_at_its_first_change_of_sign() {
        let mut voyage = parked("Maren");
        voyage.burn(&Burn::local(150.0, 0.0, 0.0).unwrap(), &unwatched()).unwrap();
        let wanted = body("Maren").radius() + 400e3;
        let height = |orbit: &Orbit| Ok::<f64, ()>(orbit.state().position.norm() - wanted);
        voyage.coast_to_change(height, TEN_YEARS, &unwatched()).unwrap();
        assert!((voyage.orbit().state().position.norm() - wanted).abs() < 1e-5);
        let first = voyage.epoch();
        voyage.coast_to_change(height, TEN_YEARS, &unwatched()).unwrap();
        assert!(voyage.epoch().seconds_since(first) > 100.0);
        assert!((voyage.orbit().state().position.norm() - wanted).abs() < 1e-5);
        let refused = voyage.coast_to_change(|_| Err("mine"), TEN_YEARS, &unwatched());
        assert_eq!(refused, Err(WatchedError::Closure("mine")));
        let refused = voyage.coast_to_change(|_| Ok::<f64, ()>(f64::NAN), TEN_YEARS, &unwatched());
        assert!(matches!(refused, Err(WatchedError::Voyage(VoyageError::NotANumber { .. }))));
    }

    #[test]
    fn a_falsified_record_is_found_out() {
        let mut voyage = parked("Veyra");
        let flown = fly(voyage.orbit(), None, start().after(3000.0), Seek::Time, &unwatched()).unwrap();
        for law in [Law::Energy, Law::AngularMomentum, Law::EccentricityVector] {
            let mut pieces = flown.pieces.clone();
            let turn = Vec3::new(0.3, -0.2, 0.9) * 1e-9 * pieces[0].end_state.velocity.norm();
            pieces[0].end_state.velocity *= 1.0 + 1e-9;
            pieces[0].end_state.velocity += turn;
            let entries = voyage.audit_coast("coast", &pieces).unwrap();
            let entry = entries.iter().find(|entry| entry.law == law).unwrap();
            assert_eq!(entry.verdict, Verdict::Beyond, "{entry:?}");
        }
        voyage.coast(3000.0, &unwatched()).unwrap();
        let mut pieces = flown.pieces;
        pieces[0].orbit = voyage.orbit().at(voyage.epoch().after(1e-6)).unwrap();
        pieces[0].end = pieces[0].orbit.epoch();
        let entries = voyage.audit_coast("coast", &pieces).unwrap();
        let beyond = |law| entries.iter().any(|entry| entry.law == law && entry.verdict == Verdict::Beyond);
        assert!(beyond(Law::Time) && beyond(Law::Place));
    }

    #[test]
    fn an_interrupted_coast_leaves_the_voyage_as_it_was() {
        let mut voyage = parked("Veyra");
        let before = format!("{voyage:?}");
        let ask = || true;
        assert_eq!(voyage.coast(600.0, &Watch::new(&ask)), Err(VoyageError::Interrupted));
        assert_eq!(format!("{voyage:?}"), before);
    }
}
