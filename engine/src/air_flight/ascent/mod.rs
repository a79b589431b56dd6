//! From the pad to an orbit: vertical rise, pitch-over, gravity turn, closed-loop steering, coast and closing burn.
//!
//! Figures for study: launches are for licensed operators under their authority's range safety.

mod guidance;
mod linear_tangent;
mod stretch;

pub use guidance::{Command, Cutoff, Guidance};
pub use linear_tangent::{FlatTask, LinearTangent};
pub use stretch::{Integrals, Stretch};
