//! From patched legs to matched ones: arcs that begin and end where the asymptotes of the passes run, not in the centres.
//!
//! A path of the search joins the centres of the bodies; the hyperbolas pass beside them. With the offsets of their asymptotes put into
//! the ends of the arcs the dates are refined again, and the offsets taken anew, until neither changes: then the patched-conic model
//! flies what the path says.

use super::TourError;
use super::chain::Chain;
use super::path::{Offsets, Path};
use crate::arc::asymptote::periapsis_arriving;
use crate::arc::capture::{ArrivalPlane, aim, arrival_normal};
use crate::arc::departure::{Departure, leave};
use crate::arc::parking::Parking;
use crate::conic::{State, hyperbola};
use crate::numerics::minimise;
use crate::numerics::watch::Watch;
use crate::vector::Vec3;

/// Rounds of refined dates and fresh offsets: a metre beside the centre turns the next excess velocity by the metre over the flight
/// time, so that each round gains three digits or more.
const ROUNDS: usize = 4;

/// Rounds with the dates held, until the offsets stand.
const CLOSING_ROUNDS: usize = 20;

/// Offsets stand when none moves by more than this, m: a thousandth of what an aim is shot to.
const CLOSED: f64 = 1e-3;

/// A path with its offsets.
pub(super) struct Matched {
    pub(super) x: Vec<f64>,
    pub(super) path: Path,
    pub(super) offsets: Offsets,
    pub(super) departure: Departure,
    /// Last change of an offset, m.
    pub(super) closure: f64,
    pub(super) evaluations: usize,
}

/// Periapsis radius aimed at on arrival, m: that of the arrival orbit, else the least of a pass there.
pub(super) fn arrival_radius(chain: &Chain<'_>) -> Result<f64, TourError> {
    let body = chain.last();
    match chain.options.arrival {
        Some(orbit) => Ok(orbit.periapsis_radius(body)),
        None => Ok(super::chain::pass_radii(body, chain.options)?.0),
    }
}

/// Where the asymptotes of a path's hyperbolas run, and the way off the parking orbit.
fn offsets(chain: &Chain<'_>, x: &[f64], path: &Path) -> Result<(Offsets, Departure), TourError> {
    let epochs = chain.epochs(x);
    let legs = chain.legs();
    let mut offsets = Offsets::none(legs);
    let departure = leave(chain.body(0), &Parking::Altitude(chain.options.parking), path.departure, epochs[0])?;
    offsets.start[0] = departure.foot;
    for (index, pass) in path.passes.iter().enumerate() {
        let gm = chain.body(index + 1).gm();
        offsets.end[index] = pass.aim;
        let open = |why: String| TourError::Nowhere { why };
        let before = hyperbola::at_periapsis(gm, pass.v_in, pass.aim).map_err(|why| open(why.to_string()))?;
        let after = State::new(before.position, before.velocity * (1.0 + pass.burn / before.speed()));
        let out = hyperbola::outgoing(gm, &after).ok_or_else(|| open("a pass that stays bound".to_owned()))?;
        offsets.start[index + 1] = out.aim;
    }
    let normal = arrival_normal(chain.last(), &path.arrival, epochs[legs], ArrivalPlane::LeastInclined);
    offsets.end[legs - 1] = aim(chain.last(), &path.arrival, &normal, arrival_radius(chain)?);
    Ok((offsets, departure))
}

fn change(a: &Offsets, b: &Offsets) -> f64 {
    let pairs = a.start.iter().zip(&b.start).chain(a.end.iter().zip(&b.end));
    pairs.map(|(a, b)| (a - b).norm()).fold(0.0, f64::max)
}

/// Matches a place of the search.
pub(super) fn matched(chain: &Chain<'_>, x: &[f64], watch: &Watch<'_>) -> Result<Matched, TourError> {
    let open = |why: String| TourError::Nowhere { why };
    let mut x = x.to_vec();
    let mut now = Offsets::none(chain.legs());
    let mut evaluations = 0;
    // A thousandth of the box: the search has settled far below that.
    let scale: Vec<f64> = chain.layout.bounds.iter().map(|(low, high)| (1e-3 * (high - low)).max(1e-9)).collect();
    let finer = minimise::Options { evaluations: 300 * x.len(), restarts: 3, ..minimise::Options::default() };
    for _ in 0..ROUNDS {
        let path = Path::best(chain, &x, &now).map_err(open)?;
        now = offsets(chain, &x, &path)?.0;
        let cost = |x: &[f64]| Ok::<_, TourError>(chain.cost(x, &now));
        let better = minimise::search(&x, &scale, &chain.layout.bounds, cost, &finer, watch)?;
        evaluations += better.evaluations;
        if better.cost.is_finite() {
            x = better.x;
        }
        if watch.stopped() {
            break;
        }
    }
    let mut closure = f64::INFINITY;
    let mut path = Path::best(chain, &x, &now).map_err(open)?;
    for _ in 0..CLOSING_ROUNDS {
        let (next, _) = offsets(chain, &x, &path)?;
        closure = change(&next, &now);
        now = next;
        path = Path::best(chain, &x, &now).map_err(open)?;
        if closure < CLOSED {
            break;
        }
    }
    let (_, departure) = offsets(chain, &x, &path)?;
    Ok(Matched { x, path, offsets: now, departure, closure, evaluations })
}

/// The hyperbola of the arrival at its periapsis.
pub(super) fn arrival_state(chain: &Chain<'_>, matched: &Matched) -> Result<State, TourError> {
    let epochs = chain.epochs(&matched.x);
    let v_infinity: Vec3 = matched.path.arrival;
    let normal = arrival_normal(chain.last(), &v_infinity, epochs[chain.legs()], ArrivalPlane::LeastInclined);
    let (position, velocity) = periapsis_arriving(chain.last().gm(), &v_infinity, arrival_radius(chain)?, &normal);
    Ok(State { position, velocity })
}
