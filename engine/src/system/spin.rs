//! How a body turns: pole, meridian, and the orbit for a locked one.

use std::f64::consts::{FRAC_PI_2, TAU};

use super::ellipse::{CENTURY, Days};
use super::path::Path;
use crate::constants::DAY;
use crate::vector::{Mat3, Vec3};

/// A body's rotation in short.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spin {
    /// Sidereal period, s, positive.
    pub period: f64,
    /// Turning westward about the pole that the table names north.
    pub retrograde: bool,
    /// Keeps one face to its parent: mean rotation equals mean motion.
    pub locked: bool,
}

/// A periodic term of a rotation model: coefficient times sine (declination: cosine) of a quadratic in Julian centuries, rad.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Term {
    pub(super) quantity: Quantity,
    pub(super) coefficient: f64,
    pub(super) angle: [f64; 3],
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Quantity {
    RightAscension,
    Declination,
    Meridian,
}

/// The pole and meridian of the IAU's rotation model: quadratics with periodic terms. [Archinal2018]
///
/// Pole angles in rad with rates per Julian century, meridian in rad with rates per day, from J2000.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct RotationModel {
    pub(super) right_ascension: [f64; 3],
    pub(super) declination: [f64; 3],
    pub(super) meridian: [f64; 3],
    pub(super) terms: Vec<Term>,
}

/// Where pole and prime meridian point.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Rotation {
    /// No spin is known: the pole stands, the meridian rests on the equator's node.
    Still {
        right_ascension: f64,
        declination: f64,
    },
    /// A steady turn about a fixed pole; `meridian` at `epoch` from the equator's node, `rate` in rad/day.
    Steady {
        right_ascension: f64,
        declination: f64,
        meridian: f64,
        rate: f64,
        epoch: Days,
    },
    Model(Box<RotationModel>),
    /// Pole along the orbit's angular momentum; at periapsis the meridian faces the parent.
    Locked,
}

impl Rotation {
    /// Right ascension and declination of the pole, and the meridian's angle from the ascending node of the equator on the
    /// xy plane of the inertial axes; rad.
    pub(super) fn angles(&self, path: &Path, days: Days) -> (f64, f64, f64) {
        match self {
            Self::Still { right_ascension, declination } => (*right_ascension, *declination, 0.0),
            Self::Steady { right_ascension, declination, meridian, rate, epoch } => {
                let turned = (rate * (days.0 - epoch.0)).rem_euclid(TAU) + rate * (days.1 - epoch.1);
                (*right_ascension, *declination, meridian + turned)
            }
            Self::Model(model) => model.angles(days),
            Self::Locked => {
                let (anomaly, p, q) = orientation(path, days);
                let (right_ascension, declination) = pole_angles(&p.cross(&q));
                let equator = equator(right_ascension, declination);
                let facing = -(p * anomaly.cos() + q * anomaly.sin());
                let meridian = facing.dot(&equator.column(1)).atan2(facing.dot(&equator.column(0)));
                (right_ascension, declination, meridian)
            }
        }
    }
}

impl RotationModel {
    fn angles(&self, days: Days) -> (f64, f64, f64) {
        let d = days.0 + days.1;
        let t = d / CENTURY;
        let quadratic = |c: &[f64; 3], x: f64| c[0] + x * (c[1] + x * c[2]);
        let mut right_ascension = quadratic(&self.right_ascension, t);
        let mut declination = quadratic(&self.declination, t);
        // Whole days first and without their turns: a moon's meridian runs through 1e5 turns in a century.
        let [w0, w1, w2] = self.meridian;
        let mut meridian = w0 + (w1 * days.0).rem_euclid(TAU) + w1 * days.1 + w2 * d * d;
        for term in &self.terms {
            let (sin, cos) = quadratic(&term.angle, t).sin_cos();
            match term.quantity {
                Quantity::RightAscension => right_ascension += term.coefficient * sin,
                Quantity::Declination => declination += term.coefficient * cos,
                Quantity::Meridian => meridian += term.coefficient * sin,
            }
        }
        (right_ascension, declination, meridian)
    }
}

/// Mean anomaly and the unit vectors to periapsis and along the motion there; the inertial x and y axes where the path has no
/// ellipse of its own.
fn orientation(path: &Path, days: Days) -> (f64, Vec3, Vec3) {
    match path {
        Path::Fixed(ellipse) => (ellipse.mean_anomaly(days), ellipse.axes.0, ellipse.axes.1),
        Path::Mean(ellipse) => ellipse.orientation(days),
        Path::MeanWithMoon { barycentre, .. } => barycentre.orientation(days),
        Path::Root | Path::Pack(_) => (0.0, Vec3::x(), Vec3::y()),
    }
}

/// Right ascension and declination of a direction, rad. Straight up or down, the equator's node is put on the x axis.
pub(super) fn pole_angles(pole: &Vec3) -> (f64, f64) {
    let across = pole.x.hypot(pole.y);
    // Below this tilt, a nanoradian, the node is all rounding.
    let right_ascension = if across < 1e-9 * pole.norm() { -FRAC_PI_2 } else { pole.y.atan2(pole.x) };
    (right_ascension, pole.z.atan2(across))
}

/// Equator axes as columns: ascending node of the equator on the inertial xy plane, a quarter turn ahead, pole.
pub(super) fn equator(right_ascension: f64, declination: f64) -> Mat3 {
    let (sin_ra, cos_ra) = right_ascension.sin_cos();
    let (sin_dec, cos_dec) = declination.sin_cos();
    Mat3::from_columns(&[
        Vec3::new(-sin_ra, cos_ra, 0.0),
        Vec3::new(-cos_ra * sin_dec, -sin_ra * sin_dec, cos_dec),
        Vec3::new(cos_ra * cos_dec, sin_ra * cos_dec, sin_dec),
    ])
}

/// Period of a rate in rad/day, s; none for a rate of zero.
pub(super) fn period(rate: f64) -> Option<f64> {
    (rate != 0.0).then(|| TAU / rate.abs() * DAY)
}
