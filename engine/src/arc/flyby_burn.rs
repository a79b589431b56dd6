//! Passes with one burn: where it goes, and what a least altitude costs.
//!
//! One burn along the motion at a common periapsis joins two hyperbolas whose half turns add up to the wanted one. Where that periapsis would
//! lie too low, the craft passes as low as it may, and burns beside the periapsis: after it towards the asymptote wanted, or before it.

use std::f64::consts::PI;

use super::asymptote::{Sweep, velocity_to_asymptote};
use super::flyby::{Flyby, FlybyError, aim_radius, powered, turn_angle};
use crate::conic::{Elements, State, hyperbola, time_since_periapsis};
use crate::numerics::minimum;
use crate::vector::Vec3;

/// A pass with one burn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BurnPass {
    /// Excess velocities, aim and lowest radius; `burn` is the change of speed.
    pub pass: Flyby,
    /// Where the burn is, m, and the velocity before it, m/s.
    pub before: State,
    /// Δv, m/s, inertial.
    pub dv: Vec3,
    /// From the periapsis to the burn, s; below 0 before it.
    pub after_periapsis: f64,
    /// The greatest turn (rad) without a burn, at the least radius and the incoming excess speed; π where no least radius was given.
    pub unpowered_turn: f64,
}

/// Looks along the hyperbola, and the share of its half that they cover: the last percent lies far out.
const LOOKS: usize = 200;
const SHARE: f64 = 0.999;

/// The pass with one burn from one excess velocity (m/s) to another, not below a radius (m, 0 for none), the burn not beyond another (m,
/// such as the sphere of influence; may be infinite).
///
/// # Errors
/// Speeds not above zero; no turn or a full reversal; no place for a burn.
///
/// # Source
/// [Battin1999], section 9.4 (one hyperbola on each side of a common periapsis) and section 6.8 (velocity from place and asymptote).
pub fn with_burn(
    gm: f64,
    v_in: &Vec3,
    v_out: &Vec3,
    least_periapsis: f64,
    sphere: f64,
) -> Result<BurnPass, FlybyError> {
    let unpowered_turn = if least_periapsis > 0.0 { turn_angle(gm, v_in.norm(), least_periapsis)? } else { PI };
    match powered(gm, v_in, v_out, least_periapsis) {
        Ok(pass) => {
            let before = hyperbola::at_periapsis(gm, pass.v_in, pass.aim).map_err(|_| FlybyError::NoDirection)?;
            let dv = before.velocity * (pass.burn / before.speed());
            Ok(BurnPass { pass, before, dv, after_periapsis: 0.0, unpowered_turn })
        }
        Err(low @ FlybyError::TooLow { .. }) => {
            let after = beside(gm, v_in, v_out, least_periapsis, sphere);
            // The same with time running backwards: the burn before the periapsis.
            let early = beside(gm, &-v_out, &-v_in, least_periapsis, sphere);
            let best = match (after, early) {
                (Some(a), Some(b)) if b.dv.norm() < a.dv.norm() => mirrored(b),
                (Some(a), _) => a,
                (None, Some(b)) => mirrored(b),
                (None, None) => return Err(low),
            };
            let pass = Flyby { aim: aim_of(v_in, &best)?, ..best.pass };
            Ok(BurnPass { pass, unpowered_turn, ..best })
        }
        Err(error) => Err(error),
    }
}

/// Aim of the way in, m: that of the conic before the burn.
fn aim_of(v_in: &Vec3, pass: &BurnPass) -> Result<Vec3, FlybyError> {
    let momentum = pass.before.position.cross(&pass.before.velocity);
    let aim = v_in.cross(&momentum) / v_in.norm_squared();
    if aim.norm() > 0.0 { Ok(aim) } else { Err(FlybyError::NoDirection) }
}

/// What was flown backwards, forwards.
fn mirrored(back: BurnPass) -> BurnPass {
    let pass = Flyby { v_in: -back.pass.v_out, v_out: -back.pass.v_in, burn: back.pass.burn, ..back.pass };
    let before = State::new(back.before.position, -(back.before.velocity + back.dv));
    let burn = -back.before.velocity;
    let dv = burn - before.velocity;
    let gained = burn.norm() - before.speed();
    BurnPass {
        pass: Flyby { burn: gained, ..pass },
        before,
        dv,
        after_periapsis: -back.after_periapsis,
        unpowered_turn: back.unpowered_turn,
    }
}

