//! The conservation laws every leg is held against.
//!
//! An audit takes what a leg left behind (states, masses, epochs) and works the laws out again, by other formulas than
//! those that flew it. Each entry carries its residual, the bound that rounding and conditioning allow, and a verdict.
//! A bound is derived beside the function that uses it, never chosen so that a flight passes.

mod asymptote;
mod burn;
mod clock;
mod coast;
mod crossing;
mod entry;
mod flight;
mod joint;
mod law;
mod rounding;
mod separation;

pub use asymptote::{Asymptote, Side};
pub use burn::{rocket_equation, velocity_change};
pub use clock::clock;
pub use coast::{Sample, coast};
pub use crossing::{Crossing, crossing, flyby};
pub use entry::{Audit, Entry, Verdict};
pub use flight::{Flight, flight, vehicle_mass};
pub use joint::{place_between, time_between};
pub use law::Law;
pub use rounding::propagation_error;
pub use separation::{Moved, joined_place, mass, momentum};
