//! Where the speed of a flight came from and went to.

use super::Flown;
use crate::motion::field::Point;
use crate::motion::force::{Forces, Surroundings};
use crate::motion::gauss::{NODES, WEIGHTS};
use crate::motion::trajectory::Piece;
use crate::numerics::minimum;
use crate::vector::Vec3;

/// The greatest value of a quantity, and when.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Peak {
    /// SI.
    pub value: f64,
    /// s, on the scale of the flight.
    pub time: f64,
}

/// What a flight gained and lost, m/s but where told otherwise.
///
/// d|v|/dt along the inertial velocity: ideal − pressure − steering − drag − gravity is the inertial speed gained, exactly. A rise from the ground counts as
/// steering as long as the ground's own motion is most of the velocity. [Humble1995], section 2.4, names the losses.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Accounts {
    /// What the thrust in vacuum would give, all along the velocity.
    pub ideal: f64,
    /// Lost to the pressure of the air on the nozzles.
    pub pressure: f64,
    /// Lost to thrust that is not along the velocity.
    pub steering: f64,
    /// Lost to the air.
    pub drag: f64,
    /// Lost to gravity; below zero on the way down.
    pub gravity: f64,
    /// Inertial speed at the start.
    pub start_speed: f64,
    /// Inertial speed at the end.
    pub end_speed: f64,
    /// Work of thrust and air by mass, J/kg.
    pub work: f64,
    /// Propellant burned, kg.
    pub propellant: f64,
    /// ρ v²/2, Pa.
    pub dynamic_pressure: Peak,
    /// Acceleration by all but gravity, m/s².
    pub felt: Peak,
    /// On a flat plate in free molecular flow, ρ v³/2, W/m².
    pub heat_flux: Peak,
}

/// Most halvings of a step where the speed passes through zero: what is left then has 1e-9 of the step's change of velocity.
const MOST_HALVINGS: usize = 30;

impl Accounts {
    /// Speed gained, by the difference of its ends.
    pub fn gained(&self) -> f64 {
        self.end_speed - self.start_speed
    }

    /// Of a flight.
    pub(super) fn of(flown: &Flown, around: &Surroundings) -> Self {
        let speed = |point: &Point<4>| Vec3::new(point.velocity[0], point.velocity[1], point.velocity[2]).norm();
        let start = flown.start();
        let mut accounts = Accounts {
            start_speed: speed(&start),
            end_speed: speed(&flown.end),
            propellant: start.velocity[3] - flown.end.velocity[3],
            ..Accounts::default()
        };
        let mut peaks = [Highest::default(); 3];
        for stretch in &flown.stretches {
            let layer = stretch.layer.map(|index| &around.layers()[index]);
            let forces = Forces { around, craft: &stretch.craft, layer };
            for piece in stretch.trajectory.pieces() {
                accounts.add(&forces, piece);
                for share in [0.0].iter().chain(&NODES).chain(&[1.0]) {
                    let values = strains(&forces, piece, piece.start.time + share * piece.span);
                    for (peak, value) in peaks.iter_mut().zip(values) {
                        peak.see(value, piece.start.time + share * piece.span, forces, piece);
                    }
                }
            }
        }
        let mut refined = peaks.iter().enumerate().map(|(which, peak)| peak.refined(which));
        accounts.dynamic_pressure = refined.next().unwrap_or_default();
        accounts.felt = refined.next().unwrap_or_default();
        accounts.heat_flux = refined.next().unwrap_or_default();
        accounts
    }

    /// Adds one step, in parts on which the velocity changes by at most half of the speed.
    ///
    /// The direction of motion is not smooth where the speed is zero: v/|v| has a branch point in the complex plane, no nearer in time
    /// than the speed over the acceleration. On a part that is half as long, Gauss' quadrature with 8 nodes converges with the ellipse
    /// through a point 4 half-lengths off its middle, as (4 + √17)⁻¹⁶ = 3e-15. [Trefethen2008].
    fn add(&mut self, forces: &Forces<'_>, piece: &Piece<4>) {
        let velocity = |time: f64| {
            let v = piece.at(time).velocity;
            Vec3::new(v[0], v[1], v[2])
        };
        let mut waiting = vec![(piece.start.time, piece.span, 0)];
        while let Some((from, span, halvings)) = waiting.pop() {
            let half = 0.5 * span;
            let (first, middle, last) = (velocity(from), velocity(from + half), velocity(from + span));
            let change = (middle - first).norm() + (last - middle).norm();
            let least = first.norm().min(middle.norm()).min(last.norm());
            if change <= 0.5 * least || halvings == MOST_HALVINGS {
                self.add_part(forces, piece, from, span);
            } else {
                waiting.push((from + half, half, halvings + 1));
                waiting.push((from, half, halvings + 1));
            }
        }
    }

    /// Adds a part of a step: the quadrature of collocation itself, whose error is of order 16. [HairerLubichWanner2006], II.1.
    fn add_part(&mut self, forces: &Forces<'_>, piece: &Piece<4>, from: f64, span: f64) {
        for (node, weight) in NODES.iter().zip(&WEIGHTS) {
            let point = piece.at(from + node * span);
            let seen = forces.look::<f64>(point.time, &point.position, &point.velocity);
            let velocity = Vec3::new(point.velocity[0], point.velocity[1], point.velocity[2]);
            let speed = velocity.norm();
            let ahead = if speed > 0.0 { velocity / speed } else { Vec3::zeros() };
            let (thrust, air) = (Vec3::from(seen.thrust), Vec3::from(seen.air));
            let share = weight * span;
            let force = thrust.norm();
            self.ideal += share * seen.ideal;
            self.pressure += share * (seen.ideal - force);
            self.steering += share * (force - thrust.dot(&ahead));
            self.drag -= share * air.dot(&ahead);
            self.gravity -= share * Vec3::from(seen.gravity).dot(&ahead);
            self.work += share * (thrust + air).dot(&velocity);
        }
    }
}

/// Dynamic pressure, felt acceleration and heat flux at a time of a step.
fn strains(forces: &Forces<'_>, piece: &Piece<4>, time: f64) -> [f64; 3] {
    let point = piece.at(time);
    let sight = forces.sight(&point);
    let pressure = sight.dynamic_pressure;
    [pressure, (sight.thrust + sight.air).norm(), pressure * sight.air_velocity.norm()]
}

/// The greatest sample of a quantity, with the step that it lies in.
#[derive(Clone, Copy, Default)]
struct Highest<'a> {
    peak: Peak,
    within: Option<(Forces<'a>, &'a Piece<4>)>,
}

impl<'a> Highest<'a> {
    fn see(&mut self, value: f64, time: f64, forces: Forces<'a>, piece: &'a Piece<4>) {
        if value > self.peak.value {
            *self = Highest { peak: Peak { value, time }, within: Some((forces, piece)) };
        }
    }

    /// The maximum near the sample, on the step's polynomial.
    fn refined(&self, which: usize) -> Peak {
        let Some((forces, piece)) = &self.within else { return self.peak };
        // Neighbouring nodes are less than a fifth of the step apart.
        let (first, last) = (piece.start.time, piece.end());
        let (from, to) =
            ((self.peak.time - 0.2 * piece.span).max(first), (self.peak.time + 0.2 * piece.span).min(last));
        let (time, value) =
            minimum::bracketed(|time| -strains(forces, piece, time)[which], from, to, 1e-6 * piece.span);
        if -value > self.peak.value { Peak { value: -value, time } } else { self.peak }
    }
}
