//! What a burn is to meet.

use super::{Meeting, ShootError};
use crate::arc::flyby::bend;
use crate::arc::pass_bounds;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// Which way a flyby changes the energy about the parent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// Lowers it: the pass leads ahead of the body.
    Brake,
    /// Raises it: the pass leads behind the body.
    Boost,
}

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
    /// A flyby: a periapsis radius above ground and air, out of the ring, perhaps with an inclination, and perhaps on the side that
    /// brakes or boosts.
    Flyby {
        /// What is passed.
        body: Body,
        /// m.
        radius: f64,
        /// rad, 0 to π, to the equator; with `turn` that of the two planes which serves it better.
        inclination: Option<f64>,
        /// `None`: whichever side is nearer to the start.
        turn: Option<Turn>,
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
            Aim::BPlane { body, .. }
            | Aim::Periapsis { body, .. }
            | Aim::Flyby { body, .. }
            | Aim::Intercept { body, .. } => body,
        }
    }

    /// The epoch that the aim fixes.
    pub fn epoch(&self) -> Option<Epoch> {
        match self {
            Aim::BPlane { epoch, .. } | Aim::Periapsis { epoch, .. } | Aim::Flyby { epoch, .. } => *epoch,
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
            Aim::Periapsis { radius, inclination, .. } | Aim::Flyby { radius, inclination, .. } => {
                if let Aim::Flyby { .. } = self {
                    pass_bounds::clear_of_ground(body, *radius, None)?;
                }
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
            Aim::Flyby { radius, inclination, turn, .. } => flyby_residuals(reached, *radius, *inclination, *turn)?,
        };
        if let Some(epoch) = self.epoch() {
            // 1 ms off counts as much as 1 m off the aim.
            off.push(reached.epoch.seconds_since(epoch) * 1e3);
        }
        Ok(off)
    }

    /// Nothing, if what is reached is a flyby that keeps its bounds and turns the energy the way it should.
    ///
    /// # Errors
    /// The bound that is broken, and by how much; a side that does not serve.
    pub(super) fn verify(&self, reached: &Meeting) -> Result<(), ShootError> {
        let Aim::Flyby { body, radius, turn, .. } = self else { return Ok(()) };
        let Ok(pass) = bend(reached.gm, &reached.v_infinity, *radius, &reached.aim) else { return Ok(()) };
        pass_bounds::check(body, reached.epoch, reached.gm, &pass, None)?;
        let Some(turn) = turn else { return Ok(()) };
        // At the place of the body the energy changes by its velocity times the change of velocity.
        let gained = body.state(reached.epoch)?.velocity.dot(&(pass.v_out - pass.v_in));
        match turn {
            Turn::Brake if gained >= 0.0 => {}
            Turn::Boost if gained <= 0.0 => {}
            _ => return Ok(()),
        }
        Err(ShootError::NoGain {
            body: body.name().to_owned(),
            wanted: if *turn == Turn::Brake { "lowers" } else { "raises" },
            gained_km2_s2: gained / 1e6,
            turn_deg: pass.turn_angle.to_degrees(),
        })
    }
}

/// How far an approach is off a flyby's aim, m.
fn flyby_residuals(
    reached: &Meeting,
    radius: f64,
    inclination: Option<f64>,
    turn: Option<Turn>,
) -> Result<Vec<f64>, ShootError> {
    let Some(turn) = turn else {
        let Some(angle) = inclination else { return Ok(vec![reached.aim.norm() - reached.aim_for(radius)]) };
        let (t, r) = reached.axes(None)?;
        let (bt, br) = reached.point_for(radius, angle)?;
        return Ok(vec![reached.aim.dot(&t) - bt, reached.aim.dot(&r) - br]);
    };
    // Bent away from the side it passes on: ahead of the body it loses, behind it gains.
    let velocity = reached.body.state(reached.epoch)?.velocity;
    let ahead = if turn == Turn::Brake { velocity } else { -velocity };
    if let Some(angle) = inclination {
        let (t, r) = reached.axes(None)?;
        let (bt, br) = reached.point_for(radius, angle)?;
        let br = br.abs().copysign(ahead.dot(&r));
        return Ok(vec![reached.aim.dot(&t) - bt, reached.aim.dot(&r) - br]);
    }
    let s = reached.v_infinity.normalize();
    let across = (ahead - s * ahead.dot(&s)).try_normalize(1e-9 * ahead.norm());
    let first =
        across.ok_or(ShootError::BadAim { what: "angle between v-infinity and the body's motion", value: 0.0 })?;
    let second = s.cross(&first);
    Ok(vec![reached.aim.dot(&first) - reached.aim_for(radius), reached.aim.dot(&second)])
}
