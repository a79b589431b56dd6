//! The two axes of a grid: departures, and flight times or arrivals.

use super::error::GridError;
use crate::time::Epoch;

/// Seconds in a day, for messages.
pub(super) const DAY: f64 = 86_400.0;

/// What the second axis of a grid runs over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Second {
    /// Least and most time of flight, s.
    FlightTimes(f64, f64),
    /// First and last arrival.
    Arrivals(Epoch, Epoch),
}

/// How finely a grid is ruled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ruling {
    /// Dates on the two axes, both ends included.
    Counts(usize, usize),
    /// Widest steps on the two axes, s; they shrink until both ends are on the grid.
    Steps(f64, f64),
}

/// Evenly spaced values, both ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axis {
    /// The first value, s.
    pub first: f64,
    /// Between neighbours, s.
    pub step: f64,
    /// How many.
    pub count: usize,
    /// The last value, s: as it was asked for, and not what the steps add up to.
    pub end: f64,
}

impl Axis {
    fn ruled(first: f64, last: f64, count: usize) -> Self {
        Self { first, step: (last - first) / (count.max(2) - 1) as f64, count, end: last }
    }

    /// A value by its place, which may lie between two whole ones; s.
    pub fn value(&self, place: f64) -> f64 {
        if place == (self.count - 1) as f64 { self.end } else { self.first + place * self.step }
    }

    /// The last value, s.
    pub fn last(&self) -> f64 {
        self.end
    }

    /// The place of a value; `None` outside of the axis by more than its rounding.
    pub fn place(&self, value: f64) -> Option<f64> {
        let place = (value - self.first) / self.step;
        let most = (self.count - 1) as f64;
        (-1e-6 <= place && place <= most + 1e-6).then(|| place.clamp(0.0, most))
    }
}

/// Both axes, in seconds past the first departure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dates {
    /// The first departure.
    pub begin: Epoch,
    /// Departures, s past `begin`.
    pub departures: Axis,
    /// Flight times, s, or arrivals, s past `begin`.
    pub second: Axis,
    /// Whether the second axis holds arrivals.
    pub of_arrivals: bool,
}

impl Dates {
    /// Rules the axes.
    ///
    /// # Errors
    /// Bounds the wrong way round, no pair that runs forward, fewer than two dates on a side, more than `most` arcs.
    pub(super) fn ruled(
        between: (Epoch, Epoch),
        second: Second,
        ruling: Ruling,
        sheets: usize,
        most: f64,
    ) -> Result<Self, GridError> {
        let (begin, end) = between;
        let span = end.seconds_since(begin);
        if span < 0.0 {
            return Err(GridError::Departures { from: begin, to: end });
        }
        let (first, last, what) = match second {
            Second::FlightTimes(least, most) => {
                if !(least > 0.0 && least <= most && most.is_finite()) {
                    return Err(GridError::FlightTimes { least_d: least / DAY, most_d: most / DAY });
                }
                (least, most, "flight times")
            }
            Second::Arrivals(from, to) => {
                if to < from {
                    return Err(GridError::Arrivals { from, to });
                }
                if to <= begin {
                    return Err(GridError::Empty { last: to, first: begin });
                }
                (from.seconds_since(begin), to.seconds_since(begin), "arrivals")
            }
        };
        let counts = match ruling {
            Ruling::Counts(departures, others) => (departures as f64, others as f64),
            Ruling::Steps(across, up) => {
                for step in [across, up] {
                    if !(step > 0.0 && step.is_finite()) {
                        return Err(GridError::Step { step_s: step });
                    }
                }
                ((span / across - 1e-9).ceil() + 1.0, ((last - first) / up - 1e-9).ceil() + 1.0)
            }
        };
        let arcs = counts.0 * counts.1 * sheets as f64;
        if !(arcs <= most) {
            return Err(GridError::TooLarge { departures: counts.0, others: counts.1, sheets, arcs, most });
        }
        let (departures, others) = (counts.0 as usize, counts.1 as usize);
        if departures < 2 || others < 2 || span == 0.0 || last == first {
            let one = |count: usize, length: f64| if length == 0.0 { count.min(1) } else { count };
            let (departures, others) = (one(departures, span), one(others, last - first));
            return Err(GridError::TooFew { departures, others, what });
        }
        Ok(Self {
            begin,
            departures: Axis::ruled(0.0, span, departures),
            second: Axis::ruled(first, last, others),
            of_arrivals: matches!(second, Second::Arrivals(..)),
        })
    }

    /// Departure and flight time of a place on the grid, s.
    pub(super) fn times(&self, at: [f64; 2]) -> [f64; 2] {
        let depart = self.departures.value(at[0]);
        let second = self.second.value(at[1]);
        [depart, if self.of_arrivals { second - depart } else { second }]
    }

    /// The place on the grid of a departure and a flight time; `None` outside of it.
    pub(super) fn place(&self, depart: Epoch, flight_time: f64) -> Option<[f64; 2]> {
        let seconds = depart.seconds_since(self.begin);
        let second = if self.of_arrivals { seconds + flight_time } else { flight_time };
        Some([self.departures.place(seconds)?, self.second.place(second)?])
    }

    /// Whether arrivals of all rows lie on one common ruling, and so can be tabulated once: the steps are equal, or the second
    /// axis holds the arrivals themselves.
    pub(super) fn shared(&self) -> bool {
        self.of_arrivals || (self.departures.step - self.second.step).abs() < 1e-9 * self.second.step
    }
}