/// The cheapest burn after the periapsis of the lowest pass, in the plane of both velocities.
fn beside(gm: f64, v_in: &Vec3, v_out: &Vec3, low: f64, sphere: f64) -> Option<BurnPass> {
    let speed = v_in.norm();
    let along = v_in / speed;
    let side = (along * along.dot(v_out) - v_out).try_normalize(0.0)?;
    let aim = side * aim_radius(gm, speed, low).ok()?;
    let periapsis = hyperbola::at_periapsis(gm, *v_in, aim).ok()?;
    let elements = Elements::from_state(gm, &periapsis).ok()?;
    // r = p/(1 + e cos ν), to the edge of the sphere or nearly to the asymptote.
    let edge = (elements.semi_latus_rectum / sphere - 1.0) / elements.eccentricity;
    let asymptote = (-1.0 / elements.eccentricity).acos();
    let last = if edge < 1.0 { (SHARE * asymptote).min(edge.max(-1.0).acos()) } else { return None };
    let at = |anomaly: f64| -> Option<(State, Vec3)> {
        let here = Elements { true_anomaly: anomaly, ..elements }.to_state(gm).ok()?;
        let needed = velocity_to_asymptote(gm, &here.position, v_out, Sweep::Short)?;
        let after = State::new(here.position, needed);
        // On its way out it never comes low again.
        let kept = here.position.dot(&needed) >= 0.0
            || Elements::from_state(gm, &after).is_ok_and(|next| next.periapsis_radius() >= low);
        kept.then_some((here, needed - here.velocity))
    };
    let cost = |anomaly: f64| at(anomaly).map_or(f64::INFINITY, |(_, dv)| dv.norm());
    let step = last / LOOKS as f64;
    let first = (0..=LOOKS).map(|k| step * k as f64).min_by(|a, b| cost(*a).total_cmp(&cost(*b)))?;
    let (better, least) = minimum::bracketed(cost, (first - step).max(0.0), (first + step).min(last), 1e-9);
    let anomaly = if least <= cost(first) { better } else { first };
    let (before, dv) = at(anomaly)?;
    let turn_angle = v_in.angle(v_out);
    let burn = (before.velocity + dv).norm() - before.speed();
    let pass = Flyby { v_in: *v_in, v_out: *v_out, aim, periapsis_radius: low, turn_angle, burn };
    Some(BurnPass { pass, before, dv, after_periapsis: time_since_periapsis(gm, &before), unpowered_turn: PI })
}

#[cfg(test)]
mod tests {
    use super::*;

    const GM: f64 = 3.986e14;

    /// The conics on both sides of the burn have the asymptotes asked for, and keep above the least radius.
    #[track_caller]
    fn joins(v_in: Vec3, v_out: Vec3, low: f64) -> BurnPass {
        let found = with_burn(GM, &v_in, &v_out, low, f64::INFINITY).unwrap();
        let way_in = hyperbola::incoming(GM, &found.before).unwrap();
        assert!((way_in.v_infinity - v_in).norm() < 1e-8 * v_in.norm(), "{found:?}");
        assert!((way_in.aim - found.pass.aim).norm() < 1e-7 * found.pass.aim.norm());
        let after = State::new(found.before.position, found.before.velocity + found.dv);
        let way_out = hyperbola::outgoing(GM, &after).unwrap();
        assert!((way_out.v_infinity - v_out).norm() < 1e-8 * v_out.norm(), "{found:?}");
        let lowest = if found.after_periapsis >= 0.0 { &found.before } else { &after };
        let periapsis = Elements::from_state(GM, lowest).unwrap().periapsis_radius();
        assert!(periapsis >= low * (1.0 - 1e-9) || found.after_periapsis == 0.0);
        found
    }

    #[test]
    fn at_periapsis_where_it_is_high_enough() {
        let found = joins(Vec3::new(4e3, 0.0, 0.0), Vec3::new(3e3, 3.5e3, 300.0), 7e6);
        assert_eq!(found.after_periapsis, 0.0);
        assert!(found.pass.burn > 0.0);
    }

    #[test]
    fn beside_it_where_the_turn_is_too_sharp() {
        let (v_in, v_out) = (Vec3::new(4e3, 0.0, 0.0), Vec3::new(-3e3, 3.5e3, 300.0));
        let low = 9e6;
        let found = joins(v_in, v_out, low);
        assert!(found.after_periapsis != 0.0 && found.dv.norm() > 0.0);
        // A sharp turn is cheapest far out, where the craft is slow: no dearer than the burn at infinity by more than the speed that is left
        // of the fall at the place of the burn.
        let far = |v_in: &Vec3, v_out: &Vec3| {
            let rest = v_in.angle(v_out) - turn_angle(GM, v_in.norm(), low).unwrap();
            (v_in.norm_squared() + v_out.norm_squared() - 2.0 * v_in.norm() * v_out.norm() * rest.cos()).sqrt()
        };
        assert!(found.dv.norm() <= far(&v_in, &v_out) * found.before.speed() / v_in.norm());
        // Two degrees too sharp and half as fast again: the burn stays deep in the well, and is cheaper there than far out.
        let angle = turn_angle(GM, 4e3, low).unwrap() + 2_f64.to_radians();
        let faster = Vec3::new(angle.cos(), angle.sin(), 0.0) * 6e3;
        let deep = joins(v_in, faster, low);
        assert!(deep.dv.norm() < far(&v_in, &faster), "{} {}", deep.dv.norm(), far(&v_in, &faster));
        // Backwards it is the same burn.
        let back = joins(-v_out, -v_in, low);
        assert!((back.dv.norm() - found.dv.norm()).abs() < 1e-6);
        assert!((back.after_periapsis + found.after_periapsis).abs() < 1e-3);
    }
}
