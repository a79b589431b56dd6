//! Windows: all opportunities of a trip between two bodies in a span of dates.
//!
//! A grid over departures and flight times with the states of both bodies tabulated once, each local minimum refined to
//! its true minimum, equal ones merged; then, where a moon is left or met, the hour of its month; then each one planned
//! with its burn, and flown.

use super::grid::Grid;
use super::plan_error::PlanError;
use super::refine::Found;
use super::search::Search;
use super::transfer::{DAY, Family};
use super::verdict::explained;
use super::window::{Window, WindowOptions, Windows};
use crate::numerics::watch::Watch;
use crate::system::Body;
use crate::time::Epoch;

/// A minimum of the cost over dates, from centre to centre, not yet planned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Opportunity {
    /// Ends of the central arc.
    pub dates: (Epoch, Epoch),
    /// Which arc joins them.
    pub family: Family,
    /// The cost there: m/s, or m²/s² for C3.
    pub cost: f64,
    /// Whether it lies on an end of the span of departures, or of the flight times.
    pub on_bound: [bool; 2],
}

/// The dates of all opportunities, best first: what [`windows`] plans. Each is a true minimum: all around it costs more, or lies
/// beyond a bound.
///
/// # Errors
/// As [`windows`].
pub fn opportunities(
    from: &Body,
    to: &Body,
    options: &WindowOptions,
    watch: &Watch<'_>,
) -> Result<Vec<Opportunity>, PlanError> {
    let search = Search::new(from, to, options)?;
    let (_, minima, _) = search.minima(watch)?;
    Ok(minima.iter().map(|found| search.opportunity(found)).collect())
}

/// All opportunities from `from` to `to` in a span of departures, best first.
///
/// Up to the whole revolutions asked for, in the sense of the motion of the body left. An opportunity is a local minimum of the measure
/// that `rank` names over departure and arrival; a minimum on an end of the span or of the flight times is marked as such.
/// An empty list says why in its note.
///
/// # Errors
/// Bodies that have no way between them; altitudes that are no orbit; a span outside the ephemeris; a search too wide.
///
/// # Source
/// Search over dates: [Sergeyevsky1983] shows the contours; grid and descent are this module's own.
pub fn windows(from: &Body, to: &Body, options: &WindowOptions, watch: &Watch<'_>) -> Result<Windows, PlanError> {
    let search = Search::new(from, to, options)?;
    let (grid, minima, dear) = search.minima(watch)?;
    let mut found: Vec<Window> = Vec::with_capacity(minima.len());
    let mut lost: Option<PlanError> = None;
    for minimum in &minima {
        if watch.stopped() {
            return Err(PlanError::Stopped);
        }
        let planned = search.window(minimum);
        let window = planned.and_then(|window| if search.shoot { window.flown_in_model(watch) } else { Ok(window) });
        match window {
            Ok(window) => found.push(window),
            Err(PlanError::Stopped) => return Err(PlanError::Stopped),
            Err(error) => lost = Some(error),
        }
    }
    let planned = found.len();
    for broken in search.broken(2.0 * grid.step.0, &minima, watch)? {
        let window = search.broken_window(&broken);
        match window.and_then(|window| if search.shoot { window.flown_in_model(watch) } else { Ok(window) }) {
            Ok(window) => found.push(window),
            Err(PlanError::Stopped) => return Err(PlanError::Stopped),
            // A plane that cannot be broken after all leaves the unbroken ones as they are.
            Err(_) => {}
        }
    }
    let note = search.note(&grid, minima.len(), planned, dear, lost.as_ref());
    let list = explained(distinct(found, 0.25 * grid.step.0), search.rank, options);
    Ok(Windows { list, step: grid.step, flight_time: search.flight_time, cells: grid.cells, note })
}

impl Search {
    /// The grid, its true minima, best first, and how many dear ones on the bounds were dropped.
    fn minima(&self, watch: &Watch<'_>) -> Result<(Grid, Vec<Found>, usize), PlanError> {
        let grid = self.grid(watch)?;
        let mut minima = self.refined(&grid, watch)?;
        if self.nested() {
            minima = self.hours(&minima, watch)?;
        }
        let dear = drop_dear_ends(&mut minima);
        Ok((grid, minima, dear))
    }

    fn opportunity(&self, found: &Found) -> Opportunity {
        let [depart, flight] = found.minimum.at;
        Opportunity {
            dates: (self.epoch(depart), self.epoch(depart + flight)),
            family: found.family,
            cost: found.minimum.value,
            on_bound: found.minimum.on_bound,
        }
    }

    /// What the list does not say by itself: why it is empty, and what was left out.
    fn note(&self, grid: &Grid, minima: usize, found: usize, dear: usize, lost: Option<&PlanError>) -> Option<String> {
        let mut said = Vec::new();
        if grid.left_out {
            said.push("arrivals outside the ephemeris were left out".to_string());
        }
        if dear > 0 {
            said.push(format!("{dear} more on the ends of the span or the flight times, at over twice the least cost"));
        }
        if found < minima
            && let Some(error) = lost
        {
            said.push(format!("{} of {minima} opportunities could not be planned; the last: {error}", minima - found));
        }
        if found == 0 && minima == 0 {
            let (least, most) = (self.flight_time.0 / DAY, self.flight_time.1 / DAY);
            let bodies = format!("`{}` and `{}`", self.trip.from.name(), self.trip.to.name());
            let cause = if grid.minima.is_empty() {
                format!("no arc joins {bodies} with flight times from {least:.1} d to {most:.1} d")
            } else {
                format!("arcs join the planets, but no hyperbola meets the moon between {bodies} in this span")
            };
            said.push(cause);
        }
        (!said.is_empty()).then(|| said.join("; "))
    }
}

/// Drop what lies on an end of the span or of the flight times and costs more than twice the best inside: the slope of another
/// opportunity, cut by the bound. Says how many went.
fn drop_dear_ends(minima: &mut Vec<Found>) -> usize {
    let inside = minima.iter().map(|m| m.minimum).filter(|m| m.on_bound == [false, false]).map(|m| m.value);
    let least = inside.fold(f64::INFINITY, f64::min);
    let before = minima.len();
    if least > 0.0 {
        minima.retain(|m| m.minimum.on_bound == [false, false] || m.minimum.value <= 2.0 * least);
    }
    before - minima.len()
}

/// Windows less those that came out at the same dates as a better one: the places on a given parking orbit draw neighbours together.
fn distinct(mut found: Vec<Window>, distance: f64) -> Vec<Window> {
    found.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    let mut kept: Vec<Window> = Vec::with_capacity(found.len());
    for window in found {
        let same = |other: &Window| {
            other.depart.seconds_since(window.depart).abs() < distance
                && other.arrive.seconds_since(window.arrive).abs() < distance
                && other.arc.family == window.arc.family
                && other.plane_change.is_some() == window.plane_change.is_some()
        };
        if !kept.iter().any(same) {
            kept.push(window);
        }
    }
    kept
}
