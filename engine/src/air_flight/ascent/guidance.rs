//! Closed-loop steering to an orbit: the thrust's direction falls along unit(λ + λ̇ t), and both vectors are found anew each cycle from what is left to gain.
//!
//! The law is powered explicit guidance: the velocity to be gained gives λ and the time left; the place to be reached gives λ̇; thrust and gravity are
//! integrated over the burn to come, and what the integrals miss is brought into the velocity to be gained for the next cycle. The integrals of thrust
//! are taken by quadrature along the law's own directions, not by its expansion for small angles, and those of gravity on a conic that keeps near the
//! powered path, as the source has it. The distance flown along the orbit is free: where the source then turns λ̇ across λ, here it is turned across the
//! motion at the end, which is the condition of least time over flat ground and settles from farther off.

use super::stretch::{Integrals, Stretch};
use crate::conic::{State, propagate};
use crate::vector::Vec3;

/// Where the burn is to end: distance, speed and path angle in a plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cutoff {
    /// Distance from the centre, m.
    pub radius: f64,
    /// m/s, inertial.
    pub speed: f64,
    /// Angle of the velocity above the horizon, rad.
    pub path_angle: f64,
    /// Unit vector of the orbit's angular momentum, inertial.
    pub normal: Vec3,
}

/// The law's memory from cycle to cycle.
#[derive(Debug, Clone, PartialEq)]
pub struct Guidance {
    gm: f64,
    /// Velocity to be gained by thrust, m/s.
    to_gain: Vec3,
    /// Displacement by gravity over the burn to come, m.
    fall: Vec3,
    /// Displacement by thrust that the quadrature found less than the law's integrals, m.
    bias: Vec3,
    /// Where the burn was foreseen to end, m.
    end: Vec3,
    /// Along the motion at the end, unit.
    ahead: Vec3,
    /// Time left of the burn, s; zero before the first cycle.
    left: f64,
}

/// What one cycle commands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Command {
    /// Thrust along unit(`from` + `rate` t), t counted from the cycle.
    pub from: Vec3,
    /// 1/s.
    pub rate: Vec3,
    /// Time left of the burn, s.
    pub left: f64,
    /// Speed that is still to be gained by thrust, m/s.
    pub speed: f64,
    /// How much longer the burn would have to be than the propellant lasts, s.
    pub beyond: f64,
}

/// Nodes and weights of Gauss–Legendre quadrature over (0, 1), 6 places. [Abramowitz1964], table 25.4.
const QUADRATURE: [(f64, f64); 6] = [
    (0.033_765_242_898_423_99, 0.085_662_246_189_585_17),
    (0.169_395_306_766_867_73, 0.180_380_786_524_069_3),
    (0.380_690_406_958_401_55, 0.233_956_967_286_345_52),
    (0.619_309_593_041_598_5, 0.233_956_967_286_345_52),
    (0.830_604_693_233_132_3, 0.180_380_786_524_069_3),
    (0.966_234_757_101_576, 0.085_662_246_189_585_17),
];

impl Guidance {
    /// The law before its first cycle, for a craft in a state about a centre of `gm` (m³/s²), with what it has to burn.
    pub fn new(gm: f64, state: &State, stretches: &[Stretch], cutoff: &Cutoff) -> Guidance {
        // A first guess: the way flown at the mean of both speeds. The law does not depend on it beyond the first few passes.
        let up = level(&state.position, &cutoff.normal).unwrap_or_else(|| state.position / state.radius());
        let along = cutoff.normal.cross(&up);
        let time = Integrals::of(stretches, (along * cutoff.speed - state.velocity).norm()).time;
        let way = 0.5 * (state.velocity.dot(&along) + cutoff.speed) * time / cutoff.radius;
        let (sin, cos) = way.clamp(0.0, 1.0).sin_cos();
        let (place, ahead) = (up * cos + along * sin, along * cos - up * sin);
        let velocity =
            ahead * (cutoff.speed * cutoff.path_angle.cos()) + place * (cutoff.speed * cutoff.path_angle.sin());
        Guidance {
            gm,
            to_gain: velocity - state.velocity,
            fall: Vec3::zeros(),
            bias: Vec3::zeros(),
            end: place * cutoff.radius,
            ahead,
            left: 0.0,
        }
    }

    /// Takes off what thrust has given since the last cycle: a change of velocity, m/s, over a time, s.
    pub fn gained(&mut self, change: &Vec3, time: f64) {
        self.to_gain -= change;
        let left = (self.left - time).max(0.0);
        self.left = left.max(1e-3);
    }

    /// Passes until the time left settles, at most `most`; `None` if it does not.
    ///
    /// - `stretches`: what burns from now on.
    pub fn settled(&mut self, state: &State, stretches: &[Stretch], cutoff: &Cutoff, most: usize) -> Option<Command> {
        let mut before = f64::INFINITY;
        for _ in 0..most {
            let command = self.pass(state, stretches, cutoff)?;
            if (command.left - before).abs() < 1e-6 * command.left + 1e-6 {
                return Some(command);
            }
            before = command.left;
        }
        None
    }

