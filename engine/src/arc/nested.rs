//! Hyperbolas one inside the other: leaving a moon for another planet, and meeting one on the way in.
//!
//! The arc between planets asks for an excess velocity and anchors it at an epoch, the (virtual) periapsis time of the
//! hyperbola about the planet. Of all hyperbolas with that asymptote and that time, one or a few pass the moon where it
//! is at its own epoch. The unknown is that epoch alone: place and asymptote give the velocity in closed form.

use super::asymptote::{Sweep, foot_of_asymptote, velocity_from_asymptote, velocity_to_asymptote};
use super::plan_error::PlanError;
use crate::conic::{self, State};
use crate::numerics::root;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// Whether the chain of hyperbolas is flown outward (from the inner body) or inward (to it).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bound {
    /// Leaving: the asymptote lies ahead.
    Outward,
    /// Arriving: the asymptote lies behind.
    Inward,
}

/// One hyperbola about a planet that passes one of its moons.
#[derive(Debug, Clone, PartialEq)]
pub struct Passage {
    /// The body the hyperbola goes round.
    pub planet: Body,
    /// Its child that is left or met.
    pub moon: Body,
    /// Excess velocity about the planet, m/s, inertial.
    pub v_infinity: Vec3,
    /// Periapsis epoch of the hyperbola about the planet; virtual where the craft is not on it then.
    pub periapsis: Epoch,
    /// When the moon is left or met: the periapsis epoch about the moon.
    pub epoch: Epoch,
    /// On the hyperbola about the planet at that epoch.
    pub state: State,
    /// Excess velocity about the moon, m/s, inertial.
    pub v_infinity_moon: Vec3,
    /// Foot of the planet asymptote, m from the planet's centre.
    pub foot: Vec3,
}

/// Samples on either side of the periapsis time, for each way round. They lie a fiftieth of a month apart: the residual is smooth on the
/// scale of a month, and a pair of roots closer than this is a pair of nearly equal passages: losing both would lose no
/// cheaper one.
const SAMPLES: usize = 8;

/// Follow the hyperbolas from the outermost body of `chain` (left or met with `v_infinity` at `periapsis`) down to its last.
///
/// `offsets[i]` (m) is the aim about `chain[i]`, the place by which its centre is missed; zeros for centre to centre.
/// Among several passages of a month the one with the least excess speed about the moon is taken: it costs least there.
///
/// # Errors
/// No hyperbola passes the moon; the ephemeris does not reach.
///
/// # Source
/// [Battin1999] for the velocity; the matching of times is the patched-conic rule that v-infinity, aim and time of an
/// asymptote are what is handed over (`motion::patch`).
pub fn passages(
    chain: &[Body],
    v_infinity: Vec3,
    periapsis: Epoch,
    bound: Bound,
    offsets: &[Vec3],
) -> Result<Vec<Passage>, PlanError> {
    let mut found: Vec<Passage> = Vec::with_capacity(chain.len().saturating_sub(1));
    let (mut v_infinity, mut periapsis) = (v_infinity, periapsis);
    for (level, pair) in chain.windows(2).enumerate() {
        let offset = offsets.get(level + 1).copied().unwrap_or_else(Vec3::zeros);
        let passage = pass(&pair[0], &pair[1], v_infinity, periapsis, bound, offset)?;
        v_infinity = passage.v_infinity_moon;
        periapsis = passage.epoch;
        found.push(passage);
    }
    Ok(found)
}

