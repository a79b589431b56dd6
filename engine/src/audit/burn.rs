//! Mass and velocity across a burn.

use super::rounding::EPSILON;
use super::{Entry, Law};
use crate::conic::State;
use crate::vector::Vec3;
use crate::vehicle::Spending;

/// Mass against the rocket equation: Σ exhaust speed × ln(mass before / mass after) is the burn's size.
///
/// - `dv`: m/s, the change of velocity that the trajectory took.
///
/// # Bound
/// A mass is rounded 4 times, relative to the mass before: ln(m₀/m₁) may be off by 4 ε m₀/m₁; the logarithm and the
/// exponential of the flight round relative to dv/c. So c (4 m₀/m₁) ε + 8 ε dv, summed over the stages.
pub fn rocket_equation(leg: &str, dv: f64, spending: &Spending) -> Entry {
    let mut given = 0.0;
    let mut bound = 8.0 * EPSILON * dv;
    for step in &spending.steps {
        // Plain logarithm, where the flight used expm1: another formula, and the two can disagree.
        given += step.exhaust_speed * (step.mass_before / step.mass_after).ln();
        bound += step.exhaust_speed * 4.0 * EPSILON * step.mass_before / step.mass_after;
    }
    Entry::judged(leg, Law::RocketEquation, (given - dv).abs(), bound, String::new())
}

/// The jump of velocity against the burn, and no jump of place.
///
/// # Bound
/// One rounded addition and its difference taken again: 2 ε (v before + v after + Δv); an inertial Δv that was turned
/// from local axes rounds another 8 ε of its size.
pub fn velocity_change(leg: &str, before: &State, after: &State, dv: &Vec3) -> Entry {
    let jump = after.velocity - before.velocity;
    let bound = 2.0 * EPSILON * (before.velocity.norm() + after.velocity.norm()) + 10.0 * EPSILON * dv.norm();
    let place = (after.position - before.position).norm();
    let note = if place > 0.0 { format!("place jumps by {place:e} m") } else { String::new() };
    let residual = if place > 0.0 { f64::MAX } else { (jump - dv).norm() };
    Entry::judged(leg, Law::VelocityChange, residual, bound, note)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::Verdict;
    use crate::vehicle::{Stage, Vehicle};

    #[test]
    fn spending_follows_the_rocket_equation_from_milligrams_to_the_whole_tank() {
        let tug = Vehicle::new("tug", 200.0, 3000.0, 320.0, None).unwrap();
        for dv in [0.0, 1e-6, 1.0, 500.0, tug.dv()] {
            let entry = rocket_equation("burn", dv, &tug.spending(dv).unwrap());
            assert_eq!(entry.verdict, Verdict::Good, "{dv} {entry:?}");
        }
        let lower = Stage::new("lower", 100.0, 900.0, 300.0, None).unwrap();
        let upper = Stage::new("upper", 100.0, 900.0, 450.0, None).unwrap();
        let pair = Vehicle::of_stages("pair", vec![lower, upper]).unwrap();
        let entry = rocket_equation("burn", 5000.0, &pair.spending(5000.0).unwrap());
        assert_eq!(entry.verdict, Verdict::Good, "{entry:?}");
    }

    #[test]
    fn a_falsified_mass_is_beyond() {
        let tug = Vehicle::new("tug", 200.0, 3000.0, 320.0, None).unwrap();
        let mut spending = tug.spending(500.0).unwrap();
        spending.steps[0].mass_after *= 1.0 + 1e-9;
        assert_eq!(rocket_equation("burn", 500.0, &spending).verdict, Verdict::Beyond);
    }

    #[test]
    fn a_falsified_velocity_or_place_is_beyond() {
        let before = State { position: Vec3::new(7e6, 0.0, 0.0), velocity: Vec3::new(0.0, 7.5e3, 0.0) };
        let dv = Vec3::new(10.0, 100.0, -3.0);
        let after = State { velocity: before.velocity + dv, ..before };
        assert_eq!(velocity_change("burn", &before, &after, &dv).verdict, Verdict::Good);
        let fast = State { velocity: after.velocity * (1.0 + 1e-9), ..after };
        assert_eq!(velocity_change("burn", &before, &fast, &dv).verdict, Verdict::Beyond);
        let moved = State { position: after.position * (1.0 + 1e-9), ..after };
        assert_eq!(velocity_change("burn", &before, &moved, &dv).verdict, Verdict::Beyond);
    }
}
