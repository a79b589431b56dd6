//! Flyby: how far a body bends a passing craft, and which pass gives a wanted bend.

use crate::vector::Vec3;
use std::f64::consts::PI;
use thiserror::Error;

/// Why a flyby cannot be flown.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum FlybyError {
    /// A quantity that must be above zero and finite.
    #[error("{what} must be above zero and finite, got {value}")]
    NotPositive {
        /// Which one, with its unit.
        what: &'static str,
        /// As given.
        value: f64,
    },
    /// A turn that no hyperbola makes.
    #[error("a flyby turns by more than 0 and less than 180 degrees, got {} degrees", turn_rad.to_degrees())]
    Turn {
        /// As given, rad.
        turn_rad: f64,
    },
    /// The pass would have to be lower than allowed.
    #[error(
        "a turn of {:.3} degrees needs a periapsis of {periapsis_m:.0} m, {short_by_m:.0} m below the least of {least_m:.0} m \
         (which turns by {:.3} degrees)", turn_rad.to_degrees(), greatest_turn_rad.to_degrees()
    )]
    TooLow {
        /// Wanted, rad.
        turn_rad: f64,
        /// Radius that gives it, m.
        periapsis_m: f64,
        /// Least radius allowed, m.
        least_m: f64,
        /// least − needed, m.
        short_by_m: f64,
        /// Turn at the least radius, rad.
        greatest_turn_rad: f64,
    },
    /// Excess speeds differ: gravity alone cannot do it.
    #[error(
        "excess speed comes in at {speed_in_m_s} m/s and leaves at {speed_out_m_s} m/s: an unpowered flyby keeps it"
    )]
    SpeedsDiffer {
        /// m/s.
        speed_in_m_s: f64,
        /// m/s.
        speed_out_m_s: f64,
    },
    /// The wanted side has no direction square to the motion.
    #[error("the direction of the aim is zero or lies along the motion")]
    NoDirection,
}

/// A pass.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flyby {
    /// Incoming excess velocity, m/s.
    pub v_in: Vec3,
    /// Outgoing excess velocity, m/s.
    pub v_out: Vec3,
    /// Incoming aim B, m from the centre, square to `v_in`.
    pub aim: Vec3,
    /// m from the centre.
    pub periapsis_radius: f64,
    /// rad.
    pub turn_angle: f64,
    /// Size of the burn along the motion at periapsis, m/s; above 0 when it speeds up, 0 when unpowered.
    pub burn: f64,
}

impl Flyby {
    /// Height of the periapsis above a ground of some radius, m.
    pub fn altitude_above(&self, ground: f64) -> f64 {
        self.periapsis_radius - ground
    }

    /// Size of the velocity change about the parent, m/s.
    pub fn dv(&self) -> f64 {
        (self.v_out - self.v_in).norm()
    }
}

fn positive(what: &'static str, value: f64) -> Result<f64, FlybyError> {
    if value > 0.0 && value.is_finite() { Ok(value) } else { Err(FlybyError::NotPositive { what, value }) }
}

/// Half the turn of a hyperbola with `k = e − 1`, rad: asin(1/e), from its tangent so that e near 1 keeps its digits.
fn half_turn(k: f64) -> f64 {
    1.0_f64.atan2((k * (2.0 + k)).sqrt())
}

/// Turn angle, rad, of a pass with excess speed `v_infinity` (m/s) and a periapsis radius (m) about a centre of `gm` (m³/s²).
///
/// # Errors
/// Inputs not above zero.
///
/// # Source
/// [Battin1999], section 9.4: sin(δ/2) = 1/e, e = 1 + rp v²/gm.
pub fn turn_angle(gm: f64, v_infinity: f64, periapsis_radius: f64) -> Result<f64, FlybyError> {
    positive("the gravitational parameter, m³/s²,", gm)?;
    positive("the excess speed, m/s,", v_infinity)?;
    positive("the periapsis radius, m,", periapsis_radius)?;
    Ok(2.0 * half_turn(periapsis_radius * v_infinity * v_infinity / gm))
}

/// Periapsis radius, m, of the pass that turns an excess speed `v_infinity` (m/s) by `turn` (rad, between 0 and π).
///
/// # Errors
/// Inputs not above zero; a turn outside the range.
pub fn periapsis_for_turn(gm: f64, v_infinity: f64, turn: f64) -> Result<f64, FlybyError> {
    positive("the gravitational parameter, m³/s²,", gm)?;
    positive("the excess speed, m/s,", v_infinity)?;
    if !(turn > 0.0 && turn < PI) {
        return Err(FlybyError::Turn { turn_rad: turn });
    }
    let (sine, cosine) = (0.5 * turn).sin_cos();
    // e − 1 = (1 − s)/s, the difference taken as cos²/(1 + s).
    Ok(gm / (v_infinity * v_infinity) * cosine * cosine / ((1.0 + sine) * sine))
}

