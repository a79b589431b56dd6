//! Gauss collocation of order 16: eight nodes a step, all evaluated together in the lanes of one vector.
//!
//! For smooth forces. The acceleration over a step is a polynomial of degree 7 through the nodes; the velocity and the position at the nodes are that polynomial integrated
//! once and twice by constant matrices; the values at the nodes are found by iteration, begun with the polynomial of the step before. The step follows from
//! the fall of its coefficients (`tolerance`). [Butcher1964]; [HairerLubichWanner2006], II.1 and VIII.6; [BaiJunkins2011] for nodes side by side.

#![allow(
    clippy::needless_range_loop,
    reason = "loops over components run side by side in several arrays, and without closures, which would not inherit the lanes' instructions"
)]

mod step;
mod table;
mod tolerance;

use super::event::{self, Events, Met, NoEvents};
use super::failure::IntegrationError;
use super::field::{Field, Point, eight, eights};
use super::trajectory::{Piece, Trajectory, Work};
use crate::numerics::lanes::{self, Kernel, Lane};
use crate::numerics::watch::Watch;
pub(super) use step::coefficients_of;
pub(super) use table::NODES;
use table::SECOND_WEIGHTS;
pub(super) use table::WEIGHTS;
use tolerance::{Judgement, Tolerance};

/// More steps than these are a mistake in the forces or in the times, and would fill the memory.
pub(super) const MOST_STEPS: usize = 500_000;

/// A step shorter than this share of the time it stands at, or of the whole stretch, makes no headway.
const SHORTEST: f64 = 1e-14;

/// Flies from a point to a time, or to the first event that ends the flight.
///
/// - `until`: s, on the scale of `start.time`, not before it.
/// - `tolerance`: error that one step may add to the velocity, as a share of the velocity; everything else follows from it. 1e-12 suits most flights.
/// - Returns the trajectory and the events met, in the order of their times.
///
/// # Errors
/// A force that is no finite number, a step that shrinks to nothing (a force that is not smooth), an interruption.
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
    lanes::widest(Flight { field, start, until, tolerance: Tolerance::new(tolerance), events, watch })
}

/// Ends of the trajectories from many starts to one time, in the order of the starts: as many single flights, none of which keeps its pieces.
///
/// - `until`, `tolerance`: as for [`integrate`]. The ends are the same to the bit.
///
/// # Errors
/// Each trajectory has its own, as [`integrate`].
///
/// # Source
/// As the module.
pub fn ends_of_many<F: Field<D>, const D: usize>(
    field: &F,
    starts: &[Point<D>],
    until: f64,
    tolerance: f64,
    watch: &Watch<'_>,
) -> Vec<Result<Point<D>, IntegrationError>> {
    lanes::widest(Many { field, starts, until, tolerance: Tolerance::new(tolerance), watch })
}

struct Many<'a, F, const D: usize> {
    field: &'a F,
    starts: &'a [Point<D>],
    until: f64,
    tolerance: Tolerance,
    watch: &'a Watch<'a>,
}

impl<F: Field<D>, const D: usize> Kernel for Many<'_, F, D> {
    type Answer = Vec<Result<Point<D>, IntegrationError>>;

    #[inline(always)]
    fn run<L: Lane>(self) -> Self::Answer {
        let Self { field, starts, until, tolerance, watch } = self;
        let mut ends = Vec::with_capacity(starts.len());
        for &start in starts {
            let flight = Flight { field, start, until, tolerance, events: &NoEvents, watch };
            match flight.fly::<L, false>() {
                Ok((path, _)) => ends.push(Ok(path.end())),
                Err(error) => ends.push(Err(error)),
            }
        }
        ends
    }
}

struct Flight<'a, F, V, const D: usize, const E: usize> {
    field: &'a F,
    start: Point<D>,
    until: f64,
    tolerance: Tolerance,
    events: &'a V,
    watch: &'a Watch<'a>,
}

/// A point with what its sums have lost to rounding. [Neumaier1974]
#[derive(Clone, Copy)]
struct Carried<const D: usize> {
    point: Point<D>,
    lost: Point<D>,
}

