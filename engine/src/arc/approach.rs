//! Approach to a body on a hyperbola: the B-plane, and the hyperbola that an aim in it stands for.
//!
//! S is the direction of motion along the incoming asymptote, T = S × k with k a chosen pole, R = S × T; the aim B leads from
//! the centre to the asymptote, square to it. [Kizner1961]

use crate::conic::{ConicError, State, hyperbola};
use crate::vector::Vec3;
use thiserror::Error;

/// Why an approach has no B-plane or no hyperbola.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ApproachError {
    /// The pole lies along the asymptote, so that T has no direction.
    #[error("the pole lies along the asymptote (sine {sine:e}): the B-plane has no T axis, choose another pole")]
    PoleAlongAsymptote {
        /// Sine of the angle between the two.
        sine: f64,
    },
    /// The orbit never leaves: it has no asymptote.
    #[error("the orbit is bound (energy {energy_m2_s2} m²/s²): it has no asymptote")]
    Bound {
        /// Energy per mass, m²/s².
        energy_m2_s2: f64,
    },
    /// Refused by the conic below.
    #[error(transparent)]
    Conic(#[from] ConicError),
}

/// The axes of a B-plane, as unit vectors of the inertial axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BPlaneAxes {
    /// Along the motion on the incoming asymptote.
    pub s: Vec3,
    /// S × k, normalised.
    pub t: Vec3,
    /// S × T.
    pub r: Vec3,
}

impl BPlaneAxes {
    /// The axes for an excess velocity (m/s, incoming) and a pole k (any length), both in the same inertial axes.
    ///
    /// # Errors
    /// No excess speed; a pole along the asymptote.
    pub fn new(v_infinity: &Vec3, pole: &Vec3) -> Result<BPlaneAxes, ApproachError> {
        let speed = v_infinity.norm();
        if !(speed > 0.0 && speed.is_finite()) {
            return Err(ConicError::Asymptote { v_infinity_m_s: speed, aim_m: 0.0 }.into());
        }
        let s = v_infinity / speed;
        let t = s.cross(pole);
        let sine = t.norm() / pole.norm();
        // Below this the rounding of the inputs turns T by more than a micro-radian.
        if !(sine > 1e-10) {
            return Err(ApproachError::PoleAlongAsymptote { sine });
        }
        let t = t.normalize();
        Ok(BPlaneAxes { s, t, r: s.cross(&t) })
    }

    /// The aim vector (m) with components `dot_t` and `dot_r` (m).
    pub fn aim(&self, dot_t: f64, dot_r: f64) -> Vec3 {
        self.t * dot_t + self.r * dot_r
    }
}

/// An approach: excess velocity and aim, and the aim's components in the B-plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Approach {
    /// Incoming excess velocity, m/s.
    pub v_infinity: Vec3,
    /// B, m, square to `v_infinity`.
    pub aim: Vec3,
    /// The B-plane's axes.
    pub axes: BPlaneAxes,
    /// B·T, m.
    pub dot_t: f64,
    /// B·R, m.
    pub dot_r: f64,
}

impl Approach {
    /// From excess velocity (m/s) and aim (m; its part along the velocity is dropped), with the pole k of the B-plane.
    ///
    /// # Errors
    /// As [`BPlaneAxes::new`].
    pub fn new(v_infinity: &Vec3, aim: &Vec3, pole: &Vec3) -> Result<Approach, ApproachError> {
        let axes = BPlaneAxes::new(v_infinity, pole)?;
        Ok(Self::in_axes(v_infinity, axes, aim.dot(&axes.t), aim.dot(&axes.r)))
    }

    /// From the components of the aim, m.
    ///
    /// # Errors
    /// As [`BPlaneAxes::new`].
    pub fn from_components(v_infinity: &Vec3, dot_t: f64, dot_r: f64, pole: &Vec3) -> Result<Approach, ApproachError> {
        Ok(Self::in_axes(v_infinity, BPlaneAxes::new(v_infinity, pole)?, dot_t, dot_r))
    }

    /// From the periapsis radius (m) about a centre of `gm` (m³/s²) and the angle of the aim from T towards R (rad).
    ///
    /// # Errors
    /// As [`BPlaneAxes::new`]; a radius not above zero.
    ///
    /// # Source
    /// [Battin1999], section 3.6: b² = rp² + 2 rp gm/v².
    pub fn low_point(
        gm: f64,
        v_infinity: &Vec3,
        periapsis_radius: f64,
        angle: f64,
        pole: &Vec3,
    ) -> Result<Approach, ApproachError> {
        let axes = BPlaneAxes::new(v_infinity, pole)?;
        let distance = super::flyby::aim_radius(gm, v_infinity.norm(), periapsis_radius)
            .map_err(|_| ConicError::Asymptote { v_infinity_m_s: v_infinity.norm(), aim_m: periapsis_radius })?;
        let (sine, cosine) = angle.sin_cos();
        Ok(Self::in_axes(v_infinity, axes, distance * cosine, distance * sine))
    }

