//! Where a craft or a part ends if nothing more is done.

use super::VoyageError;
use crate::conic::propagate;
use crate::motion::conics::next_patch;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// Where a conic ends, without air: the first that comes.
#[derive(Debug, Clone, PartialEq)]
pub enum Ending {
    /// It stays on its orbit, above ground and air.
    Stays {
        /// Above the equatorial radius, m.
        periapsis_altitude: f64,
        /// Above the equatorial radius, m; `None` where the orbit is open and its sphere is not left in the time looked at.
        apoapsis_altitude: Option<f64>,
    },
    /// Its periapsis lies in the air: drag brings it down, when is not told by a conic.
    Decays {
        /// Above the equatorial radius, m.
        periapsis_altitude: f64,
        /// Height to which the air is counted, m.
        air_top: f64,
    },
    /// It strikes the ground. Air is left out.
    Strikes(Impact),
    /// It leaves the sphere of influence of its body.
    Leaves {
        /// When.
        epoch: Epoch,
        /// The body that it is about then.
        into: Body,
    },
    /// It enters the sphere of influence of a body.
    Enters {
        /// When.
        epoch: Epoch,
        /// That body.
        body: Body,
    },
}

/// Where and how the ground is struck: on the sphere of the equatorial radius.
#[derive(Debug, Clone, PartialEq)]
pub struct Impact {
    /// When.
    pub epoch: Epoch,
    /// The body.
    pub body: Body,
    /// Geodetic latitude of the ground below, rad, north above zero.
    pub latitude: f64,
    /// East longitude, rad, from −π to π.
    pub longitude: f64,
    /// Speed, m/s, inertial.
    pub speed: f64,
    /// Speed against the turning ground, m/s.
    pub ground_speed: f64,
    /// Of the path below the horizon, rad, inertial.
    pub angle: f64,
    /// Whether there is air that the conic fell through as if it were not there.
    pub through_air: bool,
}

impl Ending {
    /// Which of them, in a word.
    pub fn name(&self) -> &'static str {
        match self {
            Ending::Stays { .. } => "stays in orbit",
            Ending::Decays { .. } => "dips into air",
            Ending::Strikes(_) => "strikes the ground",
            Ending::Leaves { .. } => "leaves the sphere",
            Ending::Enters { .. } => "enters a sphere",
        }
    }

    /// When it comes to that; `None` for what stays or decays.
    pub fn epoch(&self) -> Option<Epoch> {
        match self {
            Ending::Stays { .. } | Ending::Decays { .. } => None,
            Ending::Strikes(impact) => Some(impact.epoch),
            Ending::Leaves { epoch, .. } | Ending::Enters { epoch, .. } => Some(*epoch),
        }
    }
}

/// Where an orbit ends if nothing more is done, looking at so much time ahead (s), or to the end of the ephemeris.
///
/// - `leaving`: the child whose sphere was left just now, so that it is not met at once.
///
/// # Errors
/// A time that is not above zero; an ephemeris that does not reach; interruption.
pub fn ending(orbit: &Orbit, leaving: Option<&Body>, within: f64, watch: &Watch<'_>) -> Result<Ending, VoyageError> {
    if !(within > 0.0 && within.is_finite()) {
        return Err(VoyageError::BadTime { seconds: within });
    }
    let body = orbit.body();
    let mut until = orbit.epoch().try_after(within)?;
    if let Some((_, end)) = body.system().span() {
        until = until.min(end);
    }
    let ground = orbit.time_to_ground()?.map(|(time, _)| time);
    let struck = ground.filter(|time| *time <= until.seconds_since(orbit.epoch()));
    let limit = struck.map_or(until, |time| orbit.epoch().after(time));
    if let Some(patch) = next_patch(orbit, limit, leaving, watch)? {
        let (epoch, about) = (patch.epoch, patch.after.body().clone());
        return Ok(if patch.is_outward() {
            Ending::Leaves { epoch, into: about }
        } else {
            Ending::Enters { epoch, body: about }
        });
    }
    if let Some(time) = struck {
        return Ok(Ending::Strikes(impact(orbit, time)?));
    }
    let periapsis_altitude = orbit.periapsis_altitude();
    match body.air() {
        Some(air) if periapsis_altitude < air.top() && orbit.period().is_some() => {
            Ok(Ending::Decays { periapsis_altitude, air_top: air.top() })
        }
        _ => Ok(Ending::Stays { periapsis_altitude, apoapsis_altitude: orbit.apoapsis_altitude() }),
    }
}

