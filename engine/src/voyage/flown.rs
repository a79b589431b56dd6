//! A leg flown under forces: what the record keeps of it.

use super::flown_phase::phases;
use super::{Leg, LegKind, Manner, Phase, Separated, Voyage, VoyageError, Whereabouts};
use crate::audit::{self, Entry, place_between, time_between};
use crate::conic::State;
use crate::motion::Point;
use crate::motion::force::{Forces, Sight, Surroundings};
use crate::motion::passage::{Accounts, Flown};
use crate::motion::thinned::{Fineness, Moment, Thinned};
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;
use crate::vehicle::Vehicle;

/// What happened on a flight.
#[derive(Debug, Clone, PartialEq)]
pub struct Happening {
    /// When, s on the clock of the flight.
    pub time: f64,
    /// What a reader calls it, such as `core dry` or `fairing off`.
    pub what: String,
    /// Mass that was left behind then, kg; zero where nothing was.
    pub dropped: f64,
}

/// A flight under forces in the record of a voyage: thinned, so that its memory is bounded by a stated error.
#[derive(Debug, Clone, PartialEq)]
pub struct FlownPath {
    before: Orbit,
    after: Orbit,
    clock: Epoch,
    around: Surroundings,
    path: Thinned,
    phases: Vec<Phase>,
    accounts: Accounts,
    happenings: Vec<Happening>,
    left: Vec<Separated>,
}

/// What there is to read at a moment of a flight besides place and velocity. SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlightSight {
    /// kg.
    pub mass: f64,
    /// Height above the ground's ellipsoid, m.
    pub height: f64,
    /// Speed through the air that turns with the body, m/s.
    pub air_speed: f64,
    /// Pa.
    pub dynamic_pressure: f64,
    /// Acceleration by all but gravity, m/s².
    pub felt: f64,
    /// Share of the thrust in vacuum; zero with the engines off.
    pub throttle: f64,
}

/// A flight that is to be entered into a voyage's record.
#[derive(Debug)]
pub struct ForcedFlight<'a> {
    /// What a reader calls the leg.
    pub name: &'a str,
    /// Epoch of time zero of the flight's clock.
    pub clock: Epoch,
    /// What it was flown among.
    pub around: &'a Surroundings,
    /// The flight, in full: it begins where and when the voyage is.
    pub flown: &'a Flown,
    /// The tolerance that it was integrated with.
    pub tolerance: f64,
    /// What happened, in the order of time; a drop of mass at a switch is among it.
    pub happenings: Vec<Happening>,
    /// What was left behind on the way: when, s on the clock of the flight, and what it is.
    pub left: Vec<(f64, Vehicle)>,
    /// The vehicle as it is afterwards.
    pub vehicle: Vehicle,
    /// Ideal change of speed spent, m/s; `None`: what the thrust in vacuum would have given.
    pub dv: Option<f64>,
    /// What the plan had estimated, m/s.
    pub estimate: Option<f64>,
    /// Error that the record may leave; `None`: the usual one.
    pub fineness: Option<Fineness>,
    /// Further entries of the audit.
    pub audit: Vec<Entry>,
}

impl FlownPath {
    /// The body that it was flown about.
    pub fn body(&self) -> &Body {
        self.before.body()
    }

    /// The conic on which it began: body, epoch, state.
    pub fn before(&self) -> &Orbit {
        &self.before
    }

    /// The conic on which it ended.
    pub fn after(&self) -> &Orbit {
        &self.after
    }

    /// Epoch of time zero of its clock.
    pub fn clock(&self) -> Epoch {
        self.clock
    }

    /// Its polynomials; [`Thinned::error`] is the error against the flight as it was integrated.
    pub fn path(&self) -> &Thinned {
        &self.path
    }

    /// Its phases, first to last.
    pub fn phases(&self) -> &[Phase] {
        &self.phases
    }

    /// What its speed was gained from and lost to.
    pub fn accounts(&self) -> &Accounts {
        &self.accounts
    }

    /// What happened, in the order of time.
    pub fn happenings(&self) -> &[Happening] {
        &self.happenings
    }

    /// What was left behind on the way, in the order of time.
    pub fn left(&self) -> &[Separated] {
        &self.left
    }

    /// When something happened.
    pub fn epoch_of(&self, time: f64) -> Epoch {
        self.clock.after(time)
    }

