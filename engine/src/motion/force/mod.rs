//! Forces as values: gravity, the air, thrust; and what a flight among them is watched for.
//!
//! Everything is in inertial axes of the body's centre, SI. [`Surroundings`] are what a body does to whatever moves near it, [`Craft`] what
//! a craft does by itself; both are plain values, made once and used for any number of flights. Each law is written once over lanes.

mod attitude;
mod craft;
mod field;
mod gravity;
mod ground;
mod quantity;
mod surroundings;
mod triple;

pub use attitude::Attitude;
pub use craft::{Craft, Drag, Throttle, Thrust};
pub use field::{Forces, Sight};
pub use gravity::Gravity;
pub use ground::Ground;
pub use quantity::{MOST_STOPS, Quantity, Stop};
pub use surroundings::Surroundings;

pub(super) use quantity::Stops;
