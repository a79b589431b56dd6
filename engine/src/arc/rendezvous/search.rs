//! The cheapest arc between a chaser and a moving target: departure and time of flight searched.

use super::RendezvousError;
use crate::arc::lambert::{self, LambertArc, Options};
use crate::conic::{State, propagate};
use crate::numerics::minimise;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::vector::Vec3;

/// Most places of the first grid: beyond this it becomes coarser.
const PLACES: f64 = 120_000.0;
/// So many valleys of the grid are searched to their bottoms.
const VALLEYS: usize = 6;

/// Both craft at one epoch, and what arcs must keep to.
pub(super) struct Problem<'o> {
    pub(super) chaser: &'o Orbit,
    pub(super) target: &'o Orbit,
    pub(super) revolutions: u32,
    /// m.
    pub(super) least_radius: f64,
    /// Of the grid, s.
    pub(super) step: f64,
    /// Longest arc, s.
    pub(super) longest: f64,
}

/// An arc from the chaser to what it is to meet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Way {
    /// Before it begins, s.
    pub(super) wait: f64,
    /// s.
    pub(super) time: f64,
    /// Velocity at its beginning, m/s.
    pub(super) v1: Vec3,
    /// Of both burns, m/s.
    pub(super) cost: f64,
    /// Its periapsis, m.
    pub(super) periapsis: f64,
    pub(super) compared: usize,
}

impl Problem<'_> {
    /// State of the target at a time, s from the common epoch.
    pub(super) fn target_at(&self, time: f64) -> Result<State, RendezvousError> {
        Ok(propagate(self.target.gm(), self.target.state(), time)?)
    }

    /// The cheapest arc from one state to another in a time; `None` where there is none. Arcs below the least radius come last.
    pub(super) fn arc(&self, from: &State, to: &State, time: f64) -> Option<Way> {
        let gm = self.chaser.gm();
        let normal = self.chaser.state().position.cross(&self.chaser.state().velocity);
        let options = Options { way: lambert::Way::Prograde(normal), max_revolutions: self.revolutions };
        let arcs = lambert::solve(gm, &from.position, &to.position, time, &options).ok()?;
        let way = |arc: &LambertArc| {
            let cost = (arc.v1 - from.velocity).norm() + (to.velocity - arc.v2).norm();
            Way { wait: 0.0, time, v1: arc.v1, cost, periapsis: periapsis(gm, &from.position, arc), compared: 1 }
        };
        arcs.iter().map(way).filter(|way| way.cost.is_finite()).min_by(|a, b| {
            let low = |way: &Way| way.periapsis < self.least_radius;
            low(a).cmp(&low(b)).then(a.cost.total_cmp(&b.cost))
        })
    }

    /// The cheapest way to what stands at `goal` (s from the common epoch), arriving within a time (s).
    pub(super) fn cheapest(
        &self,
        within: f64,
        goal: impl Fn(f64) -> Result<State, RendezvousError>,
        watch: &Watch<'_>,
    ) -> Result<Way, RendezvousError> {
        let gm = self.chaser.gm();
        let longest = self.longest.min(within);
        let mut step = self.step.min(within / 8.0);
        while within / step * (longest / step) > PLACES {
            step *= 1.25;
        }
        let look = |wait: f64, time: f64| -> Result<Option<Way>, RendezvousError> {
            if !(wait >= 0.0 && time > 0.0 && wait + time <= within) {
                return Ok(None);
            }
            let from = propagate(gm, self.chaser.state(), wait)?;
            Ok(self.arc(&from, &goal(wait + time)?, time).map(|way| Way { wait, ..way }))
        };
        let (mut compared, mut best_low) = (0, 0.0_f64);
        let mut places: Vec<Way> = Vec::new();
        let columns = (within / step).floor() as usize;
        for column in 0..=columns {
            if watch.stopped() {
                return Err(RendezvousError::Interrupted);
            }
            for row in 1..=(longest / step).ceil() as usize {
                let (wait, time) = (column as f64 * step, (row as f64 * step).min(longest));
                let Some(way) = look(wait, time)? else { continue };
                compared += 1;
                best_low = best_low.max(way.periapsis);
                if way.periapsis >= self.least_radius {
                    places.push(way);
                }
            }
        }
        places.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        let mut starts: Vec<Way> = Vec::new();
        for place in places {
            // Neighbours run into the same valley.
            let known = |start: &Way| {
                (start.wait - place.wait).abs() <= 3.0 * step && (start.time - place.time).abs() <= 3.0 * step
            };
            if starts.len() < VALLEYS && !starts.iter().any(known) {
                starts.push(place);
            }
        }
        let mut best: Option<Way> = None;
        for start in starts {
            let cost = |x: &[f64]| -> Result<f64, RendezvousError> {
                let way = look(x[0], x[1])?.filter(|way| way.periapsis >= self.least_radius);
                Ok(way.map_or(f64::INFINITY, |way| way.cost))
            };
            let bounds = [(0.0, within), (1e-3 * step, longest)];
            let options = minimise::Options { evaluations: 1500, restarts: 3, ..minimise::Options::default() };
            let found = minimise::search(&[start.wait, start.time], &[step, step], &bounds, cost, &options, watch)?;
            compared += found.evaluations;
            if watch.stopped() {
                return Err(RendezvousError::Interrupted);
            }
            let bottom = match found.x.as_slice() {
                [wait, time] => look(*wait, *time)?.filter(|way| way.periapsis >= self.least_radius),
                _ => None,
            };
            for way in [Some(start), bottom].into_iter().flatten() {
                if best.is_none_or(|best| way.cost < best.cost) {
                    best = Some(way);
                }
            }
        }
        match best {
            Some(best) => Ok(Way { compared, ..best }),
            None => Err(RendezvousError::TooLow { least_radius_m: self.least_radius, best_m: best_low }),
        }
    }
}

/// Periapsis radius of the conic that an arc lies on, m.
fn periapsis(gm: f64, from: &Vec3, arc: &LambertArc) -> f64 {
    let momentum = from.cross(&arc.v1).norm_squared();
    let eccentricity = (1.0 + 2.0 * arc.energy * momentum / (gm * gm)).max(0.0).sqrt();
    momentum / gm / (1.0 + eccentricity)
}
