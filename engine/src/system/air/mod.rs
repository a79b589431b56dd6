//! The air of a body: temperature, pressure and density by height.

mod exponential;
mod hydrostatic;
mod layer;
#[cfg(test)]
mod species;
mod standard_1976;
mod table;
mod upper_rows;

pub use layer::Layer;
pub(super) use layer::{POINTS, Polynomial, nodes};

use exponential::{Exponential, Scale};
use hydrostatic::Hydrostatic;
use layer::fitted;
use standard_1976::Standard1976;
use table::{Row, Tabulated};

/// Molar gas constant, J/(mol K), exact. [CODATA2018]
const GAS_CONSTANT: f64 = 8.314_462_618;

/// An atmosphere at rest in the axes that turn with its body.
///
/// Figures for study: entry and flight through air follow licensed practice and range safety.
#[derive(Debug, Clone, PartialEq)]
pub struct Air {
    profile: Profile,
    /// Gravitational parameter (m³/s²) and radius (m) of the body.
    body: (f64, f64),
    gas: Gas,
}

/// What holds for all of an atmosphere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Gas {
    /// kg/mol, at the ground.
    pub(super) molar_mass: f64,
    pub(super) heat_ratio: f64,
    /// Height that planned orbits and passes keep above, m.
    pub(super) top: f64,
    /// Greatest height with an answer, m; the top or above it.
    pub(super) ceiling: f64,
    /// kg^½/m.
    pub(super) heating: Option<f64>,
}

/// By what an atmosphere is described.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum AirModel {
    /// Pressure at the ground (Pa), and (height in m, K) by height, at least one pair, rising from 0.
    Layers { pressure: f64, temperature: Vec<(f64, f64)> },
    /// Rows, two at least, by rising height, whether they give density, and (m, K) above the last one.
    Table { rows: Vec<Row>, has_density: bool, above: Vec<(f64, f64)> },
    /// Layers, one at least, by rising base from 0.
    Exponential { layers: Vec<Scale> },
    /// The U.S. Standard Atmosphere of 1976.
    Standard1976,
}

/// What the standard itself fixes.
pub(super) const STANDARD_1976: (f64, f64, f64) =
    (standard_1976::MOLAR_MASS, standard_1976::HEAT_RATIO, standard_1976::CEILING);

#[derive(Debug, Clone, PartialEq)]
enum Profile {
    Layers(Hydrostatic),
    Table(Box<Tabulated>),
    Exponential(Exponential),
    Standard1976(Box<Standard1976>),
}

/// The air at one height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirState {
    /// K.
    pub temperature: f64,
    /// Pa.
    pub pressure: f64,
    /// kg/m³.
    pub density: f64,
    /// Speed of sound, m/s.
    pub sound: f64,
    /// Of the mix, kg/mol.
    pub molar_mass: f64,
    /// Dynamic viscosity, Pa s, where the model gives it: the 1976 standard, to 86 km.
    pub viscosity: Option<f64>,
    /// Mean way of a molecule between collisions, m, where the model gives it: the 1976 standard.
    pub mean_free_path: Option<f64>,
}

impl Air {
    /// The air of a body with a gravitational parameter (m³/s²) and a radius (m).
    pub(super) fn new(body: (f64, f64), gas: Gas, model: AirModel) -> Self {
        let mass = gas.molar_mass;
        let profile = match model {
            AirModel::Layers { pressure, temperature } => {
                Profile::Layers(Hydrostatic::new(body, mass, pressure, temperature))
            }
            AirModel::Table { rows, has_density, above } => {
                Profile::Table(Box::new(Tabulated::new(body, mass, rows, has_density, &above)))
            }
            AirModel::Exponential { layers } => Profile::Exponential(Exponential::new(body, mass, layers)),
            AirModel::Standard1976 => Profile::Standard1976(Box::new(Standard1976::new())),
        };
        Self { profile, body, gas }
    }

    /// Pressure at height 0, Pa.
    pub fn surface_pressure(&self) -> f64 {
        self.at(0.0).map_or(0.0, |ground| ground.pressure)
    }

    /// Molar mass at the ground, kg/mol.
    pub fn molar_mass(&self) -> f64 {
        self.gas.molar_mass
    }

    /// Ratio of specific heats.
    pub fn heat_ratio(&self) -> f64 {
        self.gas.heat_ratio
    }

    /// Height that planned orbits and passes keep above, m: where entry is counted from.
    pub fn top(&self) -> f64 {
        self.gas.top
    }

    /// Height above which the model has no air, m: the top, or above it.
    pub fn ceiling(&self) -> f64 {
        self.gas.ceiling
    }

    /// Lowest height with an answer of its own, m: 0, or below it where a model reaches below its zero of height.
    pub fn bottom(&self) -> f64 {
        match &self.profile {
            Profile::Table(table) => table.bottom(),
            Profile::Standard1976(_) => standard_1976::BOTTOM,
            Profile::Layers(_) | Profile::Exponential(_) => 0.0,
        }
    }

    /// Stagnation heating constant, kg^½/m, where it is known. [Sutton1971]
    pub fn heating(&self) -> Option<f64> {
        self.gas.heating
    }

