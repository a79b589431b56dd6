//! Sea water by the thermodynamic equation of 2010: specific volume as a polynomial of 75 terms, and what follows from it.
//!
//! Pressures are counted from one standard atmosphere (101 325 Pa), temperatures are conservative temperatures, salinities absolute ones, all in SI.
//! The polynomial was fitted for salinities to 42 g/kg, temperatures from −2 to 40 °C and pressures to 8000 dbar; at 11 000 dbar it is still within
//! 1e-4 of the full equation. Sources: [RoquetEtAl2015] for the polynomial, [IOC2010] for the constants and the depth.

use super::ZERO_CELSIUS;

/// Reference salinity of the standard ocean, kg/kg. [IOC2010]
pub const STANDARD_SALINITY: f64 = 35.165_04e-3;

/// Relative growth of gravity with depth on the Earth, 1/m. [IOC2010], appendix D.3.
const GRAVITY_GROWTH: f64 = 2.26e-7;

/// Salt is counted as √((S + 24 g/kg)/(40 × 35.16504/35 g/kg)), in which the polynomial is smooth at S = 0. [RoquetEtAl2015]
const SALT_OFFSET: f64 = 24e-3;
const SALT_SCALE: f64 = 40e-3 * 35.165_04 / 35.0;
/// Temperature in units of 40 K above 0 °C, pressure in units of 10⁸ Pa. [RoquetEtAl2015]
const TEMPERATURE_SCALE: f64 = 40.0;
const PRESSURE_SCALE: f64 = 1e8;

/// Powers of temperature and of salt, then the coefficients of rising powers of pressure, m³/kg. [RoquetEtAl2015], table 4.
const TERMS: [(i32, i32, &[f64]); 28] = [
    (
        0,
        0,
        &[
            1.076_999_586_2e-3,
            -6.079_914_380_9e-5,
            9.985_616_921_9e-6,
            -1.130_936_143_7e-6,
            1.053_115_308_0e-7,
            -1.264_726_128_6e-8,
            1.961_350_393_0e-9,
        ],
    ),
    (0, 1, &[-3.103_898_197_6e-4, 2.426_246_874_7e-5, -5.848_443_298_4e-7, 3.631_018_851_5e-7, -1.114_712_542_3e-7]),
    (0, 2, &[6.692_806_703_8e-4, -3.479_246_097_4e-5, -4.812_225_159_7e-6, 1.674_630_378_0e-8]),
    (0, 3, &[-8.504_793_393_7e-4, 3.747_077_730_5e-5, 4.926_310_699_8e-6]),
    (0, 4, &[5.808_606_994_3e-4, -1.732_221_861_2e-5, -1.781_197_472_7e-6]),
    (0, 5, &[-2.109_237_050_7e-4, 3.092_742_725_3e-6]),
    (0, 6, &[3.193_245_730_5e-5]),
    (1, 0, &[-1.564_973_467_5e-5, 1.850_576_542_9e-5, -1.173_638_673_1e-6, -3.652_700_655_3e-7, 3.145_409_990_2e-7]),
    (1, 1, &[3.500_959_976_4e-5, -9.567_708_815_6e-6, -5.569_915_455_7e-6, -2.729_569_623_7e-7]),
    (1, 2, &[-4.359_267_856_1e-5, 1.110_083_476_5e-5, 5.462_074_883_4e-6]),
    (1, 3, &[3.453_246_182_8e-5, -9.844_711_784_4e-6, -1.354_418_562_7e-6]),
    (1, 4, &[-1.195_940_978_8e-5, 2.590_922_526_0e-6]),
    (1, 5, &[1.386_459_458_1e-6]),
    (2, 0, &[2.776_210_648_4e-5, -1.171_660_685_3e-5, 2.130_502_874_0e-6, 2.869_590_515_9e-7]),
    (2, 1, &[-3.743_584_234_4e-5, -2.367_830_836_1e-7, 3.913_738_708_0e-7]),
    (2, 2, &[3.590_782_276_0e-5, 2.928_334_629_5e-6, -6.573_110_406_7e-7]),
    (2, 3, &[-1.869_858_418_7e-5, -4.882_613_920_0e-7]),
    (2, 4, &[3.859_533_924_4e-6]),
    (3, 0, &[-1.652_115_925_9e-5, 7.927_965_617_3e-6, -4.613_254_003_7e-7]),
    (3, 1, &[2.414_147_948_3e-5, -3.455_877_365_5e-6, 7.761_888_809_2e-9]),
    (3, 2, &[-1.435_363_304_8e-5, 3.165_530_607_8e-7]),
    (3, 3, &[2.286_332_455_6e-6]),
    (4, 0, &[6.911_132_270_2e-6, -3.410_218_748_2e-6, -6.335_291_651_4e-8]),
    (4, 1, &[-8.759_587_315_4e-6, 1.295_671_778_3e-6]),
    (4, 2, &[4.370_368_059_8e-6]),
    (5, 0, &[-8.053_961_554_0e-7, 5.073_676_681_4e-7]),
    (5, 1, &[-3.305_275_890_0e-7]),
    (6, 0, &[2.054_309_426_8e-7]),
];

