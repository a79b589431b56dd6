//! A measured or published profile: rows of temperature, pressure and density by height.

use super::GAS_CONSTANT;
use super::hydrostatic::Hydrostatic;
use super::layer::{Layer, Polynomial};

/// One row: height (m), temperature (K), pressure (Pa), density (kg/m³).
pub(super) type Row = [f64; 4];

/// Rows by rising height; temperature linear between them, pressure and density linear in the logarithm.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tabulated {
    rows: Vec<Row>,
    /// Whether density stands in the rows; else it follows from the gas law at every height.
    has_density: bool,
    molar_mass: f64,
    /// What is above the last row: hydrostatic from its pressure.
    above: Hydrostatic,
}

impl Tabulated {
    /// `rows` are two at least. Above the last one the temperature goes on through the pairs of `above`.
    pub(super) fn new(
        body: (f64, f64),
        molar_mass: f64,
        rows: Vec<Row>,
        has_density: bool,
        above: &[(f64, f64)],
    ) -> Self {
        let last = rows.last().copied().unwrap_or([0.0, 1.0, 0.0, 0.0]);
        let temperature = [(last[0], last[1])].into_iter().chain(above.iter().copied()).collect();
        let above = Hydrostatic::new(body, molar_mass, last[2], temperature);
        Self { rows, has_density, molar_mass, above }
    }

    /// Height of the lowest row, m.
    pub(super) fn bottom(&self) -> f64 {
        self.rows.first().map_or(0.0, |row| row[0])
    }

    /// Heights of rows and of what goes on above them, m.
    pub(super) fn heights(&self) -> Vec<f64> {
        self.rows.iter().map(|row| row[0]).chain(self.above.heights().into_iter().skip(1)).collect()
    }

    /// Temperature (K), and the logarithms of pressure (Pa) and density (kg/m³) at a height, m, not below the lowest row.
    pub(super) fn at(&self, height: f64) -> (f64, f64, f64) {
        let above = self.rows.partition_point(|row| row[0] <= height);
        let (Some(low), Some(high)) = (self.rows.get(above.wrapping_sub(1)), self.rows.get(above)) else {
            return self.beyond(height);
        };
        let part = (height - low[0]) / (high[0] - low[0]);
        let temperature = low[1] + (high[1] - low[1]) * part;
        let between = |column: usize| low[column].ln() * (1.0 - part) + high[column].ln() * part;
        let pressure = between(2);
        let density = if self.has_density { between(3) } else { pressure + self.by_gas_law(temperature) };
        (temperature, pressure, density)
    }

    /// On the last row, and above it.
    fn beyond(&self, height: f64) -> (f64, f64, f64) {
        if let Some(last) = self.rows.last().filter(|last| last[0] == height) {
            let density = if self.has_density { last[3].ln() } else { last[2].ln() + self.by_gas_law(last[1]) };
            return (last[1], last[2].ln(), density);
        }
        let (temperature, logarithm) = self.above.at(height);
        let pressure = self.above.base().ln() + logarithm;
        (temperature, pressure, pressure + self.by_gas_law(temperature))
    }

    /// Logarithm of density over pressure.
    fn by_gas_law(&self, temperature: f64) -> f64 {
        (self.molar_mass / (GAS_CONSTANT * temperature)).ln()
    }

    /// The straight line in the logarithm of density between two rows; none where the law is another.
    pub(super) fn line(&self, ends: (f64, f64)) -> Option<Layer> {
        let row = |height: f64| self.rows.iter().find(|row| row[0] == height);
        let (low, high) = (row(ends.0)?, row(ends.1)?);
        self.has_density.then(|| Layer::new(Polynomial::line(ends, (low[3].ln(), high[3].ln()))))
    }
}
