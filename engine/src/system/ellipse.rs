//! Ellipses that bodies run on: fixed ones, and ones whose elements drift.

use std::f64::consts::TAU;

use crate::conic::{State, anomaly};
use crate::constants::DAY;
use crate::vector::{Mat3, Vec3};

/// Days in a Julian century.
pub(super) const CENTURY: f64 = 36_525.0;

/// Days as a whole number and a fraction, kept apart so that neither loses digits to the other.
pub(crate) type Days = (f64, f64);

/// A fixed ellipse with a body on it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct FixedEllipse {
    pub(super) epoch: Days,
    pub(super) semi_major_axis: f64,
    pub(super) eccentricity: f64,
    pub(super) mean_anomaly: f64,
    /// rad/day.
    pub(super) mean_motion: f64,
    /// Unit vectors to periapsis and along the motion there, inertial.
    pub(super) axes: (Vec3, Vec3),
}

impl FixedEllipse {
    pub(super) fn mean_anomaly(&self, days: Days) -> f64 {
        let (whole, fraction) = (days.0 - self.epoch.0, days.1 - self.epoch.1);
        self.mean_anomaly + (self.mean_motion * whole).rem_euclid(TAU) + self.mean_motion * fraction
    }

    /// Position (m) and velocity (m/s), inertial, at a time in TDB days past J2000.
    pub(crate) fn state(&self, days: Days) -> State {
        let (a, e) = (self.semi_major_axis, self.eccentricity);
        let minor = a * ((1.0 - e) * (1.0 + e)).sqrt();
        let (sin, cos) = anomaly::eccentric_from_mean(e, self.mean_anomaly(days)).sin_cos();
        let rate = self.mean_motion / DAY / (1.0 - e * cos);
        let (p, q) = &self.axes;
        State {
            position: p * (a * (cos - e)) + q * (minor * sin),
            velocity: p * (-a * rate * sin) + q * (minor * rate * cos),
        }
    }

    /// Least and greatest distance, m, and greatest speed, m/s.
    pub(crate) fn bounds(&self) -> ((f64, f64), f64) {
        let (a, e) = (self.semi_major_axis, self.eccentricity);
        let speed = self.mean_motion / DAY * a * ((1.0 + e) / (1.0 - e)).sqrt();
        ((a * (1.0 - e), a * (1.0 + e)), speed)
    }
}

/// An element and its rate per day.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Drift {
    pub(super) value: f64,
    pub(super) rate: f64,
}

impl Drift {
    fn at(self, days: Days) -> f64 {
        self.value + self.rate * days.0 + self.rate * days.1
    }

    /// As `at`, with whole turns of the long part taken off.
    fn angle_at(self, days: Days) -> f64 {
        self.value + (self.rate * days.0).rem_euclid(TAU) + self.rate * days.1
    }
}

/// A periodic part of the mean anomaly: amplitude times sin(phase + rate d), rad and rad/day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Wave {
    pub(super) amplitude: f64,
    pub(super) phase: f64,
    pub(super) rate: f64,
}

/// An ellipse whose elements change steadily, with periodic parts of the mean anomaly: "mean elements".
///
/// Angles in rad, lengths in m, rates per day, time in TDB days past `epoch`. The columns of `frame` are the axes that the
/// angles count in.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct MeanEllipse {
    pub(super) epoch: Days,
    pub(super) frame: Mat3,
    pub(super) semi_major_axis: Drift,
    pub(super) eccentricity: Drift,
    pub(super) inclination: Drift,
    pub(super) ascending_node: Drift,
    pub(super) argument_of_periapsis: Drift,
    pub(super) mean_anomaly: Drift,
    /// Mean longitude and longitude of periapsis (degrees, with rates per Julian century) where the source gives the mean
    /// anomaly as their difference: thousands of turns from the epoch the rounding of a combined rate would show.
    pub(super) longitudes: Option<[(f64, f64); 2]>,
    /// rad/day², times the square of the days.
    pub(super) mean_anomaly_square: f64,
    pub(super) waves: Vec<Wave>,
}

impl MeanEllipse {
    fn past_epoch(&self, days: Days) -> Days {
        (days.0 - self.epoch.0, days.1 - self.epoch.1)
    }

