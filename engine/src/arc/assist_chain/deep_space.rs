//! A chain with unpowered passes and one burn between the bodies on each leg.

use super::{ChainError, Stop, counted};
use crate::arc::flyby::{self, Flyby, FlybyError};
use crate::arc::lambert::{self, Branch, LambertArc, Way};
use crate::conic::{State, propagate};
use crate::vector::Vec3;
use std::f64::consts::{FRAC_PI_2, TAU};

/// What is chosen on a leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegPlan {
    /// From stop to stop, s.
    pub time: f64,
    /// Share of the time before the burn, above 0 and below 1.
    pub burn_share: f64,
}

/// What is chosen at a pass.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PassPlan {
    /// m from the body's centre.
    pub periapsis_radius: f64,
    /// Plane of the bend, rad: 0 bends towards v_in × (velocity of the body), growing about v_in.
    pub angle: f64,
}

/// One leg as it is flown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DeepSpaceLeg {
    /// Leaving the stop, about the centre.
    pub start: State,
    /// At the burn's place, before the burn.
    pub before_burn: State,
    /// m/s.
    pub burn: Vec3,
    /// From the burn to the next stop.
    pub arc: LambertArc,
    /// Coast to the burn, s.
    pub coast: f64,
    /// From the burn on, s.
    pub rest: f64,
}

/// Legs and passes of a chain with deep-space burns.
#[derive(Clone, Debug, PartialEq)]
pub struct DeepSpaceChain {
    /// One for each leg.
    pub legs: Vec<DeepSpaceLeg>,
    /// One for each stop between the first and the last.
    pub passes: Vec<Flyby>,
    /// Excess velocity reached with, m/s.
    pub arrival: Vec3,
}

impl DeepSpaceChain {
    /// Sum of the deep-space burns, m/s.
    pub fn burn_dv(&self) -> f64 {
        self.legs.iter().map(|leg| leg.burn.norm()).sum()
    }
}

/// Excess velocity at departure from its speed (m/s) and two numbers between 0 and 1 that are even over the sphere.
///
/// `u` turns about the body's angular momentum, from the body's motion on; `v` rises from below the orbit plane to above it.
///
/// # Source
/// [Vinko2008], the model with deep-space burns.
pub fn departure(speed: f64, u: f64, v: f64, body: &State) -> Vec3 {
    let along = body.velocity.normalize();
    let normal = body.position.cross(&body.velocity).normalize();
    let across = normal.cross(&along);
    let ((sin_t, cos_t), (sin_p, cos_p)) =
        ((TAU * u).sin_cos(), ((2.0 * v - 1.0).clamp(-1.0, 1.0).acos() - FRAC_PI_2).sin_cos());
    speed * (cos_t * cos_p * along + sin_t * cos_p * across + sin_p * normal)
}

/// The unpowered pass with a plan, from the velocities about the centre; answers excess velocities.
///
/// # Errors
/// No excess speed, or one along the body's motion; a periapsis not above zero.
pub fn pass(stop: &Stop, velocity: &Vec3, plan: &PassPlan) -> Result<Flyby, FlybyError> {
    let v_in = velocity - stop.state.velocity;
    let first = v_in.cross(&stop.state.velocity);
    let second = v_in.cross(&first);
    let (Some(first), Some(second)) = (first.try_normalize(0.0), second.try_normalize(0.0)) else {
        return Err(FlybyError::NoDirection);
    };
    let (sine, cosine) = plan.angle.sin_cos();
    // The craft passes on the side away from the bend.
    flyby::bend(stop.gm, &v_in, plan.periapsis_radius, &-(cosine * first + sine * second))
}

