//! The attraction of a body: that of a point, and of its flattening.

use super::triple::{Triple, dot, splat};
use crate::numerics::lanes::Lane;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// Gravity of a point with the second zonal harmonic about a pole that stands still.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gravity {
    /// m³/s².
    gm: f64,
    /// 3/2 J₂ R², m²; R is the radius that the harmonic belongs to.
    oblate: f64,
    pole: [f64; 3],
}

impl Gravity {
    /// Of a point, m³/s².
    pub fn point(gm: f64) -> Self {
        Self { gm, oblate: 0.0, pole: [0.0, 0.0, 1.0] }
    }

    /// Of a body with its second zonal harmonic, where it is known, and its pole at an epoch.
    pub fn of(body: &Body, epoch: Epoch) -> Self {
        let oblate = body.harmonics().map_or(0.0, |field| {
            let radius = field.reference_radius();
            1.5 * field.zonal(2) * radius * radius
        });
        Self { gm: body.gm(), oblate, pole: body.pole(epoch).into() }
    }

    /// The same without the flattening.
    pub fn spherical(self) -> Self {
        Self { oblate: 0.0, ..self }
    }

    /// m³/s².
    pub fn gm(&self) -> f64 {
        self.gm
    }

    /// The attraction at a place (m), m/s².
    ///
    /// # Source
    /// [Vallado2013], section 8.6.1, the second zonal harmonic: −μ/r³ [r + 3/2 J₂ (R/r)² ((1 − 5 s²) r + 2 z k)] with s = z/r.
    #[inline(always)]
    pub(in crate::motion) fn at<L: Lane>(&self, place: &Triple<L>) -> Triple<L> {
        let square = dot(place, place);
        let inverse = L::splat(1.0) / square;
        let by = inverse * inverse.sqrt() * -self.gm;
        if self.oblate == 0.0 {
            return [place[0] * by, place[1] * by, place[2] * by];
        }
        let pole = splat(&self.pole);
        let share = inverse * self.oblate;
        let z = dot(place, &pole);
        let radial = (z * z * inverse).neg_mul_add(share * 5.0, share + 1.0) * by;
        let polar = share * z * by * 2.0;
        [
            place[0].mul_add(radial, pole[0] * polar),
            place[1].mul_add(radial, pole[1] * polar),
            place[2].mul_add(radial, pole[2] * polar),
        ]
    }

    /// The attraction at a place (m), m/s².
    pub fn acceleration(&self, place: &Vec3) -> Vec3 {
        self.at::<f64>(&(*place).into()).into()
    }

    /// Potential energy at a place (m), J/kg; zero far away.
    ///
    /// # Source
    /// [Vallado2013], section 8.6.1: −μ/r [1 − J₂ (R/r)² (3 s² − 1)/2].
    pub fn potential(&self, place: &Vec3) -> f64 {
        let r = place.norm();
        let sine = place.dot(&Vec3::from(self.pole)) / r;
        -self.gm / r * (1.0 - self.oblate / (3.0 * r * r) * (3.0 * sine * sine - 1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_attraction_is_the_slope_of_the_potential() {
        let earth =
            Gravity { gm: 3.986_004_418e14, oblate: 1.5 * 1.0826e-3 * 6.378_137e6_f64.powi(2), pole: [0.0, 0.6, 0.8] };
        let place = Vec3::new(4.0e6, -3.0e6, 5.0e6);
        let attraction = earth.acceleration(&place);
        for axis in 0..3 {
            let mut step = Vec3::zeros();
            step[axis] = 100.0;
            let slope = (earth.potential(&(place - step)) - earth.potential(&(place + step))) / 200.0;
            // Central difference: error h²/6 of the third derivative (6 g/r² about), 1e-9, and rounding of 6e7/100, 1e-10 of g.
            assert!((slope - attraction[axis]).abs() < 1e-8, "{axis}: {slope} {}", attraction[axis]);
        }
        assert!((earth.spherical().acceleration(&place) - attraction).norm() > 1e-3);
    }
}
