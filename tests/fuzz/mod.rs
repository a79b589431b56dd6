//! The fuzzer: mutates a corpus of scripts, system files and input values, and feeds them to the public doors.
//!
//! A door must answer anything with a value or a diagnostic: no panic, no hang. What breaks it becomes a corpus file.

mod campaign;
mod corpus;
mod mutate;

pub use campaign::{Campaign, Failure, Tally};
pub use corpus::{Corpus, Kind};
