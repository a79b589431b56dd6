//! What a burn is to meet.

use super::{Meeting, ShootError};
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// What a burn is to meet. Residuals are metres: a time off is told as the way at the relative speed, an angle as the arc
/// at the target radius; met means within 1 m, and within 1 ms in time.
#[derive(Debug, Clone, PartialEq)]
pub enum Aim {
    /// A point of the B-plane: S along v-infinity in, T = S × k, R = S × T.
    BPlane {
        /// The target.
        body: Body,
        /// B·T, m.
        bt: f64,
        /// B·R, m.
        br: f64,
        /// k, a unit vector in inertial axes; `None`: the target's pole.
        pole: Option<Vec3>,
        /// Time of periapsis, where it is fixed too.
        epoch: Option<Epoch>,
    },
    /// A periapsis radius, and perhaps an inclination to the target's equator.
    Periapsis {
        /// The target.
        body: Body,
        /// m.
        radius: f64,
        /// rad, 0 to π; of the two planes the nearer one to the start is taken.
        inclination: Option<f64>,
        /// Time of periapsis, where it is fixed too.
        epoch: Option<Epoch>,
    },
    /// The centre of the target at an epoch, its own gravity left out: what a Lambert arc aims at.
    Intercept {
        /// The target.
        body: Body,
        /// When.
        epoch: Epoch,
    },
}

impl Aim {
    /// The target.
    pub fn body(&self) -> &Body {
        match self {
            Aim::BPlane { body, .. } | Aim::Periapsis { body, .. } | Aim::Intercept { body, .. } => body,
        }
    }

    /// The epoch that the aim fixes.
    pub fn epoch(&self) -> Option<Epoch> {
        match self {
            Aim::BPlane { epoch, .. } | Aim::Periapsis { epoch, .. } => *epoch,
            Aim::Intercept { epoch, .. } => Some(*epoch),
        }
    }

    /// Nothing, if the aim has a meaning for a craft on this orbit.
    pub(super) fn check(&self, orbit: &Orbit) -> Result<(), ShootError> {
        let body = self.body();
        if body.system() != orbit.body().system() {
            return Err(ShootError::OtherSystem { body: body.name().to_owned() });
        }
        let at_periapsis = matches!(self, Aim::Periapsis { .. }) && orbit.body() == body;
        if body.parent().is_none() && !at_periapsis {
            return Err(ShootError::NoSphere { body: body.name().to_owned() });
        }
        let finite = |what, value: f64| {
            if value.is_finite() { Ok(()) } else { Err(ShootError::BadAim { what, value }) }
        };
        match self {
            Aim::BPlane { bt, br, .. } => {
                finite("B·T", *bt)?;
                finite("B·R", *br)
            }
            Aim::Periapsis { radius, inclination, .. } => {
                if !(*radius > 0.0 && radius.is_finite()) {
                    return Err(ShootError::BadAim { what: "periapsis radius", value: *radius });
                }
                let distance = orbit.state().position.norm();
                // A metre is what an aim is met within.
                if at_periapsis && *radius > distance + 1.0 {
                    return Err(ShootError::AboveTheBurn {
                        body: body.name().to_owned(),
                        asked_km: radius / 1e3,
                        distance_km: distance / 1e3,
                    });
                }
                match inclination {
                    Some(angle) if !(0.0..=std::f64::consts::PI).contains(angle) => {
                        Err(ShootError::BadAim { what: "inclination", value: *angle })
                    }
                    _ => Ok(()),
                }
            }
            Aim::Intercept { .. } => Ok(()),
        }
    }

    /// How far an approach is off the aim, m, one number for each demand.
    pub(super) fn residuals(&self, reached: &Meeting) -> Result<Vec<f64>, ShootError> {
        let mut off = match self {
            Aim::Intercept { .. } => return Ok(reached.relative.position.iter().copied().collect()),
            Aim::BPlane { bt, br, pole, .. } => {
                let axes = reached.axes(pole.as_ref())?;
                vec![reached.aim.dot(&axes.0) - bt, reached.aim.dot(&axes.1) - br]
            }
            Aim::Periapsis { radius, inclination, .. } => match (reached.bound_periapsis, inclination) {
                // About the target already: the conic's own periapsis and plane.
                (Some(periapsis), None) => vec![periapsis - radius],
                (Some(periapsis), Some(angle)) => {
                    vec![periapsis - radius, radius * (reached.inclination() - angle)]
                }
                (None, None) => vec![reached.aim.norm() - reached.aim_for(*radius)],
                (None, Some(angle)) => {
                    let (t, r) = reached.axes(None)?;
                    let (bt, br) = reached.point_for(*radius, *angle)?;
                    vec![reached.aim.dot(&t) - bt, reached.aim.dot(&r) - br]
                }
            },
        };
        if let Some(epoch) = self.epoch() {
            // 1 ms off counts as much as 1 m off the aim.
            off.push(reached.epoch.seconds_since(epoch) * 1e3);
        }
        Ok(off)
    }
}
