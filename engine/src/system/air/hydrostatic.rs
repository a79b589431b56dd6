//! Temperature by height, pressure by hydrostatic balance.

use super::GAS_CONSTANT;

/// Nodes and weights of the eight-point rule of Gauss and Legendre on −1..1, the positive half. [Abramowitz1964], table 25.4
const GAUSS: [(f64, f64); 4] = [
    (0.183_434_642_495_649_80, 0.362_683_783_378_361_98),
    (0.525_532_409_916_328_99, 0.313_706_645_877_887_29),
    (0.796_666_477_413_626_74, 0.222_381_034_453_374_47),
    (0.960_289_856_497_536_23, 0.101_228_536_290_376_26),
];

/// One mix of ideal gas at rest: temperature linear between given heights, gravity as 1/r².
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Hydrostatic {
    /// Gravitational parameter (m³/s²) and radius (m) of the body.
    body: (f64, f64),
    molar_mass: f64,
    /// Pressure at the first height, Pa.
    base: f64,
    /// Heights in m, rising, and K.
    temperature: Vec<(f64, f64)>,
    /// ln(pressure/base) at each given height.
    logarithms: Vec<f64>,
}

impl Hydrostatic {
    /// `temperature` has at least one pair.
    pub(super) fn new(body: (f64, f64), molar_mass: f64, base: f64, temperature: Vec<(f64, f64)>) -> Self {
        let mut air = Self { body, molar_mass, base, temperature, logarithms: vec![0.0] };
        let mut logarithm = 0.0;
        for index in 1..air.temperature.len() {
            logarithm -= air.fall(index - 1, air.temperature[index].0);
            air.logarithms.push(logarithm);
        }
        air
    }

    /// The given heights, m.
    pub(super) fn heights(&self) -> Vec<f64> {
        self.temperature.iter().map(|(height, _)| *height).collect()
    }

    /// Temperature (K) and the logarithm of pressure (Pa) at a height, m, not below the first one.
    pub(super) fn at(&self, height: f64) -> (f64, f64) {
        let layer = self.temperature.partition_point(|(start, _)| *start <= height).saturating_sub(1);
        (self.temperature_in(layer, height), self.logarithms[layer] - self.fall(layer, height))
    }

    pub(super) fn base(&self) -> f64 {
        self.base
    }

    fn temperature_in(&self, layer: usize, height: f64) -> f64 {
        let (start, below) = self.temperature[layer];
        match self.temperature.get(layer + 1) {
            Some((end, above)) => below + (above - below) * ((height - start) / (end - start)).clamp(0.0, 1.0),
            None => below,
        }
    }

    /// How far the logarithm of pressure falls from the start of a layer to a height in it: the integral of M g/(R T).
    fn fall(&self, layer: usize, height: f64) -> f64 {
        let start = self.temperature[layer].0;
        let (middle, half) = (0.5 * (height + start), 0.5 * (height - start));
        let (gm, radius) = self.body;
        let at = |z: f64| {
            let distance = radius + z;
            gm / (distance * distance * self.temperature_in(layer, z))
        };
        let sum: f64 = GAUSS.iter().map(|(x, w)| w * (at(middle - half * x) + at(middle + half * x))).sum();
        self.molar_mass / GAS_CONSTANT * half * sum
    }
}
