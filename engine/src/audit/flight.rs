//! A flight under thrust and in air against the laws: work and energy, torque and angular momentum, flow and mass, speed.
//!
//! Each law is worked out along the flight as it was integrated, by a quadrature of its own (Clenshaw and Curtis at seventeen nodes of every step, where the
//! flight sums at its eight Gaussian ones), with the forces asked anew at each node. What a thinned record leaves is no part of it.

use super::rounding::EPSILON;
use super::{Entry, Law};
use crate::motion::force::{Forces, Surroundings};
use crate::motion::passage::{Accounts, Flown, Stretch};
use crate::motion::{Piece, Point};
use crate::vector::Vec3;

/// What the laws are held against.
#[derive(Debug, Clone, Copy)]
pub struct Flight<'a> {
    /// What it was flown among.
    pub around: &'a Surroundings,
    /// The flight in full.
    pub flown: &'a Flown,
    /// The tolerance that it was integrated with: error that a step may add, as a share of the velocity.
    pub tolerance: f64,
    /// What it says that its speed was gained from and lost to.
    pub accounts: &'a Accounts,
    /// Masses left behind: when (s on the flight's clock), and how much (kg).
    pub dropped: &'a [(f64, f64)],
}

/// All laws on a flight.
///
/// # Bounds
/// A step of the integration errs by e of its velocity. Its iteration ends when another one would change the velocity by less than the tolerance; what its
/// polynomial leaves out follows from the last coefficients of the acceleration, as the integrator itself judges them: with c the last two as a share of the whole, the
/// sixteenth is c^(16/7), and the work done between the nodes of the collocation sees c^(15/7) (the eighth coefficient, which the dense output leaves out, against
/// the seventh of the force). No step is kept that exceeds its tolerance 0.7⁻¹⁶-fold. e is the sum of both. So a step adds e v (v + a h) to the energy, with v its speed, a the largest acceleration and h its length; e (r + v h) (v + a h) to the angular
/// momentum; e v to the speed; its own e, from the coefficients of the mass, times h times the flow to the mass. Every step rounds its sums
/// once: ε of each quantity on top, and each evaluation of an invariant a dozen times.
pub fn flight(leg: &str, facts: &Flight<'_>) -> Vec<Entry> {
    let Some(sums) = Sums::of(facts) else { return Vec::new() };
    let mut entries = vec![sums.joints(leg, facts)];
    entries.push(sums.work_energy(leg, facts));
    entries.push(sums.momentum(leg, facts));
    entries.push(sums.mass_flow(leg, facts));
    if sums.burned {
        entries.push(Entry::judged(leg, Law::RocketEquation, sums.rocket.0, sums.rocket.1, String::new()));
    }
    entries.push(sums.speed(leg, facts));
    entries
}

/// The mass that the flight ends with against that of the vehicle afterwards.
///
/// # Bound
/// As the mass's own in [`flight`]: the vehicle's books and the flight's sum one flow by different ways.
pub fn vehicle_mass(leg: &str, facts: &Flight<'_>, mass: f64) -> Entry {
    let bound = Sums::of(facts).map_or(0.0, |sums| sums.mass_bound);
    let off = (facts.flown.end.velocity[3] - mass).abs();
    Entry::judged(leg, Law::VehicleMass, off, bound, String::new())
}

/// What the quadrature sums, with the bounds.
#[derive(Default)]
struct Sums {
    work: f64,
    torque: Vec3,
    flow: f64,
    /// Residual and bound of the rocket equation, m/s.
    rocket: (f64, f64),
    burned: bool,
    energy_bound: f64,
    momentum_bound: f64,
    mass_bound: f64,
    speed_bound: f64,
    /// Largest gap between stretches, and what it is.
    gap: f64,
    gap_note: &'static str,
}

fn place(point: &Point<4>) -> Vec3 {
    Vec3::new(point.position[0], point.position[1], point.position[2])
}

fn velocity(point: &Point<4>) -> Vec3 {
    Vec3::new(point.velocity[0], point.velocity[1], point.velocity[2])
}

/// A step is kept with at most so many times its tolerance: the integrator tries again where it had to shrink below 0.7.
const KEPT: f64 = 301.0;

