//! From the cells of a grid to true minima: each one refined, told from what only looks like one, and the hour of the month found.

use super::grid::Grid;
use super::parking::semi_major_axis;
use super::plan_error::PlanError;
use super::search::Search;
use super::transfer::{DAY, Family};
use super::valley::{Bounds, Minimum, descend};
use super::window::Rank;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;

/// Samples of a moon's month within a window, where moons are left or met.
const HOURS: i32 = 24;

/// Times that a descent which stopped short is sent on from the lower place beside it.
const SENT_ON: usize = 4;

/// A minimum and the family of its arc.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Found {
    pub family: Family,
    pub minimum: Minimum,
}

impl Search {
    pub(super) fn bounds(&self) -> Bounds {
        Bounds { low: [0.0, self.flight_time.0], high: [self.span, self.flight_time.1] }
    }

    /// Each minimum of the grid refined, equal ones merged.
    pub(super) fn refined(&self, grid: &Grid, watch: &Watch<'_>) -> Result<Vec<Found>, PlanError> {
        let mut found = Vec::new();
        let step = grid.step.0;
        for (family, start) in &grid.minima {
            if watch.stopped() {
                return Err(PlanError::Stopped);
            }
            let true_one = bottom(*start, step, self.bounds(), watch, self.cost(*family));
            found.extend(true_one.map(|minimum| Found { family: *family, minimum }));
        }
        Ok(merged(found, 0.25 * step))
    }

    /// Where a minimum on a bound would lie without it: how far beyond which bound, and how much cheaper.
    pub(super) fn beyond(&self, found: &Found) -> Option<String> {
        let minimum = &found.minimum;
        if minimum.on_bound == [false, false] || self.nested() || self.climbs() || self.given_plane {
            return None;
        }
        let bounds = self.bounds();
        let (low, high) = (bounds.low, bounds.high);
        let wide = Bounds {
            low: [low[0] - 2.0 * self.scale, 0.1 * self.scale],
            high: [high[0] + 2.0 * self.scale, high[1] + 2.0 * self.scale],
        };
        let step = 0.02 * self.scale;
        let free = bottom(minimum.at, step, wide, &Watch::none(), self.cost(found.family))?;
        if free.on_bound != [false, false] {
            return None;
        }
        let sides = [
            (low[0] - free.at[0], "before the first departure allowed"),
            (free.at[0] - high[0], "after the last departure allowed"),
            (low[1] - free.at[1], "below the least flight time allowed"),
            (free.at[1] - high[1], "above the most flight time allowed"),
        ];
        let said: Vec<String> = sides
            .iter()
            .filter(|(gap, _)| *gap > 0.0)
            .map(|(gap, side)| format!("{:.1} d {side}", gap / DAY))
            .collect();
        let cheaper = match self.rank {
            Rank::C3 => format!("{:.3} km²/s²", (minimum.value - free.value) / 1e6),
            _ => format!("{:.3} km/s", (minimum.value - free.value) / 1e3),
        };
        (!said.is_empty())
            .then(|| format!("without that bound the minimum lies {}, {cheaper} cheaper", said.join(" and ")))
    }

    /// The hour of the month: for each minimum of the planets' dates, the best phases of the moons that are left or met.
    pub(super) fn hours(&self, minima: &[Found], watch: &Watch<'_>) -> Result<Vec<Found>, PlanError> {
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
        for Found { family, minimum } in minima {
            let whole = self.whole(*family);
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
                    if let Some(cost) = whole(at)
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
                let refined = descend(at, step, 0.02 * step, 1e-6 * step, bounds, watch, &whole);
                found.extend(refined.map(|minimum| Found { family: *family, minimum }));
            }
        }
        Ok(merged(found, nearest))
    }
}

/// The true minimum that a descent from `start` comes to: every place around it costs more. A descent that stopped short is
/// sent on; what has a lower place beside it even then, or no cost at all on one side (the edge where two branches of a
/// number of revolutions meet, across which the cost falls on), is none.
fn bottom(
    start: [f64; 2],
    step: f64,
    bounds: Bounds,
    watch: &Watch<'_>,
    mut cost: impl FnMut([f64; 2]) -> Option<f64>,
) -> Option<Minimum> {
    let mut from = start;
    let mut radius = step;
    for _ in 0..=SENT_ON {
        let found = descend(from, radius, 0.02 * step, 2e-6 * step, bounds, watch, &mut cost)?;
        match around(&found, 0.01 * step, bounds, &mut cost) {
            Around::Higher => return Some(found),
            Around::Lower(place) => (from, radius) = (place, 0.1 * step),
            Around::Nothing => return None,
        }
    }
    None
}

/// What lies around a place.
enum Around {
    Higher,
    Lower([f64; 2]),
    Nothing,
}

/// The eight places at a distance (s) around a minimum, those beyond the bounds left out. What rounding moves in a cost, some parts in
/// 1e13, does not count as lower.
fn around(found: &Minimum, distance: f64, bounds: Bounds, cost: &mut impl FnMut([f64; 2]) -> Option<f64>) -> Around {
    let mut lower: Option<([f64; 2], f64)> = None;
    for i in [-1.0, 0.0, 1.0] {
        for k in [-1.0, 0.0, 1.0] {
            let place = [found.at[0] + i * distance, found.at[1] + k * distance];
            let inside = (0..2).all(|axis| bounds.low[axis] <= place[axis] && place[axis] <= bounds.high[axis]);
            if !inside || (i == 0.0 && k == 0.0) {
                continue;
            }
            let Some(value) = cost(place) else { return Around::Nothing };
            let least = lower.map_or(found.value * (1.0 - 1e-12), |(_, least)| least);
            if value < least {
                lower = Some((place, value));
            }
        }
    }
    lower.map_or(Around::Higher, |(place, _)| Around::Lower(place))
}

/// Minima in order of cost, each one kept unless a better one of its family lies within `distance` (s) of both its dates.
fn merged(mut minima: Vec<Found>, distance: f64) -> Vec<Found> {
    minima
        .sort_by(|a, b| a.minimum.value.total_cmp(&b.minimum.value).then(a.minimum.at[0].total_cmp(&b.minimum.at[0])));
    let mut kept: Vec<Found> = Vec::new();
    for found in minima {
        let near = |other: &Found| {
            let (here, there) = (found.minimum.at, other.minimum.at);
            let arrivals = (there[0] + there[1] - here[0] - here[1]).abs();
            other.family == found.family && (there[0] - here[0]).abs() <= distance && arrivals <= distance
        };
        if !kept.iter().any(near) {
            kept.push(found);
        }
    }
    kept
}