    /// The command for the next cycle: a few passes, so that what the law remembers keeps up with the burn that grows shorter. With one pass a cycle it
    /// trails behind and loses some 3e-4 of the time.
    pub fn cycle(&mut self, state: &State, stretches: &[Stretch], cutoff: &Cutoff) -> Option<Command> {
        self.pass(state, stretches, cutoff)?;
        self.pass(state, stretches, cutoff)?;
        self.pass(state, stretches, cutoff)
    }

    /// One pass of the law: a command from the state now, and the velocity to be gained for the next. `None` where no finite command comes out.
    ///
    /// # Source
    /// [McHenry1979].
    pub fn pass(&mut self, state: &State, stretches: &[Stretch], cutoff: &Cutoff) -> Option<Command> {
        let wanted = self.to_gain.norm();
        if !(wanted > 0.0 && wanted.is_finite()) || stretches.is_empty() {
            return None;
        }
        let sums = Integrals::of(stretches, wanted);
        let direction = self.to_gain / wanted;
        let time = sums.time;
        // The fall grows with the square of the time left; before the first pass it is that at the start.
        if self.left > 0.0 {
            let share = time / self.left;
            self.fall *= share * share;
        } else {
            self.fall = state.position * (-0.5 * self.gm / state.radius().powi(3) * time * time);
        }
        self.left = time;
        // How the direction must turn for the place. The distance flown is free, so λ̇ has no part along the motion at the end: then no other end along the
        // orbit is cheaper, as over flat ground.
        let centre = sums.moment / sums.speed;
        let lever = sums.distance_moment - sums.distance * centre;
        let mut to_go = self.end - (state.position + state.velocity * time + self.fall) + self.bias;
        to_go += self.ahead * (sums.distance * direction.dot(&self.ahead) - self.ahead.dot(&to_go));
        let mut rate = (to_go - direction * sums.distance) / lever;
        // A turn of more than a few quarters over the burn is no steering any more but a guess that has not settled.
        let most = 4.0 / time.max(1e-3);
        if rate.norm() > most {
            rate *= most / rate.norm();
        }
        let (gain, gone) = along_law(stretches, time, &direction, &rate, centre);
        self.bias = to_go - gone;
        let missing = self.to_gain - gain;
        // Gravity, on a conic that begins beside the craft and keeps near the powered path.
        let beside = state.position - gone * 0.1 - gain * (time / 30.0);
        let drifting = state.velocity + gone * (1.2 / time) - gain * 0.1;
        let after = propagate(self.gm, &State::new(beside, drifting), time).ok()?;
        let pull = after.velocity - drifting;
        self.fall = after.position - beside - drifting * time;
        // Where and how fast the burn is to end.
        let foreseen = state.position + state.velocity * time + self.fall + gone;
        let up = level(&foreseen, &cutoff.normal)?;
        self.end = up * cutoff.radius;
        self.ahead = cutoff.normal.cross(&up);
        let (sin, cos) = cutoff.path_angle.sin_cos();
        let velocity = (self.ahead * cos + up * sin) * cutoff.speed;
        self.to_gain = velocity - state.velocity - pull + missing;
        let command = Command { from: direction - rate * centre, rate, left: time, speed: wanted, beyond: sums.beyond };
        let finite = command.from.iter().chain(command.rate.iter()).all(|x| x.is_finite()) && time.is_finite();
        finite.then_some(command)
    }
}

/// Unit vector of a place brought into a plane.
fn level(place: &Vec3, normal: &Vec3) -> Option<Vec3> {
    crate::frame::unit(&(place - normal * normal.dot(place)))
}

/// Velocity (m/s) and displacement (m) that thrust gives over the burn, along unit(λ + λ̇ (t − centre)).
fn along_law(stretches: &[Stretch], time: f64, direction: &Vec3, rate: &Vec3, centre: f64) -> (Vec3, Vec3) {
    let (mut gain, mut gone) = (Vec3::zeros(), Vec3::zeros());
    let mut begun = 0.0;
    for (index, stretch) in stretches.iter().enumerate() {
        let last = index + 1 == stretches.len();
        let length = if last { time - begun } else { stretch.duration.min(time - begun) };
        if length <= 0.0 {
            break;
        }
        for (share, weight) in QUADRATURE {
            let since = share * length;
            let at = begun + since;
            let law = direction + rate * (at - centre);
            let size = stretch.acceleration_at(since) * weight * length / law.norm();
            gain += law * size;
            gone += law * (size * (time - at));
        }
        begun += length;
    }
    (gain, gone)
}

#[cfg(test)]
mod tests {
    use super::super::linear_tangent::{FlatTask, LinearTangent};
    use super::*;

