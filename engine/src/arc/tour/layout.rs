//! The unknowns of a tour: which number of the search means what.

use super::itinerary::{Itinerary, LegKind};
use std::f64::consts::PI;

/// What an unknown is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Unknown {
    /// Departure after the beginning of the span, s.
    Departure,
    /// Time of a leg, s.
    Time(usize),
    /// Excess speed at departure, m/s.
    Speed,
    /// Direction of the excess velocity at departure: turn, rise.
    Direction,
    /// Share of a leg before its burn.
    Share(usize),
    /// Periapsis of the pass before a leg, 0 to 1 on a logarithmic scale between its bounds.
    Height(usize),
    /// Plane of the bend before a leg, rad.
    Angle(usize),
    /// Angle of the crank of a resonant leg, rad.
    Crank(usize),
}

/// The unknowns in order, and where those of each leg begin.
#[derive(Debug, Clone)]
pub(super) struct Layout {
    pub(super) unknowns: Vec<Unknown>,
    pub(super) bounds: Vec<(f64, f64)>,
    /// Index of the first unknown of each leg besides its time.
    pub(super) own: Vec<usize>,
}

impl Layout {
    /// - `span`: of departures, s. `times`: of each leg, s. `speeds`: least and greatest excess speed at departure, m/s.
    pub(super) fn new(itinerary: &Itinerary, span: f64, times: &[(f64, f64)], speeds: (f64, f64)) -> Self {
        let mut layout = Self { unknowns: vec![Unknown::Departure], bounds: vec![(0.0, span)], own: Vec::new() };
        for (leg, time) in times.iter().enumerate() {
            layout.push(Unknown::Time(leg), *time);
        }
        for (leg, kind) in itinerary.kinds.iter().enumerate() {
            layout.own.push(layout.unknowns.len());
            match kind {
                LegKind::Arc => {}
                LegKind::Resonant { .. } => {
                    if leg == 0 {
                        layout.push(Unknown::Speed, speeds);
                    }
                    layout.push(Unknown::Crank(leg), (-PI, PI));
                }
                LegKind::DeepSpace => {
                    if leg == 0 {
                        layout.push(Unknown::Speed, speeds);
                        layout.push(Unknown::Direction, (0.0, 1.0));
                        layout.push(Unknown::Direction, (0.0, 1.0));
                    } else {
                        layout.push(Unknown::Height(leg), (0.0, 1.0));
                        layout.push(Unknown::Angle(leg), (-PI, PI));
                    }
                    layout.push(Unknown::Share(leg), (0.01, 0.99));
                }
            }
        }
        layout
    }

    fn push(&mut self, unknown: Unknown, bounds: (f64, f64)) {
        self.unknowns.push(unknown);
        self.bounds.push(bounds);
    }

    /// An unknown in words; `name` tells the body at the start of a leg.
    pub(super) fn words<'b>(&self, index: usize, name: impl Fn(usize) -> &'b str) -> String {
        match self.unknowns.get(index) {
            None | Some(Unknown::Departure) => "departure".to_owned(),
            Some(Unknown::Time(leg)) => format!("flight time of leg {}", leg + 1),
            Some(Unknown::Speed | Unknown::Direction) => "excess velocity at departure".to_owned(),
            Some(Unknown::Share(leg)) => format!("date of the burn on leg {}", leg + 1),
            Some(Unknown::Height(leg)) => format!("altitude at {}", name(*leg)),
            Some(Unknown::Angle(leg)) => format!("plane of the pass at {}", name(*leg)),
            Some(Unknown::Crank(leg)) => format!("crank of the resonant leg {}", leg + 1),
        }
    }
}