/// Distance of the asymptote from the centre, m, for a periapsis radius, m.
///
/// # Errors
/// Inputs not above zero.
///
/// # Source
/// [Battin1999], section 3.6: b² = rp² + 2 rp gm/v².
pub fn aim_radius(gm: f64, v_infinity: f64, periapsis_radius: f64) -> Result<f64, FlybyError> {
    positive("the gravitational parameter, m³/s²,", gm)?;
    positive("the excess speed, m/s,", v_infinity)?;
    let radius = positive("the periapsis radius, m,", periapsis_radius)?;
    Ok((radius * (radius + 2.0 * gm / (v_infinity * v_infinity))).sqrt())
}

/// Periapsis radius, m, for the distance of the asymptote from the centre, m.
///
/// # Errors
/// Inputs not above zero.
pub fn periapsis_for_aim(gm: f64, v_infinity: f64, aim_radius: f64) -> Result<f64, FlybyError> {
    positive("the gravitational parameter, m³/s²,", gm)?;
    positive("the excess speed, m/s,", v_infinity)?;
    let slope = positive("the aim, m,", aim_radius)? * v_infinity * v_infinity / gm;
    Ok(aim_radius * slope / (slope.hypot(1.0) + 1.0))
}

/// The pass with a periapsis radius (m) on the side of `direction` (its part square to `v_in` is the direction of the aim B;
/// the craft is bent away from it, round the body).
///
/// # Errors
/// Inputs not above zero; a direction along the motion.
///
/// # Example
/// ```
/// use visviva_engine::{arc::flyby, vector::Vec3};
/// // Passing on the +y side of a body bends the path towards −y.
/// let pass = flyby::bend(3.986e14, &Vec3::new(5000.0, 0.0, 0.0), 7.0e6, &Vec3::new(0.0, 1.0, 0.0))?;
/// assert!(pass.v_out.y < 0.0 && (pass.v_out.norm() - 5000.0).abs() < 1e-9);
/// # Ok::<(), flyby::FlybyError>(())
/// ```
pub fn bend(gm: f64, v_in: &Vec3, periapsis_radius: f64, direction: &Vec3) -> Result<Flyby, FlybyError> {
    let speed = v_in.norm();
    let turn = turn_angle(gm, speed, periapsis_radius)?;
    let along = v_in / speed;
    let across = direction - along * along.dot(direction);
    let size = across.norm();
    if !(size > 1e-12 * direction.norm() && size.is_finite()) {
        return Err(FlybyError::NoDirection);
    }
    let across = across / size;
    let (sine, cosine) = turn.sin_cos();
    Ok(Flyby {
        v_in: *v_in,
        v_out: (along * cosine - across * sine) * speed,
        aim: across * aim_radius(gm, speed, periapsis_radius)?,
        periapsis_radius,
        turn_angle: turn,
        burn: 0.0,
    })
}

/// The pass that turns an excess velocity by `turn` (rad), on the side of `direction` as in [`bend`].
///
/// # Errors
/// As [`bend`]; a turn that no pass makes; a pass below the least periapsis (m, 0 for none), with how far below.
pub fn turning(gm: f64, v_in: &Vec3, turn: f64, direction: &Vec3, least_periapsis: f64) -> Result<Flyby, FlybyError> {
    let periapsis = periapsis_for_turn(gm, v_in.norm(), turn)?;
    if periapsis < least_periapsis {
        return Err(too_low(turn, periapsis, least_periapsis, turn_angle(gm, v_in.norm(), least_periapsis)?));
    }
    bend(gm, v_in, periapsis, direction)
}

/// The unpowered pass from one excess velocity to another of the same size (m/s).
///
/// `least_periapsis`: m, 0 for none. The sizes may differ by `speed_tolerance` (m/s).
///
/// # Errors
/// Speeds that differ; no turn or a full reversal; a pass below the least periapsis, with how far below.
pub fn unpowered(
    gm: f64,
    v_in: &Vec3,
    v_out: &Vec3,
    least_periapsis: f64,
    speed_tolerance: f64,
) -> Result<Flyby, FlybyError> {
    let (speed_in, speed_out) = (v_in.norm(), v_out.norm());
    if !((speed_in - speed_out).abs() <= speed_tolerance) {
        return Err(FlybyError::SpeedsDiffer { speed_in_m_s: speed_in, speed_out_m_s: speed_out });
    }
    let mean = 0.5 * (speed_in + speed_out);
    let turn = angle_between(v_in, v_out);
    let periapsis = periapsis_for_turn(gm, mean, turn)?;
    if periapsis < least_periapsis {
        return Err(too_low(turn, periapsis, least_periapsis, turn_angle(gm, mean, least_periapsis)?));
    }
    let aim = aim_direction(v_in, v_out)? * aim_radius(gm, mean, periapsis)?;
    Ok(Flyby { v_in: *v_in, v_out: *v_out, aim, periapsis_radius: periapsis, turn_angle: turn, burn: 0.0 })
}

