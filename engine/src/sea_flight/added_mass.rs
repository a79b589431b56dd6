//! The water that must be moved with a body: added mass of simple forms.

use std::f64::consts::PI;

/// Added mass of a spheroid as a share of the water it displaces, along its axis of symmetry and across it.
///
/// - `slenderness`: length over greatest diameter; above 1 prolate, below 1 oblate, 1 a sphere (½ and ½).
///
/// # Source
/// [Lamb1932], articles 114 and 115; the integrals in their closed forms.
pub fn of_spheroid(slenderness: f64) -> (f64, f64) {
    let q = slenderness;
    // Near the sphere the closed forms lose all digits: a series in e² = 1 − 1/q² or 1 − q² to the fifth power is below 1e-9 there.
    let alpha = if (q - 1.0).abs() < 0.02 {
        series(q)
    } else if q > 1.0 {
        let e2 = 1.0 - 1.0 / (q * q);
        let e = e2.sqrt();
        2.0 * (1.0 - e2) / (e * e2) * (e.atanh() - e)
    } else {
        let e2 = 1.0 - q * q;
        let e = e2.sqrt();
        2.0 / (e * e2) * (e - (1.0 - e2).sqrt() * e.asin())
    };
    // The three integrals of an ellipsoid add up to 2.
    let beta = 1.0 - 0.5 * alpha;
    (alpha / (2.0 - alpha), beta / (2.0 - beta))
}

/// α₀ near a sphere: ∫ q du/((q² + u)^(3/2) (1 + u)) over u from 0, expanded in s = q² − 1 about the sphere.
fn series(q: f64) -> f64 {
    // With u = 1/t² − 1: α₀ = 2 q ∫ t² (1 + s t²)^(−3/2) dt from 0 to 1, so each power of s brings binomial(−3/2, k)/(2k + 3).
    let s = q * q - 1.0;
    let (mut binomial, mut power, mut sum) = (1.0, 1.0, 0.0);
    for k in 0..14 {
        let k = f64::from(k);
        sum += binomial * power / (2.0 * k + 3.0);
        binomial *= (-1.5 - k) / (k + 1.0);
        power *= s;
    }
    2.0 * q * sum
}

/// A form whose added mass is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Moved {
    /// Sphere of a radius, m: ½ of the water displaced. kg.
    Sphere(f64),
    /// Disk of a radius, broadside on, m: 8/3 ρ a³. kg.
    Disk(f64),
    /// Disk of a radius floating on the water, m: half of it. kg.
    FloatingDisk(f64),
    /// Long cylinder of a radius across the stream, m: π ρ a². kg/m.
    Cylinder(f64),
    /// Long plate of half a width, broadside on, m: π ρ a². kg/m.
    Plate(f64),
    /// Long square bar of half a side, m: 1.51 π ρ a², a table's figure. kg/m.
    Square(f64),
}

/// Added mass in water of a density (kg/m³): kg, or kg/m for the long ones.
///
/// # Source
/// [Newman1977], chapter 4; [Lamb1932].
pub fn of(form: Moved, density: f64) -> f64 {
    match form {
        Moved::Sphere(a) => 2.0 / 3.0 * PI * density * a.powi(3),
        Moved::Disk(a) => 8.0 / 3.0 * density * a.powi(3),
        Moved::FloatingDisk(a) => 4.0 / 3.0 * density * a.powi(3),
        Moved::Cylinder(a) | Moved::Plate(a) => PI * density * a * a,
        Moved::Square(a) => 1.51 * PI * density * a * a,
    }
}

/// Acceleration from rest, up, m/s²: (ρV − m) g/(m + k ρ V).
///
/// - `mass`: kg; `volume`: m³; `share`: k, the added mass over the water displaced; `density`: kg/m³; `gravity`: m/s².
///
/// # Source
/// [Newman1977], chapter 4.
pub fn first_acceleration(mass: f64, volume: f64, share: f64, density: f64, gravity: f64) -> f64 {
    let displaced = density * volume;
    (displaced - mass) * gravity / (mass + share * displaced)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sphere_moves_half_of_what_it_displaces() {
        let (along, across) = of_spheroid(1.0);
        assert!((along - 0.5).abs() < 1e-15 && (across - 0.5).abs() < 1e-15);
    }

    #[test]
    fn series_and_closed_forms_meet() {
        // At q = 1.02 and 0.98 the closed forms lose some five digits, the series ends below 1e-16.
        for q in [0.979_999, 0.980_001, 1.019_999, 1.020_001] {
            let step = of_spheroid(q * (1.0 + 2e-6)).0 - of_spheroid(q * (1.0 - 2e-6)).0;
            // d k/dq is about −0.6 there: a jump would show against it.
            assert!((step / (4e-6 * q) + 0.6).abs() < 0.05, "{q}: {step}");
        }
    }

    #[test]
    fn a_thin_spheroid_is_a_disk() {
        // 8/3 ρ a³ over 4/3 π ρ a² c = 2/(π c/a).
        let thin = 1e-4;
        assert!((of_spheroid(thin).0 * thin * PI / 2.0 - 1.0).abs() < 1e-3);
    }
}