/// Adds to a sum and its loss.
#[inline(always)]
fn carry(sum: &mut f64, lost: &mut f64, more: f64) {
    let more = more + *lost;
    let new = *sum + more;
    *lost = more - (new - *sum);
    *sum = new;
}

impl<const D: usize> Carried<D> {
    fn new(point: Point<D>) -> Self {
        Self { point, lost: Point { time: 0.0, position: [0.0; D], velocity: [0.0; D] } }
    }

    /// To the end of a step.
    #[inline(always)]
    fn step<L: Lane>(&mut self, span: f64, acceleration: &[L; D]) {
        for d in 0..D {
            let at = eight(acceleration[d]);
            let (mut once, mut twice) = (0.0, 0.0);
            for j in 0..8 {
                once += WEIGHTS[j] * at[j];
                twice += SECOND_WEIGHTS[j] * at[j];
            }
            let gone = span * (self.point.velocity[d] + self.lost.velocity[d] + span * twice);
            carry(&mut self.point.position[d], &mut self.lost.position[d], gone);
            carry(&mut self.point.velocity[d], &mut self.lost.velocity[d], span * once);
        }
        carry(&mut self.point.time, &mut self.lost.time, span);
    }
}

/// By what the coefficients exceed what they may be, the worst of the leading vector and the riders.
#[inline(always)]
fn excess<const D: usize>(
    coefficients: &[[f64; 8]; D],
    leading: usize,
    whole: Option<f64>,
    tolerance: Tolerance,
) -> (f64, f64) {
    let measure = |components: &[[f64; 8]]| {
        let (mut last, mut before, mut size) = (0.0, 0.0, 0.0);
        for c in components {
            last += c[7] * c[7];
            before += c[6] * c[6];
            for x in c {
                size += x * x;
            }
        }
        (last.sqrt() + before.sqrt(), size.sqrt())
    };
    let (last, size) = measure(&coefficients[..leading]);
    let share = whole.map_or(1.0, |whole| if whole > 0.0 { size / whole } else { 1.0 });
    let mut worst = if size > 0.0 { tolerance.excess(last / size, share) } else { 0.0 };
    if whole.is_none() {
        for rider in &coefficients[leading..] {
            let (last, size) = measure(std::slice::from_ref(rider));
            if size > 0.0 {
                worst = f64::max(worst, tolerance.excess(last / size, 1.0));
            }
        }
    }
    (worst, size)
}

/// First guess of a step from the size of the acceleration: a hundredth of the time in which it would change the velocity or the place.
pub(super) fn first_span<const D: usize>(start: &Point<D>, acceleration: &[f64; D], leading: usize, whole: f64) -> f64 {
    let size = |v: &[f64]| v.iter().map(|x| x * x).sum::<f64>().sqrt();
    let pull = size(&acceleration[..leading]);
    let (speed, place) = (size(&start.velocity[..leading]), size(&start.position[..leading]));
    let by_speed = if pull > 0.0 { speed / pull } else { f64::INFINITY };
    let by_place = if pull > 0.0 { (place / pull).sqrt() } else { f64::INFINITY };
    let guess = 0.01 * by_speed.min(by_place);
    if guess > 0.0 && guess < whole { guess } else { 0.01 * whole }
}

/// First step: from the time in which the acceleration changes by its own size, found a small first guess further on.
///
/// [HairerNorsettWanner1993], II.4, who look ahead likewise.
#[inline(always)]
fn first<F: Field<D>, const D: usize>(field: &F, start: &Point<D>, tolerance: Tolerance, whole: f64) -> f64 {
    let pull = field.acceleration(&field.prepare(start.time), start.time, &start.position, &start.velocity);
    let short = first_span(start, &pull, F::LEADING, whole);
    let then = start.moved(short, &pull);
    let later = field.acceleration(&field.prepare(then.time), then.time, &then.position, &then.velocity);
    let (mut size, mut change) = (0.0, 0.0);
    for d in 0..F::LEADING {
        size += pull[d] * pull[d];
        change += (later[d] - pull[d]) * (later[d] - pull[d]);
    }
    let guess = tolerance.first(short * (size / change).sqrt());
    // Nothing changes, or there is no pull at the start: the first is as long as may be, the second tells nothing.
    if guess > 0.0 { guess.min(whole) } else { short }
}

