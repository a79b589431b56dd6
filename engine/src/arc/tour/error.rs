//! Why a tour was not found, and which bound is to blame.

use crate::arc::plan_error::PlanError;
use crate::time::Epoch;

/// Why there is no tour.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TourError {
    /// Bodies that do not circle one parent.
    #[error(
        "a tour joins bodies that circle one parent: `{first}` circles `{first_parent}`, `{second}` circles `{second_parent}`"
    )]
    Parents {
        /// The first body.
        first: String,
        /// Its parent.
        first_parent: String,
        /// The other.
        second: String,
        /// Its parent.
        second_parent: String,
    },
    /// Flight times for another number of legs.
    #[error("{legs} legs need {legs} intervals of flight time, got {given}")]
    FlightTimeCount {
        /// Legs of the tour.
        legs: usize,
        /// Intervals given.
        given: usize,
    },
    /// Too little time between the first departure and the last arrival.
    #[error(
        "the latest arrival is to blame: even the shortest flight times reach `{to}` {late_d:.1} d after {arrive_by}"
    )]
    TooLate {
        /// The last body.
        to: String,
        /// As given.
        arrive_by: Epoch,
        /// By how much, days.
        late_d: f64,
    },
    /// A pass that would have to be lower than allowed.
    #[error(
        "the least altitude is to blame: the best tour found passes `{body}` {short_by_m:.0} m below the least of {least_m:.0} m"
    )]
    TooLow {
        /// Body passed.
        body: String,
        /// Least altitude, m.
        least_m: f64,
        /// least − needed, m.
        short_by_m: f64,
    },
    /// More Δv than allowed.
    #[error(
        "the bound on Δv is to blame: the best tour found needs {dv_m_s:.1} m/s, {over_m_s:.1} m/s more than allowed{at_bounds}"
    )]
    TooMuch {
        /// Least that was found, m/s.
        dv_m_s: f64,
        /// Above the bound, m/s.
        over_m_s: f64,
        /// Dates that press against their bounds, in words; empty when none does.
        at_bounds: String,
    },
    /// The best place found arrives later than allowed.
    #[error("the latest arrival is to blame: the best tour found reaches `{to}` {late_d:.2} d late")]
    Late {
        /// The last body.
        to: String,
        /// By how much, days.
        late_d: f64,
    },
    /// No dates within the bounds gave arcs at all.
    #[error("no dates within the bounds join the bodies: {why}")]
    Nowhere {
        /// What went wrong in the middle of the bounds.
        why: String,
    },
    /// The search was stopped from outside.
    #[error("the search was stopped")]
    Stopped,
    /// What is wrong with an end or a date.
    #[error(transparent)]
    Plan(#[from] PlanError),
}
