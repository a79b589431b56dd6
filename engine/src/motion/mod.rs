//! How a craft moves: the patched-conic model, in which spheres of influence are joined by the asymptotes of hyperbolas; and the
//! integration of what no conic tells.
//!
//! An equation of motion is a [`Field`], written once over lanes. [`gauss`] follows smooth stretches, [`explicit`] is the second opinion and for forces
//! with kinks; both give a [`Trajectory`] of polynomials and the [`Events`] met.

pub mod conics;
mod error;
mod event;
pub mod explicit;
mod failure;
mod field;
pub mod force;
pub mod gauss;
pub mod passage;
mod patch;
pub mod thinned;
mod trajectory;

pub use error::MotionError;
pub use event::{Crossing, Events, Met, NoEvents, Watched};
pub use failure::IntegrationError;
pub use field::{Field, Point};
pub use patch::Patch;
pub use thinned::Thinned;
pub use trajectory::{Piece, Trajectory, Work};
