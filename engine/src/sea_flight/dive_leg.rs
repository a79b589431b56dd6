//! One way through the water, down or up: the motion of a diver in the plane of its tilt and the current, integrated layer by layer.
//!
//! In the axes of the body: (m + k ρV) dv/dt = the part of weight, buoyancy and thrust along the axis − ½ ρ C_D A |u| u, with u the velocity through the water, and the
//! like across it with that side's area and added mass. [Newman1977], chapter 2 and 4; [Hoerner1965] for drag by its parts. What shear of the current does to the
//! added mass is left out.

use super::SeaFlightError;
use super::diver::{Diver, Facing};
use super::drag::DragLaw;
use crate::motion::{Crossing, Events, Field, Met, Point, Trajectory, Watched, explicit};
use crate::numerics::lanes::{self, Lane};
use crate::numerics::watch::Watch;
use crate::system::{Sea, SeaLayer};

/// How a way through the water is meant.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Where it begins, m.
    pub from: f64,
    /// Where it ends, m.
    pub to: f64,
    /// Lean of the body's axis from the vertical, rad: forward when sinking.
    pub tilt: f64,
    /// Thrust up, N; below zero down.
    pub thrust: f64,
    /// Depth in m and speed of the current forward in m/s, rising by depth; constant beyond its ends. Empty: still water.
    pub current: Vec<(f64, f64)>,
    /// With the ballast, or after it is dropped.
    pub with_ballast: bool,
    /// Velocity at the start, down and forward, m/s.
    pub velocity: [f64; 2],
    /// Forward of where the dive began, m.
    pub offset: f64,
    /// When it begins, s.
    pub start: f64,
    /// Longest time, s.
    pub longest: f64,
}

/// How a way through the water ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ended {
    /// Where it was meant to.
    There,
    /// It hangs where it neither sinks nor rises, m deep.
    Hangs {
        /// m.
        depth: f64,
    },
    /// It moves the other way from the start: too light to sink or too heavy to rise, by so many kg.
    WrongWay {
        /// Weight less buoyancy, kg.
        net: f64,
    },
    /// Its time was over.
    TimeOver,
}

/// A place on the way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DivePoint {
    /// s.
    pub time: f64,
    /// m.
    pub depth: f64,
    /// Forward of where the dive began, over the ground, m.
    pub offset: f64,
    /// Down, m/s.
    pub sinking: f64,
    /// Forward over the ground, m/s.
    pub drifting: f64,
}

/// A way through the water as it went.
#[derive(Debug, Clone, PartialEq)]
pub struct DiveLeg {
    stretches: Vec<Trajectory<5>>,
    /// Where it began.
    pub start: DivePoint,
    /// Where it ended.
    pub end: DivePoint,
    /// How.
    pub ended: Ended,
    /// Work of drag on the body, J: below zero.
    pub drag_work: f64,
    /// Work of weight, buoyancy and thrust, J.
    pub weight_work: f64,
    /// Kinetic energy with that of the water moved along, at the end less at the start, J.
    pub kinetic: f64,
    /// What work and energy differ by, J: the error of the integration, with that of the sums.
    pub residual: f64,
}

fn shown(point: &Point<5>) -> DivePoint {
    DivePoint {
        time: point.time,
        depth: point.position[0],
        offset: point.position[1],
        sinking: point.velocity[0],
        drifting: point.velocity[1],
    }
}

impl DiveLeg {
    /// Where it is at a time (s), the nearer end for a time outside.
    pub fn at(&self, time: f64) -> DivePoint {
        let next = self.stretches.partition_point(|stretch| stretch.end().time < time);
        self.stretches.get(next).or(self.stretches.last()).map_or(self.start, |stretch| shown(&stretch.at(time)))
    }

    /// How long it took, s.
    pub fn duration(&self) -> f64 {
        self.end.time - self.start.time
    }

