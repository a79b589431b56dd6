//! Launch azimuth: which way to pitch over so that the orbit has the wanted inclination.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::conic::State;
use crate::frame::unit;
use crate::vector::Vec3;

/// A launch azimuth, clockwise from north.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Azimuth {
    /// Of the orbit's velocity, rad.
    pub inertial: f64,
    /// Of the velocity that thrust gives, with the ground's own motion taken off, rad: the way to pitch over.
    pub launch: f64,
    /// How far the latitude lies beyond what the inclination reaches, rad: the plane change that steering makes up for (a dogleg); zero where the plane
    /// passes over the site.
    pub dogleg: f64,
}

/// The launch azimuth for an inclination.
///
/// - `latitude`: of the site as seen from the centre, rad.
/// - `inclination`: wanted, rad, 0 to π.
/// - `southward`: takes the pass toward the south.
/// - `ground_speed`: eastward, of the site, m/s.
/// - `orbit_speed`: at insertion, m/s.
///
/// # Source
/// cos i = cos φ sin β; [Vallado2013], section 6.4.2, launch parameters; the ground's speed is taken off the inertial velocity.
///
/// # Example
/// From 28.5° to the least inclination, due east.
/// ```
/// # use visviva_engine::air_flight::ascent::azimuth;
/// let latitude = 28.5_f64.to_radians();
/// let east = azimuth(latitude, latitude, false, 408.7, 7793.0);
/// assert!((east.launch.to_degrees() - 90.0).abs() < 1e-6 && east.dogleg == 0.0);
/// ```
pub fn azimuth(latitude: f64, inclination: f64, southward: bool, ground_speed: f64, orbit_speed: f64) -> Azimuth {
    let sine = inclination.cos() / latitude.cos();
    // Beyond the reach of the inclination the way is due east, or due west for a retrograde orbit.
    let northern = sine.clamp(-1.0, 1.0).asin();
    let inertial = if southward { PI - northern } else { northern };
    let reach = inclination.min(PI - inclination);
    // The last bits of an inclination that equals the latitude are no dogleg.
    let beyond = latitude.abs() - reach;
    let dogleg = if beyond > 1e-12 { beyond } else { 0.0 };
    let (east, north) = (orbit_speed * inertial.sin() - ground_speed, orbit_speed * inertial.cos());
    let launch = east.atan2(north).rem_euclid(2.0 * PI);
    Azimuth { inertial: inertial.rem_euclid(2.0 * PI), launch, dogleg }
}

/// Direction of an azimuth (rad, clockwise from north) on the horizon of a place; `up` is the vertical there.
pub fn heading(up: &Vec3, north: &Vec3, azimuth: f64) -> Option<Vec3> {
    let east = unit(&north.cross(up)).or_else(|| unit(&Vec3::x().cross(up))).or_else(|| unit(&Vec3::y().cross(up)))?;
    let ahead = up.cross(&east);
    Some(ahead * azimuth.cos() + east * azimuth.sin())
}

/// The plane of an inclination that passes through a place, or comes nearest to it, and lies nearest to the motion: the unit vector of its angular
/// momentum.
pub(super) fn plane_through(state: &State, north: &Vec3, inclination: f64) -> Option<Vec3> {
    let up = unit(&state.position)?;
    let latitude = FRAC_PI_2 - north.cross(&up).norm().atan2(north.dot(&up));
    let sine = (inclination.cos() / latitude.cos()).clamp(-1.0, 1.0);
    let northern = sine.asin();
    let moving = state.velocity - up * state.velocity.dot(&up);
    let ways = [northern, PI - northern].map(|azimuth| heading(&up, north, azimuth));
    let ahead = match ways {
        [Some(one), Some(other)] => {
            if moving.dot(&one) >= moving.dot(&other) {
                one
            } else {
                other
            }
        }
        _ => return None,
    };
    let through = up.cross(&ahead);
    // Out of reach, the plane whose summit is at the place's longitude: its normal leans to the side of the place by the inclination.
    let level = unit(&(through - north * north.dot(&through))).unwrap_or_else(Vec3::zeros);
    if (inclination.cos() / latitude.cos()).abs() > 1.0 {
        let lean = unit(&(up - north * north.dot(&up)))? * -latitude.signum();
        return unit(&(north * inclination.cos() + lean * inclination.sin()));
    }
    unit(&(north * inclination.cos() + level * inclination.sin()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_plane_has_the_inclination_and_passes_over_the_place() {
        let place = Vec3::new(0.8, 0.2, 0.5).normalize() * 7e6;
        let north = Vec3::z();
        for (inclination, velocity) in
            [(0.9, Vec3::new(0.0, 7e3, 1e3)), (0.9, Vec3::new(0.0, 7e3, -1e3)), (2.0, Vec3::new(0.0, -7e3, 1e3))]
        {
            let normal = plane_through(&State::new(place, velocity), &north, inclination).unwrap();
            assert!((normal.z - f64::cos(inclination)).abs() < 1e-12);
            assert!(normal.dot(&place).abs() < 1e-6, "{}", normal.dot(&place));
            assert!(normal.cross(&place).dot(&velocity) > 0.0);
        }
        // Out of reach: as near as the inclination allows.
        let normal = plane_through(&State::new(place, Vec3::new(0.0, 7e3, 0.0)), &north, 0.1).unwrap();
        let latitude = (0.5 / Vec3::new(0.8, 0.2, 0.5).norm()).asin();
        let off = (normal.dot(&place) / 7e6).asin().abs();
        assert!((normal.z - f64::cos(0.1)).abs() < 1e-12 && (off - (latitude - 0.1)).abs() < 1e-9);
    }

    #[test]
    fn the_ground_s_motion_turns_the_azimuth_toward_the_pole() {
        let to_51 = azimuth(28.5_f64.to_radians(), 51.6_f64.to_radians(), false, 408.7, 7700.0);
        assert!(to_51.inertial.to_degrees() > 44.9 && to_51.inertial.to_degrees() < 45.1);
        assert!(to_51.launch < to_51.inertial);
        let south = azimuth(28.5_f64.to_radians(), 51.6_f64.to_radians(), true, 408.7, 7700.0);
        assert!((south.launch + to_51.launch - PI).abs() < 1e-12);
        let low = azimuth(0.5, 0.1, false, 400.0, 7700.0);
        assert!((low.dogleg - 0.4).abs() < 1e-12 && (low.launch - FRAC_PI_2).abs() < 1e-12);
        let polar = azimuth(0.5, FRAC_PI_2, false, 400.0, 7700.0);
        assert!(polar.launch > 1.5 * PI, "a little west of north");
    }

    #[test]
    fn headings_lie_on_the_horizon() {
        let up = Vec3::new(0.6, 0.0, 0.8);
        let east = heading(&up, &Vec3::z(), FRAC_PI_2).unwrap();
        assert!((east - Vec3::y()).norm() < 1e-15);
        assert!(heading(&Vec3::z(), &Vec3::z(), 0.3).unwrap().dot(&Vec3::z()).abs() < 1e-15);
    }
}