    /// Mean anomaly, rad, and its rate, rad/day.
    fn mean_anomaly_past(&self, past: Days) -> (f64, f64) {
        let t = past.0 + past.1;
        let steady = match self.longitudes {
            Some([longitude, periapsis]) => {
                let centuries = t / CENTURY;
                let [longitude, periapsis] = [longitude, periapsis].map(|(value, rate)| value + rate * centuries);
                (longitude - periapsis).rem_euclid(360.0).to_radians()
            }
            None => self.mean_anomaly.angle_at(past),
        };
        let mut value = steady + self.mean_anomaly_square * t * t;
        let mut rate = self.mean_anomaly.rate + 2.0 * self.mean_anomaly_square * t;
        for wave in &self.waves {
            let (sin, cos) = (wave.phase + wave.rate * t).sin_cos();
            value += wave.amplitude * sin;
            rate += wave.amplitude * wave.rate * cos;
        }
        (value, rate)
    }

    /// Unit vectors to periapsis and along the motion there, and the direction of the ascending node, all in `frame`.
    fn axes_past(&self, past: Days) -> (Vec3, Vec3, Vec3) {
        let (sin_node, cos_node) = self.ascending_node.angle_at(past).sin_cos();
        let (sin_i, cos_i) = self.inclination.at(past).sin_cos();
        let (sin_w, cos_w) = self.argument_of_periapsis.angle_at(past).sin_cos();
        let node = Vec3::new(cos_node, sin_node, 0.0);
        let ahead = Vec3::new(-sin_node * cos_i, cos_node * cos_i, sin_i);
        (node * cos_w + ahead * sin_w, ahead * cos_w - node * sin_w, node)
    }

    /// Mean anomaly, and unit vectors to periapsis and along the motion there, inertial.
    pub(super) fn orientation(&self, days: Days) -> (f64, Vec3, Vec3) {
        let past = self.past_epoch(days);
        let (p, q, _) = self.axes_past(past);
        (self.mean_anomaly_past(past).0, self.frame * p, self.frame * q)
    }

    /// Position (m) and velocity (m/s), inertial, at a time in TDB days past J2000.
    ///
    /// The velocity is the exact derivative of the position: drift of size and shape in the orbit's plane, drift of the three
    /// angles as turns about the reference pole, the node and the orbit's own pole.
    pub(crate) fn state(&self, days: Days) -> State {
        let past = self.past_epoch(days);
        let (a, e) = (self.semi_major_axis.at(past), self.eccentricity.at(past));
        let (a_rate, e_rate) = (self.semi_major_axis.rate, self.eccentricity.rate);
        let (anomaly_now, anomaly_rate) = self.mean_anomaly_past(past);
        let (sin, cos) = anomaly::eccentric_from_mean(e, anomaly_now).sin_cos();
        let eccentric_rate = (anomaly_rate + e_rate * sin) / (1.0 - e * cos);
        let root = ((1.0 - e) * (1.0 + e)).sqrt();
        let (x, y) = (a * (cos - e), a * root * sin);
        let x_rate = a_rate * (cos - e) - a * (sin * eccentric_rate + e_rate);
        let y_rate = a_rate * root * sin + a * (root * cos * eccentric_rate - e * e_rate / root * sin);
        let (p, q, node) = self.axes_past(past);
        let place = p * x + q * y;
        let turn = Vec3::z() * self.ascending_node.rate
            + node * self.inclination.rate
            + p.cross(&q) * self.argument_of_periapsis.rate;
        let velocity = p * x_rate + q * y_rate + turn.cross(&place);
        State { position: self.frame * place, velocity: self.frame * (velocity / DAY) }
    }

