//! Dynamic viscosity of sea water and of the liquids of cold seas.

use super::ZERO_CELSIUS;
use super::fluids::{METHANE, NITROGEN};

/// Sea water at the pressure of the air, Pa s, within 1.5 % from 0 to 180 °C and 0 to 150 g/kg; what pressure adds (below 3 % to 50 MPa) is left out.
///
/// - `salinity`: kg/kg; `temperature`: K.
///
/// # Source
/// [SharqawyEtAl2010], equations 22 and 23; from memory, held by the viscosity of fresh water at 20 °C, 1.002 mPa s.
pub fn of_sea_water(salinity: f64, temperature: f64) -> f64 {
    let t = temperature - ZERO_CELSIUS;
    let fresh = 4.2844e-5 + 1.0 / (0.157 * (t + 64.993) * (t + 64.993) - 91.296);
    let a = 1.541 + 1.998e-2 * t - 9.52e-5 * t * t;
    let b = 7.974 - 7.561e-2 * t + 4.724e-4 * t * t;
    fresh * (1.0 + a * salinity + b * salinity * salinity)
}

/// Of methane at a density (mol/m³) and temperature (K), Pa s.
///
/// Friction theory: quadratic in the repulsive and attractive parts of the pressure, in bar. [QuinonesCisneros2006]
pub(super) fn of_methane(density: f64, temperature: f64) -> f64 {
    let reduced = temperature / METHANE.critical_temperature;
    let dilute = 2.605_36e-6 - 1.852_47e-5 * reduced.powf(0.25) + 2.342_16e-5 * reduced.sqrt();
    let there = METHANE.at(density, temperature);
    let ideal = 1e-5 * density * METHANE.gas_constant * temperature;
    let repulsive = 1e-5 * temperature * there.warming;
    let (attractive, extra) = (1e-5 * there.pressure - repulsive, repulsive - ideal);
    let tau = 1.0 / reduced;
    let (first, cube) = (tau.exp() - 1.0, tau * tau * tau);
    let linear = |a: f64, b: f64| (a + b * first) * tau;
    let square = |a: f64, b: f64| (a + b * first) * cube;
    dilute
        + linear(3.496_68e-8, -1.731_76e-8) * ideal
        + linear(5.988_58e-8, -4.911_43e-8) * extra
        + linear(-3.121_18e-8, 1.994_22e-10) * attractive
        + square(-3.556_31e-10, 2.803_26e-10) * ideal * ideal
        + square(1.600_99e-11, 8.502_21e-13) * extra * extra
        + square(-8.529_92e-13, -3.580_09e-13) * attractive * attractive
}

/// Of ethane at a density (mol/m³) and temperature (K), Pa s. [FriendEtAl1991]
pub(super) fn of_ethane(density: f64, temperature: f64) -> f64 {
    const COLLISIONS: [f64; 9] = [
        -3.0328138281,
        16.918880086,
        -37.189364917,
        41.288861858,
        -24.615921140,
        8.9488430959,
        -1.8739245042,
        0.20966101390,
        -9.6570437074e-3,
    ];
    /// Coefficient and powers of reduced density and reciprocal temperature; the last two stand below the line.
    const RESIDUAL: [(f64, i32, f64); 11] = [
        (0.47177003, 1, 0.0),
        (-0.23950311, 1, 1.0),
        (0.39808301, 2, 0.0),
        (-0.27343335, 2, 1.0),
        (0.35192260, 2, 1.5),
        (-0.21101308, 3, 0.0),
        (-0.00478579, 3, 2.0),
        (0.07378129, 4, 0.0),
        (-0.030435255, 4, 1.0),
        (-0.30435286, 1, 0.0),
        (0.001215675, 1, 1.0),
    ];
    let warmth = temperature / 245.0;
    let sum: f64 = COLLISIONS.iter().enumerate().map(|(i, c)| c * warmth.powf(i as f64 / 3.0 - 1.0)).sum();
    let dilute = 12.0085e-6 * warmth.sqrt() * sum;
    // The correlation's own reducing constants.
    let (delta, tau) = (density / 6870.0, 305.33 / temperature);
    let term = |&(g, r, s): &(f64, i32, f64)| g * delta.powi(r) * tau.powf(s);
    let above: f64 = RESIDUAL[..9].iter().map(term).sum();
    let below: f64 = RESIDUAL[9..].iter().map(term).sum();
    dilute + 15.977e-6 * above / (1.0 + below)
}

/// Of nitrogen at a density (mol/m³) and temperature (K), Pa s. [LemmonJacobsen2004]; exponents of temperature from memory.
pub(super) fn of_nitrogen(density: f64, temperature: f64) -> f64 {
    const COLLISIONS: [f64; 5] = [0.431, -0.4623, 0.08406, 0.005341, -0.00331];
    /// Coefficient in 1e-6 Pa s, powers of τ and δ, power of δ in the exponential.
    const RESIDUAL: [(f64, f64, i32, i32); 5] =
        [(10.72, 0.1, 2, 0), (0.03989, 0.25, 10, 1), (0.001208, 3.2, 12, 1), (-7.402, 0.9, 2, 2), (4.620, 0.3, 1, 3)];
    let logarithm = (temperature / 98.94).ln();
    let integral = COLLISIONS.iter().rev().fold(0.0, |sum, b| sum * logarithm + b).exp();
    let dilute = 2.66958e-8 * (1e3 * NITROGEN.molar_mass * temperature).sqrt() / (0.3656 * 0.3656 * integral);
    let (delta, tau) = (density / NITROGEN.critical_density, NITROGEN.critical_temperature / temperature);
    let residual: f64 = RESIDUAL
        .iter()
        .map(|&(n, t, d, l)| n * tau.powf(t) * delta.powi(d) * if l == 0 { 1.0 } else { (-delta.powi(l)).exp() })
        .sum();
    dilute + 1e-6 * residual
}

#[cfg(test)]
mod tests {
    use super::super::fluids::ETHANE;
    use super::*;

    #[test]
    fn fresh_water_at_twenty_degrees() {
        // Handbook value 1.0016 mPa s; the fit promises 1.5 % and gives 0.02 %.
        assert!((of_sea_water(0.0, 293.15) - 1.0016e-3).abs() < 1e-6);
    }

    /// Liquid nitrogen at its boiling point: handbooks give 0.158 to 0.165 mPa s; the correlation states 2 % for the liquid.
    #[test]
    fn liquid_nitrogen() {
        let (_, density) = NITROGEN.boiling(77.355);
        let found = of_nitrogen(density, 77.355);
        assert!((found / 0.1615e-3 - 1.0).abs() < 0.03, "{found}");
    }

    /// At the boiling points of one atmosphere the checked tables give 0.116911 and 0.166306 mPa s, of the same correlations.
    #[test]
    fn liquid_methane_and_ethane() {
        let (_, methane) = METHANE.boiling(111.67);
        let (_, ethane) = ETHANE.boiling(184.57);
        let found = (of_methane(methane, 111.67), of_ethane(ethane, 184.57));
        assert!((found.0 / 0.116_910_725e-3 - 1.0).abs() < 1e-6, "{}", found.0);
        assert!((found.1 / 0.166_306_161e-3 - 1.0).abs() < 1e-6, "{}", found.1);
    }
}
