//! The smallest engine that suffices for a burn: a lighter engine against the loss of a longer burn.

use super::error::{FiniteError, positive};
use super::passes::split;
use super::solve::{Impulse, Law};
use super::supply::{Phase, Supply};
use crate::motion::force::Surroundings;
use crate::numerics::minimum;
use crate::numerics::watch::Watch;

/// What a stage is made of, but for its engine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Carried {
    /// All that the burn carries besides engine, tanks and propellant, kg.
    pub payload: f64,
    /// Mass of tanks over tanks and propellant, 0 up to 1.
    pub tanks: f64,
}

/// An engine to choose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Choice {
    /// In vacuum, N.
    pub thrust: f64,
    /// Effective exhaust speed in vacuum, m/s.
    pub exhaust_speed: f64,
    /// kg.
    pub mass: f64,
}

/// A stage with an engine, sized for a burn with its loss.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fitted {
    /// The engine.
    pub engine: Choice,
    /// Change of speed spent, m/s.
    pub dv: f64,
    /// Above the impulse, m/s.
    pub loss: f64,
    /// Time of burning, s.
    pub burning: f64,
    /// kg.
    pub propellant: f64,
    /// Of all at ignition, kg.
    pub initial_mass: f64,
}

/// How the burn is flown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flying {
    /// Where the thrust points.
    pub law: Law,
    /// Over how many passes.
    pub passes: usize,
}

/// The stage that an engine needs for a burn: its mass and its loss depend on each other and are found together.
///
/// # Errors
/// Figures outside their range; a change of speed that no mass gives with these tanks; those of [`split`].
///
/// # Source
/// The rocket equation, [SuttonBiblarz2017], equation 4-6, with the Δv as flown.
pub fn fitted(
    around: &Surroundings,
    impulse: &Impulse,
    flying: Flying,
    carried: Carried,
    engine: Choice,
    watch: &Watch<'_>,
) -> Result<Fitted, FiniteError> {
    positive("the payload, kg,", carried.payload)?;
    positive("the thrust, N,", engine.thrust)?;
    positive("the exhaust speed, m/s,", engine.exhaust_speed)?;
    positive("the mass of the engine, kg,", engine.mass)?;
    positive("one less the share of the tanks", 1.0 - carried.tanks)?;
    let per_propellant = carried.tanks.max(0.0) / (1.0 - carried.tanks);
    let mut dv = impulse.size();
    let mut fit = None;
    // The loss answers a change of the mass by some hundredths of it, so that each round gains two digits.
    for _ in 0..20 {
        let growth = (dv / engine.exhaust_speed).exp_m1();
        let room = positive("what the tanks leave for all else", 1.0 - per_propellant * growth)?;
        let last = (carried.payload + engine.mass) / room;
        let (propellant, initial_mass) = (growth * last, last * (1.0 + growth));
        let phase = Phase {
            thrust: engine.thrust,
            exit_area: 0.0,
            exhaust_speed: engine.exhaust_speed,
            mass: initial_mass,
            // More than it holds, so that a first guess of the loss does not end the search.
            propellant: 0.99 * initial_mass,
        };
        let flown = split(around, impulse, &Supply::new(vec![phase])?, flying.law, flying.passes, 0.0, watch)?;
        let change = flown.dv() - dv;
        dv = flown.dv();
        fit = Some(Fitted { engine, dv, loss: flown.loss(), burning: flown.burning(), propellant, initial_mass });
        if change.abs() < 1e-4 {
            break;
        }
    }
    fit.ok_or(FiniteError::NothingToBurn)
}

/// The thrust between two (N) at which a stage is lightest, for engines of one exhaust speed (m/s) whose mass grows with their thrust (kg/N).
///
/// # Errors
/// Figures outside their range; no thrust between the two that flies the burn.
pub fn lightest_engine(
    around: &Surroundings,
    impulse: &Impulse,
    flying: Flying,
    carried: Carried,
    (exhaust_speed, mass_per_thrust): (f64, f64),
    (least, most): (f64, f64),
    watch: &Watch<'_>,
) -> Result<Fitted, FiniteError> {
    positive("the least thrust, N,", least)?;
    positive("the greatest thrust above the least, N,", most - least)?;
    positive("the mass of the engine for each newton, kg,", mass_per_thrust)?;
    let at = |logarithm: f64| {
        let thrust = logarithm.exp();
        let engine = Choice { thrust, exhaust_speed, mass: thrust * mass_per_thrust };
        fitted(around, impulse, flying, carried, engine, watch)
    };
    // A burn too long to match is as bad as can be; the mass is flat to its square about the best thrust.
    let cost = |logarithm: f64| at(logarithm).map_or(f64::INFINITY, |fit| fit.initial_mass);
    let (best, _) = minimum::bracketed(cost, least.ln(), most.ln(), 1e-3);
    at(best)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conic::State;
    use crate::vector::Vec3;

    #[test]
    fn the_lightest_engine_is_lighter_than_its_neighbours() {
        let (gm, radius) = (3.986_004_418e14_f64, 6_678_137.0);
        let before = State::new([radius, 0.0, 0.0].into(), [0.0, (gm / radius).sqrt(), 0.0].into());
        let impulse = Impulse { before, dv: Vec3::new(0.0, 3600.0, 0.0) };
        let (around, watch) = (Surroundings::point(gm), Watch::none());
        let flying = Flying { law: Law::Along, passes: 1 };
        let carried = Carried { payload: 5000.0, tanks: 0.08 };
        // Sixty times its own weight, at an impulse of 450 s.
        let kind = (450.0 * 9.80665, 1.0 / (60.0 * 9.80665));
        let best = lightest_engine(&around, &impulse, flying, carried, kind, (5e3, 1e6), &watch).unwrap();
        for factor in [0.8, 1.25] {
            let thrust = best.engine.thrust * factor;
            let other = Choice { thrust, exhaust_speed: kind.0, mass: thrust * kind.1 };
            let other = fitted(&around, &impulse, flying, carried, other, &watch).unwrap();
            assert!(other.initial_mass > best.initial_mass, "{other:?} {best:?}");
        }
        // The masses close: what is left after the Δv is payload, engine and tanks.
        let left = best.initial_mass * (-best.dv / kind.0).exp();
        let parts = carried.payload + best.engine.mass + best.propellant * 0.08 / 0.92;
        // The last change of the Δv was below 1e-4 m/s of 4413.
        assert!((left / parts - 1.0).abs() < 1e-7);
        assert!(fitted(&around, &impulse, flying, Carried { tanks: 0.6, ..carried }, best.engine, &watch).is_err());
    }
}
