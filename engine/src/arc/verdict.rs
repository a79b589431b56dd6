//! From a minimum of the search to a window: the burn planned and flown, the figures side by side, and the reason for its rank.

use super::aimed::{CLOSED, Flight, Trip};
use super::broken_search::shot_broken;
use super::departure::{LABEL, leave, planned};
use super::flown::{Unflown, reached_periapsis, shot};
use super::lambert::Branch;
use super::parking::Parking;
use super::plan_error::PlanError;
use super::refine::Found;
use super::search::Search;
use super::transfer::{Arc, DAY, Offsets};
use super::valley::Minimum;
use super::window::{Figures, PlaneChange, Rank, Window, WindowOptions};
use crate::conic::{self, State};
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::time::Epoch;
use crate::vector::Vec3;

/// What it takes to fly a window in the model: its trip, its flight, and the burn of the arc centre to centre.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Plan {
    trip: Trip,
    flight: Flight,
    estimate_burn: Option<(Orbit, Vec3)>,
}

impl Window {
    /// The same window with its burn shot in the patched-conic model until the aim is met, and its figures those of the flight.
    /// Where the shot does not close, `flown` stays empty and `why` says what the model says. One that was flown comes back as it is.
    ///
    /// # Errors
    /// Interruption; a burn that cannot be planned.
    pub fn flown_in_model(&self, watch: &Watch<'_>) -> Result<Self, PlanError> {
        let mut window = self.clone();
        if self.flown.is_some() {
            return Ok(window);
        }
        let Plan { trip, mut flight, estimate_burn } = (*self.plan).clone();
        if let Some(change) = &self.plane_change {
            match shot_broken(&trip, &flight, change, watch) {
                Ok((change, v_infinity, figures, unshot)) => {
                    if let Some(radius) = unshot {
                        window.estimate.periapsis_radius = radius;
                        window.estimate.periapsis_miss = radius - trip.arrival_radius;
                    }
                    flight.arrive_with(&trip, v_infinity)?;
                    window.plane_change = Some(change);
                    window.flown = Some(figures);
                }
                Err(Unflown::Stopped) => return Err(PlanError::Stopped),
                Err(Unflown::Because(why)) => window.remark(&format!("the burns were not flown to their aim: {why}")),
            }
            window.read_off(&trip, &flight);
            return Ok(window);
        }
        if let Some((orbit, dv)) = &estimate_burn
            && let Some(radius) = reached_periapsis(orbit, dv, &flight, watch)
        {
            window.estimate.periapsis_radius = radius;
            window.estimate.periapsis_miss = radius - trip.arrival_radius;
        }
        match shot(&flight, trip.arrival_radius, trip.plane, watch) {
            Ok((dv, v_infinity, figures)) => {
                window.burn = planned(&flight.parking, dv, LABEL)?;
                if flight.arc.v_inf_arrive.is_some() {
                    flight.arrive_with(&trip, v_infinity)?;
                }
                let state =
                    State { position: flight.parking.state().position, velocity: flight.parking.state().velocity + dv };
                if let Some(leaving) = conic::hyperbola::outgoing(flight.parking.gm(), &state)
                    && flight.arc.v_inf_depart.is_some()
                {
                    flight.arc.v_inf_depart = Some(leaving.v_infinity);
                    flight.arc.c3 = leaving.v_infinity.norm_squared();
                }
                window.flown = Some(figures);
            }
            Err(Unflown::Stopped) => return Err(PlanError::Stopped),
            Err(Unflown::Because(why)) => {
                window.remark(&format!("the burn was not flown to its aim: {why}"));
            }
        }
        window.read_off(&trip, &flight);
        Ok(window)
    }

    fn remark(&mut self, said: &str) {
        if !self.why.is_empty() {
            self.why.push_str("; ");
        }
        self.why.push_str(said);
    }

