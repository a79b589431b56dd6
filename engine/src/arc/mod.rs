//! Lambert's problem, transfers, windows, approach, flyby.

mod flight_time;
pub mod lambert;