    /// Least and greatest distance, m, and greatest speed, m/s, at any time between two (TDB days past J2000), or ever.
    ///
    /// Sums of the greatest size of every part of position and velocity: guaranteed, not tight.
    pub(crate) fn bounds(&self, between: Option<(Days, Days)>) -> ((f64, f64), f64) {
        let ends = match between {
            Some((first, last)) => [self.past_epoch(first), self.past_epoch(last)],
            // Without a span only angles drift, so every day has the same size and shape.
            None => [(0.0, 0.0); 2],
        };
        let least = |drift: Drift| drift.at(ends[0]).min(drift.at(ends[1]));
        let greatest = |drift: Drift| drift.at(ends[0]).max(drift.at(ends[1]));
        let a = greatest(self.semi_major_axis);
        let e = greatest(self.eccentricity);
        let longest = ends.iter().map(|end| (end.0 + end.1).abs()).fold(0.0, f64::max);
        let motion = self.mean_anomaly.rate.abs()
            + 2.0 * self.mean_anomaly_square.abs() * longest
            + self.waves.iter().map(|wave| (wave.amplitude * wave.rate).abs()).sum::<f64>();
        let turning =
            self.ascending_node.rate.abs() + self.inclination.rate.abs() + self.argument_of_periapsis.rate.abs();
        let speed = motion * a * ((1.0 + e) / (1.0 - e)).sqrt()
            + turning * a * (1.0 + e)
            + self.semi_major_axis.rate.abs() * (1.0 + e)
            + a * self.eccentricity.rate.abs() * (2.0 + 1.0 / (1.0 - e));
        ((least(self.semi_major_axis) * (1.0 - e), a * (1.0 + e)), speed / DAY)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drifting() -> MeanEllipse {
        MeanEllipse {
            epoch: (100.0, 0.25),
            frame: Mat3::identity(),
            semi_major_axis: Drift { value: 1.0e9, rate: 2.0e3 },
            eccentricity: Drift { value: 0.2, rate: 1.0e-5 },
            inclination: Drift { value: 0.3, rate: 2.0e-4 },
            ascending_node: Drift { value: 1.0, rate: -3.0e-3 },
            argument_of_periapsis: Drift { value: 2.0, rate: 4.0e-3 },
            mean_anomaly: Drift { value: 3.0, rate: 0.7 },
            longitudes: None,
            mean_anomaly_square: 1.0e-6,
            waves: vec![Wave { amplitude: 0.1, phase: 0.4, rate: 0.05 }],
        }
    }

    /// Central differences over ±h, h = 2 s, err by h²/6 of the third derivative, at most n³ a (1 − e)⁻⁴ = 1.3e-6 m/s³ here with
    /// n = 8.1e-6 rad/s: 9e-7 m/s. Angles of several rad are rounded to 9e-16 each, 1e-6 m of place, over 2h: 1e-6 m/s for a few
    /// of them.
    #[test]
    fn velocity_is_the_derivative_of_position() {
        let ellipse = drifting();
        let step = 2.0 / DAY;
        for day in [0.0, 57.0, 431.0, 1999.0] {
            let before = ellipse.state((day, 0.5 - step)).position;
            let after = ellipse.state((day, 0.5 + step)).position;
            let found = ellipse.state((day, 0.5)).velocity;
            let expected = (after - before) / 4.0;
            assert!((found - expected).norm() < 3e-6, "day {day}: {found} against {expected}");
        }
    }

    #[test]
    fn bounds_hold_everywhere_in_their_span() {
        let ellipse = drifting();
        let ((least, greatest), speed) = ellipse.bounds(Some(((0.0, 0.0), (2000.0, 0.0))));
        for quarter in 0..8000 {
            let state = ellipse.state((0.0, f64::from(quarter) * 0.25));
            let distance = state.position.norm();
            assert!(least <= distance && distance <= greatest && state.velocity.norm() <= speed);
        }
    }

    #[test]
    fn a_fixed_ellipse_is_a_drifting_one_that_does_not_drift() {
        let mut still = drifting();
        for drift in [
            &mut still.semi_major_axis,
            &mut still.eccentricity,
            &mut still.inclination,
            &mut still.ascending_node,
            &mut still.argument_of_periapsis,
        ] {
            drift.rate = 0.0;
        }
        still.mean_anomaly_square = 0.0;
        still.waves.clear();
        let (_, p, q) = still.orientation((0.0, 0.0));
        let fixed = FixedEllipse {
            epoch: still.epoch,
            semi_major_axis: 1.0e9,
            eccentricity: 0.2,
            mean_anomaly: 3.0,
            mean_motion: 0.7,
            axes: (p, q),
        };
        for day in [-4000.0, 0.0, 1.0, 31.0] {
            let (one, other) = (fixed.state((day, 0.1)), still.state((day, 0.1)));
            assert!((one.position - other.position).norm() < 1e-4);
            assert!((one.velocity - other.velocity).norm() < 1e-9);
        }
    }
}
