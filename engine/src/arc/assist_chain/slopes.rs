//! A chain with deep-space burns, and how its burns and its arrival change with every unknown.
//!
//! A search that knows the gradient descends into a valley at the price of a few evaluations where one that does not pays
//! hundreds: this is what makes chains of twenty unknowns and more searchable.

use super::deep_space::{DeepSpaceChain, LegPlan, PassPlan, deep_space, departure};
use super::{ChainError, Stop};
use crate::arc::flyby::FlybyError;

use crate::conic::{State, Transition, transition};
use crate::vector::{Mat3, Vec3};
use std::f64::consts::{FRAC_PI_2, TAU};

/// A stop that knows how it moves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MovingStop {
    /// The body at the date.
    pub stop: Stop,
    /// Change of its state with the date as the ephemeris has it, m/s and m/s².
    pub rate: State,
}

/// All unknowns of a chain with deep-space burns, dates excepted: those are in the stops.
#[derive(Clone, Debug, PartialEq)]
pub struct ChainPlan {
    /// Excess speed at departure, m/s, and its direction as in [`departure`].
    pub departure: [f64; 3],
    /// One for each leg.
    pub legs: Vec<LegPlan>,
    /// One for each stop between the first and the last.
    pub passes: Vec<PassPlan>,
}

/// The chain and its derivatives. The unknowns are in the order of [Vinko2008]: date of departure (s); speed, u, v of the departure; time of
/// each leg (s); share of each leg before its burn; periapsis radius of each pass (m); angle of each pass (rad).
#[derive(Clone, Debug, PartialEq)]
pub struct Slopes {
    /// As [`deep_space`] flies it.
    pub chain: DeepSpaceChain,
    /// Excess velocity at the departure, m/s.
    pub departure: Vec3,
    /// Change of each burn (m/s) with each unknown: a row for each leg.
    pub burns: Vec<Vec<Vec3>>,
    /// Change of the excess velocity at arrival (m/s) with each unknown.
    pub arrival: Vec<Vec3>,
}

/// Flies a chain and differentiates it. Arguments and errors as in [`deep_space`].
///
/// Derivatives are exact but for the ephemeris' own rates: each coast by its state-transition matrix, each arc by that of the arc solved for
/// the velocities at its ends.
///
/// # Errors
/// As [`deep_space`]; derivatives that are not finite (an arc through the centre, or of exactly half a revolution).
///
/// # Source
/// The chain rule; matrices by [`transition`].
pub fn slopes(gm: f64, stops: &[MovingStop], plan: &ChainPlan, normal: Vec3) -> Result<Slopes, ChainError> {
    let plain: Vec<Stop> = stops.iter().map(|moving| moving.stop).collect();
    let Some(first) = stops.first() else {
        return Err(ChainError::Count { what: "stops or more", wanted: 2, given: 0 });
    };
    let [speed, u, v] = plan.departure;
    let away = departure(speed, u, v, &first.stop.state);
    let chain = deep_space(gm, &plain, away, &plan.legs, &plan.passes, normal)?;
    let legs = chain.legs.len();
    let unknowns = 4 + 2 * legs + 2 * (legs - 1);
    // Change of the excess velocity that the leg begins with, by each unknown.
    let mut start = vec![Vec3::zeros(); unknowns];
    start[..4].copy_from_slice(&departure_slopes(plan.departure, first));
    let mut burns = Vec::with_capacity(legs);
    for (index, flown) in chain.legs.iter().enumerate() {
        let leg = index + 1;
        let (from, to, time) = (&stops[index], &stops[leg], plan.legs[index].time);
        let share = plan.legs[index].burn_share;
        let coast = transition(gm, &flown.start, flown.coast).map_err(|why| ChainError::Coast { leg, why })?;
        let place = flown.before_burn.position;
        let arc = transition(gm, &State::new(place, flown.arc.v1), flown.rest)
            .map_err(|why| ChainError::Coast { leg, why })?;
        let turned = arc.place_by_velocity.try_inverse().ok_or(ChainError::Slopes { leg })?;
        let ends = Ends { gm, coast: &coast, before: &flown.before_burn, arc: &arc, turned: &turned };
        let mut of_burn = vec![Vec3::zeros(); unknowns];
        let mut next = vec![Vec3::zeros(); unknowns];
        let pass =
            plan.passes.get(index).map(|pass| PassSlopes::new(&to.stop, &flown.arc.v2, pass, leg)).transpose()?;
        let (time_at, share_at) = (4 + index, 4 + legs + index);
        for k in 0..unknowns {
            // Unknowns of later legs do not reach back here.
            let later = (4..4 + legs).contains(&k) && k > time_at
                || (4 + legs..4 + 2 * legs).contains(&k) && k > share_at
                || k >= 4 + 2 * legs && (k - 4 - 2 * legs) % (legs - 1) >= index;
            if later {
                continue;
            }
            let dates = k == 0 || (4..4 + legs).contains(&k);
            let (began, ended) = (f64::from(dates && k != time_at), f64::from(dates));
            let (more_coast, more_rest) = if k == time_at {
                (share, 1.0 - share)
            } else if k == share_at {
                (time, -time)
            } else {
                (0.0, 0.0)
            };
            let at_start = State::new(from.rate.position * began, from.rate.velocity * began + start[k]);
            let (burn, end) = ends.change(&at_start, more_coast, &(to.rate.position * ended), more_rest);
            of_burn[k] = burn;
            let body = to.rate.velocity * ended;
            next[k] = match &pass {
                Some(pass) => pass.change(&(end - body), &body, 0.0, 0.0),
                None => end - body,
            };
        }
        if let Some(pass) = &pass {
            let (radius_at, angle_at) = (4 + 2 * legs + index, 4 + 2 * legs + (legs - 1) + index);
            let none = Vec3::zeros();
            next[radius_at] = pass.change(&none, &none, 1.0, 0.0);
            next[angle_at] = pass.change(&none, &none, 0.0, 1.0);
        }
        if !next.iter().chain(&of_burn).all(|d| d.iter().all(|x| x.is_finite())) {
            return Err(ChainError::Slopes { leg });
        }
        burns.push(of_burn);
        start = next;
    }
    Ok(Slopes { chain, departure: away, burns, arrival: start })
}