    /// Temperature at a height in m, K; that of the nearest height with an answer beyond the model's ends.
    pub fn temperature(&self, height: f64) -> f64 {
        self.inside(height.max(self.bottom()).min(self.gas.ceiling)).temperature
    }

    /// Pressure scale height at height 0, m: R T/(M g).
    pub fn scale_height(&self) -> f64 {
        let (gm, radius) = self.body;
        GAS_CONSTANT * self.temperature(0.0) / (self.gas.molar_mass * gm / (radius * radius))
    }

    /// The air at a height in m above the ground; none above the ceiling, and the lowest air's below the bottom.
    pub fn at(&self, height: f64) -> Option<AirState> {
        // Written so that a height that is not a number has no air either.
        let known = height <= self.gas.ceiling;
        known.then(|| self.inside(height.max(self.bottom())))
    }

    fn inside(&self, height: f64) -> AirState {
        let (temperature, pressure, density) = match &self.profile {
            Profile::Standard1976(standard) => return standard.at(height),
            Profile::Layers(layers) => {
                let (temperature, logarithm) = layers.at(height);
                let pressure = layers.base() * logarithm.exp();
                (temperature, pressure, pressure * self.gas.molar_mass / (GAS_CONSTANT * temperature))
            }
            Profile::Table(table) => {
                let (temperature, pressure, density) = table.at(height);
                (temperature, pressure.exp(), density.exp())
            }
            Profile::Exponential(layers) => layers.at(height),
        };
        AirState {
            temperature,
            pressure,
            density,
            sound: (self.gas.heat_ratio * GAS_CONSTANT * temperature / self.gas.molar_mass).sqrt(),
            molar_mass: self.gas.molar_mass,
            viscosity: None,
            mean_free_path: None,
        }
    }

    /// Logarithm of density (kg/m³) at a height inside the model, m; for the layers, where density itself may be too small to write.
    fn logarithm(&self, height: f64) -> f64 {
        match &self.profile {
            Profile::Standard1976(standard) => standard.logarithm(height),
            Profile::Layers(layers) => {
                let (temperature, logarithm) = layers.at(height);
                logarithm + (layers.base() * self.gas.molar_mass / (GAS_CONSTANT * temperature)).ln()
            }
            Profile::Table(table) => table.at(height).2,
            Profile::Exponential(layers) => layers.at(height).2.ln(),
        }
    }

    /// The smooth pieces of the density from bottom to ceiling, in rising order, each beginning where the one before ends.
    ///
    /// A flight restarts at every edge. Where the model's law is no polynomial in the logarithm, a piece meets it to about 1e-11.
    pub fn layers(&self) -> Vec<Layer> {
        let (bottom, ceiling) = (self.bottom(), self.gas.ceiling);
        let mut edges = match &self.profile {
            Profile::Layers(layers) => layers.heights(),
            Profile::Table(table) => table.heights(),
            Profile::Exponential(layers) => layers.heights(),
            Profile::Standard1976(_) => Standard1976::heights(),
        };
        edges.retain(|edge| bottom < *edge && *edge < ceiling);
        edges.insert(0, bottom);
        edges.push(ceiling);
        let mut found = Vec::new();
        for pair in edges.windows(2) {
            let ends = (pair[0], pair[1]);
            let line = match &self.profile {
                Profile::Table(table) => table.line(ends),
                Profile::Exponential(layers) => Some(layers.line(ends)),
                _ => None,
            };
            match line {
                Some(line) => found.push(line),
                None => fitted(ends, &|height| self.logarithm(height), &mut found),
            }
        }
        // Air too thin for its pressure to be written has the least that there is.
        let pressure = |height: f64| self.inside(height).pressure.max(f64::MIN_POSITIVE).ln();
        found.into_iter().map(|layer| layer.pressed(&pressure)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one_temperature() -> Air {
        let gas = Gas { molar_mass: 0.033, heat_ratio: 1.35, top: 4.0e5, ceiling: 4.0e5, heating: None };
        Air::new((1.57e13, 2.6e6), gas, AirModel::Layers { pressure: 8000.0, temperature: vec![(0.0, 200.0)] })
    }

    /// One temperature and 1/r² gravity have a closed form: p = p0 exp(−(M gm/(R T)) (1/r0 − 1/r)).
    #[test]
    fn isothermal_air_follows_its_closed_form() {
        let air = one_temperature();
        for height in [0.0, 1.0e3, 5.0e4, 2.0e5, 4.0e5] {
            let exponent = 0.033 * 1.57e13 / (GAS_CONSTANT * 200.0) * (1.0 / 2.6e6 - 1.0 / (2.6e6 + height));
            let expected = 8000.0 * (-exponent).exp();
            let found = air.at(height).expect("inside the air").pressure;
            // Eight nodes leave a relative error far below 1e-9 on an integrand as smooth as 1/r² over a sixth of the radius.
            assert!((found / expected - 1.0).abs() < 1e-9, "{height}: {found} against {expected}");
        }
    }

    #[test]
    fn there_is_no_air_above_the_ceiling_nor_at_no_height() {
        let air = one_temperature();
        assert!(air.at(4.000_001e5).is_none());
        assert!(air.at(f64::NAN).is_none());
        assert_eq!(air.at(-5.0), air.at(0.0));
    }
}
