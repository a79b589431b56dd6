//! Which way to bend: of all turns that a moon can give, the one that leaves the best orbit.

use std::f64::consts::{PI, TAU};

use super::incoming::Arrival;
use super::{AssistOptions, AssistRank, Bounds, inclination, reshaping};
use crate::arc::flyby::{Flyby, aim_radius, bend, periapsis_for_turn, turn_angle};
use crate::arc::pass_bounds::clear_of_ring;
use crate::burn::hohmann::apse_speed;
use crate::conic::{Elements, State};
use crate::numerics::{minimise, root, watch::Watch};
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// What brakes beside the moon's pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Means {
    /// Nothing.
    Free,
    /// A burn of this size (m/s) against the motion at the periapsis of the pass.
    AtMoon(f64),
    /// A burn at the giant's periapsis after the pass.
    AtGiant,
}

/// The moon's possible turns of one arrival, at one epoch.
#[derive(Clone)]
pub(super) struct Turns<'a> {
    pub giant: &'a Body,
    pub moon: &'a Body,
    pub epoch: Epoch,
    pub arrival: Arrival,
    pub bounds: Bounds,
    pub options: &'a AssistOptions,
    pub means: Means,
}

/// Turns and sides of the first look.
const TURNS: usize = 20;
const SIDES: usize = 72;

