//! Burns that match nothing: from a state on, for a change of speed or until an energy.

use super::error::FiniteError;
use super::flight::{lowest, swept, thrust};
use super::solve::{FiniteBurn, Impulse, Law};
use super::supply::Supply;
use crate::conic::{State, energy};
use crate::motion::Crossing;
use crate::motion::force::{Attitude, Quantity, Stop, Surroundings};
use crate::motion::passage::Flown;
use crate::numerics::watch::Watch;

/// A burn from the state of the impulse on, which spends the impulse's Δv.
///
/// - `ground`: radius that it must stay above, m; 0 for none.
///
/// # Errors
/// An impulse of no size; more than the supply gives; a way through the ground; an interruption.
pub fn open(
    around: &Surroundings,
    impulse: &Impulse,
    supply: &Supply,
    law: Law,
    attitude: Attitude,
    ground: f64,
    watch: &Watch<'_>,
) -> Result<FiniteBurn, FiniteError> {
    let dv = crate::burn::error::positive("the burn, m/s,", impulse.size())?;
    if dv > supply.dv() {
        return Err(FiniteError::NotEnough { needed_m_s: dv, left_m_s: supply.dv() });
    }
    let flown = thrust(around, &impulse.before, 0.0, &supply.shares(dv), attitude, &[], watch)?;
    let (radius, time) = lowest(&flown);
    if radius < ground {
        return Err(FiniteError::EntersTheGround { depth_m: ground - radius, after_s: time });
    }
    Ok(FiniteBurn {
        impulse: *impulse,
        law,
        attitude,
        start: 0.0,
        duration: supply.time(dv),
        dv,
        swept: swept(&flown),
        misfit: 0.0,
        flown,
        flights: 1,
    })
}

/// Thrust from a state on until the energy of its conic is `wanted`, J/kg: the flight and the change of speed that it took, m/s.
///
/// # Errors
/// An energy that the supply does not reach, an interruption.
pub fn until_energy(
    around: &Surroundings,
    state: &State,
    supply: &Supply,
    attitude: Attitude,
    wanted: f64,
    watch: &Watch<'_>,
) -> Result<(Flown, f64), FiniteError> {
    let now = energy(around.gravity.gm(), state);
    let crossing = if wanted >= now { Crossing::Rising } else { Crossing::Falling };
    let stop = Stop::ending(Quantity::Energy(wanted), crossing);
    let flown = thrust(around, state, 0.0, &supply.shares(supply.dv()), attitude, &[stop], watch)?;
    if flown.ended_by.is_none() {
        let reached = energy(around.gravity.gm(), &super::flight::state_of(&flown.end));
        return Err(FiniteError::EnergyNotReached { wanted_j_kg: wanted, reached_j_kg: reached });
    }
    let mut dv = 0.0;
    let mut time = flown.end.time;
    for phase in supply.phases() {
        let burned = (time * phase.flow()).min(phase.propellant);
        dv += phase.exhaust_speed * (burned / (phase.mass - burned)).ln_1p();
        time -= burned / phase.flow();
        if time <= 0.0 {
            break;
        }
    }
    Ok((flown, dv))
}
