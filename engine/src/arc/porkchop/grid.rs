//! The noun `Grid`: what every pair of dates costs, on every branch.

use super::super::lambert::{Branch, Way, solve_one};
use super::dates::{DAY, Dates};
use super::error::GridError;
use super::measure::{Choice, Measure, Sheet};
use super::minima;
use super::prices::{Figures, Prices};
use super::row::{Row, angle};
use crate::conic;
use crate::numerics::watch::Watch;
use crate::system::Body;
use crate::time::Epoch;

/// The costs of every pair of dates between two bodies, on every branch; at least one pair has an arc.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    pub(super) dates: Dates,
    pub(super) sheets: Vec<Sheet>,
    pub(super) prices: Prices,
    pub(super) rows: Vec<Row>,
}

/// One pair of dates and one arc between them, with its costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// When the body left is left.
    pub depart: Epoch,
    /// When the body reached is reached.
    pub arrive: Epoch,
    /// s.
    pub flight_time: f64,
    /// Which branch.
    pub sheet: Sheet,
    /// Whether the arc goes the long way round, through more than 180° past its whole revolutions.
    pub long: bool,
    /// Angle swept past the whole revolutions, rad, 0 to 2π.
    pub angle: f64,
    /// Twice the energy about the body left, m²/s².
    pub c3: f64,
    /// Excess speed about the body left, m/s.
    pub v_inf_depart: f64,
    /// Excess speed about the body reached, m/s.
    pub v_inf_arrive: f64,
    /// Δv of the departure, m/s.
    pub dv_departure: f64,
    /// Δv of the arrival, m/s; none without an arrival orbit.
    pub dv_arrival: Option<f64>,
    /// Both, or the departure alone, m/s.
    pub dv: f64,
    /// Whether it lies on the rim of the grid; only a minimum is asked that.
    pub on_rim: bool,
}

impl Cell {
    /// The figure of a measure, SI; `None` for an arrival Δv without an arrival orbit.
    pub fn figure(&self, measure: Measure) -> Option<f64> {
        match measure {
            Measure::C3 => Some(self.c3),
            Measure::ExcessDepart => Some(self.v_inf_depart),
            Measure::ExcessArrive => Some(self.v_inf_arrive),
            Measure::Departure => Some(self.dv_departure),
            Measure::Arrival => self.dv_arrival,
            Measure::Total => Some(self.dv),
        }
    }
}

impl Grid {
    pub(super) fn new(dates: Dates, sheets: Vec<Sheet>, prices: Prices, rows: Vec<Row>) -> Result<Self, GridError> {
        let any = rows.iter().any(|row| row.strips.iter().any(|strip| strip.leaving.iter().any(|v| v.is_finite())));
        if !any {
            let trip = &prices.trip;
            return Err(GridError::NoArc { from: trip.from.name().to_string(), to: trip.to.name().to_string() });
        }
        Ok(Self { dates, sheets, prices, rows })
    }

    /// The body left.
    pub fn from(&self) -> &Body {
        &self.prices.trip.from
    }

    /// The body reached.
    pub fn to(&self) -> &Body {
        &self.prices.trip.to
    }

    /// The body both go round.
    pub fn about(&self) -> &Body {
        &self.prices.trip.route.about
    }

    /// The axes.
    pub fn dates(&self) -> &Dates {
        &self.dates
    }

    /// The branches that are kept.
    pub fn sheets(&self) -> &[Sheet] {
        &self.sheets
    }

    /// Most whole revolutions.
    pub fn revolutions(&self) -> u32 {
        self.sheets.iter().map(|sheet| sheet.revolutions).max().unwrap_or(0)
    }

    /// Whether an arrival orbit was asked for.
    pub fn has_arrival(&self) -> bool {
        self.prices.arrival().is_some()
    }

    /// The orbit departed from and the one arrived in, as the question had them.
    pub fn orbits(&self) -> (&super::Parking, Option<super::ArrivalOrbit>) {
        (&self.prices.trip.parking, self.prices.arrival())
    }

    /// Dates on the axes: departures, then flight times or arrivals.
    pub fn size(&self) -> (usize, usize) {
        (self.dates.departures.count, self.dates.second.count)
    }

