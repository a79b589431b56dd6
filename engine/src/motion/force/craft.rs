//! What a craft does by itself: its thrust and its shape in the air.

use super::Attitude;

/// What acts on a craft besides gravity.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Craft {
    /// Its engines, while they run.
    pub thrust: Option<Thrust>,
    /// Its shape, where air is to count.
    pub drag: Option<Drag>,
}

/// Engines that run together, as one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thrust {
    /// Force in vacuum with nothing throttled, N, above zero.
    pub vacuum: f64,
    /// Exit area of all nozzles, m²: the force falls by pressure times this. [SuttonBiblarz2017], equation 2-13.
    pub exit_area: f64,
    /// Effective exhaust speed in vacuum, m/s: mass flow is force in vacuum over this.
    pub exhaust_speed: f64,
    /// How far it is throttled.
    pub throttle: Throttle,
    /// Where it points.
    pub attitude: Attitude,
}

/// Share of the thrust in vacuum at which engines run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Throttle {
    /// A share that stays.
    Share(f64),
    /// What holds force over mass at this, m/s².
    Acceleration(f64),
    /// What holds the dynamic pressure where it stands. Where the law has no share to give (thrust across the motion) it gives none.
    DynamicPressure,
}

/// Forces of the air on a craft.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drag {
    /// Drag coefficient times area, m².
    pub area: f64,
    /// Lift over drag.
    pub lift: f64,
    /// Bank: angle of the lift from the plane of the radius and the velocity through the air, rad; 0 is upward, positive to the right.
    pub bank: f64,
}

impl Craft {
    /// Nothing but its inertia.
    pub const PASSIVE: Craft = Craft { thrust: None, drag: None };
}

impl Drag {
    /// Without lift, m².
    pub fn ballistic(area: f64) -> Self {
        Self { area, lift: 0.0, bank: 0.0 }
    }
}
