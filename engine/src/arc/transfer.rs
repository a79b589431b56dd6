//! The arc between two bodies for given dates, at any depth of the tree.

use super::climb::{Climb, ClimbArc, climb};
use super::lambert::{self, Branch, Way};
use super::nested::{Bound, Passage, passages};
use super::plan_error::PlanError;
use super::route::Route;
use crate::conic::{self, State};
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// Seconds in a day, for messages.
pub(super) const DAY: f64 = 86_400.0;

/// What `transfer` may be told.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TransferOptions {
    /// Periapsis radius (m) of the arc where one of the ends is the central body itself (from a planet to its moon or back).
    /// Default: a tenth of the body's radius above its equator.
    pub periapsis_radius: Option<f64>,
}

/// Which of the arcs that join two places in a time: its whole revolutions, and the branch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Family {
    /// Whole revolutions.
    pub revolutions: u32,
    /// Left or right of the least-time arc; `Single` without a revolution.
    pub branch: Branch,
}

impl Family {
    /// The arc of less than a revolution.
    pub const DIRECT: Self = Self { revolutions: 0, branch: Branch::Single };

    /// All families up to a number of whole revolutions.
    pub fn up_to(revolutions: u32) -> Vec<Self> {
        let both = |revolutions| [Branch::Left, Branch::Right].map(|branch| Self { revolutions, branch });
        std::iter::once(Self::DIRECT).chain((1..=revolutions).flat_map(both)).collect()
    }
}

/// An arc between two bodies: the central conic and the hyperbolas nested at its ends.
#[derive(Debug, Clone, PartialEq)]
pub struct Arc {
    /// The body left.
    pub from: Body,
    /// The body reached.
    pub to: Body,
    /// The body the central conic goes round.
    pub about: Body,
    /// When `from` is left: the periapsis epoch about it (the epoch of the departure burn).
    pub depart: Epoch,
    /// When `to` is reached: the periapsis epoch about it.
    pub arrive: Epoch,
    /// Where the central conic begins; `depart` unless `from` is nested deeper.
    pub leave: Epoch,
    /// Where the central conic ends; `arrive` unless `to` is nested deeper.
    pub meet: Epoch,
    /// Velocity about `about` at `leave`, m/s, inertial.
    pub v1: Vec3,
    /// Velocity about `about` at `meet`, m/s, inertial.
    pub v2: Vec3,
    /// The central conic, at `leave`.
    pub orbit: Orbit,
    /// Twice the energy about `from`, m²/s²: v∞² of a hyperbola, negative for an arc that stays bound to `from`.
    pub c3: f64,
    /// Excess velocity about `from`, m/s, inertial. `None` when the arc climbs from an orbit about `from` to its moon.
    pub v_inf_depart: Option<Vec3>,
    /// Excess velocity about `to`, m/s, inertial. `None` when the arc comes down from a moon into an orbit about `to`.
    pub v_inf_arrive: Option<Vec3>,
    /// Angle swept about `about`, whole revolutions left out, rad, from 0 to 2π.
    pub theta: f64,
    /// Whole revolutions about `about`, and which of their two arcs.
    pub family: Family,
    /// Hyperbolas between the central conic and `from`, outermost first.
    pub outward: Vec<Passage>,
    /// Hyperbolas between the central conic and `to`, outermost first.
    pub inward: Vec<Passage>,
}

impl Arc {
    /// From leaving `from` to reaching `to`, s.
    pub fn flight_time(&self) -> f64 {
        self.arrive.seconds_since(self.depart)
    }

    /// On the central conic where it begins.
    pub fn start(&self) -> State {
        *self.orbit.state()
    }
}

/// The arc that leaves `from` at `depart` and reaches `to` at `arrive`, centre to centre.
///
/// Siblings are joined by one Lambert arc about their parent, in the sense of the motion of `from`, with less than one
/// revolution. Bodies at other depths are joined between the ancestors that share a parent, and `depart` and `arrive` are the epochs of that
/// central arc's ends; each moon below is left or met at its own epoch (`Arc::depart`, `Arc::arrive`). From a planet to its
/// own moon, or back, the other end is the arc's periapsis.
///
/// # Errors
/// The same body twice, no arc in the time, a moon that cannot be met, an epoch outside the ephemeris.
pub fn transfer(
    from: &Body,
    to: &Body,
    depart: Epoch,
    arrive: Epoch,
    options: &TransferOptions,
) -> Result<Arc, PlanError> {
    let route = Route::between(from, to)?;
    let offsets = Offsets::none(&route);
    solve(&route, (from, to), depart, arrive, options.periapsis_radius, &offsets, Family::DIRECT)
        .map(|solved| solved.arc)
}

/// By how much each centre is missed, m: one for each body of the two chains.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Offsets {
    /// Aims on the way out, outermost body first.
    pub start: Vec<Vec3>,
    /// Aims on the way in, outermost body first.
    pub goal: Vec<Vec3>,
}