/// Errors of a step as shares: of the velocity, and of the change of mass.
fn shares(piece: &Piece<4>, tolerance: f64) -> (f64, f64) {
    let error = |components: &[[f64; 8]]| {
        let (mut last, mut before, mut size) = (0.0, 0.0, 0.0);
        for c in components {
            last += c[7] * c[7];
            before += c[6] * c[6];
            size += c.iter().map(|x| x * x).sum::<f64>();
        }
        if size == 0.0 { 0.0 } else { ((last.sqrt() + before.sqrt()) / size.sqrt()).powf(15.0 / 7.0) }
    };
    let tolerance = tolerance.max(1e-16);
    let both = |components| tolerance + error(components).min(KEPT * tolerance);
    (both(&piece.acceleration[..3]), both(&piece.acceleration[3..]))
}

impl Sums {
    fn of(facts: &Flight<'_>) -> Option<Sums> {
        let rule = Rule::new();
        let mut sums = Sums::default();
        let mut before: Option<Point<4>> = None;
        for stretch in &facts.flown.stretches {
            let Some(first) = stretch.trajectory.pieces().first() else { continue };
            if let Some(before) = before {
                sums.join(&before, &first.start);
            }
            sums.stretch(&rule, facts, stretch);
            before = Some(stretch.trajectory.end());
        }
        let last = before?;
        sums.join(&last, &facts.flown.end);
        Some(sums)
    }

    /// Continuity between two stretches; mass is the business of its own law.
    fn join(&mut self, end: &Point<4>, start: &Point<4>) {
        let gap = (place(start) - place(end)).norm();
        if gap > self.gap {
            (self.gap, self.gap_note) = (gap, "place jumps");
        }
        if end.time != start.time || velocity(end) != velocity(start) {
            let note = if end.time == start.time { "velocity jumps" } else { "time jumps" };
            (self.gap, self.gap_note) = (f64::MAX, note);
        }
    }

    fn stretch(&mut self, rule: &Rule, facts: &Flight<'_>, stretch: &Stretch) {
        let around = facts.around;
        let layer = stretch.layer.and_then(|index| around.layers().get(index));
        let forces = Forces { around, craft: &stretch.craft, layer };
        let pieces = stretch.trajectory.pieces();
        let end = stretch.trajectory.end();
        let gm = around.gravity.gm();
        let (mut ideal, mut ideal_bound) = (0.0, 0.0);
        for (index, piece) in pieces.iter().enumerate() {
            // An event may end the flight within the last step.
            let until = pieces.get(index + 1).map_or(end.time, |next| next.start.time);
            let span = until - piece.start.time;
            let (mut fast, mut far, mut pushed, mut flowing, mut heavy) = (0.0_f64, 0.0_f64, 0.0_f64, 0.0_f64, 0.0_f64);
            for (share, weight) in &rule.nodes {
                let point = piece.at(piece.start.time + share * span);
                let (r, v) = (place(&point), velocity(&point));
                let sight = forces.sight(&point);
                let push = sight.thrust + sight.air;
                let gravity = around.gravity.acceleration(&r);
                let weight = weight * span;
                self.work += weight * push.dot(&v);
                // The pull of a point has no torque: it is left out with its rounding.
                let radial = r * (gravity.dot(&r) / r.norm_squared());
                self.torque += r.cross(&(push + gravity - radial)) * weight;
                self.flow += weight * sight.mass_flow;
                if let Some(thrust) = &stretch.craft.thrust {
                    ideal += weight * sight.share * thrust.vacuum / point.velocity[3];
                }
                fast = fast.max(v.norm());
                far = far.max(r.norm());
                pushed = pushed.max((push + gravity).norm());
                flowing = flowing.max(sight.mass_flow);
                heavy = heavy.max(point.velocity[3]);
            }
            let (moved, lost) = shares(piece, facts.tolerance);
            let gained = fast + pushed * span;
            let potential = if far > 0.0 { gm / far } else { 0.0 };
            self.energy_bound += moved * fast * gained + EPSILON * (fast * fast + potential);
            self.momentum_bound += moved * (far + fast * span) * gained + 2.0 * EPSILON * far * fast;
            self.mass_bound += lost * flowing * span + EPSILON * heavy;
            self.speed_bound += moved * gained + EPSILON * fast;
            ideal_bound += (moved + lost) * pushed * span + EPSILON * fast;
        }
        if let Some(thrust) = &stretch.craft.thrust {
            self.burned = true;
            let ratio = pieces[0].start.velocity[3] / end.velocity[3];
            let given = thrust.exhaust_speed * ratio.ln();
            self.rocket.0 += (given - ideal).abs();
            self.rocket.1 += ideal_bound + 4.0 * EPSILON * thrust.exhaust_speed * (ratio + pieces.len() as f64);
        }
    }

