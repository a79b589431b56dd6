//! Why no moon assist captures.

use std::fmt::Write as _;

use crate::arc::PlanError;
use crate::arc::flyby::FlybyError;
use crate::conic::ConicError;
use crate::ephemeris::EphemerisError;
use crate::orbit::OrbitError;
use crate::time::Epoch;

/// Why a moon assist was not found.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AssistError {
    /// The moon does not go round the giant.
    #[error("`{moon}` is no moon of `{giant}`")]
    NotItsMoon {
        /// Name.
        moon: String,
        /// Name.
        giant: String,
    },
    /// A bound that leaves nothing.
    #[error("{what} must lie between {least:.6e} and {greatest:.6e}, got {value:.6e}")]
    Bound {
        /// Which bound, with its unit.
        what: &'static str,
        /// As given, SI.
        value: f64,
        /// SI.
        least: f64,
        /// SI.
        greatest: f64,
    },
    /// The span of epochs ends before it begins.
    #[error("the span of epochs ends ({to}) before it begins ({from})")]
    Span {
        /// Begin.
        from: Epoch,
        /// End.
        to: Epoch,
    },
    /// No hyperbola with this asymptote meets the moon above the giant's least radius.
    #[error("no arrival at `{giant}` meets `{moon}` in the span without passing below {least_radius_m:.0} m")]
    NotMet {
        /// Name.
        giant: String,
        /// Name.
        moon: String,
        /// m.
        least_radius_m: f64,
    },
    /// One pass does not bind the craft.
    #[error("{}", .0.sentence())]
    Unbound(Box<Shortfall>),
    /// The wanted inclination is not among those of the bound orbits.
    #[error(
        "an inclination of {:.3} deg cannot be had: passes of `{moon}` that capture leave {:.3} to {:.3} deg",
        asked_rad.to_degrees(), least_rad.to_degrees(), greatest_rad.to_degrees()
    )]
    Inclination {
        /// Name.
        moon: String,
        /// rad.
        asked_rad: f64,
        /// Least that a capturing pass leaves, rad.
        least_rad: f64,
        /// Greatest, rad.
        greatest_rad: f64,
    },
    /// The search was stopped from outside.
    #[error("the search was stopped")]
    Stopped,
    /// The conic cannot.
    #[error(transparent)]
    Conic(#[from] ConicError),
    /// The pass cannot.
    #[error(transparent)]
    Flyby(#[from] FlybyError),
    /// A body's place is not known there.
    #[error(transparent)]
    Ephemeris(Box<EphemerisError>),
    /// An orbit could not be made.
    #[error(transparent)]
    Orbit(Box<OrbitError>),
    /// The way to the giant cannot be planned.
    #[error(transparent)]
    Plan(Box<PlanError>),
}

/// How far one pass is from capturing, and what else would do.
#[derive(Debug, Clone, PartialEq)]
pub struct Shortfall {
    /// The moon.
    pub moon: String,
    /// The giant.
    pub giant: String,
    /// Epoch of the best pass.
    pub epoch: Epoch,
    /// Excess speed about the giant, m/s.
    pub v_infinity: f64,
    /// Excess speed about the moon, m/s.
    pub v_infinity_moon: f64,
    /// Least radius of the pass, m.
    pub pass_radius: f64,
    /// Greatest turn there, rad.
    pub greatest_turn: f64,
    /// Energy about the giant before, m²/s².
    pub energy_before: f64,
    /// The least energy that a pass leaves, m²/s².
    pub energy_after: f64,
    /// The energy at which the apoapsis is as far out as allowed, m²/s².
    pub energy_wanted: f64,
    /// Braking that would still be needed right after the pass, m/s.
    pub missing: f64,
    /// A second moon and the energy its pass would leave, m²/s², were it at the right place in its orbit; in one plane.
    pub second_moon: Option<(String, f64)>,
    /// Braking at the giant's periapsis that captures without any moon, m/s.
    pub periapsis_burn: f64,
    /// The radius of that periapsis, m.
    pub periapsis_radius: f64,
}

impl Shortfall {
    /// Whether a second moon is enough.
    pub fn second_moon_captures(&self) -> bool {
        self.second_moon.as_ref().is_some_and(|(_, energy)| *energy <= self.energy_wanted)
    }

    fn sentence(&self) -> String {
        let km2 = 1e-6;
        let mut text = format!(
            "one pass of `{}` cannot capture at `{}`: at v-infinity {:.3} km/s it turns by at most {:.2} deg, which leaves an energy of \
             {:+.3} km²/s² (from {:+.3}) where {:+.3} is wanted; {:.1} m/s of braking are missing",
            self.moon,
            self.giant,
            self.v_infinity_moon / 1e3,
            self.greatest_turn.to_degrees(),
            self.energy_after * km2,
            self.energy_before * km2,
            self.energy_wanted * km2,
            self.missing
        );
        if let Some((moon, energy)) = &self.second_moon {
            let verdict = if self.second_moon_captures() { "enough" } else { "not enough" };
            let _ = write!(
                text,
                "; then `{moon}`, if it is at the right place, leaves {:+.3} km²/s² ({verdict})",
                energy * km2
            );
        }
        let _ = write!(
            text,
            "; a burn of {:.1} m/s at a periapsis of {:.0} km captures without a moon",
            self.periapsis_burn,
            self.periapsis_radius / 1e3
        );
        text
    }
}

impl From<EphemerisError> for AssistError {
    fn from(error: EphemerisError) -> Self {
        Self::Ephemeris(Box::new(error))
    }
}

impl From<OrbitError> for AssistError {
    fn from(error: OrbitError) -> Self {
        Self::Orbit(Box::new(error))
    }
}

impl From<PlanError> for AssistError {
    fn from(error: PlanError) -> Self {
        Self::Plan(Box::new(error))
    }
}