impl Offsets {
    /// Centre to centre.
    pub(super) fn none(route: &Route) -> Self {
        Self {
            start: vec![Vec3::zeros(); route.down_to_start.len()],
            goal: vec![Vec3::zeros(); route.down_to_goal.len()],
        }
    }
}

/// An arc, and where its bound end is when it has one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Solved {
    /// The arc.
    pub arc: Arc,
    /// Periapsis about `about` when one of the ends is `about` itself.
    pub periapsis: Option<State>,
}

/// The central conic: its two ends, and the angle between them.
pub(super) struct Central {
    pub start: State,
    pub end: State,
    pub theta: f64,
}

/// Solve the central conic with the centres missed by `offsets`, then the hyperbolas at its ends. A climb has no family but the direct one.
pub(super) fn solve(
    route: &Route,
    (from, to): (&Body, &Body),
    leave: Epoch,
    meet: Epoch,
    periapsis_radius: Option<f64>,
    offsets: &Offsets,
    family: Family,
) -> Result<Solved, PlanError> {
    if meet <= leave {
        return Err(PlanError::ArrivalNotAfterDeparture { depart: leave, arrive: meet });
    }
    let seconds = meet.seconds_since(leave);
    let no_arc = || PlanError::NoArc { about: route.about.name().to_string(), days: seconds / DAY };
    let start_body = route.down_to_start.first().map(|body| body.state(leave)).transpose()?;
    let goal_body = route.down_to_goal.first().map(|body| body.state(meet)).transpose()?;
    let gm = Orbit::gm_of(&route.about);
    let aside = |list: &[Vec3]| list.first().copied().unwrap_or_else(Vec3::zeros);
    let radius = periapsis_radius.unwrap_or(1.1 * route.about.radius());
    let (central, periapsis) = match (&start_body, &goal_body) {
        (Some(start), Some(goal)) => {
            let r1 = start.position + aside(&offsets.start);
            let r2 = goal.position + aside(&offsets.goal);
            let sense = Way::Prograde(conic::angular_momentum(start));
            let arc = lambert::solve_one(gm, &r1, &r2, seconds, sense, family.revolutions, family.branch)
                .map_err(|_| no_arc())?;
            let start = State { position: r1, velocity: arc.v1 };
            let end = State { position: r2, velocity: arc.v2 };
            (Central { start, end, theta: arc.transfer_angle }, None)
        }
        (None, Some(goal)) => {
            let far = goal.position + aside(&offsets.goal);
            let arc = tilted_climb(gm, &far, goal, radius, seconds, Climb::Ascending).ok_or_else(no_arc)?;
            (Central { start: arc.periapsis, end: arc.far, theta: arc.theta }, Some(arc.periapsis))
        }
        (Some(start), None) => {
            let far = start.position + aside(&offsets.start);
            let arc = tilted_climb(gm, &far, start, radius, seconds, Climb::Descending).ok_or_else(no_arc)?;
            (Central { start: arc.far, end: arc.periapsis, theta: arc.theta }, Some(arc.periapsis))
        }
        (None, None) => return Err(PlanError::SameBody { name: from.name().to_string() }),
    };
    let v_inf_start = start_body.map(|body| central.start.velocity - body.velocity);
    let v_inf_goal = goal_body.map(|body| central.end.velocity - body.velocity);
    let outward = match v_inf_start {
        Some(v) => passages(&route.down_to_start, v, leave, Bound::Outward, &offsets.start)?,
        None => Vec::new(),
    };
    let inward = match v_inf_goal {
        Some(v) => passages(&route.down_to_goal, v, meet, Bound::Inward, &offsets.goal)?,
        None => Vec::new(),
    };
    let v_inf_depart = outward.last().map(|p| p.v_infinity_moon).or(v_inf_start);
    let v_inf_arrive = inward.last().map(|p| p.v_infinity_moon).or(v_inf_goal);
    let c3 = v_inf_depart.map_or_else(|| 2.0 * conic::energy(gm, &central.start), |v| v.norm_squared());
    let arc = Arc {
        from: from.clone(),
        to: to.clone(),
        about: route.about.clone(),
        depart: outward.last().map_or(leave, |p| p.epoch),
        arrive: inward.last().map_or(meet, |p| p.epoch),
        leave,
        meet,
        v1: central.start.velocity,
        v2: central.end.velocity,
        orbit: Orbit::new(route.about.clone(), leave, central.start)?,
        c3,
        v_inf_depart,
        v_inf_arrive,
        theta: central.theta,
        family,
        outward,
        inward,
    };
    Ok(Solved { arc, periapsis })
}

/// A climb in the moon's own plane, tilted so that it holds the place aimed at.
fn tilted_climb(gm: f64, far: &Vec3, moon: &State, radius: f64, seconds: f64, kind: Climb) -> Option<ClimbArc> {
    let momentum = conic::angular_momentum(moon);
    let across = momentum - far * (momentum.dot(far) / far.norm_squared());
    (across.norm() > 0.0).then(|| climb(gm, far, &across.normalize(), radius, seconds, kind)).flatten()
}
