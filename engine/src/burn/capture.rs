//! Capture: from an approach hyperbola into an orbit.

use super::Burn;
use super::departure::{Departure, departure};
use super::error::{BurnError, GM, positive};
use crate::conic::{State, hyperbola, propagate, time_since_periapsis};
use crate::orbit::{Orbit, OrbitError};
use crate::vector::Vec3;
use std::f64::consts::TAU;

/// A capture by one burn against the motion at a common periapsis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Capture {
    /// Size of the burn, m/s.
    pub dv: f64,
    /// m.
    pub periapsis_radius: f64,
    /// m.
    pub apoapsis_radius: f64,
    /// Distance of the approach asymptote from the centre, m.
    pub aim_radius: f64,
    /// Eccentricity of the approach hyperbola.
    pub hyperbola_eccentricity: f64,
}

impl Capture {
    /// Eccentricity of the orbit.
    pub fn eccentricity(&self) -> f64 {
        (self.apoapsis_radius - self.periapsis_radius) / (self.apoapsis_radius + self.periapsis_radius)
    }

    /// Semi-major axis of the orbit, m.
    pub fn semi_major_axis(&self) -> f64 {
        0.5 * (self.apoapsis_radius + self.periapsis_radius)
    }
}

/// Capture of an excess speed `v_infinity` (m/s) into the orbit with these apses (m; equal for a circle).
///
/// # Errors
/// Inputs not above zero.
///
/// # Source
/// [Curtis2014], section 8.8.
pub fn between_apses(gm: f64, v_infinity: f64, periapsis: f64, apoapsis: f64) -> Result<Capture, BurnError> {
    positive(GM, gm)?;
    positive("the excess speed, m/s,", v_infinity)?;
    positive("the periapsis radius, m,", periapsis)?;
    positive("the apoapsis radius, m,", apoapsis)?;
    let speed = (v_infinity * v_infinity + 2.0 * gm / periapsis).sqrt();
    Ok(Capture {
        dv: (speed - super::hohmann::apse_speed(gm, periapsis, apoapsis)).abs(),
        periapsis_radius: periapsis,
        apoapsis_radius: apoapsis,
        aim_radius: (periapsis * (periapsis + 2.0 * gm / (v_infinity * v_infinity))).sqrt(),
        hyperbola_eccentricity: 1.0 + periapsis * v_infinity * v_infinity / gm,
    })
}

/// The cheapest capture into an orbit of a given `eccentricity` (0 up to 1): its periapsis is free.
///
/// # Errors
/// Inputs not above zero; an eccentricity of 1 or more.
///
/// # Source
/// [Curtis2014], equations 8.67, 8.70: rp = 2gm/v² · (1 − e)/(1 + e).
pub fn cheapest(gm: f64, v_infinity: f64, eccentricity: f64) -> Result<Capture, BurnError> {
    positive(GM, gm)?;
    positive("the excess speed, m/s,", v_infinity)?;
    if !(eccentricity >= 0.0) {
        return Err(BurnError::NotFinite { what: "the eccentricity, 0 or more,", value: eccentricity });
    }
    let less = positive("one less the eccentricity", 1.0 - eccentricity)?;
    let periapsis = 2.0 * gm / (v_infinity * v_infinity) * less / (1.0 + eccentricity);
    between_apses(gm, v_infinity, periapsis, periapsis * (1.0 + eccentricity) / less)
}

/// The cheapest capture into an orbit of a given `period` (s).
///
/// # Errors
/// Inputs not above zero; a period so long that the cheapest periapsis would be the centre.
///
/// # Source
/// As [`cheapest`], with a(1 − e) = rp: 1 + e = 2gm/(a v²).
pub fn cheapest_of_period(gm: f64, v_infinity: f64, period: f64) -> Result<Capture, BurnError> {
    positive(GM, gm)?;
    positive("the excess speed, m/s,", v_infinity)?;
    let turns = positive("the period, s,", period)? / TAU;
    let a = (gm * turns * turns).cbrt();
    cheapest(gm, v_infinity, 2.0 * gm / (a * v_infinity * v_infinity) - 1.0)
}

/// A burn at the periapsis of a given approach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PeriapsisCapture {
    /// From the given state to periapsis, s.
    pub wait: f64,
    /// State just before the burn, m and m/s.
    pub before: State,
    /// The burn, m/s, inertial, along or against the motion.
    pub dv: Vec3,
}

/// From `state` on an approach hyperbola (before its periapsis) into the orbit with the same periapsis and an apoapsis of
/// `apoapsis` (m; its own periapsis radius for a circle; less than that makes the burn place the far apse).
///
/// # Errors
/// A bound orbit; a periapsis that has passed; inputs not above zero.
pub fn at_periapsis(gm: f64, state: &State, apoapsis: f64) -> Result<PeriapsisCapture, BurnError> {
    state.checked(gm)?;
    positive("the apoapsis radius, m,", apoapsis)?;
    let energy = crate::conic::energy(gm, state);
    if !(energy > 0.0) {
        return Err(BurnError::Bound { energy_m2_s2: energy });
    }
    let wait = -time_since_periapsis(gm, state);
    // A state at periapsis itself may come out a hair after it: 1e-8 of the local time scale is a thousand times what
    // propagation and the rounding of epochs leave.
    let here = 1e-8 * (state.radius().powi(3) / gm).sqrt() + 2e-9;
    if !(wait >= -here) {
        return Err(BurnError::NotPositive { what: "the time to periapsis, s,", value: wait });
    }
    let wait = wait.max(0.0);
    let before = propagate(gm, state, wait)?;
    let along = before.velocity / before.speed();
    let speed = super::hohmann::apse_speed(gm, before.radius(), apoapsis);
    Ok(PeriapsisCapture { wait, before, dv: along * (speed - before.speed()) })
}

