//! What a flight is watched for: quantities that pass a figure.

use super::super::event::{Crossing, Events, Watched};
use super::field::Forces;
use super::triple::{cross, dot, length};
use crate::numerics::lanes::Lane;

/// A quantity of the motion and the figure that it is to pass. SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Quantity {
    /// Height above the ground's ellipsoid, m.
    Height(f64),
    /// Distance from the centre, m.
    Radius(f64),
    /// kg.
    Mass(f64),
    /// Outward, m/s: zero at the apsides.
    RadialSpeed(f64),
    /// Of the conic: v²/2 − μ/r, J/kg.
    Energy(f64),
    /// Inertial, m/s.
    Speed(f64),
    /// Through the air, m/s.
    AirSpeed(f64),
    /// ρ v²/2, Pa.
    DynamicPressure(f64),
    /// On a flat plate in free molecular flow, ρ v³/2, W/m².
    HeatFlux(f64),
    /// Acceleration by all but gravity, m/s².
    Felt(f64),
    /// Share of the thrust in vacuum that the throttle's law asks for.
    Share(f64),
    /// Of the conic about the centre, m, above its periapsis: rises through its figure where the orbit comes to reach so far.
    ApoapsisRadius(f64),
    /// Of the conic about the centre, m, below its apoapsis: rises through its figure where the orbit comes to stay above it.
    PeriapsisRadius(f64),
}

/// A quantity that is watched for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop {
    /// What passes which figure.
    pub quantity: Quantity,
    /// Which way.
    pub crossing: Crossing,
    /// Whether the flight ends there; else it is noted.
    pub ends: bool,
}

impl Stop {
    /// The flight ends where a quantity passes its figure.
    pub fn ending(quantity: Quantity, crossing: Crossing) -> Self {
        Self { quantity, crossing, ends: true }
    }

    /// The passage is noted.
    pub fn noted(quantity: Quantity, crossing: Crossing) -> Self {
        Self { quantity, crossing, ends: false }
    }
}

/// Most stops of one flight.
pub const MOST_STOPS: usize = 6;

/// The stops of a flight within one piece of the air, and the edges of that piece.
pub(in crate::motion) struct Stops<'a> {
    pub forces: Forces<'a>,
    pub watched: [Option<Stop>; MOST_STOPS],
    /// Lower and upper edge, m; infinite where there is none.
    pub edges: (f64, f64),
}

impl Quantity {
    /// Whether it needs to be seen among the forces, or follows from place, velocity and mass.
    fn is_seen(&self) -> bool {
        matches!(
            self,
            Quantity::AirSpeed(_)
                | Quantity::DynamicPressure(_)
                | Quantity::HeatFlux(_)
                | Quantity::Felt(_)
                | Quantity::Share(_)
        )
    }
}

/// What quantities are made of, each found once for all of them.
#[derive(Clone, Copy)]
struct Parts<L> {
    height: L,
    radius: L,
    mass: L,
    /// Place times velocity.
    outward: L,
    /// Square of the velocity.
    square: L,
    /// Of the conic, J/kg.
    energy: L,
    /// Square of the angular momentum by mass.
    momentum: L,
    gm: f64,
    air_speed: L,
    density: L,
    felt: L,
    share: L,
}

impl<L: Lane> Parts<L> {
    /// By how much a quantity is above its figure.
    #[inline(always)]
    fn excess(&self, quantity: &Quantity) -> L {
        // The radial part of the energy that is left at a distance r, ε + μ/r − h²/(2 r²): below zero where the orbit does not reach so far.
        match *quantity {
            Quantity::Height(h) => self.height - h,
            Quantity::Radius(r) => self.radius - r,
            Quantity::Mass(m) => self.mass - m,
            Quantity::RadialSpeed(v) => self.outward / self.radius - v,
            Quantity::Energy(e) => self.energy - e,
            Quantity::Speed(v) => self.square.sqrt() - v,
            Quantity::AirSpeed(v) => self.air_speed - v,
            Quantity::DynamicPressure(q) => self.density * self.air_speed * self.air_speed * 0.5 - q,
            Quantity::HeatFlux(q) => self.density * self.air_speed * self.air_speed * self.air_speed * 0.5 - q,
            Quantity::Felt(a) => self.felt - a,
            Quantity::Share(s) => self.share - s,
            Quantity::ApoapsisRadius(r) => self.energy - (self.momentum * (0.5 / (r * r)) - self.gm / r),
            Quantity::PeriapsisRadius(r) => self.momentum * (0.5 / (r * r)) - self.gm / r - self.energy,
        }
    }
}

impl Forces<'_> {
    /// What quantities are made of; what only a look among the forces tells is zero without it.
    #[inline(always)]
    fn parts<L: Lane>(&self, looks: bool, time: L, position: &[L; 4], motion: &[L; 4]) -> Parts<L> {
        let place = [position[0], position[1], position[2]];
        let velocity = [motion[0], motion[1], motion[2]];
        let gm = self.around.gravity.gm();
        let (radius, square) = (length(&place), dot(&velocity, &velocity));
        let momentum = cross(&place, &velocity);
        let zero = L::splat(0.0);
        let mut parts = Parts {
            height: self.around.ground.above(&place).0,
            radius,
            mass: motion[3],
            outward: dot(&place, &velocity),
            square,
            energy: square * 0.5 - L::splat(gm) / radius,
            momentum: dot(&momentum, &momentum),
            gm,
            air_speed: zero,
            density: zero,
            felt: zero,
            share: zero,
        };
        if looks {
            let seen = self.look(time, position, motion);
            parts.air_speed = seen.air_speed;
            parts.density = seen.density;
            parts.share = seen.share;
            parts.felt =
                length(&[seen.air[0] + seen.thrust[0], seen.air[1] + seen.thrust[1], seen.air[2] + seen.thrust[2]]);
        }
        parts
    }
}

impl Events<4, 8> for Stops<'_> {
    fn watched(&self) -> [Watched; 8] {
        let mut watched = [Watched::noted(Crossing::Rising); 8];
        for (index, stop) in self.watched.iter().enumerate() {
            if let Some(stop) = stop {
                watched[index] = Watched { crossing: stop.crossing, ends: stop.ends };
            }
        }
        watched[6] = Watched::ending(Crossing::Falling);
        watched[7] = Watched::ending(Crossing::Rising);
        watched
    }

    #[inline(always)]
    fn values<L: Lane>(&self, time: L, position: &[L; 4], velocity: &[L; 4]) -> [L; 8] {
        let mut looks = false;
        for stop in self.watched.iter().flatten() {
            looks |= stop.quantity.is_seen();
        }
        let parts = self.forces.parts(looks, time, position, velocity);
        // A quantity that is not watched never passes zero.
        let mut values = [L::splat(1.0); 8];
        for (value, stop) in values.iter_mut().zip(&self.watched) {
            if let Some(stop) = stop {
                *value = parts.excess(&stop.quantity);
            }
        }
        values[6] = parts.height - self.edges.0.max(-1e300);
        values[7] = parts.height - self.edges.1.min(1e300);
        values
    }
}
