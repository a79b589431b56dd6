//! What holds a body at a depth: neutral depth of a hull that gives way, ballast.

use super::SeaFlightError;

/// Where a body hangs in water that gives way under pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NeutralDepth {
    /// Of the water, Pa.
    pub pressure: f64,
    /// m.
    pub depth: f64,
    /// Whether it comes back when moved: the hull is stiffer than the water.
    pub stable: bool,
}

/// Depth at which a body neither sinks nor rises, in water and with a hull of constant bulk moduli: ln(m/(ρ₀V₀)) = p (1/K_w − 1/K_h).
///
/// - `mass`: kg; `volume`: at the surface, m³; `density`: of the water at the surface, kg/m³; `moduli`: of water and hull, Pa; `gravity`: m/s².
/// - Returns `None` where there is no such depth below the surface.
///
/// # Errors
/// A figure that is none.
///
/// # Source
/// Archimedes, with ρ = ρ₀ e^(p/K) for both.
pub fn neutral_depth(
    mass: f64,
    volume: f64,
    density: f64,
    moduli: (f64, f64),
    gravity: f64,
) -> Result<Option<NeutralDepth>, SeaFlightError> {
    let figures = [
        ("the mass in kg", mass),
        ("the volume in m³", volume),
        ("the density in kg/m³", density),
        ("the bulk modulus of the water in Pa", moduli.0),
        ("the bulk modulus of the hull in Pa", moduli.1),
        ("gravity in m/s²", gravity),
    ];
    for (what, value) in figures {
        if !(value > 0.0 && value.is_finite()) {
            return Err(SeaFlightError::Figure { what, value, needs: "positive" });
        }
    }
    let stable = moduli.1 > moduli.0;
    let pressure = (mass / (density * volume)).ln() / (1.0 / moduli.0 - 1.0 / moduli.1);
    if !(pressure >= 0.0 && pressure.is_finite()) {
        return Ok(None);
    }
    let depth = crate::system::sea::column::depth_at_constant_bulk_modulus(density, gravity, moduli.0, pressure);
    Ok(Some(NeutralDepth { pressure, depth, stable }))
}

/// Ballast that is carried outside and displaces water itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ballast {
    /// Of the body without it, kg.
    pub dry_mass: f64,
    /// Of the body without it, m³.
    pub dry_volume: f64,
    /// Of the ballast, kg/m³.
    pub density: f64,
}

impl Ballast {
    /// Ballast mass at which the body with it weighs so many kg more than the water it displaces: m_b (1 − ρ/ρ_b) = ρV − m + net.
    ///
    /// - `net`: kg, zero to hang; `liquid`: density of the water, kg/m³.
    ///
    /// # Errors
    /// Ballast that is no denser than the water.
    ///
    /// # Source
    /// Archimedes.
    pub fn for_net(&self, net: f64, liquid: f64) -> Result<f64, SeaFlightError> {
        if !(self.density > liquid) {
            let what = "the density of the ballast in kg/m³";
            return Err(SeaFlightError::Figure { what, value: self.density, needs: "above that of the water" });
        }
        Ok((liquid * self.dry_volume - self.dry_mass + net) / (1.0 - liquid / self.density))
    }

    /// What lifts the body once the ballast is dropped, as kg of water, kg.
    pub fn lift_after_drop(&self, liquid: f64) -> f64 {
        liquid * self.dry_volume - self.dry_mass
    }
}
