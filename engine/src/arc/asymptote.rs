//! The hyperbola through a place with a given asymptote, in closed form, and what an asymptote looks like at periapsis.
//!
//! A craft that leaves a moon for another planet must be, at the moon's place, on the one hyperbola about the planet whose
//! outgoing asymptote is the wanted v-infinity. Place and asymptote fix the velocity without iteration.

use crate::vector::Vec3;

/// Which way a hyperbola sweeps between a place and its asymptote.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sweep {
    /// The angle between place and asymptote, below 180°.
    Short,
    /// The rest of the full turn: round the far side of the body, always through periapsis.
    Long,
}

/// Velocity (m/s) at `position` (m, from the body's centre, inertial) such that the outgoing asymptote is `v_infinity` (m/s).
///
/// `None` when the place lies straight behind the body as seen along the asymptote (no plane, no finite speed), or when an
/// argument has no size.
///
/// # Source
/// [Battin1999], section 6.8: v = (D + v∞/2) ŝ + (D − v∞/2) r̂ with
/// D² = gm / (r (1 + cos θ)) + v∞²/4; the other root, −D, is the long way. Both satisfy v² = v∞² + 2 gm / r identically.
pub fn velocity_to_asymptote(gm: f64, position: &Vec3, v_infinity: &Vec3, sweep: Sweep) -> Option<Vec3> {
    let r = position.norm();
    let speed = v_infinity.norm();
    if !(r > 0.0 && speed > 0.0 && gm > 0.0) {
        return None;
    }
    let (r_hat, s_hat) = (position / r, v_infinity / speed);
    // 1 + cos θ as half the square of a sum: exact where the two directions nearly oppose each other.
    let one_plus_cosine = 0.5 * (r_hat + s_hat).norm_squared();
    let half = 0.5 * speed;
    let d = (gm / (r * one_plus_cosine) + half * half).sqrt();
    if !d.is_finite() {
        return None;
    }
    let d = if sweep == Sweep::Short { d } else { -d };
    Some(s_hat * (half + d) + r_hat * (d - half))
}

/// Velocity (m/s) at `position` (m) on the hyperbola that came in along the asymptote `v_infinity` (m/s).
///
/// The mirror in time of [`velocity_to_asymptote`]; the same `None`.
pub fn velocity_from_asymptote(gm: f64, position: &Vec3, v_infinity: &Vec3, sweep: Sweep) -> Option<Vec3> {
    velocity_to_asymptote(gm, position, &-v_infinity, sweep).map(|v| -v)
}

/// Foot of the asymptote with direction `v_infinity`: the vector (m) from the body's centre to the asymptote's line, at right
/// angles to it, for the orbit through `position` (m) with `velocity` (m/s). The aim of the encounter on its way in, and
/// what a departure is offset by on its way out.
///
/// # Source
/// r × v = B × v∞ for the line B + v∞ t ([Battin1999], hyperbolic motion), solved for B at right angles to v∞.
pub fn foot_of_asymptote(position: &Vec3, velocity: &Vec3, v_infinity: &Vec3) -> Vec3 {
    v_infinity.cross(&position.cross(velocity)) / v_infinity.norm_squared()
}

/// Size of the aim B (m) that gives a periapsis radius (m) at excess speed `v_infinity` (m/s): B = rp √(1 + 2 gm / (rp v∞²)).
///
/// # Source
/// Angular momentum and energy of the hyperbola at infinity and at periapsis; [Kizner1961].
pub fn aim_for_periapsis(gm: f64, v_infinity: f64, periapsis_radius: f64) -> f64 {
    periapsis_radius * (1.0 + 2.0 * gm / (periapsis_radius * v_infinity * v_infinity)).sqrt()
}

/// Speed (m/s) at distance `radius` (m) with excess speed `v_infinity` (m/s): vis viva.
pub fn speed_at(gm: f64, v_infinity: f64, radius: f64) -> f64 {
    (v_infinity * v_infinity + 2.0 * gm / radius).sqrt()
}

/// Position and velocity (m, m/s) at the periapsis of the hyperbola with outgoing asymptote `v_infinity` (m/s), periapsis
/// radius (m) and orbit normal `normal` (unit, at right angles to the asymptote).
///
/// # Source
/// [Curtis2014], section 2.9: the asymptote lies at true anomaly ν∞ with cos ν∞ = −1/e, e = 1 + rp v∞²/gm.
pub fn periapsis_leaving(gm: f64, v_infinity: &Vec3, periapsis_radius: f64, normal: &Vec3) -> (Vec3, Vec3) {
    let speed = v_infinity.norm();
    let s_hat = v_infinity / speed;
    let eccentricity = 1.0 + periapsis_radius * speed * speed / gm;
    let cosine = -1.0 / eccentricity;
    let sine = (1.0 - cosine * cosine).max(0.0).sqrt();
    // The asymptote is periapsis turned by ν∞ about the normal; turn it back.
    let side = normal.cross(&s_hat);
    let p_hat = s_hat * cosine - side * sine;
    let q_hat = normal.cross(&p_hat);
    (p_hat * periapsis_radius, q_hat * speed_at(gm, speed, periapsis_radius))
}

