//! The hyperbola about the giant that meets a moon at an epoch.

use super::AssistError;
use crate::arc::PlanError;
use crate::arc::asymptote::{Sweep, foot_of_asymptote, velocity_from_asymptote};
use crate::arc::lambert::{Branch, Way, solve_one};
use crate::conic::{State, angular_momentum, time_since_periapsis};
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::{Mat3, Vec3};

/// How the craft comes to the giant.
#[derive(Debug, Clone, PartialEq)]
pub enum Incoming {
    /// With this excess velocity (m/s, inertial), whenever it comes.
    Excess(Vec3),
    /// On the arc that leaves a sibling of the giant's at an epoch, with less than one revolution.
    From {
        /// The body left.
        body: Body,
        /// When.
        depart: Epoch,
    },
}

impl Incoming {
    /// Excess velocity (m/s) about the giant of an arrival whose asymptote passes `foot` (m) with periapsis at `epoch`.
    fn v_infinity(&self, giant: &Body, epoch: Epoch, foot: &Vec3) -> Result<Vec3, AssistError> {
        match self {
            Self::Excess(v) => Ok(*v),
            Self::From { body, depart } => {
                let parent =
                    giant.parent().filter(|parent| body.parent().as_ref() == Some(parent)).ok_or_else(|| {
                        PlanError::Unrelated { from: body.name().to_owned(), to: giant.name().to_owned() }
                    })?;
                let (start, there) = (body.state(*depart)?, giant.state(epoch)?);
                let seconds = epoch.seconds_since(*depart);
                if seconds <= 0.0 {
                    return Err(PlanError::ArrivalNotAfterDeparture { depart: *depart, arrive: epoch }.into());
                }
                let way = Way::Prograde(angular_momentum(&start));
                let goal = there.position + foot;
                let gm = Orbit::gm_of(&parent);
                let arc = solve_one(gm, &start.position, &goal, seconds, way, 0, Branch::Single)
                    .map_err(|_| PlanError::NoArc { about: parent.name().to_owned(), days: seconds / 86_400.0 })?;
                Ok(arc.v2 - there.velocity)
            }
        }
    }
}

/// The arrival that is `aside` (m) of the moon's centre at an epoch.
#[derive(Debug, Clone, Copy)]
pub(super) struct Arrival {
    pub v_infinity: Vec3,
    pub foot: Vec3,
    pub periapsis: Epoch,
    /// About the giant at the epoch, the moon's pull left out.
    pub state: State,
    pub moon: State,
}

impl Arrival {
    /// Excess velocity about the moon, m/s.
    pub(super) fn excess(&self) -> Vec3 {
        self.state.velocity - self.moon.velocity
    }
}

/// Most steps of Newton's method, and the change of the excess velocity (m/s) that its differences are taken over.
const STEPS: usize = 30;
const DIFFERENCE: f64 = 0.01;

/// Excess velocities that agree to this (m/s) are the same: over a month they part by a decimetre.
const AGREED: f64 = 1e-8;

/// The arrival on an arc, where the asymptotes of the patch are good for it.
///
/// An aim far out in the giant's sphere changes the excess speed of the arc: where it is left below half the escape speed at the edge,
/// the patch is out of its depth (three quarters of the kinetic energy there would be the giant's own pull), and there is no answer.
pub(super) fn arrival(
    incoming: &Incoming,
    giant: &Body,
    moon: &Body,
    epoch: Epoch,
    sweep: Sweep,
    aside: &Vec3,
) -> Result<Option<Arrival>, AssistError> {
    let found = solved(incoming, giant, moon, epoch, sweep, aside)?;
    let least = 0.5 * (2.0 * Orbit::gm_of(giant) / giant.sphere_of_influence()).sqrt();
    let told = matches!(incoming, Incoming::Excess(_));
    Ok(found.filter(|arrival| told || arrival.v_infinity.norm() >= least))
}

/// Solves for the arrival; `None` where place and asymptote leave the plane open or no arc comes in along them.
///
/// The excess velocity depends on the aim about the giant (strongly, where the arc spans nearly half a turn and its
/// plane hangs on the aim) and the aim on the excess velocity: Newton's method on the difference, from centre to centre.
fn solved(
    incoming: &Incoming,
    giant: &Body,
    moon: &Body,
    epoch: Epoch,
    sweep: Sweep,
    aside: &Vec3,
) -> Result<Option<Arrival>, AssistError> {
    let gm = Orbit::gm_of(giant);
    let there = moon.state(epoch)?;
    let position = there.position + aside;
    let with = |v_infinity: Vec3| -> Option<Arrival> {
        let velocity = velocity_from_asymptote(gm, &position, &v_infinity, sweep)?;
        let state = State { position, velocity };
        let foot = foot_of_asymptote(&position, &velocity, &v_infinity);
        let before = time_since_periapsis(gm, &state);
        let sound = state.is_finite() && foot.norm().is_finite() && before.is_finite();
        sound.then(|| Arrival { v_infinity, foot, periapsis: epoch.after(-before), state, moon: there })
    };
    // Centre to centre, in time with the hyperbola.
    let mut v_infinity = incoming.v_infinity(giant, epoch, &Vec3::zeros())?;
    if matches!(incoming, Incoming::Excess(_)) {
        return Ok(with(v_infinity));
    }
    for _ in 0..2 {
        let Some(arrival) = with(v_infinity) else { return Ok(None) };
        v_infinity = incoming.v_infinity(giant, arrival.periapsis, &Vec3::zeros())?;
    }
    let off = |v_infinity: &Vec3| -> Option<Vec3> {
        let arrival = with(*v_infinity)?;
        Some(incoming.v_infinity(giant, arrival.periapsis, &arrival.foot).ok()? - v_infinity)
    };
    let Some(mut left) = off(&v_infinity) else { return Ok(None) };
    for _ in 0..STEPS {
        if left.norm() < AGREED {
            return Ok(with(v_infinity));
        }
        let mut slopes = Mat3::zeros();
        for axis in 0..3 {
            let mut moved = v_infinity;
            moved[axis] += DIFFERENCE;
            let Some(there) = off(&moved) else { return Ok(None) };
            slopes.set_column(axis, &((there - left) / DIFFERENCE));
        }
        let Some(step) = slopes.lu().solve(&-left) else { return Ok(None) };
        let mut share = 1.0;
        let (next, remains) = loop {
            let next = v_infinity + step * share;
            match off(&next) {
                Some(remains) if remains.norm() < left.norm() => break (next, remains),
                _ if share < 1e-3 => {
                    // As near as rounding comes: a millimetre a second is still good to metres once it is flown.
                    return Ok(if left.norm() < 1e-3 { with(v_infinity) } else { None });
                }
                _ => share *= 0.5,
            }
        };
        (v_infinity, left) = (next, remains);
    }
    Ok(None)
}
