//! A place on a body: geodetic latitude, longitude and height on its ellipsoid.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use super::body::Body;
use super::error::{Problem, SystemError};
use crate::conic::State;
use crate::time::Epoch;
use crate::vector::Vec3;

/// A place that turns with a body. All finite.
///
/// The ellipsoid is one of revolution with the body's equatorial and polar radii; latitude is the angle of its normal from the equator's
/// plane, longitude counts eastward from the prime meridian, height along the normal.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    body: Body,
    latitude: f64,
    longitude: f64,
    height: f64,
    depth: Option<f64>,
}

impl Site {
    /// A place on a body.
    ///
    /// - `latitude`: rad, −π/2 to π/2; `longitude`: rad, any; `height`: m above the ellipsoid, which is the level of a sea.
    ///
    /// On a body whose sea is nowhere shallower than some depth, a place at height zero is on the sea, and that depth is what is sure to be
    /// below it; elsewhere it is on the ground until [`Site::on_water`] says otherwise.
    ///
    /// # Errors
    /// A latitude beyond the poles; numbers that are not finite; a height that is deeper than the body.
    pub fn new(body: &Body, latitude: f64, longitude: f64, height: f64) -> Result<Site, SystemError> {
        let refused = |why: String, instead: &str| {
            Err(SystemError::nowhere(Problem::Refused { why, instead: instead.to_owned() }))
        };
        if !(latitude.abs() <= FRAC_PI_2) {
            return refused(
                format!("a latitude of {:.3} deg is beyond the poles", latitude.to_degrees()),
                "write a latitude from -90.deg to 90.deg",
            );
        }
        if !longitude.is_finite() {
            return refused("the longitude is no finite number".to_owned(), "write an angle such as 30.deg");
        }
        if !(height.is_finite() && height > -body.polar_radius()) {
            return refused(
                format!("a height of {:.3} km is below the centre of {}", height / 1e3, body.name()),
                "write a height above the ellipsoid, such as 120.m",
            );
        }
        let longitude = if longitude.abs() <= PI { longitude } else { (longitude + PI).rem_euclid(TAU) - PI };
        let covered = body.sea().map(|sea| sea.depth().0).filter(|least| *least > 0.0 && height == 0.0);
        Ok(Site { body: body.clone(), latitude, longitude, height, depth: covered })
    }

    /// The same place on water of a depth, m: what is put there floats.
    ///
    /// # Errors
    /// A body without a sea; a depth outside of what the sea has; a place that is not at the level of the sea.
    pub fn on_water(self, depth: f64) -> Result<Site, SystemError> {
        let name = self.body.name();
        let (why, instead) = match self.body.sea() {
            None => (format!("{name} has no sea"), "leave the depth out".to_owned()),
            Some(sea) => {
                let (least, most) = sea.depth();
                if self.height != 0.0 {
                    let why = format!("a place {:.1} m above the level of the sea is not on it", self.height);
                    (why, "leave the height out, or the depth".to_owned())
                } else if least <= depth && depth <= most && depth > 0.0 {
                    return Ok(Site { depth: Some(depth), ..self });
                } else {
                    let why = format!("the sea of {name} is {least:.0} to {most:.0} m deep, not {depth:.0} m");
                    (why, format!("write a depth such as {:.0}.m", 0.5 * (least + most)))
                }
            }
        };
        Err(SystemError::nowhere(Problem::Refused { why, instead }))
    }

    /// The body.
    pub fn body(&self) -> &Body {
        &self.body
    }

    /// Geodetic latitude, rad.
    pub fn latitude(&self) -> f64 {
        self.latitude
    }

    /// East longitude, rad, −π to π.
    pub fn longitude(&self) -> f64 {
        self.longitude
    }

    /// Height above the ellipsoid, m.
    pub fn height(&self) -> f64 {
        self.height
    }

    /// Depth of the water below, m; none on dry ground.
    pub fn depth(&self) -> Option<f64> {
        self.depth
    }

    /// Whether what is put there floats.
    pub fn is_water(&self) -> bool {
        self.depth.is_some()
    }

    /// The place in axes that turn with the body (prime meridian, a quarter turn east, pole), m.
    ///
    /// # Source
    /// [Vallado2013], section 3.2: with N = a/√(1 − e² sin²φ), ((N + h) cos φ cos λ, (N + h) cos φ sin λ, ((1 − e²) N + h) sin φ).
    pub fn fixed(&self) -> Vec3 {
        let (a, b) = (self.body.radius(), self.body.polar_radius());
        let (sine, cosine) = self.latitude.sin_cos();
        let square = 1.0 - (b / a) * (b / a);
        let normal = a / (1.0 - square * sine * sine).sqrt();
        let level = (normal + self.height) * cosine;
        let rise = ((1.0 - square) * normal + self.height) * sine;
        Vec3::new(level * self.longitude.cos(), level * self.longitude.sin(), rise)
    }

