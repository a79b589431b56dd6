//! Shooting a burn in the model it is for, until its aim is met.
//!
//! The unknown is an impulsive Δv on an orbit at its epoch; the model coasts from there with its patches; the aim says what
//! the coast has to meet. How far a coast is off its aim is told on the asymptote of the approach, whether or not the
//! coast comes as near as the sphere of influence: so the residual is smooth, and a start that misses by a lot still
//! tells the way.

mod aim;
mod closest;
mod error;
mod meeting;
mod newton;

pub use aim::{Aim, Turn};
pub use error::ShootError;
pub use meeting::{Meeting, expected, meeting};

use crate::burn::Burn;
use crate::conic::State;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// What is known before shooting.
#[derive(Debug, Clone, Default)]
pub struct Start {
    /// Δv to start from, m/s, inertial; `None`: nothing at all, or the Lambert arc to the target, whichever is nearer.
    pub dv: Option<Vec3>,
    /// About when the target is met; `None`: the closest approach of the coast without a burn.
    pub expected: Option<Epoch>,
    /// The body whose sphere the craft has just left, so that it is not met again at once.
    pub leaving: Option<Body>,
}

/// A burn shot until its aim is met.
#[derive(Debug, Clone, PartialEq)]
pub struct Shot {
    /// Δv that meets the aim in the model, m/s, inertial.
    pub dv: Vec3,
    /// The same as a burn planned for the orbit that was shot from.
    pub burn: Burn,
    /// Δv of the analytic start, m/s, inertial.
    pub estimate_dv: Vec3,
    /// Where the analytic start leads when it is flown.
    pub estimate: Meeting,
    /// Where the shot leads.
    pub flown: Meeting,
    /// How far off the aim the shot is left: m across the aim, s in time times relative speed (so m), m of inclination.
    pub residuals: Vec<f64>,
    /// Steps taken.
    pub iterations: usize,
    /// Coasts flown.
    pub coasts: usize,
}

/// A radial Δv that brings the periapsis of the orbit flown down to the aim's. At an apsis no small burn moves the other
/// side of the demand, so that a start from nothing has no way to go; from this one there is.
///
/// From the energy at both distances with the angular momentum kept. `None` where the aim is no periapsis of this orbit.
fn radial_start(orbit: &Orbit, aim: &Aim) -> Option<Vec3> {
    let Aim::Periapsis { body, radius, .. } = aim else { return None };
    if body != orbit.body() {
        return None;
    }
    let (r, v) = (orbit.state().position, orbit.state().velocity);
    let (distance, up) = (r.norm(), r.try_normalize(0.0)?);
    let climb = v.dot(&up);
    let flat_squared = v.norm_squared() - climb * climb;
    let square =
        flat_squared * ((distance / radius).powi(2) - 1.0) - 2.0 * orbit.gm() * (1.0 / radius - 1.0 / distance);
    (*radius < distance && square > 0.0).then(|| up * (square.sqrt().copysign(climb) - climb))
}

/// Shoot a burn on an orbit, at its epoch, until the aim is met to 1 m (1 ms in time, see [`Aim`]).
///
/// With fewer demands than unknowns the least Δv is taken.
///
/// # Errors
/// An aim that cannot be met or has no meaning here; no convergence, with how near it came; interruption.
///
/// # Source
/// Differential correction, [Battin1999], section 11.7; the least change that meets linear demands by the pseudo-inverse.
pub fn shoot(orbit: &Orbit, aim: &Aim, start: &Start, watch: &Watch<'_>) -> Result<Shot, ShootError> {
    aim.check(orbit)?;
    let expected = match aim.epoch().or(start.expected) {
        Some(epoch) if epoch > orbit.epoch() || orbit.body() == aim.body() => epoch,
        Some(epoch) => return Err(ShootError::Past { asked: epoch, now: orbit.epoch() }),
        None => meeting::expected(orbit, aim.body(), start.leaving.as_ref(), watch)?,
    };
    let leaving = start.leaving.as_ref();
    let mut coasts = 0;
    let mut fly = |dv: &Vec3| -> Result<Meeting, ShootError> {
        if watch.stopped() {
            return Err(ShootError::Interrupted);
        }
        coasts += 1;
        let state = State { velocity: orbit.state().velocity + dv, ..*orbit.state() };
        let after = Orbit::new(orbit.body().clone(), orbit.epoch(), state)?;
        match aim {
            Aim::Intercept { .. } => meeting::pass(&after, aim.body(), expected, leaving, watch),
            _ => meeting::meeting(&after, aim.body(), expected, leaving, watch),
        }
    };
    let mut starts = Vec::new();
    if let Some(dv) = start.dv {
        starts.push(dv);
    } else {
        starts.push(Vec3::zeros());
        starts.extend(meeting::lambert_start(orbit, aim.body(), expected));
    }
    // The nearest start first; a start that does not even fly comes last and says why if none does.
    let mut ranked: Vec<(f64, Vec3, Meeting)> = Vec::new();
    let mut refusal = None;
    for dv in starts {
        match fly(&dv).and_then(|reached| Ok((newton::size(&aim.residuals(&reached)?), dv, reached))) {
            Ok(found) => ranked.push(found),
            Err(ShootError::Interrupted) => return Err(ShootError::Interrupted),
            Err(error) => refusal = Some(error),
        }
    }
    ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
    // The last resort: where the others lead anywhere they are nearer to the least Δv.
    if start.dv.is_none()
        && let Some(dv) = radial_start(orbit, aim)
        && let Ok(reached) = fly(&dv)
    {
        ranked.push((0.0, dv, reached));
    }
    let mut failure = None;
    for (_, dv, estimate) in ranked {
        match newton::meet(dv, &mut |dv: &Vec3| aim.residuals(&fly(dv)?)) {
            Ok(met) => {
                let flown = fly(&met.dv)?;
                let residuals = aim.residuals(&flown)?;
                aim.verify(&flown)?;
                return Ok(Shot {
                    dv: met.dv,
                    burn: Burn::planned(orbit.body(), orbit.epoch(), *orbit.state(), met.dv)?,
                    estimate_dv: dv,
                    estimate,
                    flown,
                    residuals,
                    iterations: met.iterations,
                    coasts,
                });
            }
            Err(ShootError::Interrupted) => return Err(ShootError::Interrupted),
            Err(error) => failure = failure.or(Some(error)),
        }
    }
    Err(failure.or(refusal).unwrap_or(ShootError::NotReached { body: aim.body().name().to_owned() }))
}
