//! The grid of a search for windows: a cost for each pair of dates and each family of arcs, and where it is least among its neighbours.

use super::excess::{ExcessInput, ExcessOutput, NO_ARC, StateTable, excess_batch};
use super::lambert::Way;
use super::parking::semi_major_axis;
use super::plan_error::PlanError;
use super::search::Search;
use super::transfer::{DAY, Family};
use crate::conic::{self, State};
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;

/// Steps of the grid to a revolution of the faster body: eight days for Earth. Arcs of less than half a revolution and of more are
/// told apart, so that no minimum beside the ridge between them is lost to a cheaper neighbour across it.
const STEPS_A_REVOLUTION: f64 = 45.0;

/// The same where one end is the central body itself: the cost has one minimum a month and no ridge.
const STEPS_A_MONTH: f64 = 24.0;

/// Most pairs of dates that are looked at: some seconds.
const MOST_CELLS: f64 = 2.0e7;

/// The grid: its step and its local minima.
pub(super) struct Grid {
    pub step: (f64, f64),
    pub cells: usize,
    pub minima: Vec<(Family, [f64; 2])>,
    pub left_out: bool,
}

impl Search {
    /// Period (s) of the fastest body on the central level.
    fn fastest(&self) -> Result<f64, PlanError> {
        let gm = Orbit::gm_of(&self.trip.route.about);
        let mut least = f64::INFINITY;
        for chain in [&self.trip.route.down_to_start, &self.trip.route.down_to_goal] {
            if let Some(body) = chain.first() {
                let axis = semi_major_axis(body, &self.trip.route.about, self.begin)?;
                least = least.min(std::f64::consts::TAU * (axis.powi(3) / gm).sqrt());
            }
        }
        Ok(least)
    }

    pub(super) fn grid(&self, watch: &Watch<'_>) -> Result<Grid, PlanError> {
        let (least, most) = self.flight_time;
        let steps = if self.climbs() { STEPS_A_MONTH } else { STEPS_A_REVOLUTION };
        let wish =
            (self.fastest()? / steps).min(if self.climbs() { (most - least) / STEPS_A_MONTH } else { f64::INFINITY });
        let wish = if wish > 0.0 { wish } else { least / STEPS_A_MONTH };
        let departures = (self.span / wish).ceil() as usize + 1;
        // One step for both, so that both tables lie on one grid of dates; the last departure is the end of the span.
        let step = if departures > 1 { self.span / (departures - 1) as f64 } else { wish };
        let flights = ((most - least) / step).ceil() as usize + 1;
        let cells = departures as f64 * flights as f64;
        if cells > MOST_CELLS {
            return Err(PlanError::TooWide { cells, span_d: self.span / DAY * MOST_CELLS / cells });
        }
        let route = &self.trip.route;
        let table = |body: Option<&Body>, first: f64, count: usize| -> Vec<Option<State>> {
            (0..count).map(|i| body.and_then(|body| body.state(self.epoch(first + i as f64 * step)).ok())).collect()
        };
        let starts = table(route.down_to_start.first(), 0.0, departures);
        let goals = table(route.down_to_goal.first(), least, departures + flights - 1);
        // A departure outside the ephemeris is the asker's mistake; an arrival there cuts the list, and the note says so.
        if let Some(body) = route.down_to_start.first() {
            body.state(self.begin)?;
            body.state(self.epoch(self.span))?;
        }
        if let Some(body) = route.down_to_goal.first() {
            body.state(self.epoch(least))?;
        }
        let table = Table { least, step, flights, starts, goals };
        let mut minima = Vec::new();
        for family in &self.families {
            let sheet = if self.climbs() {
                self.sheet_of_climbs(&table, *family, watch)?
            } else {
                self.sheet(&table, *family, watch)?
            };
            minima.extend(sheet.minima().into_iter().map(|(i, k)| (*family, [i as f64 * step, table.flight(k)])));
        }
        let left_out = !self.climbs() && table.goals.iter().any(Option::is_none);
        let cells = departures * flights * self.families.len();
        Ok(Grid { step: (step, step), cells, minima, left_out })
    }