    /// When it passes a depth first, s.
    pub fn time_at(&self, depth: f64) -> Option<f64> {
        let mut before = self.start;
        for stretch in &self.stretches {
            for piece in stretch.pieces() {
                let after = shown(&piece.at(piece.end()));
                if (before.depth - depth) * (after.depth - depth) <= 0.0 && before.depth != after.depth {
                    let over = |time: f64| piece.at(time).position[0] - depth;
                    return crate::numerics::root::bracketed(over, piece.start.time, piece.end(), 1e-9).ok();
                }
                before = after;
            }
        }
        None
    }
}

/// Forces in one layer of water.
struct InLayer<'a> {
    layer: &'a SeaLayer,
    /// At the surface, m/s², and its growth, m/s² per m.
    gravity: (f64, f64),
    mass: f64,
    volume: f64,
    /// 1/Pa.
    give: f64,
    outside: f64,
    facing: [Facing; 2],
    /// Cosine and sine of the tilt.
    axis: (f64, f64),
    thrust: f64,
    /// Of the current: a depth, the speed there, its growth per m.
    current: (f64, f64, f64),
    /// Squared speed below which drag counts as linear, m²/s²: a millionth of a millionth of what matters.
    least: f64,
    /// Depths that end the stretch.
    ends: (f64, f64),
}

/// What acts at a point, along the axis and across it.
struct Acting<L> {
    /// N.
    drag: [L; 2],
    /// N.
    weight: [L; 2],
    /// Of the body and the water moved along, kg.
    inertia: [L; 2],
    /// Growth of the inertia, kg/s.
    swelling: [L; 2],
    /// Over the ground, m/s.
    body: [L; 2],
}

impl InLayer<'_> {
    /// Mass of the water displaced, kg.
    #[inline(always)]
    fn displaced<L: Lane>(&self, depth: L) -> L {
        self.layer.density(depth) * self.filling(depth)
    }

    /// Volume, m³.
    #[inline(always)]
    fn filling<L: Lane>(&self, depth: L) -> L {
        if self.give == 0.0 {
            L::splat(self.volume + self.outside)
        } else {
            lanes::exponential(self.layer.pressure(depth) * -self.give) * self.volume + self.outside
        }
    }

    #[inline(always)]
    fn acting<L: Lane>(&self, position: &[L; 5], velocity: &[L; 5]) -> Acting<L> {
        let depth = position[0];
        let density = self.layer.density(depth);
        let displaced = density * self.filling(depth);
        let gravity = depth * self.gravity.1 + self.gravity.0;
        let pull = (L::splat(self.mass) - displaced) * gravity - self.thrust;
        let flow = (depth - self.current.0) * self.current.2 + self.current.1;
        let (cos, sin) = self.axis;
        let drift = velocity[1] - flow;
        let through = [velocity[0] * cos + drift * sin, drift * cos - velocity[0] * sin];
        let speed = (through[0] * through[0] + through[1] * through[1] + self.least).sqrt();
        // A metre tells the slope of the density well: its third derivative is nothing.
        let growth = (self.displaced(depth + 0.5) - self.displaced(depth - 0.5)) * velocity[0];
        let mut drag = [L::splat(0.0); 2];
        let (mut inertia, mut swelling) = (drag, drag);
        let mut i = 0;
        while i < 2 {
            let facing = &self.facing[i];
            let coefficient = match facing.law {
                DragLaw::Constant(coefficient) => L::splat(coefficient),
                law => law.at(density * speed * facing.diameter / self.layer.viscosity(depth)),
            };
            drag[i] = -(density * coefficient * speed * through[i] * (0.5 * facing.area));
            inertia[i] = displaced * facing.added_mass + self.mass;
            swelling[i] = growth * facing.added_mass;
            i += 1;
        }
        let body = [velocity[0] * cos + velocity[1] * sin, velocity[1] * cos - velocity[0] * sin];
        Acting { drag, weight: [pull * cos, -(pull * sin)], inertia, swelling, body }
    }

    /// Kinetic energy of the body and the water moved along, J.
    fn energy(&self, point: &Point<5>) -> f64 {
        let acting = self.acting::<f64>(&point.position, &point.velocity);
        0.5 * (acting.inertia[0] * acting.body[0].powi(2) + acting.inertia[1] * acting.body[1].powi(2))
    }
}

