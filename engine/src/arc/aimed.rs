//! A transfer that keeps the rule of the patched conics at both ends: centres are missed by the aims of their hyperbolas.
//!
//! The arc centre to centre is an estimate: the departure's asymptote does not pass through the body's centre, and an
//! arrival at a moon misses its planet by a million kilometres. Putting each hyperbola's aim back into the arc and solving again
//! closes in a few rounds, because an aim moves the far end far less than itself.

use super::asymptote::periapsis_arriving;
use super::capture::{ArrivalPlane, aim, arrival_normal};
use super::departure::{LABEL, leave, planned};
use super::lambert::{self, Branch, Way};
use super::parking::{ArrivalOrbit, Parking};
use super::plan_error::PlanError;
use super::route::Route;
use super::transfer::{Arc, DAY, Family, Offsets, Solved, solve};
use crate::burn::Burn;
use crate::conic::{self, State};
use crate::numerics::minimum;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;
use nalgebra::{DMatrix, DVector};

/// The question a plan answers, but for its dates.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Trip {
    pub route: Route,
    pub from: Body,
    pub to: Body,
    pub parking: Parking,
    pub arrival: Option<ArrivalOrbit>,
    /// Periapsis radius at arrival, m.
    pub arrival_radius: f64,
    pub plane: ArrivalPlane,
    /// Which arc joins the ends.
    pub family: Family,
}

/// A plan with its dates: from the parking orbit to periapsis at the goal.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Flight {
    pub arc: Arc,
    /// The orbit departed from, at the burn.
    pub parking: Orbit,
    pub burn: Burn,
    /// State right after the burn, about the body departed from.
    pub after: State,
    /// At periapsis about the goal.
    pub arrival: Orbit,
    /// The aim at the goal, m; none on an arc that stays bound to it.
    pub aim: Option<Vec3>,
    /// By how much the aims moved in the last round, m.
    pub closure: f64,
}

/// Rounds of putting the aims back. Most plans close in four to eight; what has not closed by then never will.
const ROUNDS: usize = 40;

/// Newton steps where the secants did not close, and the difference of their Jacobian, m: far above the rounding of an aim (1e-5 m),
/// far below the scale of its curvature.
const NEWTON_STEPS: usize = 8;
const DIFFERENCE: f64 = 1e3;

/// A second of waiting for a place on a given orbit counts as much as this many metres of an aim: the speed of the bodies.
const METRES_A_SECOND: f64 = 1e4;

impl Offsets {
    /// All components in a row, and a wait (s).
    fn numbers(&self, wait: f64) -> DVector<f64> {
        let all = self.start.iter().chain(&self.goal).flat_map(|v| [v.x, v.y, v.z]);
        DVector::from_vec(all.chain([wait * METRES_A_SECOND]).collect())
    }

    /// The same shape filled from a row, and the wait (s).
    fn filled(&self, row: &DVector<f64>) -> (Self, f64) {
        let vector = |i: usize| Vec3::new(row[3 * i], row[3 * i + 1], row[3 * i + 2]);
        let first = self.start.len();
        let start = (0..first).map(vector).collect();
        let goal = (first..first + self.goal.len()).map(vector).collect();
        (Self { start, goal }, row[row.len() - 1] / METRES_A_SECOND)
    }
}

/// What the last round of a plan may still move the aims, m.
pub(super) const CLOSED: f64 = 0.01;

/// The same while searching: far below what shows in a cost.
pub(super) const NEARLY: f64 = 100.0;

impl Trip {
    /// Radius (m) of the departure, which an arc from an orbit about the central body starts from.
    pub(super) fn start_radius(&self) -> f64 {
        match &self.parking {
            Parking::Altitude(altitude) => self.from.radius() + altitude,
            Parking::Orbit(orbit) => orbit.radius(),
        }
    }

    /// Periapsis radius of the arc about the central body, when one of the ends is that body.
    pub(super) fn central_periapsis(&self) -> Option<f64> {
        if self.route.down_to_start.is_empty() {
            Some(self.start_radius())
        } else if self.route.down_to_goal.is_empty() {
            Some(self.arrival_radius)
        } else {
            None
        }
    }

