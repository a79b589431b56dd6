//! The ascent itself: what is free is found, and the best flight is told.

use super::climb::Programme;
use super::flight::Flight;
use super::{Ascent, AscentError, Entry, Settings, Target, azimuth};
use crate::conic::State;
use crate::motion::force::Surroundings;
use crate::numerics::watch::Watch;
use crate::numerics::{minimise, minimum};
use crate::system::Body;
use crate::vector::Vec3;
use crate::vehicle::Vehicle;

/// An ascent to be flown.
#[derive(Debug, Clone, Copy)]
pub struct Task<'a> {
    /// From whose ground.
    pub body: &'a Body,
    /// Its gravity, air and rotation at lift-off, inertial axes.
    pub around: &'a Surroundings,
    /// The pad: place (m) and velocity (m/s) at lift-off, inertial, about the centre.
    pub pad: State,
    /// Unit vector of the body's pole.
    pub north: Vec3,
    /// What flies.
    pub vehicle: &'a Vehicle,
    /// Where to.
    pub target: Target,
    /// What was chosen.
    pub settings: &'a Settings,
}

/// First kick angles tried, rad: 0.3 to 25 degrees in even ratios.
const KICKS: (f64, f64, usize) = (0.005, 0.44, 12);
/// A kick is found to this share of itself: the mass in orbit changes with the square of what is left.
const KICK_TOLERANCE: f64 = 4e-3;
/// Corners of an optimised programme of pitch.
const CORNERS: usize = 5;
/// Height of a cut-off over ground without air, m: mountains are lower.
const OVER_GROUND: f64 = 10e3;

/// A way into the orbit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Way {
    /// Steered to the periapsis.
    Direct,
    /// Steered to a level cut-off at a height (m above the equatorial radius), coast, closing burn.
    Low(f64),
    /// Along the velocity until the apoapsis is high enough, coast, closing burn.
    Turn,
}

/// What one flight is flown with.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Choice {
    pub kick: f64,
    /// How the orbit is entered.
    pub way: Way,
    pub pitch: Option<Vec<(f64, f64)>>,
}

/// The searches of one ascent.
struct Search<'a> {
    task: Task<'a>,
    heading: f64,
    watch: &'a Watch<'a>,
    flights: usize,
    nearest: Option<AscentError>,
    best: Option<(Choice, f64)>,
}

/// Flies a vehicle from the ground to an orbit. What is not chosen is found: the kick angle, and how the orbit is entered, for the greatest mass in orbit;
/// the programme of pitch too where `optimise` asks for it.
///
/// # Errors
/// A vehicle that does not rise or whose thrust or drag area is not known; a target in the air or the ground; options outside their ranges; no flight
/// that reaches the orbit.
///
/// # Source
/// Gravity turn: [CullerFried1957]; steering: [McHenry1979]; losses: [Humble1995], section 2.4.
pub fn ascend(task: &Task<'_>, watch: &Watch<'_>) -> Result<Ascent, AscentError> {
    let heading = checked(task)?;
    let mut search = Search { task: *task, heading: heading.launch, watch, flights: 0, nearest: None, best: None };
    search.run();
    let Some((choice, _)) = search.best.clone() else {
        let flights = search.flights;
        return Err(match search.nearest {
            Some(error) if flights <= 1 => error,
            Some(error) => AscentError::NoAscent { flights, nearest: Box::new(error) },
            None => AscentError::NoSteering { time_s: 0.0, height_m: 0.0, speed_m_s: 0.0 },
        });
    };
    let flight = search.fly(&choice)?;
    let flights = search.flights;
    Ascent::told(task, flight, &choice, heading, flights)
}

/// One flight with a kick angle and a way of entry that are chosen already; what a search repeats.
///
/// # Errors
/// As [`ascend`].
pub fn ascend_once(task: &Task<'_>, kick: f64, way: Way, watch: &Watch<'_>) -> Result<Ascent, AscentError> {
    let heading = checked(task)?;
    let mut search = Search { task: *task, heading: heading.launch, watch, flights: 0, nearest: None, best: None };
    let choice = Choice { kick, way, pitch: None };
    let flight = search.fly(&choice)?;
    Ascent::told(task, flight, &choice, heading, 1)
}

