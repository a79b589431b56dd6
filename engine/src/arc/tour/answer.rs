//! A tour as it was found: legs, passes, and how well it holds together.

use super::flown::Flight;
use super::itinerary::{Itinerary, LegKind};
use crate::arc::departure::Departure;
use crate::arc::shoot::Aim;
use crate::burn::Burn;
use crate::conic::State;
use crate::numerics::global::Stop;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// One leg, from body to body.
#[derive(Debug, Clone, PartialEq)]
pub struct TourLeg {
    /// The body left.
    pub from: Body,
    /// The body reached.
    pub to: Body,
    /// How.
    pub kind: LegKind,
    /// Whole revolutions of its last arc.
    pub revolutions: u32,
    /// When it is left: periapsis of the hyperbola about it.
    pub depart: Epoch,
    /// When the next is reached: periapsis there.
    pub arrive: Epoch,
    /// Leaving, about the parent: where the outgoing asymptote is anchored.
    pub start: State,
    /// Burn between the bodies: epoch, and Δv (m/s, inertial).
    pub burn: Option<(Epoch, Vec3)>,
    /// Velocity about the parent on arrival, m/s.
    pub end_velocity: Vec3,
    /// Where it passes the body reached, off its centre, m: the aim in the B-plane.
    pub aim_offset: Vec3,
    /// Excess velocity at the start, m/s, inertial.
    pub v_inf_depart: Vec3,
    /// Excess velocity at the end, m/s, inertial.
    pub v_inf_arrive: Vec3,
    /// How far this leg, flown again from its start, ends from its aim, m.
    pub miss: f64,
}

/// One pass.
#[derive(Debug, Clone, PartialEq)]
pub struct TourPass {
    /// The body passed.
    pub body: Body,
    /// At periapsis.
    pub epoch: Epoch,
    /// Above the equatorial radius, m.
    pub altitude: f64,
    /// Bend of the path, rad.
    pub turn: f64,
    /// Excess velocity before, m/s, inertial.
    pub v_in: Vec3,
    /// Excess velocity after, m/s, inertial.
    pub v_out: Vec3,
    /// Burn at periapsis along the motion, m/s, signed; 0 when unpowered.
    pub burn: f64,
    /// Size of the velocity change about the parent, m/s.
    pub gain: f64,
    /// What the refinement left open.
    pub residual: PassResidual,
}

/// What is open at one pass after the refinement.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PassResidual {
    /// Excess speed after minus before, of which the burn takes care, m/s.
    pub speed: f64,
    /// Bend of the path minus that of its hyperbola, rad.
    pub turn: f64,
    /// By how much the periapsis lies outside its bounds, m; 0 inside.
    pub altitude: f64,
}

/// The largest of what flying every leg again leaves open.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Residuals {
    /// Largest miss of an aim, m.
    pub place: f64,
    /// Largest difference of excess speeds across an unpowered pass, m/s.
    pub speed: f64,
    /// Largest difference between a pass's bend and that of its hyperbola, rad.
    pub turn: f64,
}

/// A bound that the answer presses against: more room there may give a cheaper tour.
#[derive(Debug, Clone, PartialEq)]
pub struct AtBound {
    /// Which unknown, in words.
    pub what: String,
    /// Whether it is the upper end.
    pub upper: bool,
}

/// How a sequence fared that was looked at beside the one that won.
#[derive(Debug, Clone, PartialEq)]
pub struct Rival {
    /// In words.
    pub sequence: String,
    /// Δv that its energies alone would allow, m/s: a lower bound within the grid's width.
    pub energy_dv: f64,
    /// Least cost of the quick search, m/s with charges for bounds not kept; infinite when nothing closed.
    pub screened: f64,
    /// Least cost of the full search, where it had one.
    pub searched: Option<f64>,
}

/// A tour.
#[derive(Debug, Clone, PartialEq)]
pub struct Tour {
    /// The bodies and the kinds of the legs.
    pub itinerary: Itinerary,
    /// In order.
    pub legs: Vec<TourLeg>,
    /// In order, one fewer than the legs.
    pub passes: Vec<TourPass>,
    /// The way off the parking orbit.
    pub departure: Departure,
    /// Into the arrival orbit; none without one.
    pub insertion: Option<Burn>,
    /// What to aim at, at the end of each leg: point of the B-plane and time.
    pub aims: Vec<Aim>,
    /// Excess velocity left with, m/s.
    pub v_inf_depart: Vec3,
    /// Excess velocity reached with, m/s.
    pub v_inf_arrive: Vec3,
    /// From the parking orbit, m/s.
    pub departure_dv: f64,
    /// At the passes or between the bodies, m/s.
    pub course_dv: f64,
    /// Into the arrival orbit, m/s; 0 without one.
    pub arrival_dv: f64,
    /// In all, m/s.
    pub dv: f64,
    /// Cost of the best place before the legs were matched to the hyperbolas of the passes, m/s.
    pub patched_dv: f64,
    /// How well it holds together.
    pub residuals: Residuals,
    /// What came of flying it in the patched-conic model, or why that failed.
    pub flown: Result<Flight, String>,
    /// Bounds pressed against.
    pub at_bounds: Vec<AtBound>,
    /// The sequences looked at, best first; one where only one was asked for.
    pub rivals: Vec<Rival>,
    /// Sequences that their energies ruled out.
    pub pruned: usize,
    /// Evaluations of the search.
    pub evaluations: usize,
    /// Why the search ended.
    pub stop: Stop,
}

impl Tour {
    /// Departure: periapsis of the hyperbola, where the departure burn is made.
    pub fn depart(&self) -> Epoch {
        self.departure.parking.epoch()
    }

    /// Arrival.
    pub fn arrive(&self) -> Option<Epoch> {
        self.legs.last().map(|leg| leg.arrive)
    }

    /// When a leg (counted from 0) is aimed: at its own burn, or some way after its beginning.
    pub fn correction_epoch(&self, leg: usize) -> Epoch {
        self.legs.get(leg).map_or(self.depart(), super::flown::correction_epoch)
    }
}
