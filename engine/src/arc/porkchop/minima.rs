//! The minima of a grid, each refined to its true place between the dates.

use super::super::valley::{Bounds, descend};
use super::error::GridError;
use super::grid::{Cell, Grid};
use super::measure::{Choice, Measure, Sheet};
use crate::numerics::watch::Watch;

/// Minima nearer to each other than this part of the ruling's step are one.
const SAME: f64 = 0.5;

/// A minimum on the rim that costs more than so many times the best inside is the slope of one outside, and is left out.
const DEAR: f64 = 1.25;

/// All minima, least first.
pub(super) fn of(grid: &Grid, measure: Measure, choice: Choice, watch: &Watch<'_>) -> Result<Vec<Cell>, GridError> {
    let mut found: Vec<([f64; 2], f64, Cell)> = Vec::new();
    for sheet in grid.sheets().iter().filter(|sheet| choice.holds(**sheet)) {
        for long in [false, true] {
            if !choice.holds_way(long) {
                continue;
            }
            for start in on_grid(grid, measure, *sheet, long) {
                if watch.stopped() {
                    return Err(GridError::Stopped);
                }
                let Some(refined) = refine(grid, measure, *sheet, long, start, watch) else { continue };
                let same = |at: &[f64; 2]| (at[0] - refined.0[0]).hypot(at[1] - refined.0[1]) < SAME;
                if !found.iter().any(|(at, _, cell)| cell.sheet == *sheet && cell.long == refined.2.long && same(at)) {
                    found.push(refined);
                }
            }
        }
    }
    let inside = found.iter().filter(|(_, _, cell)| !cell.on_rim).map(|(_, value, _)| *value);
    let least = inside.fold(f64::INFINITY, f64::min);
    found.retain(|(_, value, cell)| !cell.on_rim || *value <= DEAR * least);
    found.sort_by(|a, b| a.1.total_cmp(&b.1));
    Ok(found.into_iter().map(|(_, _, cell)| cell).collect())
}

/// Cells lower than their eight neighbours on the same branch and the same way round.
fn on_grid(grid: &Grid, measure: Measure, sheet: Sheet, long: bool) -> Vec<[f64; 2]> {
    let choice = Choice {
        revolutions: Some(sheet.revolutions),
        branch: Some(sheet.branch),
        retrograde: Some(sheet.retrograde),
        long: Some(long),
    };
    let (rows, columns) = grid.size();
    let at = |i: i64, j: i64| -> f64 {
        match (usize::try_from(i), usize::try_from(j)) {
            (Ok(i), Ok(j)) => grid.least(i, j, measure, choice).map_or(f64::INFINITY, |(figure, _)| figure),
            _ => f64::INFINITY,
        }
    };
    let mut starts = Vec::new();
    for i in 0..rows as i64 {
        for j in 0..columns as i64 {
            let here = at(i, j);
            let lower = |di: i64, dj: i64| {
                let other = at(i + di, j + dj);
                // Of equal neighbours the first one counts.
                other < here || (other == here && (di, dj) < (0, 0))
            };
            let beaten = (-1..=1).any(|di| (-1..=1).any(|dj| (di, dj) != (0, 0) && lower(di, dj)));
            if here.is_finite() && !beaten {
                starts.push([i as f64, j as f64]);
            }
        }
    }
    starts
}

/// Downhill from a cell, on its branch and its side of the ridge. The unknowns are places on the axes, steps of the ruling.
fn refine(
    grid: &Grid,
    measure: Measure,
    sheet: Sheet,
    long: bool,
    start: [f64; 2],
    watch: &Watch<'_>,
) -> Option<([f64; 2], f64, Cell)> {
    let (rows, columns) = grid.size();
    let bounds = Bounds { low: [0.0, 0.0], high: [(rows - 1) as f64, (columns - 1) as f64] };
    let cost = |at: [f64; 2]| {
        let cell = grid.cell(at, sheet, false)?;
        // The other side of the ridge is another valley.
        (cell.long == long).then(|| cell.figure(measure)).flatten()
    };
    let minimum = descend(start, 1.0, 0.02, 2e-6, bounds, watch, cost)?;
    let cell = grid.cell(minimum.at, sheet, minimum.on_bound != [false, false])?;
    Some((minimum.at, minimum.value, cell))
}
