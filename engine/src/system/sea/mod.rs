//! A sea: what liquid it is, how it gives under pressure, how deep it is.
//!
//! Three kinds of liquid: one of constant compressibility, sea water by a published equation of state, and the hydrocarbons of cold moons.
//! The column is integrated once, when the sea is built. docs/seas.md tells the methods. Figures for study and rehearsal: diving and pressure work
//! follow licensed practice and local codes.

pub mod column;
pub mod eos80;
mod fluids;
mod helmholtz;
pub mod hydrocarbon;
mod layer;
pub mod teos10;
pub mod viscosity;

pub use hydrocarbon::Mix;
pub use layer::SeaLayer;

/// One standard atmosphere, Pa, exact. (Resolution 4 of the 10th CGPM, 1954.)
const ONE_ATMOSPHERE: f64 = 101_325.0;

/// 0 °C, K, exact. [SI2019]
const ZERO_CELSIUS: f64 = 273.15;

/// The equation of state of sea water.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Equation {
    /// Of 2010, for absolute salinity and conservative temperature.
    Teos10,
    /// Of 1980, for practical salinity (over a thousand) and temperature in place.
    Eos80,
}

/// What a sea is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Water {
    /// Of constant compressibility.
    Linear {
        /// At the surface, kg/m³.
        density: f64,
        /// 1/Pa.
        compressibility: f64,
        /// Mass of salt over mass of water with its salt.
        salinity: f64,
        /// Dynamic, Pa s; `None`: that of sea water of its salinity and temperature.
        viscosity: Option<f64>,
    },
    /// Salt water by a published equation.
    SeaWater {
        /// Which one.
        equation: Equation,
        /// Mass of salt over mass of water with its salt.
        salinity: f64,
    },
    /// Methane, ethane and nitrogen.
    Hydrocarbon(Mix),
}

/// What surrounds a sea.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shore {
    /// Of the air on the surface, Pa.
    pub(super) air_pressure: f64,
    /// At the surface, m/s².
    pub(super) gravity: f64,
    /// Of the body, m.
    pub(super) radius: f64,
}

/// A sea at rest.
#[derive(Debug, Clone, PartialEq)]
pub struct Sea {
    water: Water,
    /// Depth in m and temperature in K, rising; constant beyond its ends. Empty where nothing is said.
    temperature: Vec<(f64, f64)>,
    depth: (f64, f64),
    sites: Vec<SeaSite>,
    shore: Shore,
    /// Relative growth of gravity with depth, 1/m.
    growth: f64,
    layers: Vec<SeaLayer>,
}

/// A named place on the sea floor.
#[derive(Debug, Clone, PartialEq)]
pub struct SeaSite {
    /// What the site is called.
    pub name: String,
    /// Depth below the surface, m.
    pub depth: f64,
}

/// Temperature that counts for the viscosity of a sea whose file gives none, K: 4 °C, the cold water that fills the Earth's deep seas
/// (common practice, no source).
const UNTOLD_TEMPERATURE: f64 = 277.15;

impl Sea {
    pub(super) fn new(
        water: Water,
        temperature: Vec<(f64, f64)>,
        depth: (f64, f64),
        sites: Vec<SeaSite>,
        shore: Shore,
    ) -> Self {
        let mut sea = Self { water, temperature, depth, sites, shore, growth: 0.0, layers: Vec::new() };
        if !matches!(water, Water::Linear { .. }) {
            // dg/dd = 2 g/R − 4πGρ: nearer to the body's mass, less the water above, to first order in depth over radius.
            let weight = 4.0 * std::f64::consts::PI * crate::constants::GRAVITATION * sea.law(0.0, 0.0, &mut None);
            sea.growth = 2.0 / shore.radius - weight / shore.gravity;
        }
        let mut ends = vec![0.0];
        ends.extend(sea.temperature.iter().map(|row| row.0).filter(|at| *at > 0.0 && *at < depth.1));
        ends.push(depth.1);
        let mut kept = None;
        sea.layers = column::layers(
            &ends,
            &mut |pressure, depth| sea.law(pressure, depth, &mut kept),
            &|depth| sea.gravity(depth),
            &|pressure, depth| sea.thickness(pressure, depth),
        );
        sea
    }

    /// Density at a pressure of the liquid (Pa) and a depth (m).
    fn law(&self, pressure: f64, depth: f64, kept: &mut hydrocarbon::Kept) -> f64 {
        let warmth = self.warmth(depth);
        let whole = pressure + self.shore.air_pressure;
        match self.water {
            Water::Linear { density, compressibility, .. } => density * (compressibility * pressure).exp(),
            Water::SeaWater { equation: Equation::Teos10, salinity } => {
                teos10::density(salinity, warmth, whole - ONE_ATMOSPHERE)
            }
            Water::SeaWater { equation: Equation::Eos80, salinity } => {
                eos80::density(salinity, warmth, whole - ONE_ATMOSPHERE)
            }
            Water::Hydrocarbon(mix) => mix.density(whole, warmth, kept),
        }
    }

    /// Viscosity at a pressure of the liquid (Pa) and a depth (m).
    fn thickness(&self, pressure: f64, depth: f64) -> f64 {
        match self.water {
            Water::Linear { viscosity: Some(viscosity), .. } => viscosity,
            Water::Linear { salinity, .. } | Water::SeaWater { salinity, .. } => {
                viscosity::of_sea_water(salinity, self.warmth(depth))
            }
            Water::Hydrocarbon(mix) => mix.at(pressure + self.shore.air_pressure, self.warmth(depth)).viscosity,
        }
    }

