//! The departure that a moon assist wants: from the parking orbit at a sibling of the giant to the point of the moon's B-plane.

use super::assist::Assist;
use super::departure::{LABEL, departure, planned};
use super::lambert::{Branch, Way, solve_one};
use super::parking::Parking;
use super::plan_error::PlanError;
use super::shoot::{Meeting, ShootError, Start, shoot};
use crate::burn::Burn;
use crate::conic::angular_momentum;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// A departure burn shot at the aim of an assist.
#[derive(Debug, Clone, PartialEq)]
pub struct AssistDeparture {
    /// The orbit departed from, at the burn.
    pub parking: Orbit,
    /// The burn, planned there: as the model flies it to the aim.
    pub burn: Burn,
    /// Size of the burn before the model was flown, m/s.
    pub estimate: f64,
    /// Excess velocity about the body left, m/s, inertial, of the arc to the giant.
    pub v_infinity: Vec3,
    /// How the moon is met.
    pub meeting: Meeting,
    /// What is left of the aim in the model: m across, ms in time.
    pub residuals: Vec<f64>,
}

/// Why an assist cannot be departed for.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AssistDepartureError {
    /// No arc or no parking orbit.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// The burn does not meet the aim in the model.
    #[error(transparent)]
    Shoot(#[from] ShootError),
}

/// The burn that leaves `from` at `depart` for the pass of an assist, flown in the model to the metre.
///
/// # Errors
/// Bodies that are no siblings; no arc; a parking orbit that is none; an aim that the model does not meet.
///
/// # Source
/// The arc is [Battin1999], chapter 7; the burn is shot, section 11.7.
pub fn assist_departure(
    assist: &Assist,
    from: &Body,
    depart: Epoch,
    parking: &Parking,
    watch: &Watch<'_>,
) -> Result<AssistDeparture, AssistDepartureError> {
    let giant = assist.before.body();
    let star = giant
        .parent()
        .filter(|star| from.parent().as_ref() == Some(star))
        .ok_or_else(|| PlanError::Unrelated { from: from.name().to_owned(), to: giant.name().to_owned() })?;
    let start = from.state(depart).map_err(PlanError::from)?;
    let there = giant.state(assist.giant_periapsis).map_err(PlanError::from)?;
    let seconds = assist.giant_periapsis.seconds_since(depart);
    let way = Way::Prograde(angular_momentum(&start));
    let goal = there.position + assist.giant_aim;
    let arc = solve_one(Orbit::gm_of(&star), &start.position, &goal, seconds, way, 0, Branch::Single)
        .map_err(|_| PlanError::NoArc { about: star.name().to_owned(), days: seconds / 86_400.0 })?;
    let v_infinity = arc.v1 - start.velocity;
    let leave = departure(from, parking, from, v_infinity, depart)?;
    let first = leave.after.velocity - leave.parking.state().velocity;
    let known = Start { dv: Some(first), expected: Some(assist.epoch), leaving: None };
    let shot = shoot(&leave.parking, &assist.aim(), &known, watch)?;
    let burn = planned(&leave.parking, shot.dv, LABEL)?;
    Ok(AssistDeparture {
        parking: leave.parking,
        burn,
        estimate: first.norm(),
        v_infinity,
        meeting: shot.flown,
        residuals: shot.residuals,
    })
}

impl Assist {
    /// The burn (m/s) along the motion at a periapsis of this radius (m) about the giant that leaves the energy of the orbit after the
    /// pass without any moon; 0 where the energy does not reach so far out.
    ///
    /// # Source
    /// Vis viva, [Battin1999], section 3.3.
    pub fn burn_without(&self, radius: f64) -> f64 {
        let potential = 2.0 * self.before.gm() / radius;
        let speed = |energy: f64| (2.0 * energy + potential).max(0.0).sqrt();
        speed(self.energy_before) - speed(self.energy_after)
    }

    /// The turn (rad) that a pass with this periapsis radius (m) about the moon would give.
    pub fn turn_at(&self, radius: f64) -> f64 {
        super::flyby::turn_angle(self.moon.gm(), self.flyby.v_in.norm(), radius).unwrap_or(0.0)
    }
}