    /// The figures that follow from the burn, the arc and the arrival.
    fn read_off(&mut self, trip: &Trip, flight: &Flight) {
        let arc = &flight.arc;
        let pole = trip.from.equator(arc.depart).column(2).into_owned();
        self.c3 = arc.c3;
        self.v_inf_depart = arc.v_inf_depart;
        self.v_inf_arrive = arc.v_inf_arrive;
        self.declination = arc.v_inf_depart.map(|v| (v.dot(&pole) / v.norm()).clamp(-1.0, 1.0).asin());
        self.dv_departure = self.burn.size();
        self.dv_arrival = trip.arrival.map(|_| (flight.arrival.speed() - trip.arrival_speed()).abs());
        let change = self.plane_change.as_ref().map_or(0.0, |change| change.burn.size());
        self.dv_total = self.dv_departure + change + self.dv_arrival.unwrap_or(0.0);
        self.arrival = flight.arrival.clone();
        self.aim = flight.aim;
        self.arc = flight.arc.clone();
    }
}

impl Search {
    /// The window at a minimum of the search, planned and not yet flown.
    pub(super) fn window(&self, found: &Found) -> Result<Window, PlanError> {
        let minimum = &found.minimum;
        let dates = (self.epoch(minimum.at[0]), self.epoch(minimum.at[0] + minimum.at[1]));
        let trip = self.along(found.family);
        let flight = trip.aimed(dates.0, dates.1, CLOSED)?;
        let estimate = Self::estimate(&trip, dates.0, dates.1, &flight)?;
        let mut window = self.assembled(&trip, flight, minimum, dates, estimate, None)?;
        if let Some(beyond) = self.beyond(found) {
            window.remark(&beyond);
        }
        Ok(window)
    }

    /// A window from its flight and estimate.
    pub(super) fn assembled(
        &self,
        trip: &Trip,
        flight: Flight,
        minimum: &Minimum,
        dates: (Epoch, Epoch),
        (estimate_burn, estimate): (Option<(Orbit, Vec3)>, Figures),
        plane_change: Option<PlaneChange>,
    ) -> Result<Window, PlanError> {
        let arc = &flight.arc;
        let mut window = Window {
            depart: arc.depart,
            arrive: arc.arrive,
            from: trip.from.clone(),
            to: trip.to.clone(),
            c3: arc.c3,
            v_inf_depart: None,
            v_inf_arrive: None,
            declination: None,
            phase_angle: self.phase_angle(arc.depart)?,
            dv_departure: 0.0,
            plane_change,
            dv_arrival: None,
            dv_total: 0.0,
            flight_time: arc.flight_time(),
            cost: minimum.value,
            dates,
            on_bound: minimum.on_bound,
            estimate,
            flown: None,
            why: String::new(),
            parking: flight.parking.clone(),
            burn: flight.burn.clone(),
            arrival: flight.arrival.clone(),
            aim: flight.aim,
            arc: flight.arc.clone(),
            plan: Box::new(Plan { trip: trip.clone(), flight: flight.clone(), estimate_burn }),
        };
        window.read_off(trip, &flight);
        Ok(window)
    }

    /// The figures of the arc centre to centre, and its burn.
    fn estimate(
        trip: &Trip,
        leave_epoch: Epoch,
        meet: Epoch,
        flight: &Flight,
    ) -> Result<(Option<(Orbit, Vec3)>, Figures), PlanError> {
        let solved = match (&trip.parking, trip.route.down_to_start.is_empty()) {
            (Parking::Orbit(orbit), true) => trip.ascend(orbit, leave_epoch, meet, &Offsets::none(&trip.route))?,
            _ => trip.centre_to_centre(leave_epoch, meet)?,
        };
        let price = trip.price(&solved.arc, solved.periapsis.as_ref())?;
        let burn = match solved.arc.v_inf_depart {
            Some(v_infinity) => {
                let departure = leave(&trip.from, &trip.parking, v_infinity, solved.arc.depart)?;
                let dv = departure.after.velocity - departure.parking.state().velocity;
                Some((departure.parking, dv))
            }
            None => Some((flight.parking.clone(), solved.arc.v1 - flight.parking.state().velocity)),
        };
        let Arc { v_inf_depart, v_inf_arrive, arrive, .. } = solved.arc;
        let figures = Figures {
            dv: price.departure,
            v_inf_depart: v_inf_depart.map(|v| v.norm()),
            v_inf_arrive: v_inf_arrive.map(|v| v.norm()),
            arrive,
            periapsis_radius: trip.arrival_radius,
            periapsis_miss: 0.0,
        };
        Ok((burn, figures))
    }

