//! The unknowns of a tour, what they cost, and the answer they stand for.

use super::answer::{AtBound, Residuals, Tour, TourLeg, TourPass};
use super::{TourError, TourOptions};
use crate::arc::assist_chain::deep_space::{self, LegPlan, PassPlan};
use crate::arc::assist_chain::{ChainError, Stop, powered};
use crate::arc::flyby::{self, Flyby};
use crate::arc::lambert::Way;
use crate::arc::parking::check_altitude;
use crate::arc::plan_error::PlanError;
use crate::arc::transfer::DAY;
use crate::conic::{self, State, propagate};
use crate::numerics::global::Found;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;
use std::f64::consts::{PI, TAU};

/// What a shortfall is charged while searching, m/s for each share of its limit: more than any tour worth flying saves by it.
const CHARGE: f64 = 20e3;

pub(super) struct Chain<'a> {
    bodies: Vec<Body>,
    options: &'a TourOptions,
    gm: f64,
    normal: Vec3,
    flight_times: Vec<(f64, f64)>,
    /// Least and greatest periapsis radius of each pass, m.
    radii: Vec<(f64, f64)>,
}

/// Start about the parent; coast before a burn (s) and its Δv (m/s); velocity at the end, m/s.
type FlownLeg = (State, Option<(f64, Vec3)>, Vec3);

/// A place of the search, flown.
struct Flown {
    times: Vec<f64>,
    legs: Vec<FlownLeg>,
    passes: Vec<Flyby>,
    departure: Vec3,
    arrival: Vec3,
    course_dv: f64,
}

impl<'a> Chain<'a> {
    pub(super) fn new(bodies: Vec<Body>, options: &'a TourOptions) -> Result<Self, TourError> {
        let (first, last) = (&bodies[0], &bodies[bodies.len() - 1]);
        let name = |body: &Body| body.parent().map_or_else(String::new, |parent| parent.name().to_string());
        let Some(parent) = first.parent() else {
            return Err(PlanError::NoArc { about: first.name().to_string(), days: 0.0 }.into());
        };
        if let Some(other) = bodies.iter().find(|body| body.parent().as_ref() != Some(&parent)) {
            return Err(TourError::Parents {
                first: first.name().to_string(),
                first_parent: name(first),
                second: other.name().to_string(),
                second_parent: name(other),
            });
        }
        let (begin, end) = options.between;
        if end < begin {
            return Err(PlanError::Span { from: begin, to: end }.into());
        }
        check_altitude(first, options.parking)?;
        if let Some(arrival) = options.arrival {
            arrival.check(last)?;
        }
        let gm = parent.gm();
        let legs = bodies.len() - 1;
        let flight_times = match &options.flight_times {
            Some(given) if given.len() == legs => given.clone(),
            Some(given) => return Err(TourError::FlightTimeCount { legs, given: given.len() }),
            None => bodies
                .windows(2)
                .map(|pair| {
                    let period = ellipse_period(gm, &pair[0], &pair[1], begin)?;
                    Ok::<_, TourError>((0.1 * period, 1.5 * period))
                })
                .collect::<Result<_, _>>()?,
        };
        for &(least, most) in &flight_times {
            if !(least > 0.0 && least <= most && most.is_finite()) {
                return Err(PlanError::FlightTimes { least_d: least / DAY, most_d: most / DAY }.into());
            }
        }
        if let Some(arrive_by) = options.arrive_by {
            let late = begin.seconds_since(arrive_by) + flight_times.iter().map(|one| one.0).sum::<f64>();
            if late > 0.0 {
                return Err(TourError::TooLate { to: last.name().to_string(), arrive_by, late_d: late / DAY });
            }
        }
        let radii = bodies[1..legs]
            .iter()
            .map(|body| {
                let floor = options.least_altitude.max(body.air().map_or(0.0, crate::system::Air::top)).max(0.0);
                check_altitude(body, floor.max(1.0))?;
                Ok((body.radius() + floor, 0.5 * body.sphere_of_influence()))
            })
            .collect::<Result<Vec<_>, PlanError>>()?;
        let normal = conic::angular_momentum(&first.state(begin).map_err(PlanError::from)?);
        Ok(Self { bodies, options, gm, normal, flight_times, radii })
    }

