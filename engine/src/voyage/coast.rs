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
    /// Coast for a time, s, zero or more, crossing spheres of influence on the way. A craft that strikes the ground is lost;
    /// that is an outcome and no error.
    ///
    /// # Errors
    /// A voyage that has ended; a negative time; an ephemeris that does not reach; interruption.
    pub fn coast(&mut self, seconds: f64, watch: &Watch) -> Result<(), VoyageError> {
        self.check_under_way()?;
        if !(seconds >= 0.0 && seconds.is_finite()) {
            return Err(VoyageError::BadTime { seconds });
        }
        self.coast_until(self.epoch().after(seconds), "coast", watch)
    }

    /// Coast to a goal.
    ///
    /// - `within`: s; how long to wait for it, see [`TEN_YEARS`]. An epoch as goal needs none.
    ///
    /// # Errors
    /// As [`Voyage::coast`]; a goal that does not come in time; an epoch that is past.
    pub fn coast_to(&mut self, goal: &Goal, within: f64, watch: &Watch) -> Result<(), VoyageError> {
        self.check_under_way()?;
        if !(within > 0.0 && within.is_finite()) {
            return Err(VoyageError::BadTime { seconds: within });
        }
        match goal {
            Goal::Epoch(epoch) => return self.coast_until(*epoch, "coast", watch),
            Goal::Arrival(body) => self.check_arrival(goal, body)?,
            Goal::Departure if self.body().parent().is_none() => {
                let why = format!("{} is the centre of its system", self.body().name());
                return Err(VoyageError::Impossible { goal: goal.to_string(), why });
            }
            _ => {}
        }
        let (until, bounded) = self.horizon(within);
        let flight = fly(&self.now, self.leaving.as_ref(), until, Seek::Goal(goal), watch)?;
        let name = match goal {
            Goal::Arrival(_) | Goal::Departure => format!("coast to {goal}"),
            _ => format!("coast to {goal}"),
        };
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
        watch: &Watch,
    ) -> Result<(), WatchedError<E>> {
        self.check_under_way()?;
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
    pub(super) fn coast_until(&mut self, epoch: Epoch, name: &str, watch: &Watch) -> Result<(), VoyageError> {
        if epoch < self.epoch() {
            return Err(VoyageError::Past { asked: epoch, now: self.epoch() });
        }
        if epoch == self.epoch() {
            return Ok(());
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
