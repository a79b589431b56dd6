//! A tour as it was found: legs, passes, and how well it holds together.

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
    /// When it is left.
    pub depart: Epoch,
    /// When the next is reached.
    pub arrive: Epoch,
    /// Leaving, about the parent.
    pub start: State,
    /// Burn between the bodies: epoch, and Δv (m/s, inertial).
    pub burn: Option<(Epoch, Vec3)>,
    /// Velocity about the parent on arrival, m/s.
    pub end_velocity: Vec3,
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
}

/// What flying every leg again leaves open.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Residuals {
    /// Largest miss of a body, m.
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

/// A tour.
#[derive(Debug, Clone, PartialEq)]
pub struct Tour {
    /// In order.
    pub legs: Vec<TourLeg>,
    /// In order, one fewer than the legs.
    pub passes: Vec<TourPass>,
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
    /// How well it holds together.
    pub residuals: Residuals,
    /// Bounds pressed against.
    pub at_bounds: Vec<AtBound>,
    /// Evaluations of the search.
    pub evaluations: usize,
    /// Why the search ended.
    pub stop: Stop,
}

impl Tour {
    /// Departure.
    pub fn depart(&self) -> Option<Epoch> {
        self.legs.first().map(|leg| leg.depart)
    }

    /// Arrival.
    pub fn arrive(&self) -> Option<Epoch> {
        self.legs.last().map(|leg| leg.arrive)
    }
}