    /// Departure in seconds from the span's begin; flight times in s; with deep-space burns then excess speed, its direction (two
    /// numbers), shares of the legs before their burns, heights of the passes on a logarithmic scale 0 to 1, and their angles.
    pub(super) fn bounds(&self) -> Vec<(f64, f64)> {
        let (begin, end) = self.options.between;
        let mut bounds = vec![(0.0, end.seconds_since(begin))];
        bounds.extend(&self.flight_times);
        if self.options.deep_space {
            let speed = self.bodies[0].state(begin).map_or(0.0, |state| state.velocity.norm());
            bounds.extend([(0.01 * speed, 0.5 * speed), (0.0, 1.0), (0.0, 1.0)]);
            bounds.extend(self.flight_times.iter().map(|_| (0.01, 0.99)));
            bounds.extend(self.radii.iter().map(|_| (0.0, 1.0)));
            bounds.extend(self.radii.iter().map(|_| (-PI, PI)));
        }
        bounds
    }

    fn what(&self, index: usize) -> String {
        let legs = self.flight_times.len();
        let pass = |k: usize| self.bodies.get(k + 1).map_or("", Body::name);
        match index {
            0 => "departure".to_string(),
            i if i <= legs => format!("flight time of leg {i}"),
            i if i <= legs + 3 => "excess velocity at departure".to_string(),
            i if i <= 2 * legs + 3 => format!("date of the burn on leg {}", i - legs - 3),
            i if i <= 3 * legs + 2 => format!("altitude at {}", pass(i - 2 * legs - 4)),
            i => format!("plane of the pass at {}", pass(i - 3 * legs - 3)),
        }
    }

    fn fly(&self, x: &[f64]) -> Result<Flown, String> {
        let legs = self.flight_times.len();
        let times = x[1..=legs].to_vec();
        let mut epoch = self.options.between.0.after(x[0]);
        let mut stops = Vec::with_capacity(legs + 1);
        for (index, body) in self.bodies.iter().enumerate() {
            if index > 0 {
                epoch = epoch.after(times[index - 1]);
            }
            stops.push(Stop { state: body.state(epoch).map_err(|why| why.to_string())?, gm: body.gm() });
        }
        let told = |why: ChainError| why.to_string();
        if !self.options.deep_space {
            let ways = vec![Way::Prograde(self.normal); legs];
            let chain = powered::powered(self.gm, &stops, &times, &ways).map_err(told)?;
            let legs = stops.iter().zip(&chain.arcs);
            let course_dv = chain.pass_dv();
            return Ok(Flown {
                legs: legs.map(|(stop, arc)| (State::new(stop.state.position, arc.v1), None, arc.v2)).collect(),
                passes: chain.passes,
                departure: chain.departure,
                arrival: chain.arrival,
                course_dv,
                times,
            });
        }
        let tail = &x[legs + 4..];
        let plans: Vec<LegPlan> =
            times.iter().zip(tail).map(|(time, share)| LegPlan { time: *time, burn_share: *share }).collect();
        let passes: Vec<PassPlan> = self
            .radii
            .iter()
            .enumerate()
            .map(|(k, (least, most))| PassPlan {
                periapsis_radius: least * (most / least).powf(tail[legs + k]),
                angle: tail[legs + self.radii.len() + k],
            })
            .collect();
        let departure = deep_space::departure(x[legs + 1], x[legs + 2], x[legs + 3], &stops[0].state);
        let chain = deep_space::deep_space(self.gm, &stops, departure, &plans, &passes, self.normal).map_err(told)?;
        let course_dv = chain.burn_dv();
        Ok(Flown {
            legs: chain.legs.iter().map(|leg| (leg.start, Some((leg.coast, leg.burn)), leg.arc.v2)).collect(),
            passes: chain.passes,
            departure,
            arrival: chain.arrival,
            course_dv,
            times,
        })
    }

