//! Out of the air: closed-loop steering to a cut-off, coast, closing burn.

use super::flight::{Ended, Flight};
use super::guidance::{Cutoff, Guidance};
use super::stretch::Integrals;
use super::{AscentError, Target};
use crate::motion::Crossing;
use crate::motion::force::{Attitude, Quantity, Stop};
use crate::vector::Vec3;

/// Cycles take this share of the time left.
const SHARE: f64 = 0.04;
/// Shortest cycle, s.
const SHORTEST: f64 = 0.5;
/// Time left at which the last command is kept until cut-off, s: the law's turn grows beyond measure as nothing is left to steer with.
const KEPT: f64 = 4.0;
/// Passes after which a law that has not settled will not, from a first guess.
const PASSES: usize = 80;
/// Longest burn that counts as an ascent, s.
const LONGEST: f64 = 20_000.0;
/// Miss of a cut-off's distance as a share of it, and of its path angle, rad, beyond which the law has not steered to it.
const NEAR_RADIUS: f64 = 3e-4;
const NEAR_ANGLE: f64 = 3e-3;
/// Closing burns up to this length are along the velocity, s: they end level to some ten metres.
const SHORT: f64 = 20.0;
/// Miss of the coast's apoapsis that is not worth another flight, m.
const NEAR: f64 = 20.0;

