//! The last few states of a body that a descent asked for: its differences ask for the same dates again and again.

use crate::conic::State;
use crate::system::Body;
use crate::time::Epoch;

/// How many dates are kept: those of one stencil.
const KEPT: usize = 8;

/// A body whose last states are kept. Answers are those of the ephemeris, to the bit.
pub(super) struct KeptStates<'a> {
    body: &'a Body,
    begin: Epoch,
    dates: [f64; KEPT],
    states: [Option<State>; KEPT],
    next: usize,
}

impl<'a> KeptStates<'a> {
    /// States of `body` at seconds past `begin`.
    pub(super) fn of(body: &'a Body, begin: Epoch) -> Self {
        Self { body, begin, dates: [f64::NAN; KEPT], states: [None; KEPT], next: 0 }
    }

    /// The state so many seconds past the begin; none outside the ephemeris.
    pub(super) fn at(&mut self, seconds: f64) -> Option<State> {
        if let Some(place) = self.dates.iter().position(|date| *date == seconds) {
            return self.states[place];
        }
        let state = self.body.state(self.begin.after(seconds)).ok();
        self.dates[self.next] = seconds;
        self.states[self.next] = state;
        self.next = (self.next + 1) % KEPT;
        state
    }
}
