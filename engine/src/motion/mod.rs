//! How a craft moves: the patched-conic model, in which spheres of influence are joined by the asymptotes of hyperbolas.

pub mod conics;
mod error;
mod patch;

pub use error::MotionError;
pub use patch::Patch;