fn impact(orbit: &Orbit, time: f64) -> Result<Impact, VoyageError> {
    let (body, epoch) = (orbit.body(), orbit.epoch().after(time));
    let state = propagate(orbit.gm(), orbit.state(), time)?;
    let (latitude, longitude) = place_on(body, epoch, &state.position);
    let against = state.velocity - body.air_velocity(&state.position, epoch);
    let down = -state.position.dot(&state.velocity) / (state.radius() * state.speed());
    Ok(Impact {
        epoch,
        body: body.clone(),
        latitude,
        longitude,
        speed: state.speed(),
        ground_speed: against.norm(),
        angle: down.clamp(-1.0, 1.0).asin(),
        through_air: body.air().is_some(),
    })
}

/// Geodetic latitude and east longitude (rad) of the point of a body's ellipsoid that a place (m, inertial axes) stands over, as seen from
/// the centre.
///
/// # Source
/// tan φ = tan φ' / (1 − f)², [Vallado2013], section 3.2.
pub fn place_on(body: &Body, epoch: Epoch, place: &Vec3) -> (f64, f64) {
    let fixed = body.body_fixed(epoch).tr_mul(place);
    let square = (1.0 - body.flattening()) * (1.0 - body.flattening());
    let latitude = fixed.z.atan2(square * fixed.x.hypot(fixed.y));
    (latitude, fixed.y.atan2(fixed.x))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::voyage::rehearsal::{parked, unwatched};

    fn after(name: &str, along: f64) -> Orbit {
        let orbit = parked(name).orbit().clone();
        let way = orbit.state().velocity.normalize();
        orbit.after_impulse(way * along).unwrap()
    }

    #[test]
    fn four_ways_to_end() {
        let year = 365.25 * 86_400.0;
        let end = |along| ending(&after("Veyra", along), None, year, &unwatched()).unwrap();
        assert_eq!(end(0.0).name(), "stays in orbit");
        assert_eq!(end(-40.0).name(), "dips into air");
        assert_eq!(end(-500.0).name(), "strikes the ground");
        assert_eq!(end(3000.0).name(), "leaves the sphere");
        assert!(ending(&after("Veyra", 0.0), None, -1.0, &unwatched()).is_err());
    }

    #[test]
    fn the_ground_is_struck_where_a_flight_ends() {
        let orbit = after("Maren", -150.0);
        let Ending::Strikes(impact) = ending(&orbit, None, 1e6, &unwatched()).unwrap() else { panic!("it strikes") };
        let mut flown = parked("Maren");
        flown.burn(&crate::burn::Burn::local(-150.0, 0.0, 0.0).unwrap(), &unwatched()).unwrap();
        flown.coast(1e6, &unwatched()).unwrap();
        assert_eq!(flown.epoch(), impact.epoch);
        assert!((flown.orbit().speed() - impact.speed).abs() < 1e-9);
        // In the equator's plane, falling, and the ground turns the same way as the craft.
        assert!(impact.latitude.abs() < 0.3 && impact.angle > 0.0 && impact.ground_speed < impact.speed);
    }

    #[test]
    fn a_place_over_the_turning_ground() {
        let sol = crate::system::System::embedded("sol", crate::system::EphemerisChoice::Default).unwrap();
        let earth = sol.body("Earth").unwrap();
        let start = sol.epoch();
        let axes = earth.body_fixed(start);
        let at = |latitude: f64, longitude: f64| {
            let (sin, cos) = latitude.sin_cos();
            axes * Vec3::new(cos * longitude.cos(), cos * longitude.sin(), sin) * 7e6
        };
        let (latitude, longitude) = place_on(&earth, start, &at(0.0, -2.0));
        assert!(latitude.abs() < 1e-12 && (longitude + 2.0).abs() < 1e-12);
        // A flattened ground leans: at 45 degrees by 11.5 minutes of arc on the Earth (from memory, to the last digit shown).
        let (latitude, _) = place_on(&earth, start, &at(std::f64::consts::FRAC_PI_4, 0.0));
        let lean = (latitude.to_degrees() - 45.0) * 60.0;
        assert!((lean - 11.5).abs() < 0.1, "{lean}");
        // A quarter of a turn later the same inertial place stands a quarter turn farther west.
        let quarter = 0.25 * std::f64::consts::TAU / earth.angular_velocity(start).norm();
        let (_, east) = place_on(&earth, start.after(quarter), &at(0.0, 0.0));
        // The pole moves a little meanwhile.
        assert!((east + std::f64::consts::FRAC_PI_2).abs() < 1e-6, "{east}");
    }
}
