//! Phasing: catching up in one's own orbit; synodic periods and the phase angles of a transfer.

use super::error::{BurnError, GM, finite, positive};
use crate::conic::{State, energy};
use std::f64::consts::{PI, TAU};

/// A phasing orbit: a burn along the motion, whole revolutions, and the same burn back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Phasing {
    /// First burn along the motion, m/s: negative to catch up. The second is its opposite.
    pub dv1: f64,
    /// Period of the phasing orbit, s.
    pub period: f64,
    /// Its semi-major axis, m.
    pub semi_major_axis: f64,
    /// Its least distance from the centre, m: to be kept above surface and air.
    pub periapsis_radius: f64,
    /// Between the burns, s.
    pub time: f64,
}

impl Phasing {
    /// Sum of the sizes of both burns, m/s.
    pub fn dv(&self) -> f64 {
        2.0 * self.dv1.abs()
    }
}

/// Meet a target that is `ahead` (rad; negative behind) in the same circular orbit of `radius` (m) after whole revolutions.
///
/// # Errors
/// Inputs not above zero; too few revolutions for so great a lead.
///
/// # Source
/// [Curtis2014], section 6.5.
pub fn circular(gm: f64, radius: f64, ahead: f64, revolutions: u32) -> Result<Phasing, BurnError> {
    positive(GM, gm)?;
    positive("the radius, m,", radius)?;
    let period = TAU * radius * (radius / gm).sqrt();
    let speed = (gm / radius).sqrt();
    plan(gm, radius, speed, speed, period, finite("the lead, rad,", ahead)? / TAU * period, revolutions)
}

/// As [`circular`], in any closed orbit, burning at the place of `state`: the target passes there `ahead` seconds earlier.
///
/// # Errors
/// An open orbit; too few revolutions.
pub fn at_state(gm: f64, state: &State, ahead: f64, revolutions: u32) -> Result<Phasing, BurnError> {
    state.checked(gm)?;
    let energy = energy(gm, state);
    if !(energy < 0.0) {
        return Err(BurnError::Open { energy_m2_s2: energy });
    }
    let a = -0.5 * gm / energy;
    let transverse = state.position.cross(&state.velocity).norm() / state.radius();
    plan(
        gm,
        state.radius(),
        state.speed(),
        transverse,
        TAU * a * (a / gm).sqrt(),
        finite("the lead, s,", ahead)?,
        revolutions,
    )
}

fn plan(
    gm: f64,
    radius: f64,
    speed: f64,
    transverse: f64,
    own: f64,
    ahead: f64,
    revolutions: u32,
) -> Result<Phasing, BurnError> {
    let period = own - ahead / f64::from(revolutions);
    let semi_major_axis = (gm * (period / TAU) * (period / TAU)).cbrt();
    // An orbit through this place has at least half its radius as semi-major axis.
    if revolutions == 0 || !(period > 0.0) || !(2.0 * semi_major_axis > radius) {
        return Err(BurnError::TooFewRevolutions { revolutions, ahead_s: ahead, period_s: own });
    }
    let new_speed = (gm * (2.0 / radius - 1.0 / semi_major_axis)).sqrt();
    let momentum = radius * transverse * (new_speed / speed);
    let eccentricity = (1.0 - momentum * momentum / (gm * semi_major_axis)).max(0.0).sqrt();
    Ok(Phasing {
        dv1: new_speed - speed,
        period,
        semi_major_axis,
        periapsis_radius: momentum * momentum / gm / (1.0 + eccentricity),
        time: f64::from(revolutions) * period,
    })
}

/// Time after which two bodies of periods `first` and `second` (s) stand alike again, s.
///
/// # Errors
/// Periods not above zero, or equal.
pub fn synodic_period(first: f64, second: f64) -> Result<f64, BurnError> {
    positive("the first period, s,", first)?;
    positive("the second period, s,", second)?;
    if first == second {
        return Err(BurnError::EqualPeriods { period_s: first });
    }
    Ok(first * second / (second - first).abs())
}

/// How far ahead (rad, −π to π) the target on the circle `r2` stands when a Hohmann transfer leaves the circle `r1` (m).
///
/// Inward transfers may need more than a turn; the angle is wrapped.
///
/// # Errors
/// Radii not above zero.
///
/// # Source
/// π (1 − ((1 + 1/ρ)/2)^1.5) with ρ = r2/r1, [Curtis2014], section 8.3.
pub fn hohmann_phase_angle(r1: f64, r2: f64) -> Result<f64, BurnError> {
    positive("the first radius, m,", r1)?;
    positive("the second radius, m,", r2)?;
    let mean = 0.5 * (1.0 + r1 / r2);
    Ok(wrapped(PI * (1.0 - mean * mean.sqrt())))
}

/// How far ahead (rad, −π to π) the target stands of the body that was left, when a transfer over half a turn arrives.
///
/// `home_period`: s, of the body that was left; `transfer_time`: s.
///
/// # Errors
/// Inputs not above zero.
///
/// # Source
/// [Curtis2014], equation 8.12.
pub fn arrival_phase_angle(home_period: f64, transfer_time: f64) -> Result<f64, BurnError> {
    positive("the period, s,", home_period)?;
    Ok(wrapped(PI - TAU / home_period * positive("the transfer time, s,", transfer_time)?))
}

/// Least wait at the target, s, until a transfer back of the same duration meets home.
///
/// # Errors
/// Inputs not above zero; equal periods.
///
/// # Source
/// [Curtis2014], section 8.3.
pub fn wait_time(home_period: f64, target_period: f64, transfer_time: f64) -> Result<f64, BurnError> {
    let synodic = synodic_period(home_period, target_period)?;
    let phase = PI - TAU / home_period * positive("the transfer time, s,", transfer_time)?;
    let rate = TAU / target_period - TAU / home_period;
    Ok((-2.0 * phase / rate).rem_euclid(synodic))
}

fn wrapped(angle: f64) -> f64 {
    angle - TAU * (angle / TAU).round()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn circular_and_state_forms_agree() {
        let (gm, radius) = (3.986e14, 7e6);
        let state = State::new([radius, 0.0, 0.0].into(), [0.0, (gm / radius).sqrt(), 0.0].into());
        let period = TAU * radius * (radius / gm).sqrt();
        let (a, b) = (circular(gm, radius, 0.3, 5).unwrap(), at_state(gm, &state, 0.3 / TAU * period, 5).unwrap());
        assert!((a.dv1 - b.dv1).abs() < 1e-9 && a.dv1 < 0.0 && a.periapsis_radius < radius);
        assert!(matches!(circular(gm, radius, 6.0, 1), Err(BurnError::TooFewRevolutions { .. })));
        assert!(circular(gm, radius, -0.3, 5).unwrap().dv1 > 0.0);
    }

    #[test]
    fn phase_angle_five_times_out() {
        // common practice, no source: a target five times farther out stands 96 degrees ahead.
        assert_eq!(hohmann_phase_angle(1.0, 5.0).unwrap().to_degrees().round(), 96.0);
    }
}
