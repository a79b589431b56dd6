//! From the ground to a low orbit and back, before there is a vehicle.
//!
//! The ideal way up is the half ellipse that begins level at the ground; rotation gives its share eastward; gravity, drag and steering take
//! theirs, told as a part of the circular speed. These parts are the estimate: a vehicle replaces them.

use std::f64::consts::TAU;

use super::BudgetError;
use crate::burn::hohmann::apse_speed;
use crate::system::{Air, Body};

/// A Δv without a vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// m/s.
    pub dv: f64,
    /// How it was found.
    pub how: String,
}

/// Losses of an ascent through air as a part of the circular speed. Common practice, no source: 1.5 to 2 km/s at the Earth, 1.7 here.
const ASCENT_IN_AIR: f64 = 0.22;

/// Losses of an ascent without air. Lunar ascents of 1.85 km/s into low orbits (from memory of the Apollo flights) ask for a tenth.
const ASCENT_AIRLESS: f64 = 0.10;

/// Losses of a landing without air, hovering included. Lunar landings of 2.05 km/s (from memory of the Apollo flights) ask for a fifth.
const LANDING_AIRLESS: f64 = 0.20;

/// Ballistic coefficient (kg/m²) and losses of a last braking by engines in air: common practice, no source.
const BALLISTIC: f64 = 100.0;
const LAST_BRAKING: f64 = 0.20;

/// Density at the ground, kg/m³, above which air counts: below it an entry brakes for too short a time. Mars has fifteen times as much.
const THIN: f64 = 1e-3;

fn dense(body: &Body) -> Option<&Air> {
    body.air().filter(|air| air.at(0.0).is_some_and(|ground| ground.density > THIN))
}

fn grounded(body: &Body) -> Result<(), BudgetError> {
    // A star and a giant have no ground: what radiates, or has a ring, or is held together by gas alone is known by its density.
    let volume = 2.0 / 3.0 * TAU * body.radius().powi(3);
    let density = body.gm() / crate::constants::GRAVITATION / volume;
    if body.parent().is_none() || (density < 1.8e3 && body.gm() > 1e15) {
        return Err(BudgetError::NoGround { body: body.name().to_owned() });
    }
    Ok(())
}

/// Speed of the ground at the equator, m/s, eastward.
fn ground_speed(body: &Body) -> f64 {
    body.spin().filter(|spin| !spin.retrograde).map_or(0.0, |spin| TAU * body.radius() / spin.period)
}

/// Ideal Δv between the ground and a circle at an altitude (m): two burns of a half ellipse. [Battin1999], section 11.3.
fn ideal(body: &Body, altitude: f64) -> f64 {
    let (gm, ground, circle) = (body.gm(), body.radius(), body.radius() + altitude);
    apse_speed(gm, ground, circle) + apse_speed(gm, circle, circle) - apse_speed(gm, circle, ground)
}

/// From the ground eastward into a circle at an altitude (m).
///
/// # Errors
/// A body without a ground; an altitude below zero.
pub fn ascent(body: &Body, altitude: f64) -> Result<Estimate, BudgetError> {
    grounded(body)?;
    let altitude = super::positive("the altitude, m,", altitude)?;
    let part = if dense(body).is_some() { ASCENT_IN_AIR } else { ASCENT_AIRLESS };
    let circle = (body.gm() / (body.radius() + altitude)).sqrt();
    let (way, spin, losses) = (ideal(body, altitude), ground_speed(body), part * circle);
    let how = format!(
        "half ellipse from the ground {way:.0} m/s, less rotation {spin:.0}, and losses of {:.0} % of the circular speed {losses:.0}",
        100.0 * part
    );
    Ok(Estimate { dv: way - spin + losses, how })
}

/// From a circle at an altitude (m) to the ground: by the air, where there is enough of it, else by engines.
///
/// # Errors
/// As [`ascent`].
pub fn landing(body: &Body, altitude: f64) -> Result<Estimate, BudgetError> {
    grounded(body)?;
    let altitude = super::positive("the altitude, m,", altitude)?;
    let (gm, radius) = (body.gm(), body.radius());
    let circle = (gm / (radius + altitude)).sqrt();
    let Some((air, ground)) = dense(body).and_then(|air| air.at(0.0).map(|ground| (air, ground))) else {
        let (way, losses) = (ideal(body, altitude), LANDING_AIRLESS * circle);
        let spin = ground_speed(body);
        let how = format!(
            "half ellipse to the ground {way:.0} m/s, less rotation {spin:.0}, and losses of {:.0} % of the circular speed {losses:.0}",
            100.0 * LANDING_AIRLESS
        );
        return Ok(Estimate { dv: way - spin + losses, how });
    };
    // Down to the middle of the air, where an entry from a low orbit is held.
    let low = radius + 0.5 * air.top().min(altitude);
    let deorbit = circle - apse_speed(gm, radius + altitude, low);
    let fall = (2.0 * BALLISTIC * body.surface_gravity() / ground.density).sqrt().min(circle);
    let last = fall * (1.0 + LAST_BRAKING);
    let how = format!(
        "burn out of orbit {deorbit:.0} m/s, the air takes the rest down to the fall at {fall:.0} m/s of {BALLISTIC:.0} kg/m² without a \
         parachute, braked by engines with {:.0} % losses {last:.0}; for study, entry follows licensed practice",
        100.0 * LAST_BRAKING
    );
    Ok(Estimate { dv: deorbit + last, how })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::system::{EphemerisChoice, System};

    /// Published: 9.3 to 9.5 km/s from the ground into a low orbit of the Earth, Apollo's 1.85 up and 2.05 km/s down at the Moon, 3.9 to 4.3 km/s
    /// from the ground of Mars; all from memory. Losses vary by a third between vehicles, that is by 6 % of the whole at the Earth.
    #[test]
    fn estimates_agree_with_what_was_flown() {
        let sol = System::embedded("sol", EphemerisChoice::Mean).unwrap();
        let body = |name: &str| sol.body(name).unwrap();
        for (name, altitude, up) in [("Earth", 300e3, 9400.0), ("Moon", 100e3, 1850.0), ("Mars", 300e3, 4100.0)] {
            let found = ascent(&body(name), altitude).unwrap();
            assert!((found.dv / up - 1.0).abs() < 0.06, "{name} {found:?}");
        }
        let moon = landing(&body("Moon"), 100e3).unwrap();
        assert!((moon.dv / 2050.0 - 1.0).abs() < 0.06, "{moon:?}");
        // Through the air it costs a small part of the orbital speed.
        assert!(landing(&body("Mars"), 300e3).unwrap().dv < 500.0);
        assert!(landing(&body("Titan"), 1500e3).unwrap().dv < 400.0);
        assert!(matches!(ascent(&body("Jupiter"), 1e6), Err(BudgetError::NoGround { .. })));
        assert!(matches!(ascent(&body("Moon"), -1.0), Err(BudgetError::Negative { .. })));
    }
}