    fn departure_dv(&self, v_infinity: f64) -> f64 {
        let body = &self.bodies[0];
        let radius = body.radius() + self.options.parking;
        let escape = 2.0 * body.gm() / radius;
        (v_infinity * v_infinity + escape).sqrt() - (0.5 * escape).sqrt()
    }

    fn arrival_dv(&self, v_infinity: f64) -> f64 {
        let body = &self.bodies[self.bodies.len() - 1];
        self.options.arrival.map_or(0.0, |orbit| {
            let escape = 2.0 * body.gm() / orbit.periapsis_radius(body);
            (v_infinity * v_infinity + escape).sqrt() - orbit.periapsis_speed(body)
        })
    }

    /// Seconds by which an arrival misses the latest one.
    fn late(&self, x: &[f64]) -> f64 {
        let arrive =
            |by: Epoch| self.options.between.0.seconds_since(by) + x[..=self.flight_times.len()].iter().sum::<f64>();
        self.options.arrive_by.map_or(0.0, arrive).max(0.0)
    }

    pub(super) fn cost(&self, x: &[f64]) -> f64 {
        self.fly(x).map_or(f64::INFINITY, |flown| {
            let low = |(pass, (least, _)): (&Flyby, &(f64, f64))| (1.0 - pass.periapsis_radius / least).max(0.0);
            let shortfall: f64 = flown.passes.iter().zip(&self.radii).map(low).sum();
            let late = self.late(x) / self.flight_times.iter().map(|one| one.1).sum::<f64>();
            self.departure_dv(flown.departure.norm())
                + flown.course_dv
                + self.arrival_dv(flown.arrival.norm())
                + CHARGE * (shortfall + 10.0 * late)
        })
    }

    /// No place of the search has a cost: say why in the middle of the bounds.
    pub(super) fn nowhere(&self) -> TourError {
        let middle: Vec<f64> = self.bounds().iter().map(|(low, high)| 0.5 * (low + high)).collect();
        let why = self.fly(&middle).err().unwrap_or_else(|| "the search was too short to see one".to_string());
        TourError::Nowhere { why }
    }

    pub(super) fn answer(&self, found: &Found, evaluations: usize) -> Result<Tour, TourError> {
        let x = &found.x;
        let flown = self.fly(x).map_err(|why| TourError::Nowhere { why })?;
        let at_bounds = self.at_bounds(x);
        for (index, (pass, (least, _))) in flown.passes.iter().zip(&self.radii).enumerate() {
            let (body, short_by_m) = (&self.bodies[index + 1], least - pass.periapsis_radius);
            // A metre is far below what any pass is flown to.
            if short_by_m > 1.0 {
                return Err(TourError::TooLow {
                    body: body.name().to_string(),
                    least_m: least - body.radius(),
                    short_by_m,
                });
            }
        }
        let late = self.late(x);
        if late > 1.0 {
            let to = self.bodies[self.bodies.len() - 1].name().to_string();
            return Err(TourError::Late { to, late_d: late / DAY });
        }
        let departure_dv = self.departure_dv(flown.departure.norm());
        let arrival_dv = self.arrival_dv(flown.arrival.norm());
        let dv = departure_dv + flown.course_dv + arrival_dv;
        if let Some(most) = self.options.most_dv.filter(|most| dv > *most) {
            let words: Vec<String> = at_bounds
                .iter()
                .map(|one| format!("{} at its {} bound", one.what, if one.upper { "upper" } else { "lower" }))
                .collect();
            let at_bounds = if words.is_empty() { String::new() } else { format!(" ({})", words.join(", ")) };
            return Err(TourError::TooMuch { dv_m_s: dv, over_m_s: dv - most, at_bounds });
        }
        let mut legs = Vec::new();
        let mut depart = self.options.between.0.after(x[0]);
        for (index, (start, burn, end_velocity)) in flown.legs.iter().enumerate() {
            let arrive = depart.after(flown.times[index]);
            legs.push(TourLeg {
                from: self.bodies[index].clone(),
                to: self.bodies[index + 1].clone(),
                depart,
                arrive,
                start: *start,
                burn: burn.map(|(coast, dv)| (depart.after(coast), dv)),
                end_velocity: *end_velocity,
            });
            depart = arrive;
        }
        let passes: Vec<TourPass> = flown
            .passes
            .iter()
            .zip(&legs)
            .map(|(pass, leg)| TourPass {
                body: leg.to.clone(),
                epoch: leg.arrive,
                altitude: pass.altitude_above(leg.to.radius()),
                turn: pass.turn_angle,
                v_in: pass.v_in,
                v_out: pass.v_out,
                burn: pass.burn,
                gain: pass.dv(),
            })
            .collect();
        Ok(Tour {
            residuals: self.residuals(&legs, &passes)?,
            legs,
            passes,
            v_inf_depart: flown.departure,
            v_inf_arrive: flown.arrival,
            departure_dv,
            course_dv: flown.course_dv,
            arrival_dv,
            dv,
            at_bounds,
            evaluations,
            stop: found.stop,
        })
    }

