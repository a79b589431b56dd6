//! Windows: all opportunities of a trip between two bodies in a span of dates.
//!
//! A grid over departures and flight times with the states of both bodies tabulated once, each local minimum refined to
//! its true minimum, equal ones merged; then, where a moon is left or met, the hour of its month.

use super::aimed::{NEARLY, Trip};
use super::lambert::{self, Branch, Way};
use super::parking::{End, Parking, check_altitude, half_ellipse};
use super::plan_error::PlanError;
use super::price::Price;
use super::route::Route;
use super::transfer::DAY;
use super::valley::{Bounds, Minimum, descend};
use super::verdict::explained;
use super::window::{Rank, Window, WindowOptions, Windows};
use crate::conic::{self, State};
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;

/// Steps of the grid to a revolution of the faster body. Four days for Earth: at twice that, shallow minima beside the ridge
/// of half a revolution begin to be missed; at half of it the same minima are found.
const STEPS_A_REVOLUTION: f64 = 90.0;

/// The same where one end is the central body itself: the cost has one minimum a month and no ridge.
const STEPS_A_MONTH: f64 = 24.0;

/// Most pairs of dates that are looked at: some seconds.
const MOST_CELLS: f64 = 2.0e7;

/// Samples of a moon's month within a window, where moons are left or met.
const HOURS: i32 = 24;

/// All opportunities from `from` to `to` in a span of departures, best first.
///
/// Single revolutions, in the sense of the motion of the body left. An opportunity is a local minimum of the measure that
/// `rank` names over departure and arrival; a minimum on an end of the span or of the flight times is marked as such.
/// An empty list says why in its note.
///
/// # Errors
/// Bodies that have no way between them; altitudes that are no orbit; a span outside the ephemeris; a search too wide.
///
/// # Source
/// Search over dates: [Sergeyevsky1983] shows the contours; grid and descent are this module's own.
pub fn windows(from: &Body, to: &Body, options: &WindowOptions, watch: &Watch<'_>) -> Result<Windows, PlanError> {
    let search = Search::new(from, to, options)?;
    let grid = search.grid(watch)?;
    let mut minima = search.refined(&grid, watch)?;
    if search.nested() {
        minima = search.hours(&minima, watch)?;
    }
    let dear = search.drop_dear_ends(&mut minima);
    let mut found: Vec<Window> = Vec::with_capacity(minima.len());
    let mut lost: Option<PlanError> = None;
    for minimum in &minima {
        if watch.stopped() {
            return Err(PlanError::Stopped);
        }
        match search.window(minimum, watch) {
            Ok(window) => found.push(window),
            Err(PlanError::Stopped) => return Err(PlanError::Stopped),
            Err(error) => lost = Some(error),
        }
    }
    let note = search.note(&grid, minima.len(), found.len(), dear, lost.as_ref());
    let list = explained(distinct(found, 0.25 * grid.step.0), search.rank, options);
    Ok(Windows { list, step: grid.step, flight_time: search.flight_time, cells: grid.cells, note })
}

/// A search made ready.
pub(super) struct Search {
    pub trip: Trip,
    /// The same trip without waiting for the place on a given parking orbit, which would make the cost jump.
    free: Trip,
    pub rank: Rank,
    pub begin: Epoch,
    /// Length of the span of departures, s.
    pub span: f64,
    pub flight_time: (f64, f64),
    start: End,
    goal: End,
    given_plane: bool,
    pub shoot: bool,
}

/// The grid: its step and its local minima.
pub(super) struct Grid {
    step: (f64, f64),
    cells: usize,
    minima: Vec<[f64; 2]>,
    left_out: bool,
}

