//! One step of the explicit pair, over lanes: a trajectory in each, or one alone.

use super::super::field::Field;
use super::table::{NODES, row};
use crate::numerics::lanes::Lane;

/// Slopes of position and velocity at the stages.
pub(super) struct Slopes<L, const D: usize> {
    pub position: [[L; D]; 16],
    pub velocity: [[L; D]; 16],
}

/// Where a step stands or ends.
#[derive(Clone, Copy)]
pub(super) struct Stand<L, const D: usize> {
    pub time: L,
    pub position: [L; D],
    pub velocity: [L; D],
}

/// Square of a step's error over its length and over the size of the vector of components `from..to`.
///
/// The error of the fifth order is corrected by that of the third. [HairerNorsettWanner1993], II.10.
#[inline(always)]
fn error_share<L: Lane, const D: usize>(
    third: &[L; D],
    fifth: &[L; D],
    old: &[L; D],
    new: &[L; D],
    from: usize,
    to: usize,
) -> L {
    let zero = L::splat(0.0);
    let (mut low, mut high, mut before, mut after) = (zero, zero, zero, zero);
    for d in from..to {
        let (a, b) = (third[d], fifth[d]);
        low = a.mul_add(a, low);
        high = b.mul_add(b, high);
        before = old[d].mul_add(old[d], before);
        after = new[d].mul_add(new[d], after);
    }
    // high / √(high + low/100), over the size of the vector.
    let size = before.max(after);
    let square = high * high / (low.mul_add(L::splat(0.01), high) + L::splat(f64::MIN_POSITIVE));
    square / (size + L::splat(f64::MIN_POSITIVE))
}

/// Takes a step of `span` from `stand`, whose own slope is `slopes.*[0]`; the slope at the end comes as stage 12.
///
/// Returns the end, and the square of the error relative to position or velocity, the worse of both.
#[inline(always)]
pub(super) fn take<L: Lane, F: Field<D>, const D: usize>(
    field: &F,
    stand: &Stand<L, D>,
    span: L,
    slopes: &mut Slopes<L, D>,
) -> (Stand<L, D>, L) {
    macro_rules! stage {
        ($end:ident: $($s:tt)*) => { $(let _ = &$end; $end = {
            let (mut position, mut velocity) = (stand.position, stand.velocity);
            for d in 0..D {
                position[d] = span.mul_add(row!($s, slopes.position, d), position[d]);
                velocity[d] = span.mul_add(row!($s, slopes.velocity, d), velocity[d]);
            }
            let time = span.mul_add(L::splat(NODES[$s]), stand.time);
            slopes.velocity[$s] = field.acceleration(&field.prepare(time), time, &position, &velocity);
            slopes.position[$s] = velocity;
            Stand { time, position, velocity }
            };)* };
    }
    let mut end = *stand;
    stage!(end: 1 2 3 4 5 6 7 8 9 10 11 12);
    let zero = [L::splat(0.0); D];
    let (mut third, mut fifth, mut third_place, mut fifth_place) = (zero, zero, zero, zero);
    for d in 0..D {
        third[d] = row!(third, slopes.velocity, d);
        fifth[d] = row!(fifth, slopes.velocity, d);
        third_place[d] = row!(third, slopes.position, d);
        fifth_place[d] = row!(fifth, slopes.position, d);
    }
    let leading = F::LEADING;
    let place = error_share(&third_place, &fifth_place, &stand.position, &end.position, 0, leading);
    let mut worst = place.max(error_share(&third, &fifth, &stand.velocity, &end.velocity, 0, leading));
    for d in leading..D {
        worst = worst.max(error_share(&third, &fifth, &stand.velocity, &end.velocity, d, d + 1));
    }
    (end, worst * span * span)
}

/// The three stages that the dense output needs besides.
#[inline(always)]
pub(super) fn dense_stages<F: Field<D>, const D: usize>(
    field: &F,
    stand: &Stand<f64, D>,
    span: f64,
    slopes: &mut Slopes<f64, D>,
) {
    type L = f64;
    macro_rules! stage {
        ($($s:tt)*) => { $({
            let (mut position, mut velocity) = (stand.position, stand.velocity);
            for d in 0..D {
                position[d] += span * row!($s, slopes.position, d);
                velocity[d] += span * row!($s, slopes.velocity, d);
            }
            let time = stand.time + span * NODES[$s];
            slopes.velocity[$s] = field.acceleration(&field.prepare(time), time, &position, &velocity);
            slopes.position[$s] = velocity;
        })* };
    }
    stage!(13 14 15);
}

/// What the dense output of one component of the velocity is made of.
#[inline(always)]
pub(super) fn dense_terms<const D: usize>(
    slopes: &Slopes<f64, D>,
    before: &[f64; D],
    after: &[f64; D],
    span: f64,
    d: usize,
) -> [f64; 7] {
    type L = f64;
    let gone = after[d] - before[d];
    let (begin, end) = (slopes.velocity[0][d], slopes.velocity[12][d]);
    [
        gone,
        span * begin - gone,
        2.0 * gone - span * (end + begin),
        span * row!(dense 0, slopes.velocity, d),
        span * row!(dense 1, slopes.velocity, d),
        span * row!(dense 2, slopes.velocity, d),
        span * row!(dense 3, slopes.velocity, d),
    ]
}

/// The derivative of the dense output by the share of the step.
#[inline(always)]
pub(super) fn dense_slope(terms: &[f64; 7], share: f64) -> f64 {
    // gone s + f1 s(1−s) + f2 s²(1−s) + f3 s²(1−s)² + …, by Horner with its derivative alongside.
    let (mut value, mut slope) = (0.0, 0.0);
    for k in (0..7).rev() {
        value += terms[k];
        (value, slope) = if k % 2 == 0 {
            (value * share, slope * share + value)
        } else {
            (value * (1.0 - share), slope * (1.0 - share) - value)
        };
    }
    slope
}
