//! All forces together, as an equation of motion.

use super::super::field::{Field, Point};
use super::triple::{Triple, along, cross, dot, length, scaled, splat, unit};
use super::{Craft, Surroundings, Throttle};
use crate::numerics::lanes::{Lane, exponential};
use crate::system::Layer;
use crate::vector::Vec3;

/// A craft among its surroundings, within one smooth piece of the air or in none: place and velocity, and the mass (kg) in the velocity of a fourth component.
#[derive(Clone, Copy, Debug)]
pub struct Forces<'a> {
    /// What it moves among.
    pub around: &'a Surroundings,
    /// What it does.
    pub craft: &'a Craft,
    /// The piece of the air; none in vacuum.
    pub layer: Option<&'a Layer>,
}

/// Everything there is to see at a moment of a flight, in SI.
#[derive(Clone, Copy)]
pub(in crate::motion) struct Seen<L> {
    /// Above the ellipsoid.
    pub height: L,
    pub density: L,
    /// Velocity through the air.
    pub relative: Triple<L>,
    pub air_speed: L,
    pub gravity: Triple<L>,
    /// Acceleration by the air.
    pub air: Triple<L>,
    /// Acceleration by thrust.
    pub thrust: Triple<L>,
    /// Acceleration that the thrust would be in vacuum.
    pub ideal: L,
    /// Share of the thrust in vacuum.
    pub share: L,
    /// Mass flow, kg/s.
    pub flow: L,
}

/// What a track shows of a moment of a flight, SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sight {
    /// Above the ground's ellipsoid, m.
    pub height: f64,
    /// kg/m³.
    pub density: f64,
    /// Velocity through the air, m/s.
    pub air_velocity: Vec3,
    /// ρ v²/2, Pa.
    pub dynamic_pressure: f64,
    /// Acceleration by the air, m/s².
    pub air: Vec3,
    /// Acceleration by thrust, m/s².
    pub thrust: Vec3,
    /// Share of the thrust in vacuum.
    pub share: f64,
    /// kg/s.
    pub mass_flow: f64,
}

impl<'a> Forces<'a> {
    /// What there is to see at one moment.
    pub fn sight(&self, point: &Point<4>) -> Sight {
        let seen = self.look::<f64>(point.time, &point.position, &point.velocity);
        Sight {
            height: seen.height,
            density: seen.density,
            air_velocity: seen.relative.into(),
            dynamic_pressure: 0.5 * seen.density * seen.air_speed * seen.air_speed,
            air: seen.air.into(),
            thrust: seen.thrust.into(),
            share: seen.share,
            mass_flow: seen.flow,
        }
    }

    /// Among surroundings, at a height that tells the piece of the air.
    pub fn at_height(around: &'a Surroundings, craft: &'a Craft, height: f64) -> Self {
        Self { around, craft, layer: around.layer_at(height).map(|index| &around.layers()[index]) }
    }

    /// What there is to see.
    #[inline(always)]
    pub(in crate::motion) fn look<L: Lane>(&self, time: L, place: &[L; 4], motion: &[L; 4]) -> Seen<L> {
        let zero = L::splat(0.0);
        let (mass, velocity) = (motion[3], [motion[0], motion[1], motion[2]]);
        let place = [place[0], place[1], place[2]];
        let gravity = self.around.gravity.at(&place);
        let turning = splat(&self.around.turning.into());
        let relative = {
            let carried = cross(&turning, &place);
            [velocity[0] - carried[0], velocity[1] - carried[1], velocity[2] - carried[2]]
        };
        let air_speed = length(&relative);
        let (height, up) = self.around.ground.above(&place);
        let (mut density, mut pressure, mut slope) = (zero, zero, zero);
        if let Some(layer) = self.layer {
            density = exponential(layer.logarithm(height));
            pressure = exponential(layer.pressure_logarithm(height));
            slope = layer.logarithm_slope(height);
        }
        let mut air = [zero; 3];
        if let (Some(drag), true) = (&self.craft.drag, self.layer.is_some()) {
            // Deceleration over speed: ρ v C A/(2 m).
            let share = density * air_speed * (0.5 * drag.area) / mass;
            air = scaled(&relative, -share);
            if drag.lift != 0.0 {
                let ahead = unit(&relative);
                let upward = unit(&along(&up, &ahead, -dot(&up, &ahead)));
                let right = cross(&ahead, &upward);
                let (sine, cosine) = drag.bank.sin_cos();
                let lift = along(&scaled(&upward, L::splat(cosine)), &right, L::splat(sine));
                air = along(&air, &lift, share * air_speed * drag.lift);
            }
        }
        let mut seen = Seen {
            height,
            density,
            relative,
            air_speed,
            gravity,
            air,
            thrust: [zero; 3],
            ideal: zero,
            share: zero,
            flow: zero,
        };
        if let Some(thrust) = &self.craft.thrust {
            let direction = thrust.attitude.direction(time, &place, &velocity, &up, &relative);
            let lost = pressure * thrust.exit_area;
            let share = match thrust.throttle {
                Throttle::Share(share) => L::splat(share),
                Throttle::Acceleration(held) => (mass * held + lost) * (1.0 / thrust.vacuum),
                Throttle::DynamicPressure => {
                    // d(ρ v²)/dt = 0: v·v' = −(ln ρ)' h' v²/2, of which gravity, air and the turning of the air give their parts.
                    let climb = dot(&relative, &up);
                    let carried = cross(&turning, &velocity);
                    let given = [
                        gravity[0] + air[0] - carried[0],
                        gravity[1] + air[1] - carried[1],
                        gravity[2] + air[2] - carried[2],
                    ];
                    let wanted = -(slope * climb * air_speed * air_speed * 0.5 + dot(&relative, &given));
                    let ahead = dot(&relative, &direction);
                    let least = air_speed * 1e-3;
                    let force = L::select(ahead.more(least), wanted / ahead.max(least), zero) * mass;
                    (force + lost) * (1.0 / thrust.vacuum)
                }
            };
            let ideal = share * thrust.vacuum;
            seen.share = share;
            seen.flow = ideal * (1.0 / thrust.exhaust_speed);
            seen.ideal = ideal / mass;
            seen.thrust = scaled(&direction, (ideal - lost) / mass);
        }
        seen
    }
}

impl Field<4> for Forces<'_> {
    type Prepared<L: Lane> = ();
    const LEADING: usize = 3;

    #[inline(always)]
    fn prepare<L: Lane>(&self, _time: L) -> Self::Prepared<L> {}

    #[inline(always)]
    fn acceleration<L: Lane>(&self, _prepared: &(), time: L, position: &[L; 4], velocity: &[L; 4]) -> [L; 4] {
        let seen = self.look(time, position, velocity);
        [
            seen.gravity[0] + seen.air[0] + seen.thrust[0],
            seen.gravity[1] + seen.air[1] + seen.thrust[1],
            seen.gravity[2] + seen.air[2] + seen.thrust[2],
            -seen.flow,
        ]
    }
}
