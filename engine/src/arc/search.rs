//! What a search for windows asks of a pair of dates: the cost, quick for a grid and whole for refining.

use super::aimed::{NEARLY, Trip};
use super::kept_states::KeptStates;
use super::lambert::{Way, solve_one};
use super::parking::{End, Parking, check_altitude, half_ellipse};
use super::plan_error::PlanError;
use super::price::Price;
use super::route::Route;
use super::transfer::{DAY, Family, Offsets};
use super::window::{Rank, WindowOptions};
use crate::conic::{self, State};
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// A search made ready.
pub(super) struct Search {
    pub trip: Trip,
    /// The same trip without waiting for the place on a given parking orbit, which would make the cost jump.
    free: Trip,
    pub rank: Rank,
    /// The arcs that are looked at.
    pub families: Vec<Family>,
    pub begin: Epoch,
    /// Length of the span of departures, s.
    pub span: f64,
    pub flight_time: (f64, f64),
    start: End,
    goal: End,
    pub given_plane: bool,
    pub shoot: bool,
    pub broken_planes: bool,
    /// Time of half an ellipse between the two orbits, s.
    pub scale: f64,
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
            family: Family::DIRECT,
        };
        let scale = half_ellipse(&trip.route, begin, trip.central_periapsis().unwrap_or_default())?;
        let rounds = 2.0 * f64::from(options.revolutions);
        let flight_time = options.flight_time.unwrap_or((0.4 * scale, (2.2 + rounds) * scale));
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
            families: Family::up_to(options.revolutions),
            begin,
            span,
            flight_time,
            start,
            goal,
            given_plane,
            shoot: options.shoot,
            broken_planes: options.broken_planes,
            scale,
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

    /// Cost of the arc of a family between two states, the hours of moons left open.
    pub(super) fn priced(&self, start: &State, goal: &State, seconds: f64, family: Family) -> Option<f64> {
        let gm = Orbit::gm_of(&self.trip.route.about);
        let way = Way::Prograde(conic::angular_momentum(start));
        let (places, count) = ((&start.position, &goal.position), family.revolutions);
        let arc = solve_one(gm, places.0, places.1, seconds, way, count, family.branch).ok()?;
        let leaving = arc.v1 - start.velocity;
        self.at_speeds(leaving.norm(), (arc.v2 - goal.velocity).norm(), Some(&leaving))
    }

    /// The same from the excess speeds (m/s) about the bodies at the arc's ends; with a given parking orbit the velocity counts too.
    pub(super) fn at_speeds(&self, leaving: f64, meeting: f64, velocity: Option<&Vec3>) -> Option<f64> {
        let excess = self.start.excess(leaving);
        let arriving = self.goal.excess(meeting);
        let departure = match velocity {
            Some(velocity) if self.given_plane => self.trip.quick_departure_dv(velocity, excess),
            _ => self.start.dv(excess),
        };
        let price = Price {
            departure,
            arrival: self.goal.dv(arriving),
            c3: excess * excess,
            excess_departure: excess,
            excess_arrival: arriving,
        };
        Some(price.by(self.rank, self.trip.arrival.is_some())).filter(|cost| cost.is_finite())
    }

    /// The trip along the arcs of a family.
    pub(super) fn along(&self, family: Family) -> Trip {
        Trip { family, ..self.trip.clone() }
    }

    /// Cost of one pair of dates (s past the begin; s of flight), whole: moons at their hours, planes charged. `trip` and `free` go
    /// along the arcs of one family.
    fn whole_along(&self, trip: &Trip, free: &Trip, at: [f64; 2]) -> Option<f64> {
        let (leave, meet) = (self.epoch(at[0]), self.epoch(at[0] + at[1]));
        let given = match &trip.parking {
            Parking::Orbit(orbit) if trip.route.down_to_start.is_empty() => Some(orbit),
            _ => None,
        };
        if self.nested() {
            // A moon deep in its planet's field moves the aim by a good part of the field's size: it belongs into the search.
            // What does not close is not flown, so it has no cost.
            let flight = free.aimed(leave, meet, NEARLY).ok().filter(|flight| flight.closure < 10.0 * NEARLY)?;
            let price = trip.price(&flight.arc, None).ok()?;
            return Some(price.by(self.rank, trip.arrival.is_some())).filter(|cost| cost.is_finite());
        }
        let solved = match given {
            Some(orbit) => trip.ascend(orbit, leave, meet, &Offsets::none(&trip.route)),
            None => trip.centre_to_centre(leave, meet),
        }
        .ok()?;
        let price = trip.price(&solved.arc, solved.periapsis.as_ref()).ok()?;
        Some(price.by(self.rank, trip.arrival.is_some())).filter(|cost| cost.is_finite())
    }

    /// The whole cost over dates along the arcs of a family.
    pub(super) fn whole(&self, family: Family) -> impl Fn([f64; 2]) -> Option<f64> {
        let (trip, free) = (self.along(family), Trip { family, ..self.free.clone() });
        move |at| self.whole_along(&trip, &free, at)
    }

    /// The cost over dates from the ephemeris, for refining, along the arcs of a family.
    pub(super) fn cost(&self, family: Family) -> impl FnMut([f64; 2]) -> Option<f64> {
        let whole = self.whole(family);
        let charged = self.climbs() || (self.given_plane && !self.nested());
        let bodies = self.trip.route.down_to_start.first().zip(self.trip.route.down_to_goal.first());
        let mut kept =
            bodies.map(|(start, goal)| (KeptStates::of(start, self.begin), KeptStates::of(goal, self.begin)));
        move |at| {
            let Some((starts, goals)) = kept.as_mut().filter(|_| !charged) else { return whole(at) };
            let (start, goal) = (starts.at(at[0])?, goals.at(at[0] + at[1])?);
            self.priced(&start, &goal, at[1], family)
        }
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