    /// How many pairs of dates have an arc.
    pub fn filled(&self) -> usize {
        let (rows, columns) = self.size();
        (0..rows).map(|i| (0..columns).filter(|j| self.least(i, *j, Measure::C3, Choice::ANY).is_some()).count()).sum()
    }

    /// Whether the arcs of a cell that go with the motion go the long way; `None` where the pair has no arc.
    pub(super) fn long(&self, i: usize, j: usize) -> Option<bool> {
        let angle = self.rows[i].angles[j];
        (!angle.is_nan()).then_some(angle > std::f32::consts::PI)
    }

    /// The figure of a cell on a branch; `None` without an arc.
    fn figure(&self, i: usize, j: usize, sheet: usize, measure: Measure) -> Option<f64> {
        let strip = &self.rows[i].strips[sheet];
        let (leaving, arriving) = (strip.leaving[j], strip.arriving[j]);
        if !leaving.is_finite() {
            return None;
        }
        let departure = || strip.departure.get(j).copied().unwrap_or_else(|| self.prices.departure_dv(leaving));
        Some(match measure {
            Measure::C3 => leaving * leaving,
            Measure::ExcessDepart => leaving,
            Measure::ExcessArrive => arriving,
            Measure::Departure => departure(),
            Measure::Arrival => self.prices.arrival_dv(arriving),
            Measure::Total => departure() + self.prices.arrival_dv(arriving),
        })
    }

    /// The least figure of a cell among the branches of a choice, and on which branch; `None` without an arc.
    ///
    /// `i` counts departures, `j` the other axis; outside of the grid there is none.
    pub fn least(&self, i: usize, j: usize, measure: Measure, choice: Choice) -> Option<(f64, Sheet)> {
        let (rows, columns) = self.size();
        if i >= rows || j >= columns {
            return None;
        }
        let long = self.long(i, j)?;
        let mut best: Option<(f64, Sheet)> = None;
        for (index, sheet) in self.sheets.iter().enumerate() {
            if !choice.holds(*sheet) || !choice.holds_way(long != sheet.retrograde) {
                continue;
            }
            if let Some(figure) = self.figure(i, j, index, measure)
                && best.is_none_or(|(least, _)| figure < least)
            {
                best = Some((figure, *sheet));
            }
        }
        best
    }

    /// The figures of all cells, departure after departure, each with all of the second axis; infinity without an arc.
    ///
    /// # Errors
    /// An arrival Δv of a grid without an arrival orbit; a number of revolutions that the grid does not hold.
    pub fn field(&self, measure: Measure, choice: Choice) -> Result<Vec<f64>, GridError> {
        self.allow(measure, choice)?;
        let (rows, columns) = self.size();
        let mut field = Vec::with_capacity(rows * columns);
        for i in 0..rows {
            field.extend((0..columns).map(|j| self.least(i, j, measure, choice).map_or(f64::INFINITY, |(f, _)| f)));
        }
        Ok(field)
    }

    /// For each departure the least figure over the other axis; `None` where no arc of the choice follows it.
    ///
    /// # Errors
    /// As [`Grid::field`].
    pub fn by_departure(&self, measure: Measure, choice: Choice) -> Result<Vec<Option<f64>>, GridError> {
        let field = self.field(measure, choice)?;
        let least = |row: &[f64]| row.iter().copied().fold(f64::INFINITY, f64::min);
        Ok(field.chunks(self.size().1).map(|row| Some(least(row)).filter(|least| least.is_finite())).collect())
    }

    pub(super) fn allow(&self, measure: Measure, choice: Choice) -> Result<(), GridError> {
        if measure == Measure::Arrival && !self.has_arrival() {
            return Err(GridError::NoArrival);
        }
        if let Some(revolutions) = choice.revolutions.filter(|wanted| *wanted > self.revolutions()) {
            return Err(GridError::NoSheet { revolutions, most: self.revolutions() });
        }
        Ok(())
    }

