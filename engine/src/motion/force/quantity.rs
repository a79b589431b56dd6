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

impl Forces<'_> {
    /// By how much a quantity is above its figure.
    #[inline(always)]
    pub(in crate::motion) fn excess<L: Lane>(
        &self,
        quantity: &Quantity,
        time: L,
        position: &[L; 4],
        motion: &[L; 4],
    ) -> L {
        let place = [position[0], position[1], position[2]];
        let velocity = [motion[0], motion[1], motion[2]];
        let gm = self.around.gravity.gm();
        match *quantity {
            Quantity::Height(h) => self.around.ground.above(&place).0 - h,
            Quantity::Radius(r) => length(&place) - r,
            Quantity::Mass(m) => motion[3] - m,
            Quantity::RadialSpeed(v) => dot(&place, &velocity) / length(&place) - v,
            Quantity::Energy(e) => dot(&velocity, &velocity) * 0.5 - L::splat(gm) / length(&place) - e,
            Quantity::Speed(v) => length(&velocity) - v,
            Quantity::AirSpeed(v) => self.look(time, position, motion).air_speed - v,
            Quantity::DynamicPressure(q) => {
                let seen = self.look(time, position, motion);
                seen.density * seen.air_speed * seen.air_speed * 0.5 - q
            }
            Quantity::HeatFlux(q) => {
                let seen = self.look(time, position, motion);
                seen.density * seen.air_speed * seen.air_speed * seen.air_speed * 0.5 - q
            }
            Quantity::Felt(a) => {
                let seen = self.look(time, position, motion);
                let felt = [seen.air[0] + seen.thrust[0], seen.air[1] + seen.thrust[1], seen.air[2] + seen.thrust[2]];
                length(&felt) - a
            }
            Quantity::Share(s) => self.look(time, position, motion).share - s,
            Quantity::ApoapsisRadius(r) => {
                // The radial part of the energy that is left at r, ε + μ/r − h²/(2 r²): below zero where the orbit does not reach so far.
                let momentum = cross(&place, &velocity);
                let square = dot(&momentum, &momentum);
                let energy = dot(&velocity, &velocity) * 0.5 - L::splat(gm) / length(&place);
                let apsis = square * (0.5 / (r * r)) - gm / r;
                energy - apsis
            }
            Quantity::PeriapsisRadius(r) => {
                // The same with its sign turned: above zero where the orbit does not come down to r.
                let momentum = cross(&place, &velocity);
                let square = dot(&momentum, &momentum);
                let energy = dot(&velocity, &velocity) * 0.5 - L::splat(gm) / length(&place);
                square * (0.5 / (r * r)) - gm / r - energy
            }
        }
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
        // A quantity that is not watched never passes zero.
        let mut values = [L::splat(1.0); 8];
        for (value, stop) in values.iter_mut().zip(&self.watched) {
            if let Some(stop) = stop {
                *value = self.forces.excess(&stop.quantity, time, position, velocity);
            }
        }
        if self.edges.0.is_finite() || self.edges.1.is_finite() {
            let height = self.forces.around.ground.above(&[position[0], position[1], position[2]]).0;
            values[6] = height - self.edges.0.max(-1e300);
            values[7] = height - self.edges.1.min(1e300);
        }
        values
    }
}
