//! A tour flown in the patched-conic model, as a voyage flies it: each leg aimed at its pass by one correction.

use super::answer::{TourLeg, TourPass};
use crate::arc::capture::capture_burn;
use crate::arc::departure::{Departure, planned};
use crate::arc::parking::ArrivalOrbit;
use crate::arc::shoot::{self, Aim, Start};
use crate::burn::Burn;
use crate::motion::conics::next_patch;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;

/// Share of a leg without a burn after which it is corrected: far enough from the pass behind to see where it leads, early enough to
/// be cheap.
const CORRECTION: f64 = 0.15;

/// A pass is burnt at when its burn is at least this, m/s; below, the next correction takes care of it.
pub(super) const LEAST_PASS_BURN: f64 = 0.1;

/// What one leg took in flight.
#[derive(Debug, Clone, PartialEq)]
pub struct FlownLeg {
    /// When it is corrected: at its own burn where it has one.
    pub at: Epoch,
    /// The burn that meets the aim in the model.
    pub burn: Burn,
    /// What the plan burns there, m/s; 0 where it only corrects.
    pub estimate: f64,
    /// How far off its aim the leg ends after the burn, m (and ms for the time), the largest.
    pub residual: f64,
    /// Reached at the end of the leg, m from the centre.
    pub periapsis_radius: f64,
    /// Excess speed at the end of the leg, m/s.
    pub v_infinity: f64,
    /// Burn at the periapsis of the pass that ends the leg, if there is one.
    pub pass_burn: Option<Burn>,
}

/// A whole tour flown.
#[derive(Debug, Clone, PartialEq)]
pub struct Flight {
    /// In order.
    pub legs: Vec<FlownLeg>,
    /// Into the arrival orbit, as it comes out in flight.
    pub insertion: Option<Burn>,
    /// All burns, m/s.
    pub dv: f64,
    /// What was burnt beyond the plan to meet the aims, m/s.
    pub corrections_dv: f64,
}

/// When a leg is aimed: at its burn, or some way after the pass.
pub(super) fn correction_epoch(leg: &TourLeg) -> Epoch {
    let early = || leg.depart.after(CORRECTION * leg.arrive.seconds_since(leg.depart));
    leg.burn.map_or_else(early, |(epoch, _)| epoch)
}

/// A craft on its way, and the body whose sphere it has just left.
struct Craft {
    now: Orbit,
    leaving: Option<Body>,
}

impl Craft {
    fn coast(&mut self, until: Epoch, watch: &Watch<'_>) -> Result<(), String> {
        while let Some(patch) =
            next_patch(&self.now, until, self.leaving.as_ref(), watch).map_err(|why| why.to_string())?
        {
            self.leaving = patch.leaving();
            self.now = patch.after;
        }
        self.now = self.now.at(until).map_err(|why| why.to_string())?;
        Ok(())
    }

    fn burn(&mut self, burn: &Burn) -> Result<(), String> {
        self.now = burn.flown_on(&self.now).map_err(|why| why.to_string())?;
        Ok(())
    }
}

/// Flies all legs.
pub(super) fn fly(
    departure: &Departure,
    legs: &[TourLeg],
    passes: &[TourPass],
    aims: &[Aim],
    arrival: Option<ArrivalOrbit>,
    watch: &Watch<'_>,
) -> Result<Flight, String> {
    let mut craft = Craft { now: departure.parking.clone(), leaving: None };
    craft.burn(&departure.burn)?;
    let mut flight = Flight { legs: Vec::new(), insertion: None, dv: departure.dv(), corrections_dv: 0.0 };
    for (index, (leg, aim)) in legs.iter().zip(aims).enumerate() {
        let told = |why: String| format!("leg {} to {}: {why}", index + 1, leg.to.name());
        let at = correction_epoch(leg);
        craft.coast(at, watch).map_err(told)?;
        let dv = leg.burn.map(|(_, dv)| dv);
        // Where the plan has no burn, none is the nearest start; from the orbit about the parent only, as planned.
        let start =
            Start { dv: Some(dv.unwrap_or_default()), expected: Some(leg.arrive), leaving: craft.leaving.clone() };
        let shot = shoot::shoot(&craft.now, aim, &start, watch).map_err(|why| told(why.to_string()))?;
        let label = if dv.is_some() { "deep-space burn" } else { "correction" };
        let burn = shot.burn.clone().labelled(label);
        craft.now = craft.now.after_impulse(shot.dv).map_err(|why| told(why.to_string()))?;
        let estimate = dv.map_or(0.0, |dv| dv.norm());
        flight.dv += shot.dv.norm();
        flight.corrections_dv += (shot.dv - dv.unwrap_or_default()).norm();
        let mut flown = FlownLeg {
            at,
            burn,
            estimate,
            residual: shot.residuals.iter().fold(0.0, |most: f64, off| most.max(off.abs())),
            periapsis_radius: shot.flown.periapsis_radius(),
            v_infinity: shot.flown.v_infinity.norm(),
            pass_burn: None,
        };
        craft.coast(leg.arrive, watch).map_err(told)?;
        if craft.now.body() != &leg.to {
            return Err(told(format!("at the time of its pass the craft is about {}", craft.now.body().name())));
        }
        if let Some(pass) = passes.get(index).filter(|pass| pass.burn.abs() >= LEAST_PASS_BURN) {
            let ahead = craft.now.state().velocity.normalize() * pass.burn;
            let burn = planned(&craft.now, ahead, "burn at the pass").map_err(|why| told(why.to_string()))?;
            craft.burn(&burn).map_err(told)?;
            flight.dv += burn.size();
            flown.pass_burn = Some(burn);
        }
        if let (Some(wanted), true) = (arrival, index + 1 == legs.len()) {
            let (burn, _) = capture_burn(&craft.now, wanted).map_err(|why| told(why.to_string()))?;
            flight.dv += burn.size();
            flight.insertion = Some(burn);
        }
        flight.legs.push(flown);
    }
    Ok(flight)
}
