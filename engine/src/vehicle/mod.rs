//! The craft: masses, engines, stages.
//!
//! A vehicle is a list of stages in the order in which they leave, from the pad to the tip; a stage that has run dry is left behind when the next
//! one fires. Stages may stand beside others and burn with them, and may feed them; they may carry other vehicles. The short form (dry mass,
//! propellant, specific impulse, thrust) is a stack of one stage; files are told of in docs/vehicles.md.

mod change;
mod check;
mod engine;
mod equipment;
mod error;
mod failure;
mod file;
mod ignition;
mod ladder;
mod nozzle;
mod phase;
mod powered;
mod purse;
pub mod sizing;
mod split;
pub mod split_search;
mod stack;
mod stage;

pub use change::Change;
pub use engine::Engine;
pub use equipment::{Battery, Chute, ChuteKind, Equipment, Fairing, Float, HeatShield, Hull, Legs, Panel};
pub use error::VehicleError;
pub use failure::Failure;
pub use file::includes;
pub use ladder::{Rung, Spending, Step};
pub use nozzle::Nozzle;
pub use powered::{Left, Powered};
pub use purse::{Demand, Paid, Purses, Reserve};
pub use split::Sort;
pub use stack::Vehicle;
pub use stage::{Mount, Stage};
