//! A moon's pull against a giant's: the pass that turns an arrival hyperbola about a giant into a bound orbit.
//!
//! The unknown is the epoch at which the moon is met. Place and asymptote give the hyperbola about the giant in closed form, one
//! for each way round; the moon can turn its excess velocity by as much as its least altitude allows, towards any side.
//! Of all these passes those are kept whose orbit about the giant stays in its sphere, ranked by what they leave behind.

mod bend;
mod error;
mod incoming;
mod refusal;
mod search;
mod span;

pub use error::{AssistError, Shortfall};
pub use incoming::Incoming;
pub use search::capture_by;
pub use span::{Departing, Departures, capture_by_departing};

use crate::arc::flyby::Flyby;
use crate::arc::shoot::Aim;
use crate::burn::hohmann;
use crate::conic::{self, Elements};
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// What makes one capture better than another.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum AssistRank {
    /// The most bound orbit.
    #[default]
    Energy,
    /// The least Δv by burns along the motion at the apsides into an orbit of these radii about the giant's centre.
    Target {
        /// m.
        periapsis_radius: f64,
        /// m.
        apoapsis_radius: f64,
    },
}

/// What `capture_by` may be told.
#[derive(Debug, Clone, PartialEq)]
pub struct AssistOptions {
    /// When the moon may be met; both ends may be the same.
    pub between: (Epoch, Epoch),
    /// Least altitude of the pass above the moon's equatorial radius, m. Default: the top of its air, or a hundredth of its radius.
    pub least_altitude: Option<f64>,
    /// Least radius of the giant's periapsis before and after, m. Default: the ring's outer edge, the top of the air, or the radius.
    pub least_radius: Option<f64>,
    /// Greatest apoapsis radius about the giant, m. Default: its sphere of influence.
    pub greatest_apoapsis: Option<f64>,
    /// Inclination to the giant's equator after the pass, rad. Default: any.
    pub inclination: Option<f64>,
    /// What ranks the answers.
    pub rank: AssistRank,
    /// The most answers given.
    pub most: usize,
    /// Where no pass captures without propellant: the greatest burn (m/s) that may help, at the periapsis of the pass or at the
    /// giant's. Default: 0, none.
    pub greatest_burn: f64,
}

impl AssistOptions {
    /// Any epoch of a span, everything else by default.
    pub fn new(between: (Epoch, Epoch)) -> Self {
        Self {
            between,
            least_altitude: None,
            least_radius: None,
            greatest_apoapsis: None,
            inclination: None,
            rank: AssistRank::Energy,
            most: 8,
            greatest_burn: 0.0,
        }
    }

    /// The options with the moon's and the giant's own bounds in place.
    pub(super) fn bounds(&self, giant: &Body, moon: &Body) -> Bounds {
        let air = |body: &Body| body.air().map_or(0.0, crate::system::Air::top);
        let own = if moon.air().is_some() { air(moon) } else { 0.01 * moon.radius() };
        let ring = giant.ring().map_or(0.0, |ring| ring.outer);
        Bounds {
            pass_radius: moon.radius() + self.least_altitude.unwrap_or(own),
            least_radius: self.least_radius.unwrap_or_else(|| ring.max(giant.radius() + air(giant))),
            greatest_apoapsis: self.greatest_apoapsis.unwrap_or_else(|| giant.sphere_of_influence()),
        }
    }
}

/// The bounds of a search, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Bounds {
    pub pass_radius: f64,
    pub least_radius: f64,
    pub greatest_apoapsis: f64,
}

