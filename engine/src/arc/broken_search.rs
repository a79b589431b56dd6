//! Windows whose arc changes its plane on the way, where that costs less than any unbroken arc of the opportunity.

use super::aimed::{Flight, Trip};
use super::asymptote::periapsis_arriving;
use super::broken_plane::{BrokenArc, best_place, broken_arc};
use super::capture::{aim, arrival_normal};
use super::departure::{leave, planned};
use super::flown::{Unflown, reached_periapsis, shot};
use super::plan_error::PlanError;
use super::refine::Found;
use super::search::Search;
use super::transfer::{Arc, Family};
use super::valley::{Minimum, descend};
use super::window::{Figures, PlaneChange, Rank, Window};
use crate::conic::{self, State};
use crate::motion::conics::next_patch;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// How near half a revolution (rad, in the plane of departure) broken planes are looked for. Farther off the unbroken arc's
/// plane stands hardly steeper than the goal's own latitude, and turning on the way gains nothing.
const NEAR_HALF: f64 = 0.6;

/// What a grid's cell may cost beside the best unbroken arc and still be refined: more than a coarse step can lie above its minimum.
const PROMISING: f64 = 1.2;

/// By how much a broken plane has to win, m/s: the aims at both ends, left out of the search, move costs by as much.
const WINS_BY: f64 = 1.0;

/// Label of the burn on the way.
const CHANGE: &str = "plane change";

/// A broken-plane minimum that wins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Broken {
    pub minimum: Minimum,
    angle: f64,
    /// Cost with the change at a right angle before arrival, on the same dates.
    at_right_angle: f64,
    /// Of the unbroken arc on the same dates.
    unbroken: Option<f64>,
    /// Of the best unbroken minimum of the same opportunity.
    rival: Option<f64>,
}

/// Both bodies about the common one.
struct Ends {
    start: State,
    goal: State,
    normal: Vec3,
}

impl Search {
    /// Whether a change of plane on the way can be weighed here: between siblings, from a circle that may be turned, by a measure
    /// that counts Δv.
    fn may_break(&self) -> bool {
        let counts = !matches!(self.rank, Rank::C3 | Rank::Arrival);
        self.broken_planes && counts && !self.nested() && !self.climbs() && !self.given_plane
    }

    fn ends(&self, at: [f64; 2]) -> Option<Ends> {
        let start = self.trip.route.down_to_start.first()?.state(self.epoch(at[0])).ok()?;
        let goal = self.trip.route.down_to_goal.first()?.state(self.epoch(at[0] + at[1])).ok()?;
        let normal = conic::angular_momentum(&start).normalize();
        Some(Ends { start, goal, normal })
    }

    fn broken_at(&self, ends: &Ends, seconds: f64, angle: f64) -> Option<BrokenArc> {
        let gm = Orbit::gm_of(&self.trip.route.about);
        broken_arc(gm, &ends.start.position, &ends.normal, &ends.goal.position, seconds, angle)
    }

    fn broken_price(&self, ends: &Ends, arc: &BrokenArc) -> f64 {
        let (leaving, meeting) = (arc.start.velocity - ends.start.velocity, arc.end.velocity - ends.goal.velocity);
        self.at_speeds(leaving.norm(), meeting.norm(), None).map_or(f64::INFINITY, |cost| cost + arc.dv())
    }

    fn best_broken(&self, at: [f64; 2]) -> Option<(BrokenArc, f64)> {
        let ends = self.ends(at)?;
        best_place(|angle| self.broken_at(&ends, at[1], angle), |arc| self.broken_price(&ends, arc))
    }

    /// Half the time after which the two bodies stand alike again, s: how far an opportunity reaches.
    fn half_opportunity(&self) -> Option<f64> {
        let route = &self.trip.route;
        let period = |body: Option<&Body>| body?.orbital_period();
        let (one, other) = (period(route.down_to_start.first())?, period(route.down_to_goal.first())?);
        Some(0.5 / (1.0 / one - 1.0 / other).abs()).filter(|half| half.is_finite())
    }

