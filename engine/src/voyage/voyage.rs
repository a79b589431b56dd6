//! The voyage itself: how it stands, and its record.

use std::sync::Arc;

use super::past::{Mark, Note, Past};
use super::{Ledger, Leg, LegKind, Loss, Outcome, Separated, VoyageError, Whereabouts};
use crate::audit::Audit;
use crate::conic::propagate;
use crate::orbit::Orbit;
use crate::system::{Body, System};
use crate::time::Epoch;
use crate::vehicle::Vehicle;

/// One rehearsal: a vehicle on an orbit and the record of how it came there. A clone is a branch that shares the record.
#[derive(Debug, Clone)]
pub struct Voyage {
    name: Arc<str>,
    start: Orbit,
    pub(super) now: Orbit,
    /// The body whose sphere was left where the voyage stands, so that the next coast does not meet it at once.
    pub(super) leaving: Option<Body>,
    vehicle: Arc<Vehicle>,
    outcome: Outcome,
    past: Past,
    pub(super) whereabouts: Whereabouts,
}

/// One item of a voyage's record, oldest first in [`Voyage::record`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Record<'a> {
    /// A leg.
    Leg(&'a Leg),
    /// A note.
    Note(&'a Note),
}

impl Voyage {
    /// A voyage of a vehicle, starting on an orbit at the orbit's epoch.
    ///
    /// # Errors
    /// A start under the surface of the orbit's body.
    pub fn new(name: &str, vehicle: Vehicle, orbit: Orbit) -> Result<Voyage, VoyageError> {
        let depth_m = orbit.body().radius() - orbit.state().position.norm();
        if depth_m > 0.0 {
            return Err(VoyageError::UnderTheSurface { body: orbit.body().name().to_owned(), depth_m });
        }
        Ok(Voyage::begun(name, vehicle, orbit, Whereabouts::InOrbit))
    }

    /// A voyage without a past.
    pub(super) fn begun(name: &str, vehicle: Vehicle, now: Orbit, whereabouts: Whereabouts) -> Voyage {
        Voyage {
            name: name.into(),
            start: now.clone(),
            now,
            leaving: None,
            vehicle: Arc::new(vehicle),
            outcome: Outcome::UnderWay,
            past: Past::default(),
            whereabouts,
        }
    }

    /// A voyage of what came off this one, where this one stands.
    pub(super) fn begun_from(&self, name: &str, vehicle: Vehicle) -> Voyage {
        Voyage::begun(name, vehicle, self.now.clone(), self.whereabouts.clone())
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The same voyage under another name: what a branch is called.
    pub fn named(&self, name: &str) -> Voyage {
        Voyage { name: name.into(), ..self.clone() }
    }

    /// Now.
    pub fn epoch(&self) -> Epoch {
        self.now.epoch()
    }

    /// The orbit that it is on now: body, epoch, state; the osculating one, where it stands on the ground and turns with it.
    pub fn orbit(&self) -> &Orbit {
        &self.now
    }

    /// The orbit that it started on; the osculating one of its site, where it started on the ground.
    pub fn start(&self) -> &Orbit {
        &self.start
    }

    /// The body that it is about now.
    pub fn body(&self) -> &Body {
        self.now.body()
    }

    /// Its system.
    pub fn system(&self) -> System {
        self.now.body().system().clone()
    }

    /// How it stands.
    pub fn outcome(&self) -> &Outcome {
        &self.outcome
    }

    /// Why it is lost, or whom it was joined to; `None` while it can go on.
    pub fn why(&self) -> Option<String> {
        self.outcome.why()
    }

    /// The vehicle as it is now.
    pub fn vehicle(&self) -> &Vehicle {
        &self.vehicle
    }

    /// Mass now, kg.
    pub fn mass(&self) -> f64 {
        self.vehicle.mass()
    }

    /// Ideal change of speed left, m/s.
    pub fn dv_left(&self) -> f64 {
        self.vehicle.dv()
    }

    /// Its legs, oldest first.
    pub fn legs(&self) -> Vec<&Leg> {
        self.record()
            .into_iter()
            .filter_map(|item| match item {
                Record::Leg(leg) => Some(leg),
                Record::Note(_) => None,
            })
            .collect()
    }

    /// Its notes, oldest first.
    pub fn notes(&self) -> Vec<&Note> {
        self.record()
            .into_iter()
            .filter_map(|item| match item {
                Record::Note(note) => Some(note),
                Record::Leg(_) => None,
            })
            .collect()
    }

    /// Legs and notes, oldest first.
    pub fn record(&self) -> Vec<Record<'_>> {
        self.past
            .oldest_first()
            .into_iter()
            .map(|mark| match mark {
                Mark::Leg(leg) => Record::Leg(leg),
                Mark::Note(note) => Record::Note(note),
            })
            .collect()
    }

    /// Legs from the newest to the oldest, without gathering them.
    pub(super) fn legs_newest_first(&self) -> impl Iterator<Item = &Leg> {
        self.past.newest_first().filter_map(|mark| match mark {
            Mark::Leg(leg) => Some(leg.as_ref()),
            Mark::Note(_) => None,
        })
    }

    /// The ledger.
    pub fn ledger(&self) -> Ledger {
        Ledger::of(self.legs().into_iter())
    }

    /// The audit of all legs.
    pub fn audit(&self) -> Audit {
        Audit::new(self.legs().into_iter().flat_map(|leg| leg.audit.iter().cloned()).collect())
    }

    /// What came off, oldest first.
    pub fn separated(&self) -> Vec<&Separated> {
        self.legs().into_iter().flat_map(Leg::separated).collect()
    }

    /// Write a note into the record.
    pub fn note(&mut self, text: &str) {
        self.past.push(Mark::Note(Note { epoch: self.epoch(), text: text.to_owned() }));
    }

    /// Say that the voyage has come home. It may leave again: its next leg sets it under way.
    ///
    /// # Errors
    /// A voyage that is lost.
    pub fn finish(&mut self) -> Result<(), VoyageError> {
        self.check_not_lost()?;
        self.outcome = Outcome::Home { epoch: self.epoch() };
        Ok(())
    }

    /// The orbit that the voyage was on at an epoch of its record; after a burn, where the burn is at that epoch.
    ///
    /// # Errors
    /// An epoch before its start or after now.
    pub fn at(&self, epoch: Epoch) -> Result<Orbit, VoyageError> {
        if epoch < self.start.epoch() || epoch > self.epoch() {
            return Err(VoyageError::OutsideTheRecord { asked: epoch, start: self.start.epoch(), end: self.epoch() });
        }
        if epoch == self.epoch() {
            return Ok(self.now.clone());
        }
        for leg in self.legs_newest_first() {
            if epoch < leg.start {
                continue;
            }
            match &leg.kind {
                LegKind::Burn { after, .. } | LegKind::Separation { after, .. } => return Ok(after.clone()),
                LegKind::Flown(path) => return path.orbit_at(epoch),
                LegKind::Stay { site, .. } => return Ok(Orbit::new(site.body().clone(), epoch, site.state(epoch))?),
                LegKind::Coast { pieces } => {
                    if let Some(piece) = pieces.iter().rev().find(|piece| piece.orbit.epoch() <= epoch) {
                        let time = epoch.seconds_since(piece.orbit.epoch());
                        let state = propagate(piece.orbit.gm(), piece.orbit.state(), time)?;
                        return Ok(Orbit::new(piece.body().clone(), epoch, state)?);
                    }
                }
            }
        }
        Ok(self.start.clone())
    }

    /// Nothing, if a verb may act: only a lost voyage has ended.
    pub(super) fn check_not_lost(&self) -> Result<(), VoyageError> {
        match &self.outcome {
            Outcome::UnderWay | Outcome::Home { .. } => Ok(()),
            Outcome::Joined { epoch, to } => Err(VoyageError::Joined { to: to.clone(), when: *epoch }),
            Outcome::Lost(loss) => Err(VoyageError::Lost { when: loss.epoch, why: loss.sentence() }),
        }
    }

    /// Enter a completed leg. A voyage that was home is under way again; it is in orbit until its verb says otherwise.
    pub(super) fn enter(&mut self, leg: Leg, now: Orbit, leaving: Option<Body>) {
        self.outcome = Outcome::UnderWay;
        self.now = now;
        self.leaving = leaving;
        self.whereabouts = Whereabouts::InOrbit;
        self.past.push(Mark::Leg(Box::new(leg)));
    }

    /// Take what a burn left of the vehicle.
    pub(super) fn equip(&mut self, vehicle: Vehicle) {
        self.vehicle = Arc::new(vehicle);
    }

    /// The voyage goes on as part of another one.
    pub(super) fn end_joined(&mut self, to: &str) {
        self.outcome = Outcome::Joined { epoch: self.epoch(), to: to.to_owned() };
    }

    /// The body whose sphere was left where the voyage stands.
    pub fn leaving(&self) -> Option<&Body> {
        self.leaving.as_ref()
    }

    /// The voyage has ended badly.
    pub(super) fn lose(&mut self, loss: Loss) {
        self.outcome = Outcome::Lost(loss);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::Verdict;
    use crate::burn::Burn;
    use crate::voyage::rehearsal::{parked, unwatched};

    #[test]
    fn a_branch_does_not_change_the_original_and_shares_its_past() {
        let mut voyage = parked("Veyra");
        voyage.coast(600.0, &unwatched()).unwrap();
        let before = format!("{voyage:?}");
        let mut branch = voyage.clone();
        assert!(branch.past.shares(&voyage.past));
        branch.burn(&Burn::local(100.0, 0.0, 0.0).unwrap(), &unwatched()).unwrap();
        branch.coast(600.0, &unwatched()).unwrap();
        assert_eq!(format!("{voyage:?}"), before);
        assert_eq!((voyage.legs().len(), branch.legs().len()), (1, 3));
        assert!(branch.mass() < voyage.mass());
        // The leg before the branch is one and the same in memory.
        assert!(std::ptr::eq(branch.legs()[0], voyage.legs()[0]));
    }

    #[test]
    fn the_record_answers_where_the_voyage_was() {
        let mut voyage = parked("Veyra");
        let start = voyage.start().clone();
        voyage.coast(600.0, &unwatched()).unwrap();
        let middle = voyage.orbit().clone();
        voyage.burn(&Burn::local(100.0, 0.0, 0.0).unwrap(), &unwatched()).unwrap();
        let after = voyage.orbit().clone();
        voyage.coast(600.0, &unwatched()).unwrap();
        assert_eq!(voyage.at(start.epoch()).unwrap(), start);
        // At the epoch of a burn the record tells the orbit after it.
        assert_eq!(voyage.at(middle.epoch()).unwrap(), after);
        let between = voyage.at(start.epoch().after(300.0)).unwrap();
        assert!((between.state().velocity.norm() - start.state().velocity.norm()).abs() < 1e-6);
        assert!(matches!(voyage.at(start.epoch().after(-1.0)), Err(VoyageError::OutsideTheRecord { .. })));
        assert!(matches!(voyage.at(voyage.epoch().after(1.0)), Err(VoyageError::OutsideTheRecord { .. })));
    }

    #[test]
    fn ledger_notes_and_finish() {
        let mut voyage = parked("Veyra");
        voyage.note("away");
        voyage.coast(600.0, &unwatched()).unwrap();
        voyage.burn(&Burn::local(100.0, 20.0, 0.0).unwrap(), &unwatched()).unwrap();
        let ledger = voyage.ledger();
        assert_eq!(ledger.rows.len(), 2);
        assert!((ledger.dv - 100.0_f64.hypot(20.0)).abs() < 1e-9);
        assert!((ledger.propellant - (voyage.legs()[0].mass - voyage.mass())).abs() < 1e-9);
        assert!((ledger.time - 600.0).abs() < 1e-9);
        assert_eq!(voyage.notes()[0].text, "away");
        assert_eq!(voyage.audit().verdict(), Verdict::Good, "{:?}", voyage.audit().worst());
        voyage.finish().unwrap();
        assert_eq!(voyage.outcome().name(), "home");
        // A coast of no time is no leg; the next leg sets it under way again, and it may come home once more.
        voyage.coast(0.0, &unwatched()).unwrap();
        assert_eq!(voyage.outcome(), &Outcome::Home { epoch: voyage.epoch() });
        voyage.coast(1.0, &unwatched()).unwrap();
        assert_eq!((voyage.outcome().name(), voyage.legs().len()), ("under way", 3));
        voyage.finish().unwrap();
        assert_eq!(voyage.outcome(), &Outcome::Home { epoch: voyage.epoch() });
    }

    #[test]
    fn a_start_under_the_surface_is_refused() {
        let voyage = parked("Veyra");
        let low = crate::conic::State { position: voyage.orbit().state().position * 0.9, ..*voyage.orbit().state() };
        let orbit = Orbit::new(voyage.body().clone(), voyage.epoch(), low).unwrap();
        let refused = Voyage::new("low", voyage.vehicle().clone(), orbit);
        assert!(matches!(refused, Err(VoyageError::UnderTheSurface { .. })));
    }
}
