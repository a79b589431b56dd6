//! Burns as data and the planners in closed form.

#![allow(clippy::neg_cmp_op_on_partial_ord, reason = "a comparison is negated so that NaN falls on the refusing side")]

use crate::conic::State;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::{Mat3, Vec3};

pub mod bi_elliptic;
pub mod capture;
pub mod departure;
mod error;
pub mod finite;
pub mod hohmann;
pub mod phasing;
pub mod plane;
pub mod sequence;

pub use error::BurnError;

/// Where and when a burn was planned: the orbit it belongs to, just before it.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The centre.
    pub body: Body,
    /// When it is to be burnt.
    pub epoch: Epoch,
    /// State about the centre just before the burn, m and m/s, inertial axes.
    pub before: State,
}

/// An impulsive change of velocity.
///
/// Components along the local axes of an orbit: `along` the velocity, `across` along the angular momentum, `outward` completes
/// them on the side away from the body. A planned burn also knows its inertial direction.
#[derive(Clone, Debug, PartialEq)]
pub struct Burn {
    /// m/s, along the velocity.
    pub along: f64,
    /// m/s, along the angular momentum.
    pub across: f64,
    /// m/s, `along × across`: in the orbit's plane, away from the body.
    pub outward: f64,
    /// m/s, in inertial axes, once a plan fixed it.
    pub dv_inertial: Option<Vec3>,
    /// Where and when, once a plan fixed it.
    pub plan: Option<Plan>,
    /// What it is for, in a few words; may be empty.
    pub label: String,
}

impl Burn {
    /// A burn by its local components, m/s.
    ///
    /// # Errors
    /// Components that are not finite.
    ///
    /// # Example
    /// ```
    /// let burn = visviva_engine::burn::Burn::local(120.0, 0.0, 50.0)?;
    /// assert_eq!(burn.size(), 130.0);
    /// # Ok::<(), visviva_engine::burn::BurnError>(())
    /// ```
    pub fn local(along: f64, across: f64, outward: f64) -> Result<Burn, BurnError> {
        error::finite("the burn along the velocity, m/s,", along)?;
        error::finite("the burn across the orbit, m/s,", across)?;
        error::finite("the burn outward, m/s,", outward)?;
        Ok(Burn { along, across, outward, dv_inertial: None, plan: None, label: String::new() })
    }

    /// A burn by its inertial change of velocity, m/s, at a state: both forms are kept.
    ///
    /// # Errors
    /// A change that is not finite; a state whose motion is straight up or down, which has no local axes.
    pub fn at_state(state: &State, dv: Vec3) -> Result<Burn, BurnError> {
        let local = axes(state)?.transpose() * dv;
        Ok(Burn { dv_inertial: Some(dv), ..Burn::local(local.x, local.y, local.z)? })
    }

    /// A planned burn: as [`Burn::at_state`], and it knows its body, epoch and the state just before it.
    ///
    /// # Errors
    /// As [`Burn::at_state`].
    pub fn planned(body: &Body, epoch: Epoch, before: State, dv: Vec3) -> Result<Burn, BurnError> {
        Ok(Burn { plan: Some(Plan { body: body.clone(), epoch, before }), ..Burn::at_state(&before, dv)? })
    }

    /// The same burn under a label.
    pub fn labelled(mut self, label: &str) -> Burn {
        label.clone_into(&mut self.label);
        self
    }

    /// Size, m/s.
    pub fn size(&self) -> f64 {
        Vec3::new(self.along, self.across, self.outward).norm()
    }

    /// The inertial change of velocity, m/s, when burnt at `state`: the planned one, or the local one turned.
    ///
    /// # Errors
    /// A state without local axes.
    pub fn dv_at(&self, state: &State) -> Result<Vec3, BurnError> {
        match self.dv_inertial {
            Some(dv) => Ok(dv),
            None => Ok(axes(state)? * Vec3::new(self.along, self.across, self.outward)),
        }
    }

    /// The orbit after this burn: a planned one at its own epoch, another one where the craft is.
    ///
    /// # Errors
    /// A planned burn on another orbit than its own, by more than 1 km or 1 m/s; a state without local axes.
    pub fn flown_on(&self, orbit: &Orbit) -> Result<Orbit, BurnError> {
        let Some(plan) = &self.plan else {
            return Ok(orbit.after_impulse(self.dv_at(orbit.state())?)?);
        };
        if plan.body != *orbit.body() {
            return Err(BurnError::OtherBody { planned: plan.body.name().into(), here: orbit.body().name().into() });
        }
        let there = orbit.at(plan.epoch)?;
        let gap_m = (there.state().position - plan.before.position).norm();
        let gap_m_s = (there.state().velocity - plan.before.velocity).norm();
        if gap_m > 1e3 || gap_m_s > 1.0 {
            return Err(BurnError::OtherOrbit { gap_m, gap_m_s });
        }
        Ok(there.after_impulse(self.dv_at(there.state())?)?)
    }

    /// This burn in equal parts.
    ///
    /// # Errors
    /// No part.
    pub fn split(&self, parts: usize) -> Result<Vec<Burn>, BurnError> {
        if parts == 0 {
            return Err(BurnError::Parts { parts });
        }
        Ok(vec![self.scaled(1.0 / parts as f64); parts])
    }

    /// The opposite burn.
    pub fn reversed(&self) -> Burn {
        self.scaled(-1.0)
    }

    fn scaled(&self, factor: f64) -> Burn {
        Burn {
            along: self.along * factor,
            across: self.across * factor,
            outward: self.outward * factor,
            dv_inertial: self.dv_inertial.map(|dv| dv * factor),
            ..self.clone()
        }
    }
}

/// Local axes at a state, as columns: along the velocity, across (angular momentum), outward = along × across.
///
/// # Errors
/// Motion straight up or down, or none at all.
pub fn axes(state: &State) -> Result<Mat3, BurnError> {
    let momentum = state.position.cross(&state.velocity);
    let (speed, size) = (state.speed(), momentum.norm());
    if !(size > 1e-14 * speed * state.radius() && size.is_finite()) {
        return Err(BurnError::NoDirection { what: "a motion straight up or down" });
    }
    let (along, across) = (state.velocity / speed, momentum / size);
    Ok(Mat3::from_columns(&[along, across, along.cross(&across)]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outward_points_away_from_the_body() {
        let state = State::new([7e6, 0.0, 0.0].into(), [0.0, 7500.0, 0.0].into());
        assert_eq!(axes(&state).unwrap().column(2).x, 1.0);
        let burn = Burn::at_state(&state, Vec3::new(1.0, 2.0, 3.0)).unwrap();
        assert_eq!((burn.along, burn.across, burn.outward), (2.0, 3.0, 1.0));
        assert_eq!(burn.reversed().dv_at(&state).unwrap(), Vec3::new(-1.0, -2.0, -3.0));
        assert_eq!(burn.split(2).unwrap()[1].along, 1.0);
        assert!(burn.split(0).is_err() && Burn::local(f64::NAN, 0.0, 0.0).is_err());
    }
}
