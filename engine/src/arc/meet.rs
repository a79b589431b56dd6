//! From a wide orbit about a giant to an orbit about one of its moons: the burn that aims and the burn that arrives, solved together.
//!
//! The two unknowns are when to burn and when to meet. Between them lies an arc with any number of revolutions; its first velocity
//! tells the aim burn, its last the insertion. A burn near the apoapsis shifts the timing of a whole revolution for little, which is why
//! both are searched at once: a cheap aim may arrive dear.

use super::capture::capture_burn;
use super::lambert::{self, Options, Way};
use super::parking::ArrivalOrbit;
use super::plan_error::PlanError;
use super::shoot::{self, Aim, Meeting, ShootError, Start};
use crate::burn::Burn;
use crate::conic::{Elements, State, angular_momentum, hyperbola};
use crate::numerics::{minimise, watch::Watch};
use crate::orbit::Orbit;
use crate::system::Body;
use crate::vector::Vec3;

/// What `meet` may be told.
#[derive(Debug, Clone, PartialEq)]
pub struct MeetOptions {
    /// The moon is met within this time of the orbit's epoch, s.
    pub within: f64,
    /// The orbit about the moon that the second burn leaves.
    pub arrival: ArrivalOrbit,
    /// Least periapsis radius about the giant on the way, m. Default: the ring's outer edge or the giant's radius.
    pub least_radius: Option<f64>,
    /// Most whole revolutions between the burns.
    pub revolutions: u32,
    /// Inclination of the arrival to the moon's equator, rad. Default: the one that costs the aim least.
    pub inclination: Option<f64>,
    /// The body whose sphere the craft has just left. Default: the moon of the giant's that it is still close to.
    pub leaving: Option<Body>,
}

/// Two burns that bring a craft from an orbit about a giant into one about its moon.
#[derive(Debug, Clone, PartialEq)]
pub struct Meet {
    /// The burn that aims, planned on the orbit given; none where the orbit meets the moon by itself.
    pub aim: Option<Burn>,
    /// The burn at periapsis about the moon, planned there.
    pub insertion: Burn,
    /// The arc between the burns, right after the first.
    pub arc: Orbit,
    /// Whole revolutions about the giant between the burns.
    pub revolutions: u32,
    /// How the moon is met.
    pub meeting: Meeting,
    /// The hyperbola about the moon at its periapsis.
    pub hyperbola: Orbit,
    /// The orbit after the second burn.
    pub orbit: Orbit,
    /// Δv of both burns before the model was flown, m/s.
    pub estimate: (f64, f64),
    /// What is left of the aim in the model: m across, ms in time.
    pub residuals: Vec<f64>,
    /// How many plans were flown.
    pub flown: usize,
}

impl Meet {
    /// Both burns, m/s.
    pub fn dv(&self) -> f64 {
        self.aim.as_ref().map_or(0.0, Burn::size) + self.insertion.size()
    }
}

/// Why no two burns meet a moon.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MeetError {
    /// The orbit is open, or not about the moon's giant.
    #[error("meeting `{moon}` needs a bound orbit about the body that it goes round")]
    Orbit {
        /// Name.
        moon: String,
    },
    /// The time allowed is no time, or so long that the search would not end.
    #[error("`within` must lie between {least_d:.3} d and {most_d:.0} d here, got {within_d:.3} d")]
    Within {
        /// As given, days.
        within_d: f64,
        /// Days.
        least_d: f64,
        /// Days.
        most_d: f64,
    },
    /// Arcs there are, but all of them pass too low or too far.
    #[error(
        "within {within_d:.1} d no arc meets `{moon}` with its periapsis above {least_radius_m:.0} m (the best one has {best_m:.0} m)"
    )]
    TooLow {
        /// Name.
        moon: String,
        /// Days.
        within_d: f64,
        /// The bound, m.
        least_radius_m: f64,
        /// The highest periapsis among the arcs, m.
        best_m: f64,
    },
    /// Plans there are, but the model does not fly them.
    #[error("none of {tried} plans to meet `{moon}` is met when it is flown: {last}")]
    NotFlown {
        /// Name.
        moon: String,
        /// Plans tried.
        tried: usize,
        /// What the best of them met.
        last: Box<ShootError>,
    },
    /// The orbit does not meet the moon by itself.
    #[error(
        "within {within_d:.1} d this orbit does not meet `{moon}` by itself: it comes no nearer than {nearest_m:.0} m, its sphere of \
             influence is {sphere_m:.0} m; a second burn is needed to aim"
    )]
    NotMet {
        /// Name.
        moon: String,
        /// Days.
        within_d: f64,
        /// Least distance between the craft and the moon's centre, m, as far as it was looked.
        nearest_m: f64,
        /// m.
        sphere_m: f64,
    },
    /// The orbit meets the moon, but strikes it or passes where no orbit can be.
    #[error(
        "this orbit meets `{moon}` with its periapsis at an altitude of {altitude_m:.0} m, where the insertion cannot be; a second burn is \
             needed to aim"
    )]
    Strikes {
        /// Name.
        moon: String,
        /// m, below 0 under the ground.
        altitude_m: f64,
    },
    /// The search was stopped from outside.
    #[error("the search was stopped")]
    Stopped,
    /// A part cannot be planned.
    #[error(transparent)]
    Plan(#[from] PlanError),
}