/// Position and velocity (m, m/s) at the periapsis of the hyperbola with incoming asymptote `v_infinity` (m/s): the mirror of
/// [`periapsis_leaving`].
pub fn periapsis_arriving(gm: f64, v_infinity: &Vec3, periapsis_radius: f64, normal: &Vec3) -> (Vec3, Vec3) {
    let (position, velocity) = periapsis_leaving(gm, &-v_infinity, periapsis_radius, &-normal);
    (position, -velocity)
}

/// Unit normal of the orbit plane that contains `asymptote` (any size) and is least inclined to the plane across `pole` (unit):
/// its inclination is the size of the asymptote's declination, and the motion is posigrade.
///
/// For an asymptote along the pole every plane is polar: the one through `fallback` (any direction not along the pole) is taken.
pub fn least_inclined_normal(asymptote: &Vec3, pole: &Vec3, fallback: &Vec3) -> Vec3 {
    let s_hat = asymptote.normalize();
    let across = pole - s_hat * pole.dot(&s_hat);
    if across.norm() > 1e-12 { across.normalize() } else { s_hat.cross(fallback).normalize() }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GM: f64 = 5.2e16;

    fn energy(v: &Vec3, r: &Vec3) -> f64 {
        0.5 * v.norm_squared() - GM / r.norm()
    }

    /// Direction of the outgoing asymptote from the eccentricity vector: an independent route to the same answer.
    fn asymptote(r: &Vec3, v: &Vec3) -> Vec3 {
        let h = r.cross(v);
        let e = v.cross(&h) / GM - r.normalize();
        let size = e.norm();
        let side = h.normalize().cross(&(e / size));
        (-(e / size) + side * (size * size - 1.0).sqrt()) / size
    }

    #[test]
    fn reaches_the_asked_asymptote_both_ways_round() {
        let v_inf = Vec3::new(2100.0, -1700.0, 900.0);
        for r in [Vec3::new(9.5e8, 1e7, -3e7), Vec3::new(-4.0e8, 6.0e8, 1.0e8), Vec3::new(1e8, -9e8, 2e8)] {
            for sweep in [Sweep::Short, Sweep::Long] {
                let v = velocity_to_asymptote(GM, &r, &v_inf, sweep).expect("a regular case");
                assert!((asymptote(&r, &v) * v_inf.norm() - v_inf).norm() < 1e-9 * v_inf.norm());
                assert!((energy(&v, &r) / (0.5 * v_inf.norm_squared()) - 1.0).abs() < 1e-12 * 30.0);
                let b = foot_of_asymptote(&r, &v, &v_inf);
                assert!((b.cross(&v_inf) - r.cross(&v)).norm() < 1e-12 * r.cross(&v).norm());
                let back = velocity_from_asymptote(GM, &r, &-v_inf, sweep).expect("a regular case");
                assert!((back + v).norm() == 0.0);
            }
        }
    }

    #[test]
    fn periapsis_states_carry_their_asymptote_and_aim() {
        let v_inf = Vec3::new(2100.0, -1700.0, 900.0);
        let normal = least_inclined_normal(&v_inf, &Vec3::z(), &Vec3::x());
        let (r, v) = periapsis_leaving(GM, &v_inf, 7.0e7, &normal);
        assert!((asymptote(&r, &v) * v_inf.norm() - v_inf).norm() < 1e-10 * v_inf.norm());
        assert!(r.dot(&v).abs() < 1e-12 * r.norm() * v.norm());
        let aim = foot_of_asymptote(&r, &v, &v_inf).norm();
        assert!((aim / aim_for_periapsis(GM, v_inf.norm(), 7.0e7) - 1.0).abs() < 1e-12);
        // Least inclined: the inclination is the declination of the asymptote.
        let declination = (v_inf.z / v_inf.norm()).asin();
        assert!((normal.z.acos() - declination.abs()).abs() < 1e-12 * 10.0);
        let (r, v) = periapsis_arriving(GM, &v_inf, 7.0e7, &normal);
        assert!((asymptote(&r, &-v) * v_inf.norm() + v_inf).norm() < 1e-10 * v_inf.norm());
        assert!(r.cross(&v).dot(&normal) > 0.0);
    }

    #[test]
    fn a_place_straight_behind_the_body_has_no_hyperbola() {
        let v_inf = Vec3::new(1000.0, 0.0, 0.0);
        assert!(velocity_to_asymptote(GM, &Vec3::new(-1e8, 0.0, 0.0), &v_inf, Sweep::Short).is_none());
        assert!(velocity_to_asymptote(GM, &Vec3::zeros(), &v_inf, Sweep::Short).is_none());
    }
}
