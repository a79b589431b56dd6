//! One polynomial of a thinned flight, and how it is found.

use super::{Fineness, norm, values};
use crate::motion::field::Point;
use crate::motion::trajectory::{Piece, Trajectory};
use crate::vector::Vec3;

/// Coefficients beside the cubic, at most: with it a polynomial of degree 15.
pub(super) const INNER: usize = 12;

/// Nodes on each step at which a segment is held against it.
const PROOF: usize = 24;

/// Largest value of a polynomial of degree 15 anywhere over its largest at the nodes: 1/cos(15 π/48). [EhlichZeller1964]
const BETWEEN: f64 = 1.799_952_446_272_831;

/// A time of a thinned flight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// s, on the clock of the flight.
    pub time: f64,
    /// m, from the body's centre, inertial axes.
    pub position: Vec3,
    /// m/s.
    pub velocity: Vec3,
    /// m/s², of all forces: twice differentiated, so that it is the coarsest of the three.
    pub acceleration: Vec3,
    /// kg.
    pub mass: f64,
    /// kg/s, negative while propellant flows.
    pub flow: f64,
}

/// Place and mass over a time: the cubic that has their values and rates at both ends, and what is left, (1 − x²)² Σ c(k) T(k)(x) with x from −1 to 1.
///
/// So segments that follow one another meet in place and velocity, however coarse they are between.
#[derive(Debug, Clone, PartialEq)]
pub struct Segment {
    start: f64,
    span: f64,
    from: [f64; 4],
    from_rate: [f64; 4],
    to: [f64; 4],
    to_rate: [f64; 4],
    inner: Box<[[f64; 4]]>,
}

impl Segment {
    /// When it begins, s.
    pub fn start(&self) -> f64 {
        self.start
    }

    /// When it ends, s.
    pub fn end(&self) -> f64 {
        self.start + self.span
    }

    /// Degree of its polynomial.
    pub fn degree(&self) -> usize {
        3 + self.inner.len()
    }

    /// Bytes that it holds outside of itself.
    pub(super) fn heap(&self) -> usize {
        size_of_val::<[[f64; 4]]>(&self.inner)
    }

    /// Everything at a time within it.
    pub fn at(&self, time: f64) -> Moment {
        let share = if self.span == 0.0 { 0.0 } else { ((time - self.start) / self.span).clamp(0.0, 1.0) };
        let (value, rate, second) = self.told(share);
        let place = |v: &[f64; 4]| Vec3::new(v[0], v[1], v[2]);
        Moment {
            time,
            position: place(&value),
            velocity: place(&rate),
            acceleration: place(&second),
            mass: value[3],
            flow: rate[3],
        }
    }

