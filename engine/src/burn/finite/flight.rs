//! A burn flown: thrust from a place on a conic, phase after phase.

use super::error::FiniteError;
use super::supply::{Share, Supply};
use crate::conic::{State, propagate};
use crate::motion::Point;
use crate::motion::force::{Attitude, Craft, Stop, Surroundings, Throttle, Thrust};
use crate::motion::passage::{Flown, fly};
use crate::numerics::watch::Watch;

/// Error that a step of a burn's flight may add, as a share: a solved burn is held to 1e-9, its differences want two digits more.
pub const TOLERANCE: f64 = 1e-12;

/// Where a burn begins: a conic, and the time on it.
#[derive(Clone, Copy, Debug)]
pub(super) struct From<'a> {
    /// What pulls; the conic is that of its mass.
    pub(super) around: &'a Surroundings,
    /// State at time 0, m and m/s.
    pub(super) state: State,
    /// What burns.
    pub(super) supply: &'a Supply,
}

impl From<'_> {
    /// Flies a burn of `dv` (m/s, ideal) that begins at `start` (s).
    pub(super) fn fly(&self, start: f64, dv: f64, attitude: Attitude, watch: &Watch<'_>) -> Result<Flown, FiniteError> {
        let state = propagate(self.around.gravity.gm(), &self.state, start)?;
        thrust(self.around, &state, start, &self.supply.shares(dv), attitude, &[], watch)
    }
}

/// Flies parts of phases one after the other, with one law of attitude; a stop ends all.
pub(super) fn thrust(
    around: &Surroundings,
    state: &State,
    start: f64,
    shares: &[Share],
    attitude: Attitude,
    stops: &[Stop],
    watch: &Watch<'_>,
) -> Result<Flown, FiniteError> {
    let mut flown = Flown {
        stretches: Vec::new(),
        met: Vec::new(),
        end: point(state, start, shares.first().map_or(0.0, |share| share.phase.mass)),
        ended_by: None,
    };
    for share in shares {
        let phase = share.phase;
        let craft = Craft {
            thrust: Some(Thrust {
                vacuum: phase.thrust,
                exit_area: phase.exit_area,
                exhaust_speed: phase.exhaust_speed,
                throttle: Throttle::Share(1.0),
                attitude,
            }),
            drag: None,
        };
        let mut begin = flown.end;
        begin.velocity[3] = phase.mass;
        let next = fly(around, &craft, begin, begin.time + share.time, TOLERANCE, stops, watch)?;
        flown.join(next);
        if flown.ended_by.is_some() {
            break;
        }
    }
    Ok(flown)
}

/// Flies parts of phases from a state at `start` (s), with one law of attitude.
///
/// # Errors
/// A flight that cannot be followed; an interruption.
pub fn flown_from(
    around: &Surroundings,
    state: &State,
    start: f64,
    shares: &[Share],
    attitude: Attitude,
    watch: &Watch<'_>,
) -> Result<Flown, FiniteError> {
    thrust(around, state, start, shares, attitude, &[], watch)
}

/// A point of a flight.
pub(super) fn point(state: &State, time: f64, mass: f64) -> Point<4> {
    let (r, v) = (state.position, state.velocity);
    Point { time, position: [r.x, r.y, r.z, 0.0], velocity: [v.x, v.y, v.z, mass] }
}

/// Place and velocity of a point.
pub fn state_of(point: &Point<4>) -> State {
    let (r, v) = (point.position, point.velocity);
    State::new([r[0], r[1], r[2]].into(), [v[0], v[1], v[2]].into())
}

/// Angle that a flight sweeps about the centre, rad, turns counted: between the ends of its steps, each of which is far from half a turn.
pub(super) fn swept(flown: &Flown) -> f64 {
    let places = points(flown).map(|point| state_of(&point).position).collect::<Vec<_>>();
    places.windows(2).map(|pair| pair[0].cross(&pair[1]).norm().atan2(pair[0].dot(&pair[1]))).sum()
}

/// The least distance from the centre, m, and its time, s: at the ends of steps and four times within each.
pub(super) fn lowest(flown: &Flown) -> (f64, f64) {
    points(flown)
        .map(|point| (state_of(&point).radius(), point.time))
        .fold((f64::INFINITY, 0.0), |least, here| if here.0 < least.0 { here } else { least })
}

/// Points of a flight in the order of time, the first and the last among them.
fn points(flown: &Flown) -> impl Iterator<Item = Point<4>> + '_ {
    flown
        .stretches
        .iter()
        .flat_map(|stretch| stretch.trajectory.pieces())
        .flat_map(|piece| [0.0, 0.2, 0.4, 0.6, 0.8].map(|share| piece.at(piece.start.time + share * piece.span)))
        .chain([flown.end])
}
