//! Frames and the rotations between them. A frame is a matrix whose columns are its axes in the system's inertial axes:
//! inertial = frame × local.

use crate::constants::OBLIQUITY_J2000;
use crate::vector::{Mat3, Vec3};

/// Turns a vector about the x axis by an angle (rad), counter-clockwise seen from +x.
pub fn about_x(angle: f64) -> Mat3 {
    let (sin, cos) = angle.sin_cos();
    Mat3::new(1.0, 0.0, 0.0, 0.0, cos, -sin, 0.0, sin, cos)
}

/// Turns a vector about the y axis by an angle (rad), counter-clockwise seen from +y.
pub fn about_y(angle: f64) -> Mat3 {
    let (sin, cos) = angle.sin_cos();
    Mat3::new(cos, 0.0, sin, 0.0, 1.0, 0.0, -sin, 0.0, cos)
}

/// Turns a vector about the z axis by an angle (rad), counter-clockwise seen from +z.
pub fn about_z(angle: f64) -> Mat3 {
    let (sin, cos) = angle.sin_cos();
    Mat3::new(cos, -sin, 0.0, sin, cos, 0.0, 0.0, 0.0, 1.0)
}

/// The frame of the ecliptic of J2000 in equatorial axes: x to the vernal equinox, z to the ecliptic's north pole.
///
/// # Source
/// The obliquity of [IAU1976]; the form is [Vallado2013] section 3.7.
pub fn ecliptic() -> Mat3 {
    about_x(OBLIQUITY_J2000)
}

/// Unit vector with a right ascension (rad) and a declination (rad).
pub fn direction(right_ascension: f64, declination: f64) -> Vec3 {
    let (sin, cos) = declination.sin_cos();
    Vec3::new(cos * right_ascension.cos(), cos * right_ascension.sin(), sin)
}

/// Right ascension (rad, from 0 to 2π) and declination (rad) of a vector of any length; both zero for the zero vector.
pub fn right_ascension_declination(vector: &Vec3) -> (f64, f64) {
    let right_ascension = vector.y.atan2(vector.x);
    let turned = if right_ascension < 0.0 { right_ascension + std::f64::consts::TAU } else { right_ascension };
    // A tiny negative angle plus a turn rounds to the turn itself.
    let turned = if turned >= std::f64::consts::TAU { 0.0 } else { turned };
    (turned, vector.z.atan2(vector.x.hypot(vector.y)))
}

/// The frame of an equator: z along the pole, x along the equator's ascending node on the xy plane of the reference frame.
///
/// - `pole`: any length, in inertial axes; `reference`: the frame whose xy plane the node lies in (identity: the inertial one).
/// - Returns: `None` for a zero or infinite pole. A pole along the reference's z (either way) has no node: x is then the reference's x.
pub fn equator(pole: &Vec3, reference: &Mat3) -> Option<Mat3> {
    let z = unit(pole)?;
    // k × z points to the ascending node: the orbit whose angular momentum is z passes it northwards.
    let node = reference.column(2).cross(&z);
    // Below a few roundings the node's direction is noise.
    let x =
        if node.norm() > 8.0 * f64::EPSILON { unit(&node)? } else { unit(&reject(&reference.column(0).into(), &z))? };
    let y = z.cross(&x);
    Some(Mat3::from_columns(&[x, y, z]))
}

/// Axes of an orbit at a place: T along the velocity, W along the angular momentum, N = W × T (on a circular orbit towards the
/// body). Columns T, N, W.
///
/// - `position`, `velocity`: relative to the body, any units.
/// - Returns: `None` when the two are parallel or one is zero.
///
/// # Source
/// [CCSDS502] annex on local orbital frames, TNW.
pub fn tnw(position: &Vec3, velocity: &Vec3) -> Option<Mat3> {
    let w = normal(position, velocity)?;
    let t = unit(velocity)?;
    Some(Mat3::from_columns(&[t, w.cross(&t), w]))
}

/// Axes of an orbit at a place: R along the position, N along the angular momentum, T = N × R. Columns R, T, N.
///
/// - `position`, `velocity`: relative to the body, any units.
/// - Returns: `None` when the two are parallel or one is zero.
///
/// # Source
/// [CCSDS502] annex on local orbital frames, RTN.
pub fn rtn(position: &Vec3, velocity: &Vec3) -> Option<Mat3> {
    let n = normal(position, velocity)?;
    let r = unit(position)?;
    Some(Mat3::from_columns(&[r, n.cross(&r), n]))
}

