//! The triangle of two places and the centre: what Lambert's problem takes from it, and the velocities it gives back.

#![allow(clippy::needless_bitwise_bool, reason = "plain loops and conditions without branches go side by side")]

use super::flight_root::Root;
use super::flight_time::Curve;
use super::lambert::{Branch, LambertArc, LambertError, Way};
use crate::numerics::elementary::arc_tangent;
use crate::vector::Vec3;
use std::f64::consts::TAU;

/// The centre and the two places.
pub(super) struct Triangle {
    pub(super) gm: f64,
    pub(super) unit1: Vec3,
    pub(super) unit2: Vec3,
    /// 1/r1, 1/r2.
    pub(super) per_radius: [f64; 2],
    pub(super) chord: f64,
    pub(super) semiperimeter: f64,
    /// c/s.
    pub(super) flatness: f64,
    pub(super) lambda: f64,
    /// (r1 − r2)/c and √(1 − that²).
    pub(super) rho: f64,
    pub(super) sigma: f64,
    /// Direction of the angular momentum.
    pub(super) normal: Vec3,
    pub(super) unit_of_time: f64,
    /// r1 r2 ± r1·r2: cosine and sine squared of half the angle, in units of half of it.
    pub(super) more: f64,
    pub(super) less: f64,
}

/// Sines of the angle between the places below this are the rounding of their components: they are in line.
pub(super) const IN_LINE: f64 = 4.0 * f64::EPSILON;

/// The same for what is asked of a direction: which side of the plane counts as the short way round.
#[derive(Clone, Copy, Debug)]
pub(super) struct Toward {
    /// The normal to compare with, unless the way is fixed.
    normal: Vec3,
    fixed: bool,
    /// The short way is the one whose momentum has a positive component along the normal.
    positive: bool,
}

impl Toward {
    pub(super) fn new(way: Way) -> Toward {
        match way {
            Way::Short => Toward { normal: Vec3::zeros(), fixed: true, positive: true },
            Way::Long => Toward { normal: Vec3::zeros(), fixed: true, positive: false },
            Way::Prograde(normal) => Toward { normal, fixed: false, positive: true },
            Way::Retrograde(normal) => Toward { normal, fixed: false, positive: false },
        }
    }

    /// The normal, whether the way is fixed without it, and which side counts as the short way.
    #[inline(always)]
    pub(super) fn parts(&self) -> (Vec3, bool, bool) {
        (self.normal, self.fixed, self.positive)
    }
}

impl Triangle {
    /// Straight arithmetic for a triangle in the general position, so that many can be formed side by side; with it,
    /// whether it is one. Any numbers may come, and what comes of others than those is not to be used.
    #[inline(always)]
    pub(super) fn formed(gm: f64, r1: &Vec3, r2: &Vec3, toward: &Toward) -> (Triangle, bool) {
        let (radius1, radius2) = (r1.norm(), r2.norm());
        let (difference, sum) = (r2 - r1, r1 + r2);
        let chord = difference.norm();
        let (product, dot) = (radius1 * radius2, r1.dot(r2));
        let ahead = dot > 0.0;
        // Crossing with the shorter of sum and difference keeps the digits of a small angle and of a nearly straight one.
        let pick = |a: f64, b: f64| if ahead { a } else { b };
        let shorter = Vec3::new(pick(difference.x, sum.x), pick(difference.y, sum.y), pick(difference.z, sum.z));
        let cross = r1.cross(&shorter);
        let sine = cross.norm();
        // n1·n2 ± r1·r2 = 2 n1 n2 cos², sin² of half the angle; the one that would cancel follows from the other.
        let larger = product + dot.abs();
        let smaller = sine * sine / larger;
        let (more, less) = (pick(larger, smaller), pick(smaller, larger));
        let side = if toward.fixed { 1.0 } else { cross.dot(&toward.normal) };
        let short = (side > 0.0) == toward.positive;
        let semiperimeter = 0.5 * (radius1 + radius2 + chord);
        let per_radius = [1.0 / radius1, 1.0 / radius2];
        let root = (0.5 * more).sqrt() / semiperimeter;
        let sign = if short { 1.0 } else { -1.0 };
        let triangle = Triangle {
            gm,
            unit1: r1 * per_radius[0],
            unit2: r2 * per_radius[1],
            per_radius,
            chord,
            semiperimeter,
            flatness: chord / semiperimeter,
            lambda: root * sign,
            rho: -difference.dot(&sum) / ((radius1 + radius2) * chord),
            sigma: (2.0 * less).sqrt() / chord,
            normal: cross * (sign / sine),
            unit_of_time: semiperimeter * (0.5 * semiperimeter / gm).sqrt(),
            more,
            less,
        };
        // Not in line, and what is not finite or zero fails here too: the sides' product bounds the rest.
        let general = (sine > IN_LINE * product)
            & (product < f64::INFINITY)
            & (chord > 0.0)
            & (side.abs() > 0.0)
            & (side.abs() < f64::INFINITY);
        (triangle, general)
    }

    #[inline(always)]
    pub(super) fn new(gm: f64, r1: &Vec3, r2: &Vec3, way: Way) -> Result<Triangle, LambertError> {
        if !(gm > 0.0 && gm.is_finite()) {
            return Err(LambertError::GravitationalParameter { gm_m3_s2: gm });
        }
        let (triangle, general) = Triangle::formed(gm, r1, r2, &Toward::new(way));
        if general { Ok(triangle) } else { triangle.special(r1, r2, way) }
    }