/// Looks for the first burn in one revolution, and a month of the moon.
const LOOKS: f64 = 48.0;
/// Most pairs of epochs looked at, and valleys refined.
const PAIRS: f64 = 4e5;
const VALLEYS: usize = 8;

/// Two burns from `orbit` into the wanted orbit about `moon`, the cheapest that the model flies.
///
/// # Errors
/// An orbit that does not go round the moon's giant; too little or too much time; every arc too low; no plan that is met when flown.
///
/// # Source
/// [Battin1999], chapter 7 for the arcs; the search is plain.
pub fn meet(orbit: &Orbit, moon: &Body, options: &MeetOptions, watch: &Watch<'_>) -> Result<Meet, MeetError> {
    options.arrival.check(moon)?;
    let giant = orbit.body();
    let name = || moon.name().to_owned();
    let (Some(period), Some(month)) = (orbit.period(), moon.orbital_period()) else {
        return Err(MeetError::Orbit { moon: name() });
    };
    if moon.parent().as_ref() != Some(giant) {
        return Err(MeetError::Orbit { moon: name() });
    }
    let within = options.within;
    let (least, most) = (period.min(month) / LOOKS, (PAIRS / LOOKS / LOOKS * month).max(month));
    if !(within >= least && within <= most) {
        let day = 86_400.0;
        return Err(MeetError::Within { within_d: within / day, least_d: least / day, most_d: most / day });
    }
    let low = options.least_radius.unwrap_or_else(|| giant.ring().map_or(giant.radius(), |ring| ring.outer));
    let chain = Chain { orbit, moon, options, low, way: Way::Prograde(angular_momentum(orbit.state())) };
    let (starts, ends) = ((within.min(period) / period * LOOKS).ceil(), (within / month * LOOKS).ceil());
    let mut plans: Vec<(f64, f64, f64)> = Vec::new();
    let mut highest = 0.0_f64;
    let mut rows: Vec<Vec<f64>> = Vec::new();
    let first = |i: usize| within.min(period) * i as f64 / starts;
    let last = |j: usize| within * j as f64 / ends;
    for i in 0..starts as usize {
        if watch.stopped() {
            return Err(MeetError::Stopped);
        }
        rows.push((0..=ends as usize).map(|j| chain.cost(first(i), last(j), &mut highest)).collect());
    }
    for i in 0..rows.len() {
        for j in 0..rows[i].len() {
            let here = rows[i][j];
            let around = |a: usize, b: usize| rows.get(a).and_then(|row| row.get(b)).copied().unwrap_or(f64::INFINITY);
            let lowest = (i.saturating_sub(1)..=i + 1)
                .flat_map(|a| (j.saturating_sub(1)..=j + 1).map(move |b| (a, b)))
                .all(|(a, b)| here <= around(a, b));
            if here.is_finite() && lowest {
                plans.push((here, first(i), last(j)));
            }
        }
    }
    plans.sort_by(|a, b| a.0.total_cmp(&b.0));
    if plans.is_empty() {
        let within_d = within / 86_400.0;
        return Err(MeetError::TooLow { moon: name(), within_d, least_radius_m: low, best_m: highest });
    }
    for plan in plans.iter_mut().take(VALLEYS) {
        let settings = minimise::Options { tolerance: 1e-7, ..minimise::Options::default() };
        let cost = |x: &[f64]| Ok::<f64, MeetError>(chain.cost(x[0], x[1], &mut 0.0));
        let (start, scale) = ([plan.1, plan.2], [0.5 * period / LOOKS, 0.5 * month / LOOKS]);
        let found = minimise::search(&start, &scale, &[(0.0, within), (0.0, within)], cost, &settings, watch)?;
        if found.cost < plan.0 {
            *plan = (found.cost, found.x[0], found.x[1]);
        }
    }
    plans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut best: Option<Meet> = None;
    let mut refused = None;
    let tried = plans.len().min(VALLEYS);
    for (_, start, end) in plans.into_iter().take(VALLEYS) {
        match chain.fly(start, end, watch)? {
            Ok(found) if best.as_ref().is_none_or(|best| found.dv() < best.dv()) => best = Some(found),
            Ok(_) => {}
            Err(ShootError::Interrupted) => return Err(MeetError::Stopped),
            Err(error) => refused = refused.or(Some(error)),
        }
    }
    let missed = ShootError::NotReached { body: name() };
    best.map(|best| Meet { flown: tried, ..best }).ok_or_else(|| MeetError::NotFlown {
        moon: name(),
        tried,
        last: Box::new(refused.unwrap_or(missed)),
    })
}

