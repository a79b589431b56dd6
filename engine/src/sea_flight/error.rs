//! What can be wrong with a question about floating or diving. That a craft sinks, rolls over or is crushed is an answer, not an error.

use crate::motion::IntegrationError;

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SeaFlightError {
    /// A measure that must be a positive finite number, or a finite one.
    #[error("the {what} is {value}, which no solid has")]
    Measure {
        /// Which one.
        what: &'static str,
        /// As given, SI.
        value: f64,
    },
    /// A figure out of the range in which it means anything.
    #[error("{what} is {value}; it must be {needs}")]
    Figure {
        /// Which one.
        what: &'static str,
        /// As given, SI.
        value: f64,
        /// In words.
        needs: &'static str,
    },
    /// A figure of a named part that means nothing.
    #[error("{what} of `{part}` is {value}; it must be {needs}")]
    Part {
        /// The part's name.
        part: String,
        /// Which figure.
        what: &'static str,
        /// As given, SI.
        value: f64,
        /// In words.
        needs: &'static str,
    },
    /// More liquid than a tank holds.
    #[error("`{tank}` holds {capacity_kg:.3} kg at most, not {mass_kg:.3} kg")]
    TankOverfull {
        /// The tank's name.
        tank: String,
        /// kg.
        mass_kg: f64,
        /// kg.
        capacity_kg: f64,
    },
    /// A name that the craft has not.
    #[error("there is no {kind} called `{name}`")]
    NoSuch {
        /// Tank, point or weight.
        kind: &'static str,
        /// As asked.
        name: String,
    },
    /// Nothing that displaces water.
    #[error("nothing of this craft displaces water: it has neither floats nor a hull")]
    NoHull,
    /// A search over too many tanks.
    #[error("{tanks} tanks are more than the {most} that a search over flooding and venting takes")]
    TooManyTanks {
        /// How many.
        tanks: usize,
        /// The most.
        most: usize,
    },
    /// A start below the floor, or below what the sea is said to be.
    #[error("a depth of {depth_m} m lies outside the {from_m} m to {to_m} m of this water")]
    Depth {
        /// m.
        depth_m: f64,
        /// m.
        from_m: f64,
        /// m.
        to_m: f64,
    },
    /// No figure within the bounds does it.
    #[error("no {what} from {low} to {high} gives that")]
    NoSizing {
        /// What was sought.
        what: &'static str,
        /// Least tried, SI.
        low: f64,
        /// Greatest tried, SI.
        high: f64,
    },
    /// The motion could not be followed.
    #[error("the dive cannot be followed: {0}")]
    Motion(#[from] IntegrationError),
}