/// Most steps for one event's time.
const CORRECTIONS: usize = 4;

/// How far a point may be moved along its own acceleration, as a share of a step: what the next term of the series, the cube, adds is lost in rounding.
const NEAR: f64 = 1e-6;

/// How closely an event is placed on the polynomial before it is settled, as a share of a step.
const ROUGHLY: f64 = 1e-5;

/// Places an event by a step of its own, from the start of the step that it lies in to where the polynomial has it: the end of a step is of order 16, the
/// polynomial within it of order 8. The little that is then missing follows from the slope. Returns the step that ends there; none where it does not converge, and
/// the event stays as the polynomial has it.
#[inline(always)]
fn settle<L: Lane, F: Field<D>, V: Events<D, E>, const D: usize, const E: usize>(
    field: &F,
    events: &V,
    tolerance: Tolerance,
    before: &Carried<D>,
    piece: &Piece<D>,
    event: &mut Met<D>,
    work: &mut Work,
) -> Option<Piece<D>> {
    let which = event.which;
    let mut time = event.point.time;
    let mut settled = None;
    for _ in 0..CORRECTIONS {
        let span = time - before.point.time;
        if !(span > 0.0) {
            break;
        }
        let guess = step::foretold::<L, D>(&piece.acceleration, 0.0, span / piece.span);
        let nodes: step::Nodes<L, D> =
            step::solve(field, &before.point, span, Some(guess), tolerance.iteration(), 0.5, &mut work.evaluations)?;
        let mut at = *before;
        at.step(span, &nodes.acceleration);
        at.point.time = time;
        let acceleration = step::coefficients(&nodes.acceleration);
        let exact = Piece { start: before.point, span, acceleration };
        // Every polynomial is 1 at the end of the step.
        let mut pull = [0.0; D];
        for d in 0..D {
            for c in acceleration[d] {
                pull[d] += c;
            }
        }
        let reach = NEAR * piece.span;
        let on = at.point.moved(reach, &pull);
        let value = events.values::<f64>(time, &at.point.position, &at.point.velocity)[which];
        let slope = (events.values::<f64>(on.time, &on.position, &on.velocity)[which] - value) / reach;
        let correction = -value / slope;
        // Where the trajectory ends, its last piece does, to hardly more than the rounding of the event's own value.
        let near =
            if events.watched()[which].ends { 1e-12 * piece.span + 2.0 * f64::EPSILON * time.abs() } else { reach };
        if !(correction.abs() > near) {
            settled =
                Some((exact, if correction.abs() <= near { at.point.moved(correction, &pull) } else { at.point }));
            break;
        }
        settled = Some((exact, at.point));
        time = (time + correction).clamp(before.point.time, piece.end());
    }
    let (exact, point) = settled?;
    event.point = point;
    Some(exact)
}

impl<F: Field<D>, V: Events<D, E>, const D: usize, const E: usize> Kernel for Flight<'_, F, V, D, E> {
    type Answer = Result<(Trajectory<D>, Vec<Met<D>>), IntegrationError>;

    #[inline(always)]
    fn run<L: Lane>(self) -> Self::Answer {
        self.fly::<L, true>()
    }
}

