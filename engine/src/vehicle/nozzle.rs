//! An ideal nozzle: one-dimensional, isentropic flow of a perfect gas.

use super::VehicleError;
use crate::numerics::root;

/// An ideal nozzle of a ratio of heats k and an area ratio ε (exit over throat).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nozzle {
    /// Ratio of heats.
    pub heat_ratio: f64,
    /// Exit area over throat area.
    pub area_ratio: f64,
    /// Mach number at the exit, above 1.
    pub exit_mach: f64,
}

impl Nozzle {
    /// The nozzle, with its supersonic Mach number at the exit.
    ///
    /// # Errors
    /// A ratio of heats outside of (1, 2], an area ratio that is not above 1 (or beyond 1e6).
    ///
    /// # Source
    /// [SuttonBiblarz2017], equation 3-14: A/A_t = (1/M) √(((1 + (k−1)/2 M²)/((k+1)/2))^((k+1)/(k−1))).
    pub fn new(heat_ratio: f64, area_ratio: f64) -> Result<Nozzle, VehicleError> {
        let bad = |what, value, needs| VehicleError::BadSizing { what, value, needs };
        if !(heat_ratio > 1.0 && heat_ratio <= 2.0) {
            return Err(bad("the ratio of heats", heat_ratio, "above 1 and at most 2"));
        }
        let refused = bad("the area ratio", area_ratio, "above 1 and at most 1e6");
        if !(area_ratio > 1.0 && area_ratio <= 1e6) {
            return Err(refused);
        }
        let k = heat_ratio;
        // In logarithms, as the power is large for k near 1.
        let log_area = |mach: f64| {
            let base = (1.0 + 0.5 * (k - 1.0) * mach * mach) / (0.5 * (k + 1.0));
            0.5 * (k + 1.0) / (k - 1.0) * base.ln() - mach.ln() - area_ratio.ln()
        };
        let mut high = 2.0;
        while log_area(high) < 0.0 && high < 1e8 {
            high *= 2.0;
        }
        let exit_mach = root::bracketed(log_area, 1.0, high, 0.0).map_err(|_| refused)?;
        Ok(Nozzle { heat_ratio, area_ratio, exit_mach })
    }

    /// Pressure at the exit over pressure in the chamber. [SuttonBiblarz2017], equation 3-13.
    pub fn exit_pressure_ratio(&self) -> f64 {
        let k = self.heat_ratio;
        (1.0 + 0.5 * (k - 1.0) * self.exit_mach * self.exit_mach).powf(-k / (k - 1.0))
    }

    /// Γ = √k (2/(k+1))^((k+1)/(2(k−1))): mass flow is Γ p A_t/√(R T). [SuttonBiblarz2017], equation 3-24.
    pub fn flow_function(&self) -> f64 {
        let k = self.heat_ratio;
        k.sqrt() * (2.0 / (k + 1.0)).powf(0.5 * (k + 1.0) / (k - 1.0))
    }

    /// Thrust in vacuum over chamber pressure and throat area. [SuttonBiblarz2017], equation 3-30.
    pub fn thrust_coefficient(&self) -> f64 {
        let (k, ratio) = (self.heat_ratio, self.exit_pressure_ratio());
        let expansion = 1.0 - ratio.powf((k - 1.0) / k);
        self.flow_function() * (2.0 * k / (k - 1.0) * expansion).sqrt() + ratio * self.area_ratio
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stream_thrust_agrees() {
        let nozzle = Nozzle::new(1.2, 40.0).unwrap();
        // Momentum and pressure at the exit together: (p_e/p_c) ε (1 + k M²). Two ways to one figure, some roundings apart.
        let stream = nozzle.exit_pressure_ratio() * 40.0 * (1.0 + 1.2 * nozzle.exit_mach * nozzle.exit_mach);
        assert!((nozzle.thrust_coefficient() - stream).abs() < 1e-12);
        assert!(Nozzle::new(1.0, 40.0).is_err() && Nozzle::new(1.2, 0.9).is_err());
    }
}
