//! The craft: masses, engines, stages.
//!
//! A vehicle is a stack of stages that burn in order, from the first to the last; a stage that has run dry is left behind
//! when the next one fires. The short form (dry mass, propellant, specific impulse, thrust) is a stack of one stage.

mod error;
mod ladder;
mod stack;
mod stage;

pub use error::VehicleError;
pub use ladder::{Rung, Spending, Step};
pub use stack::{Change, Vehicle};
pub use stage::Stage;
