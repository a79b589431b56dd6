//! Drag of simple bodies in a stream: coefficients on the frontal area by Reynolds number (speed × diameter/kinematic viscosity).
//!
//! The fits were recalled and are held by the tables of docs/diving.md. Where two fits of one body exist both are here: their difference tells
//! how well the matter is known.

use crate::numerics::lanes::{self, Lane};

/// A published fit of a drag coefficient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DragLaw {
    /// One figure at any speed.
    Constant(f64),
    /// Sphere, 24/Re (1 + 0.150 Re^0.681) + 0.407/(1 + 8710/Re), Re < 2e5. [BrownLawler2003]
    Sphere,
    /// Sphere, 24/Re (1 + 0.15 Re^0.687), Re < 800. [SchillerNaumann1933]
    SphereSchillerNaumann,
    /// Sphere, 24/Re (1 + 0.173 Re^0.657) + 0.413/(1 + 16300 Re^-1.09), Re < 2e5. [TurtonLevenspiel1986]
    SphereTurtonLevenspiel,
    /// Smooth sphere through the drag crisis to Re 1e6, 24/Re + 2.6 x/(1 + x^1.52) + 0.411 y^-7.94/(1 + y^-8) + 0.25 z/(1 + z) with x = Re/5,
    /// y = Re/2.63e5, z = Re/1e6. [Morrison2013], as its author revised it in 2016
    SphereMorrison,
    /// Sphere in creeping flow, 24/Re, Re < 0.1. [Stokes1851]
    SphereStokes,
    /// Sphere in slow flow, 24/Re (1 + 3/16 Re), Re < 1. [Oseen1910]
    SphereOseen,
    /// Long cylinder across the stream, 1 + 10 Re^(-2/3), 1 < Re < 2e5. [White2006]
    CylinderAcross,
    /// Long cylinder across the stream, 1.18 + 6.8 Re^-0.89 + 1.96 Re^(-1/2) − 4e-4 Re/(1 + 3.64e-7 Re²), 1e-4 < Re < 2e5. [SuckerBrauer1975]
    CylinderAcrossSuckerBrauer,
    /// Thin disk broadside on: 64/(π Re) of creeping flow beside 1.17 of separated flow, added up (from memory of [Hoerner1965]; the sum is ours).
    Disk,
}

impl DragLaw {
    /// Least and greatest Reynolds number that it was made for.
    pub fn range(self) -> (f64, f64) {
        match self {
            Self::Constant(_) | Self::Disk => (0.0, f64::INFINITY),
            Self::Sphere | Self::SphereTurtonLevenspiel => (0.0, 2e5),
            Self::SphereSchillerNaumann => (0.0, 800.0),
            Self::SphereMorrison => (0.0, 1e6),
            Self::SphereStokes => (0.0, 0.1),
            Self::SphereOseen => (0.0, 1.0),
            Self::CylinderAcross => (1.0, 2e5),
            Self::CylinderAcrossSuckerBrauer => (1e-4, 2e5),
        }
    }

    /// Drag coefficient at a Reynolds number above zero. Fits that end at 2e5 keep their value there beyond it: that of a body whose roughness or
    /// fittings hold the flow turbulent off it, without the crisis of a smooth one.
    pub fn coefficient(self, reynolds: f64) -> f64 {
        self.at(reynolds)
    }

    /// Reynolds number beyond which the coefficient is held; slow-flow laws go on by their formula.
    #[inline(always)]
    fn held_from(self) -> f64 {
        match self {
            Self::Sphere | Self::SphereTurtonLevenspiel | Self::CylinderAcross | Self::CylinderAcrossSuckerBrauer => {
                2e5
            }
            Self::SphereMorrison => 1e6,
            _ => 1e30,
        }
    }

    /// The same in lanes.
    #[inline(always)]
    pub(super) fn at<L: Lane>(self, reynolds: L) -> L {
        let power = |base: L, exponent: f64| lanes::exponential(lanes::elementary::logarithm(base) * exponent);
        let one = L::splat(1.0);
        let re = reynolds.max(L::splat(1e-30)).min(L::splat(self.held_from()));
        let stokes = L::splat(24.0) / re;
        match self {
            Self::Constant(value) => L::splat(value),
            Self::Sphere => {
                let inertial = L::splat(0.407) / (L::splat(8710.0) / re + 1.0);
                stokes * (power(re, 0.681) * 0.150 + 1.0) + inertial
            }
            Self::SphereSchillerNaumann => stokes * (power(re, 0.687) * 0.15 + 1.0),
            Self::SphereTurtonLevenspiel => {
                stokes * (power(re, 0.657) * 0.173 + 1.0) + L::splat(0.413) / (power(re, -1.09) * 16_300.0 + 1.0)
            }
            Self::SphereMorrison => {
                let slow = re * (1.0 / 5.0);
                let fast = re * (1.0 / 2.63e5);
                let wake = slow * 2.6 / (power(slow, 1.52) + 1.0);
                // 0.411 x^-7.94/(1 + x^-8), with both sides times x^8, which stays finite.
                let crisis = power(fast, 0.06) * 0.411 / (power(fast, 8.0) + 1.0);
                let rough = re * 1e-6;
                stokes + wake + crisis + rough * 0.25 / (rough + 1.0)
            }
            Self::SphereStokes => stokes,
            Self::SphereOseen => stokes * (re * (3.0 / 16.0) + 1.0),
            Self::CylinderAcross => one + power(re, -2.0 / 3.0) * 10.0,
            Self::CylinderAcrossSuckerBrauer => {
                let tail = re * 4e-4 / (re * re * 3.64e-7 + 1.0);
                power(re, -0.89) * 6.8 + one * 1.18 + one * 1.96 / re.sqrt() - tail
            }
            Self::Disk => L::splat(64.0 / std::f64::consts::PI) / re + 1.17,
        }
    }
}

/// Drag coefficient times Reynolds number of a thin disk in creeping flow, broadside on and edge on, both on its face: 64/π and 128/(3π).
///
/// # Source
/// [Lamb1932], article 339: forces 16 μ a U and 32/3 μ a U.
pub fn creeping_disk() -> (f64, f64) {
    // C_D Re = F/(½ ρ U² π a²) × ρ U 2a/μ with F = c μ a U.
    let of = |force: f64| 4.0 * force / std::f64::consts::PI;
    (of(16.0), of(32.0 / 3.0))
}

/// Drag coefficients of bluff bodies at Reynolds numbers above 1e4, on the frontal area. [White2011], table 7.3, from memory and not checked elsewhere.
pub const BLUFF_BODIES: [(&str, f64); 13] = [
    ("disk broadside on", 1.17),
    ("cup, hollow to the stream", 1.4),
    ("cup, hollow away", 0.4),
    ("cube, face on", 1.07),
    ("cone of 60 degrees, tip on", 0.8),
    ("cone of 30 degrees, tip on", 0.55),
    ("flat-ended cylinder along the stream, length 0.5 diameters", 1.15),
    ("flat-ended cylinder along the stream, length 1 diameter", 0.90),
    ("flat-ended cylinder along the stream, length 2 diameters", 0.85),
    ("flat-ended cylinder along the stream, length 4 diameters", 0.87),
    ("flat-ended cylinder along the stream, length 8 diameters", 0.99),
    ("ellipsoid, length 2 diameters, laminar", 0.27),
    ("ellipsoid, length 4 diameters, laminar", 0.25),
];
