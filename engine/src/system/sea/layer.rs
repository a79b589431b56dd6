//! One smooth piece of a sea: density, pressure and viscosity as polynomials of depth, for dives that restart at its ends.

use crate::numerics::lanes::{self, Lane};
use crate::system::air::{POINTS, Polynomial, nodes};

/// A piece between two depths, m below the surface.
#[derive(Debug, Clone, PartialEq)]
pub struct SeaLayer {
    top: f64,
    bottom: f64,
    density: Polynomial,
    pressure: Polynomial,
    /// Natural logarithm of the dynamic viscosity in Pa s.
    viscosity: Polynomial,
}

impl SeaLayer {
    pub(super) fn nodes(ends: (f64, f64)) -> [f64; POINTS] {
        nodes(ends)
    }

    /// Through density (kg/m³), pressure (Pa) and logarithm of viscosity at the nodes; and whether the fits are good: density to 1e-11, the others to 1e-9.
    pub(super) fn through(ends: (f64, f64), values: &[[f64; 3]; POINTS]) -> (Self, bool) {
        let fit = |which: usize| Polynomial::through(ends, &values.map(|value| value[which]));
        let (density, rough) = fit(0);
        let (pressure, coarse) = fit(1);
        let (viscosity, loose) = fit(2);
        let met = rough <= 1e-11 * values[0][0].abs() && coarse <= 1e-9 * values[0][1].abs() && loose <= 1e-9;
        (Self { top: ends.0, bottom: ends.1, density, pressure, viscosity }, met)
    }

    /// Its upper end, m below the surface.
    pub fn top(&self) -> f64 {
        self.top
    }

    /// Its lower end, m below the surface.
    pub fn bottom(&self) -> f64 {
        self.bottom
    }

    /// Density at a depth in m, kg/m³: within the layer, and smoothly a step's width beyond its ends.
    #[inline(always)]
    pub fn density<L: Lane>(&self, depth: L) -> L {
        self.density.at(depth)
    }

    /// Pressure of the liquid above a depth in m, Pa; the air's comes on top.
    #[inline(always)]
    pub fn pressure<L: Lane>(&self, depth: L) -> L {
        self.pressure.at(depth)
    }

    /// Dynamic viscosity at a depth in m, Pa s.
    #[inline(always)]
    pub fn viscosity<L: Lane>(&self, depth: L) -> L {
        lanes::exponential(self.viscosity.at(depth))
    }
}