    /// East, north and up at an epoch, inertial unit vectors.
    pub fn horizon(&self, epoch: Epoch) -> (Vec3, Vec3, Vec3) {
        let axes = self.body.body_fixed(epoch);
        let ((s, c), (sl, cl)) = (self.latitude.sin_cos(), self.longitude.sin_cos());
        (axes * Vec3::new(-sl, cl, 0.0), axes * Vec3::new(-s * cl, -s * sl, c), axes * Vec3::new(c * cl, c * sl, s))
    }

    /// Place (m) and velocity (m/s) about the body's centre at an epoch, inertial axes: it turns with the body.
    pub fn state(&self, epoch: Epoch) -> State {
        let position = self.body.body_fixed(epoch) * self.fixed();
        State { position, velocity: self.body.angular_velocity(epoch).cross(&position) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::system::{EphemerisChoice, System};

    fn body(system: &str, name: &str) -> Body {
        System::embedded(system, EphemerisChoice::Default).unwrap().body(name).unwrap()
    }

    #[test]
    fn a_place_is_on_the_ellipsoid_and_moves_as_the_ground_does() {
        let earth = body("sol", "Earth");
        let epoch = earth.system().epoch();
        for (latitude, longitude) in [(0.0, 0.0), (0.7, 2.0), (-1.2, -3.0), (FRAC_PI_2, 1.0)] {
            let site = Site::new(&earth, latitude, longitude, 0.0).unwrap();
            let p = site.fixed();
            let on = (p.x.hypot(p.y) / earth.radius()).powi(2) + (p.z / earth.polar_radius()).powi(2);
            assert!((on - 1.0).abs() < 1e-14, "{on}");
            // The normal of the ellipsoid has the latitude.
            let normal = Vec3::new(p.x, p.y, p.z * (earth.radius() / earth.polar_radius()).powi(2));
            assert!(((normal.z / normal.norm()).asin() - latitude).abs() < 1e-8);
            let (before, here, after) =
                (site.state(epoch.after(-1.0)), site.state(epoch), site.state(epoch.after(1.0)));
            let moved = (after.position - before.position) / 2.0;
            // The pole of the model wanders by 0.64 and 0.56 deg a century, 4.7e-12 rad/s in all: 3e-5 m/s at the surface, which a turn about
            // the pole leaves out. The chord's own error is 0.4 µm/s.
            assert!((moved - here.velocity).norm() < 3e-5, "{}", (moved - here.velocity).norm());
            let (east, north, up) = site.horizon(epoch);
            assert!((east.cross(&north) - up).norm() < 1e-15);
            assert!((here.velocity - east * here.velocity.norm()).norm() < 1e-6);
        }
        // 465.1 m/s at the equator.
        let speed = Site::new(&earth, 0.0, 0.0, 0.0).unwrap().state(epoch).velocity.norm();
        assert!((speed - 465.1).abs() < 0.1, "{speed}");
    }

    #[test]
    fn a_height_is_counted_along_the_normal() {
        let earth = body("sol", "Earth");
        let low = Site::new(&earth, 0.6, 0.4, 0.0).unwrap();
        let high = Site::new(&earth, 0.6, 0.4, 2500.0).unwrap();
        let step = high.fixed() - low.fixed();
        let (_, _, up) = low.horizon(earth.system().epoch());
        let fixed = earth.body_fixed(earth.system().epoch()).tr_mul(&up);
        assert!((step - fixed * 2500.0).norm() < 1e-8);
    }

    #[test]
    fn seas_bear_what_is_put_on_them() {
        let (maren, veyra, keld) = (body("velm", "Maren"), body("velm", "Veyra"), body("velm", "Keld"));
        let covered = Site::new(&maren, 0.1, 0.2, 0.0).unwrap();
        assert_eq!((covered.is_water(), covered.depth()), (true, Some(1800.0)));
        assert_eq!(covered.on_water(4200.0).unwrap().depth(), Some(4200.0));
        let shore = Site::new(&veyra, 0.1, 0.2, 0.0).unwrap();
        assert!(!shore.is_water() && shore.clone().on_water(6000.0).unwrap().is_water());
        for (site, depth) in [(shore, 7000.0), (Site::new(&keld, 0.0, 0.0, 0.0).unwrap(), 10.0)] {
            assert!(site.on_water(depth).is_err());
        }
        assert!(Site::new(&veyra, 0.0, 0.0, 10.0).unwrap().on_water(100.0).is_err());
    }

    #[test]
    fn what_is_no_place_is_refused() {
        let veyra = body("velm", "Veyra");
        for (latitude, longitude, height) in
            [(1.6, 0.0, 0.0), (f64::NAN, 0.0, 0.0), (0.0, f64::INFINITY, 0.0), (0.0, 0.0, -5e6), (0.0, 0.0, f64::NAN)]
        {
            assert!(Site::new(&veyra, latitude, longitude, height).is_err());
        }
        let round = Site::new(&veyra, 0.0, 270.0_f64.to_radians(), 0.0).unwrap();
        assert!((round.longitude() + FRAC_PI_2).abs() < 1e-12);
    }
}
