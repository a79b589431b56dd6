//! Bi-elliptic transfer: out to a far apoapsis, over to the new periapsis, and where that beats Hohmann.

use super::error::{BurnError, GM, positive};
use super::hohmann::{self, apse_speed};
use std::f64::consts::PI;

/// A transfer of three tangent burns.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BiElliptic {
    /// Burns along the motion, m/s; negative against it.
    pub dv1: f64,
    /// At the far apoapsis.
    pub dv2: f64,
    /// Into the final orbit.
    pub dv3: f64,
    /// From the first burn to the last, s.
    pub time: f64,
    /// Sum of sizes less that of the Hohmann transfer between the same orbits, m/s: negative when this one is cheaper.
    pub against_hohmann: f64,
}

impl BiElliptic {
    /// Sum of the sizes of the burns, m/s.
    pub fn dv(&self) -> f64 {
        self.dv1.abs() + self.dv2.abs() + self.dv3.abs()
    }
}

/// Bi-elliptic transfer between circular orbits of radius `r1` and `r2` through an apoapsis of `far` (m).
///
/// # Errors
/// Inputs not above zero.
///
/// # Source
/// [Vallado2013], section 6.3.2; [Battin1999], section 11.3.
pub fn bi_elliptic(gm: f64, r1: f64, far: f64, r2: f64) -> Result<BiElliptic, BurnError> {
    positive(GM, gm)?;
    for radius in [r1, far, r2] {
        positive("the radius, m,", radius)?;
    }
    let half = |a: f64| PI * a * (a / gm).sqrt();
    let mut transfer = BiElliptic {
        dv1: apse_speed(gm, r1, far) - apse_speed(gm, r1, r1),
        dv2: apse_speed(gm, far, r2) - apse_speed(gm, far, r1),
        dv3: apse_speed(gm, r2, r2) - apse_speed(gm, r2, far),
        time: half(0.5 * (r1 + far)) + half(0.5 * (far + r2)),
        against_hohmann: 0.0,
    };
    transfer.against_hohmann = transfer.dv() - hohmann::circular(gm, r1, r2)?.dv();
    Ok(transfer)
}

/// Ratios of the radii at which the comparison with Hohmann turns.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thresholds {
    /// Above this r2/r1 a transfer through infinity is cheaper.
    pub parabolic: f64,
    /// Above this r2/r1 every bi-elliptic transfer with its apoapsis beyond r2 is cheaper.
    pub always: f64,
    /// Greatest cost of a Hohmann transfer, in units of the first circular speed; it is met at `always`.
    pub greatest_hohmann: f64,
}

/// Where bi-elliptic transfers begin to pay.
///
/// # Source
/// [Battin1999], section 11.3: the second one is the root of ρ³ − 15ρ² − 9ρ − 1.
pub fn thresholds() -> Thresholds {
    let hohmann = |ratio: f64| {
        let root = (2.0 * ratio / (1.0 + ratio)).sqrt();
        root * (1.0 - 1.0 / ratio) + (1.0 / ratio).sqrt() - 1.0
    };
    let parabolic = |ratio: f64| (2.0_f64.sqrt() - 1.0) * (1.0 + (1.0 / ratio).sqrt());
    let halved = |mut low: f64, mut high: f64, rises: &dyn Fn(f64) -> f64| {
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if rises(middle) > 0.0 { high = middle } else { low = middle }
        }
        0.5 * (low + high)
    };
    let always = halved(15.0, 16.0, &|ratio| ((ratio - 15.0) * ratio - 9.0) * ratio - 1.0);
    Thresholds {
        parabolic: halved(11.0, 13.0, &|ratio| hohmann(ratio) - parabolic(ratio)),
        always,
        greatest_hohmann: hohmann(always),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pays_only_beyond_the_thresholds() {
        let at = |ratio: f64, far: f64| bi_elliptic(1.0, 1.0, far * ratio, ratio).unwrap().against_hohmann;
        assert!(at(11.5, 1e6) > 0.0 && at(12.5, 1e6) < 0.0 && at(12.5, 1.1) > 0.0 && at(16.0, 1.1) < 0.0);
    }

    #[test]
    fn apoapsis_at_the_target_is_hohmann() {
        assert!(bi_elliptic(1.0, 1.0, 5.0, 5.0).unwrap().against_hohmann.abs() < 1e-15);
    }
}