    /// What it was flown among.
    pub fn around(&self) -> &Surroundings {
        &self.around
    }

    /// Bytes of memory that it holds, without the body and what it was flown among, which others share or hold, too.
    pub fn memory(&self) -> usize {
        size_of::<Self>() - size_of::<Thinned>()
            + self.path.memory()
            + self.phases.capacity() * size_of::<Phase>()
            + self.left.capacity() * size_of::<Separated>()
            + self.happenings.iter().map(|seen| size_of::<Happening>() + seen.what.capacity()).sum::<usize>()
    }

    /// Place, velocity and mass at a time of its clock; at a switch after it.
    pub fn at(&self, time: f64) -> Option<Moment> {
        self.path.at(time)
    }

    /// The orbit at an epoch within the flight.
    pub(super) fn orbit_at(&self, epoch: Epoch) -> Result<Orbit, VoyageError> {
        let Some(moment) = self.at(epoch.seconds_since(self.clock)) else { return Ok(self.after.clone()) };
        let state = State { position: moment.position, velocity: moment.velocity };
        Ok(Orbit::new(self.body().clone(), epoch, state)?)
    }

    /// Place, velocity and mass at a time within a phase, at its end before the switch.
    pub fn in_phase(&self, phase: &Phase, time: f64) -> Option<Moment> {
        self.path.at_within(phase.stretches, time)
    }

    /// What there is to read at a moment of a phase.
    pub fn sight(&self, phase: &Phase, moment: &Moment) -> FlightSight {
        let (p, v) = (moment.position, moment.velocity);
        let point = Point { time: moment.time, position: [p.x, p.y, p.z, 0.0], velocity: [v.x, v.y, v.z, moment.mass] };
        let height = self.around.height(&p);
        let sight: Sight = Forces::at_height(&self.around, &phase.craft, height).sight(&point);
        FlightSight {
            mass: moment.mass,
            height,
            air_speed: sight.air_velocity.norm(),
            dynamic_pressure: sight.dynamic_pressure,
            felt: (sight.thrust + sight.air).norm(),
            throttle: sight.share,
        }
    }
}

/// Place and velocity of a point of a flight.
pub(super) fn state_of(point: &Point<4>) -> State {
    let (p, v) = (point.position, point.velocity);
    State { position: Vec3::new(p[0], p[1], p[2]), velocity: Vec3::new(v[0], v[1], v[2]) }
}

