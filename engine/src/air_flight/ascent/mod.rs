//! From the pad to an orbit: vertical rise, pitch-over, gravity turn, closed-loop steering, coast and closing burn.
//!
//! [`ascend`] flies a vehicle under the forces of `motion::force`, stage by stage, and finds what is free for the greatest mass in orbit. [`azimuth`] tells the
//! way to pitch over, [`Guidance`] steers, [`Ascent`] tells what the speed was lost to.
//!
//! Figures for study: launches are for licensed operators under their authority's range safety.

mod ascend;
mod azimuth;
mod climb;
mod error;
mod flight;
mod gravity_turn;
mod guidance;
mod insertion;
mod launch_time;
mod linear_tangent;
#[cfg(test)]
mod rehearsal;
mod report;
mod settings;
mod stretch;
mod suborbital;
mod target;

pub use ascend::{Task, Way, ascend, ascend_once};
pub use azimuth::{Azimuth, azimuth, heading};
pub use error::AscentError;
pub use flight::{Drop, Event, TOLERANCE};
pub use gravity_turn::{GravityTurn, Turned};
pub use guidance::{Command, Cutoff, Guidance};
pub use launch_time::{PlanePassage, plane_passages};
pub use linear_tangent::{FlatTask, LinearTangent};
pub use report::{Ascent, Miss, Phase};
pub use settings::{Entry, Settings};
pub use stretch::{Integrals, Stretch};
pub use suborbital::{Suborbital, suborbital};
pub use target::{Plane, Target};