    /// Values, rates (1/s) and second derivatives (1/s²) at a share of the span.
    fn told(&self, u: f64) -> ([f64; 4], [f64; 4], [f64; 4]) {
        let h = self.span;
        let x = 2.0 * u - 1.0;
        let left = (1.0 - x) * (1.0 + x);
        // The weight and its derivatives by x.
        let (w, w1, w2) = (left * left, -4.0 * x * left, 12.0 * x * x - 4.0);
        // Chebyshev polynomials with their derivatives, by their common recurrence. [Abramowitz1964], 22.7.4 differentiated
        let (mut t, mut t1, mut t2) = ([1.0, x], [0.0, 1.0], [0.0, 0.0]);
        let (mut q, mut q1, mut q2) = ([0.0; 4], [0.0; 4], [0.0; 4]);
        for c in &self.inner {
            for d in 0..4 {
                q[d] += c[d] * t[0];
                q1[d] += c[d] * t1[0];
                q2[d] += c[d] * t2[0];
            }
            t = [t[1], 2.0 * x * t[1] - t[0]];
            // The pair before the step stands in t[0] already.
            let third = 4.0 * t1[1] + 2.0 * x * t2[1] - t2[0];
            let second = 2.0 * t[0] + 2.0 * x * t1[1] - t1[0];
            t1 = [t1[1], second];
            t2 = [t2[1], third];
        }
        let (mut value, mut rate, mut acceleration) = ([0.0; 4], [0.0; 4], [0.0; 4]);
        let safe = if h == 0.0 { 1.0 } else { h };
        for d in 0..4 {
            let step = self.to[d] - self.from[d];
            let (a, b) = (self.from_rate[d] * h, self.to_rate[d] * h);
            value[d] = self.from[d]
                + (step * (3.0 - 2.0 * u) * u * u + a * u * (1.0 - u) * (1.0 - u) - b * u * u * (1.0 - u) + w * q[d]);
            let first = step * 6.0 * u * (1.0 - u)
                + a * (1.0 - u) * (1.0 - 3.0 * u)
                + b * u * (3.0 * u - 2.0)
                + 2.0 * (w1 * q[d] + w * q1[d]);
            rate[d] = first / safe;
            let twice = step * (6.0 - 12.0 * u)
                + a * (6.0 * u - 4.0)
                + b * (6.0 * u - 2.0)
                + 4.0 * (w2 * q[d] + 2.0 * w1 * q1[d] + w * q2[d]);
            acceleration[d] = twice / (safe * safe);
        }
        (value, rate, acceleration)
    }
}

/// A step of the integration with what it tells at the nodes of the proof.
pub(super) struct Step<'a> {
    piece: &'a Piece<4>,
    end: Point<4>,
    proof: [Point<4>; PROOF],
}

/// How segments are found: nodes and tables, made once.
pub(super) struct Fit {
    /// Nodes of the interpolation, x from −1 to 1.
    nodes: [f64; INNER],
    /// T(k) at node j.
    table: [[f64; INNER]; INNER],
    /// Nodes of the proof, as shares from 0 to 1.
    proof: [f64; PROOF],
}

impl Fit {
    pub(super) fn new() -> Self {
        let node = |j: usize, count: usize| -((j as f64 + 0.5) * std::f64::consts::PI / count as f64).cos();
        let nodes: [f64; INNER] = std::array::from_fn(|j| node(j, INNER));
        let table = std::array::from_fn(|k| nodes.map(|x| (k as f64 * x.acos()).cos()));
        Self { nodes, table, proof: std::array::from_fn(|j| 0.5 * (1.0 + node(j, PROOF))) }
    }

