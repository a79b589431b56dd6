//! The grid of a search for windows, its minima refined, and the hour of the month within them.

use super::parking::semi_major_axis;
use super::plan_error::PlanError;
use super::search::Search;
use super::transfer::DAY;
use super::valley::{Bounds, Minimum, descend};
use crate::conic::State;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;

/// Steps of the grid to a revolution of the faster body: four days for Earth. A wider one (to a month) finds the same best
/// opportunities and loses shallow ones beside the ridge of half a revolution.
const STEPS_A_REVOLUTION: f64 = 90.0;

/// The same where one end is the central body itself: the cost has one minimum a month and no ridge.
const STEPS_A_MONTH: f64 = 24.0;

/// Most pairs of dates that are looked at: some seconds.
const MOST_CELLS: f64 = 2.0e7;

/// Samples of a moon's month within a window, where moons are left or met.
const HOURS: i32 = 24;

/// The grid: its step and its local minima.
pub(super) struct Grid {
    pub step: (f64, f64),
    pub cells: usize,
    pub minima: Vec<[f64; 2]>,
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
        let climbs = self.climbs();
        let mut costs = vec![f64::INFINITY; departures * flights];
        let mut left_out = false;
        for i in 0..departures {
            if watch.stopped() {
                return Err(PlanError::Stopped);
            }
            for k in 0..flights {
                let seconds = least + k as f64 * step;
                let cost = if climbs {
                    self.whole([i as f64 * step, seconds])
                } else {
                    left_out |= goals[i + k].is_none();
                    starts[i].as_ref().zip(goals[i + k].as_ref()).and_then(|(a, b)| self.coarse(a, b, seconds))
                };
                costs[i * flights + k] = cost.unwrap_or(f64::INFINITY);
            }
        }
        let at = |i: i64, k: i64| {
            let inside = i >= 0 && k >= 0 && i < departures as i64 && k < flights as i64;
            if inside { costs[i as usize * flights + k as usize] } else { f64::INFINITY }
        };
        let mut minima = Vec::new();
        for i in 0..departures as i64 {
            for k in 0..flights as i64 {
                let here = at(i, k);
                let lower = |di: i64, dk: i64| {
                    let other = at(i + di, k + dk);
                    // Of equal neighbours the first one counts.
                    other < here || (other == here && (di, dk) < (0, 0))
                };
                let beaten = (-1..=1).any(|di| (-1..=1).any(|dk| (di, dk) != (0, 0) && lower(di, dk)));
                if here.is_finite() && !beaten {
                    minima.push([i as f64 * step, least + k as f64 * step]);
                }
            }
        }
        Ok(Grid { step: (step, step), cells: departures * flights, minima, left_out })
    }

    fn bounds(&self) -> Bounds {
        Bounds { low: [0.0, self.flight_time.0], high: [self.span, self.flight_time.1] }
    }

    /// Each minimum of the grid refined, equal ones merged.
    pub(super) fn refined(&self, grid: &Grid, watch: &Watch<'_>) -> Result<Vec<Minimum>, PlanError> {
        let mut found = Vec::new();
        let step = grid.step.0;
        for start in &grid.minima {
            if watch.stopped() {
                return Err(PlanError::Stopped);
            }
            found.extend(descend(*start, step, 0.02 * step, 2e-6 * step, self.bounds(), watch, |at| self.cost(at)));
        }
        Ok(merged(found, 0.25 * step))
    }

    /// The hour of the month: for each minimum of the planets' dates, the best phases of the moons that are left or met.
    pub(super) fn hours(&self, minima: &[Minimum], watch: &Watch<'_>) -> Result<Vec<Minimum>, PlanError> {
        let month = |chain: &[Body]| -> Result<f64, PlanError> {
            let mut longest = 0.0_f64;
            for pair in chain.windows(2) {
                let axis = semi_major_axis(&pair[1], &pair[0], self.begin)?;
                longest = longest.max(std::f64::consts::TAU * (axis.powi(3) / Orbit::gm_of(&pair[0])).sqrt());
            }
            Ok(longest)
        };
        let (first, second) = (month(&self.trip.route.down_to_start)?, month(&self.trip.route.down_to_goal)?);
        let bounds = self.bounds();
        let mut found = Vec::new();
        let mut nearest = f64::INFINITY;
        for minimum in minima {
            let mut best: Option<([f64; 2], f64)> = None;
            let range = |month: f64| if month > 0.0 { -HOURS / 2..=HOURS / 2 } else { 0..=0 };
            for i in range(first) {
                if watch.stopped() {
                    return Err(PlanError::Stopped);
                }
                for k in range(second) {
                    let (early, late) =
                        (f64::from(i) / f64::from(HOURS) * first, f64::from(k) / f64::from(HOURS) * second);
                    let at = [
                        (minimum.at[0] + early).clamp(bounds.low[0], bounds.high[0]),
                        (minimum.at[1] + late - early).clamp(bounds.low[1], bounds.high[1]),
                    ];
                    if let Some(cost) = self.whole(at)
                        && best.is_none_or(|(_, least)| cost < least)
                    {
                        best = Some((at, cost));
                    }
                }
            }
            let least_month = [first, second].into_iter().filter(|m| *m > 0.0).fold(f64::INFINITY, f64::min);
            nearest = nearest.min(0.1 * least_month);
            if let Some((at, _)) = best {
                let step = least_month / f64::from(HOURS);
                found.extend(descend(at, step, 0.02 * step, 1e-6 * step, bounds, watch, |at| self.whole(at)));
            }
        }
        Ok(merged(found, nearest))
    }
}

/// Minima in order of cost, each one kept unless a better one lies within `distance` (s) of both its dates.
fn merged(mut minima: Vec<Minimum>, distance: f64) -> Vec<Minimum> {
    minima.sort_by(|a, b| a.value.total_cmp(&b.value).then(a.at[0].total_cmp(&b.at[0])));
    let mut kept: Vec<Minimum> = Vec::new();
    for minimum in minima {
        let near = |other: &Minimum| {
            let departures = (other.at[0] - minimum.at[0]).abs();
            let arrivals = (other.at[0] + other.at[1] - minimum.at[0] - minimum.at[1]).abs();
            departures <= distance && arrivals <= distance
        };
        if !kept.iter().any(near) {
            kept.push(minimum);
        }
    }
    kept
}