impl Flight<'_> {
    /// Steers to a cut-off, and cuts off at its energy.
    pub(super) fn steer(&mut self, cutoff: &Cutoff) -> Result<(), AscentError> {
        self.note("steering to the orbit");
        let gm = self.around.gravity.gm();
        let mut guidance = Guidance::new(gm, &self.state(), &self.foreseen(), cutoff);
        let mut command = guidance.settled(&self.state(), &self.foreseen(), cutoff, PASSES);
        let begun = self.time();
        let energy = 0.5 * cutoff.speed * cutoff.speed - gm / cutoff.radius;
        let end = [Stop::ending(Quantity::Energy(energy), Crossing::Rising)];
        loop {
            let Some(now) = command else { return Err(self.lost()) };
            if self.time() - begun > LONGEST {
                return Err(self.lost());
            }
            let since = self.time();
            let attitude = Attitude::Turning { from: now.from, rate: now.rate, since };
            let last = now.left <= KEPT;
            let span = if last { 3.0 * now.left + 20.0 } else { (SHARE * now.left).max(SHORTEST).min(now.left) };
            let before = self.ideal;
            match self.burn(attitude, since + span, &end)? {
                Ended::Stop(_) => break,
                Ended::Dry => return Err(self.dry(now.speed - (self.ideal - before))),
                Ended::Time if last => return Err(self.lost()),
                Ended::Time => {}
            }
            if self.height() < 0.0 {
                return Err(AscentError::FellBack { time_s: self.time(), height_m: self.height() });
            }
            let given = self.ideal - before;
            let middle = now.from + now.rate * (0.5 * (self.time() - since));
            guidance.gained(&(middle * (given / middle.norm())), self.time() - since);
            command = guidance.cycle(&self.state(), &self.foreseen(), cutoff);
        }
        self.note("cut-off");
        // The energy alone is met by many a path that is none: place and direction must be, too.
        let state = self.state();
        let angle = state.velocity.dot(&state.position) / (state.speed() * state.radius());
        let off = (state.radius() / cutoff.radius - 1.0).abs();
        if off < NEAR_RADIUS && (angle - cutoff.path_angle.sin()).abs() < NEAR_ANGLE {
            Ok(())
        } else {
            Err(self.lost())
        }
    }

    fn lost(&self) -> AscentError {
        AscentError::NoSteering { time_s: self.time(), height_m: self.height(), speed_m_s: self.state().speed() }
    }

    /// Straight to the target's periapsis.
    pub(super) fn insert(&mut self, target: &Target, normal: &Vec3) -> Result<(), AscentError> {
        let speed = target.speed(self.around.gravity.gm(), target.periapsis);
        self.steer(&Cutoff { radius: target.periapsis, speed, path_angle: 0.0, normal: *normal })
    }

    /// To a cut-off at a distance `low` (m), a coast to the target's apoapsis, and the closing burn there.
    pub(super) fn insert_by_coast(&mut self, target: &Target, normal: &Vec3, low: f64) -> Result<(), AscentError> {
        let gm = self.around.gravity.gm();
        let begin = self.clone();
        let mut aim = target.apoapsis;
        // What the air takes from the apoapsis on the way is given before the coast.
        for _ in 0..6 {
            let speed = (2.0 * gm * (1.0 / low - 1.0 / (low + aim))).max(0.0).sqrt();
            self.steer(&Cutoff { radius: low, speed, path_angle: 0.0, normal: *normal })?;
            let cut = self.clone();
            let top = self.coast_up()?;
            let miss = target.apoapsis - top;
            if miss.abs() < NEAR {
                *self = cut;
                return self.close(target, top);
            }
            aim += miss;
            *self = begin.clone();
        }
        Err(self.lost())
    }

    /// Along the velocity through the air until the apoapsis is high enough, a coast there, and the closing burn: what suits a craft of little thrust, whose
    /// burn would be too short of time to end level. The plane is the one that it comes to fly in.
    pub(super) fn insert_by_turn(&mut self, target: &Target) -> Result<(), AscentError> {
        let begin = self.clone();
        let mut aim = target.apoapsis;
        for _ in 0..6 {
            self.note("along the velocity");
            let high = [Stop::ending(Quantity::ApoapsisRadius(aim), Crossing::Rising)];
            loop {
                match self.burn(Attitude::Along { sign: 1.0 }, self.time() + 10.0, &high)? {
                    Ended::Stop(_) => break,
                    Ended::Dry => return Err(self.dry(0.0)),
                    Ended::Time => self.check_rising()?,
                }
            }
            self.note("cut-off");
            let cut = self.clone();
            let top = self.coast_up()?;
            let miss = target.apoapsis - top;
            if miss.abs() < NEAR {
                *self = cut;
                return self.close(target, top);
            }
            aim += miss;
            *self = begin.clone();
        }
        Err(self.lost())
    }

    /// Coasts to the next apoapsis from where it rises already; tells how far from the centre it is, m.
    fn coast_up(&mut self) -> Result<f64, AscentError> {
        let turn = [
            Stop::ending(Quantity::RadialSpeed(0.0), Crossing::Falling),
            Stop::ending(Quantity::Height(0.0), Crossing::Falling),
        ];
        let gm = self.around.gravity.gm();
        let state = self.state();
        let size = 1.0 / (2.0 / state.radius() - state.velocity.norm_squared() / gm);
        let period = std::f64::consts::TAU * (size * size * size / gm).sqrt();
        if !period.is_finite() {
            return Err(self.lost());
        }
        // Near a periapsis the radial speed is anything about zero: first well away from it.
        if state.velocity.dot(&state.position) < 1e-2 * state.speed() * state.radius() {
            self.coast(self.time() + 0.02 * period, &[])?;
        }
        if self.coast(self.time() + period, &turn)? != Some(0) {
            return Err(AscentError::FellBack { time_s: self.time(), height_m: self.height() });
        }
        Ok(self.state().radius())
    }

    /// Coasts until the closing burn is centred on the apoapsis at a distance `top` (m), and burns along the velocity to the target's energy.
    fn close(&mut self, target: &Target, top: f64) -> Result<(), AscentError> {
        let gm = self.around.gravity.gm();
        let mut ahead = self.clone();
        ahead.coast_up()?;
        let gain = (target.speed(gm, top) - ahead.state().speed()).max(0.0);
        let energy = [Stop::ending(Quantity::Energy(target.energy(gm)), Crossing::Rising)];
        let length = Integrals::of(&ahead.foreseen(), gain).time;
        let start = (ahead.time() - 0.5 * length).max(self.time());
        self.relight()?;
        self.note("coast");
        self.open("coast");
        self.coast(start, &[])?;
        self.note("closing burn");
        self.open("closing burn");
        if length > SHORT {
            // Long beside the way to the apoapsis: steered, so that it ends level there.
            let normal = crate::frame::unit(&self.state().position.cross(&self.state().velocity));
            let Some(normal) = normal else { return Err(self.lost()) };
            let speed = target.speed(gm, top);
            return self.steer(&Cutoff { radius: top, speed, path_angle: 0.0, normal });
        }
        let before = self.ideal;
        match self.burn(Attitude::Along { sign: 1.0 }, start + 4.0 * length + 60.0, &energy)? {
            Ended::Stop(_) => {
                self.note("orbit");
                Ok(())
            }
            Ended::Dry => Err(self.dry(gain - (self.ideal - before))),
            Ended::Time => Err(self.lost()),
        }
    }
}
