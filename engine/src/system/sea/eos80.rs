//! Sea water by the international equation of state of 1980, and the depth that its authors give for a pressure.
//!
//! For practical salinities to 42, temperatures from −2 to 40 °C and pressures to 1000 bar above one atmosphere. Salinity counts as the number of the
//! practical scale over a thousand, temperature in K, pressure in Pa above one standard atmosphere.
//! Source: [FofonoffMillard1983]; coefficients from memory, held by the published check values.

use super::ZERO_CELSIUS;

/// A polynomial, lowest power first.
fn polynomial(x: f64, coefficients: &[f64]) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

/// Density, kg/m³.
///
/// - `salinity`: practical salinity over a thousand.
/// - `temperature`: in place, K, as degrees of the scale of 1968.
/// - `pressure`: Pa above one standard atmosphere.
///
/// # Source
/// [FofonoffMillard1983], section 3.
pub fn density(salinity: f64, temperature: f64, pressure: f64) -> f64 {
    let (s, t, p) = (1e3 * salinity, temperature - ZERO_CELSIUS, 1e-5 * pressure);
    let root = s.max(0.0).sqrt();
    let pure = polynomial(t, &[999.842594, 6.793952e-2, -9.095290e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9]);
    let at_surface = pure
        + s * (polynomial(t, &[8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9])
            + root * polynomial(t, &[-5.72466e-3, 1.0227e-4, -1.6546e-6])
            + s * 4.8314e-4);
    let secant = polynomial(t, &[19652.21, 148.4206, -2.327105, 1.360477e-2, -5.155288e-5])
        + s * (polynomial(t, &[54.6746, -0.603459, 1.09987e-2, -6.1670e-5])
            + root * polynomial(t, &[7.944e-2, 1.6483e-2, -5.3009e-4]))
        + p * (polynomial(t, &[3.239908, 1.43713e-3, 1.16092e-4, -5.77905e-7])
            + s * (polynomial(t, &[2.2838e-3, -1.0981e-5, -1.6078e-6]) + root * 1.91075e-4))
        + p * p
            * (polynomial(t, &[8.50935e-5, -6.12293e-6, 5.2787e-8])
                + s * polynomial(t, &[-9.9348e-7, 2.0816e-8, 9.1697e-10]));
    at_surface / (1.0 - p / secant)
}

/// Depth at which a pressure is met in the Earth's standard ocean (practical salinity 35, 0 °C), m below the surface.
///
/// - `pressure`: Pa above one standard atmosphere.
/// - `latitude`: geodetic, rad.
///
/// # Source
/// [FofonoffMillard1983], section 4.
pub fn standard_depth(pressure: f64, latitude: f64) -> f64 {
    let p = 1e-4 * pressure;
    let x = latitude.sin().powi(2);
    let gravity = 9.780_318 * (1.0 + (5.2788e-3 + 2.36e-5 * x) * x) + 1.092e-6 * p;
    p * polynomial(p, &[9.72659, -2.2512e-5, 2.279e-10, -1.82e-15]) / gravity
}
