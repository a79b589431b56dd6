//! A pure fluid by its reference equation of state: the Helmholtz energy as a function of density and temperature.
//!
//! The reduced energy is α(δ, τ) = α⁰ + αʳ with δ = ρ/ρ_c and τ = T_c/T; pressure, sound speed and the balance of liquid and vapour are its derivatives.
//! Source of the form: [SetzmannWagner1991], section 4; each fluid names its own equation.

/// A term n δ^d τ^t exp(−δ^l) of αʳ; l = 0 stands for no exponential.
pub(super) type Power = (f64, i32, f64, i32);

/// A term n δ^d τ^t exp(−η (δ − 1)² − β (τ − γ)²) of αʳ.
pub(super) type Bell = (f64, i32, f64, [f64; 3]);

/// A fluid and its equation.
pub(super) struct Fluid {
    /// K.
    pub(super) critical_temperature: f64,
    /// Pa.
    pub(super) critical_pressure: f64,
    /// mol/m³.
    pub(super) critical_density: f64,
    /// K.
    pub(super) triple_temperature: f64,
    /// kg/mol.
    pub(super) molar_mass: f64,
    /// J/(mol K), the one that the equation was fitted with.
    pub(super) gas_constant: f64,
    /// Coefficient of ln τ in α⁰.
    pub(super) logarithm: f64,
    /// Terms n ln(1 − e^(−θτ)) of α⁰.
    pub(super) oscillators: &'static [(f64, f64)],
    pub(super) powers: &'static [Power],
    pub(super) bells: &'static [Bell],
    /// Liquid on the boiling line, a first guess: ln(ρ/ρ_c) as a sum of n θ^t with θ = 1 − T/T_c.
    pub(super) liquid: &'static [(f64, f64)],
    /// Vapour pressure, a first guess: ln(p/p_c) = T_c/T times a sum of n θ^t.
    pub(super) vapour: &'static [(f64, f64)],
}

/// αʳ and its derivatives: δ αʳ_δ, δ² αʳ_δδ, τ² αʳ_ττ, δ τ αʳ_δτ, with the value itself first, and τ αʳ_τ last.
#[derive(Default)]
struct Residual {
    value: f64,
    d: f64,
    dd: f64,
    tt: f64,
    dt: f64,
}

/// A liquid or gas at a density and temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct FluidState {
    /// Pa.
    pub(super) pressure: f64,
    /// ∂p/∂ρ at fixed temperature, J/mol.
    pub(super) stiffness: f64,
    /// ∂p/∂T at fixed density, Pa/K.
    pub(super) warming: f64,
    /// m/s.
    pub(super) sound: f64,
    /// αʳ + δ αʳ_δ + ln δ, which liquid and vapour share in balance.
    potential: f64,
}

impl Fluid {
    fn residual(&self, delta: f64, tau: f64) -> Residual {
        let mut sum = Residual::default();
        for &(n, d, t, l) in self.powers {
            let swell = if l == 0 { 0.0 } else { delta.powi(l) };
            let term = n * delta.powi(d) * tau.powf(t) * if l == 0 { 1.0 } else { (-swell).exp() };
            let (d, l) = (f64::from(d), f64::from(l));
            let first = d - l * swell;
            sum.value += term;
            sum.d += term * first;
            sum.dd += term * (first * (first - 1.0) - l * l * swell);
            sum.tt += term * t * (t - 1.0);
            sum.dt += term * first * t;
        }
        for &(n, d, t, [eta, beta, gamma]) in self.bells {
            let (off, away) = (delta - 1.0, tau - gamma);
            let term = n * delta.powi(d) * tau.powf(t) * (-eta * off * off - beta * away * away).exp();
            let d = f64::from(d);
            let (first, warm) = (d - 2.0 * eta * delta * off, t - 2.0 * beta * tau * away);
            sum.value += term;
            sum.d += term * first;
            sum.dd += term * (first * first - d - 2.0 * eta * delta * delta);
            sum.tt += term * (warm * warm - t - 2.0 * beta * tau * tau);
            sum.dt += term * first * warm;
        }
        sum
    }

    /// At a density in mol/m³ and a temperature in K.
    pub(super) fn at(&self, density: f64, temperature: f64) -> FluidState {
        let (delta, tau) = (density / self.critical_density, self.critical_temperature / temperature);
        let residual = self.residual(delta, tau);
        // τ² α⁰_ττ.
        let ideal = self.oscillators.iter().fold(-self.logarithm, |sum, &(n, theta)| {
            let decay = (-theta * tau).exp();
            sum - n * (theta * tau).powi(2) * decay / ((1.0 - decay) * (1.0 - decay))
        });
        let scale = self.gas_constant * temperature;
        let (flat, steep) = (1.0 + residual.d, 1.0 + 2.0 * residual.d + residual.dd);
        let warm = 1.0 + residual.d - residual.dt;
        let sound = scale / self.molar_mass * (steep - warm * warm / (ideal + residual.tt));
        FluidState {
            pressure: density * scale * flat,
            stiffness: scale * steep,
            warming: density * self.gas_constant * warm,
            sound: sound.max(0.0).sqrt(),
            potential: residual.value + residual.d + delta.ln(),
        }
    }