/// Coefficients of the powers of pressure at a salinity (kg/kg) and conservative temperature (K), m³/kg.
fn by_pressure(salinity: f64, temperature: f64) -> [f64; 7] {
    let salt = ((salinity + SALT_OFFSET) / SALT_SCALE).max(0.0).sqrt();
    let warmth = (temperature - ZERO_CELSIUS) / TEMPERATURE_SCALE;
    let mut sums = [0.0; 7];
    for (warm, salty, coefficients) in TERMS {
        let power = warmth.powi(warm) * salt.powi(salty);
        for (sum, coefficient) in sums.iter_mut().zip(coefficients) {
            *sum += power * coefficient;
        }
    }
    sums
}

/// Specific volume and its derivative by pressure, m³/kg and m³/(kg Pa).
fn volume(salinity: f64, temperature: f64, pressure: f64) -> (f64, f64) {
    let coefficients = by_pressure(salinity, temperature);
    let share = pressure / PRESSURE_SCALE;
    let (mut value, mut slope) = (0.0, 0.0);
    for coefficient in coefficients.iter().rev() {
        slope = slope * share + value;
        value = value * share + coefficient;
    }
    (value, slope / PRESSURE_SCALE)
}

/// Density, kg/m³.
///
/// - `salinity`: absolute, kg of salt in a kg of water with its salt.
/// - `temperature`: conservative, K.
/// - `pressure`: Pa above one standard atmosphere.
///
/// # Source
/// [RoquetEtAl2015], equation 60.
pub fn density(salinity: f64, temperature: f64, pressure: f64) -> f64 {
    1.0 / volume(salinity, temperature, pressure).0
}

/// Speed of sound, m/s: √(−v²/(∂v/∂p)) at fixed salinity and conservative temperature, which is that of fixed entropy. Arguments as of [`density`].
///
/// # Source
/// [IOC2010], section 2.17.
pub fn sound_speed(salinity: f64, temperature: f64, pressure: f64) -> f64 {
    let (volume, slope) = volume(salinity, temperature, pressure);
    (-volume * volume / slope).max(0.0).sqrt()
}

/// Share by which density grows for a pascal at fixed entropy, 1/Pa. Arguments as of [`density`].
///
/// # Source
/// [IOC2010], section 2.16.
pub fn compressibility(salinity: f64, temperature: f64, pressure: f64) -> f64 {
    let (volume, slope) = volume(salinity, temperature, pressure);
    -slope / volume
}

/// Depth at which a pressure is met in the Earth's standard ocean (35.16504 g/kg, 0 °C), m below the surface.
///
/// - `pressure`: Pa above one standard atmosphere.
/// - `latitude`: geodetic, rad.
///
/// # Source
/// [IOC2010], appendix D.3 (gravity by latitude and depth), section 3.32 (height from pressure).
pub fn standard_depth(pressure: f64, latitude: f64) -> f64 {
    let share = pressure / PRESSURE_SCALE;
    let coefficients = by_pressure(STANDARD_SALINITY, ZERO_CELSIUS);
    // The integral of specific volume over pressure, J/kg.
    let sum = coefficients.iter().enumerate().rev().fold(0.0, |sum, (k, c)| sum * share + c / (k + 1) as f64);
    let energy = sum * share * PRESSURE_SCALE;
    let squared_sine = latitude.sin().powi(2);
    let gravity = 9.780_327 * (1.0 + (5.279_2e-3 + 2.32e-5 * squared_sine) * squared_sine);
    // g z + ½ γ g z² = energy, in the form without cancellation.
    2.0 * energy / (gravity + (gravity * gravity + 2.0 * GRAVITY_GROWTH * gravity * energy).sqrt())
}
