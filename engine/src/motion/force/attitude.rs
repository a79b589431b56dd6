//! Where the thrust points.

use super::triple::{Triple, along, dot, scaled, splat, unit};
use crate::numerics::lanes::Lane;
use crate::vector::Vec3;

/// The direction of thrust, by time and motion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Attitude {
    /// Along `from + rate (t − since)`: the linear-tangent law of the primer vector in uniform gravity; without a rate, fixed in inertial space.
    /// [BrysonHo1975], section 2.4.
    Turning {
        /// At `since`; its length counts against that of the rate.
        from: Vec3,
        /// 1/s.
        rate: Vec3,
        /// s.
        since: f64,
    },
    /// Along the inertial velocity.
    Along {
        /// 1 forward, −1 backward.
        sign: f64,
    },
    /// Along the velocity through the air: a gravity turn, at no angle of attack.
    AlongAir {
        /// 1 forward, −1 backward.
        sign: f64,
    },
    /// Along the normal of the ground, upward.
    Up,
    /// In the plane of place and inertial velocity: along radius and horizon with weights that change evenly, each (at `since`, 1/s).
    Local {
        /// Outward along the radius.
        radial: (f64, f64),
        /// Along the horizon, forward.
        horizontal: (f64, f64),
        /// s.
        since: f64,
    },
}

impl Attitude {
    /// Fixed in inertial space.
    pub fn fixed(direction: Vec3) -> Self {
        Self::Turning { from: direction, rate: Vec3::zeros(), since: 0.0 }
    }

    /// The direction, of length one; zero where the law gives none.
    ///
    /// - `up`: the ground's normal; `relative`: velocity through the air.
    #[inline(always)]
    pub(super) fn direction<L: Lane>(
        &self,
        time: L,
        place: &Triple<L>,
        velocity: &Triple<L>,
        up: &Triple<L>,
        relative: &Triple<L>,
    ) -> Triple<L> {
        match self {
            Self::Turning { from, rate, since } => {
                let (from, rate) = (splat(&(*from).into()), splat(&(*rate).into()));
                unit(&along(&from, &rate, time - *since))
            }
            Self::Along { sign } => scaled(&unit(velocity), L::splat(*sign)),
            Self::AlongAir { sign } => scaled(&unit(relative), L::splat(*sign)),
            Self::Up => *up,
            Self::Local { radial, horizontal, since } => {
                let outward = unit(place);
                let level = unit(&along(velocity, &outward, -dot(velocity, &outward)));
                let elapsed = time - *since;
                let rise = elapsed.mul_add(L::splat(radial.1), L::splat(radial.0));
                let ahead = elapsed.mul_add(L::splat(horizontal.1), L::splat(horizontal.0));
                unit(&along(&scaled(&outward, rise), &level, ahead))
            }
        }
    }
}
