//! The phases of a flight under forces.

use super::Happening;
use crate::motion::force::Craft;
use crate::motion::passage::Flown;

/// A part of a flight in which the craft does one thing: its engines, its shape and its mass, but for propellant, stay.
#[derive(Debug, Clone, PartialEq)]
pub struct Phase {
    /// When it begins, s on the clock of the flight.
    pub start: f64,
    /// When it ends, s.
    pub end: f64,
    /// What the craft does.
    pub craft: Craft,
    /// Its stretches in the thinned flight: first, and one behind the last.
    pub(super) stretches: (usize, usize),
}

/// The phases of a flight: a new one begins where the craft does something else or leaves mass behind.
pub(super) fn phases(flown: &Flown, happenings: &[Happening]) -> Vec<Phase> {
    let mut phases: Vec<Phase> = Vec::new();
    let mut count = 0;
    let flying = flown.stretches.iter().filter(|stretch| !stretch.trajectory.pieces().is_empty());
    for (index, stretch) in flying.enumerate() {
        let start = stretch.trajectory.pieces()[0].start.time;
        let end = stretch.trajectory.end().time;
        let dropped = happenings.iter().any(|seen| seen.dropped > 0.0 && seen.time == start);
        match phases.last_mut().filter(|last| last.craft == stretch.craft && !dropped) {
            Some(last) => (last.end, last.stretches.1) = (end, index + 1),
            None => phases.push(Phase { start, end, craft: stretch.craft, stretches: (index, index + 1) }),
        }
        count += 1;
    }
    debug_assert!(phases.last().is_none_or(|last| last.stretches.1 == count), "every stretch is in a phase");
    phases
}