    /// Flies the law in small steps about a point mass, and tells the time, the end and the craft's ideal speed spent.
    fn flown(gm: f64, mut state: State, stretch: Stretch, cutoff: &Cutoff) -> (f64, State) {
        let mut stretch = stretch;
        let mut guidance = Guidance::new(gm, &state, &[stretch], cutoff);
        let mut command = guidance.settled(&state, &[stretch], cutoff, 60).expect("it settles");
        let mut time = 0.0;
        while command.left > 0.5 {
            // Whole cycles of a second and a last one; each in steps of the classical fourth order.
            let span = if command.left > 8.0 { 1.0 } else { command.left };
            let force = |t: f64, s: &State| {
                let law = command.from + command.rate * t;
                law * (stretch.acceleration_at(t) / law.norm()) - s.position * (gm / s.radius().powi(3))
            };
            let steps = 4 * span.ceil() as usize;
            let h = span / steps as f64;
            let mut given = Vec3::zeros();
            for k in 0..steps {
                let t = k as f64 * h;
                let at = |s: &State, k: &State, share: f64| {
                    State::new(s.position + k.position * share, s.velocity + k.velocity * share)
                };
                let rate = |t: f64, s: &State| State::new(s.velocity, force(t, s));
                let k1 = rate(t, &state);
                let k2 = rate(t + 0.5 * h, &at(&state, &k1, 0.5 * h));
                let k3 = rate(t + 0.5 * h, &at(&state, &k2, 0.5 * h));
                let k4 = rate(t + h, &at(&state, &k3, h));
                let law = command.from + command.rate * (t + 0.5 * h);
                given += law * (stretch.acceleration_at(t + 0.5 * h) / law.norm() * h);
                state.position += (k1.position + (k2.position + k3.position) * 2.0 + k4.position) * (h / 6.0);
                state.velocity += (k1.velocity + (k2.velocity + k3.velocity) * 2.0 + k4.velocity) * (h / 6.0);
            }
            time += span;
            stretch.acceleration = stretch.acceleration_at(span);
            stretch.duration -= span;
            guidance.gained(&given, span);
            if span < 1.0 || command.left <= 8.0 {
                break;
            }
            command = guidance.cycle(&state, &[stretch], cutoff).expect("a command");
        }
        (time, state)
    }

    #[test]
    fn over_flat_ground_the_law_is_the_linear_tangent_of_least_time() {
        // A body so large that its ground is flat: over the 350 km flown it curves by 6 m.
        let radius = 1e10;
        let gravity = 1.62;
        let gm = gravity * radius * radius;
        let task = FlatTask { acceleration: 4.5, gravity, height: 15e3, horizontal_speed: 1680.0, vertical_speed: 0.0 };
        let best = LinearTangent::of_least_time(&task).unwrap();
        let stretch = Stretch { exhaust_speed: 3000.0, acceleration: 4.5, duration: 1e4, held: true };
        let start = State::new(Vec3::new(radius, 0.0, 0.0), Vec3::zeros());
        let cutoff = Cutoff { radius: radius + 15e3, speed: 1680.0, path_angle: 0.0, normal: Vec3::z() };
        let mut law = Guidance::new(gm, &start, &[stretch], &cutoff);
        let foreseen = law.settled(&start, &[stretch], &cutoff, 60).unwrap();
        // What the ground curves away, 6 m of 15 km, is worth some 3e-3 s; the initial angle differs as little.
        assert!((foreseen.left - best.time).abs() < 5e-3, "{} against {}", foreseen.left, best.time);
        let angle = foreseen.from.x.atan2(foreseen.from.y);
        assert!((angle - best.initial_angle()).abs() < 1e-4, "{angle} against {}", best.initial_angle());
        let (time, end) = flown(gm, start, stretch, &cutoff);
        // The ground curves away by 6 m in 15 km, which is worth as much of the time (0.1 s in 400); the cycles of a second cost nothing beside it.
        assert!((time - best.time).abs() < 0.1, "{time} against {}", best.time);
        assert!((end.radius() - radius - 15e3).abs() < 10.0, "{}", end.radius() - radius);
        assert!((end.velocity - Vec3::new(0.0, 1680.0, 0.0)).norm() < 1.0, "{:?}", end.velocity);
    }

    #[test]
    fn meets_an_orbit_out_of_its_plane() {
        // Earth's upper stage: from 80 km, 4 km/s and 25 degrees up to 200 km circular, 2 degrees out of the plane.
        let gm = 3.986_004_418e14;
        let r = 6_378_137.0 + 80e3;
        let start = State::new(Vec3::new(r, 0.0, 0.0), Vec3::new(4000.0 * 0.42, 4000.0 * 0.9, 0.0));
        let tilt = 2.0_f64.to_radians();
        let goal = 6_378_137.0 + 200e3;
        let cutoff = Cutoff {
            radius: goal,
            speed: (gm / goal).sqrt(),
            path_angle: 0.0,
            normal: Vec3::new(0.0, -tilt.sin(), tilt.cos()),
        };
        let stretch = Stretch { exhaust_speed: 4400.0, acceleration: 9.0, duration: 450.0, held: false };
        let (_, end) = flown(gm, start, stretch, &cutoff);
        assert!((end.radius() - goal).abs() < 100.0, "{}", end.radius() - goal);
        assert!((end.speed() - cutoff.speed).abs() < 1.0, "{}", end.speed());
        let normal = end.position.cross(&end.velocity).normalize();
        assert!(normal.cross(&cutoff.normal).norm() < 2e-4, "{normal:?}");
    }
}
