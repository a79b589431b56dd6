//! On and under water: what floats and how it stands; what sinks, how fast, and whether its hull bears it.
//!
//! Afloat: [`FloatingCraft`] (hulls, weights, tanks, points) answers [`Floating`], righting curves, attitudes, what to keep in the tanks.
//! Under water: [`dive`] flies a released body down and up through a [`crate::system::Sea`]. docs/afloat.md and docs/diving.md tell the methods.
//! Figures for study and rehearsal: diving and pressure work follow licensed practice and local codes.

pub mod added_mass;
mod breach;
pub mod buoyancy;
mod craft;
mod dive;
mod dive_leg;
mod diver;
mod drag;
mod equipped;
mod error;
mod floating;
mod heel;
pub mod pressure_hull;
mod quadrature;
mod reserve;
pub mod settling;
mod sizing;
pub mod slam;
mod solid;
#[cfg(test)]
mod solid_values;

pub use breach::{Breach, breach};
pub use craft::{FloatingCraft, Point, Tank, Weight};
pub use dive::{Contact, DiveEvent, DiveLimit, DivePlan, Dived, Parent, dive};
pub use dive_leg::{Course, DiveLeg, DivePoint, Ended, fly};
pub use diver::{Diver, Facing};
pub use drag::{BLUFF_BODIES, DragLaw, creeping_disk};
pub use error::SeaFlightError;
pub use floating::{Floating, PointAbove, Stance, Water, free_surface_loss, heave_period, roll_period};
pub use heel::{Attitude, Heel, RightingCurve, wall_sided_arm};
pub use reserve::{DeckTilt, Keep, Limit, Remedy, TankDeed};
pub use sizing::LegStroke;
pub use solid::{Axis, Below, Form, Solid, Waterplane};