/// One burn: the orbit meets the moon by itself, and the craft brakes at the periapsis that it finds, into an orbit with the apoapsis
/// wanted (a circle where a circle is).
///
/// # Errors
/// As [`meet`]; an orbit that does not meet the moon in time, with how near it comes; a periapsis where no orbit can be.
pub fn natural(orbit: &Orbit, moon: &Body, options: &MeetOptions, watch: &Watch<'_>) -> Result<Meet, MeetError> {
    options.arrival.check(moon)?;
    let name = || moon.name().to_owned();
    let (within, day) = (options.within, 86_400.0);
    let Some(period) = orbit.period().filter(|_| moon.parent().as_ref() == Some(orbit.body())) else {
        return Err(MeetError::Orbit { moon: name() });
    };
    let most = PAIRS / LOOKS * period;
    if !(within > 0.0 && within <= most) {
        return Err(MeetError::Within { within_d: within / day, least_d: 0.0, most_d: most / day });
    }
    let (gm, begin) = (orbit.gm(), orbit.epoch());
    let distance = |time: f64| {
        let here = crate::conic::propagate(gm, orbit.state(), time).ok();
        let there = moon.state(begin.after(time)).ok();
        here.zip(there).map_or(f64::INFINITY, |(here, there)| (here.position - there.position).norm())
    };
    // No sphere is crossed between two looks: at the greatest speed apart this takes a tenth of it.
    let sphere = moon.sphere_of_influence();
    let fastest = orbit.periapsis_speed() + moon.state(begin).map_or(0.0, |state| state.velocity.norm());
    let step = (0.1 * sphere / fastest).max(within * LOOKS / PAIRS / 10.0);
    let looks = (within / step).ceil() as usize;
    let mut nearest = f64::INFINITY;
    for k in 1..looks {
        if watch.stopped() {
            return Err(MeetError::Stopped);
        }
        let time = within * k as f64 / looks as f64;
        let here = distance(time);
        nearest = nearest.min(here);
        if here >= sphere {
            continue;
        }
        let leaving = options.leaving.as_ref();
        let Ok(meeting) = shoot::meeting(orbit, moon, begin.after(time), leaving, watch) else { continue };
        let periapsis = meeting.periapsis_radius();
        let wanted = match options.arrival {
            ArrivalOrbit::Circular { .. } => ArrivalOrbit::Circular { altitude: periapsis - moon.radius() },
            ArrivalOrbit::Ellipse { apoapsis_altitude, .. } => {
                ArrivalOrbit::Ellipse { periapsis_altitude: periapsis - moon.radius(), apoapsis_altitude }
            }
        };
        let refused = || MeetError::Strikes { moon: name(), altitude_m: periapsis - moon.radius() };
        wanted.check(moon).map_err(|_| refused())?;
        let state = hyperbola::at_periapsis(moon.gm(), meeting.v_infinity, meeting.aim).map_err(|_| refused())?;
        let hyperbola = Orbit::new(moon.clone(), meeting.epoch, state).map_err(PlanError::from)?;
        let (insertion, after) = capture_burn(&hyperbola, wanted)?;
        return Ok(Meet {
            aim: None,
            estimate: (0.0, insertion.size()),
            insertion: insertion.labelled("insertion burn"),
            arc: orbit.clone(),
            revolutions: (meeting.epoch.seconds_since(begin) / period).floor() as u32,
            meeting,
            hyperbola,
            orbit: after,
            residuals: Vec::new(),
            flown: 1,
        });
    }
    let (within_d, nearest_m, sphere_m) = (within / day, nearest, sphere);
    Err(MeetError::NotMet { moon: name(), within_d, nearest_m, sphere_m })
}

struct Chain<'a> {
    orbit: &'a Orbit,
    moon: &'a Body,
    options: &'a MeetOptions,
    low: f64,
    way: Way,
}

/// An arc between the burns.
struct Link {
    /// First burn, m/s.
    dv: Vec3,
    insertion: f64,
    revolutions: u32,
    cost: f64,
}