    /// The figures of the arc on a branch at any place between the dates; `None` without an arc.
    pub(super) fn solve(&self, at: [f64; 2], sheet: Sheet) -> Option<(Figures, f64)> {
        let route = &self.prices.trip.route;
        let [depart, flight] = self.dates.times(at);
        if !(flight > 0.0) {
            return None;
        }
        let start = route.down_to_start.first()?.state(self.dates.begin.try_after(depart).ok()?).ok()?;
        let goal = route.down_to_goal.first()?.state(self.dates.begin.try_after(depart + flight).ok()?).ok()?;
        let momentum = conic::angular_momentum(&start);
        let way = if sheet.retrograde { Way::Retrograde(momentum) } else { Way::Prograde(momentum) };
        let (r1, r2) = (&start.position, &goal.position);
        let arc = solve_one(self.prices.gm(), r1, r2, flight, way, sheet.revolutions, sheet.branch).ok()?;
        let figures = self.prices.of(&arc.v1, &arc.v2, &start, &goal)?;
        Some((figures, angle(r1, r2, &momentum)))
    }

    /// The figure of a measure among those of an arc.
    pub(super) fn measured(&self, figures: &Figures, measure: Measure) -> f64 {
        match measure {
            Measure::C3 => figures.leaving * figures.leaving,
            Measure::ExcessDepart => figures.leaving,
            Measure::ExcessArrive => figures.arriving,
            Measure::Departure => figures.departure,
            Measure::Arrival => self.prices.arrival_dv(figures.arriving),
            Measure::Total => figures.departure + self.prices.arrival_dv(figures.arriving),
        }
    }

    /// The cell of a branch at any place between the dates.
    pub(super) fn cell(&self, at: [f64; 2], sheet: Sheet, on_rim: bool) -> Option<Cell> {
        let (figures, angle) = self.solve(at, sheet)?;
        let [depart, flight_time] = self.dates.times(at);
        let angle = if sheet.retrograde { std::f64::consts::TAU - angle } else { angle };
        let dv_arrival = self.has_arrival().then(|| self.prices.arrival_dv(figures.arriving));
        Some(Cell {
            depart: self.dates.begin.after(depart),
            arrive: self.dates.begin.after(depart + flight_time),
            flight_time,
            sheet,
            long: angle > std::f64::consts::PI,
            angle,
            c3: figures.leaving * figures.leaving,
            v_inf_depart: figures.leaving,
            v_inf_arrive: figures.arriving,
            dv_departure: figures.departure,
            dv_arrival,
            dv: figures.departure + dv_arrival.unwrap_or(0.0),
            on_rim,
        })
    }

    /// Every arc between a departure and a flight time (s), which need not lie on the ruling: solved anew, not interpolated.
    /// Least Δv first; empty when no arc of the choice joins them.
    ///
    /// # Errors
    /// Dates outside the grid; revolutions that it does not hold.
    pub fn at(&self, depart: Epoch, flight_time: f64, choice: Choice) -> Result<Vec<Cell>, GridError> {
        self.allow(Measure::Total, choice)?;
        let Some(at) = self.dates.place(depart, flight_time) else {
            return Err(GridError::Outside { epoch: depart, flight_d: flight_time / DAY });
        };
        let chosen = self.sheets.iter().filter(|sheet| choice.holds(**sheet));
        let mut cells: Vec<Cell> = chosen
            .filter_map(|sheet| self.cell(at, *sheet, false))
            .filter(|cell| choice.holds_way(cell.long))
            .collect();
        cells.sort_by(|a, b| a.dv.total_cmp(&b.dv));
        Ok(cells)
    }

    /// The minima of a measure, each of its own branch and way, refined between the dates, least first.
    ///
    /// A minimum on the rim of the grid is marked; it would go on outside.
    ///
    /// # Errors
    /// As [`Grid::field`]; stopped.
    pub fn minima(&self, measure: Measure, choice: Choice, watch: &Watch<'_>) -> Result<Vec<Cell>, GridError> {
        self.allow(measure, choice)?;
        minima::of(self, measure, choice, watch)
    }
}

/// What a branch is called: `0`, `1 left`, `1 right`, and `retrograde` where it is.
impl std::fmt::Display for Sheet {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let side = match self.branch {
            Branch::Single => "",
            Branch::Left => " left",
            Branch::Right => " right",
        };
        let sense = if self.retrograde { " retrograde" } else { "" };
        write!(f, "{}{side}{sense}", self.revolutions)
    }
}
