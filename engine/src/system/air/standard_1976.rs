//! The U.S. Standard Atmosphere of 1976: its layers to 86 km, the mix of its species equations from there to 1000 km.

use super::AirState;
use super::layer::Polynomial;
use super::upper_rows::{ENDS, ROWS};

/// Molar gas constant of the standard, J/(mol K). [US1976], table 2
pub(super) const GAS_CONSTANT: f64 = 8.314_32;
/// Gravity at sea level, m/s². [US1976], table 2
pub(super) const GRAVITY: f64 = 9.806_65;
/// Radius of the Earth where gravity is that, m. [US1976], table 2
pub(super) const EARTH_RADIUS: f64 = 6_356_766.0;
/// Molar mass at sea level, kg/mol. [US1976], table 3
pub(super) const MOLAR_MASS: f64 = 0.028_964_4;
/// Ratio of specific heats. [US1976], table 2
pub(super) const HEAT_RATIO: f64 = 1.4;
/// Pressure (Pa) and temperature (K) at sea level. [US1976], table 2
const SEA_LEVEL: (f64, f64) = (101_325.0, 288.15);
/// Geopotential height of each layer's base (m) and its gradient of molecular-scale temperature (K/m). [US1976], table 4
const LAYERS: [(f64, f64); 7] =
    [(0.0, -6.5e-3), (11e3, 0.0), (20e3, 1.0e-3), (32e3, 2.8e-3), (47e3, 0.0), (51e3, -2.8e-3), (71e3, -2.0e-3)];
/// Where the layers end and the species begin, m. [US1976], table 4
const UPPER: f64 = 86e3;
/// The least height of its tables, m. [US1976], table I
pub(super) const BOTTOM: f64 = -5e3;
/// Where the standard ends, m.
pub(super) const CEILING: f64 = 1000e3;
/// Molar mass over that at sea level, from 80 km to 86 km by half kilometres. [US1976], table 8
const MASS_RATIO: [f64; 13] = [
    1.0, 0.999_996, 0.999_989, 0.999_971, 0.999_941, 0.999_909, 0.999_870, 0.999_829, 0.999_786, 0.999_741, 0.999_694,
    0.999_641, 0.999_579,
];
/// Coefficient (kg/(s m K^½)) and temperature (K) of Sutherland's viscosity. [US1976], equation 51
const SUTHERLAND: (f64, f64) = (1.458e-6, 110.4);
/// Effective diameter of a molecule in collisions, m, and Avogadro's number of the standard, 1/mol. [US1976], equation 46, table 2
const DIAMETER: f64 = 3.65e-10;
const AVOGADRO: f64 = 6.022_169e23;

/// The standard, ready to be asked.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Standard1976 {
    /// Molecular-scale temperature (K) and pressure (Pa) at each layer's base.
    bases: [(f64, f64); 7],
    /// Logarithm of density (kg/m³) and molar mass (kg/mol) above 86 km.
    upper: Vec<(Polynomial, Polynomial)>,
}

impl Standard1976 {
    pub(super) fn new() -> Self {
        let mut bases = [(SEA_LEVEL.1, SEA_LEVEL.0); 7];
        for index in 1..LAYERS.len() {
            bases[index] = in_layer(index - 1, bases[index - 1], LAYERS[index].0);
        }
        let upper = ENDS
            .windows(2)
            .zip(&ROWS)
            .map(|(ends, rows)| {
                let ends = (ends[0], ends[1]);
                let logarithm = Polynomial::through(ends, &rows.map(|(density, _)| density.ln())).0;
                (logarithm, Polynomial::through(ends, &rows.map(|(_, mass)| mass)).0)
            })
            .collect();
        Self { bases, upper }
    }

    /// Heights at which a law changes, m.
    pub(super) fn heights() -> Vec<f64> {
        let geometric = |geopotential: f64| EARTH_RADIUS * geopotential / (EARTH_RADIUS - geopotential);
        [BOTTOM].into_iter().chain(LAYERS[1..].iter().map(|(base, _)| geometric(*base))).chain(ENDS).collect()
    }

    /// Logarithm of density at a height, m.
    pub(super) fn logarithm(&self, height: f64) -> f64 {
        match self.upper_piece(height) {
            Some((logarithm, _)) => logarithm.at(height),
            None => self.at(height).density.ln(),
        }
    }

    fn upper_piece(&self, height: f64) -> Option<&(Polynomial, Polynomial)> {
        if height < UPPER {
            return None;
        }
        self.upper.get(self.upper.partition_point(|(piece, _)| piece.start <= height).saturating_sub(1))
    }

