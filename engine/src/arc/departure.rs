//! Leaving for an excess velocity: from the orbit the planner chooses, or from a given one, at any depth of the tree.

use super::asymptote::{foot_of_asymptote, least_inclined_normal, periapsis_leaving};
use super::nested::{Bound, Passage, passages};
use super::parking::{Parking, check_altitude};
use super::plan_error::PlanError;
use super::route::Route;
use crate::burn::{Burn, departure as closed_form};
use crate::conic::State;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// What a departure burn is called.
pub(super) const LABEL: &str = "departure burn";

/// A departure burn with all that belongs to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Departure {
    /// The orbit departed from, at the burn.
    pub parking: Orbit,
    /// The burn, planned there.
    pub burn: Burn,
    /// State right after the burn, about the body departed from.
    pub after: State,
    /// Periapsis epoch of the hyperbola: the burn itself when it is along the velocity of a circular orbit.
    pub periapsis: Epoch,
    /// Excess velocity about the body departed from, m/s, inertial.
    pub v_infinity: Vec3,
    /// Foot of the outgoing asymptote, m from the body's centre.
    pub foot: Vec3,
    /// Hyperbolas about the bodies passed on the way out, outermost first.
    pub outward: Vec<Passage>,
}

impl Departure {
    /// Size of the burn, m/s.
    pub fn dv(&self) -> f64 {
        self.burn.size()
    }
}

/// Leave `from` so that the excess velocity about its ancestor `sphere` (or about `from` itself) is `v_infinity` (m/s,
/// inertial), with the (virtual) periapsis of the outermost hyperbola at `epoch`.
///
/// From a moon, `sphere` is its planet: the moon is left at the hour at which the hyperbola about the planet with
/// this asymptote passes it, and the burn is made deep in the moon's own field.
///
/// # Errors
/// A parking orbit that is no orbit about `from`; a moon that no such hyperbola passes; an epoch outside the ephemeris.
pub fn departure(
    from: &Body,
    parking: &Parking,
    sphere: &Body,
    v_infinity: Vec3,
    epoch: Epoch,
) -> Result<Departure, PlanError> {
    let mut chain = vec![sphere.clone()];
    if from != sphere {
        chain.extend(Route::between(from, sphere)?.down_to_start);
    }
    let outward = passages(&chain, v_infinity, epoch, Bound::Outward, &[])?;
    let (v_infinity, epoch) = outward.last().map_or((v_infinity, epoch), |p| (p.v_infinity_moon, p.epoch));
    let mut departure = leave(from, parking, v_infinity, epoch)?;
    departure.outward = outward;
    Ok(departure)
}

/// The innermost step: from the parking orbit onto the hyperbola about its own body.
pub(super) fn leave(from: &Body, parking: &Parking, v_infinity: Vec3, epoch: Epoch) -> Result<Departure, PlanError> {
    match parking {
        Parking::Altitude(altitude) => {
            check_altitude(from, *altitude)?;
            let equator = from.equator(epoch);
            let (pole, node) = (equator.column(2).into_owned(), equator.column(0).into_owned());
            let normal = least_inclined_normal(&v_infinity, &pole, &node);
            let radius = from.radius() + altitude;
            let (position, velocity) = periapsis_leaving(Orbit::gm_of(from), &v_infinity, radius, &normal);
            let circular = velocity.normalize() * (Orbit::gm_of(from) / radius).sqrt();
            let orbit = Orbit::new(from.clone(), epoch, State { position, velocity: circular })?;
            made(orbit, State { position, velocity }, v_infinity, epoch)
        }
        Parking::Orbit(orbit) => {
            if orbit.body() != from {
                return Err(PlanError::Parking { body: from.name().to_string() });
            }
            let escape = cheapest_escape(orbit, &v_infinity)
                .ok_or_else(|| PlanError::Parking { body: from.name().to_string() })?;
            let period = orbit.period().ok_or_else(|| PlanError::Parking { body: from.name().to_string() })?;
            // The passage of that place whose hyperbola has its periapsis nearest to the wanted epoch.
            let gap = epoch.seconds_since(orbit.epoch()) - escape.time_to_periapsis - escape.wait;
            let seconds = escape.wait + (gap / period).round() * period;
            let at = orbit.after(seconds)?;
            let periapsis = orbit.epoch().after(seconds + escape.time_to_periapsis);
            let after = State { position: at.state().position, velocity: escape.after().velocity };
            made(at, after, v_infinity, periapsis)
        }
    }
}

fn made(parking: Orbit, after: State, v_infinity: Vec3, periapsis: Epoch) -> Result<Departure, PlanError> {
    let dv = after.velocity - parking.state().velocity;
    let burn = planned(&parking, dv, LABEL)?;
    let foot = foot_of_asymptote(&after.position, &after.velocity, &v_infinity);
    Ok(Departure { parking, burn, after, periapsis, v_infinity, foot, outward: Vec::new() })
}

/// The place on a given bound orbit where reaching `v_infinity` costs least, its plane kept until the burn; hyperbolas that
/// would first dip below the ground are left out.
pub(super) fn cheapest_escape(orbit: &Orbit, v_infinity: &Vec3) -> Option<closed_form::Departure> {
    closed_form::departure(orbit.gm(), orbit.state(), v_infinity, orbit.body().radius()).ok()
}

/// A burn planned on an orbit at its epoch, with its label.
pub(super) fn planned(orbit: &Orbit, dv: Vec3, label: &str) -> Result<Burn, PlanError> {
    Ok(Burn::planned(orbit.body(), orbit.epoch(), *orbit.state(), dv)?.labelled(label))
}