impl Turns<'_> {
    /// The same turns with other means.
    pub(super) fn by(&self, means: Means) -> Self {
        Self { means, ..self.clone() }
    }

    /// Greatest turn, rad: that of the lowest pass.
    pub(super) fn greatest(&self) -> f64 {
        self.turn_at(self.bounds.pass_radius)
    }

    /// Excess speed after a pass with this periapsis radius, m/s: vis viva on both sides of the burn there.
    fn speed_after(&self, radius: f64) -> f64 {
        let speed = self.arrival.excess().norm();
        let Means::AtMoon(burn) = self.means else { return speed };
        let escape = 2.0 * self.moon.gm() / radius;
        let after = (speed * speed + escape).sqrt() - burn;
        (after * after - escape).max(0.0).sqrt()
    }

    /// Turn of a pass with this periapsis radius, rad; a half of each hyperbola.
    fn turn_at(&self, radius: f64) -> f64 {
        let half = |speed: f64| 0.5 * turn_angle(self.moon.gm(), speed, radius).unwrap_or(0.0);
        half(self.arrival.excess().norm()) + half(self.speed_after(radius))
    }

    /// The burn at the lowest pass that the moon itself would capture with, m/s.
    pub(super) fn greatest_burn(&self) -> f64 {
        let (speed, escape) = (self.arrival.excess().norm(), 2.0 * self.moon.gm() / self.bounds.pass_radius);
        (speed * speed + escape).sqrt() - escape.sqrt()
    }

    /// Periapsis radius (m) of a turn.
    fn radius_of(&self, turn: f64) -> Option<f64> {
        if turn >= self.greatest() {
            return Some(self.bounds.pass_radius);
        }
        let plain = periapsis_for_turn(self.moon.gm(), self.arrival.excess().norm(), turn).ok()?;
        let Means::AtMoon(_) = self.means else { return Some(plain) };
        // Slower on the way out turns more: the periapsis lies above the unpowered one, and the turn falls with it.
        let mut high = plain.max(self.bounds.pass_radius);
        for _ in 0..60 {
            if self.turn_at(high) < turn {
                return root::bracketed(|r| self.turn_at(r) - turn, self.bounds.pass_radius, high, 1e-6).ok();
            }
            high *= 2.0;
        }
        None
    }

    /// Unit vector square to the excess velocity, towards a side counted from the one that brakes most.
    fn across(&self, side: f64) -> Vec3 {
        let along = self.arrival.excess().normalize();
        let back = -self.arrival.moon.velocity;
        let first = (back - along * back.dot(&along)).try_normalize(0.0).unwrap_or_else(|| across(&along));
        first * side.cos() + along.cross(&first) * side.sin()
    }

    /// Direction after a turn towards a side.
    fn direction(&self, turn: f64, side: f64) -> Vec3 {
        self.arrival.excess().normalize() * turn.cos() + self.across(side) * turn.sin()
    }

    /// Excess velocity after a turn towards a side.
    fn turned(&self, turn: f64, side: f64) -> Vec3 {
        let speed = match self.means {
            Means::AtMoon(_) => self.radius_of(turn).map_or(0.0, |radius| self.speed_after(radius)),
            _ => self.arrival.excess().norm(),
        };
        self.direction(turn, side) * speed
    }

    /// The orbit about the giant after leaving the moon with an excess velocity along an asymptote `aside` (m) of its centre.
    fn orbit(&self, v_out: &Vec3, aside: &Vec3) -> Option<Orbit> {
        let moon = &self.arrival.moon;
        let state = State { position: moon.position + aside, velocity: moon.velocity + v_out };
        Orbit::new(self.giant.clone(), self.epoch, state).ok()
    }

    /// Whether an orbit keeps the bounds, and what it costs; infinite where it does not.
    pub(super) fn cost(&self, orbit: &Orbit) -> f64 {
        if self.means == Means::AtGiant {
            return self.giant_burn(orbit).map_or(f64::INFINITY, |found| found.0);
        }
        let kept = orbit.energy() < 0.0
            && orbit.apoapsis_radius().is_some_and(|far| far <= self.bounds.greatest_apoapsis)
            && orbit.periapsis_radius() >= self.bounds.least_radius
            && self.clear_of_ring(orbit, (-PI, PI));
        match self.options.rank {
            _ if !kept => f64::INFINITY,
            AssistRank::Energy => orbit.energy(),
            AssistRank::Target { periapsis_radius, apoapsis_radius } => {
                reshaping(orbit, periapsis_radius, apoapsis_radius)
            }
        }
    }

    fn clear_of_ring(&self, orbit: &Orbit, between: (f64, f64)) -> bool {
        clear_of_ring(self.giant, self.epoch, orbit.gm(), orbit.state(), between).is_ok()
    }

    /// The least burn (m/s) at the giant's periapsis that captures from the way in that a pass leaves, and the state before it;
    /// `None` where the way leads out, passes too low or crosses the ring.
    pub(super) fn giant_burn(&self, orbit: &Orbit) -> Option<(f64, State)> {
        let (gm, now) = (orbit.gm(), orbit.state());
        let low = orbit.periapsis_radius();
        if now.position.dot(&now.velocity) >= 0.0 || low < self.bounds.least_radius {
            return None;
        }
        let elements = Elements::from_state(gm, now).ok()?;
        let at = Elements { true_anomaly: 0.0, ..elements }.to_state(gm).ok()?;
        let dv = (at.speed() - apse_speed(gm, low, self.bounds.greatest_apoapsis)).max(0.0);
        let after = State::new(at.position, at.velocity * (1.0 - dv / at.speed()));
        let clear = |state: &State, between| clear_of_ring(self.giant, self.epoch, gm, state, between).is_ok();
        let here = (elements.true_anomaly + PI).rem_euclid(TAU) - PI;
        (clear(now, (here, 0.0)) && clear(&after, (-PI, PI))).then_some((dv, at))
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
        let at_giant = self.means == Means::AtGiant;
        if !at_giant && self.options.inclination.is_none() && self.options.rank == AssistRank::Energy {
            let turn = self.braking();
            let cost = self.cost_of(turn, 0.0);
            if cost.is_finite() {
                return Some((cost, turn, 0.0));
            }
        }
        let least = self.least_energy();
        if !(at_giant || least < 0.0) {
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
        let radius = self.radius_of(turn)?;
        // The craft is bent away from the side that it passes on.
        let mut flyby = bend(gm, &v_in, radius, &-self.across(side)).ok()?;
        if let Means::AtMoon(burn) = self.means {
            let speed = self.speed_after(radius);
            if !(speed > 0.0) {
                return None;
            }
            flyby.turn_angle = self.turn_at(radius);
            flyby.v_out = self.direction(flyby.turn_angle, side) * speed;
            flyby.burn = -burn;
        }
        // The asymptote out stands as far off as its own excess speed asks, square to it in the plane of the pass, on the side
        // of the periapsis.
        let out_speed = flyby.v_out.norm();
        let normal = flyby.aim.cross(&flyby.v_in).normalize();
        let out = (flyby.v_out / out_speed).cross(&normal) * aim_radius(gm, out_speed, radius).ok()?;
        let orbit = self.orbit(&flyby.v_out, &out)?;
        Some((flyby, orbit))
    }
}

/// Any unit vector across another.
fn across(along: &Vec3) -> Vec3 {
    along.cross(&Vec3::z()).try_normalize(1e-6).unwrap_or_else(Vec3::x)
}
