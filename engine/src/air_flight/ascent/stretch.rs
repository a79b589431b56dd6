//! A stretch of burning as the guidance law foresees it, and the integrals of thrust over several.

/// Thrust for a while, in vacuum: constant, or throttled so that the acceleration is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Effective exhaust speed, m/s, above zero.
    pub exhaust_speed: f64,
    /// Thrust over mass when it begins, m/s², above zero.
    pub acceleration: f64,
    /// How long the propellant lasts, s.
    pub duration: f64,
    /// Whether the acceleration stays what it is at the start; else the thrust does, and the acceleration grows as mass is burned.
    pub held: bool,
}

impl Stretch {
    /// Speed that it gives, m/s.
    pub fn speed(&self) -> f64 {
        self.speed_in(self.duration)
    }

    /// Time that its mass would last if all of it were propellant, s: exhaust speed over acceleration.
    fn whole(&self) -> f64 {
        self.exhaust_speed / self.acceleration
    }

    fn speed_in(&self, time: f64) -> f64 {
        if self.held {
            self.acceleration * time
        } else {
            -self.exhaust_speed * (-time / self.whole()).max(-1.0 + f64::EPSILON).ln_1p()
        }
    }

    fn time_for(&self, speed: f64) -> f64 {
        if self.held { speed / self.acceleration } else { -self.whole() * (-speed / self.exhaust_speed).exp_m1() }
    }

    /// Thrust over mass at a time after its start, m/s².
    pub fn acceleration_at(&self, time: f64) -> f64 {
        if self.held { self.acceleration } else { self.exhaust_speed / (self.whole() - time) }
    }
}

/// Integrals of a thrust acceleration a(t) over a burn that begins at t = 0.
///
/// # Source
/// [McHenry1979]: L = ∫a, J = ∫a t, S = ∬a, Q = ∬a t.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Integrals {
    /// Speed gained ∫ a dt, m/s.
    pub speed: f64,
    /// ∫ a t dt, m.
    pub moment: f64,
    /// Distance gained ∬ a, m.
    pub distance: f64,
    /// ∬ a t, m s.
    pub distance_moment: f64,
    /// Length of the burn, s.
    pub time: f64,
    /// How far the burn goes beyond the propellant, s.
    pub beyond: f64,
}

impl Integrals {
    /// Over as much of some stretches as gives a speed (m/s); the last stretch goes on as long as it must, as if it had propellant.
    pub fn of(stretches: &[Stretch], speed: f64) -> Integrals {
        let mut sums = Integrals::default();
        let mut wanted = speed;
        for (index, stretch) in stretches.iter().enumerate() {
            let last = index + 1 == stretches.len();
            let ends = last || wanted <= stretch.speed();
            let time = if ends { stretch.time_for(wanted) } else { stretch.duration };
            sums.append(stretch, time);
            wanted -= stretch.speed();
            if ends {
                sums.beyond = (time - stretch.duration).max(0.0);
                break;
            }
        }
        sums
    }

    /// Adds a stretch of this length, s.
    fn append(&mut self, stretch: &Stretch, time: f64) {
        let before = self.time;
        let speed = stretch.speed_in(time);
        let (moment, distance, distance_moment);
        if stretch.held {
            moment = 0.5 * speed * time;
            distance = moment;
            distance_moment = distance * (time / 3.0 + before);
        } else {
            let whole = stretch.whole();
            moment = whole * speed - stretch.exhaust_speed * time;
            distance = time * speed - moment;
            distance_moment = distance * (whole + before) - 0.5 * stretch.exhaust_speed * time * time;
        }
        self.distance += distance + self.speed * time;
        self.distance_moment += distance_moment + self.moment * time;
        self.moment += moment + speed * before;
        self.speed += speed;
        self.time += time;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn integrals_are_those_of_fine_sums() {
        let stretches = [
            Stretch { exhaust_speed: 3000.0, acceleration: 12.0, duration: 120.0, held: false },
            Stretch { exhaust_speed: 3000.0, acceleration: 23.0, duration: 40.0, held: true },
            Stretch { exhaust_speed: 4400.0, acceleration: 5.0, duration: 600.0, held: false },
        ];
        let wanted = 5000.0;
        let found = Integrals::of(&stretches, wanted);
        let n = 400_000;
        let step = found.time / f64::from(n);
        let (mut l, mut j, mut s, mut q) = (0.0, 0.0, 0.0, 0.0);
        for k in 0..n {
            let t = (f64::from(k) + 0.5) * step;
            let (mut since, mut at) = (t, stretches[0]);
            for stretch in stretches {
                at = stretch;
                if since <= stretch.duration {
                    break;
                }
                since -= stretch.duration;
            }
            let a = at.acceleration_at(since);
            s += l * step + 0.5 * a * step * step;
            q += j * step + 0.5 * a * t * step * step;
            l += a * step;
            j += a * t * step;
        }
        // Middle rule over jumps: one step's worth of the sums, 1e-6 of them.
        assert!((l / found.speed - 1.0).abs() < 1e-5 && (found.speed - wanted).abs() < 1e-8);
        assert!((j / found.moment - 1.0).abs() < 1e-5 && (s / found.distance - 1.0).abs() < 1e-5);
        assert!((q / found.distance_moment - 1.0).abs() < 1e-5);
        assert_eq!(found.beyond, 0.0);
    }

    #[test]
    fn a_burn_ends_in_the_stretch_that_suffices() {
        let one = Stretch { exhaust_speed: 3000.0, acceleration: 10.0, duration: 100.0, held: false };
        let two = Stretch { exhaust_speed: 4000.0, acceleration: 5.0, duration: 10.0, held: false };
        let first = Integrals::of(&[one, two], 100.0);
        assert!(first.time < 10.0 && first.beyond == 0.0);
        let far = Integrals::of(&[one, two], 3000.0);
        assert!(far.beyond > 0.0 && (far.time - 110.0 - far.beyond).abs() < 1e-9);
    }
}
