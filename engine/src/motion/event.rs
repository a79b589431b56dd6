//! Events along a trajectory: where a quantity passes through zero.

use super::field::Point;
use super::trajectory::Piece;
use crate::numerics::lanes::Lane;

/// Which passage through zero counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Crossing {
    /// From below zero to above.
    Rising,
    /// From above zero to below.
    Falling,
    /// Either.
    Either,
}

/// What is watched for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Watched {
    /// Which passage counts.
    pub crossing: Crossing,
    /// Whether the trajectory ends there.
    pub ends: bool,
}

impl Watched {
    /// Note it and fly on.
    pub const fn noted(crossing: Crossing) -> Self {
        Self { crossing, ends: false }
    }

    /// End the trajectory there.
    pub const fn ending(crossing: Crossing) -> Self {
        Self { crossing, ends: true }
    }
}

/// `E` quantities of the motion whose passages through zero are looked for.
///
/// They are seen at the eight nodes of every step and at its ends: of two passages within an eighth of a step neither is noticed.
pub trait Events<const D: usize, const E: usize> {
    /// Which passages count, and which end the trajectory.
    fn watched(&self) -> [Watched; E];

    /// The quantities.
    fn values<L: Lane>(&self, time: L, position: &[L; D], velocity: &[L; D]) -> [L; E];
}

/// Nothing to look for.
#[derive(Clone, Copy, Debug)]
pub struct NoEvents;

impl<const D: usize> Events<D, 0> for NoEvents {
    fn watched(&self) -> [Watched; 0] {
        []
    }

    fn values<L: Lane>(&self, _time: L, _position: &[L; D], _velocity: &[L; D]) -> [L; 0] {
        []
    }
}

/// An event that was met.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Met<const D: usize> {
    /// Which of the quantities, counted from 0.
    pub which: usize,
    /// Whether the quantity rose through zero.
    pub rising: bool,
    /// Where and when.
    pub point: Point<D>,
}

/// One sample of a quantity along a step: time and value.
pub(super) type Sample = (f64, f64);

/// Most narrowings of an interval: one in eight halves an interval, and no interval has more than 2100 halves of doubles.
const NARROWINGS: usize = 8 * 2100;

/// Looks through a step for passages of one quantity; `samples` are its values at the start, the nodes and the end, in order.
///
/// - `within`: s, how closely the passage is placed on the step's own polynomial; zero asks for a rounding of the time.
#[inline(always)]
pub(super) fn met_in<V: Events<D, E>, const D: usize, const E: usize>(
    piece: &Piece<D>,
    events: &V,
    which: usize,
    samples: &[Sample; 10],
    within: f64,
    found: &mut Vec<Met<D>>,
) {
    let watched = events.watched()[which];
    for i in 1..samples.len() {
        let (from, to) = (samples[i - 1], samples[i]);
        // A zero at the start of an interval belongs to the interval before it.
        let rising = from.1 < 0.0 && to.1 >= 0.0;
        let falling = from.1 > 0.0 && to.1 <= 0.0;
        let counts = match watched.crossing {
            Crossing::Rising => rising,
            Crossing::Falling => falling,
            Crossing::Either => rising || falling,
        };
        if counts {
            let point = piece.at(passage(piece, events, which, from, to, within));
            found.push(Met { which, rising, point });
        }
    }
}

/// When a quantity passes through zero between two samples of opposite sign, on the polynomial of the step.
///
/// False positions, the end that stays put at half its value; each eighth time by halves. [DowellJarratt1971], from memory.
#[inline(always)]
fn passage<V: Events<D, E>, const D: usize, const E: usize>(
    piece: &Piece<D>,
    events: &V,
    which: usize,
    from: Sample,
    to: Sample,
    within: f64,
) -> f64 {
    let ((mut a, mut at_a), (mut b, mut at_b)) = (from, to);
    let mut last = b;
    for turn in 1..NARROWINGS {
        if at_b == 0.0 {
            return b;
        }
        let share = if turn % 8 == 0 { 0.5 } else { at_b / (at_b - at_a) };
        let time = b - share * (b - a);
        // The newest two close together, or nothing between the ends any more.
        let close = (time - last).abs() <= within;
        if close || !(time > a.min(b) && time < a.max(b)) {
            return if close {
                time
            } else if at_b.abs() < at_a.abs() {
                b
            } else {
                a
            };
        }
        let there = piece.at(time);
        let value = events.values::<f64>(time, &there.position, &there.velocity)[which];
        if (value < 0.0) == (at_b < 0.0) {
            at_a *= 0.5;
        } else {
            (a, at_a) = (b, at_b);
        }
        (b, at_b, last) = (time, value, time);
    }
    b
}