    fn warmth(&self, depth: f64) -> f64 {
        self.temperature(depth).unwrap_or(UNTOLD_TEMPERATURE)
    }

    /// What it is made of.
    pub fn water(&self) -> Water {
        self.water
    }

    /// Mass of salt over mass of water with its salt; zero for hydrocarbons.
    pub fn salinity(&self) -> f64 {
        match self.water {
            Water::Linear { salinity, .. } | Water::SeaWater { salinity, .. } => salinity,
            Water::Hydrocarbon(_) => 0.0,
        }
    }

    /// Density at the surface, kg/m³.
    pub fn surface_density(&self) -> f64 {
        self.density(0.0)
    }

    /// Compressibility at the surface, 1/Pa: that of the column, with its temperatures.
    pub fn compressibility(&self) -> f64 {
        if let Water::Linear { compressibility, .. } = self.water {
            return compressibility;
        }
        // Over 1e6 Pa, in which compressibility itself changes by less than 1e-3.
        let (low, high) = (self.law(0.0, 0.0, &mut None), self.law(1e6, 0.0, &mut None));
        (high / low).ln() / 1e6
    }

    /// Least and greatest depth, m.
    pub fn depth(&self) -> (f64, f64) {
        self.depth
    }

    /// Named places on the sea floor.
    pub fn sites(&self) -> &[SeaSite] {
        &self.sites
    }

    /// Smooth pieces from the surface down, for flights in lanes.
    pub fn layers(&self) -> &[SeaLayer] {
        &self.layers
    }

    /// Pressure of the air on the surface, Pa.
    pub fn air_pressure(&self) -> f64 {
        self.shore.air_pressure
    }

    /// Gravity at a depth in m, m/s²: constant in a sea of constant compressibility, growing toward the body's mass in the others.
    pub fn gravity(&self, depth: f64) -> f64 {
        self.shore.gravity * (1.0 + self.growth * depth)
    }

    /// Temperature at a depth in m, K, where the file gives it.
    pub fn temperature(&self, depth: f64) -> Option<f64> {
        let rows = &self.temperature;
        let (first, last) = (rows.first()?, rows.last()?);
        if depth <= first.0 {
            return Some(first.1);
        }
        let next = rows.partition_point(|row| row.0 <= depth);
        let Some(below) = rows.get(next) else { return Some(last.1) };
        let above = rows[next - 1];
        Some(above.1 + (below.1 - above.1) * (depth - above.0) / (below.0 - above.0))
    }

    /// The layer that holds a depth, the nearest one outside of all.
    pub fn layer_at(&self, depth: f64) -> Option<&SeaLayer> {
        let next = self.layers.partition_point(|layer| layer.bottom() <= depth);
        self.layers.get(next).or(self.layers.last())
    }

    /// Pressure of the water above a depth in m, in Pa; the air's comes on top.
    ///
    /// In a sea of constant compressibility density is rho0 exp(kappa p), so p = −ln(1 − kappa rho0 g d)/kappa; in others the column is integrated.
    /// Depths outside 0 to the greatest depth count as the nearer of the two.
    pub fn pressure(&self, depth: f64) -> f64 {
        let depth = depth.clamp(0.0, self.depth.1);
        if let Water::Linear { density, compressibility, .. } = self.water {
            return -(-compressibility * density * self.shore.gravity * depth).ln_1p() / compressibility;
        }
        if depth == 0.0 { 0.0 } else { self.layer_at(depth).map_or(0.0, |layer| layer.pressure(depth)) }
    }

    /// Density at a depth in m, kg/m³.
    pub fn density(&self, depth: f64) -> f64 {
        let depth = depth.clamp(0.0, self.depth.1);
        if let Water::Linear { density, compressibility, .. } = self.water {
            return density * (compressibility * self.pressure(depth)).exp();
        }
        self.layer_at(depth).map_or(0.0, |layer| layer.density(depth))
    }

    /// Dynamic viscosity at a depth in m, Pa s.
    pub fn viscosity(&self, depth: f64) -> f64 {
        let depth = depth.clamp(0.0, self.depth.1);
        self.layer_at(depth).map_or(0.0, |layer| layer.viscosity(depth))
    }

    /// Speed of sound at a depth in m, m/s; `None` with the equation of 1980, which does not give it.
    ///
    /// A sea of constant compressibility answers 1/√(κρ), as if it gave way without warming.
    pub fn sound_speed(&self, depth: f64) -> Option<f64> {
        let depth = depth.clamp(0.0, self.depth.1);
        let whole = self.pressure(depth) + self.shore.air_pressure;
        match self.water {
            Water::Linear { compressibility, .. } => Some(1.0 / (compressibility * self.density(depth)).sqrt()),
            Water::SeaWater { equation: Equation::Teos10, salinity } => {
                Some(teos10::sound_speed(salinity, self.warmth(depth), whole - ONE_ATMOSPHERE))
            }
            Water::SeaWater { equation: Equation::Eos80, .. } => None,
            Water::Hydrocarbon(mix) => Some(mix.at(whole, self.warmth(depth)).sound),
        }
    }

    /// Depth at which the water above presses with so many Pa, m; `None` beyond the greatest depth.
    pub fn depth_at(&self, pressure: f64) -> Option<f64> {
        let inside = pressure >= 0.0 && pressure <= self.pressure(self.depth.1);
        let over = |depth: f64| self.pressure(depth) - pressure;
        inside.then(|| crate::numerics::root::bracketed(over, 0.0, self.depth.1, 0.0).ok()).flatten()
    }
}
