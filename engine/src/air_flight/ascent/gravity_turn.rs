//! The gravity turn in closed form: thrust along the velocity, a constant ratio of thrust to weight, flat ground, no air.
//!
//! Real turns have growing acceleration and air; this one tells how kick, thrust and time hang together, and what the forces' driver is held to.

/// A gravity turn from a speed at an angle from the vertical. With z = tan(ψ/2) its speed is v = C zⁿ⁻¹ (1 + z²).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GravityTurn {
    ratio: f64,
    gravity: f64,
    scale: f64,
    start: f64,
}

/// A moment of a gravity turn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turned {
    /// m/s.
    pub speed: f64,
    /// s from the start.
    pub time: f64,
    /// Way along the ground, m from the start.
    pub downrange: f64,
    /// Height gained, m.
    pub height: f64,
}

impl GravityTurn {
    /// From a start.
    ///
    /// - `ratio`: thrust over weight, above 1; `angle`: from the vertical, rad, between 0 and π; `speed`: m/s and `gravity`: m/s², above zero.
    /// - Returns `None` for figures outside their ranges.
    ///
    /// # Source
    /// [CullerFried1957]; [Thomson1986], chapter 8.
    ///
    /// # Example
    /// ```
    /// # use visviva_engine::air_flight::ascent::GravityTurn;
    /// let turn = GravityTurn::new(1.5, 1_f64.to_radians(), 50.0, 9.80665).expect("in range");
    /// let later = turn.at(60_f64.to_radians()).expect("ahead");
    /// assert!((later.speed - 542.2082922).abs() < 1e-6 && (later.time - 78.26723292).abs() < 1e-7);
    /// ```
    pub fn new(ratio: f64, angle: f64, speed: f64, gravity: f64) -> Option<GravityTurn> {
        let finite = [ratio, angle, speed, gravity].iter().all(|x| x.is_finite());
        if !finite || ratio <= 1.0 || !(0.0 < angle && angle < std::f64::consts::PI) || speed <= 0.0 || gravity <= 0.0 {
            return None;
        }
        let start = (0.5 * angle).tan();
        let scale = speed / (start.powf(ratio - 1.0) * (1.0 + start * start));
        Some(GravityTurn { ratio, gravity, scale, start })
    }

    /// When the velocity is at an angle (rad) from the vertical; `None` before the start or from half a turn on.
    pub fn at(&self, angle: f64) -> Option<Turned> {
        let (n, c, g) = (self.ratio, self.scale, self.gravity);
        let z = (0.5 * angle).tan();
        if !(z >= self.start && z.is_finite()) {
            return None;
        }
        let time = |z: f64| c / g * z.powf(n - 1.0) * (1.0 / (n - 1.0) + z * z / (n + 1.0));
        // dx = v sin ψ dt and dh = v cos ψ dt, with dt = (C/g) zⁿ⁻² (1 + z²) dz.
        let way = |z: f64| 2.0 * c * c / g * z.powf(2.0 * n - 1.0) * (1.0 / (2.0 * n - 1.0) + z * z / (2.0 * n + 1.0));
        let rise = |z: f64| c * c / g * z.powf(2.0 * n - 2.0) * (1.0 / (2.0 * n - 2.0) - z.powi(4) / (2.0 * n + 2.0));
        Some(Turned {
            speed: c * z.powf(n - 1.0) * (1.0 + z * z),
            time: time(z) - time(self.start),
            downrange: way(z) - way(self.start),
            height: rise(z) - rise(self.start),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::motion::Point;
    use crate::motion::force::{Attitude, Craft, Surroundings, Throttle, Thrust};
    use crate::motion::passage::fly;
    use crate::numerics::watch::Watch;

    #[test]
    fn the_forces_fly_the_closed_form() {
        // A body so large that its ground is flat: over 11 km flown and 16 km climbed, gravity and vertical change by 3e-6 of themselves.
        let (radius, g) = (1e10, 9.80665);
        let around = Surroundings::point(g * radius * radius);
        let turn = GravityTurn::new(1.5, 1_f64.to_radians(), 50.0, g).unwrap();
        let wanted = turn.at(60_f64.to_radians()).unwrap();
        let thrust = Thrust {
            vacuum: 1e6,
            exit_area: 0.0,
            exhaust_speed: 3000.0,
            throttle: Throttle::Acceleration(1.5 * g),
            attitude: Attitude::Along { sign: 1.0 },
        };
        let (sin, cos) = 1_f64.to_radians().sin_cos();
        let start =
            Point { time: 0.0, position: [radius, 0.0, 0.0, 0.0], velocity: [50.0 * cos, 50.0 * sin, 0.0, 1000.0] };
        let craft = Craft { thrust: Some(thrust), drag: None };
        let flown = fly(&around, &craft, start, wanted.time, 1e-12, &[], &Watch::none()).unwrap();
        let v = flown.end.velocity;
        // 3e-6 of the speed, some three times over the growth of a turn's small differences.
        assert!((v[0].hypot(v[1]) / wanted.speed - 1.0).abs() < 1e-5, "{} {}", v[0].hypot(v[1]), wanted.speed);
        assert!((v[1].atan2(v[0]) - 60_f64.to_radians()).abs() < 1e-5);
        assert!((flown.end.position[1] / wanted.downrange - 1.0).abs() < 1e-5);
        assert!(((flown.end.position[0] - radius) / wanted.height - 1.0).abs() < 1e-4);
    }

    #[test]
    fn figures_outside_their_ranges_have_no_turn() {
        assert_eq!(GravityTurn::new(0.9, 0.1, 50.0, 9.8), None);
        assert_eq!(GravityTurn::new(1.5, 0.0, 50.0, 9.8), None);
        assert_eq!(GravityTurn::new(1.5, 0.1, f64::NAN, 9.8), None);
        assert_eq!(GravityTurn::new(1.5, 0.1, 50.0, 9.8).unwrap().at(0.05), None);
    }
}
