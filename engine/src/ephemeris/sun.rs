//! Where the star stands, as seen from a place.

use super::error::EphemerisError;
use crate::system::Site;
use crate::time::Epoch;
use crate::vector::Vec3;

impl Site {
    /// Direction to the star, the body at the root of the system, in east, north and up at an epoch: a unit vector. Geometric, without light
    /// time and without refraction.
    ///
    /// # Errors
    /// An epoch outside the span of the ephemeris; a place on the star itself.
    pub fn sun_direction(&self, epoch: Epoch) -> Result<Vec3, EphemerisError> {
        let root = self.body().system().root();
        if root == *self.body() {
            return Err(EphemerisError::OnTheStar { star: root.name().to_owned() });
        }
        let to_star = root.state_about(self.body(), epoch)?.position - self.state(epoch).position;
        let (east, north, up) = self.horizon(epoch);
        Ok(Vec3::new(to_star.dot(&east), to_star.dot(&north), to_star.dot(&up)).normalize())
    }

    /// Height of the star's centre above the horizon at an epoch, rad, below zero at night.
    ///
    /// # Errors
    /// As [`Site::sun_direction`].
    pub fn sun_elevation(&self, epoch: Epoch) -> Result<f64, EphemerisError> {
        let toward = self.sun_direction(epoch)?;
        Ok(toward.z.atan2(toward.x.hypot(toward.y)))
    }

    /// Azimuth of the star, rad, from north through east, 0 to 2π.
    ///
    /// # Errors
    /// As [`Site::sun_direction`].
    pub fn sun_azimuth(&self, epoch: Epoch) -> Result<f64, EphemerisError> {
        let toward = self.sun_direction(epoch)?;
        Ok(toward.x.atan2(toward.y).rem_euclid(std::f64::consts::TAU))
    }
}