    /// The arc for these dates, the centres missed by `offsets`.
    fn solved(&self, leave: Epoch, meet: Epoch, offsets: &Offsets) -> Result<Solved, PlanError> {
        let ends = (&self.from, &self.to);
        solve(&self.route, ends, leave, meet, self.central_periapsis(), offsets, self.family)
    }

    /// The arc centre to centre for these dates.
    pub(super) fn centre_to_centre(&self, leave: Epoch, meet: Epoch) -> Result<Solved, PlanError> {
        let offsets = Offsets::none(&self.route);
        self.solved(leave, meet, &offsets)
    }

    /// The plan for these dates of the central arc, aims included until the last round moves them by less than `closed` (m).
    ///
    /// # Source
    /// Aims go in, aims come out: a fixed point, found by Broyden's secant updates of its Jacobian ([Broyden1965]), started from
    /// the plain iteration, which alone closes slowly where an arc of nearly half a revolution turns a small aim into a large tilt.
    pub(super) fn aimed(&self, leave: Epoch, meet: Epoch, closed: f64) -> Result<Flight, PlanError> {
        let mut shape = Offsets::none(&self.route);
        if let Parking::Orbit(orbit) = &self.parking
            && !self.route.down_to_start.is_empty()
        {
            // From near the answer the place on a given orbit comes round at one and the same passage.
            let altitude = orbit.radius() - self.from.radius();
            let free = Trip { parking: Parking::Altitude(altitude), ..self.clone() };
            shape = free.aims(leave, meet, closed)?.1;
        }
        Ok(self.closed(leave, meet, closed, shape)?.0)
    }

    /// As [`Trip::aimed`], with the aims.
    fn aims(&self, leave: Epoch, meet: Epoch, closed: f64) -> Result<(Flight, Offsets), PlanError> {
        self.closed(leave, meet, closed, Offsets::none(&self.route))
    }

    fn closed(&self, leave: Epoch, meet: Epoch, closed: f64, shape: Offsets) -> Result<(Flight, Offsets), PlanError> {
        let mut x = shape.numbers(0.0);
        let mut round = self.round(leave, meet, &shape)?;
        let mut residual = round.offsets.numbers(round.late) - &x;
        let mut inverse = DMatrix::<f64>::identity(x.len(), x.len());
        for _ in 0..ROUNDS {
            round.flight.closure = residual.amax();
            if residual.amax() < closed {
                break;
            }
            let mut step = &inverse * &residual;
            let mut next = None;
            // A step that leaves what can be flown is halved.
            for _ in 0..5 {
                let (offsets, late) = shape.filled(&(&x + &step));
                match self.round(leave.after(late), meet, &offsets) {
                    Ok(there) => {
                        next = Some((offsets.numbers(late), there, late));
                        break;
                    }
                    Err(_) => step *= 0.5,
                }
            }
            let Some((there_x, there, late)) = next else { break };
            let there_residual = there.offsets.numbers(late + there.late) - &there_x;
            let moved = &there_x - &x;
            let changed = &residual - &there_residual;
            let ahead = &inverse * &changed;
            let scale = moved.dot(&ahead);
            if scale.abs() > 1e-300 {
                let row = moved.transpose() * &inverse;
                inverse += (&moved - &ahead) * row / scale;
            }
            (x, residual, round) = (there_x, there_residual, there);
        }
        if residual.amax() >= closed {
            // Secants were led astray, most often by an arc close to half a revolution: Newton with the Jacobian by differences.
            for _ in 0..NEWTON_STEPS {
                let Some(step) = self.newton_step(leave, meet, &shape, &x, &residual) else { break };
                let there_x = &x + step;
                let (offsets, late) = shape.filled(&there_x);
                let Ok(there) = self.round(leave.after(late), meet, &offsets) else { break };
                residual = there.offsets.numbers(late + there.late) - &there_x;
                (x, round) = (there_x, there);
                round.flight.closure = residual.amax();
                if residual.amax() < closed {
                    break;
                }
            }
        }
        let (offsets, _) = shape.filled(&x);
        Ok((round.flight, offsets))
    }

