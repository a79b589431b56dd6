//! An arc flown: whether it ends where it should, within what rounding allows. For the benches.

use visviva_engine::conic::{State, propagate};

/// The sum over the seven inputs of a flight of the relative change of the end by the relative change of the input.
fn condition(gm: f64, start: &State, time: f64, end: &State) -> f64 {
    const NUDGE: f64 = 1e-7;
    let mut sum = 0.0;
    for k in 0..7 {
        let (mut start, mut time) = (*start, time);
        match k {
            0..3 => start.position[k] *= 1.0 + NUDGE,
            3..6 => start.velocity[k - 3] *= 1.0 + NUDGE,
            _ => time *= 1.0 + NUDGE,
        }
        let Ok(moved) = propagate(gm, &start, time) else { return f64::NAN };
        sum += (moved.position - end.position).norm() / end.radius() / NUDGE;
    }
    sum
}

/// By how much the flight misses the place wanted, as a share of its distance, and as a share of what is allowed: twenty
/// roundings of what one rounding of the flight's start does, a hundred times that in velocity. Not a number if it cannot be flown.
pub fn miss(gm: f64, start: &State, time: f64, wanted: &State) -> (f64, f64) {
    propagate(gm, start, time).map_or((f64::NAN, f64::NAN), |end| {
        let place = (end.position - wanted.position).norm() / wanted.radius();
        let velocity = (end.velocity - wanted.velocity).norm() / wanted.speed();
        let bound = 20.0 * f64::EPSILON * (1.0 + condition(gm, start, time, &end));
        (place, (place / bound).max(velocity / (100.0 * bound)))
    })
}