/// Refuses what cannot be flown, before it is flown; tells the way to pitch over.
fn checked(task: &Task<'_>) -> Result<azimuth::Azimuth, AscentError> {
    task.settings.checked()?;
    task.target.checked(task.body)?;
    if task.vehicle.stages().iter().all(|stage| stage.engines().is_empty()) {
        let stage = task.vehicle.stages().first().map_or_else(String::new, |stage| stage.name().to_owned());
        return Err(crate::vehicle::VehicleError::NoEngine { stage }.into());
    }
    task.vehicle.check_pad(task.body)?;
    let known = task.settings.drag_area.or_else(|| task.vehicle.drag_area()).is_some();
    if !task.around.layers().is_empty() && !known {
        let (vehicle, body) = (task.vehicle.name().to_owned(), task.body.name().to_owned());
        return Err(AscentError::NoDragArea { vehicle, body });
    }
    let position = task.pad.position;
    let latitude = (task.north.dot(&position) / position.norm()).clamp(-1.0, 1.0).asin();
    let ground = task.pad.velocity.norm();
    let orbit = task.target.speed(task.around.gravity.gm(), task.target.periapsis);
    let south = task.settings.southward;
    let pole = task.north;
    let found = match task.target.plane {
        super::Plane::Free => azimuth::azimuth(latitude, latitude.abs(), south, ground, orbit),
        super::Plane::Inclined(inclination) => azimuth::azimuth(latitude, inclination, south, ground, orbit),
        super::Plane::Fixed(normal) => {
            let inclination = pole.cross(&normal).norm().atan2(pole.dot(&normal));
            // Of the two ways with this inclination, the one along the plane.
            let southward = normal.cross(&position).dot(&pole) < 0.0;
            azimuth::azimuth(latitude, inclination, southward, ground, orbit)
        }
    };
    Ok(match task.settings.heading {
        Some(launch) => azimuth::Azimuth { launch, ..found },
        None => found,
    })
}