    /// Costs of the arcs of one family, a row of flight times for each departure.
    fn sheet(&self, table: &Table, family: Family, watch: &Watch<'_>) -> Result<Sheet, PlanError> {
        let gm = Orbit::gm_of(&self.trip.route.about);
        let mut sheet = Sheet::empty(table.starts.len(), table.flights);
        let (starts, goals) =
            (StateTable::new(table.starts.iter().copied()), StateTable::new(table.goals.iter().copied()));
        let times: Vec<f64> = (0..table.flights).map(|k| table.flight(k)).collect();
        let (mut leaving, mut meeting) = (vec![NO_ARC; table.flights], vec![NO_ARC; table.flights]);
        for (i, start) in table.starts.iter().enumerate() {
            if watch.stopped() {
                return Err(PlanError::Stopped);
            }
            let Some(start) = start else { continue };
            let sense = conic::angular_momentum(start);
            let row = &mut sheet.cells[i * table.flights..(i + 1) * table.flights];
            if self.given_plane {
                for (k, cell) in row.iter_mut().enumerate() {
                    if let Some(goal) = &table.goals[i + k] {
                        cell.long = start.position.cross(&goal.position).dot(&sense) < 0.0;
                        cell.cost = self.priced(start, goal, times[k], family).unwrap_or(f64::INFINITY);
                    }
                }
                continue;
            }
            // Flights too short for the revolutions come first.
            let enough = |k: &usize| {
                let goal = table.goals[i + k].as_ref();
                goal.is_some_and(|goal| round_enough(gm, start, goal, times[*k], family.revolutions))
            };
            let Some(first) = (0..table.flights).find(enough) else { continue };
            let input = ExcessInput {
                departures: starts.range(i..i + 1),
                arrivals: goals.range(i + first..i + table.flights),
                times: &times[first..],
            };
            let mut output = ExcessOutput { departures: &mut leaving[first..], arrivals: &mut meeting[first..] };
            let way = Way::Prograde(sense);
            if excess_batch(gm, &input, family.revolutions, family.branch, way, &mut output).is_err() {
                continue;
            }
            for k in first..table.flights {
                if let Some(goal) = &table.goals[i + k]
                    && leaving[k] < NO_ARC
                {
                    row[k].long = start.position.cross(&goal.position).dot(&sense) < 0.0;
                    row[k].cost = self.at_speeds(leaving[k], meeting[k], None).unwrap_or(f64::INFINITY);
                }
            }
        }
        Ok(sheet)
    }

    /// Costs where one end is the central body itself.
    fn sheet_of_climbs(&self, table: &Table, family: Family, watch: &Watch<'_>) -> Result<Sheet, PlanError> {
        let whole = self.whole(family);
        let mut sheet = Sheet::empty(table.starts.len(), table.flights);
        for i in 0..table.starts.len() {
            if watch.stopped() {
                return Err(PlanError::Stopped);
            }
            for k in 0..table.flights {
                if let Some(cost) = whole([i as f64 * table.step, table.flight(k)]) {
                    sheet.cells[i * table.flights + k] = Cell { cost, long: false };
                }
            }
        }
        Ok(sheet)
    }
}

/// Whether the time can hold so many whole revolutions: none is faster than that many periods of the least ellipse, whose axis
/// is the half-perimeter of the triangle. [Battin1999]
fn round_enough(gm: f64, start: &State, goal: &State, seconds: f64, revolutions: u32) -> bool {
    if revolutions == 0 {
        return true;
    }
    let (r1, r2) = (&start.position, &goal.position);
    let axis = 0.25 * (r1.norm() + r2.norm() + (r2 - r1).norm());
    seconds > f64::from(revolutions) * std::f64::consts::TAU * (axis.powi(3) / gm).sqrt()
}

/// States of both bodies on one grid of dates.
struct Table {
    /// Least flight time, and the step of all dates, s.
    least: f64,
    step: f64,
    /// Flight times looked at.
    flights: usize,
    starts: Vec<Option<State>>,
    goals: Vec<Option<State>>,
}

impl Table {
    fn flight(&self, k: usize) -> f64 {
        self.least + k as f64 * self.step
    }
}

/// One pair of dates.
#[derive(Clone, Copy)]
struct Cell {
    cost: f64,
    /// Whether its arc sweeps more than half a revolution.
    long: bool,
}

/// The costs of a family over departures and flight times.
struct Sheet {
    departures: usize,
    flights: usize,
    cells: Vec<Cell>,
}

impl Sheet {
    fn empty(departures: usize, flights: usize) -> Self {
        Self { departures, flights, cells: vec![Cell { cost: f64::INFINITY, long: false }; departures * flights] }
    }

    /// Cells below all their neighbours on the same side of the ridge.
    fn minima(&self) -> Vec<(usize, usize)> {
        let mut minima = Vec::new();
        for i in 0..self.departures {
            for k in 0..self.flights {
                let here = self.cells[i * self.flights + k];
                if !here.cost.is_finite() {
                    continue;
                }
                let beaten = (i.saturating_sub(1)..self.departures.min(i + 2)).any(|i2| {
                    (k.saturating_sub(1)..self.flights.min(k + 2)).any(|k2| {
                        let other = self.cells[i2 * self.flights + k2];
                        // Of equal neighbours the first one counts.
                        other.long == here.long
                            && (other.cost < here.cost || (other.cost == here.cost && (i2, k2) < (i, k)))
                    })
                });
                if !beaten {
                    minima.push((i, k));
                }
            }
        }
        minima
    }
}
