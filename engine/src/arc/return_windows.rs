//! Home from a moon: when in the moon's month, and in which month, to leave.
//!
//! Leaving a moon along its motion adds the moon's speed to the craft's about the giant, and the hyperbola about the giant can turn that
//! towards or against the giant's own motion only from one side: so the hour matters. The unknowns are the epoch of the escape
//! and the time of flight; place (the moon) and asymptote (the arc home) give the hyperbola about the giant in closed form.

use super::aimed::{CLOSED, Trip};
use super::asymptote::{Sweep, velocity_to_asymptote};
use super::capture::ArrivalPlane;
use super::departure::{LABEL, leave, planned};
use super::flown::{Unflown, shot};
use super::lambert::{Branch, Way, solve_one};
use super::parking::{Parking, check_altitude};
use super::plan_error::PlanError;
use super::route::Route;
use super::transfer::Family;
use super::window::Figures;
use crate::burn::Burn;
use crate::conic::{Elements, State, angular_momentum, time_since_periapsis};
use crate::numerics::{minimise, watch::Watch};
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// What `return_windows` may be told.
#[derive(Debug, Clone, PartialEq)]
pub struct ReturnOptions {
    /// When the moon may be left.
    pub between: (Epoch, Epoch),
    /// Least and most time of flight, s. Default: 0.4 to 2.2 times half the ellipse between the planets.
    pub flight_time: Option<(f64, f64)>,
    /// What is departed from at the moon.
    pub parking: Parking,
    /// Altitude of the periapsis at home, m.
    pub arrival_altitude: f64,
    /// How much of the excess speed at home counts beside the burn: 0 for the burn alone.
    pub arrival_weight: f64,
    /// The most windows given.
    pub most: usize,
}

/// An escape from a moon, bound for home.
#[derive(Debug, Clone, PartialEq)]
pub struct ReturnWindow {
    /// Periapsis about the moon: the burn.
    pub epoch: Epoch,
    /// Periapsis at home.
    pub arrive: Epoch,
    /// The orbit about the moon that is left, at the burn.
    pub parking: Orbit,
    /// The burn, planned there: as it is flown where it was met in the model.
    pub burn: Burn,
    /// Size of the burn from centre to centre, m/s.
    pub estimate: f64,
    /// Excess velocity about the moon, m/s.
    pub v_infinity_moon: Vec3,
    /// Excess velocity about the giant, m/s.
    pub v_infinity: Vec3,
    /// Excess velocity at home, m/s.
    pub v_infinity_home: Vec3,
    /// Burn and weighted arrival, m/s: what ranks.
    pub cost: f64,
    /// What the burn brings about in the model, or why it does not lead home there.
    pub flown: Result<Figures, String>,
    /// One month of the moon around it.
    pub month: Month,
}

impl ReturnWindow {
    /// Size of the burn, m/s.
    pub fn dv(&self) -> f64 {
        self.burn.size()
    }
}

/// What leaving costs through one month of the moon, the arrival chosen anew each time.
#[derive(Debug, Clone, PartialEq)]
pub struct Month {
    /// Epoch and burn (m/s), evenly spaced; those at which no arc leads home are left out.
    pub rows: Vec<(Epoch, f64)>,
}

