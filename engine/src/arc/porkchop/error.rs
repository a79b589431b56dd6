//! What can be wrong with a question for a grid of dates.

use super::super::plan_error::PlanError;
use crate::ephemeris::EphemerisError;
use crate::time::Epoch;

/// Why a grid, or something read from one, was not found.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum GridError {
    /// A span of departures that does not run forward.
    #[error("the span of departures ends ({to}) before it begins ({from})")]
    Departures {
        /// Begin.
        from: Epoch,
        /// End.
        to: Epoch,
    },
    /// A span of arrivals that does not run forward.
    #[error("the span of arrivals ends ({to}) before it begins ({from})")]
    Arrivals {
        /// Begin.
        from: Epoch,
        /// End.
        to: Epoch,
    },
    /// No arrival lies after any departure.
    #[error("no pair of dates runs forward: the last arrival ({last}) is not after the first departure ({first})")]
    Empty {
        /// Last arrival.
        last: Epoch,
        /// First departure.
        first: Epoch,
    },
    /// Flight times that are no interval of positive times.
    #[error("flight times from {least_d:.3} d to {most_d:.3} d are no interval of positive times")]
    FlightTimes {
        /// Least, days.
        least_d: f64,
        /// Most, days.
        most_d: f64,
    },
    /// Steps or counts that give no grid of at least two by two dates.
    #[error("a grid needs two dates or more on each side, got {departures} departures by {others} {what}")]
    TooFew {
        /// Dates of departure.
        departures: usize,
        /// Dates on the other side.
        others: usize,
        /// What the other side counts.
        what: &'static str,
    },
    /// A step that is not a positive time.
    #[error("a step of {step_s} s is not a positive time")]
    Step {
        /// As given, s.
        step_s: f64,
    },
    /// More than memory should be asked for.
    #[error(
        "{departures} by {others} pairs of dates on {sheets} branches are {arcs:.1e} arcs; a grid holds at most {most:.1e}"
    )]
    TooLarge {
        /// Dates of departure.
        departures: f64,
        /// Dates on the other side.
        others: f64,
        /// Branches of each pair.
        sheets: usize,
        /// Arcs asked for.
        arcs: f64,
        /// Most that a grid holds.
        most: f64,
    },
    /// More revolutions than anybody flies.
    #[error("{revolutions} whole revolutions are more than the {most} that a grid keeps branches of")]
    Revolutions {
        /// As given.
        revolutions: u32,
        /// Most.
        most: u32,
    },
    /// One end is the body the other one goes round.
    #[error("`{about}` is itself one end of the trip: a grid needs two bodies that both go round a third")]
    Central {
        /// The central body.
        about: String,
    },
    /// No pair of dates has an arc.
    #[error("no arc joins `{from}` and `{to}` on any pair of these dates")]
    NoArc {
        /// Departure body.
        from: String,
        /// Arrival body.
        to: String,
    },
    /// A branch that the grid does not hold.
    #[error("the grid holds no branch with {revolutions} revolutions there; it was made with at most {most}")]
    NoSheet {
        /// Asked for.
        revolutions: u32,
        /// Held.
        most: u32,
    },
    /// Dates outside the grid.
    #[error("{epoch} and {flight_d:.3} d of flight lie outside the grid")]
    Outside {
        /// Departure asked for.
        epoch: Epoch,
        /// Flight time asked for, days.
        flight_d: f64,
    },
    /// A measure that this grid does not have.
    #[error("the grid was made without an arrival orbit, so it holds no arrival Δv")]
    NoArrival,
    /// A level that is not a finite number above zero.
    #[error("a level must be a number above zero, got {value}")]
    Level {
        /// As given, SI.
        value: f64,
    },
    /// Stopped from outside.
    #[error("the grid was stopped")]
    Stopped,
    /// What the planners between bodies refuse.
    #[error(transparent)]
    Plan(Box<PlanError>),
}

impl From<PlanError> for GridError {
    fn from(error: PlanError) -> Self {
        Self::Plan(Box::new(error))
    }
}

impl From<EphemerisError> for GridError {
    fn from(error: EphemerisError) -> Self {
        Self::Plan(Box::new(error.into()))
    }
}
