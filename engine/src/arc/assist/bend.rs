//! Which way to bend: of all turns that a moon can give, the one that leaves the best orbit.

use std::f64::consts::TAU;

use super::incoming::Arrival;
use super::{AssistOptions, AssistRank, Bounds, inclination, reshaping};
use crate::arc::flyby::{Flyby, bend, turn_angle};
use crate::conic::State;
use crate::numerics::{minimise, root, watch::Watch};
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// The moon's possible turns of one arrival, at one epoch.
pub(super) struct Turns<'a> {
    pub giant: &'a Body,
    pub moon: &'a Body,
    pub epoch: Epoch,
    pub arrival: Arrival,
    pub bounds: Bounds,
    pub options: &'a AssistOptions,
}

/// Turns and sides of the first look.
const TURNS: usize = 20;
const SIDES: usize = 72;

impl Turns<'_> {
    /// Greatest turn, rad.
    pub(super) fn greatest(&self) -> f64 {
        turn_angle(self.moon.gm(), self.arrival.excess().norm(), self.bounds.pass_radius).unwrap_or(0.0)
    }

    /// Excess velocity after a turn towards a side counted from the one that brakes most.
    fn turned(&self, turn: f64, side: f64) -> Vec3 {
        let v = self.arrival.excess();
        let along = v.normalize();
        let back = -self.arrival.moon.velocity;
        let first = (back - along * back.dot(&along)).try_normalize(0.0).unwrap_or_else(|| across(&along));
        let second = along.cross(&first);
        (along * turn.cos() + (first * side.cos() + second * side.sin()) * turn.sin()) * v.norm()
    }

    /// The orbit about the giant after leaving the moon with an excess velocity along an asymptote `aside` (m) of its centre.
    fn orbit(&self, v_out: &Vec3, aside: &Vec3) -> Option<Orbit> {
        let moon = &self.arrival.moon;
        let state = State { position: moon.position + aside, velocity: moon.velocity + v_out };
        Orbit::new(self.giant.clone(), self.epoch, state).ok()
    }

    /// Whether an orbit keeps the bounds, and what it costs; infinite where it does not.
    pub(super) fn cost(&self, orbit: &Orbit) -> f64 {
        let kept = orbit.energy() < 0.0
            && orbit.apoapsis_radius().is_some_and(|far| far <= self.bounds.greatest_apoapsis)
            && orbit.periapsis_radius() >= self.bounds.least_radius;
        match self.options.rank {
            _ if !kept => f64::INFINITY,
            AssistRank::Energy => orbit.energy(),
            AssistRank::Target { periapsis_radius, apoapsis_radius } => {
                reshaping(orbit, periapsis_radius, apoapsis_radius)
            }
        }
    }

    fn cost_of(&self, turn: f64, side: f64) -> f64 {
        self.pass(turn, side).map_or(f64::INFINITY, |(_, orbit)| self.cost(&orbit))
    }

    /// The turn that brakes most: straight against the moon's motion, as far as it goes.
    pub(super) fn braking(&self) -> f64 {
        self.arrival.excess().angle(&-self.arrival.moon.velocity).min(self.greatest())
    }

    /// Excess velocity after braking most, m/s.
    pub(super) fn braked(&self) -> Vec3 {
        self.turned(self.braking(), 0.0)
    }

    /// The least energy that any pass leaves, m²/s², bounds of the orbit aside.
    pub(super) fn least_energy(&self) -> f64 {
        self.orbit(&self.braked(), &Vec3::zeros()).map_or(f64::INFINITY, |orbit| orbit.energy())
    }

    /// The best turn and side, with the cost; `None` where none keeps the bounds.
    pub(super) fn best(&self, fine: bool, watch: &Watch<'_>) -> Option<(f64, f64, f64)> {
        if self.options.inclination.is_none() && self.options.rank == AssistRank::Energy {
            let turn = self.braking();
            let cost = self.cost_of(turn, 0.0);
            if cost.is_finite() {
                return Some((cost, turn, 0.0));
            }
        }
        let least = self.least_energy();
        if !(least < 0.0) {
            return None;
        }
        let greatest = self.greatest();
        let at = |turn: f64| match self.options.inclination {
            Some(wanted) => self.on_plane(turn, wanted),
            None => (0..SIDES)
                .map(|k| TAU * k as f64 / SIDES as f64)
                .map(|side| (self.cost_of(turn, side), side))
                .min_by(|a, b| a.0.total_cmp(&b.0))
                .filter(|found| found.0.is_finite()),
        };
        let step = greatest / TURNS as f64;
        let first = (1..=TURNS)
            .filter_map(|k| at(step * k as f64).map(|(cost, side)| (cost, step * k as f64, side)))
            .min_by(|a, b| a.0.total_cmp(&b.0))?;
        if !fine {
            return Some(first);
        }
        let options = minimise::Options { tolerance: 1e-9, ..minimise::Options::default() };
        let bounds = (1e-3 * step, greatest);
        let polished = if self.options.inclination.is_some() {
            let cost = |x: &[f64]| Ok::<f64, ()>(at(x[0]).map_or(f64::INFINITY, |(cost, _)| cost));
            let near = ((first.1 - step).max(bounds.0), (first.1 + step).min(greatest));
            let found = minimise::search(&[first.1], &[step], &[near], cost, &options, watch).ok()?;
            at(found.x[0]).map(|(cost, side)| (cost, found.x[0], side))
        } else {
            let cost = |x: &[f64]| Ok::<f64, ()>(self.cost_of(x[0], x[1]));
            let free = (f64::NEG_INFINITY, f64::INFINITY);
            let start = [first.1, first.2];
            let found =
                minimise::search(&start, &[step, TAU / SIDES as f64], &[bounds, free], cost, &options, watch).ok()?;
            Some((found.cost, found.x[0], found.x[1]))
        };
        polished.filter(|found| found.0 <= first.0).or(Some(first))
    }

    /// The best side at a turn that leaves a wanted inclination: cost and side.
    fn on_plane(&self, turn: f64, wanted: f64) -> Option<(f64, f64)> {
        let off = |side: f64| self.pass(turn, side).map_or(f64::NAN, |(_, orbit)| inclination(&orbit) - wanted);
        let mut best: Option<(f64, f64)> = None;
        let step = TAU / SIDES as f64;
        for k in 0..SIDES {
            let (low, high) = (step * k as f64, step * (k + 1) as f64);
            if off(low).signum() != off(high).signum()
                && let Ok(side) = root::bracketed(off, low, high, 1e-12)
            {
                let cost = self.cost_of(turn, side);
                if cost.is_finite() && best.is_none_or(|(least, _)| cost < least) {
                    best = Some((cost, side));
                }
            }
        }
        best
    }

    /// Least and greatest inclination (rad) of the orbits that keep the bounds.
    pub(super) fn inclinations(&self) -> Option<(f64, f64)> {
        let mut range: Option<(f64, f64)> = None;
        for (turn, side) in (1..=TURNS).flat_map(|t| (0..SIDES).map(move |s| (t, s))) {
            let turn = self.greatest() * turn as f64 / TURNS as f64;
            let v_out = self.turned(turn, TAU * side as f64 / SIDES as f64);
            if let Some(orbit) = self.orbit(&v_out, &Vec3::zeros()).filter(|orbit| self.cost(orbit).is_finite()) {
                let angle = inclination(&orbit);
                range = Some(range.map_or((angle, angle), |(low, high)| (low.min(angle), high.max(angle))));
            }
        }
        range
    }

    /// The pass that turns towards a side, and the orbit it leaves.
    pub(super) fn pass(&self, turn: f64, side: f64) -> Option<(Flyby, Orbit)> {
        let v_in = self.arrival.excess();
        let gm = self.moon.gm();
        let radius = if turn >= self.greatest() {
            self.bounds.pass_radius
        } else {
            crate::arc::flyby::periapsis_for_turn(gm, v_in.norm(), turn).ok()?
        };
        // The craft is bent away from the side that it passes on.
        let towards = self.turned(0.5 * std::f64::consts::PI, side);
        let flyby = bend(gm, &v_in, radius, &-towards).ok()?;
        // A hyperbola is its own mirror image about the line through its periapsis.
        let periapsis = (flyby.v_in - flyby.v_out).normalize();
        let out = periapsis * (2.0 * flyby.aim.dot(&periapsis)) - flyby.aim;
        let orbit = self.orbit(&flyby.v_out, &out)?;
        Some((flyby, orbit))
    }
}

/// Any unit vector across another.
fn across(along: &Vec3) -> Vec3 {
    along.cross(&Vec3::z()).try_normalize(1e-6).unwrap_or_else(Vec3::x)
}