impl Chain<'_> {
    /// The cheapest arc between two times, s past the orbit's epoch; `highest` gathers the highest periapsis of those that are too low.
    fn link(&self, start: f64, end: f64, highest: &mut f64) -> Option<Link> {
        let gm = self.orbit.gm();
        let here = crate::conic::propagate(gm, self.orbit.state(), start).ok()?;
        let there = self.moon.state(self.orbit.epoch().after(end)).ok()?;
        let settings = Options { way: self.way, max_revolutions: self.options.revolutions };
        let arcs = lambert::solve(gm, &here.position, &there.position, end - start, &settings).ok()?;
        let sphere = self.orbit.body().sphere_of_influence();
        let (pull, periapsis) = (self.moon.gm(), self.options.arrival.periapsis_radius(self.moon));
        let mut best: Option<Link> = None;
        for arc in arcs {
            let state = State { position: here.position, velocity: arc.v1 };
            let Ok(elements) = Elements::from_state(gm, &state) else { continue };
            // The apsides count where the arc passes them; a bound arc is kept between them throughout.
            let inbound = here.position.dot(&arc.v1) < 0.0 && there.position.dot(&arc.v2) > 0.0;
            let passes = arc.revolutions > 0 || inbound;
            if passes && elements.periapsis_radius() < self.low {
                *highest = highest.max(elements.periapsis_radius());
                continue;
            }
            if elements.apoapsis_radius().is_none_or(|far| far > sphere) {
                continue;
            }
            let dv = arc.v1 - here.velocity;
            let excess = (arc.v2 - there.velocity).norm_squared();
            let insertion = (excess + 2.0 * pull / periapsis).sqrt() - self.options.arrival.periapsis_speed(self.moon);
            let cost = dv.norm() + insertion.abs();
            if best.as_ref().is_none_or(|best| cost < best.cost) {
                best = Some(Link { dv, insertion, revolutions: arc.revolutions, cost });
            }
        }
        best
    }

    /// The moon that the craft has just left, for a burn this long (s) after the orbit's epoch.
    fn leaving(&self, start: f64) -> Option<Body> {
        let epoch = self.orbit.epoch().after(start);
        let here = crate::conic::propagate(self.orbit.gm(), self.orbit.state(), start).ok()?;
        self.options.leaving.clone().or_else(|| {
            self.orbit.body().moons().into_iter().find(|body| {
                *body != *self.moon
                    && body.state(epoch).is_ok_and(|there| {
                        let away = here.position - there.position;
                        // What the patch leaves open of the place at the edge is far less than half a sphere.
                        away.norm() < 1.5 * body.sphere_of_influence()
                            && away.dot(&(here.velocity - there.velocity)) > 0.0
                    })
            })
        })
    }

    fn cost(&self, start: f64, end: f64, highest: &mut f64) -> f64 {
        if end <= start {
            return f64::INFINITY;
        }
        self.link(start, end, highest).map_or(f64::INFINITY, |link| link.cost)
    }

    /// Shoots the first burn in the model at the periapsis wanted, and plans the second where it leads.
    fn fly(&self, start: f64, end: f64, watch: &Watch<'_>) -> Result<Result<Meet, ShootError>, MeetError> {
        let missing = || Err(ShootError::NotReached { body: self.moon.name().to_owned() });
        let Some(link) = self.link(start, end, &mut 0.0) else { return Ok(missing()) };
        let from = self.orbit.after(start).map_err(PlanError::from)?;
        let epoch = self.orbit.epoch().after(end);
        let radius = self.options.arrival.periapsis_radius(self.moon);
        let inclination = self.options.inclination;
        let aim = Aim::Periapsis { body: self.moon.clone(), radius, inclination, epoch: Some(epoch) };
        let known = Start { dv: Some(link.dv), expected: Some(epoch), leaving: self.leaving(start) };
        let shot = match shoot::shoot(&from, &aim, &known, watch) {
            Ok(shot) => shot,
            Err(error) => return Ok(Err(error)),
        };
        let found = shot.flown.clone();
        let Ok(state) = hyperbola::at_periapsis(self.moon.gm(), found.v_infinity, found.aim) else {
            return Ok(missing());
        };
        let hyperbola = Orbit::new(self.moon.clone(), found.epoch, state).map_err(PlanError::from)?;
        let (insertion, orbit) = capture_burn(&hyperbola, self.options.arrival)?;
        Ok(Ok(Meet {
            aim: Some(shot.burn.labelled("aim burn")),
            insertion: insertion.labelled("insertion burn"),
            arc: from.after_impulse(shot.dv).map_err(PlanError::from)?,
            revolutions: link.revolutions,
            estimate: (link.dv.norm(), link.insertion.abs()),
            meeting: found,
            hyperbola,
            orbit,
            residuals: shot.residuals,
            flown: 1,
        }))
    }
}