    fn joints(&self, leg: &str, facts: &Flight<'_>) -> Entry {
        let note = if self.gap == 0.0 {
            format!("{} stretches", facts.flown.stretches.len())
        } else {
            self.gap_note.to_owned()
        };
        // States are handed on bit by bit.
        Entry::judged(leg, Law::Switches, self.gap, 0.0, note)
    }

    fn work_energy(&self, leg: &str, facts: &Flight<'_>) -> Entry {
        let gravity = &facts.around.gravity;
        let (start, end) = (facts.flown.start(), facts.flown.end);
        let kinetic = 0.5 * (velocity(&end).norm_squared() - velocity(&start).norm_squared());
        let (from, to) = (gravity.potential(&place(&start)), gravity.potential(&place(&end)));
        let gained = kinetic + (to - from);
        let size = velocity(&end).norm_squared() + velocity(&start).norm_squared() + from.abs() + to.abs();
        let bound = self.energy_bound + 12.0 * EPSILON * size;
        let note = format!("work of thrust and air {:.6e} J/kg", self.work);
        Entry::judged(leg, Law::WorkEnergy, (gained - self.work).abs(), bound, note)
    }

    fn momentum(&self, leg: &str, facts: &Flight<'_>) -> Entry {
        let (start, end) = (facts.flown.start(), facts.flown.end);
        let of = |point: &Point<4>| place(point).cross(&velocity(point));
        let size = |point: &Point<4>| place(point).norm() * velocity(point).norm();
        let gained = of(&end) - of(&start);
        let bound = self.momentum_bound + 12.0 * EPSILON * (size(&start) + size(&end));
        Entry::judged(leg, Law::Torque, (gained - self.torque).norm(), bound, String::new())
    }

    fn mass_flow(&self, leg: &str, facts: &Flight<'_>) -> Entry {
        let left: f64 = facts.dropped.iter().map(|(_, mass)| mass).sum();
        let spent = facts.flown.start().velocity[3] - facts.flown.end.velocity[3];
        let bound = self.mass_bound + EPSILON * facts.flown.start().velocity[3] * (facts.dropped.len() + 2) as f64;
        let note = if left > 0.0 { format!("{left:.3} kg left behind") } else { String::new() };
        Entry::judged(leg, Law::MassFlow, (spent - left - self.flow).abs(), bound, note)
    }

    fn speed(&self, leg: &str, facts: &Flight<'_>) -> Entry {
        let a = facts.accounts;
        let told = a.ideal - a.pressure - a.steering - a.drag - a.gravity;
        let gained = velocity(&facts.flown.end).norm() - velocity(&facts.flown.start()).norm();
        let bound =
            self.speed_bound + 12.0 * EPSILON * (a.ideal.abs() + a.gravity.abs() + a.steering.abs() + a.drag.abs());
        let note = format!(
            "ideal {:.3} m/s, lost to gravity {:.3}, drag {:.3}, steering {:.3}, pressure {:.3}",
            a.ideal, a.gravity, a.drag, a.steering, a.pressure
        );
        Entry::judged(leg, Law::SpeedBalance, (gained - told).abs(), bound, note)
    }
}

/// The rule of Clenshaw and Curtis with seventeen nodes, on a step from 0 to 1: exact to degree 17. [ClenshawCurtis1960]
struct Rule {
    nodes: [(f64, f64); NODES + 1],
}

const NODES: usize = 16;

impl Rule {
    fn new() -> Self {
        let n = NODES as f64;
        let nodes = std::array::from_fn(|k| {
            let angle = k as f64 * std::f64::consts::PI / n;
            let sum: f64 = (1..=NODES / 2)
                .map(|j| {
                    let twice = if j == NODES / 2 { 1.0 } else { 2.0 };
                    let j = j as f64;
                    twice / (4.0 * j * j - 1.0) * (2.0 * j * angle).cos()
                })
                .sum();
            let end = if k == 0 || k == NODES { 1.0 } else { 2.0 };
            (0.5 * (1.0 - angle.cos()), 0.5 * end / n * (1.0 - sum))
        });
        Self { nodes }
    }
}
