//! A sequence with its dates, bounds and costs: what a search varies and what it pays.

use super::itinerary::{Itinerary, LegKind};
use super::layout::Layout;
use super::path::{Offsets, Path};
use super::{TourError, TourOptions};
use crate::arc::parking::check_altitude;
use crate::arc::plan_error::PlanError;
use crate::arc::transfer::DAY;
use crate::conic;
use crate::orbit::Orbit;
use crate::system::{Air, Body};
use crate::time::Epoch;
use crate::vector::Vec3;
use std::f64::consts::TAU;

/// What a shortfall is charged while searching, m/s for each share of its limit: more than any tour worth flying saves by it.
pub(super) const CHARGE: f64 = 20e3;

/// Share of the least radius that the search keeps above it, so that the charge leaves the answer inside its bound.
const ABOVE: f64 = 1e-5;

/// A sequence ready to be searched.
pub(super) struct Chain<'a> {
    pub(super) itinerary: Itinerary,
    pub(super) options: &'a TourOptions,
    /// Of the parent, m³/s².
    pub(super) gm: f64,
    /// Arcs go counter-clockwise about it.
    pub(super) normal: Vec3,
    pub(super) flight_times: Vec<(f64, f64)>,
    /// Least and greatest periapsis radius of each pass, m.
    pub(super) radii: Vec<(f64, f64)>,
    pub(super) layout: Layout,
}

/// The body that all bodies of a tour circle.
pub(super) fn common_parent(bodies: &[Body]) -> Result<Body, TourError> {
    let name = |body: &Body| body.parent().map_or_else(String::new, |parent| parent.name().to_string());
    let Some(parent) = bodies.first().and_then(Body::parent) else {
        let about = bodies.first().map_or_else(String::new, |body| body.name().to_string());
        return Err(PlanError::NoArc { about, days: 0.0 }.into());
    };
    match bodies.iter().find(|body| body.parent().as_ref() != Some(&parent)) {
        Some(other) => Err(TourError::Parents {
            first: bodies[0].name().to_string(),
            first_parent: name(&bodies[0]),
            second: other.name().to_string(),
            second_parent: name(other),
        }),
        None => Ok(parent),
    }
}

/// Least and greatest periapsis radius of a pass, m: not below the wanted least altitude, the top of the air or the outer edge of a
/// ring, not beyond half the sphere of influence.
pub(super) fn pass_radii(body: &Body, options: &TourOptions) -> Result<(f64, f64), TourError> {
    let own = options.altitudes.iter().find(|(name, _, _)| name == body.name());
    let least = own.map_or(options.least_altitude, |(_, least, _)| *least);
    // A ring is crossed wherever the hyperbola meets the equator: only a pass outside of it is clear for every plane.
    let ring = body.ring().map_or(0.0, |ring| ring.outer - body.radius());
    let floor = least.max(body.air().map_or(0.0, Air::top)).max(ring).max(0.0);
    check_altitude(body, floor.max(1.0))?;
    let sphere = 0.5 * body.sphere_of_influence();
    let most = own.map_or(sphere, |(_, _, most)| (body.radius() + most).min(sphere));
    if !(most >= body.radius() + floor) {
        return Err(TourError::NoRoom {
            body: body.name().to_string(),
            least_m: floor,
            most_m: most - body.radius(),
            short_by_m: body.radius() + floor - most,
        });
    }
    Ok((body.radius() + floor, most))
}

impl<'a> Chain<'a> {
    pub(super) fn new(itinerary: Itinerary, options: &'a TourOptions) -> Result<Self, TourError> {
        let bodies = &itinerary.bodies;
        let (first, last) = (&bodies[0], &bodies[bodies.len() - 1]);
        let parent = common_parent(bodies)?;
        let (begin, end) = options.between;
        if end < begin {
            return Err(PlanError::Span { from: begin, to: end }.into());
        }
        check_altitude(first, options.parking)?;
        if let Some(arrival) = options.arrival {
            arrival.check(last)?;
        }
        let gm = Orbit::gm_of(&parent);
        let legs = bodies.len() - 1;
        let periods: Vec<f64> = bodies.iter().map(|body| period(gm, body, begin)).collect::<Result<_, TourError>>()?;
        let mut flight_times = match &options.flight_times {
            Some(given) if given.len() == legs => given.clone(),
            Some(given) => return Err(TourError::FlightTimeCount { legs, given: given.len() }),
            None => (0..legs).map(|leg| usual_times(itinerary.kinds[leg], periods[leg], periods[leg + 1])).collect(),
        };
        for (leg, time) in flight_times.iter_mut().enumerate() {
            let (least, most) = *time;
            if !(least > 0.0 && least <= most && most.is_finite()) {
                return Err(PlanError::FlightTimes { least_d: least / DAY, most_d: most / DAY }.into());
            }
            if let LegKind::Resonant { body_turns, .. } = itinerary.kinds[leg] {
                let whole = f64::from(body_turns) * periods[leg];
                *time = (whole, whole);
            }
        }
        if let Some(arrive_by) = options.arrive_by {
            let late = begin.seconds_since(arrive_by) + flight_times.iter().map(|one| one.0).sum::<f64>();
            if late > 0.0 {
                return Err(TourError::TooLate { to: last.name().to_string(), arrive_by, late_d: late / DAY });
            }
        }
        let radii = bodies[1..legs].iter().map(|body| pass_radii(body, options)).collect::<Result<Vec<_>, _>>()?;
        let state = first.state(begin).map_err(PlanError::from)?;
        let most = options.most_excess.unwrap_or(0.5 * state.speed());
        let speeds = ((0.01 * state.speed()).min(0.5 * most), most);
        let layout = Layout::new(&itinerary, end.seconds_since(begin), &flight_times, speeds);
        let normal = conic::angular_momentum(&state);
        Ok(Self { itinerary, options, gm, normal, flight_times, radii, layout })
    }

