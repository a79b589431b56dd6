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
        "{why} at pass {pass} is to blame: the best tour found passes `{body}` {:.0} km below the least of {:.0} km",
        short_by_m / 1e3, least_m / 1e3
    )]
    TooLow {
        /// Body passed.
        body: String,
        /// Which pass, from 1.
        pass: usize,
        /// What the bound comes from, in words.
        why: &'static str,
        /// Least altitude, m.
        least_m: f64,
        /// least − needed, m.
        short_by_m: f64,
    },
    /// A pass that would have to be higher than allowed.
    #[error(
        "the greatest altitude at pass {pass} is to blame: the best tour found passes `{body}` {:.0} km above the most of {:.0} km",
        over_by_m / 1e3, most_m / 1e3
    )]
    TooHigh {
        /// Body passed.
        body: String,
        /// Which pass, from 1.
        pass: usize,
        /// Greatest altitude, m.
        most_m: f64,
        /// needed − most, m.
        over_by_m: f64,
    },
    /// Bounds of a pass that leave nothing.
    #[error(
        "passes at `{body}` have no room: the least altitude that ground, air, ring and options leave is {:.0} km, {:.0} km above \
         the most of {:.0} km", least_m / 1e3, short_by_m / 1e3, most_m / 1e3
    )]
    NoRoom {
        /// Body to be passed.
        body: String,
        /// m.
        least_m: f64,
        /// m.
        most_m: f64,
        /// least − most, m.
        short_by_m: f64,
    },
    /// A departure faster than allowed.
    #[error(
        "the greatest excess speed at `{from}` is to blame: the best tour found needs {:.3} km/s more than {:.3} km/s",
        over_m_s / 1e3, most_m_s / 1e3
    )]
    TooFast {
        /// The first body.
        from: String,
        /// As given, m/s.
        most_m_s: f64,
        /// needed − most, m/s.
        over_m_s: f64,
    },
    /// Too little energy for the next body, whatever the dates.
    #[error(
        "the energy is to blame: with v-infinity of at most {:.3} km/s at `{at}`{pass}, `{to}` is out of reach; that takes {:.3} km/s, \
         {:.3} km/s more (Tisserand's criterion)",
        most_m_s / 1e3, least_m_s / 1e3, (least_m_s - most_m_s) / 1e3
    )]
    Energy {
        /// Where the way ends.
        at: String,
        /// ` (pass 2)`, or nothing at the departure.
        pass: String,
        /// What is not reached.
        to: String,
        /// Greatest excess speed there, m/s.
        most_m_s: f64,
        /// Least that reaches the next orbit, m/s.
        least_m_s: f64,
    },
    /// Energy enough, but no pass bends the way far enough.
    #[error(
        "the bend is to blame: at `{at}`{pass} the excess speed, up to {:.3} km/s, would reach `{to}`, but no pass above the least altitude \
         turns the way towards it", most_m_s / 1e3
    )]
    Bend {
        /// Where the way ends.
        at: String,
        /// ` (pass 2)`, or nothing at the departure.
        pass: String,
        /// What is not reached.
        to: String,
        /// Greatest excess speed there, m/s.
        most_m_s: f64,
    },
    /// No sequence of the bodies reaches the goal.
    #[error(
        "no sequence of up to {at_most} passes has the energy to reach `{to}` ({tried} looked at); the best way out: {why}"
    )]
    NoSequence {
        /// The last body.
        to: String,
        /// As asked.
        at_most: usize,
        /// Sequences and beginnings of sequences looked at.
        tried: usize,
        /// The refusal of the plainest one.
        why: String,
    },
    /// More sequences than can be looked at.
    #[error("{bodies} bodies in up to {at_most} passes are too many sequences: more than {limit} have the energy")]
    TooManySequences {
        /// To choose from.
        bodies: usize,
        /// As asked.
        at_most: usize,
        /// How many are looked at.
        limit: usize,
    },
    /// An altitude for a body that is not passed.
    #[error("`altitudes` names `{name}`, which this tour does not pass")]
    NotPassed {
        /// As given.
        name: String,
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