/// Axes of a hyperbola's target plane: S along the incoming v-infinity, T = S × k along the plane of the reference pole `k`, R = S × T.
/// Columns S, T, R.
///
/// - `v_infinity`, `pole`: any units.
/// - Returns: `None` when one is zero or both are parallel.
///
/// # Source
/// [Kizner1961]; `k` is the caller's choice.
pub fn target_plane(v_infinity: &Vec3, pole: &Vec3) -> Option<Mat3> {
    let s = unit(v_infinity)?;
    let t = normal(v_infinity, pole)?;
    Some(Mat3::from_columns(&[s, t, s.cross(&t)]))
}

/// Unit vector along a × b. `None` when they are parallel to within rounding.
fn normal(a: &Vec3, b: &Vec3) -> Option<Vec3> {
    let cross = unit(a)?.cross(&unit(b)?);
    if cross.norm() > 8.0 * f64::EPSILON { unit(&cross) } else { None }
}

/// The part of a vector across a unit vector.
fn reject(vector: &Vec3, axis: &Vec3) -> Vec3 {
    vector - axis * vector.dot(axis)
}

/// Unit vector; scaled first, so that neither very long nor very short vectors overflow. `None` for zero and what is not finite.
pub fn unit(vector: &Vec3) -> Option<Vec3> {
    let largest = vector.amax();
    if !(largest > 0.0 && largest.is_finite()) || vector.iter().any(|x| x.is_nan()) {
        return None;
    }
    let scaled = vector / largest;
    Some(scaled / scaled.norm())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::f64::consts::FRAC_PI_2;

    /// A rotation: orthonormal to a few roundings, right-handed.
    #[track_caller]
    fn assert_rotation(frame: &Mat3) {
        assert!((frame.transpose() * frame - Mat3::identity()).amax() < 1e-15 * 4.0, "{frame}");
        assert!((frame.determinant() - 1.0).abs() < 1e-15 * 6.0);
    }

    #[test]
    fn quarter_turns() {
        let near = |a: Vec3, b: Vec3| assert!((a - b).amax() < 1e-16, "{a}");
        near(about_x(FRAC_PI_2) * Vec3::y(), Vec3::z());
        near(about_y(FRAC_PI_2) * Vec3::z(), Vec3::x());
        near(about_z(FRAC_PI_2) * Vec3::x(), Vec3::y());
    }

    #[test]
    fn the_ecliptic_leans_by_its_obliquity() {
        // Pole of the ecliptic: right ascension 18 h, declination 90° minus the obliquity.
        let (right_ascension, declination) = right_ascension_declination(&ecliptic().column(2).into());
        assert!((right_ascension - 3.0 * FRAC_PI_2).abs() < 1e-15);
        assert!((declination - (FRAC_PI_2 - OBLIQUITY_J2000)).abs() < 1e-15);
    }

    #[test]
    fn degenerate_directions_have_no_frame() {
        assert_eq!(equator(&Vec3::zeros(), &Mat3::identity()), None);
        assert_eq!(equator(&Vec3::new(f64::NAN, 0.0, 1.0), &Mat3::identity()), None);
        assert_eq!(tnw(&Vec3::x(), &(Vec3::x() * -3.0)), None);
        assert_eq!(rtn(&Vec3::x(), &Vec3::zeros()), None);
        assert_eq!(equator(&(Vec3::z() * 1e300), &Mat3::identity()), Some(Mat3::identity()));
        assert_rotation(&equator(&(-Vec3::z()), &Mat3::identity()).unwrap());
    }

    #[test]
    fn a_circular_orbit_has_its_axes_where_the_standard_says() {
        let (position, velocity) = (Vec3::x() * 7e6, Vec3::y() * 7.5e3);
        assert_eq!(rtn(&position, &velocity), Some(Mat3::identity()));
        // T along y, W along z, N = W × T along -x, towards the body.
        assert_eq!(tnw(&position, &velocity), Some(Mat3::new(0.0, -1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 1.0)));
    }

    proptest! {
        #[test]
        fn frames_are_rotations(a in prop::array::uniform3(-1e9_f64..1e9), b in prop::array::uniform3(-1e4_f64..1e4)) {
            let (a, b) = (Vec3::from(a), Vec3::from(b));
            prop_assume!(a.norm() > 1.0 && b.norm() > 1e-3 && a.normalize().cross(&b.normalize()).norm() > 1e-3);
            for frame in [tnw(&a, &b), rtn(&a, &b), target_plane(&b, &a), equator(&a, &ecliptic())] {
                assert_rotation(&frame.unwrap());
            }
            let node = equator(&a, &ecliptic()).unwrap().column(0).into_owned();
            prop_assert!(node.dot(&ecliptic().column(2)).abs() < 4e-15 && node.dot(&a.normalize()).abs() < 4e-15);
            let (right_ascension, declination) = right_ascension_declination(&a);
            prop_assert!((direction(right_ascension, declination) - a.normalize()).amax() < 1e-15);
        }
    }
}