impl Search {
    fn new(from: &Body, to: &Body, options: &WindowOptions) -> Result<Self, PlanError> {
        let route = Route::between(from, to)?;
        let (begin, end) = options.between;
        let span = end.seconds_since(begin);
        if span < 0.0 {
            return Err(PlanError::Span { from: begin, to: end });
        }
        match &options.parking {
            Parking::Altitude(altitude) => check_altitude(from, *altitude)?,
            Parking::Orbit(orbit) => {
                if orbit.body() != from || orbit.period().is_none() {
                    return Err(PlanError::Parking { body: from.name().to_string() });
                }
            }
        }
        let arrival_radius = match &options.arrival {
            Some(wanted) => {
                wanted.check(to)?;
                wanted.periapsis_radius(to)
            }
            None => pass_radius(to)?,
        };
        let trip = Trip {
            route,
            from: from.clone(),
            to: to.clone(),
            parking: options.parking.clone(),
            arrival: options.arrival,
            arrival_radius,
            plane: options.plane,
        };
        let scale = half_ellipse(&trip.route, begin, trip.central_periapsis().unwrap_or_default())?;
        let flight_time = options.flight_time.unwrap_or((0.4 * scale, 2.2 * scale));
        if !(flight_time.0 > 0.0 && flight_time.0 <= flight_time.1 && flight_time.1.is_finite()) {
            return Err(PlanError::FlightTimes { least_d: flight_time.0 / DAY, most_d: flight_time.1 / DAY });
        }
        let radius = trip.start_radius();
        let start = End::new(&trip.route.down_to_start, from, radius, (Orbit::gm_of(from) / radius).sqrt(), begin)?;
        let goal = End::new(&trip.route.down_to_goal, to, arrival_radius, trip.arrival_speed(), begin)?;
        let given_plane = matches!(options.parking, Parking::Orbit(_)) && trip.route.down_to_start.len() < 2;
        let free = Trip { parking: Parking::Altitude(radius - from.radius()), ..trip.clone() };
        Ok(Self {
            free,
            rank: options.ranking(),
            begin,
            span,
            flight_time,
            start,
            goal,
            given_plane,
            shoot: options.shoot,
            trip,
        })
    }

    /// Whether a moon is left or met inside the sphere of another body.
    fn nested(&self) -> bool {
        self.trip.route.down_to_start.len() > 1 || self.trip.route.down_to_goal.len() > 1
    }

    fn climbs(&self) -> bool {
        self.trip.route.down_to_start.is_empty() || self.trip.route.down_to_goal.is_empty()
    }

    pub(super) fn epoch(&self, seconds: f64) -> Epoch {
        self.begin.after(seconds)
    }

    /// Cost of one pair of dates from the states at the ends of the central arc, the hours of moons left open.
    fn coarse(&self, start: &State, goal: &State, seconds: f64) -> Option<f64> {
        let gm = Orbit::gm_of(&self.trip.route.about);
        let sense = Way::Prograde(conic::angular_momentum(start));
        let arc = lambert::solve_one(gm, &start.position, &goal.position, seconds, sense, 0, Branch::Single).ok()?;
        let leaving = arc.v1 - start.velocity;
        let excess = self.start.excess(leaving.norm());
        let arriving = self.goal.excess((arc.v2 - goal.velocity).norm());
        let departure =
            if self.given_plane { self.trip.quick_departure_dv(&leaving, excess) } else { self.start.dv(excess) };
        let price = Price {
            departure,
            arrival: self.goal.dv(arriving),
            c3: excess * excess,
            excess_departure: excess,
            excess_arrival: arriving,
        };
        Some(price.by(self.rank, self.trip.arrival.is_some())).filter(|cost| cost.is_finite())
    }

    /// Cost of one pair of dates (s past the begin; s of flight), whole: moons at their hours, planes charged.
    fn whole(&self, at: [f64; 2]) -> Option<f64> {
        let (leave, meet) = (self.epoch(at[0]), self.epoch(at[0] + at[1]));
        let given = match &self.trip.parking {
            Parking::Orbit(orbit) if self.trip.route.down_to_start.is_empty() => Some(orbit),
            _ => None,
        };
        if self.nested() {
            // A moon deep in its planet's field moves the aim by a good part of the field's size: it belongs into the search.
            let flight = self.free.aimed(leave, meet, NEARLY).ok()?;
            let price = self.trip.price(&flight.arc, None).ok()?;
            return Some(price.by(self.rank, self.trip.arrival.is_some())).filter(|cost| cost.is_finite());
        }
        let solved = match given {
            Some(orbit) => {
                let offsets = super::transfer::Offsets::none(&self.trip.route);
                self.trip.ascend(orbit, leave, meet, &offsets)
            }
            None => self.trip.centre_to_centre(leave, meet),
        }
        .ok()?;
        let price = self.trip.price(&solved.arc, solved.periapsis.as_ref()).ok()?;
        Some(price.by(self.rank, self.trip.arrival.is_some())).filter(|cost| cost.is_finite())
    }

