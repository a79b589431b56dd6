//! Burns that take their time: flown with thrust so that they do what their impulses do.
//!
//! Of an engine this floor knows only that it thrusts: a [`Supply`] of phases, each with its force, its exhaust speed and its masses. [`solve`] finds when a
//! burn begins, where it points and how long it lasts, [`split`] does so over several passes; [`estimate`] has the closed forms beside them.

mod cut_off;
mod engine_size;
mod error;
pub mod estimate;
mod flight;
mod open;
mod passes;
mod solve;
mod supply;

pub use cut_off::{CutOff, cut_off};
pub use engine_size::{Carried, Choice, Fitted, Flying, fitted, lightest_engine};
pub use error::FiniteError;
pub use flight::{TOLERANCE, flown_from, state_of};
pub use open::{open, until_energy};
pub use passes::{LONGEST_BETWEEN, MOST_PASSES, Pass, Passes, split, split_within};
pub use solve::{FiniteBurn, Impulse, Law, solve};
pub use supply::{Phase, Share, Supply};