/// Depth and offset; then, riding in the velocities of three more components, the works of drag and of weight, and the energy that the water moved along
/// gains as it grows denser by depth, each above a start that is not zero.
impl Field<5> for InLayer<'_> {
    type Prepared<L: Lane> = ();

    const LEADING: usize = 2;

    fn prepare<L: Lane>(&self, _time: L) {}

    #[inline(always)]
    fn acceleration<L: Lane>(&self, (): &(), _time: L, position: &[L; 5], velocity: &[L; 5]) -> [L; 5] {
        let Acting { drag, weight, inertia, swelling, body } = self.acting(position, velocity);
        let along = (drag[0] + weight[0]) / inertia[0];
        let across = (drag[1] + weight[1]) / inertia[1];
        let (cos, sin) = self.axis;
        [
            along * cos - across * sin,
            along * sin + across * cos,
            drag[0] * body[0] + drag[1] * body[1],
            weight[0] * body[0] + weight[1] * body[1],
            (swelling[0] * body[0] * body[0] + swelling[1] * body[1] * body[1]) * 0.5,
        ]
    }
}

impl Events<5, 2> for InLayer<'_> {
    fn watched(&self) -> [Watched; 2] {
        [Watched::ending(Crossing::Falling), Watched::ending(Crossing::Rising)]
    }

    fn values<L: Lane>(&self, _time: L, position: &[L; 5], _velocity: &[L; 5]) -> [L; 2] {
        [position[0] - self.ends.0, position[0] - self.ends.1]
    }
}

/// Error that one step may add, as a share of place and velocity. The explicit pair: near its terminal speed a body's acceleration is the difference of
/// forces that cancel, and collocation, which measures errors by the acceleration, would chase its rounding.
const TOLERANCE: f64 = 1e-12;

/// The current at a depth: a depth, the speed there, its growth per m; and the depths between which that holds.
fn current_at(rows: &[(f64, f64)], depth: f64, down: bool) -> ((f64, f64, f64), (f64, f64)) {
    let whole = (f64::NEG_INFINITY, f64::INFINITY);
    let (Some(first), Some(last)) = (rows.first(), rows.last()) else { return ((0.0, 0.0, 0.0), whole) };
    // On a row the piece ahead counts.
    let next =
        if down { rows.partition_point(|row| row.0 <= depth) } else { rows.partition_point(|row| row.0 < depth) };
    if next == 0 {
        return ((first.0, first.1, 0.0), (whole.0, first.0));
    }
    let Some(below) = rows.get(next) else { return ((last.0, last.1, 0.0), (last.0, whole.1)) };
    let above = rows[next - 1];
    ((above.0, above.1, (below.1 - above.1) / (below.0 - above.0)), (above.0, below.0))
}

