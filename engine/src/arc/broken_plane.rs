//! Broken-plane arcs: flown in the plane of motion of the body left, with one burn on the way that turns the plane to the goal.
//!
//! An unbroken arc of nearly half a revolution must stand steeply on the plane of both bodies as soon as the goal lies a
//! little out of it: the ridge of every contour plot. A burn that changes the plane alone, at a right angle before arrival or
//! wherever it costs least, joins the same two places for what the small turn costs.

use super::lambert::{Branch, Way, solve_one};
use crate::conic::{State, angular_momentum, eccentricity_vector, time_since_periapsis};
use crate::numerics::minimum;
use crate::vector::Vec3;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// An arc in two planes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BrokenArc {
    /// Where it begins.
    pub start: State,
    /// Just before the change of plane.
    pub before: State,
    /// Velocity just after it, m/s.
    pub after: Vec3,
    /// Where it ends.
    pub end: State,
    /// From the beginning to the change of plane, s.
    pub seconds: f64,
    /// Angle from the change of plane to the end, rad.
    pub angle: f64,
    /// By how much the plane turns, rad.
    pub tilt: f64,
    /// Angle swept in all, rad.
    pub theta: f64,
}

impl BrokenArc {
    /// Size of the change of plane, m/s.
    pub fn dv(&self) -> f64 {
        (self.after - self.before.velocity).norm()
    }
}

/// The places on an arc at which its plane may be changed lie between these angles before its end (rad): closer to either, the turn is
/// larger than the goal's own latitude by a factor of ten and more.
const NEAREST: f64 = 0.1;

/// The arc from `place` (m) to `goal` (m) in `seconds` whose plane is changed `angle` (rad) before its end.
///
/// - `normal`: unit normal of the first plane, which holds `place`; the motion is posigrade about it.
/// - `None` where no plane change there reaches the goal, or where it would come before the beginning.
///
/// # Source
/// [Sergeyevsky1983] describes the manoeuvre. The tilt i follows from the goal's latitude β by the right spherical triangle with its corner at the
/// change of plane: sin β = sin i sin(angle); the velocity there turns about the radius, 2 v sin(i/2) of its horizontal part.
pub fn broken_arc(gm: f64, place: &Vec3, normal: &Vec3, goal: &Vec3, seconds: f64, angle: f64) -> Option<BrokenArc> {
    let (r1, r2) = (place.norm(), goal.norm());
    let (east, north) = (place / r1, normal.cross(&(place / r1)));
    let latitude = (goal.dot(normal) / r2).clamp(-1.0, 1.0).asin();
    let longitude = goal.dot(&north).atan2(goal.dot(&east)).rem_euclid(TAU);
    let sine = latitude.sin().abs() / angle.sin();
    if !(angle > 0.0 && angle < PI && sine <= 1.0) {
        return None;
    }
    let tilt = sine.asin();
    let flat = (tilt.cos() * angle.sin()).atan2(angle.cos());
    let node = longitude - flat;
    if !(node > 0.0) {
        return None;
    }
    let theta = node + angle;
    let direction = |at: f64| east * at.cos() + north * at.sin();
    let end = direction(theta) * r2;
    let arc = solve_one(gm, place, &end, seconds, Way::Prograde(*normal), 0, Branch::Single).ok()?;
    let start = State { position: *place, velocity: arc.v1 };
    let momentum = angular_momentum(&start);
    let eccentricity = eccentricity_vector(gm, &start);
    let there = direction(node);
    let parameter = momentum.norm_squared() / gm;
    let radius = parameter / (1.0 + eccentricity.dot(&there));
    let velocity = momentum.cross(&(eccentricity + there)) / parameter;
    let before = State { position: there * radius, velocity };
    let turn = nalgebra::Rotation3::from_axis_angle(
        &nalgebra::Unit::new_normalize(there),
        if latitude < 0.0 { -tilt } else { tilt },
    );
    let mut since = time_since_periapsis(gm, &before) - time_since_periapsis(gm, &start);
    if since < 0.0 {
        let energy = 0.5 * start.velocity.norm_squared() - gm / r1;
        since += if energy < 0.0 { TAU * gm / (-2.0 * energy).powf(1.5) } else { 0.0 };
    }
    let fits = radius.is_finite() && radius > 0.0 && since > 0.0 && since < seconds;
    fits.then(|| BrokenArc {
        start,
        before,
        after: turn * velocity,
        end: State { position: turn * end, velocity: turn * arc.v2 },
        seconds: since,
        angle,
        tilt,
        theta,
    })
}

