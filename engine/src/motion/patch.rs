//! Crossing the edge of a sphere of influence, by asymptotes.
//!
//! On the way in, the closest approach on the parent's conic gives the hyperbola: the relative velocity there is v∞, the
//! offset is the aim in the B-plane, the time is that of periapsis. On the way out the outgoing asymptote's v∞ and aim are
//! handed back to the parent at the time of periapsis. So v∞, aim and time are held across a patch, and place and velocity
//! at the edge are not; the gap is kept, to be shown. (docs/patched-conics.md)
//!
//! # Source
//! [Battin1999], section 9.1; [Kizner1961] for the aim in the B-plane; [Curtis2014], chapter 8.

use std::fmt;

use super::MotionError;
use crate::conic::{State, hyperbola, propagate, time_since_periapsis};
use crate::orbit::{Encounter, Orbit};
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// Below this part of the escape speed at the edge of the sphere v∞ no longer tells how the craft moves there: three
/// quarters of the kinetic energy at the edge would be the body's own pull.
const SLOW: f64 = 0.5;

/// A crossing from one body's conic to another's.
#[derive(Debug, Clone, PartialEq)]
pub struct Patch {
    /// When the craft crosses.
    pub epoch: Epoch,
    /// The conic after the crossing, at that epoch.
    pub after: Orbit,
    /// Time of periapsis about the child, where the asymptotes were joined; the crossing itself without asymptotes.
    pub periapsis: Epoch,
    /// Place after less place before, m, inertial: what joining asymptotes leaves open at the edge.
    pub gap_position: Vec3,
    /// Velocity after less velocity before, m/s, inertial.
    pub gap_velocity: Vec3,
    /// Whether conics are out of their depth here: no asymptote, or one far slower than the escape speed at the edge.
    pub out_of_depth: bool,
    child: Body,
    outward: bool,
    asymptotic: bool,
}

impl Patch {
    /// Whether the craft leaves the child's sphere; else it enters it.
    pub fn is_outward(&self) -> bool {
        self.outward
    }

    /// Whose sphere is crossed.
    pub fn child(&self) -> &Body {
        &self.child
    }

    /// The time of periapsis that both sides hold; `None` where place and velocity were handed on without asymptotes.
    pub fn periapsis_held(&self) -> Option<Epoch> {
        self.asymptotic.then_some(self.periapsis)
    }

    /// The body whose sphere the craft has just left, which it must get away from before it can meet it again.
    pub fn leaving(&self) -> Option<Body> {
        self.outward.then(|| self.child.clone())
    }

    /// Into the sphere of the body that is met.
    ///
    /// # Errors
    /// An ephemeris that does not reach; no relative speed at all.
    pub fn inward(from: &Orbit, met: &Encounter) -> Result<Patch, MotionError> {
        let child = &met.body;
        let gm = Orbit::gm_of(child);
        let v_infinity = met.relative.velocity;
        let speed = v_infinity.norm();
        let periapsis = from.epoch().try_after(met.time)?;
        let along = v_infinity / speed;
        let aim = met.relative.position - along * met.relative.position.dot(&along);
        let sphere = child.sphere_of_influence();
        // Built at the edge of the sphere: from a periapsis near the centre v∞ would not come back.
        let at_edge = hyperbola::inbound_at(gm, v_infinity, aim, sphere)?;
        let edge = periapsis.try_after(time_since_periapsis(gm, &at_edge))?;
        let epoch = edge.max(from.epoch());
        let state = propagate(gm, &at_edge, epoch.seconds_since(edge))?;
        let after = Orbit::new(child.clone(), epoch, state)?;
        let before = propagate(from.gm(), from.state(), epoch.seconds_since(from.epoch()))?;
        let there = child.state(epoch)?;
        Ok(Patch {
            epoch,
            periapsis,
            gap_position: there.position + state.position - before.position,
            gap_velocity: there.velocity + state.velocity - before.velocity,
            out_of_depth: speed < SLOW * (2.0 * gm / sphere).sqrt(),
            child: child.clone(),
            outward: false,
            asymptotic: true,
            after,
        })
    }

    /// Out of the sphere of the body that `from` is about, at the time `exit` s past its epoch.
    ///
    /// # Errors
    /// An ephemeris that does not reach.
    pub fn outward(from: &Orbit, parent: Body, exit: f64) -> Result<Patch, MotionError> {
        let child = from.body().clone();
        let gm = from.gm();
        let epoch = from.epoch().try_after(exit)?;
        let at_edge = propagate(gm, from.state(), exit)?;
        let there = child.state(epoch)?;
        let before = State::new(there.position + at_edge.position, there.velocity + at_edge.velocity);
        let sphere = child.sphere_of_influence();
        let (after, periapsis, speed) = match hyperbola::outgoing(gm, from.state()) {
            Some(leaving) => {
                let periapsis = from.epoch().try_after(-time_since_periapsis(gm, from.state()))?;
                let centre = child.state(periapsis)?;
                let anchor = State::new(centre.position + leaving.aim, centre.velocity + leaving.v_infinity);
                let about = Orbit::new(parent, periapsis, anchor)?.at(epoch)?;
                (about, Some(periapsis), leaving.v_infinity.norm())
            }
            None => (Orbit::new(parent, epoch, before)?, None, 0.0),
        };
        Ok(Patch {
            epoch,
            periapsis: periapsis.unwrap_or(epoch),
            gap_position: after.state().position - before.position,
            gap_velocity: after.state().velocity - before.velocity,
            out_of_depth: speed < SLOW * (2.0 * gm / sphere).sqrt(),
            child,
            outward: true,
            asymptotic: periapsis.is_some(),
            after,
        })
    }
}

impl fmt::Display for Patch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let way = if self.outward { "leaves" } else { "enters" };
        write!(f, "{way} the sphere of influence of {}", self.child.name())
    }
}
