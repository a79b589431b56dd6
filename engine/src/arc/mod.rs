//! Lambert's problem, transfers, windows, approach, flyby.

pub mod approach;
mod flight_time;
pub mod flyby;
pub mod lambert;
pub mod shoot;
