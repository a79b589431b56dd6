//! Through the air: vertical rise, pitch-over, gravity turn.

use super::flight::{Ended, Flight};
use super::{AscentError, azimuth};
use crate::motion::Crossing;
use crate::motion::force::{Attitude, Quantity, Stop};
use crate::vector::Vec3;

/// Times of the climb's phases that are never reached by what can fly, s.
const LONGEST: f64 = 3000.0;

/// How often it is looked whether the gravity turn still rises, s.
const LOOK: f64 = 10.0;

/// What steers the climb.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Programme {
    /// Way to pitch over, rad clockwise from north.
    pub heading: f64,
    /// Angle from the vertical, rad.
    pub kick: f64,
    /// Pitch as a broken line in time, instead of the gravity turn: (s after lift-off, angle from the vertical of the ground, rad).
    pub pitch: Option<Vec<(f64, f64)>>,
}

impl Flight<'_> {
    /// From the ground until the air is thin.
    ///
    /// - `north`: the body's pole, unit.
    pub(super) fn climb(&mut self, programme: &Programme, north: &Vec3) -> Result<(), AscentError> {
        self.note("lift-off");
        let rise = [Stop::ending(Quantity::AirSpeed(self.settings.rise_speed), Crossing::Rising)];
        if self.burn(Attitude::Up, LONGEST, &rise)? == Ended::Dry {
            return Err(self.dry(0.0));
        }
        if self.around.layers().is_empty() {
            // Nothing to turn through: steering begins at once.
            return Ok(());
        }
        self.note("pitch-over");
        let up = self.around.up(&self.state().position);
        let Some(ahead) = azimuth::heading(&up, north, programme.heading) else {
            return Err(AscentError::BadOption { what: "the heading", value: programme.heading, needs: "a direction" });
        };
        let (sin, cos) = programme.kick.sin_cos();
        let from = up * cos + ahead * sin;
        let turning = Attitude::Turning { from, rate: self.around.turning.cross(&from), since: self.time() };
        // With thrust held at an angle, the velocity that was vertical lies along it after v/g, whatever the thrust.
        let gravity = self.around.gravity.gm() / self.state().position.norm_squared();
        let until = self.time() + self.air_velocity().norm() / gravity;
        if self.burn(turning, until, &[])? == Ended::Dry {
            return Err(self.dry(0.0));
        }
        match &programme.pitch {
            None => self.gravity_turn(),
            Some(pitch) => self.pitched(pitch, north, programme.heading),
        }
    }

    /// Along the velocity through the air until it is thin.
    fn gravity_turn(&mut self) -> Result<(), AscentError> {
        self.note("gravity turn");
        let stops = [
            Stop::ending(Quantity::DynamicPressure(self.settings.thin_air), Crossing::Falling),
            Stop::ending(Quantity::Height(self.thin_height()), Crossing::Rising),
        ];
        loop {
            match self.burn(Attitude::AlongAir { sign: 1.0 }, self.time() + LOOK, &stops)? {
                Ended::Stop(_) => return Ok(()),
                Ended::Dry => return Err(self.dry(0.0)),
                Ended::Time => self.check_rising()?,
            }
        }
    }

    /// By a programme of pitch: straight in the angle between its corners, in the plane of the heading.
    fn pitched(&mut self, pitch: &[(f64, f64)], north: &Vec3, heading: f64) -> Result<(), AscentError> {
        self.note("pitch programme");
        let stops = [
            Stop::ending(Quantity::DynamicPressure(self.settings.thin_air), Crossing::Falling),
            Stop::ending(Quantity::Height(self.thin_height()), Crossing::Rising),
        ];
        for corner in pitch.windows(2) {
            let [(_, first), (end, last)] = [corner[0], corner[1]];
            if end <= self.time() {
                continue;
            }
            let span = end - self.time();
            let up = self.around.up(&self.state().position);
            let Some(ahead) = azimuth::heading(&up, north, heading) else { continue };
            let direction = |angle: f64| up * angle.cos() + ahead * angle.sin();
            // The chord between both directions, with the ground's own turn.
            let (from, to) = (direction(first), direction(last));
            let middle = (from + to) * 0.5;
            let rate = (to - from) / span + self.around.turning.cross(&middle);
            let attitude = Attitude::Turning { from, rate, since: self.time() };
            match self.burn(attitude, end, &stops)? {
                Ended::Stop(_) => return Ok(()),
                Ended::Dry => return Err(self.dry(0.0)),
                Ended::Time => self.check_rising()?,
            }
        }
        Ok(())
    }

    /// Height at which even orbital speed makes no more dynamic pressure than thin air has, m.
    pub(super) fn thin_height(&self) -> f64 {
        let radius = self.state().position.norm();
        let circular = self.around.gravity.gm() / radius;
        let thin = |height: f64| 0.5 * self.around.density(height) * circular < self.settings.thin_air;
        let (mut low, mut high) = (0.0, self.around.ceiling().unwrap_or(0.0));
        // To a metre or so of any air: forty halvings.
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if thin(middle) {
                high = middle;
            } else {
                low = middle;
            }
        }
        high
    }

    pub(super) fn check_rising(&self) -> Result<(), AscentError> {
        let state = self.state();
        if state.velocity.dot(&self.around.up(&state.position)) > 0.0 {
            Ok(())
        } else {
            Err(AscentError::FellBack { time_s: self.time(), height_m: self.height() })
        }
    }

    /// The refusal of a flight whose propellant is burned, with `missing` m/s still to give.
    pub(super) fn dry(&self, missing: f64) -> AscentError {
        AscentError::OutOfPropellant {
            vehicle: self.name().to_owned(),
            time_s: self.time(),
            height_m: self.height(),
            speed_m_s: self.state().speed(),
            missing_m_s: missing,
        }
    }
}
