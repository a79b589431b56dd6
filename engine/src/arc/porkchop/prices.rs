//! What an arc between two bodies costs at its two ends.

use super::super::aimed::Trip;
use super::super::capture::ArrivalPlane;
use super::super::parking::{ArrivalOrbit, End, Parking, check_altitude};
use super::super::plan_error::PlanError;
use super::super::route::Route;
use super::GridOptions;
use super::error::GridError;
use crate::conic::State;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::vector::Vec3;

/// The two ends made ready: from excess velocities about the outermost bodies to costs.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Prices {
    pub(super) trip: Trip,
    start: End,
    goal: End,
    /// Whether the departure's plane is given, so that its Δv depends on more than the excess speed.
    pub(super) given_plane: bool,
}

/// The figures of one arc, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Figures {
    /// Excess speed about the body left, m/s.
    pub leaving: f64,
    /// Excess speed about the body reached, m/s.
    pub arriving: f64,
    /// Δv of the departure, m/s.
    pub departure: f64,
}

impl Prices {
    pub(super) fn new(route: Route, from: &Body, to: &Body, options: &GridOptions) -> Result<Self, GridError> {
        match &options.parking {
            Parking::Altitude(altitude) => check_altitude(from, *altitude)?,
            Parking::Orbit(orbit) => {
                if orbit.body() != from || orbit.period().is_none() {
                    return Err(PlanError::Parking { body: from.name().to_string() }.into());
                }
            }
        }
        if let Some(wanted) = &options.arrival {
            wanted.check(to)?;
        }
        let begin = options.between.0;
        // Without an arrival orbit only the excess speed is asked for, which no radius enters.
        let arrival_radius = options.arrival.as_ref().map_or(to.radius(), |wanted| wanted.periapsis_radius(to));
        let given_plane = matches!(options.parking, Parking::Orbit(_)) && route.down_to_start.len() < 2;
        let trip = Trip {
            route,
            from: from.clone(),
            to: to.clone(),
            parking: options.parking.clone(),
            arrival: options.arrival,
            arrival_radius,
            plane: ArrivalPlane::LeastInclined,
            family: crate::arc::Family::DIRECT,
        };
        let radius = trip.start_radius();
        let speed = (Orbit::gm_of(from) / radius).sqrt();
        let start = End::new(&trip.route.down_to_start, from, radius, speed, begin)?;
        let goal = End::new(&trip.route.down_to_goal, to, arrival_radius, trip.arrival_speed(), begin)?;
        Ok(Self { trip, start, goal, given_plane })
    }

    /// The gravitational parameter of the central body, m³/s².
    pub(super) fn gm(&self) -> f64 {
        Orbit::gm_of(&self.trip.route.about)
    }

    pub(super) fn arrival(&self) -> Option<ArrivalOrbit> {
        self.trip.arrival
    }

    /// The figures of an arc with velocities `v1` and `v2` at its ends; `None` when they are out of range.
    pub(super) fn of(&self, v1: &Vec3, v2: &Vec3, start: &State, goal: &State) -> Option<Figures> {
        let outward = v1 - start.velocity;
        let leaving = self.start.excess(outward.norm());
        let arriving = self.goal.excess((v2 - goal.velocity).norm());
        let departure = self.departure(&outward, leaving);
        let sound = leaving.is_finite() && arriving.is_finite() && departure.is_finite();
        sound.then_some(Figures { leaving, arriving, departure })
    }

    /// The figures from the excess speeds about the outermost bodies (m/s), where no plane is given.
    pub(super) fn of_speeds(&self, leaving: f64, arriving: f64) -> Option<Figures> {
        let (leaving, arriving) = (self.start.excess(leaving), self.goal.excess(arriving));
        let departure = self.start.dv(leaving);
        let sound = leaving.is_finite() && arriving.is_finite() && departure.is_finite();
        sound.then_some(Figures { leaving, arriving, departure })
    }

    fn departure(&self, outward: &Vec3, leaving: f64) -> f64 {
        if self.given_plane { self.trip.quick_departure_dv(outward, leaving) } else { self.start.dv(leaving) }
    }

    /// Δv of the departure (m/s) from the excess speed alone, where no plane is given.
    pub(super) fn departure_dv(&self, leaving: f64) -> f64 {
        self.start.dv(leaving)
    }

    /// Δv of the arrival (m/s) into the orbit asked for; 0 without one.
    pub(super) fn arrival_dv(&self, arriving: f64) -> f64 {
        if self.trip.arrival.is_some() { self.goal.dv(arriving) } else { 0.0 }
    }
}