    /// Newton's step of the fixed point, its Jacobian by differences.
    fn newton_step(
        &self,
        leave: Epoch,
        meet: Epoch,
        shape: &Offsets,
        x: &DVector<f64>,
        residual: &DVector<f64>,
    ) -> Option<DVector<f64>> {
        let count = x.len();
        let mut jacobian = DMatrix::<f64>::zeros(count, count);
        for i in 0..count {
            let mut aside = x.clone();
            aside[i] += DIFFERENCE;
            let (offsets, late) = shape.filled(&aside);
            let there = self.round(leave.after(late), meet, &offsets).ok()?;
            let changed = there.offsets.numbers(late + there.late) - &aside;
            jacobian.set_column(i, &((changed - residual) / DIFFERENCE));
        }
        jacobian.lu().solve(&-residual)
    }

    fn round(&self, start: Epoch, meet: Epoch, offsets: &Offsets) -> Result<Round, PlanError> {
        let mut next = Offsets::none(&self.route);
        let mut late = 0.0;
        let given_climb = match &self.parking {
            Parking::Orbit(orbit) if self.route.down_to_start.is_empty() => Some(orbit),
            _ => None,
        };
        let solved = match given_climb {
            Some(orbit) => self.ascend(orbit, start, meet, offsets)?,
            None => self.solved(start, meet, offsets)?,
        };
        let arc = solved.arc;
        let (parking, burn, after) = match (arc.v_inf_depart, given_climb) {
            (Some(v_infinity), _) => {
                let departure = leave(&self.from, &self.parking, v_infinity, arc.depart)?;
                late = departure.periapsis.seconds_since(arc.depart);
                if let Some(last) = next.start.last_mut() {
                    *last = departure.foot;
                }
                (departure.parking, departure.burn, departure.after)
            }
            (None, Some(orbit)) => {
                let parking = orbit.after(arc.depart.seconds_since(orbit.epoch()))?;
                let after = State { position: parking.state().position, velocity: arc.v1 };
                let burn = planned(&parking, after.velocity - parking.state().velocity, LABEL)?;
                (parking, burn, after)
            }
            (None, None) => {
                let after = arc.start();
                let circular = after.velocity.normalize() * (Orbit::gm_of(&self.from) / after.position.norm()).sqrt();
                let before = State { position: after.position, velocity: circular };
                let parking = Orbit::new(self.from.clone(), arc.depart, before)?;
                let burn = planned(&parking, after.velocity - circular, LABEL)?;
                (parking, burn, after)
            }
        };
        for (passage, offset) in arc.outward.iter().zip(next.start.iter_mut()) {
            *offset = passage.foot;
        }
        for (passage, offset) in arc.inward.iter().zip(next.goal.iter_mut()) {
            *offset = passage.foot;
        }
        let (arrival, aim) = if let Some(v_infinity) = arc.v_inf_arrive {
            let normal = arrival_normal(&self.to, &v_infinity, arc.arrive, self.plane);
            let (position, velocity) =
                periapsis_arriving(Orbit::gm_of(&self.to), &v_infinity, self.arrival_radius, &normal);
            let aim = aim(&self.to, &v_infinity, &normal, self.arrival_radius);
            if let Some(last) = next.goal.last_mut() {
                *last = aim;
            }
            (Orbit::new(self.to.clone(), arc.arrive, State { position, velocity })?, Some(aim))
        } else {
            (arc.orbit.after(arc.meet.seconds_since(arc.leave))?, None)
        };
        let flight = Flight { arc, parking, burn, after, arrival, aim, closure: f64::INFINITY };
        Ok(Round { flight, offsets: next, late })
    }

