//! Linear-tangent steering in closed form: the quickest way to a height and a velocity over flat ground under constant specific thrust.
//!
//! Where neither air nor the curve of the ground matters, the tangent of the thrust's angle to the horizon falls linearly with time. It is what the
//! guidance law's unit(λ + λ̇ t) is in a plane, so the law is held to it.

use crate::numerics::least_squares::{self, Options};
use crate::numerics::watch::Watch;

/// Steering tan θ = `initial_tangent` − `rate` t, for `time`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinearTangent {
    /// Time of burning, s.
    pub time: f64,
    /// Tangent of the angle between thrust and horizon at the start.
    pub initial_tangent: f64,
    /// How fast the tangent falls, 1/s.
    pub rate: f64,
}

/// What is to be reached: gains over the start, in uniform gravity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlatTask {
    /// Thrust over mass, constant, m/s², above zero.
    pub acceleration: f64,
    /// m/s², zero or more.
    pub gravity: f64,
    /// Height to gain, m, with the climb at the start already counted off by the caller where there is one.
    pub height: f64,
    /// Horizontal speed to gain, m/s, above zero.
    pub horizontal_speed: f64,
    /// Vertical speed to gain, m/s.
    pub vertical_speed: f64,
}

/// Averages over a burn whose tangent falls evenly from `first` to `last`: cosine, sine, and sine weighed with the share of the time that is left.
fn averages(first: f64, last: f64) -> (f64, f64, f64) {
    let fall = first - last;
    if fall.abs() < 1e-3 {
        // The closed forms lose their digits in differences; to the second order in the fall the middle of the burn tells all, and its error is of the
        // fourth: below 1e-13.
        let middle = 0.5 * (first + last);
        let secant = (1.0 + middle * middle).sqrt();
        let bent = fall * fall / 24.0;
        let cosine = 1.0 / secant + bent * (2.0 * middle * middle - 1.0) / secant.powi(5);
        let sine = middle / secant - bent * 3.0 * middle / secant.powi(5);
        return (cosine, sine, 0.5 * sine + fall / (12.0 * secant.powi(3)));
    }
    let (secant, last_secant) = (first.hypot(1.0), last.hypot(1.0));
    let logarithm = first.asinh() - last.asinh();
    let cosine = logarithm / fall;
    let sine = (secant - last_secant) / fall;
    let weighed = (fall * secant - (secant - last_secant) * last - logarithm) / (2.0 * fall * fall);
    (cosine, sine, weighed)
}

impl LinearTangent {
    /// The steering of least time to a height and a velocity, wherever along the ground.
    ///
    /// - Returns `None` where the task cannot be done: no thrust, no horizontal speed to gain, or more gravity than the thrust overcomes.
    ///
    /// # Source
    /// [BrysonHo1975], section 2.4, equations for constant specific thrust.
    ///
    /// # Example
    /// From rest on the Moon to 15 km and 1680 m/s with 4.5 m/s².
    /// ```
    /// # use visviva_engine::air_flight::ascent::{FlatTask, LinearTangent};
    /// let task = FlatTask {
    ///     acceleration: 4.5, gravity: 1.62, height: 15e3, horizontal_speed: 1680.0, vertical_speed: 0.0,
    /// };
    /// let steering = LinearTangent::of_least_time(&task).expect("within reach");
    /// assert!((steering.time - 401.526865).abs() < 1e-5);
    /// ```
    pub fn of_least_time(task: &FlatTask) -> Option<LinearTangent> {
        let numbers = [task.acceleration, task.horizontal_speed, task.height, task.vertical_speed, task.gravity];
        if !numbers.iter().all(|x| x.is_finite()) || task.acceleration <= 0.0 || task.horizontal_speed <= 0.0 {
            return None;
        }
        let time = |x: &[f64]| task.horizontal_speed / (task.acceleration * averages(x[0], x[1]).0);
        // Misses as shares of what thrust gives in the time, so that tasks of any size are alike.
        let misses = |x: &[f64]| -> Result<Vec<f64>, std::convert::Infallible> {
            let (_, sine, weighed) = averages(x[0], x[1]);
            let t = time(x);
            let speed = task.acceleration * t;
            let vertical = speed * sine - task.gravity * t - task.vertical_speed;
            let height = speed * t * weighed - 0.5 * task.gravity * t * t - task.height;
            Ok(vec![vertical / (speed * TINY), height / (speed * t * TINY)])
        };
        let bounds = [(-STEEPEST, STEEPEST); 2];
        let options = Options { evaluations: 400, first_step: 1.0, central: true, ..Options::default() };
        let lift = (task.gravity / task.acceleration).min(0.9);
        // Rising first is how a height is gained; a few starts cover flat and steep tasks.
        for (first, last) in [(lift + 0.5, lift - 0.3), (2.0, -2.0), (lift, lift), (6.0, -1.0), (20.0, -5.0)] {
            let Ok(fit) =
                least_squares::solve(&[first, last], &[1.0, 1.0], &bounds, misses, &options, &Watch::new(&|| false));
            if fit.solved() {
                let t = time(&fit.x);
                return Some(LinearTangent { time: t, initial_tangent: fit.x[0], rate: (fit.x[0] - fit.x[1]) / t });
            }
        }
        None
    }

    /// Angle between thrust and horizon at the start, rad.
    pub fn initial_angle(&self) -> f64 {
        self.initial_tangent.atan()
    }
}

/// Misses that count as none: shares of the speed and height that the thrust gives. Roundings of the closed forms are some 1e-14 of them.
const TINY: f64 = 1e-12;

/// Tangents beyond this are a thrust straight up for all that matters.
const STEEPEST: f64 = 1e4;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closed_form_and_middle_agree_where_they_meet() {
        // At a fall of 1e-3 the expansion's error is 1e-12/2000, the closed form's cancellation 1e-16/1e-6: 1e-9 holds both.
        for middle in [0.0, 0.7, -2.0] {
            let (a, b) =
                (averages(middle + 4.999e-4, middle - 4.999e-4), averages(middle + 5.001e-4, middle - 5.001e-4));
            assert!((a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9 && (a.2 - b.2).abs() < 2e-7, "{a:?} {b:?}");
        }
    }

    #[test]
    fn averages_are_integrals() {
        let (first, last) = (1.4, -0.6);
        let n = 2000;
        let mut sums = (0.0, 0.0, 0.0);
        for k in 0..n {
            let share = (f64::from(k) + 0.5) / f64::from(n);
            let tangent: f64 = first + (last - first) * share;
            let secant = tangent.hypot(1.0);
            sums.0 += 1.0 / secant;
            sums.1 += tangent / secant;
            sums.2 += (1.0 - share) * tangent / secant;
        }
        let closed = averages(first, last);
        // The middle rule with 2000 places errs by some 1e-7.
        for (sum, form) in [(sums.0, closed.0), (sums.1, closed.1), (sums.2, closed.2)] {
            assert!((sum / f64::from(n) - form).abs() < 3e-7);
        }
    }

    #[test]
    fn what_cannot_be_reached_has_no_steering() {
        let task =
            FlatTask { acceleration: 1.0, gravity: 2.0, height: 1e4, horizontal_speed: 100.0, vertical_speed: 0.0 };
        assert_eq!(LinearTangent::of_least_time(&task), None);
        assert_eq!(LinearTangent::of_least_time(&FlatTask { acceleration: 0.0, ..task }), None);
        assert_eq!(LinearTangent::of_least_time(&FlatTask { horizontal_speed: f64::NAN, ..task }), None);
    }
}