/// The pass with one burn along the motion at periapsis that joins two excess velocities of any sizes (m/s).
///
/// # Errors
/// Speeds not above zero; no turn or a full reversal; a pass below the least periapsis (m, 0 for none).
///
/// # Source
/// [Battin1999], section 9.4, one hyperbola on each side of a common periapsis.
pub fn powered(gm: f64, v_in: &Vec3, v_out: &Vec3, least_periapsis: f64) -> Result<Flyby, FlybyError> {
    let (speed_in, speed_out) = (v_in.norm(), v_out.norm());
    let turn = angle_between(v_in, v_out);
    // The turn of both halves falls with the periapsis; unpowered passes at either speed enclose it.
    let (a, b) = (periapsis_for_turn(gm, speed_in, turn)?, periapsis_for_turn(gm, speed_out, turn)?);
    let (k_in, k_out) = (speed_in * speed_in / gm, speed_out * speed_out / gm);
    let both = |radius: f64| half_turn(radius * k_in) + half_turn(radius * k_out);
    let (mut low, mut high) = (a.min(b), a.max(b));
    let mut radius = (low * high).sqrt();
    for _ in 0..100 {
        let f = both(radius) - turn;
        if f > 0.0 {
            low = radius;
        } else {
            high = radius;
        }
        // d asin(1/e)/d rp = −(k/e)/√(e² − 1)
        let slope: f64 =
            [k_in, k_out].iter().map(|k| -k / ((1.0 + radius * k) * (radius * k * (2.0 + radius * k)).sqrt())).sum();
        let newton = radius - f / slope;
        let next = if low < newton && newton < high { newton } else { 0.5 * (low + high) };
        let done = (next - radius).abs() <= 1e-16 * radius;
        radius = next;
        if done {
            break;
        }
    }
    if radius < least_periapsis {
        return Err(too_low(turn, radius, least_periapsis, both(least_periapsis)));
    }
    let escape = 2.0 * gm / radius;
    let (before, after) = ((speed_in * speed_in + escape).sqrt(), (speed_out * speed_out + escape).sqrt());
    let burn = (speed_out - speed_in) * (speed_out + speed_in) / (before + after);
    let aim = aim_direction(v_in, v_out)? * aim_radius(gm, speed_in, radius)?;
    Ok(Flyby { v_in: *v_in, v_out: *v_out, aim, periapsis_radius: radius, turn_angle: turn, burn })
}

fn too_low(turn_rad: f64, periapsis_m: f64, least_m: f64, greatest_turn_rad: f64) -> FlybyError {
    FlybyError::TooLow { turn_rad, periapsis_m, least_m, short_by_m: least_m - periapsis_m, greatest_turn_rad }
}

fn angle_between(a: &Vec3, b: &Vec3) -> f64 {
    a.cross(b).norm().atan2(a.dot(b))
}

/// The craft is bent from the side it passes on towards the body: B points away from the outgoing motion.
fn aim_direction(v_in: &Vec3, v_out: &Vec3) -> Result<Vec3, FlybyError> {
    let along = v_in.normalize();
    let across = along * along.dot(v_out) - v_out;
    across.try_normalize(0.0).ok_or(FlybyError::NoDirection)
}

#[cfg(test)]
mod tests {
    use super::*;

    const GM: f64 = 3.986e14;

    #[test]
    fn bend_and_back() {
        let v = Vec3::new(4000.0, 1000.0, -500.0);
        let pass = bend(GM, &v, 8e6, &Vec3::new(0.3, 0.4, 1.0)).unwrap();
        let found = unpowered(GM, &v, &pass.v_out, 7e6, 1e-6).unwrap();
        assert!((found.periapsis_radius - 8e6).abs() < 1e-4);
        assert!((found.aim - pass.aim).norm() < 1e-4);
        assert!((periapsis_for_aim(GM, v.norm(), pass.aim.norm()).unwrap() - 8e6).abs() < 1e-6);
        let refused = unpowered(GM, &v, &pass.v_out, 8.5e6, 1e-6);
        assert!(
            matches!(refused, Err(FlybyError::TooLow { short_by_m, .. }) if (short_by_m - 5e5).abs() < 1.0),
            "{refused:?}"
        );
    }

    #[test]
    fn powered_pass_joins_both_hyperbolas() {
        let (v_in, v_out) = (Vec3::new(4000.0, 0.0, 0.0), Vec3::new(1000.0, 5000.0, 500.0));
        let pass = powered(GM, &v_in, &v_out, 1.0).unwrap();
        let before = crate::conic::hyperbola::at_periapsis(GM, v_in, pass.aim).unwrap();
        assert!((before.radius() / pass.periapsis_radius - 1.0).abs() < 1e-13);
        let after = crate::conic::State::new(before.position, before.velocity * (1.0 + pass.burn / before.speed()));
        let out = crate::conic::hyperbola::outgoing(GM, &after).unwrap();
        assert!((out.v_infinity - v_out).norm() < 1e-10 * v_out.norm());
        let same = powered(GM, &v_in, &(v_out * (4000.0 / v_out.norm())), 1.0).unwrap();
        assert!(same.burn.abs() < 1e-11);
    }
}