    /// From a given orbit about the central body to its moon: Lambert arcs from every place of one revolution, the
    /// cheapest of them.
    pub(super) fn ascend(
        &self,
        orbit: &Orbit,
        start: Epoch,
        meet: Epoch,
        offsets: &Offsets,
    ) -> Result<Solved, PlanError> {
        let no_arc =
            || PlanError::NoArc { about: self.route.about.name().to_string(), days: meet.seconds_since(start) / DAY };
        let period = orbit.period().ok_or_else(|| PlanError::Parking { body: self.from.name().to_string() })?;
        let first = self.route.down_to_goal.first().ok_or_else(no_arc)?;
        let goal = first.state(meet)?;
        let gm = orbit.gm();
        let near = *orbit.after(start.seconds_since(orbit.epoch()))?.state();
        let far = goal.position + offsets.goal.first().copied().unwrap_or_else(Vec3::zeros);
        let seconds = meet.seconds_since(start);
        let sense = Way::Prograde(conic::angular_momentum(&near));
        let at = |wait: f64| {
            let here = conic::propagate(gm, &near, wait).ok()?;
            let arc = lambert::solve_one(gm, &here.position, &far, seconds - wait, sense, 0, Branch::Single).ok()?;
            Some((here, arc, (arc.v1 - here.velocity).norm()))
        };
        let cost = |wait: f64| at(wait).map_or(f64::INFINITY, |(_, _, dv)| dv);
        let places = 36;
        let step = period / f64::from(places);
        let best = (-places / 2..places / 2)
            .map(|k| f64::from(k) * step)
            .min_by(|a, b| cost(*a).total_cmp(&cost(*b)))
            .ok_or_else(no_arc)?;
        let (wait, _) = minimum::bracketed(cost, best - step, best + step, 1e-9 * period);
        let wait = if cost(wait) <= cost(best) { wait } else { best };
        let (here, arc, _) = at(wait).ok_or_else(no_arc)?;
        let moment = start.after(wait);
        // The hyperbolas at the far end follow from the central arc as usual.
        let start_state = State { position: here.position, velocity: arc.v1 };
        let v_infinity = arc.v2 - goal.velocity;
        let inward = super::nested::passages(
            &self.route.down_to_goal,
            v_infinity,
            meet,
            super::nested::Bound::Inward,
            &offsets.goal,
        )?;
        let arc = Arc {
            from: self.from.clone(),
            to: self.to.clone(),
            about: self.route.about.clone(),
            depart: moment,
            arrive: inward.last().map_or(meet, |p| p.epoch),
            leave: moment,
            meet,
            v1: arc.v1,
            v2: arc.v2,
            orbit: Orbit::new(self.route.about.clone(), moment, start_state)?,
            c3: 2.0 * conic::energy(gm, &start_state),
            v_inf_depart: None,
            v_inf_arrive: Some(inward.last().map_or(v_infinity, |p| p.v_infinity_moon)),
            theta: arc.transfer_angle,
            family: Family::DIRECT,
            outward: Vec::new(),
            inward,
        };
        Ok(Solved { arc, periapsis: Some(start_state) })
    }
}

impl Flight {
    /// Arrive with another excess velocity (m/s): the aim and the state at periapsis that it asks for.
    pub(super) fn arrive_with(&mut self, trip: &Trip, v_infinity: Vec3) -> Result<(), PlanError> {
        let normal = arrival_normal(&trip.to, &v_infinity, self.arc.arrive, trip.plane);
        let gm = Orbit::gm_of(&trip.to);
        let (position, velocity) = periapsis_arriving(gm, &v_infinity, trip.arrival_radius, &normal);
        self.arc.v_inf_arrive = Some(v_infinity);
        self.aim = Some(aim(&trip.to, &v_infinity, &normal, trip.arrival_radius));
        self.arrival = Orbit::new(trip.to.clone(), self.arc.arrive, State { position, velocity })?;
        Ok(())
    }
}

struct Round {
    flight: Flight,
    offsets: Offsets,
    /// By how much the place on a given orbit comes later than the central arc's beginning, s.
    late: f64,
}