/// A coast, a burn and an arc, ready to be differentiated.
struct Ends<'a> {
    gm: f64,
    coast: &'a Transition,
    before: &'a State,
    arc: &'a Transition,
    /// Inverse of the arc's place by velocity.
    turned: &'a Mat3,
}

impl Ends<'_> {
    /// Changes of the burn and of the velocity at the arc's end, for changes of the start, of both times and of the goal.
    fn change(&self, start: &State, coast: f64, goal: &Vec3, rest: f64) -> (Vec3, Vec3) {
        let pull = |place: &Vec3| -self.gm / place.norm().powi(3) * place;
        let place = self.coast.place_by_place * start.position
            + self.coast.place_by_velocity * start.velocity
            + self.before.velocity * coast;
        let velocity = self.coast.velocity_by_place * start.position
            + self.coast.velocity_by_velocity * start.velocity
            + pull(&self.before.position) * coast;
        let end = &self.arc.end;
        let first = self.turned * (goal - self.arc.place_by_place * place - end.velocity * rest);
        let last =
            self.arc.velocity_by_place * place + self.arc.velocity_by_velocity * first + pull(&end.position) * rest;
        (first - velocity, last)
    }
}

/// Change of the departure's excess velocity with the date (1/s), the speed, u and v.
fn departure_slopes([speed, u, v]: [f64; 3], from: &MovingStop) -> [Vec3; 4] {
    let (state, rate) = (&from.stop.state, &from.rate);
    let (along, d_along) = direction(&state.velocity, &rate.velocity);
    let momentum = state.position.cross(&state.velocity);
    let d_momentum = rate.position.cross(&state.velocity) + state.position.cross(&rate.velocity);
    let (normal, d_normal) = direction(&momentum, &d_momentum);
    let across = normal.cross(&along);
    let d_across = d_normal.cross(&along) + normal.cross(&d_along);
    let height = (2.0 * v - 1.0).clamp(-1.0, 1.0);
    let ((sin_t, cos_t), (sin_p, cos_p)) = ((TAU * u).sin_cos(), (height.acos() - FRAC_PI_2).sin_cos());
    let unit = |a: &Vec3, b: &Vec3, c: &Vec3| cos_t * cos_p * a + sin_t * cos_p * b + sin_p * c;
    // sin φ = −(2v − 1): it falls by 2 for each unit of v; cos φ = √(1 − sin²φ) follows, held off its pole.
    let d_sin_p = -2.0;
    let d_cos_p = -sin_p * d_sin_p / cos_p.max(1e-9);
    [
        speed * unit(&d_along, &d_across, &d_normal),
        unit(&along, &across, &normal),
        speed * TAU * cos_p * (cos_t * across - sin_t * along),
        speed * (d_cos_p * (cos_t * along + sin_t * across) + d_sin_p * normal),
    ]
}

/// The unit vector along `of`, and its change.
fn direction(of: &Vec3, change: &Vec3) -> (Vec3, Vec3) {
    let size = of.norm();
    let unit = of / size;
    (unit, (change - unit * unit.dot(change)) / size)
}

/// An unpowered pass, ready to be differentiated.
struct PassSlopes {
    gm: f64,
    v_in: Vec3,
    body: Vec3,
    radius: f64,
    angle: f64,
}

