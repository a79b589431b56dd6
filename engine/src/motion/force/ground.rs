//! The ground as an ellipsoid: height above it, and which way is up.

use super::triple::{Triple, dot, length, scaled, splat};
use crate::numerics::lanes::Lane;
use crate::system::Body;
use crate::time::Epoch;

/// An ellipsoid of revolution about the pole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ground {
    /// m.
    pub equatorial: f64,
    /// m.
    pub polar: f64,
    /// Direction of the pole.
    pub pole: [f64; 3],
}

impl Ground {
    /// Of a body, with its pole at an epoch; a body of three axes counts with the equatorial one.
    pub fn of(body: &Body, epoch: Epoch) -> Self {
        Self { equatorial: body.radius(), polar: body.polar_radius(), pole: body.pole(epoch).into() }
    }

    /// A sphere, m.
    pub fn sphere(radius: f64) -> Self {
        Self { equatorial: radius, polar: radius, pole: [0.0, 0.0, 1.0] }
    }

    /// Height above the ellipsoid (m) and the direction of its normal, at a place (m).
    ///
    /// One step of Bowring's iteration, begun with his own start for points in space: [Bowring1985]. Its error in height is of the second order in that of the
    /// latitude, below a micrometre to a few radii of the Earth.
    #[inline(always)]
    pub(in crate::motion) fn above<L: Lane>(&self, place: &Triple<L>) -> (L, Triple<L>) {
        let r = length(place);
        if self.equatorial == self.polar {
            return (r - self.equatorial, scaled(place, L::splat(1.0) / r));
        }
        let (a, b) = (self.equatorial, self.polar);
        let (first, second) = ((a * a - b * b) / (a * a), (a * a - b * b) / (b * b));
        let pole = splat(&self.pole);
        let z = dot(place, &pole);
        let level =
            [z.neg_mul_add(pole[0], place[0]), z.neg_mul_add(pole[1], place[1]), z.neg_mul_add(pole[2], place[2])];
        let p = length(&level);
        // Tangent of the reduced latitude: (z b)/(p a) (1 + e'² b/r).
        let rise = z * (b / a) * ((L::splat(1.0) / r) * (second * b) + 1.0);
        let slant = L::splat(1.0) / rise.mul_add(rise, p * p).sqrt();
        let (sine, cosine) = (rise * slant, p * slant);
        let up = (sine * sine * sine).mul_add(L::splat(second * b), z);
        let out = (cosine * cosine * cosine).neg_mul_add(L::splat(first * a), p);
        let whole = L::splat(1.0) / up.mul_add(up, out * out).sqrt();
        let (sine, cosine) = (up * whole, out * whole);
        let surface = (sine * sine).neg_mul_add(L::splat(first), L::splat(1.0)).sqrt() * a;
        let height = p.mul_add(cosine, z * sine) - surface;
        let share = cosine / p;
        let normal = [
            level[0].mul_add(share, pole[0] * sine),
            level[1].mul_add(share, pole[1] * sine),
            level[2].mul_add(share, pole[2] * sine),
        ];
        (height, normal)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn height_and_latitude_come_back() {
        let earth = Ground { equatorial: 6_378_137.0, polar: 6_356_752.314_245, pole: [0.0, 0.0, 1.0] };
        let square = 1.0 - (earth.polar / earth.equatorial).powi(2);
        for latitude in [0.0_f64, 0.3, 0.8, 1.2, 1.57, -1.0] {
            for height in [0.0, 1e4, 1e5, 4e5, 2e6] {
                let (sine, cosine) = latitude.sin_cos();
                let prime = earth.equatorial / (1.0 - square * sine * sine).sqrt();
                let place = [(prime + height) * cosine, 0.0, (prime * (1.0 - square) + height) * sine];
                let (found, up) = earth.above::<f64>(&place);
                // A few roundings of 8e6 m.
                assert!((found - height).abs() < 1e-8 + 1e-13 * height, "{latitude} {height}: {}", found - height);
                // The start errs by less than 1e-9 rad in space, which the step squares.
                assert!((up[2] - sine).abs() < 1e-9, "{latitude} {height}: {}", up[2] - sine);
            }
        }
    }
}
