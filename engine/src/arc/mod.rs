//! Lambert's problem, transfers, windows, approach, flyby.

#![allow(clippy::neg_cmp_op_on_partial_ord, reason = "a comparison is negated so that NaN falls on the refusing side")]

pub mod approach;
mod flight_time;
pub mod flyby;
pub mod lambert;
pub mod shoot;
