//! On and under water: what floats and how it stands; what sinks, how fast, and whether its hull bears it.
//!
//! Afloat: [`FloatingCraft`] (hulls, weights, tanks, points) answers [`Floating`], righting curves, attitudes, what to keep in the tanks.
//! Under water: [`dive`] flies a released body down and up through a [`crate::system::Sea`]. docs/afloat.md and docs/diving.md tell the methods.
//! Figures for study and rehearsal: diving and pressure work follow licensed practice and local codes.

mod craft;
mod error;
mod floating;
mod heel;
mod quadrature;
mod reserve;
mod solid;

pub use craft::{FloatingCraft, Point, Tank, Weight};
pub use error::SeaFlightError;
pub use floating::{Floating, PointAbove, Stance, Water, free_surface_loss, heave_period, roll_period};
pub use heel::{Attitude, Heel, RightingCurve, wall_sided_arm};
pub use reserve::{DeckTilt, Keep, Limit, Remedy, TankDeed};
pub use solid::{Axis, Below, Form, Solid, Waterplane};
