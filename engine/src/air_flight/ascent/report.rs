//! An ascent as flown: what it reached, what it lost to what, what happened when.

use super::ascend::{Choice, Way};
use super::azimuth::Azimuth;
use super::flight::{Drop, Event, Flight};
use super::{AscentError, Plane, Target, Task};
use crate::conic::{Elements, State};
use crate::motion::force::Surroundings;
use crate::motion::passage::{Accounts, Flown};
use crate::vector::Vec3;
use crate::vehicle::Vehicle;

/// One phase of an ascent: what burned, and its accounts.
#[derive(Debug, Clone, PartialEq)]
pub struct Phase {
    /// The stage whose tanks are drawn on, or `coast`.
    pub name: String,
    /// s after lift-off.
    pub start: f64,
    /// s after lift-off.
    pub end: f64,
    /// Where its speed came from and went to.
    pub accounts: Accounts,
}

/// By how much the orbit differs from the target; m and rad, reached less wanted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Miss {
    /// Of the periapsis.
    pub periapsis: f64,
    /// Of the apoapsis.
    pub apoapsis: f64,
    /// Angle between the planes, where a plane was wanted; of an inclination alone the difference in that.
    pub plane: Option<f64>,
}

/// An ascent as flown.
#[derive(Debug, Clone, PartialEq)]
pub struct Ascent {
    /// The flight, time in s after lift-off, inertial axes of the body's centre.
    pub flown: Flown,
    /// The vehicle as it is in orbit.
    pub vehicle: Vehicle,
    /// What happened, in order.
    pub events: Vec<Event>,
    /// What was left behind, where and when.
    pub drops: Vec<Drop>,
    /// Phase by phase.
    pub phases: Vec<Phase>,
    /// Of the whole flight. Ideal less the losses is the inertial speed gained; the start's speed is the ground's.
    pub accounts: Accounts,
    /// State at the end, m and m/s.
    pub state: State,
    /// s after lift-off.
    pub time: f64,
    /// Periapsis and apoapsis of the orbit reached, m from the centre.
    pub apsides: (f64, f64),
    /// Against the target.
    pub miss: Miss,
    /// Kick angle, rad from the vertical.
    pub kick: f64,
    /// Azimuths, rad, and the plane change made up for.
    pub azimuth: Azimuth,
    /// How the orbit was entered.
    pub way: Way,
    /// The programme of pitch, where one was searched for: (s after lift-off, rad from the vertical).
    pub pitch: Option<Vec<(f64, f64)>>,
    /// How many flights were flown to find it.
    pub flights: usize,
}

impl Ascent {
    pub(super) fn told(
        task: &Task<'_>,
        flight: Flight<'_>,
        choice: &Choice,
        azimuth: Azimuth,
        flights: usize,
    ) -> Result<Ascent, AscentError> {
        let lost = AscentError::NoSteering {
            time_s: flight.time(),
            height_m: flight.height(),
            speed_m_s: flight.state().speed(),
        };
        let gm = task.around.gravity.gm();
        let (state, time) = (flight.state(), flight.time());
        let vehicle = flight.vehicle_now();
        let Some(flown) = flight.flown else { return Err(lost) };
        let Ok(elements) = Elements::from_state(gm, &state) else { return Err(lost) };
        let Some(apoapsis) = elements.apoapsis_radius() else { return Err(lost) };
        let apsides = (elements.periapsis_radius(), apoapsis);
        let accounts = flown.accounts(task.around);
        let phases = phases(&flown, &flight.phases, task.around);
        Ok(Ascent {
            miss: miss(&task.target, apsides, &state, &task.north),
            flown,
            vehicle,
            events: flight.events,
            drops: flight.drops,
            phases,
            accounts,
            state,
            time,
            apsides,
            kick: choice.kick,
            azimuth,
            way: choice.way,
            pitch: choice.pitch.clone(),
            flights,
        })
    }

    /// Speed that the ground's motion gave, m/s.
    pub fn rotation_gain(&self) -> f64 {
        self.accounts.start_speed
    }

    /// All that was lost, m/s: to gravity, drag, steering and pressure.
    pub fn losses(&self) -> f64 {
        self.accounts.gravity + self.accounts.drag + self.accounts.steering + self.accounts.pressure
    }
}

fn miss(target: &Target, apsides: (f64, f64), state: &State, north: &Vec3) -> Miss {
    let momentum = state.position.cross(&state.velocity);
    let angle = |a: &Vec3, b: &Vec3| a.cross(b).norm().atan2(a.dot(b));
    let plane = match target.plane {
        Plane::Free => None,
        Plane::Inclined(inclination) => Some(angle(&momentum, north) - inclination),
        Plane::Fixed(normal) => Some(angle(&momentum, &normal)),
    };
    Miss { periapsis: apsides.0 - target.periapsis, apoapsis: apsides.1 - target.apoapsis, plane }
}

/// The flight cut at the beginnings of its phases. Every phase begins with a stretch of its own.
fn phases(flown: &Flown, begun: &[(String, f64)], around: &Surroundings) -> Vec<Phase> {
    let mut rows = Vec::with_capacity(begun.len());
    for (index, (name, start)) in begun.iter().enumerate() {
        let end = begun.get(index + 1).map_or(flown.end.time, |next| next.1);
        let within = flown.stretches.iter().filter(|stretch| {
            let first = stretch.trajectory.pieces().first().map_or(f64::INFINITY, |piece| piece.start.time);
            first >= *start && first < end
        });
        let stretches: Vec<_> = within.cloned().collect();
        let Some(last) = stretches.last().map(|stretch| stretch.trajectory.end()) else { continue };
        let part = Flown { stretches, met: Vec::new(), end: last, ended_by: None };
        let accounts = part.accounts(around);
        rows.push(Phase { name: name.clone(), start: *start, end, accounts });
    }
    rows
}