/// A pass by a moon that leaves the craft bound to the giant.
#[derive(Debug, Clone, PartialEq)]
pub struct Assist {
    /// The moon.
    pub moon: Body,
    /// Periapsis about the moon.
    pub epoch: Epoch,
    /// Excess velocity of the arrival about the giant, m/s, inertial.
    pub v_infinity: Vec3,
    /// Aim of the arrival about the giant: foot of its asymptote, m from the giant's centre.
    pub giant_aim: Vec3,
    /// Periapsis of the arrival hyperbola about the giant, which the craft need not reach.
    pub giant_periapsis: Epoch,
    /// The arrival hyperbola about the giant, where it comes nearest to the moon, the moon's pull left out.
    pub before: Orbit,
    /// The pass: excess velocities about the moon, aim, periapsis, turn.
    pub flyby: Flyby,
    /// The hyperbola about the moon at periapsis.
    pub pass: Orbit,
    /// The orbit about the giant afterwards, anchored at the epoch of the pass.
    pub after: Orbit,
    /// Energy about the giant before, m²/s².
    pub energy_before: f64,
    /// Energy about the giant afterwards, m²/s², below zero.
    pub energy_after: f64,
    /// Shape and plane afterwards, to the giant's equator.
    pub elements: Elements,
    /// What ranks: energy (m²/s²) or Δv (m/s).
    pub cost: f64,
    /// The burn at the giant's periapsis after the pass, where the pass alone does not capture.
    pub giant_burn: Option<GiantBurn>,
    /// When the sibling is left, where the arrival comes from one.
    pub depart: Option<Epoch>,
}

/// A burn against the motion at the giant's periapsis.
#[derive(Debug, Clone, PartialEq)]
pub struct GiantBurn {
    /// m/s.
    pub dv: f64,
    /// On the way in, at the epoch of the burn.
    pub before: Orbit,
    /// The orbit captured into.
    pub after: Orbit,
}

impl Assist {
    /// Altitude of the pass above the moon's equatorial radius, m.
    pub fn altitude(&self) -> f64 {
        self.flyby.periapsis_radius - self.moon.radius()
    }

    /// Δv of the burns that the capture takes, m/s; 0 where it is free.
    pub fn burns(&self) -> f64 {
        self.flyby.burn.abs() + self.giant_burn.as_ref().map_or(0.0, |burn| burn.dv)
    }

    /// The orbit captured into.
    pub fn captured(&self) -> &Orbit {
        self.giant_burn.as_ref().map_or(&self.after, |burn| &burn.after)
    }

    /// What the moon adds to the velocity about the giant, m/s.
    pub fn dv_saved(&self) -> f64 {
        self.flyby.dv()
    }

    /// Where to aim: the point of the moon's B-plane (the pole's T and R) and the epoch.
    pub fn aim(&self) -> Aim {
        let s = self.flyby.v_in.normalize();
        let pole = self.moon.pole(self.epoch);
        let across = s.cross(&pole);
        // Along the pole T has no direction; any fixed one serves.
        let pole = if across.norm() < 1e-6 { pole.cross(&Vec3::x()).normalize() } else { pole };
        let t = s.cross(&pole).normalize();
        let r = s.cross(&t);
        let (bt, br) = (self.flyby.aim.dot(&t), self.flyby.aim.dot(&r));
        Aim::BPlane { body: self.moon.clone(), bt, br, pole: Some(pole), epoch: Some(self.epoch) }
    }
}

/// Δv (m/s) by two burns along the motion, one at each apse, from an orbit into one of other radii; infinite where it has none.
pub(super) fn reshaping(orbit: &Orbit, periapsis: f64, apoapsis: f64) -> f64 {
    let gm = orbit.gm();
    let (Some(far), near) = (orbit.apoapsis_radius(), orbit.periapsis_radius()) else { return f64::INFINITY };
    let by = |first: f64, opposite: f64, wanted: f64, last: f64| {
        (hohmann::apse_speed(gm, first, wanted) - hohmann::apse_speed(gm, first, opposite)).abs()
            + (hohmann::apse_speed(gm, wanted, last) - hohmann::apse_speed(gm, wanted, first)).abs()
    };
    by(near, far, apoapsis, periapsis).min(by(far, near, periapsis, apoapsis))
}

/// Inclination of an orbit to its body's equator, rad.
pub(super) fn inclination(orbit: &Orbit) -> f64 {
    conic::angular_momentum(orbit.state()).angle(&orbit.body().pole(orbit.epoch()))
}