    /// A triangle that is not in the general position: in line with the centre, or none.
    #[cold]
    fn special(self, r1: &Vec3, r2: &Vec3, way: Way) -> Result<Triangle, LambertError> {
        let (radius1, radius2) = (r1.norm(), r2.norm());
        for (which, radius) in [(1, radius1), (2, radius2)] {
            if !(radius > 0.0 && radius.is_finite()) {
                return Err(LambertError::Place { which });
            }
        }
        if self.chord == 0.0 {
            return Err(LambertError::IdenticalPoints);
        }
        let (product, dot) = (radius1 * radius2, r1.dot(r2));
        let sine = r1.cross(&if dot > 0.0 { r2 - r1 } else { r1 + r2 }).norm();
        if !(product.is_finite() && sine <= IN_LINE * product) {
            return Err(LambertError::NormalUseless);
        }
        let (short, normal) = plane_in_line(r1, dot, way)?;
        let lambda = if short { self.lambda.abs() } else { -self.lambda.abs() };
        Ok(Triangle { lambda, normal, sigma: if dot > 0.0 { 0.0 } else { self.sigma }, ..self })
    }

    /// Both places on one ray: the arc is straight.
    pub(super) fn straight(&self) -> bool {
        self.sigma == 0.0
    }

    #[inline(always)]
    pub(super) fn curve(&self, revolutions: u32) -> Curve {
        Curve::new(self.lambda, self.flatness, revolutions)
    }

    #[inline(always)]
    pub(super) fn scaled(&self, time: f64) -> Result<f64, LambertError> {
        if !(time > 0.0 && time.is_finite()) {
            return Err(LambertError::Time { time_s: time });
        }
        let scaled = time / self.unit_of_time;
        if scaled > 0.0 && scaled.is_finite() {
            Ok(scaled)
        } else {
            Err(LambertError::OutOfRange { time_s: time, chord_m: self.chord })
        }
    }

    /// Velocities at both ends from x. [Gooding1990], section 3; [Izzo2015], section 2.
    #[inline(always)]
    pub(super) fn velocities(&self, x: f64) -> [Vec3; 2] {
        let curve = self.curve(0);
        let y = curve.y(x);
        let (_, plus) = curve.sums(x, y);
        let gamma = (0.5 * self.gm * self.semiperimeter).sqrt();
        let (a, b) = (self.lambda * y - x, self.rho * (self.lambda * y + x));
        let transverse = gamma * self.sigma * plus;
        let [per1, per2] = self.per_radius;
        let v1 = self.unit1 * (gamma * (a - b) * per1) + self.normal.cross(&self.unit1) * (transverse * per1);
        let v2 = self.unit2 * (-gamma * (a + b) * per2) + self.normal.cross(&self.unit2) * (transverse * per2);
        [v1, v2]
    }

    /// The whole arc of a root.
    #[inline(always)]
    pub(super) fn arc(
        &self,
        root: Root,
        revolutions: u32,
        branch: Branch,
        time: f64,
    ) -> Result<LambertArc, LambertError> {
        let [v1, v2] = self.velocities(root.x);
        if !(v1.iter().chain(v2.iter()).all(|component| component.is_finite())) {
            return Err(LambertError::OutOfRange { time_s: time, chord_m: self.chord });
        }
        Ok(LambertArc {
            v1,
            v2,
            revolutions,
            branch,
            transfer_angle: transfer_angle(self.less, self.more, self.lambda),
            energy: energy(self.gm, self.semiperimeter, root.x),
            x: root.x,
            iterations: root.iterations,
        })
    }
}

/// The angle swept, from the squares of sine and cosine of its half and the sign of λ.
#[inline(always)]
pub(super) fn transfer_angle(less: f64, more: f64, lambda: f64) -> f64 {
    let angle = 2.0 * arc_tangent(less.sqrt(), more.sqrt());
    if lambda.is_sign_negative() { TAU - angle } else { angle }
}

/// Energy per mass, m²/s².
#[inline(always)]
pub(super) fn energy(gm: f64, semiperimeter: f64, x: f64) -> f64 {
    gm / semiperimeter * (x - 1.0) * (x + 1.0)
}

/// Whether the arc between places in line with the centre goes the short way, and the direction of its angular momentum.
#[cold]
fn plane_in_line(r1: &Vec3, dot: f64, way: Way) -> Result<(bool, Vec3), LambertError> {
    if dot > 0.0 {
        // On one ray: straight out or in. The normal is never used then.
        return if way == Way::Long { Err(LambertError::ThroughCentre) } else { Ok((true, Vec3::zeros())) };
    }
    let (normal, sense) = match way {
        Way::Short | Way::Long => return Err(LambertError::PlaneOpen),
        Way::Prograde(normal) => (normal, 1.0),
        Way::Retrograde(normal) => (normal, -1.0),
    };
    let across = normal - r1 * (normal.dot(r1) / r1.norm_squared());
    let size = across.norm();
    if !(size > 1e-12 * normal.norm() && size.is_finite()) {
        return Err(LambertError::NormalUseless);
    }
    Ok((true, across * (sense / size)))
}