/// Flies a chain: from the first stop with an excess velocity, a coast, a burn and an arc on each leg, a pass at each stop between.
///
/// - `gm`: of the centre, m³/s². `departure`: excess velocity, m/s. `normal`: arcs after burns go counter-clockwise about it.
///
/// # Errors
/// Lists that do not fit; a leg or pass that has no answer.
///
/// # Source
/// [Vinko2008], the model with one deep-space burn a leg.
pub fn deep_space(
    gm: f64,
    stops: &[Stop],
    departure: Vec3,
    legs: &[LegPlan],
    passes: &[PassPlan],
    normal: Vec3,
) -> Result<DeepSpaceChain, ChainError> {
    counted("stops or more", 2, stops.len().min(2))?;
    counted("legs", stops.len() - 1, legs.len())?;
    counted("passes", stops.len() - 2, passes.len())?;
    let mut chain = DeepSpaceChain {
        legs: Vec::with_capacity(legs.len()),
        passes: Vec::with_capacity(passes.len()),
        arrival: Vec3::zeros(),
    };
    let mut v_infinity = departure;
    for (index, plan) in legs.iter().enumerate() {
        let (leg, share) = (index + 1, plan.burn_share);
        if !(share > 0.0 && share < 1.0) {
            return Err(ChainError::Share { leg, share });
        }
        let (from, to) = (&stops[index].state, &stops[leg].state);
        let start = State::new(from.position, from.velocity + v_infinity);
        let (coast, rest) = (share * plan.time, (1.0 - share) * plan.time);
        let before_burn = propagate(gm, &start, coast).map_err(|why| ChainError::Coast { leg, why })?;
        let way = Way::Prograde(normal);
        let arc = lambert::solve_one(gm, &before_burn.position, &to.position, rest, way, 0, Branch::Single)
            .map_err(|why| ChainError::Arc { leg, why })?;
        let burn = arc.v1 - before_burn.velocity;
        chain.legs.push(DeepSpaceLeg { start, before_burn, burn, arc, coast, rest });
        chain.arrival = arc.v2 - to.velocity;
        if let Some(plan) = passes.get(index) {
            let pass = pass(&stops[leg], &arc.v2, plan).map_err(|why| ChainError::Pass { pass: leg, why })?;
            v_infinity = pass.v_out;
            chain.passes.push(pass);
        }
    }
    Ok(chain)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chain_closes_leg_by_leg_and_passes_keep_the_speed() {
        let body = |x: f64, y: f64| {
            let place = Vec3::new(x, y, 0.02);
            let across = Vec3::new(-y, x, 0.0).normalize();
            Stop { state: State::new(place, across / place.norm().sqrt()), gm: 1e-5 }
        };
        let stops = [body(1.0, 0.0), body(-0.3, 0.65), body(0.2, -1.4)];
        let legs = [LegPlan { time: 2.0, burn_share: 0.3 }, LegPlan { time: 3.0, burn_share: 0.6 }];
        let passes = [PassPlan { periapsis_radius: 1e-4, angle: 0.7 }];
        let away = departure(0.1, 0.3, 0.6, &stops[0].state);
        assert!((away.norm() - 0.1).abs() < 1e-15);
        let north = Vec3::new(0.0, 0.0, 1.0);
        let chain = deep_space(1.0, &stops, away, &legs, &passes, north).unwrap();
        for (leg, flown) in chain.legs.iter().enumerate() {
            let after = State::new(flown.before_burn.position, flown.before_burn.velocity + flown.burn);
            let end = propagate(1.0, &after, flown.rest).unwrap();
            // A few dozen roundings of distances and speeds of order one.
            assert!((end.position - stops[leg + 1].state.position).norm() < 1e-13);
        }
        let pass = chain.passes[0];
        assert!((pass.v_in.norm() - pass.v_out.norm()).abs() < 1e-14);
        assert!((pass.turn_angle - flyby::turn_angle(1e-5, pass.v_in.norm(), 1e-4).unwrap()).abs() < 1e-15);
        let bad = [LegPlan { burn_share: 1.0, ..legs[0] }, legs[1]];
        let refused = deep_space(1.0, &stops, away, &bad, &passes, north);
        assert_eq!(refused, Err(ChainError::Share { leg: 1, share: 1.0 }));
    }
}