/// Flies a diver from a depth to another.
///
/// # Errors
/// Figures that are none, depths outside of the sea, a motion that cannot be followed, an interruption.
pub fn fly(diver: &Diver, sea: &Sea, course: &Course, watch: &Watch<'_>) -> Result<DiveLeg, SeaFlightError> {
    diver.check()?;
    let bottom = sea.depth().1;
    for depth in [course.from, course.to] {
        if !(0.0..=bottom).contains(&depth) {
            return Err(SeaFlightError::Depth { depth_m: depth, from_m: 0.0, to_m: bottom });
        }
    }
    for (what, value) in [("the tilt in rad", course.tilt), ("the thrust in N", course.thrust)] {
        if !value.is_finite() {
            return Err(SeaFlightError::Figure { what, value, needs: "a finite number" });
        }
    }
    if !(course.longest > 0.0 && course.longest.is_finite()) {
        let what = "the longest time in s";
        return Err(SeaFlightError::Figure { what, value: course.longest, needs: "positive" });
    }
    let down = course.to > course.from;
    let pull = |depth: f64| diver.net_weight(sea, depth, course.with_ballast) - course.thrust;
    // What the riding works are counted from: the work of the weight over a metre, so that their errors have a size to be measured by.
    let base = (pull(course.from).abs() + pull(course.to).abs()).max(1e-6);
    let [sinking, drifting] = course.velocity;
    let start = Point {
        time: course.start,
        position: [course.from, course.offset, 0.0, 0.0, 0.0],
        velocity: [sinking, drifting, base, base, base],
    };
    let mut leg = DiveLeg {
        stretches: Vec::new(),
        start: shown(&start),
        end: shown(&start),
        ended: Ended::There,
        drag_work: 0.0,
        weight_work: 0.0,
        kinetic: 0.0,
        residual: 0.0,
    };
    let ahead = if down { 1.0 } else { -1.0 };
    if pull(course.from) * ahead <= 0.0 && course.velocity[0] * ahead <= 0.0 {
        leg.ended = Ended::WrongWay { net: pull(course.from) / sea.gravity(course.from) };
        return Ok(leg);
    }
    // Weight less buoyancy changes its sign at most once on the way, as liquid and hull give way evenly: there the body hangs.
    let neutral = (pull(course.to) * ahead < 0.0)
        .then(|| crate::numerics::root::bracketed(pull, course.from, course.to, 1e-6).ok())
        .flatten();
    // It comes near the neutral depth ever more slowly: within a metre of it, or a hundredth of the way, it hangs.
    let target = neutral.map_or(course.to, |at| at - ahead * (0.01 * (at - course.from).abs()).min(1.0));
    let scale = diver.terminal_speed(sea, course.from, course.with_ballast, course.thrust).abs().max(1e-6);
    let until = course.start + course.longest;
    let mut point = start;
    while (target - point.position[0]) * ahead > 1e-9 {
        let depth = point.position[0];
        // The layer ahead, not the one behind.
        let probe = depth + ahead * 1e-7;
        let Some(layer) = sea.layer_at(probe) else { break };
        let (current, holds) = current_at(&course.current, depth + ahead * 1e-7, down);
        let low = layer.top().max(holds.0);
        let high = layer.bottom().min(holds.1);
        // The end behind is out of the way, for a start on it.
        let ends = if down { (-1e9, high.min(target)) } else { (low.max(target), 1e9) };
        let forces = InLayer {
            layer,
            gravity: (sea.gravity(0.0), sea.gravity(1.0) - sea.gravity(0.0)),
            mass: diver.laden(course.with_ballast),
            volume: diver.volume,
            give: diver.bulk_modulus.map_or(0.0, |modulus| 1.0 / modulus),
            outside: diver.outside(course.with_ballast),
            facing: [diver.along, diver.across],
            axis: (course.tilt.cos(), course.tilt.sin()),
            thrust: course.thrust,
            current,
            least: (1e-6 * scale) * (1e-6 * scale),
            ends,
        };
        let (trajectory, met): (_, Vec<Met<5>>) =
            explicit::integrate(&forces, point, until, TOLERANCE, &forces, watch)?;
        let end = trajectory.end();
        leg.kinetic += forces.energy(&end) - forces.energy(&point);
        point = end;
        leg.stretches.push(trajectory);
        if met.is_empty() {
            leg.ended = Ended::TimeOver;
            break;
        }
        // The event stands on the end to a rounding; the next layer begins there.
        let at = if down { ends.1 } else { ends.0 };
        point.position[0] = at;
    }
    leg.end = shown(&point);
    let [drag, weight, swelling] = [2, 3, 4].map(|rider| point.velocity[rider] - base);
    (leg.drag_work, leg.weight_work) = (drag, weight);
    leg.residual = leg.kinetic - (drag + weight + swelling);
    if let (Ended::There, Some(depth)) = (leg.ended, neutral) {
        leg.ended = Ended::Hangs { depth };
    }
    Ok(leg)
}