    pub(super) fn legs(&self) -> usize {
        self.itinerary.kinds.len()
    }

    pub(super) fn body(&self, index: usize) -> &Body {
        &self.itinerary.bodies[index]
    }

    pub(super) fn last(&self) -> &Body {
        self.body(self.legs())
    }

    /// Epochs at which the bodies are met.
    pub(super) fn epochs(&self, x: &[f64]) -> Vec<Epoch> {
        let mut epochs = vec![self.options.between.0.after(x[0])];
        for leg in 0..self.legs() {
            epochs.push(epochs[leg].after(x[leg + 1]));
        }
        epochs
    }

    pub(super) fn departure_dv(&self, v_infinity: f64) -> f64 {
        let body = self.body(0);
        let radius = body.radius() + self.options.parking;
        let escape = 2.0 * body.gm() / radius;
        (v_infinity * v_infinity + escape).sqrt() - (0.5 * escape).sqrt()
    }

    pub(super) fn arrival_dv(&self, v_infinity: f64) -> f64 {
        let body = self.last();
        self.options.arrival.map_or(0.0, |orbit| {
            let escape = 2.0 * body.gm() / orbit.periapsis_radius(body);
            (v_infinity * v_infinity + escape).sqrt() - orbit.periapsis_speed(body)
        })
    }

    /// Departure Δv with the charge for an excess speed above the greatest.
    pub(super) fn departure_cost(&self, v_infinity: f64) -> f64 {
        let over = self.options.most_excess.map_or(0.0, |most| (v_infinity / most - 1.0).max(0.0));
        self.departure_dv(v_infinity) + CHARGE * over
    }

    /// Charge for a periapsis outside of its bounds.
    pub(super) fn pass_charge(&self, pass: usize, periapsis_radius: f64) -> f64 {
        let (least, most) = self.radii[pass];
        let low = (1.0 + ABOVE - periapsis_radius / least).max(0.0);
        // Beyond the greatest there is hardly any bend: a gentle slope leads back from far away.
        let high = (periapsis_radius / (most * (1.0 - ABOVE))).ln().max(0.0);
        CHARGE * (low + high.min(1.0) + 0.01 * (high - 1.0).max(0.0))
    }

    /// Seconds by which an arrival misses the latest one.
    pub(super) fn late(&self, x: &[f64]) -> f64 {
        let arrive = |by: Epoch| self.options.between.0.seconds_since(by) + x[..=self.legs()].iter().sum::<f64>();
        self.options.arrive_by.map_or(0.0, arrive).max(0.0)
    }

    /// Cost of a place of the search, m/s, charges included.
    pub(super) fn cost(&self, x: &[f64], offsets: &Offsets) -> f64 {
        Path::best(self, x, offsets).map_or(f64::INFINITY, |path| {
            let late = self.late(x) / self.flight_times.iter().map(|one| one.1).sum::<f64>();
            path.cost + CHARGE * 10.0 * late
        })
    }

    /// No place of the search has a cost: say why in the middle of the bounds.
    pub(super) fn nowhere(&self) -> TourError {
        let middle: Vec<f64> = self.layout.bounds.iter().map(|(low, high)| 0.5 * (low + high)).collect();
        let none = Offsets::none(self.legs());
        let why = Path::best(self, &middle, &none).err();
        TourError::Nowhere { why: why.unwrap_or_else(|| "the search was too short to see one".to_string()) }
    }
}

/// Period of a body about the parent at an epoch, s.
fn period(gm: f64, body: &Body, epoch: Epoch) -> Result<f64, TourError> {
    let state = body.state(epoch).map_err(PlanError::from)?;
    let axis = -0.5 * gm / conic::energy(gm, &state);
    if axis > 0.0 {
        Ok(TAU * (axis * axis * axis / gm).sqrt())
    } else {
        Err(PlanError::NoArc { about: body.name().to_string(), days: 0.0 }.into())
    }
}

/// Shortest and longest time of a leg when none is given, s: a tenth to one and a half of the period of an ellipse that touches
/// both orbits; between two passes of one body up to three of its turns.
fn usual_times(kind: LegKind, from: f64, to: f64) -> (f64, f64) {
    // Axes go with the power 2/3 of the periods.
    let mean = (0.5 * (from.powf(2.0 / 3.0) + to.powf(2.0 / 3.0))).powf(1.5);
    match kind {
        LegKind::Arc | LegKind::Resonant { .. } if from == to => (0.3 * mean, 3.2 * mean),
        LegKind::DeepSpace if from == to => (0.7 * mean, 3.2 * mean),
        _ => (0.1 * mean, 1.5 * mean),
    }
}
