//! What a search for windows asks of a pair of dates: the cost, quick for a grid and whole for refining.

use super::aimed::{NEARLY, Trip};
use super::lambert::{self, Branch, Way};
use super::parking::{End, Parking, check_altitude, half_ellipse};
use super::plan_error::PlanError;
use super::price::Price;
use super::route::Route;
use super::transfer::DAY;
use super::window::{Rank, WindowOptions};
use crate::conic::{self, State};
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;

/// A search made ready.
pub(super) struct Search {
    pub trip: Trip,
    /// The same trip without waiting for the place on a given parking orbit, which would make the cost jump.
    free: Trip,
    pub rank: Rank,
    pub begin: Epoch,
    /// Length of the span of departures, s.
    pub span: f64,
    pub flight_time: (f64, f64),
    start: End,
    goal: End,
    given_plane: bool,
    pub shoot: bool,
}

impl Search {
    pub(super) fn new(from: &Body, to: &Body, options: &WindowOptions) -> Result<Self, PlanError> {
        let route = Route::between(from, to)?;
        let (begin, end) = options.between;
        let span = end.seconds_since(begin);
        if span < 0.0 {
            return Err(PlanError::Span { from: begin, to: end });
        }
        match &options.parking {
            Parking::Altitude(altitude) => check_altitude(from, *altitude)?,
            Parking::Orbit(orbit) => {
                if orbit.body() != from || orbit.period().is_none() {
                    return Err(PlanError::Parking { body: from.name().to_string() });
                }
            }
        }
        let arrival_radius = match &options.arrival {
            Some(wanted) => {
                wanted.check(to)?;
                wanted.periapsis_radius(to)
            }
            None => pass_radius(to)?,
        };
        let trip = Trip {
            route,
            from: from.clone(),
            to: to.clone(),
            parking: options.parking.clone(),
            arrival: options.arrival,
            arrival_radius,
            plane: options.plane,
        };
        let scale = half_ellipse(&trip.route, begin, trip.central_periapsis().unwrap_or_default())?;
        let flight_time = options.flight_time.unwrap_or((0.4 * scale, 2.2 * scale));
        if !(flight_time.0 > 0.0 && flight_time.0 <= flight_time.1 && flight_time.1.is_finite()) {
            return Err(PlanError::FlightTimes { least_d: flight_time.0 / DAY, most_d: flight_time.1 / DAY });
        }
        let radius = trip.start_radius();
        let start = End::new(&trip.route.down_to_start, from, radius, (Orbit::gm_of(from) / radius).sqrt(), begin)?;
        let goal = End::new(&trip.route.down_to_goal, to, arrival_radius, trip.arrival_speed(), begin)?;
        let given_plane = matches!(options.parking, Parking::Orbit(_)) && trip.route.down_to_start.len() < 2;
        let free = Trip { parking: Parking::Altitude(radius - from.radius()), ..trip.clone() };
        Ok(Self {
            free,
            rank: options.ranking(),
            begin,
            span,
            flight_time,
            start,
            goal,
            given_plane,
            shoot: options.shoot,
            trip,
        })
    }

    /// Whether a moon is left or met inside the sphere of another body.
    pub(super) fn nested(&self) -> bool {
        self.trip.route.down_to_start.len() > 1 || self.trip.route.down_to_goal.len() > 1
    }

    pub(super) fn climbs(&self) -> bool {
        self.trip.route.down_to_start.is_empty() || self.trip.route.down_to_goal.is_empty()
    }

    pub(super) fn epoch(&self, seconds: f64) -> Epoch {
        self.begin.after(seconds)
    }

    /// Cost of one pair of dates from the states at the ends of the central arc, the hours of moons left open.
    pub(super) fn coarse(&self, start: &State, goal: &State, seconds: f64) -> Option<f64> {
        let gm = Orbit::gm_of(&self.trip.route.about);
        let sense = Way::Prograde(conic::angular_momentum(start));
        let arc = lambert::solve_one(gm, &start.position, &goal.position, seconds, sense, 0, Branch::Single).ok()?;
        let leaving = arc.v1 - start.velocity;
        let excess = self.start.excess(leaving.norm());
        let arriving = self.goal.excess((arc.v2 - goal.velocity).norm());
        let departure =
            if self.given_plane { self.trip.quick_departure_dv(&leaving, excess) } else { self.start.dv(excess) };
        let price = Price {
            departure,
            arrival: self.goal.dv(arriving),
            c3: excess * excess,
            excess_departure: excess,
            excess_arrival: arriving,
        };
        Some(price.by(self.rank, self.trip.arrival.is_some())).filter(|cost| cost.is_finite())
    }

    /// Cost of one pair of dates (s past the begin; s of flight), whole: moons at their hours, planes charged.
    pub(super) fn whole(&self, at: [f64; 2]) -> Option<f64> {
        let (leave, meet) = (self.epoch(at[0]), self.epoch(at[0] + at[1]));
        let given = match &self.trip.parking {
            Parking::Orbit(orbit) if self.trip.route.down_to_start.is_empty() => Some(orbit),
            _ => None,
        };
        if self.nested() {
            // A moon deep in its planet's field moves the aim by a good part of the field's size: it belongs into the search.
            // What does not close is not flown, so it has no cost.
            let flight = self.free.aimed(leave, meet, NEARLY).ok().filter(|flight| flight.closure < 10.0 * NEARLY)?;
            let price = self.trip.price(&flight.arc, None).ok()?;
            return Some(price.by(self.rank, self.trip.arrival.is_some())).filter(|cost| cost.is_finite());
        }
        let solved = match given {
            Some(orbit) => {
                let offsets = super::transfer::Offsets::none(&self.trip.route);
                self.trip.ascend(orbit, leave, meet, &offsets)
            }
            None => self.trip.centre_to_centre(leave, meet),
        }
        .ok()?;
        let price = self.trip.price(&solved.arc, solved.periapsis.as_ref()).ok()?;
        Some(price.by(self.rank, self.trip.arrival.is_some())).filter(|cost| cost.is_finite())
    }

    /// Cost of one pair of dates from the ephemeris, for refining.
    pub(super) fn cost(&self, at: [f64; 2]) -> Option<f64> {
        if self.climbs() || (self.given_plane && !self.nested()) {
            return self.whole(at);
        }
        let start = self.trip.route.down_to_start.first()?.state(self.epoch(at[0])).ok()?;
        let goal = self.trip.route.down_to_goal.first()?.state(self.epoch(at[0] + at[1])).ok()?;
        self.coarse(&start, &goal, at[1])
    }
}

/// Periapsis radius (m) of a pass where no arrival orbit is asked for: half a radius up, which clears any air, and clear of a
/// ring by a tenth.
///
/// # Errors
/// A body whose sphere of influence does not reach above such a pass: nothing can be aimed at there.
fn pass_radius(body: &Body) -> Result<f64, PlanError> {
    let ring = body.ring().map_or(0.0, |ring| 1.1 * ring.outer);
    let radius = (1.5 * body.radius()).max(ring);
    if radius < body.sphere_of_influence() {
        return Ok(radius);
    }
    Err(PlanError::NoSphere {
        body: body.name().to_string(),
        sphere_m: body.sphere_of_influence(),
        radius_m: body.radius(),
    })
}
