//! Many trajectories of one field side by side, one in each lane, each at its own step; a lane that is done takes the next.

use super::super::failure::IntegrationError;
use super::super::field::{Field, Point, eight, loaded};
use super::super::gauss::first_span;
use super::step::{self, Slopes, Stand};
use super::{LEAST, MOST, SAFETY, SHORTEST};
use crate::numerics::lanes::{self, Kernel, Lane, Mask};
use crate::numerics::watch::Watch;

/// Ends of the trajectories from many starts to one time, in the order of the starts; the integrator for sweeps over trajectories that pass close to bodies.
///
/// - `until`: s, on the scale of each start's time, not before any.
/// - `tolerance`: error that one step may add to position or velocity, as a share of their size.
///
/// The answers do not depend on which trajectories are flown together.
///
/// # Errors
/// Each trajectory has its own: a force that is no finite number, a step that shrinks to nothing, an interruption.
///
/// # Source
/// [HairerNorsettWanner1993], as [`super::integrate`].
pub fn ends_of_many<F: Field<D>, const D: usize>(
    field: &F,
    starts: &[Point<D>],
    until: f64,
    tolerance: f64,
    watch: &Watch<'_>,
) -> Vec<Result<Point<D>, IntegrationError>> {
    lanes::widest(Many { field, starts, until, tolerance: tolerance.max(f64::EPSILON), watch })
}

struct Many<'a, F, const D: usize> {
    field: &'a F,
    starts: &'a [Point<D>],
    until: f64,
    tolerance: f64,
    watch: &'a Watch<'a>,
}

/// What the lanes hold, number by number: the way in and out of the vectors.
struct Hold<const D: usize> {
    time: [f64; 8],
    span: [f64; 8],
    /// The most a lane's step may grow.
    greatest: [f64; 8],
    position: [[f64; 8]; D],
    velocity: [[f64; 8]; D],
    slope: [[f64; 8]; D],
    /// Which trajectory each lane flies; none when there are no more.
    whose: [Option<usize>; 8],
}

impl<F: Field<D>, const D: usize> Many<'_, F, D> {
    /// The slope of the velocity at a start, and the first step.
    fn begin(&self, start: &Point<D>) -> Result<([f64; D], f64), IntegrationError> {
        let whole = self.until - start.time;
        if !start.is_finite() || !whole.is_finite() || whole < 0.0 {
            return Err(IntegrationError::NotFinite { time: start.time });
        }
        let prepared = self.field.prepare(start.time);
        let slope = self.field.acceleration(&prepared, start.time, &start.position, &start.velocity);
        Ok((slope, first_span(start, &slope, F::LEADING, whole)))
    }

    /// Puts the next trajectory that can be flown into a lane, or leaves it empty.
    fn fill(&self, lane: usize, next: &mut usize, hold: &mut Hold<D>, ends: &mut [Result<Point<D>, IntegrationError>]) {
        hold.whose[lane] = None;
        while *next < self.starts.len() {
            let whose = *next;
            *next += 1;
            let start = &self.starts[whose];
            match self.begin(start) {
                Err(error) => ends[whose] = Err(error),
                Ok(_) if start.time >= self.until => ends[whose] = Ok(*start),
                Ok((slope, span)) => {
                    hold.time[lane] = start.time;
                    hold.span[lane] = span;
                    hold.greatest[lane] = MOST;
                    for d in 0..D {
                        hold.position[d][lane] = start.position[d];
                        hold.velocity[d][lane] = start.velocity[d];
                        hold.slope[d][lane] = slope[d];
                    }
                    hold.whose[lane] = Some(whose);
                    return;
                }
            }
        }
    }
}

