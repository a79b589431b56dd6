//! The shape of a body's gravity beyond its mass.

/// Zonal harmonics of a gravity field, unnormalised, and C22 where it is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Harmonics {
    pub(super) reference_radius: f64,
    pub(super) zonal: [f64; 5],
    pub(super) c22: f64,
}

impl Harmonics {
    /// The radius that the coefficients belong to, m; not always the equatorial one.
    pub fn reference_radius(&self) -> f64 {
        self.reference_radius
    }

    /// Zonal coefficient J of degree 2 to 6, unnormalised; zero where none is known.
    pub fn zonal(&self, degree: usize) -> f64 {
        degree.checked_sub(2).and_then(|index| self.zonal.get(index)).copied().unwrap_or(0.0)
    }

    /// Sectorial coefficient C22, unnormalised; zero where none is known.
    pub fn c22(&self) -> f64 {
        self.c22
    }
}
