//! One rehearsal, leg after leg.
//!
//! A [`Voyage`] is a plain value: a vehicle on an orbit, and the record of what it did to come there. A clone is a branch;
//! it shares the record up to that point at no cost. Every verb works on a copy and replaces the voyage when its leg is
//! complete, so a refused verb leaves the voyage as it was. Every leg brings its row of the ledger and its audit.

mod ascend;
mod audit;
pub mod budget;
mod burn;
mod clearance;
mod coast;
mod correct;
mod course;
mod ending;
mod error;
mod finite;
mod flight;
mod flown;
mod flown_phase;
mod goal;
mod insert;
mod join;
mod leg;
mod outcome;
mod past;
mod profile;
#[cfg(test)]
mod rehearsal;
mod relation;
mod separate;
mod track;
#[expect(clippy::module_inception, reason = "the noun of the module has a file of its own")]
mod voyage;
mod whereabouts;

pub use ascend::{Ascended, Fallen};
pub use clearance::{Clearance, ClearanceOptions, Nearness, clearance};
pub use coast::{TEN_YEARS, WatchedError};
pub use correct::{Correction, CorrectionOptions};
pub use ending::{Ending, Impact, ending, place_on};
pub use error::VoyageError;
pub use finite::{Spread, Thrusting, plan as plan_with_thrust, supply};
pub use flown::{FlightSight, FlownPath, ForcedFlight, Happening};
pub use flown_phase::Phase;
pub use goal::Goal;
pub use insert::Inserted;
pub use join::{JoinLimits, Payer};
pub use leg::{Ledger, Leg, LegKind, Piece, Row};
pub use outcome::{Loss, Outcome};
pub use past::Note;
pub use profile::{FlightProfile, ProfileEvent, ProfilePoint};
pub use relation::{Thing, angle, distance, relative};
pub use separate::{Direction, Manner, Separated, Springs};
pub use track::{Spacing, Track, TrackOptions, TrackPoint};
pub use voyage::{Record, Voyage};
pub use whereabouts::Whereabouts;