    /// By how much the goal's branch is ahead of the start's about the common body, in the start's plane of motion.
    fn phase_angle(&self, epoch: Epoch) -> Result<Option<f64>, PlanError> {
        let route = &self.trip.route;
        let (Some(start), Some(goal)) = (route.down_to_start.first(), route.down_to_goal.first()) else {
            return Ok(None);
        };
        let (start, goal) = (start.state(epoch)?, goal.state(epoch)?);
        let normal = conic::angular_momentum(&start).normalize();
        let sine = normal.dot(&start.position.cross(&goal.position));
        let flat = goal.position - normal * goal.position.dot(&normal);
        Ok(Some(sine.atan2(start.position.dot(&flat))))
    }
}

/// The list in order, each with the reason for its place.
pub(super) fn explained(mut list: Vec<Window>, rank: Rank, options: &WindowOptions) -> Vec<Window> {
    let key = |window: &Window| if rank == Rank::Time { window.flight_time } else { window.cost };
    list.sort_by(|a, b| key(a).total_cmp(&key(b)).then(a.depart.cmp(&b.depart)));
    let count = list.len();
    let keys: Vec<f64> = list.iter().map(key).collect();
    let has_arrival = options.arrival.is_some();
    for (place, window) in list.iter_mut().enumerate() {
        let mut said = vec![reason(place, &keys, count, rank, has_arrival)];
        said.push(match &window.plane_change {
            Some(change) => Search::reason_of_break(change, window.cost),
            None => kind(&window.arc),
        });
        let bounds = ["the span of departures", "the flight times allowed"];
        for (on, bound) in window.on_bound.iter().zip(bounds) {
            if *on {
                said.push(format!("lies on an end of {bound}: a better one may lie beyond"));
            }
        }
        if !window.why.is_empty() {
            said.push(std::mem::take(&mut window.why));
        }
        window.why = said.join("; ");
    }
    list
}

/// Which arc of its trip it is.
fn kind(arc: &Arc) -> String {
    let degrees = arc.theta.to_degrees();
    let (half, share) = if degrees < 180.0 { ("type I", "less") } else { ("type II", "more") };
    let branch = match arc.family.branch {
        Branch::Single => return format!("{half}, {share} than half a revolution ({degrees:.1}°)"),
        Branch::Left => "left",
        Branch::Right => "right",
    };
    let count = arc.family.revolutions;
    let whole = if count == 1 { "1 revolution".to_owned() } else { format!("{count} revolutions") };
    format!("{whole} and {degrees:.1}°, the {branch} branch")
}

fn reason(place: usize, keys: &[f64], count: usize, rank: Rank, has_arrival: bool) -> String {
    let what = match rank {
        Rank::Departure => "departure Δv",
        Rank::Arrival if has_arrival => "arrival Δv",
        Rank::Arrival => "least capture Δv",
        Rank::Total if has_arrival => "total Δv",
        Rank::Total => "departure Δv and least capture Δv together",
        Rank::C3 => "C3",
        Rank::Time => "flight time",
        Rank::Excess { .. } => "weighted excess speed",
    };
    let show = |value: f64| match rank {
        Rank::C3 => format!("{:.3} km²/s²", value / 1e6),
        Rank::Time => format!("{:.1} d", value / DAY),
        _ => format!("{:.3} km/s", value / 1e3),
    };
    if count == 1 {
        return format!("the only opportunity: {what} {}", show(keys[0]));
    }
    if place == 0 {
        return format!(
            "least {what} of {count} opportunities: {}, next {} more",
            show(keys[0]),
            show(keys[1] - keys[0])
        );
    }
    format!(
        "{} of {count} by {what}: {}, {} above the least",
        place + 1,
        show(keys[place]),
        show(keys[place] - keys[0])
    )
}
