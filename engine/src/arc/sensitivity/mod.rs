//! What a burn's small errors do at the arrival, and when to correct them.
//!
//! [`fine_tuning`] tells what a metre per second along each axis and a minute do to the arrival, by central differences of
//! coasts flown in the model. [`dispersion`] carries the errors of a burn to the arrival: linearly, and by a seeded sample of coasts as a check on it.
//! [`corrections`] tells what a correction costs and leaves at each date, by the state-transition matrix, and which dates together cost least.

mod corrections;
mod dispersion;

pub use corrections::{Correction, CorrectionPlan, Demand, Execution, Mapping, Programme, corrections, mapping};
pub use dispersion::{BurnErrors, Dispersion, dispersion};

use crate::arc::shoot::{Meeting, ShootError, meeting};
use crate::burn;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::{Mat3, Vec3};

/// Step of the differences in velocity, m/s: a thousandth of what the table tells, so that what is left out is a millionth of the
/// curvature's share, and far above the rounding of a coast.
pub const VELOCITY_STEP: f64 = 1e-3;
/// Step of the differences in time, s.
pub const TIME_STEP: f64 = 0.1;

/// An arrival in numbers, or a change of one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arrival {
    /// m from the centre.
    pub periapsis_radius: f64,
    /// To the target's equator, rad.
    pub inclination: f64,
    /// Time of periapsis after the nominal one, s.
    pub time: f64,
    /// B·T in the nominal axes, m.
    pub bt: f64,
    /// B·R in the nominal axes, m.
    pub br: f64,
}

impl Arrival {
    fn numbers(&self) -> [f64; 5] {
        [self.periapsis_radius, self.inclination, self.time, self.bt, self.br]
    }

    fn of(n: [f64; 5]) -> Self {
        Self { periapsis_radius: n[0], inclination: n[1], time: n[2], bt: n[3], br: n[4] }
    }
}

/// The table of fine tuning of a burn.
#[derive(Debug, Clone, PartialEq)]
pub struct Tuning {
    /// Where the burn leads; its time is 0.
    pub nominal: Arrival,
    /// When, and by what asymptote.
    pub meeting: Meeting,
    /// Change per m/s along the motion, along the angular momentum, and outward.
    pub per_speed: [Arrival; 3],
    /// Change per minute that the burn comes later, its inertial Δv kept.
    pub per_minute: Arrival,
    /// The smallest burn that moves the aim by what matters, m/s: in the direction that moves it most.
    pub smallest: f64,
}

/// A burn on an orbit and the target it leads to.
#[derive(Debug, Clone)]
pub struct Flight<'a> {
    /// The orbit before the burn, at its epoch.
    pub orbit: &'a Orbit,
    /// m/s, inertial; may be zero.
    pub dv: Vec3,
    /// The target.
    pub target: &'a Body,
    /// About when it is met.
    pub expected: Epoch,
    /// The body whose sphere the craft has just left.
    pub leaving: Option<&'a Body>,
}

impl Flight<'_> {
    /// Flies the burn with a change of Δv (m/s) and so many seconds later.
    fn fly(&self, change: &Vec3, later: f64, watch: &Watch<'_>) -> Result<Meeting, ShootError> {
        if watch.stopped() {
            return Err(ShootError::Interrupted);
        }
        let from = self.orbit.after(later)?.after_impulse(self.dv + change)?;
        meeting(&from, self.target, self.expected, self.leaving, watch)
    }

    /// The nominal flight with its axes, T and R.
    fn nominal(&self, watch: &Watch<'_>) -> Result<(Meeting, Vec3, Vec3), ShootError> {
        let met = self.fly(&Vec3::zeros(), 0.0, watch)?;
        let bound = || ShootError::Bound { body: self.target.name().to_owned() };
        let s = met.v_infinity.try_normalize(0.0).ok_or_else(bound)?;
        let across = s.cross(&self.target.pole(met.epoch));
        // Along the pole T has no direction; any fixed one serves.
        let t = across.try_normalize(1e-9).unwrap_or_else(|| s.cross(&Vec3::x()).normalize());
        Ok((met, t, s.cross(&t)))
    }
}

fn arrival(met: &Meeting, nominal: &Meeting, t: &Vec3, r: &Vec3) -> Arrival {
    Arrival {
        periapsis_radius: met.periapsis_radius(),
        inclination: met.inclination(),
        time: met.epoch.seconds_since(nominal.epoch),
        bt: met.aim.dot(t),
        br: met.aim.dot(r),
    }
}

/// Changes per m/s along three inertial or local axes (the columns of `axes`) and per second later.
fn slopes(
    flight: &Flight<'_>,
    nominal: &(Meeting, Vec3, Vec3),
    axes: &Mat3,
    watch: &Watch<'_>,
) -> Result<([Arrival; 3], Arrival), ShootError> {
    let (met, t, r) = nominal;
    let central = |change: Vec3, later: f64, step: f64| -> Result<Arrival, ShootError> {
        let up = arrival(&flight.fly(&change, later, watch)?, met, t, r).numbers();
        let down = arrival(&flight.fly(&-change, -later, watch)?, met, t, r).numbers();
        Ok(Arrival::of(std::array::from_fn(|k| (up[k] - down[k]) / (2.0 * step))))
    };
    let along = |k: usize| central(axes.column(k) * VELOCITY_STEP, 0.0, VELOCITY_STEP);
    Ok(([along(0)?, along(1)?, along(2)?], central(Vec3::zeros(), TIME_STEP, TIME_STEP)?))
}

/// What small changes of a burn do to the arrival; `matters` is the change of the aim (m) that still matters.
///
/// # Errors
/// A flight that does not come to the target; an orbit without local axes; interruption.
pub fn fine_tuning(flight: &Flight<'_>, matters: f64, watch: &Watch<'_>) -> Result<Tuning, ShootError> {
    let nominal = flight.nominal(watch)?;
    let axes = burn::axes(flight.orbit.state())?;
    let (per_speed, later) = slopes(flight, &nominal, &axes, watch)?;
    let gram = Mat3::from_fn(|i, j| per_speed[i].bt * per_speed[j].bt + per_speed[i].br * per_speed[j].br);
    let largest = gram.symmetric_eigenvalues().max().max(0.0).sqrt();
    Ok(Tuning {
        nominal: arrival(&nominal.0, &nominal.0, &nominal.1, &nominal.2),
        meeting: nominal.0,
        per_speed,
        per_minute: Arrival::of(later.numbers().map(|change| 60.0 * change)),
        smallest: matters.abs() / largest,
    })
}