    /// The air at a height from the bottom to the ceiling, m.
    pub(super) fn at(&self, height: f64) -> AirState {
        let (temperature, pressure, density, molar_mass) = if let Some((logarithm, mass)) = self.upper_piece(height) {
            let (temperature, density, mass) =
                (temperature_above(height).0, logarithm.at(height).exp(), mass.at(height));
            (temperature, density * GAS_CONSTANT * temperature / mass, density, mass)
        } else {
            let geopotential = EARTH_RADIUS * height / (EARTH_RADIUS + height);
            let layer = LAYERS.partition_point(|(base, _)| *base <= geopotential).saturating_sub(1);
            let (scale, pressure) = in_layer(layer, self.bases[layer], geopotential);
            let ratio = mass_ratio(height);
            (scale * ratio, pressure, pressure * MOLAR_MASS / (GAS_CONSTANT * scale), MOLAR_MASS * ratio)
        };
        let number = pressure * AVOGADRO / (GAS_CONSTANT * temperature);
        let (beta, sutherland) = SUTHERLAND;
        AirState {
            temperature,
            pressure,
            density,
            sound: (HEAT_RATIO * GAS_CONSTANT * temperature / molar_mass).sqrt(),
            molar_mass,
            viscosity: (height <= UPPER).then(|| beta * temperature * temperature.sqrt() / (temperature + sutherland)),
            mean_free_path: Some(1.0 / (2f64.sqrt() * std::f64::consts::PI * DIAMETER * DIAMETER * number)),
        }
    }
}

/// Molecular-scale temperature and pressure in a layer from those at its base. [US1976], equations 23, 33a and 33b
fn in_layer(layer: usize, (temperature, pressure): (f64, f64), geopotential: f64) -> (f64, f64) {
    let (base, gradient) = LAYERS[layer];
    let weight = GRAVITY * MOLAR_MASS / GAS_CONSTANT;
    if gradient == 0.0 {
        return (temperature, pressure * (-weight * (geopotential - base) / temperature).exp());
    }
    let now = temperature + gradient * (geopotential - base);
    (now, pressure * (temperature / now).powf(weight / gradient))
}

fn mass_ratio(height: f64) -> f64 {
    let place = (height - 80e3) / 500.0;
    if place <= 0.0 {
        return 1.0;
    }
    let index = (place as usize).min(MASS_RATIO.len() - 2);
    MASS_RATIO[index] + (MASS_RATIO[index + 1] - MASS_RATIO[index]) * (place - index as f64)
}

/// Kinetic temperature (K) from 86 km up, and its slope (K/m). [US1976], equations 25 to 31
pub(super) fn temperature_above(height: f64) -> (f64, f64) {
    let km = height / 1e3;
    if km <= 91.0 {
        return (186.8673, 0.0);
    }
    if km <= 110.0 {
        let x = (km - 91.0) / 19.9429;
        let root = (1.0 - x * x).sqrt();
        return (263.1905 - 76.3232 * root, 76.3232 * x / (root * 19_942.9));
    }
    if km <= 120.0 {
        return (240.0 + 12.0 * (km - 110.0), 12e-3);
    }
    let base = EARTH_RADIUS + 120e3;
    let ratio = base / (EARTH_RADIUS + height);
    let rate = 12.0 / (1000.0 - 360.0);
    let rest = (1000.0 - 360.0) * (-rate * (km - 120.0) * ratio).exp();
    (1000.0 - rest, rest * rate / 1e3 * ratio * ratio)
}

#[cfg(test)]
mod tests {
    use super::super::layer::nodes;
    use super::super::species;
    use super::*;

    /// The rows that the program holds are those that the species equations give, and between them the polynomials follow the
    /// equations to 1e-8, far below what the printed table resolves. At 110 km the standard's two laws of temperature miss each other by
    /// 1.1e-6 of itself, and the piece above is taken.
    #[test]
    fn the_upper_part_is_the_integrated_species() {
        let standard = Standard1976::new();
        for (ends, rows) in ENDS.windows(2).zip(&ROWS) {
            let at = nodes((ends[0], ends[1]));
            for ((mix, row), z) in species::mixes(&at).iter().zip(rows).zip(at) {
                let off = (mix.density / row.0 - 1.0).abs().max((mix.molar_mass / row.1 - 1.0).abs());
                assert!(off < 1e-9, "{z} m: {off:e}");
            }
        }
        let heights: Vec<f64> = (0..=914).map(|km| 86e3 + 1e3 * f64::from(km)).collect();
        for (z, mix) in heights.iter().zip(species::mixes(&heights)) {
            let air = standard.at(*z);
            let off = (air.density / mix.density - 1.0).abs().max((air.molar_mass / mix.molar_mass - 1.0).abs());
            assert!(off < if *z == 110e3 { 2e-6 } else { 1e-8 }, "{z} m: {off:e}");
        }
    }
}