/// Apoapsis radius (m) of the ellipse with a periapsis radius (m) and a period (s): 2 a − r_p with a³ = gm (T/2π)².
///
/// # Errors
/// A period shorter than that of the circle at periapsis; inputs not above zero.
pub fn apoapsis_of_period(gm: f64, periapsis: f64, period: f64) -> Result<f64, BurnError> {
    let turns = positive("the period, s,", period)? / TAU;
    let apoapsis = 2.0 * (gm * turns * turns).cbrt() - positive("the periapsis radius, m,", periapsis)?;
    if apoapsis < periapsis {
        return Err(BurnError::NotPositive {
            what: "the apoapsis less the periapsis radius, m,",
            value: apoapsis - periapsis,
        });
    }
    Ok(apoapsis)
}

/// The burn at the periapsis of an approach into the orbit with an apoapsis radius (m; `None` for a circle), planned there.
///
/// # Errors
/// As [`at_periapsis`].
pub fn from_approach(approach: &Orbit, apoapsis: Option<f64>) -> Result<Burn, BurnError> {
    let apoapsis = apoapsis.unwrap_or_else(|| approach.periapsis_radius());
    let found = at_periapsis(approach.gm(), approach.state(), apoapsis)?;
    let epoch = approach.epoch().try_after(found.wait).map_err(OrbitError::from)?;
    Ok(Burn::planned(approach.body(), epoch, found.before, found.dv)?.labelled("capture burn"))
}

/// The cheapest single burn from the approach with `v_infinity` (m/s, incoming) into the orbit of `orbit`, whose aim is free.
///
/// A departure flown backwards: the place on the wanted orbit is searched, the hyperbola comes in to it with exactly this
/// excess velocity. The answer's `before` is the state on the hyperbola, its wait is counted from the state given on the orbit
/// (from that instant the orbit passes the place of the burn), its aim follows from [`aim_of`].
///
/// # Errors
/// As [`departure`].
pub fn onto_orbit(gm: f64, orbit: &State, v_infinity: &Vec3, least_periapsis: f64) -> Result<Departure, BurnError> {
    let back = departure(gm, &orbit.reversed(), &-v_infinity, least_periapsis)?;
    let period = closed_period(gm, orbit)?;
    let hyperbola = back.after().reversed();
    Ok(Departure {
        wait: (period - back.wait).rem_euclid(period),
        before: hyperbola,
        dv: -back.before.velocity - hyperbola.velocity,
        eccentricity: back.eccentricity,
        periapsis_radius: back.periapsis_radius,
        time_to_periapsis: -back.time_to_periapsis,
    })
}

/// Aim B (m) of the approach that a capture burns from; none if its state is on no hyperbola.
pub fn aim_of(gm: f64, capture: &Departure) -> Option<Vec3> {
    hyperbola::incoming(gm, &capture.before).map(|asymptote| asymptote.aim)
}

fn closed_period(gm: f64, orbit: &State) -> Result<f64, BurnError> {
    crate::conic::Elements::from_state(gm, orbit)?
        .period(gm)
        .ok_or(BurnError::Open { energy_m2_s2: crate::conic::energy(gm, orbit) })
}

#[cfg(test)]
mod tests {
    use super::*;

    const GM: f64 = 4.28e13;

    #[test]
    fn cheapest_is_the_least_of_its_neighbours() {
        let best = cheapest(GM, 2650.0, 0.4).unwrap();
        for factor in [0.99, 1.01] {
            let other =
                between_apses(GM, 2650.0, best.periapsis_radius * factor, best.apoapsis_radius * factor).unwrap();
            assert!(other.dv > best.dv);
        }
        assert!((best.dv - 2650.0 * 0.3_f64.sqrt()).abs() < 1e-9);
        assert!(
            (cheapest_of_period(GM, 2650.0, 25200.0).unwrap().dv
                - cheapest(GM, 2650.0, cheapest_of_period(GM, 2650.0, 25200.0).unwrap().eccentricity()).unwrap().dv)
                .abs()
                < 1e-9
        );
    }

    #[test]
    fn capture_lands_on_the_orbit_from_the_wanted_asymptote() {
        let orbit = State::new([4e6, 0.0, 0.0].into(), [0.0, 3000.0, 1800.0].into());
        let v = Vec3::new(-1000.0, 2000.0, 900.0);
        let found = onto_orbit(GM, &orbit, &v, 0.0).unwrap();
        assert!((hyperbola::incoming(GM, &found.before).unwrap().v_infinity - v).norm() < 1e-9);
        let there = propagate(GM, &orbit, found.wait).unwrap();
        let after = found.after();
        assert!(
            (there.position - after.position).norm() < 1e-3 && (there.velocity - after.velocity).norm() < 1e-6,
            "{there:?} {after:?}"
        );
        assert!(aim_of(GM, &found).is_some());
    }
}
