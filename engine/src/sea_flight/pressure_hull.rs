//! Hulls under outer pressure: stress and buckling of round shells, and what gas and hull keep of their volume at depth.
//!
//! First-order formulas for study: a hull that people enter or that may hurt someone follows a licensed design code, its tests and its inspections.

use super::SeaFlightError;

/// A wall's material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// Young's modulus, Pa.
    pub young: f64,
    /// Poisson's ratio.
    pub poisson: f64,
}

/// A spherical shell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SphericalHull {
    /// Of its inner face, m.
    pub inner_radius: f64,
    /// Thickness, m.
    pub wall: f64,
    /// What it is made of.
    pub material: Material,
}

/// A cylindrical shell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TubularHull {
    /// Of the middle of its wall, m.
    pub radius: f64,
    /// Thickness, m.
    pub wall: f64,
    /// Between ends or rings that stay round, m.
    pub length: f64,
    /// What it is made of.
    pub material: Material,
}

/// Stresses (below zero in compression) and pressures at which a sphere buckles, Pa.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SphereAnswer {
    /// Membrane stress of a thin shell on its middle radius.
    pub membrane: f64,
    /// Hoop stress at the inner face of a thick one.
    pub inner: f64,
    /// Hoop stress at its outer face.
    pub outer: f64,
    /// Buckling of a perfect shell.
    pub buckling_perfect: f64,
    /// Least buckling of shells as they are made.
    pub buckling_made: f64,
}

/// Pressures at which a tube buckles, Pa, and its hoop stress.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TubeAnswer {
    /// As if it were endless.
    pub long: f64,
    /// With its ends held round; meaningful up to `longest` only.
    pub held: f64,
    /// Length up to which the held ends matter, m.
    pub longest: f64,
    /// The one of the two that holds at its length.
    pub buckling: f64,
    /// Hoop stress over pressure.
    pub stress_share: f64,
}

fn shell(figures: &[(&'static str, f64)], material: &Material) -> Result<(), SeaFlightError> {
    for (what, value) in figures.iter().chain(&[("Young's modulus in Pa", material.young)]) {
        if !(*value > 0.0 && value.is_finite()) {
            return Err(SeaFlightError::Figure { what, value: *value, needs: "positive" });
        }
    }
    let nu = material.poisson;
    if (0.0..0.5).contains(&nu) {
        return Ok(());
    }
    Err(SeaFlightError::Figure { what: "Poisson's ratio", value: nu, needs: "from 0 to less than 0.5" })
}

impl SphericalHull {
    /// Under an outer pressure in Pa, empty inside.
    ///
    /// # Errors
    /// A measure that is none.
    ///
    /// # Source
    /// [YoungBudynas2002]: thin and thick spheres, table 15.2 (classical buckling after Zoelly, and the least of tests, 0.365 E (t/r)²).
    pub fn under(&self, pressure: f64) -> Result<SphereAnswer, SeaFlightError> {
        shell(&[("the inner radius in m", self.inner_radius), ("the wall in m", self.wall)], &self.material)?;
        let (ri, t) = (self.inner_radius, self.wall);
        let (ro, r) = (ri + t, ri + 0.5 * t);
        let cubes = ro.powi(3) - ri.powi(3);
        let thin = (t / r) * (t / r);
        let Material { young, poisson } = self.material;
        Ok(SphereAnswer {
            membrane: -pressure * r / (2.0 * t),
            inner: -1.5 * pressure * ro.powi(3) / cubes,
            outer: -pressure * (ro.powi(3) + 0.5 * ri.powi(3)) / cubes,
            buckling_perfect: 2.0 * young * thin / (3.0 * (1.0 - poisson * poisson)).sqrt(),
            buckling_made: 0.365 * young * thin,
        })
    }

    /// Bulk modulus of the hull as a whole, Pa: by how much pressure its outer volume gives way, ΔV/V = −p/K.
    ///
    /// # Errors
    /// A measure that is none.
    ///
    /// # Source
    /// [YoungBudynas2002], thick sphere, by Hooke's law at its outer face.
    pub fn bulk_modulus(&self) -> Result<f64, SeaFlightError> {
        shell(&[("the inner radius in m", self.inner_radius), ("the wall in m", self.wall)], &self.material)?;
        let (ri, ro) = (self.inner_radius, self.inner_radius + self.wall);
        let Material { young, poisson } = self.material;
        // Strain of the outer face: (σ_hoop (1 − ν) − ν σ_radial)/E with σ_hoop = −p (ro³ + ½ ri³)/(ro³ − ri³), σ_radial = −p.
        let hoop = (ro.powi(3) + 0.5 * ri.powi(3)) / (ro.powi(3) - ri.powi(3));
        let strain = (hoop * (1.0 - poisson) - poisson) / young;
        Ok(1.0 / (3.0 * strain))
    }
}

impl TubularHull {
    /// Its buckling pressures.
    ///
    /// # Errors
    /// A measure that is none.
    ///
    /// # Source
    /// [YoungBudynas2002], table 15.2, cases 19 and 20.
    pub fn buckling(&self) -> Result<TubeAnswer, SeaFlightError> {
        let figures =
            [("the radius in m", self.radius), ("the wall in m", self.wall), ("the length in m", self.length)];
        shell(&figures, &self.material)?;
        let (r, t) = (self.radius, self.wall);
        let Material { young, poisson } = self.material;
        let round = 1.0 / (1.0 - poisson * poisson);
        let long = 0.25 * young * round * (t / r).powi(3);
        let held = 0.807 * young * t * t / (self.length * r) * (round.powi(3) * t * t / (r * r)).powf(0.25);
        let longest = 4.9 * r * (r / t).sqrt();
        let buckling = if self.length >= longest { long } else { held };
        Ok(TubeAnswer { long, held, longest, buckling, stress_share: r / t })
    }
}

/// Depth at which a hull of a buckling pressure (Pa) is used up to, m, in liquid of one density.
///
/// - `safety`: the pressure is divided by it; `above`: pressure on the surface, Pa.
///
/// # Source
/// Hydrostatics; the factor is the designer's.
pub fn depth_limit(buckling: f64, safety: f64, density: f64, gravity: f64, above: f64) -> f64 {
    (buckling / safety - above) / (density * gravity)
}

/// Volume of a gas that gives way freely, at another pressure and the same temperature, m³. (Boyle's law.)
pub fn gas_volume(volume: f64, pressure: f64, new_pressure: f64) -> f64 {
    volume * pressure / new_pressure
}
