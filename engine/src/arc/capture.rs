//! Arriving with an excess velocity: the hyperbola to the wanted periapsis, and the burn into orbit there.

use super::asymptote::{aim_for_periapsis, least_inclined_normal, periapsis_arriving};
use super::departure::planned;
use super::parking::ArrivalOrbit;
use super::plan_error::PlanError;
use crate::burn::Burn;
use crate::conic::State;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// The plane of an arrival.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ArrivalPlane {
    /// As little inclined to the equator as the asymptote allows, posigrade.
    #[default]
    LeastInclined,
    /// As little inclined as the asymptote allows, but retrograde.
    Retrograde,
    /// Over the poles, as nearly as the asymptote allows: over the pole that the asymptote leaves nearer.
    Polar,
}

/// An arrival: where to aim, and the burn at periapsis.
#[derive(Debug, Clone, PartialEq)]
pub struct Capture {
    /// The hyperbola at its periapsis.
    pub hyperbola: Orbit,
    /// The aim: where the incoming asymptote crosses the plane at right angles to it, m from the body's centre.
    pub aim: Vec3,
    /// The capture burn, planned at periapsis.
    pub burn: Burn,
    /// The orbit after it.
    pub orbit: Orbit,
}

impl Capture {
    /// Size of the burn, m/s.
    pub fn dv(&self) -> f64 {
        self.burn.size()
    }
}

/// Unit normal of the plane of arrival.
pub(super) fn arrival_normal(body: &Body, v_infinity: &Vec3, epoch: Epoch, plane: ArrivalPlane) -> Vec3 {
    let equator = body.equator(epoch);
    let (node, pole) = (equator.column(0).into_owned(), equator.column(2).into_owned());
    let least = least_inclined_normal(v_infinity, &pole, &node);
    match plane {
        ArrivalPlane::LeastInclined => least,
        ArrivalPlane::Retrograde => -least,
        // At right angles to the least inclined one and to the asymptote: it holds the pole's projection.
        ArrivalPlane::Polar => least.cross(v_infinity).normalize(),
    }
}

/// The aim (m) for a periapsis radius (m): B with B × S along the orbit normal.
pub(super) fn aim(body: &Body, v_infinity: &Vec3, normal: &Vec3, periapsis_radius: f64) -> Vec3 {
    let size = aim_for_periapsis(Orbit::gm_of(body), v_infinity.norm(), periapsis_radius);
    v_infinity.normalize().cross(normal) * size
}

/// Arrive at `body` with `v_infinity` (m/s, inertial) and periapsis at `epoch`, and burn there into `wanted`.
///
/// # Errors
/// An orbit that cannot be about this body.
pub fn capture(
    body: &Body,
    v_infinity: Vec3,
    epoch: Epoch,
    wanted: ArrivalOrbit,
    plane: ArrivalPlane,
) -> Result<Capture, PlanError> {
    wanted.check(body)?;
    let normal = arrival_normal(body, &v_infinity, epoch, plane);
    let radius = wanted.periapsis_radius(body);
    let (position, velocity) = periapsis_arriving(Orbit::gm_of(body), &v_infinity, radius, &normal);
    let hyperbola = Orbit::new(body.clone(), epoch, State { position, velocity })?;
    let (burn, orbit) = capture_burn(&hyperbola, wanted)?;
    Ok(Capture { aim: aim(body, &v_infinity, &normal, radius), hyperbola, burn, orbit })
}

/// The burn along the velocity at an orbit's periapsis that leaves the wanted apoapsis, and the orbit after it.
pub(super) fn capture_burn(at_periapsis: &Orbit, wanted: ArrivalOrbit) -> Result<(Burn, Orbit), PlanError> {
    let state = at_periapsis.state();
    let velocity = state.velocity.normalize() * wanted.periapsis_speed(at_periapsis.body());
    let burn = planned(at_periapsis, velocity - state.velocity, "capture burn")?;
    let orbit =
        Orbit::new(at_periapsis.body().clone(), at_periapsis.epoch(), State { position: state.position, velocity })?;
    Ok((burn, orbit))
}