    /// Broken-plane minima that cost less than every unbroken one of their opportunity.
    pub(super) fn broken(&self, step: f64, minima: &[Found], watch: &Watch<'_>) -> Result<Vec<Broken>, PlanError> {
        let half = self.half_opportunity().filter(|_| self.may_break());
        let Some(half) = half else { return Ok(Vec::new()) };
        let (least, most) = self.flight_time;
        let rival = |at: [f64; 2]| {
            let near = minima.iter().filter(|found| (found.minimum.at[0] - at[0]).abs() <= half);
            near.map(|found| found.minimum.value).min_by(f64::total_cmp)
        };
        let departures = (self.span / step).ceil() as usize + 1;
        let flights = ((most - least) / step).ceil() as usize + 1;
        let date = |i: usize| (i as f64 * step).min(self.span);
        let flight = |k: usize| (least + k as f64 * step).min(most);
        let mut cells = vec![f64::INFINITY; departures * flights];
        for i in 0..departures {
            if watch.stopped() {
                return Err(PlanError::Stopped);
            }
            for k in 0..flights {
                let at = [date(i), flight(k)];
                let Some(ends) = self.ends(at) else { continue };
                let (east, place) = (ends.start.position, ends.goal.position);
                let longitude = place.dot(&ends.normal.cross(&east)).atan2(place.dot(&east)).rem_euclid(TAU);
                if (longitude - PI).abs() < NEAR_HALF
                    && let Some(arc) = self.broken_at(&ends, at[1], FRAC_PI_2)
                {
                    cells[i * flights + k] = self.broken_price(&ends, &arc);
                }
            }
        }
        let mut found: Vec<Broken> = Vec::new();
        for i in 0..departures {
            for k in 0..flights {
                let here = cells[i * flights + k];
                let beaten = (i.saturating_sub(1)..departures.min(i + 2)).any(|i2| {
                    (k.saturating_sub(1)..flights.min(k + 2)).any(|k2| {
                        let other = cells[i2 * flights + k2];
                        other < here || (other == here && (i2, k2) < (i, k))
                    })
                });
                let at = [date(i), flight(k)];
                if !here.is_finite() || beaten || rival(at).is_some_and(|rival| here > PROMISING * rival) {
                    continue;
                }
                let cost = |at: [f64; 2]| self.best_broken(at).map(|(_, cost)| cost);
                let Some(minimum) = descend(at, step, 0.02 * step, 1e-5 * step, self.bounds(), watch, cost) else {
                    continue;
                };
                let rival = rival(minimum.at);
                let same =
                    |other: &Broken| (0..2).all(|axis| (other.minimum.at[axis] - minimum.at[axis]).abs() < 0.25 * step);
                if rival.is_some_and(|rival| minimum.value >= rival - WINS_BY) || found.iter().any(same) {
                    continue;
                }
                let Some((arc, _)) = self.best_broken(minimum.at) else { continue };
                let Some(ends) = self.ends(minimum.at) else { continue };
                let right = self.broken_at(&ends, minimum.at[1], FRAC_PI_2);
                found.push(Broken {
                    minimum,
                    angle: arc.angle,
                    at_right_angle: right.map_or(f64::INFINITY, |arc| self.broken_price(&ends, &arc)),
                    unbroken: self.priced(&ends.start, &ends.goal, minimum.at[1], Family::DIRECT),
                    rival,
                });
            }
        }
        Ok(found)
    }

    /// The window of a broken-plane minimum, planned and not yet flown.
    pub(super) fn broken_window(&self, broken: &Broken) -> Result<Window, PlanError> {
        let trip = &self.trip;
        let at = broken.minimum.at;
        let (leave_epoch, meet) = (self.epoch(at[0]), self.epoch(at[0] + at[1]));
        let about = &trip.route.about;
        let no_arc = || PlanError::NoArc { about: about.name().to_owned(), days: at[1] / super::transfer::DAY };
        let ends = self.ends(at).ok_or_else(no_arc)?;
        let gm = Orbit::gm_of(about);
        // The foot of the departure's asymptote goes into the arc, as for unbroken ones; it moves little, so a few rounds close.
        let mut foot = Vec3::zeros();
        let mut round = None;
        for _ in 0..6 {
            let place = ends.start.position + foot;
            let normal = (ends.normal - place * (ends.normal.dot(&place) / place.norm_squared())).normalize();
            let arc = broken_arc(gm, &place, &normal, &ends.goal.position, at[1], broken.angle).ok_or_else(no_arc)?;
            let v_infinity = arc.start.velocity - ends.start.velocity;
            let departure = leave(&trip.from, &trip.parking, v_infinity, leave_epoch)?;
            foot = departure.foot;
            round = Some((arc, v_infinity, departure));
        }
        let (broken_arc, v_inf_depart, departure) = round.ok_or_else(no_arc)?;
        let v_inf_arrive = broken_arc.end.velocity - ends.goal.velocity;
        let normal = arrival_normal(&trip.to, &v_inf_arrive, meet, trip.plane);
        let to_gm = Orbit::gm_of(&trip.to);
        let (position, velocity) = periapsis_arriving(to_gm, &v_inf_arrive, trip.arrival_radius, &normal);
        let arrival = Orbit::new(trip.to.clone(), meet, State { position, velocity })?;
        let there = Orbit::new(about.clone(), leave_epoch.after(broken_arc.seconds), broken_arc.before)?;
        let change = planned(&there, broken_arc.after - broken_arc.before.velocity, CHANGE)?;
        let arc = Arc {
            from: trip.from.clone(),
            to: trip.to.clone(),
            about: about.clone(),
            depart: departure.periapsis,
            arrive: meet,
            leave: leave_epoch,
            meet,
            v1: broken_arc.start.velocity,
            v2: broken_arc.end.velocity,
            orbit: Orbit::new(about.clone(), leave_epoch, broken_arc.start)?,
            c3: v_inf_depart.norm_squared(),
            v_inf_depart: Some(v_inf_depart),
            v_inf_arrive: Some(v_inf_arrive),
            theta: broken_arc.theta,
            family: Family::DIRECT,
            outward: Vec::new(),
            inward: Vec::new(),
        };
        let aim = Some(aim(&trip.to, &v_inf_arrive, &normal, trip.arrival_radius));
        let (parking, burn) = (departure.parking, departure.burn);
        let flight = Flight { arc, parking, burn, after: departure.after, arrival, aim, closure: 0.0 };
        let estimate = Figures {
            dv: flight.burn.size(),
            v_inf_depart: Some(v_inf_depart.norm()),
            v_inf_arrive: Some(v_inf_arrive.norm()),
            arrive: meet,
            periapsis_radius: trip.arrival_radius,
            periapsis_miss: 0.0,
        };
        let change = PlaneChange {
            burn: change,
            angle: broken_arc.angle,
            tilt: broken_arc.tilt,
            at_right_angle: broken.at_right_angle,
            unbroken: broken.unbroken,
            rival: broken.rival,
        };
        self.assembled(trip, flight, &broken.minimum, (leave_epoch, meet), (None, estimate), Some(change))
    }
}