impl<F: Field<D>, V: Events<D, E>, const D: usize, const E: usize> Flight<'_, F, V, D, E> {
    /// Flies; keeps the pieces where they are asked for.
    #[inline(always)]
    fn fly<L: Lane, const PIECES: bool>(&self) -> Result<(Trajectory<D>, Vec<Met<D>>), IntegrationError> {
        let Self { field, start, until, tolerance, events, watch } = *self;
        let mut at = Carried::new(start);
        let (mut pieces, mut met, mut work) = (Vec::new(), Vec::new(), Work::default());
        if PIECES {
            pieces.reserve(16);
        }
        if !start.is_finite() || !until.is_finite() || until < start.time {
            return Err(IntegrationError::NotFinite { time: start.time });
        }
        let whole = until - start.time;
        let shortest = SHORTEST * whole.max(start.time.abs()).max(until.abs());
        let mut span = first(field, &start, tolerance, whole);
        let mut value_before = events.values::<f64>(start.time, &start.position, &start.velocity);
        let mut guess_from: Option<([[f64; 8]; D], f64)> = None;
        let mut contraction = 0.5;
        while at.point.time < until {
            if watch.stopped() {
                return Err(IntegrationError::Interrupted);
            }
            if work.steps + work.refused > MOST_STEPS {
                return Err(IntegrationError::TooManySteps { steps: work.steps, time: at.point.time });
            }
            // The last two steps share what is left, so that none is a sliver.
            let left = (until - at.point.time) - at.lost.time;
            let last = left <= span * (1.0 + 1e-6);
            let now = if last {
                left
            } else if left < 2.0 * span {
                0.5 * left
            } else {
                span
            };
            let guess = guess_from.as_ref().map(|(before, long)| step::foretold::<L, D>(before, 1.0, now / long));
            let solved: Option<step::Nodes<L, D>> =
                step::solve(field, &at.point, now, guess, tolerance.iteration(), contraction, &mut work.evaluations);
            let Some(nodes) = solved else {
                work.refused += 1;
                span = 0.5 * now;
                if span < shortest {
                    return Err(IntegrationError::Vanishing { time: at.point.time });
                }
                // A guess from afar may be what spoiled it.
                guess_from = None;
                continue;
            };
            let coefficients = step::coefficients(&nodes.acceleration);
            let (mut worst, size) = excess(&coefficients, F::LEADING, None, tolerance);
            if F::PARTS {
                let prepared = field.prepare(nodes.time);
                let part = field.part(&prepared, nodes.time, &nodes.position, &nodes.velocity);
                worst = worst.max(excess(&step::coefficients(&part), F::LEADING, Some(size), tolerance).0);
            }
            let next = match Tolerance::judge(worst, nodes.contraction) {
                Judgement::Keep(share) => share,
                Judgement::Shorten(share) => {
                    work.refused += 1;
                    span = share * now;
                    if span < shortest {
                        return Err(IntegrationError::Vanishing { time: at.point.time });
                    }
                    continue;
                }
            };
            let piece = Piece { start: at.point, span: now, acceleration: coefficients };
            let before = at;
            at.step(now, &nodes.acceleration);
            if last {
                at.point.time = until;
            }
            if !at.point.is_finite() {
                return Err(IntegrationError::NotFinite { time: piece.start.time });
            }
            work.steps += 1;
            if PIECES {
                pieces.push(piece);
            }
            contraction = nodes.contraction.unwrap_or(contraction).clamp(1e-4, 0.5);
            guess_from = Some((coefficients, now));
            span = next * if now < span { span.min(now * 1.15) } else { span };
            if E > 0 {
                let value_after = events.values::<f64>(at.point.time, &at.point.position, &at.point.velocity);
                let within = eights(&events.values(nodes.time, &nodes.position, &nodes.velocity));
                let found = met.len();
                for which in 0..E {
                    let mut samples = [(piece.start.time, value_before[which]); 10];
                    for j in 0..8 {
                        samples[j + 1] = (piece.start.time + NODES[j] * now, within[which][j]);
                    }
                    samples[9] = (at.point.time, value_after[which]);
                    event::met_in(&piece, events, which, &samples, ROUGHLY * now, &mut met);
                }
                met[found..].sort_by(|a, b| a.point.time.total_cmp(&b.point.time));
                let mut ended = None;
                for event in &mut met[found..] {
                    let exact = settle::<L, F, V, D, E>(field, events, tolerance, &before, &piece, event, &mut work);
                    if events.watched()[event.which].ends {
                        ended = exact;
                        break;
                    }
                }
                if let Some(end) = met[found..].iter().position(|m| events.watched()[m.which].ends) {
                    met.truncate(found + end + 1);
                    let there = met[found + end].point;
                    if let (Some(last), Some(exact)) = (pieces.last_mut(), ended) {
                        *last = exact;
                    }
                    return Ok((Trajectory::new(pieces, there, work), met));
                }
                value_before = value_after;
            }
        }
        Ok((Trajectory::new(pieces, at.point, work), met))
    }
}
