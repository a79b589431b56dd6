//! One step of Gauss collocation: the acceleration at the eight nodes, all in the lanes of one vector, found by iteration.

use super::super::field::{Field, Point, eight};
use super::table::{LEGENDRE, NODES, ONCE, TWICE};
use crate::numerics::lanes::{Lane, Mask};

/// The most iterations of a step.
const MOST: usize = 14;

/// A change of the velocity that is clear of its rounding, relative.
const CLEAR: f64 = 64.0 * f64::EPSILON;

/// A step that converged: values at the nodes.
pub(super) struct Nodes<L, const D: usize> {
    pub time: L,
    pub position: [L; D],
    pub velocity: [L; D],
    pub acceleration: [L; D],
    /// Ratio of successive changes, where two of them stood clear of rounding.
    pub contraction: Option<f64>,
}

/// The greatest of the numbers of a lane; none where one of them is not finite.
///
/// By halves: one after another they would keep everything else waiting.
#[inline(always)]
fn greatest<L: Lane>(lane: L) -> Option<f64> {
    if !lane.is_finite().all() {
        return None;
    }
    let all = eight(lane);
    let mut four = [0.0; 4];
    for i in 0..4 {
        four[i] = Lane::max(all[i], all[i + 4]);
    }
    Some(Lane::max(Lane::max(four[0], four[2]), Lane::max(four[1], four[3])))
}

/// Coefficients of shifted Legendre polynomials from values at the nodes.
#[inline(always)]
pub(super) fn coefficients<L: Lane, const D: usize>(values: &[L; D]) -> [[f64; 8]; D] {
    let mut all = [[0.0; 8]; D];
    for d in 0..D {
        let at = eight(values[d]);
        let (mut even, mut odd) = (L::splat(0.0), L::splat(0.0));
        for j in (0..8).step_by(2) {
            even = L::load(&LEGENDRE[j]).mul_add(L::splat(at[j]), even);
            odd = L::load(&LEGENDRE[j + 1]).mul_add(L::splat(at[j + 1]), odd);
        }
        (even + odd).store(&mut all[d]);
    }
    all
}

/// The same of one component at a time, for what has no lanes.
pub(in super::super) fn coefficients_of(at: &[f64; 8]) -> [f64; 8] {
    let mut all = [0.0; 8];
    for (row, value) in LEGENDRE.iter().zip(at) {
        for (sum, weight) in all.iter_mut().zip(row) {
            *sum += weight * value;
        }
    }
    all
}

/// The acceleration at the nodes of a step, as the polynomial of another step tells it.
///
/// - `from`: where the new step begins on the other, as a share of it: 1 for the step after it; `ratio`: of the lengths.
#[inline(always)]
pub(super) fn foretold<L: Lane, const D: usize>(before: &[[f64; 8]; D], from: f64, ratio: f64) -> [L; D] {
    // Argument of the polynomials: 2 (from + ratio × node) − 1.
    let argument = L::splat(2.0 * ratio).mul_add(L::load(&NODES), L::splat(2.0 * from - 1.0));
    let (mut older, mut newer) = (L::splat(1.0), argument);
    let mut values = [L::splat(0.0); D];
    for d in 0..D {
        values[d] = argument.mul_add(L::splat(before[d][1]), L::splat(before[d][0]));
    }
    for k in 2..8 {
        let degree = k as f64;
        let next =
            (argument * newer) * L::splat((2.0 * degree - 1.0) / degree) - older * L::splat((degree - 1.0) / degree);
        (older, newer) = (newer, next);
        for d in 0..D {
            values[d] = next.mul_add(L::splat(before[d][k]), values[d]);
        }
    }
    values
}

/// Solves a step; `None` where the iteration does not converge.
///
/// - `guess`: acceleration at the nodes to begin with, or none for that at the start.
/// - `enough`: change of the velocity that another iteration may still bring, relative.
/// - `contraction`: ratio of successive changes to expect, from the step before; `evaluations` counts.
#[inline(always)]
pub(super) fn solve<L: Lane, F: Field<D>, const D: usize>(
    field: &F,
    start: &Point<D>,
    span: f64,
    guess: Option<[L; D]>,
    enough: f64,
    contraction: f64,
    evaluations: &mut usize,
) -> Option<Nodes<L, D>> {
    let whole = L::splat(span);
    let square = L::splat(span * span);
    let elapsed = whole * L::load(&NODES);
    let time = elapsed + L::splat(start.time);
    let prepared = field.prepare(time);
    let mut straight = [whole; D];
    let mut initial = [whole; D];
    for d in 0..D {
        initial[d] = L::splat(start.velocity[d]);
        straight[d] = elapsed.mul_add(initial[d], L::splat(start.position[d]));
    }
    let mut acceleration = if let Some(guess) = guess {
        guess
    } else {
        *evaluations += 1;
        field.acceleration(&prepared, time, &straight, &initial)
    };
    let mut speed = 0.0;
    for d in 0..F::LEADING {
        speed += start.velocity[d] * start.velocity[d];
    }
    // Everything is compared by its square.
    let long = span * span;
    let enough = enough * enough;
    let mut contraction = contraction * contraction;
    let (mut position, mut velocity) = (straight, initial);
    let mut before = f64::INFINITY;
    let mut measured = None;
    for iteration in 0..MOST {
        for d in 0..D {
            let at = eight(acceleration[d]);
            let zero = L::splat(0.0);
            let (mut once_even, mut once_odd, mut twice_even, mut twice_odd) = (zero, zero, zero, zero);
            for j in (0..8).step_by(2) {
                let value = L::splat(at[j]);
                once_even = L::load(&ONCE[j]).mul_add(value, once_even);
                twice_even = L::load(&TWICE[j]).mul_add(value, twice_even);
                let value = L::splat(at[j + 1]);
                once_odd = L::load(&ONCE[j + 1]).mul_add(value, once_odd);
                twice_odd = L::load(&TWICE[j + 1]).mul_add(value, twice_odd);
            }
            velocity[d] = whole.mul_add(once_even + once_odd, initial[d]);
            position[d] = square.mul_add(twice_even + twice_odd, straight[d]);
        }
        let new = field.acceleration(&prepared, time, &position, &velocity);
        *evaluations += 1;
        let (mut change, mut size) = (L::splat(0.0), L::splat(0.0));
        for d in 0..F::LEADING {
            let difference = new[d] - acceleration[d];
            change = difference.mul_add(difference, change);
            size = new[d].mul_add(new[d], size);
        }
        let (mut change, scale) = (long * greatest(change)?, Lane::max(speed, long * greatest(size)?));
        // Riders are measured each by its own size, and put on the scale of the leading vector.
        for d in F::LEADING..D {
            let difference = new[d] - acceleration[d];
            let own = Lane::max(start.velocity[d] * start.velocity[d], long * greatest(new[d] * new[d])?);
            if own > 0.0 {
                change = Lane::max(change, long * greatest(difference * difference)? / own * scale);
            }
        }
        acceleration = new;
        // Changes of a few roundings tell nothing of the contraction.
        let clear = iteration > 0 && before > CLEAR * CLEAR * scale;
        if clear {
            contraction = Lane::min(change / before, 1.0);
            measured = Some(contraction);
        }
        if change * contraction <= enough * scale {
            return Some(Nodes { time, position, velocity, acceleration, contraction: measured.map(f64::sqrt) });
        }
        // Growth, or a crawl: a shorter step is cheaper.
        if iteration > 1 && clear && change > 0.49 * before {
            return None;
        }
        before = change;
    }
    None
}
