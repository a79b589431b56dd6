//! The air of a body: temperature by height, pressure by hydrostatic balance.

/// Molar gas constant, J/(mol K), exact. [CODATA2018]
const GAS_CONSTANT: f64 = 8.314_462_618;

/// Nodes and weights of the eight-point rule of Gauss and Legendre on −1..1, the positive half. [Abramowitz1964], table 25.4
const GAUSS: [(f64, f64); 4] = [
    (0.183_434_642_495_649_80, 0.362_683_783_378_361_98),
    (0.525_532_409_916_328_99, 0.313_706_645_877_887_29),
    (0.796_666_477_413_626_74, 0.222_381_034_453_374_47),
    (0.960_289_856_497_536_23, 0.101_228_536_290_376_26),
];

/// A layered atmosphere at rest: one mix of ideal gas, temperature linear between given heights, gravity as 1/r².
///
/// Figures for study: entry and flight through air follow licensed practice and range safety.
#[derive(Debug, Clone, PartialEq)]
pub struct Air {
    pub(super) surface_pressure: f64,
    pub(super) molar_mass: f64,
    pub(super) heat_ratio: f64,
    pub(super) top: f64,
    pub(super) temperature: Vec<(f64, f64)>,
    pub(super) heating: Option<f64>,
    gm: f64,
    radius: f64,
    /// ln(pressure/surface pressure) at each given height.
    logarithms: Vec<f64>,
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
}

impl Air {
    /// Builds the air of a body. `temperature` holds (height in m, K), at least one pair, heights rising from 0.
    pub(super) fn new(
        (gm, radius): (f64, f64),
        (surface_pressure, molar_mass, heat_ratio, top): (f64, f64, f64, f64),
        temperature: Vec<(f64, f64)>,
        heating: Option<f64>,
    ) -> Self {
        let mut air = Self {
            surface_pressure,
            molar_mass,
            heat_ratio,
            top,
            temperature,
            heating,
            gm,
            radius,
            logarithms: vec![0.0],
        };
        let mut logarithm = 0.0;
        for index in 1..air.temperature.len() {
            logarithm -= air.fall(index - 1, air.temperature[index].0);
            air.logarithms.push(logarithm);
        }
        air
    }

    /// Pressure at the ground, Pa.
    pub fn surface_pressure(&self) -> f64 {
        self.surface_pressure
    }

    /// Molar mass, kg/mol.
    pub fn molar_mass(&self) -> f64 {
        self.molar_mass
    }

    /// Ratio of specific heats.
    pub fn heat_ratio(&self) -> f64 {
        self.heat_ratio
    }

    /// Height above which the model has no air, m.
    pub fn top(&self) -> f64 {
        self.top
    }

    /// Stagnation heating constant, kg^½/m, where it is known. [Sutton1971]
    pub fn heating(&self) -> Option<f64> {
        self.heating
    }

    /// Temperature at a height in m, K; that of the nearest given height outside the given ones.
    pub fn temperature(&self, height: f64) -> f64 {
        self.temperature_in(self.layer(height), height)
    }

    /// Pressure scale height at the ground, m: R T/(M g).
    pub fn scale_height(&self) -> f64 {
        GAS_CONSTANT * self.temperature(0.0) / (self.molar_mass * self.gm / (self.radius * self.radius))
    }

    /// The air at a height in m above the ground; none above the top, and the ground's below it.
    pub fn at(&self, height: f64) -> Option<AirState> {
        // Written so that a height that is not a number has no air either.
        let inside = height <= self.top;
        if !inside {
            return None;
        }
        let height = height.max(0.0);
        let layer = self.layer(height);
        let temperature = self.temperature_in(layer, height);
        let pressure = self.surface_pressure * (self.logarithms[layer] - self.fall(layer, height)).exp();
        Some(AirState {
            temperature,
            pressure,
            density: pressure * self.molar_mass / (GAS_CONSTANT * temperature),
            sound: (self.heat_ratio * GAS_CONSTANT * temperature / self.molar_mass).sqrt(),
        })
    }

    fn layer(&self, height: f64) -> usize {
        self.temperature.partition_point(|(start, _)| *start <= height).saturating_sub(1)
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
        let at = |z: f64| {
            let distance = self.radius + z;
            self.gm / (distance * distance * self.temperature_in(layer, z))
        };
        let sum: f64 = GAUSS.iter().map(|(x, w)| w * (at(middle - half * x) + at(middle + half * x))).sum();
        self.molar_mass / GAS_CONSTANT * half * sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One temperature and 1/r² gravity have a closed form: p = p0 exp(−(M gm/(R T)) (1/r0 − 1/r)).
    #[test]
    fn isothermal_air_follows_its_closed_form() {
        let air = Air::new((1.57e13, 2.6e6), (8000.0, 0.033, 1.35, 4.0e5), vec![(0.0, 200.0)], None);
        for height in [0.0, 1.0e3, 5.0e4, 2.0e5, 4.0e5] {
            let exponent = 0.033 * 1.57e13 / (GAS_CONSTANT * 200.0) * (1.0 / 2.6e6 - 1.0 / (2.6e6 + height));
            let expected = 8000.0 * (-exponent).exp();
            let found = air.at(height).expect("inside the air").pressure;
            // Eight nodes leave a relative error far below 1e-9 on an integrand as smooth as 1/r² over a sixth of the radius.
            assert!((found / expected - 1.0).abs() < 1e-9, "{height}: {found} against {expected}");
        }
    }

    #[test]
    fn there_is_no_air_above_the_top_nor_at_no_height() {
        let air = Air::new((1.57e13, 2.6e6), (8000.0, 0.033, 1.35, 4.0e5), vec![(0.0, 200.0)], None);
        assert!(air.at(4.000_001e5).is_none());
        assert!(air.at(f64::NAN).is_none());
        assert_eq!(air.at(-5.0), air.at(0.0));
    }
}
