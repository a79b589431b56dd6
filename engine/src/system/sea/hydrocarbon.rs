//! The liquid of a cold sea: methane, ethane and dissolved nitrogen.
//!
//! Each part keeps the molar volume of its own liquid at the pressure and temperature of the sea (on its boiling line where it would boil there, as nitrogen
//! does), and the logarithms of viscosities add by mole (Arrhenius). Real mixtures of these are up to a few parts in a hundred denser.

use super::fluids::{ETHANE, METHANE, NITROGEN};
use super::helmholtz::Fluid;
use super::viscosity;

/// Shares by mole of methane, ethane and nitrogen; they add up to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mix {
    shares: [f64; 3],
}

/// A liquid at one pressure and temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Liquid {
    /// kg/m³.
    pub density: f64,
    /// Dynamic, Pa s.
    pub viscosity: f64,
    /// m/s.
    pub sound: f64,
}

/// A temperature in K with the vapour pressure (Pa) and the boiling liquid's density (mol/m³) of each part.
pub(super) type Kept = Option<(f64, [(f64, f64); 3])>;

const PARTS: [&Fluid; 3] = [&METHANE, &ETHANE, &NITROGEN];
const VISCOSITIES: [fn(f64, f64) -> f64; 3] = [viscosity::of_methane, viscosity::of_ethane, viscosity::of_nitrogen];

impl Mix {
    /// Of shares by mole of methane, ethane and nitrogen, which are scaled to add up to 1; `None` where one is negative or all are zero.
    pub fn new(methane: f64, ethane: f64, nitrogen: f64) -> Option<Self> {
        let shares = [methane, ethane, nitrogen];
        let sum: f64 = shares.iter().sum();
        let sound = shares.iter().all(|share| *share >= 0.0) && sum > 0.0 && sum.is_finite();
        sound.then(|| Self { shares: shares.map(|share| share / sum) })
    }

    /// Shares by mole of methane, ethane and nitrogen.
    pub fn shares(&self) -> [f64; 3] {
        self.shares
    }

    fn parts(&self) -> impl Iterator<Item = (f64, &'static Fluid, usize)> {
        let shares = self.shares;
        PARTS.into_iter().enumerate().filter(move |(i, _)| shares[*i] > 0.0).map(move |(i, part)| (shares[i], part, i))
    }

    /// Least and greatest temperature at which all parts are liquids, K.
    pub fn temperatures(&self) -> (f64, f64) {
        self.parts().fold((0.0, f64::INFINITY), |(least, most): (f64, f64), (_, part, _)| {
            // Close to the critical point the first guesses of the liquid's density end.
            (least.max(part.triple_temperature), most.min(0.98 * part.critical_temperature))
        })
    }

    /// At an absolute pressure (Pa) and a temperature (K).
    ///
    /// Sound by Wood's rule: compressibilities at fixed entropy add by volume.
    ///
    /// # Source
    /// Densities: [SetzmannWagner1991], [BueckerWagner2006], [SpanEtAl2000]; viscosities: [QuinonesCisneros2006], [FriendEtAl1991], [LemmonJacobsen2004].
    pub fn at(&self, pressure: f64, temperature: f64) -> Liquid {
        let (mut mass, mut volume, mut logarithm, mut give) = (0.0, 0.0, 0.0, 0.0);
        for (share, part, i) in self.parts() {
            let (vapour, boiling) = part.boiling(temperature);
            let density = if pressure > vapour { part.liquid_density(pressure, temperature) } else { boiling };
            let there = part.at(density, temperature);
            mass += share * part.molar_mass;
            volume += share / density;
            logarithm += share * VISCOSITIES[i](density, temperature).ln();
            give += share / density / (density * part.molar_mass * there.sound * there.sound);
        }
        let density = mass / volume;
        Liquid { density, viscosity: logarithm.exp(), sound: (volume / (give * density)).sqrt() }
    }

    /// Density alone, kg/m³. The boiling lines at the last temperature are kept for the next call: a column asks often at one temperature.
    pub(super) fn density(&self, pressure: f64, temperature: f64, kept: &mut Kept) -> f64 {
        let lines = match kept {
            Some((at, lines)) if *at == temperature => *lines,
            _ => {
                let mut lines = [(0.0, 0.0); 3];
                for (_, part, i) in self.parts() {
                    lines[i] = part.boiling(temperature);
                }
                *kept = Some((temperature, lines));
                lines
            }
        };
        let (mut mass, mut volume) = (0.0, 0.0);
        for (share, part, i) in self.parts() {
            let (vapour, boiling) = lines[i];
            let density = if pressure > vapour { part.liquid_density(pressure, temperature) } else { boiling };
            mass += share * part.molar_mass;
            volume += share / density;
        }
        mass / volume
    }

    /// Vapour pressure of a part at a temperature in K, Pa: methane, ethane or nitrogen by number from 0; `None` beyond them.
    pub fn vapour_pressure(part: usize, temperature: f64) -> Option<f64> {
        let part = PARTS.get(part)?;
        let inside = temperature >= part.triple_temperature && temperature < part.critical_temperature;
        inside.then(|| part.boiling(temperature).0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_scaled_and_refused() {
        assert_eq!(Mix::new(7.0, 2.0, 1.0).unwrap().shares(), [0.7, 0.2, 0.1]);
        assert!(Mix::new(-0.1, 1.0, 0.0).is_none() && Mix::new(0.0, 0.0, 0.0).is_none());
        assert!(Mix::new(f64::NAN, 1.0, 0.0).is_none());
    }

    /// Both roads to the density are one, above and below nitrogen's boiling line (4.6 bar at 92 K).
    #[test]
    fn both_roads_to_the_density_agree() {
        let mix = Mix::new(0.7, 0.15, 0.15).unwrap();
        for pressure in [1.5e5, 1e6] {
            assert!((mix.at(pressure, 92.0).density / mix.density(pressure, 92.0, &mut None) - 1.0).abs() < 1e-12);
        }
    }
}
