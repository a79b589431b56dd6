//! Contours of a grid: lines along which a figure is the same, and the regions where it is lower.

use super::error::GridError;
use super::grid::Grid;
use super::levels;
use super::measure::{Choice, Measure};
use super::squares::{Corner, Ends, Line, Squares};
use crate::time::Epoch;

/// Halvings for a crossing beside the ridge: to a sixteen-thousandth of a step.
const HALVINGS: usize = 14;

/// A line along which a figure is the same.
#[derive(Debug, Clone, PartialEq)]
pub struct Contour {
    /// The figure, SI.
    pub level: f64,
    /// Whether the last point is joined to the first; else the line ends at the rim of the grid or where arcs end.
    pub closed: bool,
    /// Departures (s past the grid's first) and values of the second axis (s).
    pub points: Vec<[f64; 2]>,
}

impl Contour {
    /// The points without which the line stays as it is to within `share` of the steps of the ruling; both ends are kept.
    ///
    /// # Source
    /// [DouglasPeucker1973].
    pub fn thinned(&self, grid: &Grid, share: f64) -> Vec<[f64; 2]> {
        let points = &self.points;
        let steps = [grid.dates.departures.step, grid.dates.second.step];
        let off = |at: usize, a: usize, b: usize| {
            let from = |k: usize| [0, 1].map(|i| (points[k][i] - points[a][i]) / steps[i]);
            let (here, chord) = (from(at), from(b));
            let long = chord[0].hypot(chord[1]);
            let across = (here[0] * chord[1] - here[1] * chord[0]).abs();
            if long > 0.0 { across / long } else { here[0].hypot(here[1]) }
        };
        let mut kept = vec![false; points.len()];
        let Some(last) = points.len().checked_sub(1) else { return Vec::new() };
        (kept[0], kept[last]) = (true, true);
        let mut open = vec![(0, last)];
        while let Some((a, b)) = open.pop() {
            let farthest = (a + 1..b).map(|k| (off(k, a, b), k)).max_by(|x, y| x.0.total_cmp(&y.0));
            if let Some((_, k)) = farthest.filter(|(off, _)| *off > share) {
                kept[k] = true;
                open.extend([(a, k), (k, b)]);
            }
        }
        points.iter().zip(kept).filter_map(|(point, kept)| kept.then_some(*point)).collect()
    }
}

impl Grid {
    /// About so many round levels of a measure, ascending, SI: close together near the minimum.
    ///
    /// # Errors
    /// As [`Grid::field`].
    pub fn levels(&self, measure: Measure, choice: Choice, wish: usize) -> Result<Vec<f64>, GridError> {
        let values = self.field(measure, choice)?;
        let (reach, unit) = if measure == Measure::C3 { (4.5, 1e6) } else { (2.1, 1e3) };
        Ok(levels::chosen(&values, wish, reach, unit))
    }

    /// The contours of a measure at levels (SI), each line closed or ending where the grid or its arcs end.
    ///
    /// Lines follow the least arc of the choice. None crosses the ridge at half a revolution, where the plane of the arc
    /// stands upright however fine the grid: between two dates on its two sides the place of a line is solved for.
    ///
    /// # Errors
    /// As [`Grid::field`]; a level that is not a number above zero.
    ///
    /// # Source
    /// Marching squares with the saddle decided as by [NielsonHamann1991].
    pub fn contours(&self, measure: Measure, levels: &[f64], choice: Choice) -> Result<Vec<Contour>, GridError> {
        self.cut(measure, levels, choice, Ends::Open)
    }

    /// What [`Grid::contours`] bounds: rings, run on along the rim, that together enclose (by the even-odd rule) every place
    /// where the measure is below the level.
    ///
    /// # Errors
    /// As [`Grid::contours`].
    pub fn regions(&self, measure: Measure, levels: &[f64], choice: Choice) -> Result<Vec<Contour>, GridError> {
        self.cut(measure, levels, choice, Ends::Closed)
    }

    fn cut(&self, measure: Measure, levels: &[f64], choice: Choice, ends: Ends) -> Result<Vec<Contour>, GridError> {
        if let Some(value) = levels.iter().find(|level| !(level.is_finite() && **level > 0.0)) {
            return Err(GridError::Level { value: *value });
        }
        let values = self.field(measure, choice)?;
        let columns = self.size().1;
        let corner = |i: usize, j: usize| {
            let (value, long) = (values[i * columns + j], self.long(i, j));
            // The side of the ridge that the choice leaves out is a wall, and not the end of the arcs.
            let left_out =
                choice.long.is_some() && choice.retrograde.is_none_or(|wanted| !wanted) && choice.long != long;
            Corner { value, side: long.unwrap_or(false), void: !(value.is_finite() || left_out && long.is_some()) }
        };
        let across = |from: [f64; 2], to: [f64; 2], level: f64| self.across(measure, choice, from, to, level);
        let squares = Squares { size: self.size(), corner: &corner, across: &across };
        let mut contours = Vec::new();
        for level in levels {
            contours.extend(squares.lines(*level, ends).into_iter().map(|line| self.contour(*level, line)));
        }
        Ok(contours)
    }

    /// How far from a cell towards one on the other side of the ridge the figure stays below a level.
    fn across(&self, measure: Measure, choice: Choice, from: [f64; 2], to: [f64; 2], level: f64) -> f64 {
        let place = |share: f64| [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])];
        let own = self.sheets.first().and_then(|sheet| self.solve(from, *sheet));
        let half = std::f64::consts::PI;
        let Some(side) = own.map(|(_, angle)| angle > half) else { return 0.0 };
        let low = |share: f64| {
            let at = place(share);
            self.sheets.iter().filter(|sheet| choice.holds(**sheet)).any(|sheet| {
                self.solve(at, *sheet).is_some_and(|(figures, angle)| {
                    (angle > half) == side
                        && choice.holds_way(side != sheet.retrograde)
                        && self.measured(&figures, measure) < level
                })
            })
        };
        let (mut near, mut far) = (0.0, 1.0);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (near + far);
            if low(middle) { near = middle } else { far = middle }
        }
        near
    }

    /// The ridge: pairs of dates half a revolution apart, where the plane of the arc is open.
    pub fn ridge(&self) -> Vec<Contour> {
        let corner = |i: usize, j: usize| {
            let angle = f64::from(self.rows[i].angles[j]);
            // Towards a whole revolution the sine passes zero as well.
            let value = if angle.cos() < 0.0 { angle.sin() } else { f64::INFINITY };
            Corner { value, side: false, void: !value.is_finite() }
        };
        let squares = Squares { size: self.size(), corner: &corner, across: &|_, _, _| 0.0 };
        squares.lines(0.0, Ends::Open).into_iter().map(|line| self.contour(0.0, line)).collect()
    }

    fn contour(&self, level: f64, line: Line) -> Contour {
        let (across, up) = (&self.dates.departures, &self.dates.second);
        let points = line.points.iter().map(|[i, j]| [across.value(*i), up.value(*j)]).collect();
        Contour { level, closed: line.closed, points }
    }

    /// The epochs of departure and arrival of a contour's point.
    pub fn epochs(&self, [depart, second]: [f64; 2]) -> (Epoch, Epoch) {
        let arrive = if self.dates.of_arrivals { second } else { depart + second };
        (self.dates.begin.after(depart), self.dates.begin.after(arrive))
    }
}