    /// From a state (m, m/s) on the hyperbola about a centre of `gm` (m³/s²), before or after periapsis.
    ///
    /// # Errors
    /// A bound orbit; as [`BPlaneAxes::new`].
    pub fn from_state(gm: f64, state: &State, pole: &Vec3) -> Result<Approach, ApproachError> {
        state.checked(gm)?;
        let asymptote = hyperbola::incoming(gm, state)
            .ok_or_else(|| ApproachError::Bound { energy_m2_s2: crate::conic::energy(gm, state) })?;
        Self::new(&asymptote.v_infinity, &asymptote.aim, pole)
    }

    fn in_axes(v_infinity: &Vec3, axes: BPlaneAxes, dot_t: f64, dot_r: f64) -> Approach {
        Approach { v_infinity: *v_infinity, aim: axes.aim(dot_t, dot_r), axes, dot_t, dot_r }
    }

    /// Distance of the asymptote from the centre, m.
    pub fn aim_radius(&self) -> f64 {
        self.dot_t.hypot(self.dot_r)
    }

    /// Angle of the aim from T towards R, rad, −π to π.
    pub fn angle(&self) -> f64 {
        self.dot_r.atan2(self.dot_t)
    }

    /// The hyperbola about a centre of `gm` (m³/s²).
    ///
    /// # Errors
    /// A bad gravitational parameter; an aim through the centre.
    ///
    /// # Source
    /// [Battin1999], section 3.6.
    pub fn hyperbola(&self, gm: f64) -> Result<Hyperbola, ApproachError> {
        let at_periapsis = hyperbola::at_periapsis(gm, self.v_infinity, self.aim)?;
        let speed = self.v_infinity.norm();
        let slope = self.aim_radius() * speed * speed / gm;
        let eccentricity = slope.hypot(1.0);
        // Turning by δ with tan(δ/2) = gm/(b v²): cosine and sine as fractions of e².
        let toward = self.aim / self.aim_radius();
        let (cosine, sine) = (1.0 - 2.0 / (eccentricity * eccentricity), 2.0 * slope / (eccentricity * eccentricity));
        Ok(Hyperbola {
            eccentricity,
            semi_major_axis: -gm / (speed * speed),
            periapsis_radius: at_periapsis.radius(),
            turn_angle: 2.0 * 1.0_f64.atan2(slope),
            at_periapsis,
            v_infinity_out: (self.axes.s * cosine - toward * sine) * speed,
        })
    }
}

/// The hyperbola of an approach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hyperbola {
    /// Above 1.
    pub eccentricity: f64,
    /// m, negative.
    pub semi_major_axis: f64,
    /// m from the centre.
    pub periapsis_radius: f64,
    /// Angle between incoming and outgoing asymptote, rad.
    pub turn_angle: f64,
    /// State at periapsis, m and m/s.
    pub at_periapsis: State,
    /// Excess velocity on the way out, m/s.
    pub v_infinity_out: Vec3,
}

impl Hyperbola {
    /// Height of the periapsis above a ground of some radius, m.
    pub fn altitude_above(&self, ground: f64) -> f64 {
        self.periapsis_radius - ground
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GM: f64 = 3.986e14;

    #[test]
    fn state_gives_back_the_components() {
        let (v, pole) = (Vec3::new(3000.0, -2000.0, 800.0), Vec3::new(0.1, 0.2, 1.0));
        let approach = Approach::from_components(&v, -1.2e7, 0.9e7, &pole).unwrap();
        let state = approach.hyperbola(GM).unwrap().at_periapsis;
        for time in [-5000.0, 0.0, 700.0] {
            let moved = crate::conic::propagate(GM, &state, time).unwrap();
            let back = Approach::from_state(GM, &moved, &pole).unwrap();
            assert!((back.aim - approach.aim).norm() < 1e-11 * approach.aim_radius(), "{time}");
        }
    }

    #[test]
    fn no_axes_for_a_pole_along_the_motion() {
        let z = Vec3::new(0.0, 0.0, 1.0);
        assert!(matches!(BPlaneAxes::new(&z, &z), Err(ApproachError::PoleAlongAsymptote { .. })));
        let bound = State::new(Vec3::new(7e6, 0.0, 0.0), Vec3::new(0.0, 7e3, 0.0));
        assert!(matches!(Approach::from_state(GM, &bound, &z), Err(ApproachError::Bound { .. })));
    }
}
