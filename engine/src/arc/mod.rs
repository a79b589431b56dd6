//! Lambert's problem, transfers, windows, approach, flyby.

#![allow(clippy::neg_cmp_op_on_partial_ord, reason = "a comparison is negated so that NaN falls on the refusing side")]

pub mod approach;
pub mod assist;
pub mod assist_chain;
pub mod assist_departure;
mod flight_lanes;
mod flight_root;
mod flight_time;
pub mod flyby;
pub mod flyby_burn;
pub mod lambert;
mod lambert_batch;
mod lambert_block;
mod parabola_series;
pub mod pass_bounds;
pub mod shoot;

mod aimed;
pub mod asymptote;
pub mod broken_plane;
mod broken_search;
pub mod capture;
pub mod climb;
pub mod departure;
pub mod excess;
mod excess_slope;
mod flown;
mod grid;
mod kept_states;
pub mod meet;
pub mod nested;
pub mod parking;
mod plan_error;
pub mod porkchop;
mod price;
mod refine;
pub mod rendezvous;
pub mod return_windows;
pub mod route;
mod search;
pub mod sensitivity;
pub mod tour;
pub mod transfer;
mod triangle;
mod triangle_lanes;
pub mod valley;
mod verdict;
pub mod window;
mod windows;

pub use assist::{
    Assist, AssistError, AssistOptions, AssistRank, Departures, Incoming, capture_by, capture_by_departing,
};
pub use assist_departure::{AssistDeparture, AssistDepartureError, assist_departure};
pub use capture::{ArrivalPlane, Capture, capture};
pub use departure::{Departure, departure};
pub use meet::{Meet, MeetError, MeetOptions, meet};
pub use parking::{ArrivalOrbit, Parking, half_ellipse_between};
pub use plan_error::PlanError;
pub use return_windows::{ReturnOptions, ReturnWindow, return_windows};
pub use transfer::{Arc, Family, TransferOptions, transfer};
pub use window::{Figures, PlaneChange, Rank, Window, WindowOptions, Windows};
pub use windows::{Opportunity, opportunities, windows};
