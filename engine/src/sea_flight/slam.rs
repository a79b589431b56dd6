//! The blow of water on a body that enters it fast.
//!
//! The body shares its momentum with the water that it sets in motion, the added mass of a disk or plate as wide as the wetted width:
//! V = V₀ M/(M + m), deceleration = V₀² (m'/M)/(1 + m/M)³ with m' the growth of m with depth. [vonKarman1929]; with the water piled up beside the body, which makes it
//! wetted earlier, [Wagner1932]. Gravity, buoyancy and drag are left out: the blow is over in milliseconds.

use std::f64::consts::{FRAC_PI_2, PI};

use super::SeaFlightError;
use crate::numerics::minimum;

/// Whether the water piled up beside the body counts.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum PileUp {
    /// Left out. [vonKarman1929]
    #[default]
    None,
    /// Counted. [Wagner1932]
    Wagner,
}

/// The blow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slam {
    /// Greatest deceleration, m/s².
    pub deceleration: f64,
    /// How deep the body is then, m.
    pub depth: f64,
    /// How fast it still is, m/s.
    pub speed: f64,
    /// When, s after the first touch.
    pub time: f64,
}

fn positive(figures: &[(&'static str, f64)]) -> Result<(), SeaFlightError> {
    for (what, value) in figures {
        if !(*value > 0.0 && value.is_finite()) {
            return Err(SeaFlightError::Figure { what, value: *value, needs: "positive" });
        }
    }
    Ok(())
}

/// Of a long wedge.
///
/// - `mass`: per length, kg/m; `deadrise`: angle of its sides above the water, rad; `speed`: m/s; `density`: kg/m³.
///
/// # Errors
/// A figure that is none.
///
/// # Source
/// [vonKarman1929]: m = ½ π ρ c² with c = z/tan β, so 1/(1 + k z²); the peak at z = 1/√(5k). Wagner's pile-up makes c larger by π/2.
pub fn wedge(mass: f64, deadrise: f64, speed: f64, density: f64, pile_up: PileUp) -> Result<Slam, SeaFlightError> {
    positive(&[("the mass per length in kg/m", mass), ("the speed in m/s", speed), ("the density in kg/m³", density)])?;
    if !(deadrise > 0.0 && deadrise < FRAC_PI_2) {
        let what = "the deadrise in rad";
        return Err(SeaFlightError::Figure { what, value: deadrise, needs: "between 0 and a quarter turn" });
    }
    let wider = if pile_up == PileUp::Wagner { FRAC_PI_2 } else { 1.0 };
    let k = PI * density * (wider / deadrise.tan()).powi(2) / (2.0 * mass);
    let depth = 1.0 / (5.0 * k).sqrt();
    Ok(Slam {
        deceleration: 2.0 * speed * speed * (k / 5.0).sqrt() / 1.2_f64.powi(3),
        depth,
        speed: speed / 1.2,
        // V = V₀/(1 + k z²) integrates to z + k z³/3 = V₀ t.
        time: depth * (1.0 + 1.0 / 15.0) / speed,
    })
}

/// Of a round bottom, flat on calm water.
///
/// - `mass`: kg; `radius`: of the bottom's curve, m; `speed`: m/s; `density`: kg/m³.
///
/// # Errors
/// A figure that is none.
///
/// # Source
/// [vonKarman1929]; half of a disk's added mass, 4/3 ρ c³, with c² = 2 R z − z², or 3 R z with Wagner's pile-up.
pub fn round_bottom(mass: f64, radius: f64, speed: f64, density: f64, pile_up: PileUp) -> Result<Slam, SeaFlightError> {
    positive(&[
        ("the mass in kg", mass),
        ("the radius in m", radius),
        ("the speed in m/s", speed),
        ("the density in kg/m³", density),
    ])?;
    let scale = 4.0 / 3.0 * density / mass;
    // Wetted radius squared and its growth with depth.
    let wetted = |z: f64| match pile_up {
        PileUp::None => (2.0 * radius * z - z * z, 2.0 * (radius - z)),
        PileUp::Wagner => (3.0 * radius * z, 3.0 * radius),
    };
    let share = |z: f64| scale * wetted(z).0.max(0.0).powf(1.5);
    let deceleration = |z: f64| {
        let (square, growth) = wetted(z);
        let gain = scale * 1.5 * square.max(0.0).sqrt() * growth;
        speed * speed * gain / (1.0 + share(z)).powi(3)
    };
    // The peak comes where m/M is about 1/7 (exactly there for a shallow cap); it is looked for between the touch and ten times that depth.
    let guess = (1.0 / (7.0 * scale)).powf(2.0 / 3.0) / (2.0 * radius);
    let (depth, least) = minimum::bracketed(|z| -deceleration(z), 0.0, (10.0 * guess).min(radius), 1e-12 * radius);
    // t = ∫ (1 + m/M) dz/V₀; in √z the integrand is smooth.
    let mut time = 0.0;
    super::quadrature::MANY.straight(0.0, depth.sqrt(), |root, weight| {
        time += weight * 2.0 * root * (1.0 + share(root * root)) / speed;
    });
    Ok(Slam { deceleration: -least, depth, speed: speed / (1.0 + share(depth)), time })
}