    fn series(&self, terms: &[(f64, f64)], temperature: f64) -> f64 {
        let theta = (1.0 - temperature / self.critical_temperature).max(0.0);
        terms.iter().map(|(n, t)| n * theta.powf(*t)).sum()
    }

    /// Density of the liquid at a pressure (Pa) and temperature (K), mol/m³.
    ///
    /// Newton's method from the boiling line: beyond it the pressure rises steeply and evenly with density.
    pub(super) fn liquid_density(&self, pressure: f64, temperature: f64) -> f64 {
        let mut density = self.critical_density * self.series(self.liquid, temperature).exp();
        for _ in 0..30 {
            let there = self.at(density, temperature);
            let step = (pressure - there.pressure) / there.stiffness;
            density += step;
            // The step after a step of 1e-9 is below a rounding.
            if step.abs() <= 1e-9 * density {
                break;
            }
        }
        density
    }

    /// Vapour pressure (Pa) at a temperature in K, and the density of the liquid there, mol/m³.
    ///
    /// Equal pressures and equal chemical potentials of both, by Newton's method in the two densities. [Akasaka2008]
    pub(super) fn boiling(&self, temperature: f64) -> (f64, f64) {
        let scale = self.gas_constant * temperature;
        let exponent = self.critical_temperature / temperature * self.series(self.vapour, temperature);
        let guess = self.critical_pressure * exponent.exp();
        let (mut liquid, mut gas) = (self.liquid_density(guess, temperature), guess / scale);
        for _ in 0..30 {
            let (wet, dry) = (self.at(liquid, temperature), self.at(gas, temperature));
            let push = dry.pressure - wet.pressure;
            let pull = dry.potential - wet.potential;
            // ∂(potential)/∂ρ = (∂p/∂ρ)/(ρ R T).
            let (a, b) = (wet.stiffness, dry.stiffness);
            let (c, d) = (a / (liquid * scale), b / (gas * scale));
            let determinant = b * c - a * d;
            let (more_liquid, more_gas) = ((b * pull - d * push) / determinant, (a * pull - c * push) / determinant);
            liquid += more_liquid;
            // A gas may not vanish on the way.
            gas = (gas + more_gas).max(0.1 * gas);
            if more_liquid.abs() <= 1e-10 * liquid && more_gas.abs() <= 1e-10 * gas {
                break;
            }
        }
        (self.at(gas, temperature).pressure, liquid)
    }
}

#[cfg(test)]
mod tests {
    use super::super::fluids::{ETHANE, METHANE, NITROGEN};

    /// Derivatives of pressure against differences, which hold αʳ_δδ and αʳ_δτ; steps of 1e-6 leave 1e-8 at best.
    #[test]
    fn derivatives_are_those_of_the_pressure() {
        for fluid in [&METHANE, &ETHANE, &NITROGEN] {
            let (rho, t) = (2.4 * fluid.critical_density, 0.6 * fluid.critical_temperature);
            let there = fluid.at(rho, t);
            let by_density =
                (fluid.at(rho * (1.0 + 1e-6), t).pressure - fluid.at(rho * (1.0 - 1e-6), t).pressure) / (2e-6 * rho);
            let by_warmth =
                (fluid.at(rho, t * (1.0 + 1e-6)).pressure - fluid.at(rho, t * (1.0 - 1e-6)).pressure) / (2e-6 * t);
            assert!((there.stiffness / by_density - 1.0).abs() < 1e-7, "{} {by_density}", there.stiffness);
            assert!((there.warming / by_warmth - 1.0).abs() < 1e-7, "{} {by_warmth}", there.warming);
        }
    }

    /// Handbook boiling points at one atmosphere: 111.667, 184.569 and 77.355 K, to the 1e-4 of the fits' own pressures.
    #[test]
    fn fluids_boil_where_handbooks_say() {
        for (fluid, boiling) in [(&METHANE, 111.667), (&ETHANE, 184.569), (&NITROGEN, 77.355)] {
            let (pressure, _) = fluid.boiling(boiling);
            assert!((pressure / 101_325.0 - 1.0).abs() < 3e-4, "{pressure} at {boiling}");
        }
    }

    /// At the triple points the reference equations give 11.696 kPa, 1.142 Pa and 12.52 kPa.
    #[test]
    fn fluids_have_their_triple_points() {
        for (fluid, expected) in [(&METHANE, 11_696.0), (&ETHANE, 1.142_1), (&NITROGEN, 12_519.8)] {
            let (pressure, liquid) = fluid.boiling(fluid.triple_temperature);
            assert!((pressure / expected - 1.0).abs() < 1e-4, "{pressure}");
            let squeezed = fluid.liquid_density(1e6, fluid.triple_temperature);
            assert!(squeezed > liquid && squeezed < 1.01 * liquid);
        }
    }
}
