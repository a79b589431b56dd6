//! Events along a trajectory: where a quantity passes through zero.

use super::field::Point;
use super::trajectory::Piece;
use crate::numerics::lanes::Lane;
use crate::numerics::root;

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

/// Looks through a step for passages of one quantity; `samples` are its values at the start, the nodes and the end, in order.
///
/// The passage is narrowed down on the step's own polynomial to a rounding of the time.
pub(super) fn met_in<const D: usize, const E: usize>(
    piece: &Piece<D>,
    events: &impl Events<D, E>,
    which: usize,
    samples: &[Sample],
    found: &mut Vec<Met<D>>,
) {
    let watched = events.watched()[which];
    let value = |time: f64| {
        let there = piece.at(time);
        events.values::<f64>(time, &there.position, &there.velocity)[which]
    };
    for pair in samples.windows(2) {
        let [(from, before), (to, after)] = [pair[0], pair[1]];
        // A zero at the start of an interval belongs to the interval before it.
        let rising = before < 0.0 && after >= 0.0;
        let falling = before > 0.0 && after <= 0.0;
        let counts = match watched.crossing {
            Crossing::Rising => rising,
            Crossing::Falling => falling,
            Crossing::Either => rising || falling,
        };
        if !counts {
            continue;
        }
        // The polynomial's values at the ends may differ from the samples by a rounding: then the event is at that end.
        let time = root::bracketed(value, from, to, 0.0).unwrap_or(if before.abs() < after.abs() { from } else { to });
        found.push(Met { which, rising, point: piece.at(time) });
    }
}
