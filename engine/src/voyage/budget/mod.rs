//! The budget before a vehicle: Δv leg by leg for a journey named by its places, with the margin that practice asks of each.
//!
//! Dates and burns of the cruise come from the window search; what has a closed form is computed; what hangs on a vehicle that is
//! not there yet (ascent, landing) is estimated and says so, with its method. Beside stand the ways that could be cheaper.

mod aerobraking;
mod assist;
mod beside;
mod journey;
mod surface;

pub use aerobraking::{Aerobraking, aerobraking};
pub use beside::{Beside, BesideRow};
pub use journey::budget;
pub use surface::{Estimate, ascent, landing};

use crate::arc::window::Window;
use crate::arc::{ArrivalOrbit, AssistError, PlanError};
use crate::burn::BurnError;
use crate::ephemeris::EphemerisError;
use crate::system::Body;
use crate::time::Epoch;

/// Why there is no budget.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BudgetError {
    /// No opportunity in the span.
    #[error("no window from `{from}` to `{to}` between {first} and {last}: {why}")]
    NoWindow {
        /// Name.
        from: String,
        /// Name.
        to: String,
        /// First departure looked at.
        first: Epoch,
        /// Last.
        last: Epoch,
        /// What the search says.
        why: String,
    },
    /// A figure that cannot be.
    #[error("{what} must not be below zero or without bound, got {value}")]
    Negative {
        /// Which one, with its unit.
        what: &'static str,
        /// As given, SI.
        value: f64,
    },
    /// A stay that ends before it begins.
    #[error("the stay's longest time, {longest_s} s, is below its shortest, {shortest_s} s")]
    Stay {
        /// s.
        shortest_s: f64,
        /// s.
        longest_s: f64,
    },
    /// No ground.
    #[error("`{body}` has no ground to start from or land on")]
    NoGround {
        /// Name.
        body: String,
    },
    /// A window cannot be planned.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// A burn has no closed form there.
    #[error(transparent)]
    Burn(#[from] BurnError),
    /// A body's place is not known there.
    #[error(transparent)]
    Ephemeris(#[from] EphemerisError),
    /// A moon's assist stopped.
    #[error(transparent)]
    Assist(#[from] AssistError),
}

/// How well a figure is known; each has its margin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Basis {
    /// From a planned trajectory.
    Computed,
    /// A closed form with stated losses.
    Estimate,
    /// Set aside for what is not computed.
    Allowance,
}

impl Basis {
    /// A word for tables.
    pub fn word(self) -> &'static str {
        match self {
            Self::Computed => "computed",
            Self::Estimate => "estimate",
            Self::Allowance => "allowance",
        }
    }
}

/// Margins as parts of the Δv.
///
/// # Source
/// [ESA2012], section 2.3: 5 % on accurately calculated manoeuvres (R-DV-11); 100 % on what is not analytically derived (R-DV-12). The
/// margin on closed forms with stated losses, 10 %, is common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margins {
    /// On what is computed.
    pub computed: f64,
    /// On estimates.
    pub estimate: f64,
    /// On allowances.
    pub allowance: f64,
}

impl Default for Margins {
    fn default() -> Self {
        Self { computed: 0.05, estimate: 0.10, allowance: 1.0 }
    }
}

impl Margins {
    fn of(&self, basis: Basis) -> f64 {
        match basis {
            Basis::Computed => self.computed,
            Basis::Estimate => self.estimate,
            Basis::Allowance => self.allowance,
        }
    }
}

/// How a journey ends at home.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Home {
    /// Straight into the air, at this altitude (m) of the entry.
    Entry {
        /// m.
        altitude: f64,
    },
    /// Into an orbit.
    Orbit(ArrivalOrbit),
}

/// The way back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Back {
    /// Shortest and longest stay, s; from none to one synodic period when `None`.
    pub stay: Option<(f64, f64)>,
    /// How it ends.
    pub home: Home,
}

