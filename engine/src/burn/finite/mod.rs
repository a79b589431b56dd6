//! Burns that take their time.

pub mod estimate;
