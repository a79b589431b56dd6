//! The explicit Runge-Kutta pair of Dormand and Prince of order 8(5,3): the second opinion, and for forces that are not smooth within a step.
//!
//! [HairerNorsettWanner1993], II.5 (pair), II.6 (dense output), II.10 (control of the step by the errors of order 5 and 3).

#![allow(
    clippy::needless_range_loop,
    reason = "loops over components run side by side in several arrays, and without closures, which would not inherit the lanes' instructions"
)]

mod batch;
mod step;
mod table;

use super::event::{self, Events, Met};
use super::failure::IntegrationError;
use super::field::{Field, Point};
use super::gauss;
use super::trajectory::{Piece, Trajectory, Work};
use crate::numerics::lanes::{self, Kernel, Lane};
use crate::numerics::watch::Watch;
pub use batch::ends_of_many;
use step::{Slopes, Stand};

/// A step shorter than this share of the time it stands at, or of the whole stretch, makes no headway.
const SHORTEST: f64 = 1e-14;

/// Safety factor, least and greatest change of the step. [HairerNorsettWanner1993], II.4.
const SAFETY: f64 = 0.9;
const LEAST: f64 = 0.2;
const MOST: f64 = 10.0;

/// Flies from a point to a time, or to the first event that ends the flight.
///
/// - `until`: s, on the scale of `start.time`, not before it.
/// - `tolerance`: error that one step may add to position or velocity, as a share of their size.
/// - Returns the trajectory and the events met, in the order of their times.
///
/// # Errors
/// A force that is no finite number, a step that shrinks to nothing, an interruption.
///
/// # Source
/// As the module.
pub fn integrate<F: Field<D>, V: Events<D, E>, const D: usize, const E: usize>(
    field: &F,
    start: Point<D>,
    until: f64,
    tolerance: f64,
    events: &V,
    watch: &Watch<'_>,
) -> Result<(Trajectory<D>, Vec<Met<D>>), IntegrationError> {
    lanes::widest(Flight { field, start, until, tolerance: tolerance.max(f64::EPSILON), events, watch })
}

struct Flight<'a, F, V, const D: usize, const E: usize> {
    field: &'a F,
    start: Point<D>,
    until: f64,
    tolerance: f64,
    events: &'a V,
    watch: &'a Watch<'a>,
}

/// The step as a piece of trajectory: its dense output's acceleration at the nodes of the collocation, as Legendre polynomials.
#[inline(always)]
fn piece<const D: usize>(stand: &Stand<f64, D>, end: &Stand<f64, D>, span: f64, slopes: &Slopes<f64, D>) -> Piece<D> {
    let mut acceleration = [[0.0; 8]; D];
    for d in 0..D {
        let terms = step::dense_terms(slopes, &stand.velocity, &end.velocity, span, d);
        let mut at = [0.0; 8];
        for j in 0..8 {
            at[j] = step::dense_slope(&terms, gauss::NODES[j]) / span;
        }
        acceleration[d] = gauss::coefficients_of(&at);
    }
    let start = Point { time: stand.time, position: stand.position, velocity: stand.velocity };
    Piece { start, span, acceleration }
}

impl<F: Field<D>, V: Events<D, E>, const D: usize, const E: usize> Kernel for Flight<'_, F, V, D, E> {
    type Answer = Result<(Trajectory<D>, Vec<Met<D>>), IntegrationError>;

    /// A single trajectory has one lane; the kernel is run for the instructions that come with it.
    #[inline(always)]
    fn run<W: Lane>(self) -> Self::Answer {
        let Self { field, start, until, tolerance, events, watch } = self;
        if !start.is_finite() || !until.is_finite() || until < start.time {
            return Err(IntegrationError::NotFinite { time: start.time });
        }
        let mut stand = Stand { time: start.time, position: start.position, velocity: start.velocity };
        let mut slopes = Slopes { position: [[0.0; D]; 16], velocity: [[0.0; D]; 16] };
        slopes.velocity[0] =
            field.acceleration(&field.prepare(stand.time), stand.time, &stand.position, &stand.velocity);
        slopes.position[0] = stand.velocity;
        let mut work = Work { evaluations: 1, ..Work::default() };
        let (mut pieces, mut met) = (Vec::new(), Vec::new());
        let whole = until - start.time;
        let shortest = SHORTEST * whole.max(start.time.abs()).max(until.abs());
        let mut span = gauss::first_span(&start, &slopes.velocity[0], F::LEADING, whole);
        let mut value_before = events.values::<f64>(start.time, &start.position, &start.velocity);
        let mut refused = false;
        while stand.time < until {
            if watch.stopped() {
                return Err(IntegrationError::Interrupted);
            }
            if work.steps + work.refused > gauss::MOST_STEPS {
                return Err(IntegrationError::TooManySteps { steps: work.steps, time: stand.time });
            }
            let left = until - stand.time;
            let last = left <= span * 1.01;
            if last {
                span = left;
            }
            let (mut end, square) = step::take(field, &stand, span, &mut slopes);
            work.evaluations += 12;
            // The same operations as in the lanes, so that a trajectory has the same bits alone and in company.
            let error = square.sqrt() * (1.0 / tolerance);
            let mut change = SAFETY / error.max(1e-16).sqrt().sqrt().sqrt();
            if !(error <= 1.0) {
                work.refused += 1;
                refused = true;
                span *= if change >= LEAST && error <= f64::MAX { change } else { LEAST };
                if span < shortest {
                    return Err(IntegrationError::Vanishing { time: stand.time });
                }
                continue;
            }
            if last {
                end.time = until;
            }
            step::dense_stages(field, &stand, span, &mut slopes);
            work.evaluations += 3;
            let piece = piece(&stand, &end, span, &slopes);
            pieces.push(piece);
            work.steps += 1;
            if E > 0 {
                let value_after = events.values::<f64>(end.time, &end.position, &end.velocity);
                let found = met.len();
                let mut within = [(0.0, value_before); 8];
                for j in 0..8 {
                    let there = piece.at(stand.time + gauss::NODES[j] * span);
                    within[j] = (there.time, events.values::<f64>(there.time, &there.position, &there.velocity));
                }
                for which in 0..E {
                    let mut samples = [(stand.time, value_before[which]); 10];
                    for j in 0..8 {
                        samples[j + 1] = (within[j].0, within[j].1[which]);
                    }
                    samples[9] = (end.time, value_after[which]);
                    event::met_in(&piece, events, which, &samples, 0.0, &mut met);
                }
                met[found..].sort_by(|a: &Met<D>, b| a.point.time.total_cmp(&b.point.time));
                if let Some(first) = met[found..].iter().position(|m| events.watched()[m.which].ends) {
                    met.truncate(found + first + 1);
                    let there = met[found + first].point;
                    return Ok((Trajectory::new(pieces, there, work), met));
                }
                value_before = value_after;
            }
            slopes.velocity[0] = slopes.velocity[12];
            slopes.position[0] = slopes.position[12];
            stand = end;
            change = change.clamp(LEAST, MOST);
            span *= if refused { change.min(1.0) } else { change };
            refused = false;
        }
        let end = Point { time: stand.time, position: stand.position, velocity: stand.velocity };
        Ok((Trajectory::new(pieces, end, work), met))
    }
}