/// One level: the hyperbola about `planet` with the given asymptote and periapsis time that passes `moon`.
fn pass(
    planet: &Body,
    moon: &Body,
    v_infinity: Vec3,
    periapsis: Epoch,
    bound: Bound,
    offset: Vec3,
) -> Result<Passage, PlanError> {
    let gm = Orbit::gm_of(planet);
    // Of all open orbits the one through r that takes longest from periapsis is the parabola with its periapsis at r/2:
    // (2/3) √(r³/gm), from Barker's equation. The moon's farthest distance, the offset added, bounds r.
    let farthest = {
        let now = moon.state(periapsis)?;
        let axis = (-0.5 * gm / conic::energy(gm, &now)).abs();
        axis * (1.0 + conic::eccentricity_vector(gm, &now).norm()) + offset.norm()
    };
    let step = 1.05 * (2.0 / 3.0) * (farthest.powi(3) / gm).sqrt() / SAMPLES as f64;
    let at = |seconds: f64, prograde: bool| -> Option<(State, State, f64)> {
        let place = moon.state(periapsis.after(seconds)).ok()?;
        let position = place.position + offset;
        let state = hyperbola(gm, &position, &place, v_infinity, bound, prograde)?;
        let since = conic::time_since_periapsis(gm, &state);
        since.is_finite().then_some((state, place, seconds - since))
    };
    let mut best: Option<Passage> = None;
    for prograde in [true, false] {
        let mut before: Option<(f64, f64)> = None;
        for k in 0..=2 * SAMPLES {
            let seconds = (k as f64 - SAMPLES as f64) * step;
            let here = at(seconds, prograde).map(|(_, _, residual)| (seconds, residual));
            if let (Some((s0, f0)), Some((s1, f1))) = (before, here)
                && f0.signum() != f1.signum()
                && let Ok(root) = root::bracketed(|s| at(s, prograde).map_or(f64::NAN, |(_, _, f)| f), s0, s1, 1e-6)
                && let Some((state, place, residual)) = at(root, prograde)
                // A jump of the family (the moon right along the asymptote) changes sign without a root.
                && residual.abs() < 1.0
                && !strikes(planet, gm, &state, bound)
            {
                let relative = state.velocity - place.velocity;
                if best.as_ref().is_none_or(|best| relative.norm() < best.v_infinity_moon.norm()) {
                    best = Some(Passage {
                        planet: planet.clone(),
                        moon: moon.clone(),
                        v_infinity,
                        periapsis,
                        epoch: periapsis.after(root),
                        state,
                        v_infinity_moon: relative,
                        foot: foot_of_asymptote(&state.position, &state.velocity, &v_infinity),
                    });
                }
            }
            before = here;
        }
    }
    best.ok_or_else(|| PlanError::MoonNotMet {
        planet: planet.name().to_string(),
        moon: moon.name().to_string(),
        v_infinity_m_s: v_infinity.norm(),
    })
}

/// The hyperbola through the moon's place, going round the planet in the moon's sense or against it.
fn hyperbola(gm: f64, position: &Vec3, moon: &State, v_infinity: Vec3, bound: Bound, prograde: bool) -> Option<State> {
    let turn = position.cross(&v_infinity).dot(&conic::angular_momentum(moon));
    // Outward by the short way the angular momentum is along r × v∞; inward it is too, by the mirror in time.
    let sweep = if (turn > 0.0) == prograde { Sweep::Short } else { Sweep::Long };
    let velocity = match bound {
        Bound::Outward => velocity_to_asymptote(gm, position, &v_infinity, sweep),
        Bound::Inward => velocity_from_asymptote(gm, position, &v_infinity, sweep),
    }?;
    Some(State { position: *position, velocity })
}

/// Whether the flown part of the hyperbola dips below the planet's ground.
fn strikes(planet: &Body, gm: f64, state: &State, bound: Bound) -> bool {
    let outbound = state.position.dot(&state.velocity);
    let through_periapsis = match bound {
        Bound::Outward => outbound < 0.0,
        Bound::Inward => outbound > 0.0,
    };
    let momentum = state.position.cross(&state.velocity).norm_squared();
    let energy = conic::energy(gm, state);
    let periapsis = momentum / gm / (1.0 + (1.0 + 2.0 * energy * momentum / (gm * gm)).max(0.0).sqrt());
    through_periapsis && periapsis < planet.radius()
}