    /// The steps of a stretch, each with what the proof needs.
    pub(super) fn sampled<'a>(&self, stretch: &'a Trajectory<4>) -> Vec<Step<'a>> {
        let pieces = stretch.pieces();
        let mut steps = Vec::with_capacity(pieces.len());
        for (index, piece) in pieces.iter().enumerate() {
            let end = pieces.get(index + 1).map_or(stretch.end(), |next| next.start);
            // An event may end the flight within the last step.
            let span = end.time - piece.start.time;
            if span > 0.0 {
                steps.push(Step {
                    piece,
                    end,
                    proof: self.proof.map(|share| piece.at(piece.start.time + share * span)),
                });
            }
        }
        steps
    }

    /// The segment over a single step, as well as it can be told.
    pub(super) fn single(&self, step: &Step<'_>, allowed: &Fineness) -> (Segment, Fineness) {
        let steps = std::slice::from_ref(step);
        let segment = self.interpolated(steps);
        let unbounded = Fineness { place: f64::INFINITY, velocity: f64::INFINITY, mass: f64::INFINITY };
        let proven = proven(&segment, steps, &unbounded).unwrap_or(unbounded);
        shortened(segment, proven, allowed)
    }

    /// The segment over several steps, if it is within what is allowed, with the error proven.
    pub(super) fn over(&self, steps: &[Step<'_>], allowed: &Fineness) -> Option<(Segment, Fineness)> {
        let segment = self.interpolated(steps);
        let proven = proven(&segment, steps, allowed)?;
        Some(shortened(segment, proven, allowed))
    }

    fn interpolated(&self, steps: &[Step<'_>]) -> Segment {
        let (first, last) = (&steps[0], &steps[steps.len() - 1]);
        let (start, end) = (first.piece.start, last.end);
        let span = end.time - start.time;
        let mut segment = Segment {
            start: start.time,
            span,
            from: values(&start),
            from_rate: rates(&start, first.piece, start.time),
            to: values(&end),
            to_rate: rates(&end, last.piece, end.time),
            inner: Box::new([]),
        };
        let mut left = [[0.0; 4]; INNER];
        let mut at = 0;
        for (j, x) in self.nodes.iter().enumerate() {
            let share = 0.5 * (1.0 + x);
            let time = start.time + share * span;
            while at + 1 < steps.len() && steps[at].end.time <= time {
                at += 1;
            }
            let meant = values(&steps[at].piece.at(time));
            let (cubic, _, _) = segment.told(share);
            let weight = ((1.0 - x) * (1.0 + x)).powi(2);
            for d in 0..4 {
                left[j][d] = (meant[d] - cubic[d]) / weight;
            }
        }
        let mut inner = [[0.0; 4]; INNER];
        for (k, row) in self.table.iter().enumerate() {
            let scale = if k == 0 { 1.0 } else { 2.0 } / INNER as f64;
            for (j, t) in row.iter().enumerate() {
                for d in 0..4 {
                    inner[k][d] += scale * t * left[j][d];
                }
            }
        }
        segment.inner = Box::new(inner);
        segment
    }
}

/// Velocity, and the flow of mass, at a time of a step.
fn rates(point: &Point<4>, piece: &Piece<4>, time: f64) -> [f64; 4] {
    let flow = piece.acceleration_at(time)[3];
    [point.velocity[0], point.velocity[1], point.velocity[2], flow]
}

/// The largest error of a segment against its steps anywhere, or nothing as soon as it is not within what is allowed.
fn proven(segment: &Segment, steps: &[Step<'_>], allowed: &Fineness) -> Option<Fineness> {
    let mut worst = Fineness { place: 0.0, velocity: 0.0, mass: 0.0 };
    for step in steps {
        for point in &step.proof {
            let share = ((point.time - segment.start) / segment.span).clamp(0.0, 1.0);
            let (value, rate, _) = segment.told(share);
            let (meant, mut off, mut off_rate) = (values(point), [0.0; 4], [0.0; 4]);
            for d in 0..4 {
                off[d] = value[d] - meant[d];
                off_rate[d] = rate[d] - point.velocity[d];
            }
            worst.place = worst.place.max(BETWEEN * norm(&off));
            worst.velocity = worst.velocity.max(BETWEEN * norm(&off_rate));
            worst.mass = worst.mass.max(BETWEEN * off[3].abs());
            if !worst.within(allowed) {
                return None;
            }
        }
    }
    Some(worst)
}

/// The segment without the last coefficients that it does not need.
///
/// Leaving c T(k) (1 − x²)² out changes the value by |c| at most, the derivative by x by (1.54 + k) |c|: the weight's own derivative is at most
/// 8/(3 √3), and |T'(k)| is at most k/√(1 − x²).
fn shortened(mut segment: Segment, proven: Fineness, allowed: &Fineness) -> (Segment, Fineness) {
    let mut keep = segment.inner.len();
    let mut error = proven;
    while keep > 0 {
        let c = &segment.inner[keep - 1];
        let size = norm(c);
        let next = Fineness {
            place: error.place + size,
            velocity: error.velocity + 2.0 / segment.span * (1.54 + (keep - 1) as f64) * size,
            mass: error.mass + c[3].abs(),
        };
        if !next.within(allowed) {
            break;
        }
        error = next;
        keep -= 1;
    }
    if keep < segment.inner.len() {
        segment.inner = segment.inner[..keep].into();
    }
    (segment, error)
}