impl PassSlopes {
    fn new(stop: &Stop, velocity: &Vec3, plan: &PassPlan, pass: usize) -> Result<Self, ChainError> {
        let v_in = velocity - stop.state.velocity;
        if v_in.cross(&stop.state.velocity).norm() > 0.0 {
            Ok(Self { gm: stop.gm, v_in, body: stop.state.velocity, radius: plan.periapsis_radius, angle: plan.angle })
        } else {
            Err(ChainError::Pass { pass, why: FlybyError::NoDirection })
        }
    }

    /// Change of the outgoing excess velocity, for changes of the incoming one, the body's velocity, the periapsis radius and the angle.
    fn change(&self, v_in: &Vec3, body: &Vec3, radius: f64, angle: f64) -> Vec3 {
        let speed = self.v_in.norm();
        let (along, d_along) = direction(&self.v_in, v_in);
        let d_speed = along.dot(v_in);
        let (first, d_first) = direction(&along.cross(&self.body), &(d_along.cross(&self.body) + along.cross(body)));
        let second = along.cross(&first);
        let d_second = d_along.cross(&first) + along.cross(&d_first);
        let per = 1.0 / self.gm;
        let k = self.radius * speed * speed * per;
        let d_e = (radius * speed + 2.0 * self.radius * d_speed) * speed * per;
        let (e, root) = (1.0 + k, (k * (2.0 + k)).sqrt());
        let turn = 2.0 * 1.0_f64.atan2(root);
        let d_turn = -2.0 * d_e / (e * root);
        let ((sin_t, cos_t), (sin_b, cos_b)) = (turn.sin_cos(), self.angle.sin_cos());
        let aside = cos_b * first + sin_b * second;
        let d_aside = cos_b * d_first + sin_b * d_second + angle * (cos_b * second - sin_b * first);
        d_speed * (cos_t * along + sin_t * aside)
            + speed * (cos_t * d_along + sin_t * d_aside + d_turn * (cos_t * aside - sin_t * along))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NORTH: Vec3 = Vec3::new(0.0, 0.0, 1.0);

    /// A body on a tilted circle about a centre of gm 1, with what it does to its passers-by.
    fn body(radius: f64, phase: f64, date: f64) -> MovingStop {
        let rate = radius.powf(-1.5);
        let (s, c) = (phase + rate * date).sin_cos();
        let (x, y) = (Vec3::new(1.0, 0.0, 0.05), Vec3::new(0.0, 1.0, -0.02));
        let place = radius * (c * x + s * y);
        let velocity = radius * rate * (c * y - s * x);
        MovingStop {
            stop: Stop { state: State::new(place, velocity), gm: 1e-5 },
            rate: State::new(velocity, -rate * rate * place),
        }
    }

    fn fly(x: &[f64]) -> Slopes {
        let dates = [x[0], x[0] + x[4], x[0] + x[4] + x[5], x[0] + x[4] + x[5] + x[6]];
        let stops = [(1.0, 0.0), (0.7, 1.9), (1.5, 2.0), (2.4, 2.5)];
        let stops: Vec<MovingStop> = stops.iter().zip(dates).map(|((r, p), date)| body(*r, *p, date)).collect();
        let plan = ChainPlan {
            departure: [x[1], x[2], x[3]],
            legs: (0..3).map(|k| LegPlan { time: x[4 + k], burn_share: x[7 + k] }).collect(),
            passes: (0..2).map(|k| PassPlan { periapsis_radius: x[10 + k], angle: x[12 + k] }).collect(),
        };
        slopes(1.0, &stops, &plan, NORTH).unwrap()
    }

    #[test]
    fn slopes_are_those_of_differences() {
        let x = [0.3, 0.11, 0.21, 0.63, 1.9, 2.6, 4.1, 0.31, 0.55, 0.42, 1.1e-3, 2.3e-3, 0.7, -1.2];
        let here = fly(&x);
        for k in 0..x.len() {
            // Central differences: their error, third derivative times the step squared, and the rounding of the values over the step are
            // both far below 1e-6 of the largest slope.
            let step = 1e-6 * x[k].abs();
            let [low, high] = [-step, step].map(|by| {
                let mut moved = x;
                moved[k] += by;
                fly(&moved)
            });
            let check = |slope: &Vec3, low: Vec3, high: Vec3, what: &str| {
                let differences = (high - low) / (2.0 * step);
                let scale = differences.norm().max(1e-2);
                assert!((slope - differences).norm() < 1e-6 * scale, "{what} by {k}: {slope:?} {differences:?}");
            };
            check(&here.arrival[k], low.chain.arrival, high.chain.arrival, "arrival");
            for leg in 0..3 {
                check(&here.burns[leg][k], low.chain.legs[leg].burn, high.chain.legs[leg].burn, "burn");
            }
        }
    }
}