    fn at_bounds(&self, x: &[f64]) -> Vec<AtBound> {
        let near = |(index, (x, (low, high))): (usize, (&f64, (f64, f64)))| {
            let rim = 1e-4 * (high - low);
            let upper = high - x <= rim;
            (high > low && (upper || x - low <= rim)).then(|| AtBound { what: self.what(index), upper })
        };
        x.iter().zip(self.bounds()).enumerate().filter_map(near).collect()
    }

    /// Flies every leg again from its start, and every pass from its periapsis.
    fn residuals(&self, legs: &[TourLeg], passes: &[TourPass]) -> Result<Residuals, TourError> {
        let mut residuals = Residuals::default();
        for leg in legs {
            let missed = |why: conic::ConicError| TourError::Nowhere { why: why.to_string() };
            let mut at = leg.start;
            let mut since = leg.depart;
            if let Some((epoch, dv)) = leg.burn {
                at = propagate(self.gm, &at, epoch.seconds_since(since)).map_err(missed)?;
                at.velocity += dv;
                since = epoch;
            }
            let end = propagate(self.gm, &at, leg.arrive.seconds_since(since)).map_err(missed)?;
            let goal = leg.to.state(leg.arrive).map_err(PlanError::from)?;
            residuals.place = residuals.place.max((end.position - goal.position).norm());
        }
        for pass in passes {
            let (gm, radius) = (pass.body.gm(), pass.body.radius() + pass.altitude);
            let half = |v: &Vec3| flyby::turn_angle(gm, v.norm(), radius).map_or(f64::NAN, |turn| 0.5 * turn);
            let bend = pass.v_in.cross(&pass.v_out).norm().atan2(pass.v_in.dot(&pass.v_out));
            residuals.turn = residuals.turn.max((half(&pass.v_in) + half(&pass.v_out) - bend).abs());
            if pass.burn == 0.0 {
                residuals.speed = residuals.speed.max((pass.v_in.norm() - pass.v_out.norm()).abs());
            }
        }
        Ok(residuals)
    }
}

/// Period of an ellipse that touches both orbits, s; of the larger orbit for a return to the same body.
fn ellipse_period(gm: f64, from: &Body, to: &Body, epoch: Epoch) -> Result<f64, TourError> {
    let radius = |body: &Body| body.state(epoch).map(|state| state.radius()).map_err(PlanError::from);
    let a = 0.5 * (radius(from)? + radius(to)?);
    Ok(TAU * (a * a * a / gm).sqrt())
}