impl Month {
    /// The cheapest row.
    pub fn best(&self) -> Option<(Epoch, f64)> {
        self.rows.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// The dearest row.
    pub fn worst(&self) -> Option<(Epoch, f64)> {
        self.rows.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Worst over best.
    pub fn ratio(&self) -> Option<f64> {
        Some(self.worst()?.1 / self.best()?.1)
    }
}

/// Looks a month; times of flight looked at; most looks in all.
const LOOKS: f64 = 48.0;
const FLIGHTS: usize = 25;
const MOST: f64 = 20_000.0;
/// Rounds in which the escape, the giant's periapsis and the arc home are brought into one time.
const ROUNDS: usize = 4;

/// The cheapest escapes from `moon` to `home`, a sibling of the moon's planet, within a span, best first; each is flown in the model.
///
/// # Errors
/// Bodies that do not stand like this to one another; bad bounds; no arc home in the span; interruption.
///
/// # Source
/// [Battin1999], section 6.8 (velocity from place and asymptote); the search is plain.
pub fn return_windows(
    moon: &Body,
    home: &Body,
    options: &ReturnOptions,
    watch: &Watch<'_>,
) -> Result<Vec<ReturnWindow>, PlanError> {
    let unrelated = || PlanError::Unrelated { from: moon.name().to_owned(), to: home.name().to_owned() };
    let giant = moon.parent().ok_or_else(unrelated)?;
    let star = giant.parent().filter(|star| home.parent().as_ref() == Some(star)).ok_or_else(unrelated)?;
    if *home == giant {
        return Err(PlanError::SameBody { name: home.name().to_owned() });
    }
    check_altitude(home, options.arrival_altitude)?;
    let (from, to) = options.between;
    let span = to.seconds_since(from);
    if span < 0.0 {
        return Err(PlanError::Span { from, to });
    }
    let axes = (giant.semi_major_axis(), home.semi_major_axis(), moon.orbital_period());
    let (Some(a), Some(b), Some(month)) = axes else { return Err(unrelated()) };
    let half = std::f64::consts::PI * (0.125 * (a + b).powi(3) / Orbit::gm_of(&star)).sqrt();
    let flights = options.flight_time.unwrap_or((0.4 * half, 2.2 * half));
    if !(flights.0 > 0.0 && flights.1 >= flights.0 && flights.1.is_finite()) {
        return Err(PlanError::FlightTimes { least_d: flights.0 / 86_400.0, most_d: flights.1 / 86_400.0 });
    }
    let looks = (span / month * LOOKS).ceil();
    if looks > MOST {
        let cells = looks * FLIGHTS as f64;
        return Err(PlanError::TooWide { cells, span_d: MOST / LOOKS * month / 86_400.0 });
    }
    let search = Search { moon, giant: &giant, star: &star, home, options, flights };
    let time = |k: usize| if looks == 0.0 { 0.0 } else { span * k as f64 / looks };
    let mut rows = Vec::new();
    for k in 0..=looks as usize {
        if watch.stopped() {
            return Err(PlanError::Stopped);
        }
        rows.push(search.cheapest(from.after(time(k))));
    }
    let cost = |k: usize| rows.get(k).copied().flatten().map_or(f64::INFINITY, |row| row.0);
    let mut valleys: Vec<(f64, f64, f64)> = (0..rows.len())
        .filter(|&k| cost(k) <= k.checked_sub(1).map_or(f64::INFINITY, &cost) && cost(k) < cost(k + 1))
        .filter_map(|k| rows[k].map(|(cost, flight)| (cost, time(k), flight)))
        .collect();
    valleys.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut found = Vec::new();
    let settings = minimise::Options { tolerance: 1e-6, ..minimise::Options::default() };
    for (first, at, flight) in valleys.into_iter().take(options.most) {
        let cost =
            |x: &[f64]| Ok::<f64, PlanError>(search.price(from.after(x[0]), x[1]).map_or(f64::INFINITY, |e| e.cost));
        let scale = [(month / LOOKS).min(span.max(1.0)), (flights.1 - flights.0).max(1.0) / FLIGHTS as f64];
        let polished = minimise::search(&[at, flight], &scale, &[(0.0, span), flights], cost, &settings, watch)?;
        let (at, flight) = if polished.cost <= first { (polished.x[0], polished.x[1]) } else { (at, flight) };
        if watch.stopped() {
            return Err(PlanError::Stopped);
        }
        if let Some(escape) = search.price(from.after(at), flight) {
            found.push(search.window(&escape, month, watch)?);
        }
    }
    if found.is_empty() {
        return Err(PlanError::NoArc { about: star.name().to_owned(), days: flights.0 / 86_400.0 });
    }
    found.sort_by(|a, b| a.cost.total_cmp(&b.cost).then(a.epoch.cmp(&b.epoch)));
    Ok(found)
}

struct Search<'a> {
    moon: &'a Body,
    giant: &'a Body,
    star: &'a Body,
    home: &'a Body,
    options: &'a ReturnOptions,
    flights: (f64, f64),
}

/// An escape and what it costs.
struct Escape {
    epoch: Epoch,
    /// Of the hyperbola about the giant.
    periapsis: Epoch,
    arrive: Epoch,
    v_infinity: Vec3,
    v_infinity_moon: Vec3,
    v_infinity_home: Vec3,
    dv: f64,
    cost: f64,
}

impl Search<'_> {
    /// The cheapest time of flight of the first look: cost and flight time.
    fn cheapest(&self, epoch: Epoch) -> Option<(f64, f64)> {
        let (least, most) = self.flights;
        (0..FLIGHTS)
            .map(|k| least + (most - least) * k as f64 / (FLIGHTS - 1) as f64)
            .filter_map(|flight| self.price(epoch, flight).map(|escape| (escape.cost, flight)))
            .min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// The cheaper way round the giant.
    fn price(&self, epoch: Epoch, flight: f64) -> Option<Escape> {
        let ways = [Sweep::Short, Sweep::Long];
        ways.iter().filter_map(|sweep| self.escape(epoch, flight, *sweep)).min_by(|a, b| a.cost.total_cmp(&b.cost))
    }

    fn escape(&self, epoch: Epoch, flight: f64, sweep: Sweep) -> Option<Escape> {
        let gm = Orbit::gm_of(self.giant);
        let there = self.moon.state(epoch).ok()?;
        let arrive = epoch.after(flight);
        let goal = self.home.state(arrive).ok()?;
        let mut periapsis = epoch;
        let mut last = None;
        for _ in 0..ROUNDS {
            let start = self.giant.state(periapsis).ok()?;
            let seconds = arrive.seconds_since(periapsis);
            let way = Way::Prograde(angular_momentum(&start));
            let (r1, r2) = (start.position, goal.position);
            let arc = solve_one(Orbit::gm_of(self.star), &r1, &r2, seconds, way, 0, Branch::Single).ok()?;
            let v_infinity = arc.v1 - start.velocity;
            let velocity = velocity_to_asymptote(gm, &there.position, &v_infinity, sweep)?;
            let state = State { position: there.position, velocity };
            periapsis = epoch.after(-time_since_periapsis(gm, &state));
            last = Some((state, v_infinity, arc.v2 - goal.velocity));
        }
        let (state, v_infinity, v_infinity_home) = last?;
        // Falling past the giant first is fine, falling into it is not.
        let low = self.giant.ring().map_or(self.giant.radius(), |ring| ring.outer);
        let falls = state.position.dot(&state.velocity) < 0.0;
        if falls && Elements::from_state(gm, &state).ok()?.periapsis_radius() < low {
            return None;
        }
        let v_infinity_moon = state.velocity - there.velocity;
        let dv = match &self.options.parking {
            Parking::Altitude(altitude) => {
                let (gm, radius) = (self.moon.gm(), self.moon.radius() + altitude);
                (v_infinity_moon.norm_squared() + 2.0 * gm / radius).sqrt() - (gm / radius).sqrt()
            }
            parking @ Parking::Orbit(_) => leave(self.moon, parking, v_infinity_moon, epoch).ok()?.dv(),
        };
        let cost = dv + self.options.arrival_weight * v_infinity_home.norm();
        cost.is_finite().then_some(Escape {
            epoch,
            periapsis,
            arrive,
            v_infinity,
            v_infinity_moon,
            v_infinity_home,
            dv,
            cost,
        })
    }

    /// The burn, its flight home, and the month around it.
    fn window(&self, escape: &Escape, month: f64, watch: &Watch<'_>) -> Result<ReturnWindow, PlanError> {
        let radius = self.home.radius() + self.options.arrival_altitude;
        let plane = ArrivalPlane::LeastInclined;
        let trip = Trip {
            route: Route::between(self.moon, self.home)?,
            from: self.moon.clone(),
            to: self.home.clone(),
            parking: self.options.parking.clone(),
            arrival: None,
            arrival_radius: radius,
            plane,
            family: Family::DIRECT,
        };
        // From here on the aims about the moon, the giant and home count too.
        // They move the bottom of the valley, so that it is looked for once more.
        let priced = |x: &[f64]| {
            let flight = trip.aimed(escape.periapsis.after(x[0]), escape.arrive.after(x[1]), CLOSED)?;
            let home = flight.arc.v_inf_arrive.map_or(0.0, |v| v.norm());
            let off = flight.closure > 1e3 * CLOSED;
            Ok::<f64, PlanError>(if off {
                f64::INFINITY
            } else {
                flight.burn.size() + self.options.arrival_weight * home
            })
        };
        let near = month / LOOKS;
        let settings =
            minimise::Options { tolerance: 1e-4, evaluations: 150, restarts: 1, ..minimise::Options::default() };
        let bounds = [(-4.0 * near, 4.0 * near), (-40.0 * near, 40.0 * near)];
        let moved = match minimise::search(&[0.0, 0.0], &[near, 10.0 * near], &bounds, priced, &settings, watch) {
            Ok(found) if found.cost.is_finite() => (found.x[0], found.x[1]),
            _ => (0.0, 0.0),
        };
        let flight = trip.aimed(escape.periapsis.after(moved.0), escape.arrive.after(moved.1), CLOSED)?;
        let (burn, flown) = match shot(&flight, radius, plane, watch) {
            Ok((dv, _, figures)) => (planned(&flight.parking, dv, LABEL)?, Ok(figures)),
            Err(Unflown::Stopped) => return Err(PlanError::Stopped),
            Err(Unflown::Because(why)) => (flight.burn.clone(), Err(why)),
        };
        let rows = (0..=LOOKS as usize)
            .map(|k| escape.epoch.after(month * (k as f64 / LOOKS - 0.5)))
            .filter_map(|epoch| {
                let (_, flight) = self.cheapest(epoch)?;
                Some((epoch, self.price(epoch, flight)?.dv))
            })
            .collect();
        let home = flown.as_ref().ok().and_then(|figures| figures.v_inf_arrive);
        let home = home.unwrap_or_else(|| escape.v_infinity_home.norm());
        let cost = burn.size() + self.options.arrival_weight * home;
        Ok(ReturnWindow {
            epoch: flight.arc.depart,
            arrive: flight.arc.arrive,
            parking: flight.parking,
            burn,
            estimate: escape.dv,
            v_infinity_moon: escape.v_infinity_moon,
            v_infinity: escape.v_infinity,
            v_infinity_home: escape.v_infinity_home,
            cost,
            flown,
            month: Month { rows },
        })
    }
}
