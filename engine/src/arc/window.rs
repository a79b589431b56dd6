//! A launch window: one opportunity with its dates, burn, costs, and why it stands where it stands.

use super::capture::ArrivalPlane;
use super::parking::{ArrivalOrbit, Parking};
use super::transfer::Arc;
use super::verdict::Plan;
use crate::burn::Burn;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// By what windows are told better from worse.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rank {
    /// Δv of the departure burn.
    Departure,
    /// Δv of the arrival burn. Without an arrival orbit: the least burn that captures, into a parabola at the arrival periapsis.
    Arrival,
    /// Δv of departure and arrival together. Without an arrival orbit the arrival counts as the least burn that captures: into
    /// a parabola at the arrival periapsis.
    Total,
    /// C3, twice the energy at departure.
    C3,
    /// Time of flight, among the opportunities that are least in Δv.
    Time,
    /// Excess speed at departure and this many times the one at arrival: no orbit at either end enters.
    Excess {
        /// Weight of the arrival's excess speed.
        arrival_weight: f64,
    },
}

/// What `windows` is asked.
#[derive(Debug, Clone, PartialEq)]
pub struct WindowOptions {
    /// First and last departure looked at.
    pub between: (Epoch, Epoch),
    /// Least and most time of flight, s. Default: 0.4 to 2.2 times half the ellipse between the two orbits (Hohmann's): faster
    /// arcs cost several times as much, slower ones pass the goal's orbit and come back; with revolutions, twice half the ellipse more
    /// for each.
    pub flight_time: Option<(f64, f64)>,
    /// What is departed from.
    pub parking: Parking,
    /// What is arrived in; none for a pass at the default periapsis.
    pub arrival: Option<ArrivalOrbit>,
    /// Plane of the arrival.
    pub plane: ArrivalPlane,
    /// Order of the answer; default total when an arrival orbit is given, else departure.
    pub rank: Option<Rank>,
    /// Most whole revolutions about the common body; both branches of each number are searched.
    pub revolutions: u32,
    /// Whether arcs that change their plane on the way are looked for.
    pub broken_planes: bool,
    /// Whether each burn is shot in the patched-conic model until the aim is met.
    pub shoot: bool,
}

impl WindowOptions {
    /// Departures between two epochs from a circular orbit at an altitude (m), all else as the defaults have it.
    pub fn new(between: (Epoch, Epoch), parking_altitude: f64) -> Self {
        Self {
            between,
            flight_time: None,
            parking: Parking::Altitude(parking_altitude),
            arrival: None,
            plane: ArrivalPlane::LeastInclined,
            rank: None,
            revolutions: 0,
            broken_planes: true,
            shoot: true,
        }
    }

    /// The order that holds: the one asked for, or the default.
    pub fn ranking(&self) -> Rank {
        self.rank.unwrap_or(if self.arrival.is_some() { Rank::Total } else { Rank::Departure })
    }
}

/// What a burn brings about, by estimate or flown in the model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures {
    /// Size of the departure burn, m/s.
    pub dv: f64,
    /// Excess speed at departure, m/s.
    pub v_inf_depart: Option<f64>,
    /// Excess speed at arrival, m/s.
    pub v_inf_arrive: Option<f64>,
    /// Periapsis epoch at the goal.
    pub arrive: Epoch,
    /// Periapsis radius at the goal, m.
    pub periapsis_radius: f64,
    /// Periapsis radius less the wanted one, m.
    pub periapsis_miss: f64,
}

/// A burn on the way that turns the plane of the arc to the goal.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaneChange {
    /// The burn, planned about the common body.
    pub burn: Burn,
    /// Angle from it to the arrival, rad.
    pub angle: f64,
    /// By how much the plane turns, rad.
    pub tilt: f64,
    /// Cost in the search's measure (m/s) of the same dates with the change 90° before arrival.
    pub at_right_angle: f64,
    /// Cost of the unbroken arc on the same dates.
    pub unbroken: Option<f64>,
    /// Cost of the best unbroken minimum of the same opportunity.
    pub rival: Option<f64>,
}

/// One opportunity.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    /// Epoch of the departure burn.
    pub depart: Epoch,
    /// Periapsis epoch at the goal.
    pub arrive: Epoch,
    /// The body left.
    pub from: Body,
    /// The body reached.
    pub to: Body,
    /// The arc between them, aims at both ends included.
    pub arc: Arc,
    /// The orbit departed from, at the burn.
    pub parking: Orbit,
    /// The departure burn.
    pub burn: Burn,
    /// At periapsis about the goal.
    pub arrival: Orbit,
    /// The aim at the goal, m from its centre, at right angles to the arriving asymptote.
    pub aim: Option<Vec3>,
    /// Twice the energy about the body left, m²/s².
    pub c3: f64,
    /// Excess velocity about the body left, m/s, inertial.
    pub v_inf_depart: Option<Vec3>,
    /// Excess velocity about the body reached, m/s, inertial.
    pub v_inf_arrive: Option<Vec3>,
    /// Declination of the departure asymptote to the equator of the body left, rad.
    pub declination: Option<f64>,
    /// By how much the goal is ahead of the start at departure, in the start's plane of motion, rad, −π to π.
    pub phase_angle: Option<f64>,
    /// Δv of the departure burn, m/s.
    pub dv_departure: f64,
    /// The burn on the way that changes the plane, where the arc is broken. `arc.orbit` is then the conic before it.
    pub plane_change: Option<PlaneChange>,
    /// Δv of the arrival burn, m/s, when an arrival orbit was asked for.
    pub dv_arrival: Option<f64>,
    /// All together, m/s.
    pub dv_total: f64,
    /// From departure to arrival, s.
    pub flight_time: f64,
    /// The cost in the search's own measure, centre to centre (m/s, or m²/s² for C3).
    pub cost: f64,
    /// Dates of the search's minimum: ends of the central arc.
    pub dates: (Epoch, Epoch),
    /// Whether the minimum lies on an end of the span of departures, or of the flight times.
    pub on_bound: [bool; 2],
    /// From the arc centre to centre.
    pub estimate: Figures,
    /// The burn flown in the patched-conic model; none where the search was told not to shoot, or where it did not close
    /// (`why` says so).
    pub flown: Option<Figures>,
    /// Why it stands where it stands.
    pub why: String,
    /// What it takes to fly it in the model.
    pub(super) plan: Box<Plan>,
}

/// The answer of a search.
#[derive(Debug, Clone, PartialEq)]
pub struct Windows {
    /// Opportunities, best first.
    pub list: Vec<Window>,
    /// Step of the grid over departures and over flight times, s.
    pub step: (f64, f64),
    /// Least and most flight time that was looked at, s.
    pub flight_time: (f64, f64),
    /// Pairs of dates looked at.
    pub cells: usize,
    /// Why the list is empty, or what was left out.
    pub note: Option<String>,
}
