//! A conic about a body: the shape a practitioner asks for, what can be read off it, and what comes next on it.

mod encounter;
mod error;
mod event;
#[expect(clippy::module_inception, reason = "the noun of the module has a file of its own")]
mod orbit;
mod shape;

pub use encounter::Encounter;
pub use error::OrbitError;
pub use event::Event;
pub use orbit::Orbit;
pub use shape::{Anomaly, Placement, Shape};
