//! What braking in the air saves at an arrival: a burn into a loose ellipse, then passes through the upper air.

use crate::arc::ArrivalOrbit;
use crate::arc::asymptote::speed_at;
use crate::burn::hohmann::apse_speed;
use crate::system::{Air, Body};

/// An arrival by aerobraking.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aerobraking {
    /// The burn into the loose ellipse, m/s.
    pub capture: f64,
    /// The burn at its apoapsis that lowers the periapsis into the air, m/s.
    pub walk_in: f64,
    /// What the air takes, m/s of speed at periapsis.
    pub by_the_air: f64,
    /// Allowance for trims of the corridor, m/s.
    pub trims: f64,
    /// The burn at the last apoapsis that raises the periapsis out of the air, m/s.
    pub walk_out: f64,
}

impl Aerobraking {
    /// By propellant, m/s.
    pub fn dv(&self) -> f64 {
        self.capture + self.walk_in + self.trims + self.walk_out
    }
}

/// Trims of the corridor, m/s: common practice, no source.
const TRIMS: f64 = 20.0;

/// Height of the passes as a part of the air's top: Mars orbiters passed at 100 to 110 km (from memory) under a top of 125 km.
const PASS: f64 = 0.85;

/// How much farther out than the orbit wanted the loose ellipse must reach for the air to be worth its passes.
const LOOSE: f64 = 1.5;

/// Arriving with an excess speed (m/s) into an orbit by way of a loose ellipse with this apoapsis altitude (m); `None` without air, or
/// where the orbit wanted reaches as far out as the ellipse or down into the air.
///
/// Burns and braking are along the motion at apsides, in one plane.
///
/// # Source
/// Vis viva at the apsides, [Battin1999], section 3.3.
pub fn aerobraking(body: &Body, v_infinity: f64, arrival: &ArrivalOrbit, loose_apoapsis: f64) -> Option<Aerobraking> {
    let top = body.air().map(Air::top)?;
    let (gm, ground) = (crate::orbit::Orbit::gm_of(body), body.radius());
    let periapsis = arrival.periapsis_radius(body);
    let apoapsis = match *arrival {
        ArrivalOrbit::Circular { altitude } => ground + altitude,
        ArrivalOrbit::Ellipse { apoapsis_altitude, .. } => ground + apoapsis_altitude,
    };
    let (far, low) = (ground + loose_apoapsis, ground + PASS * top);
    if !(far > LOOSE * apoapsis && periapsis > low && far < body.sphere_of_influence()) {
        return None;
    }
    Some(Aerobraking {
        capture: speed_at(gm, v_infinity, periapsis) - apse_speed(gm, periapsis, far),
        walk_in: apse_speed(gm, far, periapsis) - apse_speed(gm, far, low),
        by_the_air: apse_speed(gm, low, far) - apse_speed(gm, low, apoapsis),
        trims: TRIMS,
        walk_out: apse_speed(gm, apoapsis, periapsis) - apse_speed(gm, apoapsis, low),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::system::{EphemerisChoice, System};

    /// Published: what drag took from orbits about Mars: 1200 m/s from 45 h (Mars Global Surveyor, to 400 km), 1080 m/s from 18.6 h (Mars
    /// Odyssey, to 292 by 400 km), 1017 m/s from 24 h (Trace Gas Orbiter, to 2.1 h): the sources stand in tests/reference/trajectory/missions.toml,
    /// rows ms24, ms27, ms26. The air's oblateness, the end of the passes and walking out by burns make 10 % of difference.
    #[test]
    fn the_air_takes_what_it_took_at_mars() {
        let mars = System::embedded("sol", EphemerisChoice::Mean).unwrap().body("Mars").unwrap();
        let axis = |hours: f64| (mars.gm() * (hours * 3600.0 / std::f64::consts::TAU).powi(2)).cbrt();
        for (hours, last, published) in [(44.993, 400e3, 1200.0), (18.6, 400e3, 1080.0), (24.0, 400e3, 1017.0)] {
            let apoapsis = 2.0 * axis(hours) - (mars.radius() + 300e3) - mars.radius();
            let orbit = ArrivalOrbit::Circular { altitude: last };
            let found = aerobraking(&mars, 2700.0, &orbit, apoapsis).unwrap();
            assert!((found.by_the_air / published - 1.0).abs() < 0.15, "{hours} h {found:?}");
        }
        let moon = mars.system().body("Moon").unwrap();
        assert!(aerobraking(&moon, 1e3, &ArrivalOrbit::Circular { altitude: 1e5 }, 1e7).is_none());
    }
}