/// A broken-plane flight in the model: the departure burn as planned, coasted to the change of plane, and that burn shot from where the
/// coast really is until the aim at the goal is met. The burn, the excess velocity at the goal, what both bring about, and the periapsis radius (m) that
/// the burns as planned would have led to.
pub(super) fn shot_broken(
    trip: &Trip,
    flight: &Flight,
    change: &PlaneChange,
    watch: &Watch<'_>,
) -> Result<(PlaneChange, Vec3, Figures, Option<f64>), Unflown> {
    let because = |error: &dyn std::fmt::Display| Unflown::Because(error.to_string());
    let epoch = change
        .burn
        .plan
        .as_ref()
        .map(|plan| plan.epoch)
        .ok_or_else(|| Unflown::Because("the plane change has no date".to_owned()))?;
    let dv = flight.after.velocity - flight.parking.state().velocity;
    let leaving = flight.parking.after_impulse(dv).map_err(|error| because(&error))?;
    let here = coasted(leaving, epoch, watch)?;
    if here.body() != &trip.route.about {
        let body = here.body().name();
        return Err(Unflown::Because(format!("the craft is about `{body}` when the plane is to be changed")));
    }
    let before = *here.state();
    // The planned turn, from the velocity that the craft really has.
    let turn = change.burn.dv_at(&before).map_err(|error| because(&error))?;
    let after = State { position: before.position, velocity: before.velocity + turn };
    let second = Flight { parking: here, after, ..flight.clone() };
    let unshot = reached_periapsis(&second.parking, &turn, &second, watch);
    let (dv, v_infinity, mut figures) = shot(&second, trip.arrival_radius, trip.plane, watch)?;
    figures.dv = flight.burn.size();
    figures.v_inf_depart = flight.arc.v_inf_depart.map(|v| v.norm());
    let burn = planned(&second.parking, dv, CHANGE).map_err(|error| because(&error))?;
    Ok((PlaneChange { burn, ..change.clone() }, v_infinity, figures, unshot))
}

/// Where a coast is at an epoch, through the patches of the model.
fn coasted(orbit: Orbit, epoch: Epoch, watch: &Watch<'_>) -> Result<Orbit, Unflown> {
    let stopped = |error: crate::motion::MotionError| match error {
        crate::motion::MotionError::Interrupted => Unflown::Stopped,
        error => Unflown::Because(error.to_string()),
    };
    let (mut now, mut leaving) = (orbit, None);
    while let Some(patch) = next_patch(&now, epoch, leaving.as_ref(), watch).map_err(stopped)? {
        leaving = patch.leaving();
        now = patch.after;
    }
    now.after(epoch.seconds_since(now.epoch())).map_err(|error| Unflown::Because(error.to_string()))
}

impl Search {
    /// Why a broken plane won, both ways side by side.
    pub(super) fn reason_of_break(change: &PlaneChange, cost: f64) -> String {
        let speed = |si: f64| format!("{:.3} km/s", si / 1e3);
        let said = format!(
            "broken plane: turned by {:.2}° at {:.1}° before arrival for {} ({} more at 90°)",
            change.tilt.to_degrees(),
            change.angle.to_degrees(),
            speed(change.burn.size()),
            speed(change.at_right_angle - cost)
        );
        let unbroken = change.unbroken.map_or_else(String::new, |unbroken| {
            format!("; the unbroken arc of these dates costs {}", speed(unbroken))
        });
        let rival = change.rival.map_or_else(
            || ", and this opportunity has no unbroken minimum inside the bounds".to_string(),
            |rival| format!(", the best unbroken one of this opportunity {}", speed(rival)),
        );
        said + &unbroken + &rival
    }
}