/// A journey named by its places.
#[derive(Debug, Clone, PartialEq)]
pub struct JourneyOptions {
    /// First and last departure.
    pub between: (Epoch, Epoch),
    /// Least and most time of flight of the way there, s.
    pub flight_time: Option<(f64, f64)>,
    /// Altitude of the circle that is departed from, m.
    pub parking_altitude: f64,
    /// The orbit arrived in.
    pub arrival: ArrivalOrbit,
    /// Inclination of that orbit to the target's equator, rad.
    pub inclination: Option<f64>,
    /// From the ground up at the start.
    pub launch: bool,
    /// Down to the ground at the target, and up again where there is a way back.
    pub landing: bool,
    /// The way back.
    pub back: Option<Back>,
    /// Allowance for corrections, m/s for each cruise.
    pub corrections: f64,
    /// Apoapsis altitude (m) of the loose ellipse before aerobraking; a tenth of the sphere of influence when `None`.
    pub loose_apoapsis: Option<f64>,
    /// The margins.
    pub margins: Margins,
}

/// Allowance for the corrections of a cruise, m/s: common practice, no source, for interplanetary cruises without a flyby.
pub const CORRECTIONS: f64 = 50.0;

impl JourneyOptions {
    /// One way, orbit to orbit, everything else by default.
    pub fn new(between: (Epoch, Epoch), parking_altitude: f64, arrival: ArrivalOrbit) -> Self {
        Self {
            between,
            flight_time: None,
            parking_altitude,
            arrival,
            inclination: None,
            launch: false,
            landing: false,
            back: None,
            corrections: CORRECTIONS,
            loose_apoapsis: None,
            margins: Margins::default(),
        }
    }
}

/// One leg's Δv.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What it is for.
    pub name: String,
    /// m/s.
    pub dv: f64,
    /// How well it is known.
    pub basis: Basis,
    /// Part of the Δv that is added.
    pub margin: f64,
    /// How it was found.
    pub how: String,
    /// When it begins.
    pub start: Epoch,
    /// When it ends; the same for a burn.
    pub end: Epoch,
    /// Words by which a voyage's leg is taken for this line.
    pub(crate) words: &'static [&'static str],
}

impl Line {
    /// Margin, m/s.
    pub fn margin_dv(&self) -> f64 {
        self.dv * self.margin
    }

    /// Δv with its margin, m/s.
    pub fn with_margin(&self) -> f64 {
        self.dv + self.margin_dv()
    }
}

/// A cheaper way for one or some of the lines.
#[derive(Debug, Clone, PartialEq)]
pub struct Alternative {
    /// Which way.
    pub name: String,
    /// The lines that it stands for.
    pub replaces: Vec<String>,
    /// What it costs, m/s.
    pub dv: f64,
    /// What it saves, m/s; below zero where it is dearer.
    pub saves: f64,
    /// How it was found.
    pub how: String,
}

/// A journey's Δv, leg by leg.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    /// Where it begins.
    pub from: Body,
    /// Where it leads.
    pub to: Body,
    /// In the order of flying.
    pub lines: Vec<Line>,
    /// What could be cheaper.
    pub alternatives: Vec<Alternative>,
    /// The way there.
    pub outward: Window,
    /// The way back.
    pub homeward: Option<Window>,
    /// Speed at the entry at home, m/s, inertial.
    pub entry_speed: Option<f64>,
}

impl Budget {
    /// Sum of the lines, m/s.
    pub fn dv(&self) -> f64 {
        self.lines.iter().map(|line| line.dv).sum()
    }

    /// Sum of the lines with their margins, m/s.
    pub fn with_margin(&self) -> f64 {
        self.lines.iter().map(Line::with_margin).sum()
    }

    /// The most that one alternative saves, m/s.
    pub fn saving(&self) -> Option<&Alternative> {
        self.alternatives.iter().filter(|way| way.saves > 0.0).max_by(|a, b| a.saves.total_cmp(&b.saves))
    }

    /// From the first line's start to the last one's end, s.
    pub fn time(&self) -> f64 {
        match (self.lines.first(), self.lines.last()) {
            (Some(first), Some(last)) => last.end.seconds_since(first.start),
            _ => 0.0,
        }
    }

    /// A line by its name.
    pub fn line(&self, name: &str) -> Option<&Line> {
        self.lines.iter().find(|line| line.name == name)
    }
}

pub(crate) fn positive(what: &'static str, value: f64) -> Result<f64, BudgetError> {
    if value >= 0.0 && value.is_finite() { Ok(value) } else { Err(BudgetError::Negative { what, value }) }
}