impl<F: Field<D>, const D: usize> Kernel for Many<'_, F, D> {
    type Answer = Vec<Result<Point<D>, IntegrationError>>;

    #[inline(always)]
    fn run<L: Lane>(self) -> Self::Answer {
        let mut ends = vec![Err(IntegrationError::Interrupted); self.starts.len()];
        let mut next = 0;
        let idle = [0.0; 8];
        let mut hold = Hold {
            time: idle,
            span: idle,
            greatest: [MOST; 8],
            position: [idle; D],
            velocity: [idle; D],
            slope: [idle; D],
            whose: [None; 8],
        };
        for lane in 0..8 {
            self.fill(lane, &mut next, &mut hold, &mut ends);
        }
        let Some(sample) = hold.whose.iter().position(Option::is_some) else { return ends };
        // A lane without a trajectory flies another's along, so that no idle number slows the rest or raises a fault.
        for lane in 0..8 {
            if hold.whose[lane].is_none() {
                hold.copy(sample, lane);
            }
        }
        let until = L::splat(self.until);
        let tolerance = L::splat(1.0 / self.tolerance);
        let zero = [L::splat(0.0); D];
        let mut slopes = Slopes { position: [zero; 16], velocity: [zero; 16] };
        let mut stand = hold.stand::<L>();
        let mut span = L::load(&hold.span);
        slopes.velocity[0] = loaded(&hold.slope);
        slopes.position[0] = stand.velocity;
        let mut greatest = L::splat(MOST);
        while hold.whose.iter().any(Option::is_some) {
            if self.watch.stopped() {
                return ends;
            }
            let left = until - stand.time;
            let last = left.at_most(span * L::splat(1.01));
            span = L::select(last, left, span);
            let (mut end, square) = step::take(self.field, &stand, span, &mut slopes);
            end.time = L::select(last, until, end.time);
            let error = square.sqrt() * tolerance;
            let fits = error.at_most(L::splat(1.0));
            let change = L::splat(SAFETY) / error.max(L::splat(1e-16)).sqrt().sqrt().sqrt();
            // A comparison with a value that is no number is false: such a step shrinks at the least share.
            let change = L::select(change.at_most(greatest), change, greatest);
            let shrunk = L::select(L::splat(LEAST).at_most(change), change, L::splat(LEAST));
            let shrunk = L::select(error.at_most(L::splat(f64::MAX)), shrunk, L::splat(LEAST));
            for d in 0..D {
                stand.position[d] = L::select(fits, end.position[d], stand.position[d]);
                stand.velocity[d] = L::select(fits, end.velocity[d], stand.velocity[d]);
                slopes.velocity[0][d] = L::select(fits, slopes.velocity[12][d], slopes.velocity[0][d]);
            }
            slopes.position[0] = stand.velocity;
            stand.time = L::select(fits, end.time, stand.time);
            greatest = L::select(fits, L::splat(MOST), L::splat(1.0));
            span = span * shrunk;
            // Rare: a lane that is done, or makes no headway.
            let shortest = L::splat(SHORTEST) * stand.time.abs().max(until.abs());
            let done = until.at_most(stand.time);
            let stuck = span.at_most(shortest);
            if done.any() || stuck.any() {
                hold.take(&stand, span, greatest, &slopes.velocity[0]);
                for lane in 0..8 {
                    let Some(whose) = hold.whose[lane] else { continue };
                    let finished = hold.time[lane] >= self.until;
                    let halted = hold.span[lane] <= SHORTEST * hold.time[lane].abs().max(self.until.abs());
                    if !(finished || halted) {
                        continue;
                    }
                    ends[whose] = if finished {
                        Ok(hold.point(lane))
                    } else {
                        Err(IntegrationError::Vanishing { time: hold.time[lane] })
                    };
                    self.fill(lane, &mut next, &mut hold, &mut ends);
                }
                if let Some(sample) = hold.whose.iter().position(Option::is_some) {
                    for lane in 0..8 {
                        if hold.whose[lane].is_none() {
                            hold.copy(sample, lane);
                        }
                    }
                }
                stand = hold.stand();
                span = L::load(&hold.span);
                greatest = L::load(&hold.greatest);
                slopes.velocity[0] = loaded(&hold.slope);
                slopes.position[0] = stand.velocity;
            }
        }
        ends
    }
}

impl<const D: usize> Hold<D> {
    fn copy(&mut self, from: usize, to: usize) {
        self.time[to] = self.time[from];
        self.span[to] = self.span[from];
        self.greatest[to] = self.greatest[from];
        for d in 0..D {
            self.position[d][to] = self.position[d][from];
            self.velocity[d][to] = self.velocity[d][from];
            self.slope[d][to] = self.slope[d][from];
        }
    }

    #[inline(always)]
    fn stand<L: Lane>(&self) -> Stand<L, D> {
        Stand { time: L::load(&self.time), position: loaded(&self.position), velocity: loaded(&self.velocity) }
    }

    #[inline(always)]
    fn take<L: Lane>(&mut self, stand: &Stand<L, D>, span: L, greatest: L, slope: &[L; D]) {
        self.greatest = eight(greatest);
        self.time = eight(stand.time);
        self.span = eight(span);
        for d in 0..D {
            self.position[d] = eight(stand.position[d]);
            self.velocity[d] = eight(stand.velocity[d]);
            self.slope[d] = eight(slope[d]);
        }
    }

    fn point(&self, lane: usize) -> Point<D> {
        Point {
            time: self.time[lane],
            position: self.position.map(|p| p[lane]),
            velocity: self.velocity.map(|v| v[lane]),
        }
    }
}