/// The place of the change of plane (rad before the end) where `cost` is least, and what it comes to there.
///
/// `cost` of an arc in m/s or any other measure. `None` where no place will do.
pub fn best_place(
    mut arc_at: impl FnMut(f64) -> Option<BrokenArc>,
    mut cost: impl FnMut(&BrokenArc) -> f64,
) -> Option<(BrokenArc, f64)> {
    let right = arc_at(FRAC_PI_2)?;
    let at_right = cost(&right);
    // A place to a few arc seconds: the cost is flat there, to parts in 1e10.
    let mut value = |angle: f64| arc_at(angle).map_or(f64::INFINITY, |arc| cost(&arc));
    let (angle, least) = minimum::bracketed(&mut value, NEAREST, PI - NEAREST, 1e-5);
    if least < at_right {
        return arc_at(angle).map(|arc| (arc, least));
    }
    Some((right, at_right))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conic::propagate;

    const GM: f64 = 1.327e20;

    #[test]
    fn both_legs_join_and_the_end_is_the_goal() {
        let place = Vec3::new(1.5e11, 0.0, 0.0);
        for (goal, days) in [
            (Vec3::new(-2.2e11, 0.1e11, 0.07e11), 260.0),
            (Vec3::new(-2.2e11, -0.2e11, -0.05e11), 270.0),
            (Vec3::new(-1.0e11, 0.3e11, 0.06e11), 150.0),
        ] {
            let seconds = days * 86_400.0;
            for angle in [0.4, FRAC_PI_2, 2.0] {
                let arc = broken_arc(GM, &place, &Vec3::z(), &goal, seconds, angle).expect("an arc");
                // Rounding times a thousand: three conics and a rotation of numbers of 1e11.
                let near = |a: Vec3, b: Vec3, scale: f64| assert!((a - b).norm() < 1e-12 * scale, "{angle}: {a} {b}");
                near(arc.end.position, goal, 2e11);
                let first = propagate(GM, &arc.start, arc.seconds).expect("a conic");
                near(first.position, arc.before.position, 2e11);
                near(first.velocity, arc.before.velocity, 4e4);
                let onward = State { position: arc.before.position, velocity: arc.after };
                let second = propagate(GM, &onward, seconds - arc.seconds).expect("a conic");
                near(second.position, goal, 2e11);
                near(second.velocity, arc.end.velocity, 4e4);
                assert!(arc.start.velocity.z == 0.0 && arc.tilt > 0.0 && arc.tilt < 0.2);
                // Only the plane turns.
                assert!((arc.after.norm() / arc.before.velocity.norm() - 1.0).abs() < 1e-14);
            }
        }
    }

    #[test]
    fn the_best_place_is_no_worse_than_the_right_angle_and_a_true_minimum() {
        let (place, goal) = (Vec3::new(1.5e11, 0.0, 0.0), Vec3::new(-2.2e11, 0.05e11, 0.07e11));
        let at = |angle: f64| broken_arc(GM, &place, &Vec3::z(), &goal, 2.3e7, angle);
        let cost = |arc: &BrokenArc| arc.dv() + (arc.start.velocity.norm() - 29_780.0).abs();
        let (best, least) = best_place(at, cost).expect("an arc");
        let beside = |angle: f64| at(angle).map_or(f64::INFINITY, |arc| cost(&arc));
        assert!(least <= beside(FRAC_PI_2));
        assert!(least <= beside(best.angle - 0.01) && least <= beside(best.angle + 0.01));
        // The unbroken arc of these places is the ridge itself.
        let unbroken =
            solve_one(GM, &place, &goal, 2.3e7, Way::Prograde(Vec3::z()), 0, Branch::Single).expect("an arc");
        assert!((unbroken.v1 - Vec3::new(0.0, 29_780.0, 0.0)).norm() > 5.0 * least);
    }
}
