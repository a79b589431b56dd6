//! A tree of bodies, from TOML text: what they are. Where they are is `ephemeris`.
//!
//! A [`System`] is read from a system file (docs/system-files.md) or is one of the two that are built in: `sol` and `velm`.
//! It is a value: cloning is cheap, nothing in it changes. A [`Body`] is a handle into its system.

mod air;
mod air_file;
mod assembly;
mod body;
mod body_file;
mod document;
mod ellipse;
mod error;
mod gravity;
mod path;
#[cfg(test)]
mod refusals;
pub mod sea;
mod sea_file;
mod site;
mod sol;
mod spin;
mod table;
mod tree;

pub use air::{Air, AirState, Layer};
pub use body::Body;
pub use error::{Problem, SystemError};
pub use gravity::Harmonics;
pub use sea::{Sea, SeaLayer, SeaSite};
pub use site::Site;
pub use spin::Spin;
pub use tree::{EphemerisChoice, Ring, System};

pub(crate) use document::{Fields, Located};
pub(crate) use error::nearest;
pub(crate) use path::{PackPlace, Path};
pub(crate) use sol::EARTH_MOON_RATIO;
