//! What closed forms say of long burns: estimates before a flight, and checks of one.

use crate::burn::error::{BurnError, GM, positive};
use std::f64::consts::{FRAC_PI_2, PI};

/// Time of a burn, s: m c/F (1 − exp(−Δv/c)).
///
/// - `mass`: at ignition, kg. `thrust`: N. `exhaust_speed`: m/s. `dv`: m/s. All above zero.
///
/// # Errors
/// Inputs not above zero.
///
/// # Source
/// The rocket equation, [SuttonBiblarz2017], equation 4-6, at constant flow F/c.
pub fn burn_time(mass: f64, thrust: f64, exhaust_speed: f64, dv: f64) -> Result<f64, BurnError> {
    positive("the mass, kg,", mass)?;
    positive("the thrust, N,", thrust)?;
    positive("the exhaust speed, m/s,", exhaust_speed)?;
    positive("the change of speed, m/s,", dv)?;
    Ok(-mass * exhaust_speed / thrust * (-dv / exhaust_speed).exp_m1())
}

/// Loss of a burn that straddles its impulse, against the impulse, m/s: Δv (ω t)²/24 with ω² = gm/r³ at the burn.
///
/// An estimate for arcs that are short beside a radian.
///
/// # Errors
/// Inputs not above zero.
///
/// # Source
/// [Robbins1966], from memory.
pub fn centred_loss(gm: f64, radius: f64, dv: f64, burn_time: f64) -> Result<f64, BurnError> {
    positive(GM, gm)?;
    positive("the radius, m,", radius)?;
    positive("the change of speed, m/s,", dv)?;
    positive("the time of burning, s,", burn_time)?;
    Ok(dv * gm / radius.powi(3) * burn_time * burn_time / 24.0)
}

/// A slow spiral between circular orbits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spiral {
    /// m/s.
    pub dv: f64,
    /// s.
    pub time: f64,
}

/// The spiral between two circular orbits, with their planes at an angle, by a small constant acceleration.
///
/// Δv² = v0² + v1² − 2 v0 v1 cos(π i/2); in one plane the difference of the circular speeds.
///
/// - `from`, `to`: radii, m. `angle`: between the planes, rad, 0 to 2 (where the steering leaves its law). `acceleration`: m/s².
///
/// # Errors
/// Inputs not above zero; an angle outside its range.
///
/// # Source
/// [Edelbaum1961], from memory.
pub fn spiral(gm: f64, from: f64, to: f64, angle: f64, acceleration: f64) -> Result<Spiral, BurnError> {
    positive(GM, gm)?;
    positive("the radius, m,", from)?;
    positive("the radius, m,", to)?;
    positive("the acceleration, m/s²,", acceleration)?;
    if !(angle >= 0.0 && FRAC_PI_2 * angle <= PI) {
        return Err(BurnError::NotFinite { what: "the angle of the planes, 0 to 2 rad,", value: angle });
    }
    let (start, end) = ((gm / from).sqrt(), (gm / to).sqrt());
    // The difference of near equal squares, told as a sum of squares.
    let half = (0.5 * FRAC_PI_2 * angle).sin();
    let dv = ((start - end).powi(2) + 4.0 * start * end * half * half).sqrt();
    Ok(Spiral { dv, time: dv / acceleration })
}

/// What a constant thrust along the radius does to a circular orbit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Radial {
    /// The craft turns back at this radius, m.
    Apse(f64),
    /// It leaves for good.
    Escape,
}

/// Flight from a circular orbit under a constant outward acceleration along the radius (m/s²).
///
/// The energy integral gives gm (r − r0) = 2 a r0 r² at the apse: it escapes from an eighth of the local gravity on.
///
/// # Errors
/// Inputs not above zero.
///
/// # Source
/// [Tsien1953]; [Battin1999], section 8.8.
pub fn radial(gm: f64, radius: f64, acceleration: f64) -> Result<Radial, BurnError> {
    positive(GM, gm)?;
    positive("the radius, m,", radius)?;
    let share = positive("the acceleration, m/s²,", acceleration)? * radius * radius / gm;
    let square = 1.0 - 8.0 * share;
    if square < 0.0 {
        return Ok(Radial::Escape);
    }
    // (1 − √)/(4 k), without the difference.
    Ok(Radial::Apse(radius * 2.0 / (1.0 + square.sqrt())))
}

/// Least outward acceleration along the radius that escapes from a circular orbit, m/s²: an eighth of the local gravity.
///
/// # Errors
/// Inputs not above zero.
///
/// # Source
/// As [`radial`].
pub fn radial_escape(gm: f64, radius: f64) -> Result<f64, BurnError> {
    positive(GM, gm)?;
    Ok(gm / positive("the radius, m,", radius)?.powi(2) / 8.0)
}

/// Excess speed (m/s) after an impulse along the motion: v∞² = v∞0² + 2 v Δv + Δv².
///
/// - `speed`: at the burn, before it, m/s. `before`: excess speed before it, m/s, zero or more.
///
/// # Errors
/// Inputs not above zero.
///
/// # Source
/// The energy integral: [Battin1999], section 3.3.
pub fn excess_after(speed: f64, dv: f64, before: f64) -> Result<f64, BurnError> {
    positive("the speed, m/s,", speed)?;
    positive("the change of speed, m/s,", dv)?;
    if !(before >= 0.0 && before.is_finite()) {
        return Err(BurnError::NotFinite { what: "the excess speed, m/s, zero or more,", value: before });
    }
    Ok((before * before + dv * (2.0 * speed + dv)).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    const GM: f64 = 3.986_004_418e14;

    #[test]
    fn a_radial_thrust_of_an_eighth_just_turns_back_at_twice_the_radius() {
        let least = radial_escape(GM, 7e6).unwrap();
        let Radial::Apse(apse) = radial(GM, 7e6, least * (1.0 - 1e-15)).unwrap() else { panic!("it turns back") };
        // The root of 1e-15 is 3e-8.
        assert!((apse / 14e6 - 1.0).abs() < 1e-7);
        assert_eq!(radial(GM, 7e6, 1.001 * least).unwrap(), Radial::Escape);
    }

    #[test]
    fn a_spiral_without_a_change_of_radius_turns_the_plane() {
        let flat = spiral(GM, 7e6, 4.2e7, 0.0, 1e-3).unwrap();
        assert!((flat.dv - ((GM / 7e6).sqrt() - (GM / 4.2e7).sqrt())).abs() < 1e-9);
        let turned = spiral(GM, 7e6, 7e6, 0.01, 1e-3).unwrap();
        // π/2 times the angle times the speed, for small angles (to the square of 0.016 over 24).
        assert!((turned.dv / (FRAC_PI_2 * 0.01 * (GM / 7e6).sqrt()) - 1.0).abs() < 2e-5);
        assert!(spiral(GM, 7e6, 7e6, 2.5, 1e-3).is_err());
    }

    #[test]
    fn a_burn_burns_at_its_flow() {
        let time = burn_time(1000.0, 3000.0, 3000.0, 3000.0 * 2.0_f64.ln()).unwrap();
        // Half the mass at one kilogram a second.
        assert!((time - 500.0).abs() < 1e-9);
        assert!(burn_time(1000.0, 0.0, 3000.0, 100.0).is_err());
    }
}