impl Voyage {
    /// Enter a flight under forces: its record thinned to the stated error, its laws held against the full flight.
    ///
    /// The voyage stands afterwards on the conic of the flight's end, with the vehicle given.
    ///
    /// # Errors
    /// A flight without a step; an end that is no state.
    pub fn enter_flown(&mut self, flight: ForcedFlight<'_>) -> Result<(), VoyageError> {
        self.check_not_lost()?;
        let ForcedFlight {
            name,
            clock,
            around,
            flown,
            tolerance,
            happenings,
            left,
            vehicle,
            dv,
            estimate,
            fineness,
            audit,
        } = flight;
        let trajectories: Vec<_> = flown
            .stretches
            .iter()
            .map(|stretch| &stretch.trajectory)
            .filter(|trajectory| !trajectory.pieces().is_empty())
            .collect();
        if trajectories.is_empty() {
            return Err(VoyageError::NothingFlown { leg: name.to_owned() });
        }
        let fineness = fineness.unwrap_or_else(|| Fineness::usual(&trajectories));
        let path = Thinned::of(&trajectories, &fineness);
        let accounts = flown.accounts(around);
        let (start, end) = (flown.start(), flown.end);
        let body = self.body().clone();
        let before = Orbit::new(body.clone(), clock.after(start.time), state_of(&start))?;
        let after = Orbit::new(body.clone(), clock.after(end.time), state_of(&end))?;
        let left = left
            .into_iter()
            .map(|(time, vehicle)| {
                let orbit = Orbit::new(body.clone(), clock.after(time), state_of(&flown.at(time)))?;
                let (name, from) = (vehicle.name().to_owned(), self.name().to_owned());
                Ok(Separated { name, from, manner: Manner::Dropped, vehicle, rest: orbit.clone(), orbit })
            })
            .collect::<Result<Vec<_>, VoyageError>>()?;

        let mut entries = Vec::new();
        entries.push(time_between(name, self.epoch(), before.epoch()));
        entries.push(place_between(name, self.now.state(), before.state()));
        let dropped: Vec<(f64, f64)> = happenings.iter().map(|seen| (seen.time, seen.dropped)).collect();
        let facts = audit::Flight { around, flown, tolerance, accounts: &accounts, dropped: &dropped };
        entries.extend(audit::flight(name, &facts));
        entries.push(audit::vehicle_mass(name, &facts, vehicle.mass()));
        entries.extend(audit);

        let phases = phases(flown, &happenings);
        let leg = Leg {
            name: name.to_owned(),
            start: before.epoch(),
            end: after.epoch(),
            dv: dv.unwrap_or(accounts.ideal),
            dv_estimate: estimate,
            propellant: accounts.propellant - dropped.iter().map(|(_, mass)| mass).sum::<f64>(),
            mass: vehicle.mass(),
            audit: entries,
            kind: LegKind::Flown(Box::new(FlownPath {
                before,
                after: after.clone(),
                clock,
                around: around.clone(),
                path,
                phases,
                accounts,
                happenings,
                left,
            })),
        };
        self.equip(vehicle);
        let leaving = self.leaving.clone();
        let high = around.height(&after.state().position);
        self.enter(leg, after, leaving);
        // Traces of air reach far above its top: orbits there are held for years.
        if self.body().air().is_some_and(|air| high < air.top().min(air.ceiling())) && around.ceiling().is_some() {
            self.whereabouts = Whereabouts::InAir;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::{Law, Verdict};
    use crate::voyage::rehearsal::{Climb, TOLERANCE, climb, climb_to, climber, unwatched};
    use crate::voyage::{Spacing, TrackOptions};

    fn flown() -> (Climb, Voyage) {
        let climb = climb();
        let mut voyage = Voyage::new("climb", climber(), climb.orbit.clone()).unwrap();
        voyage.enter_flown(climb.entry()).unwrap();
        (climb, voyage)
    }

    #[test]
    fn the_laws_hold_along_a_climb() {
        let (_, voyage) = flown();
        let audit = voyage.audit();
        assert_eq!(audit.verdict(), Verdict::Good, "{:?}", audit.worst());
        let laws: Vec<Law> = audit.entries().iter().map(|entry| entry.law).collect();
        for law in [
            Law::Switches,
            Law::WorkEnergy,
            Law::Torque,
            Law::MassFlow,
            Law::RocketEquation,
            Law::SpeedBalance,
            Law::VehicleMass,
        ] {
            assert!(laws.contains(&law), "{law:?}");
        }
    }

    #[test]
    fn the_record_tells_what_was_flown_to_the_stated_error() {
        let (climb, voyage) = flown();
        let legs = voyage.legs();
        let LegKind::Flown(path) = &legs[0].kind else { panic!("a flight") };
        let stated = path.path().error();
        assert!(stated.place <= 1.0, "{stated:?}");
        // No segment crosses an edge of the air or a switch.
        assert_eq!(path.path().segments().len(), climb.flown.stretches.len());
        // The record's size is that of the stated error, however finely the flight was integrated: from a quarter more steps
        // it is no larger, but for a coefficient more or less in a segment (8 numbers of 8 bytes).
        let steps =
            |climb: &Climb| climb.flown.stretches.iter().map(|one| one.trajectory.pieces().len()).sum::<usize>();
        let finer = climb_to(1e-4 * TOLERANCE);
        assert!(4 * steps(&finer) >= 5 * steps(&climb), "{} {}", steps(&finer), steps(&climb));
        let trajectories: Vec<_> = finer.flown.stretches.iter().map(|stretch| &stretch.trajectory).collect();
        let again = Thinned::of(&trajectories, &Fineness::usual(&trajectories));
        assert_eq!(again.segments().len(), path.path().segments().len());
        assert!(
            again.memory() <= path.path().memory() + 64 * again.segments().len(),
            "{} {}",
            again.memory(),
            path.path().memory()
        );
        assert!(legs[0].memory() > path.memory() && legs[0].memory() < 10_000, "{}", legs[0].memory());
        assert_eq!(path.phases().len(), 4);
        for k in 1..2000 {
            let time = climb.flown.end.time * f64::from(k) / 2000.0;
            let meant = state_of(&climb.flown.at(time));
            let found = voyage.at(climb.orbit.epoch().after(time)).unwrap();
            let off = (found.state().position - meant.position).norm();
            // An epoch is a whole nanosecond: at 5 km/s 2.5 micrometres.
            assert!(off <= stated.place + 1e-5, "{time} {off}");
        }
        assert_eq!(voyage.orbit().state(), &state_of(&climb.flown.end));
        assert!((voyage.ledger().propellant - 31e3).abs() < 1e-6 && voyage.mass() == 6e3);
    }

    #[test]
    fn a_track_has_every_switch_and_what_is_felt() {
        let (_, mut voyage) = flown();
        voyage.coast(100.0, &unwatched()).unwrap();
        assert_eq!(voyage.audit().verdict(), Verdict::Good, "{:?}", voyage.audit().worst());
        for spacing in [Spacing::Relative(1e-4), Spacing::Count(50), Spacing::Step(5.0)] {
            let track = voyage.track(&TrackOptions { spacing, ..TrackOptions::default() }, &unwatched()).unwrap();
            let events: Vec<&str> =
                track.points.iter().map(|point| point.event.as_str()).filter(|event| !event.is_empty()).collect();
            assert_eq!(
                events,
                ["start of climb", "tilt", "lower stage off", "end of climb", "start of coast", "end of coast"]
            );
            let masses: Vec<f64> =
                track.points.iter().filter_map(|point| point.flight).map(|sight| sight.mass).collect();
            assert!(masses.windows(2).all(|pair| pair[1] <= pair[0]), "{masses:?}");
            // Where the second stage ran dry, to a rounding of the mass.
            assert!(masses[0] == 40e3 && (masses[masses.len() - 1] - 6e3).abs() < 1e-11);
            for point in &track.points {
                if let Some(sight) = point.flight {
                    assert!(sight.felt > 5.0 && sight.throttle == 1.0 && sight.dynamic_pressure >= 0.0, "{sight:?}");
                }
            }
        }
    }

    #[test]
    fn what_is_falsified_is_beyond() {
        let honest = climb();
        let verdict = |climb: &Climb, law| {
            let mut voyage = Voyage::new("climb", climber(), honest.orbit.clone()).unwrap();
            voyage.enter_flown(climb.entry()).unwrap();
            let audit = voyage.audit();
            audit.entries().iter().find(|entry| entry.law == law).unwrap().verdict
        };
        for law in [Law::WorkEnergy, Law::Torque, Law::SpeedBalance, Law::Switches] {
            let mut wrong = climb();
            for d in 0..3 {
                wrong.flown.end.velocity[d] *= 1.0 + 1e-6;
            }
            assert_eq!((verdict(&wrong, law), verdict(&honest, law)), (Verdict::Beyond, Verdict::Good), "{law:?}");
        }
        for law in [Law::MassFlow, Law::VehicleMass] {
            let mut wrong = climb();
            wrong.flown.end.velocity[3] *= 1.0 + 1e-6;
            assert_eq!((verdict(&wrong, law), verdict(&honest, law)), (Verdict::Beyond, Verdict::Good), "{law:?}");
        }
        // Thrust that was not flown, and air that was not there.
        for law in [Law::WorkEnergy, Law::Torque, Law::MassFlow, Law::RocketEquation] {
            let mut wrong = climb();
            for stretch in &mut wrong.flown.stretches {
                if let Some(thrust) = &mut stretch.craft.thrust {
                    thrust.vacuum *= 1.0 + 1e-6;
                }
            }
            assert_eq!((verdict(&wrong, law), verdict(&honest, law)), (Verdict::Beyond, Verdict::Good), "{law:?}");
        }
        for law in [Law::WorkEnergy, Law::Torque] {
            let mut wrong = climb();
            for stretch in &mut wrong.flown.stretches {
                if let Some(drag) = &mut stretch.craft.drag {
                    drag.area *= 1.0 + 1e-4;
                }
            }
            assert_eq!(verdict(&wrong, law), Verdict::Beyond, "{law:?}");
        }
        let mut wrong = climb();
        wrong.orbit = wrong.orbit.at(wrong.orbit.epoch().after(1e-6)).unwrap();
        assert_eq!(verdict(&wrong, Law::Time), Verdict::Beyond);
    }
}
