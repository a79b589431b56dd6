//! How the excess speeds of an arc between two moving bodies change with the dates at both ends.

use super::lambert::LambertArc;
use crate::conic::{State, transition};

/// Excess speeds at both ends of an arc, and their derivatives by the two dates.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExcessSlopes {
    /// m/s, where the arc begins.
    pub departure: f64,
    /// m/s, where it ends.
    pub arrival: f64,
    /// Of the excess speed at the departure: by its date, the arrival's kept, and by the arrival's date, m/s².
    pub of_departure: [f64; 2],
    /// The same of the excess speed at the arrival.
    pub of_arrival: [f64; 2],
}

/// Excess speeds of an arc that leaves one body and meets another, with their derivatives by the date of departure and
/// by the date of arrival, each with the other kept.
///
/// - `gm`: m³/s², of the centre. `from` and `to`: the bodies at the two dates. `arc`: the arc between them in `time` (s).
/// - The bodies are taken to fall about the same centre as the arc. What pulls them besides is left out: for planets that
///   is a thousandth of the derivative or less, and a search that uses it still ends where the speeds themselves are least.
/// - `None` where they do not come out as finite numbers: an excess speed of zero, an arc at the least time of its
///   revolutions. Towards 180° they rise with the ridge of the grid, without bound.
///
/// # Source
/// With the blocks A, B, C, D of the arc's transition matrix ([Battin1999], section 9.5) and excess velocities w1 and w2:
/// a body falls as its arc would but for −w, and moving along the arc changes nothing, so that dw1/dt1 = B⁻¹A w1,
/// dw1/dt2 = −B⁻¹ w2, dw2/dt1 = B⁻ᵀ w1 (the matrix being symplectic) and dw2/dt2 = −D B⁻¹ w2.
///
/// # Example
/// Two bodies on one circle: by symmetry leaving later does to one end what meeting earlier does to the other.
/// ```
/// use visviva_engine::{arc::excess::excess_slopes, arc::lambert::{self, Branch, Way}, conic::State, vector::Vec3};
/// let on_circle = |angle: f64| {
///     let (sin, cos) = angle.sin_cos();
///     State::new(Vec3::new(cos, sin, 0.0), Vec3::new(-sin, cos, 0.0))
/// };
/// let (from, to) = (on_circle(0.0), on_circle(2.0));
/// let arc = lambert::solve_one(1.0, &from.position, &to.position, 1.5, Way::Short, 0, Branch::Single)?;
/// let slopes = excess_slopes(1.0, &from, &to, &arc, 1.5).expect("no special case");
/// assert!((slopes.of_departure[0] + slopes.of_arrival[1]).abs() < 1e-12);
/// # Ok::<(), lambert::LambertError>(())
/// ```
pub fn excess_slopes(gm: f64, from: &State, to: &State, arc: &LambertArc, time: f64) -> Option<ExcessSlopes> {
    let (w1, w2) = (arc.v1 - from.velocity, arc.v2 - to.velocity);
    let (departure, arrival) = (w1.norm(), w2.norm());
    let flown = transition(gm, &State::new(from.position, arc.v1), time).ok()?;
    let inverse = flown.place_by_velocity.try_inverse()?;
    let by_place = inverse * w2;
    let (by_leaving, by_meeting) = (inverse * (flown.place_by_place * w1), flown.velocity_by_velocity * by_place);
    let slopes = ExcessSlopes {
        departure,
        arrival,
        of_departure: [w1.dot(&by_leaving) / departure, -w1.dot(&by_place) / departure],
        of_arrival: [w1.dot(&by_place) / arrival, -w2.dot(&by_meeting) / arrival],
    };
    let numbers = slopes.of_departure.iter().chain(&slopes.of_arrival);
    numbers.copied().all(f64::is_finite).then_some(slopes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::arc::lambert::{Branch, Way, solve_one};
    use crate::conic::propagate;
    use crate::vector::Vec3;

    #[test]
    fn slopes_are_the_differences_of_speeds() {
        let north = Way::Prograde(Vec3::new(0.0, 0.0, 1.0));
        let body = State::new(Vec3::new(1.0, 0.1, 0.02), Vec3::new(-0.1, 1.02, -0.03));
        let other = State::new(Vec3::new(-1.3, 0.9, 0.05), Vec3::new(-0.45, -0.62, 0.02));
        for (gap, revolutions, branch) in
            [(1.1, 0, Branch::Single), (4.0, 0, Branch::Single), (17.0, 1, Branch::Left), (17.0, 1, Branch::Right)]
        {
            let ends = |leave: f64, meet: f64| {
                let (from, to) = (propagate(1.0, &body, leave).unwrap(), propagate(1.0, &other, meet).unwrap());
                let time = gap + meet - leave;
                let arc = solve_one(1.0, &from.position, &to.position, time, north, revolutions, branch).unwrap();
                (from, to, arc, time)
            };
            let speeds = |leave: f64, meet: f64| {
                let (from, to, arc, _) = ends(leave, meet);
                [(arc.v1 - from.velocity).norm(), (arc.v2 - to.velocity).norm()]
            };
            let (from, to, arc, time) = ends(0.0, 0.0);
            let slopes = excess_slopes(1.0, &from, &to, &arc, time).unwrap();
            assert_eq!([slopes.departure, slopes.arrival], speeds(0.0, 0.0));
            let h = 1e-5;
            for (k, by) in [slopes.of_departure, slopes.of_arrival].into_iter().enumerate() {
                let by_leaving = (speeds(h, 0.0)[k] - speeds(-h, 0.0)[k]) / (2.0 * h);
                let by_meeting = (speeds(0.0, h)[k] - speeds(0.0, -h)[k]) / (2.0 * h);
                // The third derivatives are some thousands at most near the least time: h² of them, and rounding over h.
                assert!((by[0] - by_leaving).abs() < 1e-6 * (1.0 + by[0].abs()), "{gap} {k}: {by:?} {by_leaving}");
                assert!((by[1] - by_meeting).abs() < 1e-6 * (1.0 + by[1].abs()), "{gap} {k}: {by:?} {by_meeting}");
            }
        }
    }
}