impl<'a> Search<'a> {
    fn fly(&mut self, choice: &Choice) -> Result<Flight<'a>, AscentError> {
        self.flights += 1;
        let task = self.task;
        let mut flight = Flight::new(task.around, task.vehicle, &task.pad, 0.0, task.settings, self.watch)?;
        let programme = Programme { heading: self.heading, kick: choice.kick, pitch: choice.pitch.clone() };
        flight.climb(&programme, &task.north)?;
        flight.bare_in_thin_air()?;
        let Some(normal) = task.target.normal(&flight.state(), &task.north) else {
            return Err(AscentError::FellBack { time_s: flight.time(), height_m: flight.height() });
        };
        match choice.way {
            Way::Direct => flight.insert(&task.target, &normal)?,
            Way::Low(low) => flight.insert_by_coast(&task.target, &normal, low + task.body.radius())?,
            Way::Turn => flight.insert_by_turn(&task.target)?,
        }
        Ok(flight)
    }

    /// Cost of a choice: the mass in orbit, below zero; infinite where the orbit is not reached.
    fn cost(&mut self, choice: &Choice) -> f64 {
        if self.watch.stopped() {
            return f64::INFINITY;
        }
        match self.fly(choice) {
            Ok(flight) => {
                let mass = flight.mass();
                if self.best.as_ref().is_none_or(|(_, best)| mass > *best) {
                    self.best = Some((choice.clone(), mass));
                }
                -mass
            }
            Err(error) => {
                // A flight that got as far as to lack propellant tells more than one that fell back.
                let tells = matches!(error, AscentError::OutOfPropellant { missing_m_s, .. } if missing_m_s > 0.0);
                let least = |known: &AscentError| match (known, &error) {
                    (
                        AscentError::OutOfPropellant { missing_m_s: known, .. },
                        AscentError::OutOfPropellant { missing_m_s: new, .. },
                    ) => *known <= 0.0 || new < known,
                    _ => true,
                };
                if self.nearest.is_none() || tells && self.nearest.as_ref().is_some_and(least) {
                    self.nearest = Some(error);
                }
                f64::INFINITY
            }
        }
    }

    fn run(&mut self) {
        let settings = self.task.settings;
        let coasts = settings.entry == Entry::Coast || settings.insertion_altitude.is_some();
        if !coasts {
            self.over_kicks(Way::Direct);
        }
        if coasts || settings.entry == Entry::Cheapest {
            self.over_heights();
            // Without steering the plane is what it comes to be.
            if self.task.target.plane == super::Plane::Free && settings.insertion_altitude.is_none() {
                self.over_turns();
            }
        }
        if settings.optimise && self.best.is_some() {
            self.over_programmes();
        }
    }

    /// The best kick angle for a way of entry: a scan, then a narrowing about the best.
    fn over_kicks(&mut self, way: Way) {
        let choice = |kick: f64| Choice { kick, way, pitch: None };
        if let Some(kick) = self.task.settings.kick {
            self.cost(&choice(kick));
            return;
        }
        if self.task.around.layers().is_empty() {
            self.cost(&choice(KICKS.0));
            return;
        }
        let (first, last, count) = KICKS;
        let ratio = (last / first).ln() / (count - 1) as f64;
        let costs: Vec<f64> = (0..count).map(|k| self.cost(&choice(first * (ratio * k as f64).exp()))).collect();
        let Some(best) = (0..count).min_by(|a, b| costs[*a].total_cmp(&costs[*b])) else { return };
        if costs[best].is_finite() {
            self.near(first * (ratio * best as f64).exp(), ratio, way);
        }
    }

    /// Narrows the kick about one that flies; `width` is in its logarithm.
    fn near(&mut self, kick: f64, width: f64, way: Way) {
        let centre = kick.ln();
        let cost = |logarithm: f64| self.cost(&Choice { kick: logarithm.exp(), way, pitch: None });
        minimum::bracketed(cost, centre - width, centre + width, KICK_TOLERANCE);
    }

    /// Entry by a coast: the height of the cut-off and the kick in turns.
    fn over_heights(&mut self) {
        let task = self.task;
        let target = task.target.apoapsis - task.body.radius();
        if let Some(low) = task.settings.insertion_altitude {
            return self.over_kicks(Way::Low(low));
        }
        let floor = self.floor();
        if floor >= target - 2e3 {
            return;
        }
        let middle = floor + 0.3 * (target - floor);
        let before = self.best.clone();
        self.best = None;
        match (&before, task.settings.entry) {
            // A direct ascent tells about where the kick is.
            (Some((choice, _)), Entry::Cheapest) => {
                self.cost(&Choice { way: Way::Low(middle), ..choice.clone() });
            }
            _ => self.over_kicks(Way::Low(middle)),
        }
        if let Some((choice, _)) = self.best.clone() {
            let cost = |low: f64| self.cost(&Choice { way: Way::Low(low), ..choice.clone() });
            minimum::bracketed(cost, floor, target - 1e3, 1e3);
            if let Some((choice, _)) = self.best.clone()
                && task.settings.kick.is_none()
                && !task.around.layers().is_empty()
            {
                self.near(choice.kick, 0.4, choice.way);
            }
        }
        self.keep(before);
    }

    /// Takes the better of what was known before and what is now.
    fn keep(&mut self, before: Option<(Choice, f64)>) {
        if let Some((choice, mass)) = before
            && self.best.as_ref().is_none_or(|(_, best)| mass >= *best)
        {
            self.best = Some((choice, mass));
        }
    }

    /// Entry by a turn along the velocity: the kick alone decides. Over ground without air there is no such turn.
    fn over_turns(&mut self) {
        if self.task.around.layers().is_empty() {
            return;
        }
        let before = self.best.take();
        self.over_kicks(Way::Turn);
        self.keep(before);
    }

    /// Lowest height of a cut-off before a coast, m.
    fn floor(&self) -> f64 {
        let task = self.task;
        if task.around.layers().is_empty() {
            return OVER_GROUND;
        }
        Flight::new(task.around, task.vehicle, &task.pad, 0.0, task.settings, self.watch)
            .map_or(0.0, |flight| flight.thin_height())
    }

    /// The programme of pitch through the air, about the best gravity turn.
    fn over_programmes(&mut self) {
        let Some((choice, mass)) = self.best.clone() else { return };
        let Ok(flight) = self.fly(&choice) else { return };
        let Some(corners) = corners(&flight, &self.task, self.heading) else { return };
        let start: Vec<f64> = corners.iter().map(|corner| corner.1).collect();
        let (scale, bounds) = (vec![0.03; start.len()], vec![(0.0, 1.55); start.len()]);
        let options =
            minimise::Options { tolerance: 0.01, cost_tolerance: 1e-5, evaluations: 240, grid: 8, restarts: 1 };
        let watch = self.watch;
        let cost = |angles: &[f64]| -> Result<f64, std::convert::Infallible> {
            let pitch = corners.iter().zip(angles).map(|(corner, angle)| (corner.0, *angle)).collect();
            Ok(self.cost(&Choice { pitch: Some(pitch), ..choice.clone() }) / mass)
        };
        // What is found is kept by the costs themselves.
        let _ = minimise::search(&start, &scale, &bounds, cost, &options, watch);
    }
}

/// Times and pitch angles of a gravity turn at evenly spaced corners.
fn corners(flight: &Flight<'_>, task: &Task<'_>, heading: f64) -> Option<Vec<(f64, f64)>> {
    let of = |what: &str| flight.events.iter().find(|event| event.what == what).map(|event| event.time);
    let (begun, ended) = (of("gravity turn")?, of("steering to the orbit")?);
    let flown = flight.flown.as_ref()?;
    let corners = (0..CORNERS).map(|k| {
        let time = begun + (ended - begun) * k as f64 / (CORNERS - 1) as f64;
        let state = super::flight::state_of(&flown.at(time));
        let up = task.around.up(&state.position);
        let motion = state.velocity - task.around.air_velocity(&state.position);
        let ahead = azimuth::heading(&up, &task.north, heading)?;
        Some((time, motion.dot(&ahead).atan2(motion.dot(&up))))
    });
    corners.collect()
}
