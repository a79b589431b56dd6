//! Density that falls exponentially, with one scale height or with one for each of several layers.

use super::GAS_CONSTANT;
use super::layer::{Layer, Polynomial};

/// One layer: its base (m), the density there (kg/m³) and its scale height (m).
pub(super) type Scale = [f64; 3];

/// Layers by rising base, the first at the ground. Where one begins, density is what it says, whatever the one below ends with.
///
/// In each layer pressure is density times g times scale height, with the attraction g at its base: the one temperature that keeps such a
/// layer in balance.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Exponential {
    layers: Vec<Scale>,
    body: (f64, f64),
    molar_mass: f64,
}

impl Exponential {
    /// `layers` are one at least.
    pub(super) fn new(body: (f64, f64), molar_mass: f64, layers: Vec<Scale>) -> Self {
        Self { layers, body, molar_mass }
    }

    /// Bases of the layers, m.
    pub(super) fn heights(&self) -> Vec<f64> {
        self.layers.iter().map(|layer| layer[0]).collect()
    }

    fn layer(&self, height: f64) -> Scale {
        self.layers[self.layers.partition_point(|layer| layer[0] <= height).saturating_sub(1)]
    }

    /// Temperature (K), pressure (Pa), density (kg/m³) at a height from the ground up, m.
    pub(super) fn at(&self, height: f64) -> (f64, f64, f64) {
        let [base, density, scale] = self.layer(height);
        let density = density * (-(height - base) / scale).exp();
        let distance = self.body.1 + base;
        let energy = self.body.0 / (distance * distance) * scale;
        (self.molar_mass * energy / GAS_CONSTANT, density * energy, density)
    }

    /// The layer between two heights within one.
    pub(super) fn line(&self, ends: (f64, f64)) -> Layer {
        let [base, density, scale] = self.layer(ends.0);
        let at = |height: f64| density.ln() - (height - base) / scale;
        Layer::new(Polynomial::line(ends, (at(ends.0), at(ends.1))))
    }
}