    /// Cost of one pair of dates from the ephemeris, for refining.
    fn cost(&self, at: [f64; 2]) -> Option<f64> {
        if self.climbs() || (self.given_plane && !self.nested()) {
            return self.whole(at);
        }
        let start = self.trip.route.down_to_start.first()?.state(self.epoch(at[0])).ok()?;
        let goal = self.trip.route.down_to_goal.first()?.state(self.epoch(at[0] + at[1])).ok()?;
        self.coarse(&start, &goal, at[1])
    }

    /// Period (s) of the fastest body on the central level.
    fn fastest(&self) -> Result<f64, PlanError> {
        let gm = Orbit::gm_of(&self.trip.route.about);
        let mut least = f64::INFINITY;
        for chain in [&self.trip.route.down_to_start, &self.trip.route.down_to_goal] {
            if let Some(body) = chain.first() {
                let axis = super::parking::semi_major_axis(body, &self.trip.route.about, self.begin)?;
                least = least.min(std::f64::consts::TAU * (axis.powi(3) / gm).sqrt());
            }
        }
        Ok(least)
    }

    fn grid(&self, watch: &Watch<'_>) -> Result<Grid, PlanError> {
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
    fn refined(&self, grid: &Grid, watch: &Watch<'_>) -> Result<Vec<Minimum>, PlanError> {
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
    fn hours(&self, minima: &[Minimum], watch: &Watch<'_>) -> Result<Vec<Minimum>, PlanError> {
        let month = |chain: &[Body]| -> Result<f64, PlanError> {
            let mut longest = 0.0_f64;
            for pair in chain.windows(2) {
                let axis = super::parking::semi_major_axis(&pair[1], &pair[0], self.begin)?;
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

    /// Drop what lies on an end of the span or of the flight times and costs more than twice the best inside: the slope of another
    /// opportunity, cut by the bound. Says how many went.
    fn drop_dear_ends(&self, minima: &mut Vec<Minimum>) -> usize {
        let inside = minima.iter().filter(|m| m.on_bound == [false, false]).map(|m| m.value);
        let least = inside.fold(f64::INFINITY, f64::min);
        let before = minima.len();
        if least > 0.0 {
            minima.retain(|m| m.on_bound == [false, false] || m.value <= 2.0 * least);
        }
        before - minima.len()
    }

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

/// Windows less those that came out at the same dates as a better one: the places on a given parking orbit draw neighbours together.
fn distinct(mut found: Vec<Window>, distance: f64) -> Vec<Window> {
    found.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    let mut kept: Vec<Window> = Vec::with_capacity(found.len());
    for window in found {
        let same = |other: &Window| {
            other.depart.seconds_since(window.depart).abs() < distance
                && other.arrive.seconds_since(window.arrive).abs() < distance
        };
        if !kept.iter().any(same) {
            kept.push(window);
        }
    }
    kept
}

/// Periapsis radius (m) of a pass where no arrival orbit is asked for: half a radius up, which clears any air, and clear of a
/// ring by a tenth.
///
/// # Errors
/// A body whose sphere of influence does not reach above such a pass: nothing can be aimed at there.
fn pass_radius(body: &Body) -> Result<f64, PlanError> {
    let ring = body.ring().map_or(0.0, |ring| 1.1 * ring.outer);
    let radius = (1.5 * body.radius()).max(ring);
    if radius < body.sphere_of_influence() {
        return Ok(radius);
    }
    Err(PlanError::NoSphere {
        body: body.name().to_string(),
        sphere_m: body.sphere_of_influence(),
        radius_m: body.radius(),
    })
}
