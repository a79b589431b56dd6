//! A sea: salt, density, how it gives under pressure, how deep it is.

/// A sea of constant compressibility under constant gravity.
///
/// Figures for study: diving and pressure follow licensed practice.
#[derive(Debug, Clone, PartialEq)]
pub struct Sea {
    pub(super) salinity: f64,
    pub(super) surface_density: f64,
    pub(super) compressibility: f64,
    pub(super) depth: (f64, f64),
    pub(super) sites: Vec<SeaSite>,
    pub(super) gravity: f64,
}

/// A named place on the sea floor.
#[derive(Debug, Clone, PartialEq)]
pub struct SeaSite {
    /// What the site is called.
    pub name: String,
    /// Depth below the surface, m.
    pub depth: f64,
}

impl Sea {
    /// Mass of salt over mass of water with its salt.
    pub fn salinity(&self) -> f64 {
        self.salinity
    }

    /// Density at the surface, kg/m³.
    pub fn surface_density(&self) -> f64 {
        self.surface_density
    }

    /// Compressibility, 1/Pa.
    pub fn compressibility(&self) -> f64 {
        self.compressibility
    }

    /// Least and greatest depth, m.
    pub fn depth(&self) -> (f64, f64) {
        self.depth
    }

    /// Named places on the sea floor.
    pub fn sites(&self) -> &[SeaSite] {
        &self.sites
    }

    /// Pressure of the water above a depth in m, in Pa; the air's comes on top.
    ///
    /// Density rho0 exp(kappa p) in hydrostatic balance: p = −ln(1 − kappa rho0 g d)/kappa. Depths outside 0 to the greatest
    /// depth count as the nearer of the two.
    pub fn pressure(&self, depth: f64) -> f64 {
        let depth = depth.clamp(0.0, self.depth.1);
        -(-self.compressibility * self.surface_density * self.gravity * depth).ln_1p() / self.compressibility
    }

    /// Density at a depth in m, kg/m³.
    pub fn density(&self, depth: f64) -> f64 {
        self.surface_density * (self.compressibility * self.pressure(depth)).exp()
    }
}
