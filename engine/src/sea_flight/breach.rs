//! A buoyant body that comes up through the surface: how high it leaps, how hard it falls back.
//!
//! Over its height z above the water, ½ M v² loses to weight and drag what buoyancy does not give, and loses with every part that leaves the water the energy of the
//! water moved along with it, which stays behind: dE/dz = ρ g V(z) − m g − ρ C_D A E/M + E M'/M with M = m + k ρ V(z). Linear in E, so followed in z.
//! [Newman1977], chapter 4, for the energy of the water; no air.

use super::SeaFlightError;
use super::craft::UP;
use super::floating::Water;
use super::solid::Solid;

/// What becomes of a body that surfaces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Breach {
    /// Height of its lowest point above the water at the top of its leap, m; below zero it stays in the water.
    pub height: f64,
    /// Speed at which it leaves the water, m/s; `None` where it does not.
    pub exit_speed: Option<f64>,
    /// Speed at which it falls back onto the water, m/s; `None` where it does not leave it.
    pub splash_speed: Option<f64>,
    /// Time in the air, s.
    pub time_in_air: f64,
}

/// Follows a body from where its top touches the surface from below.
///
/// - `hulls`: what displaces; `mass`: kg; `speed`: up, m/s; `drag_area`: C_D A, m²; `added_mass`: over the water displaced.
///
/// # Errors
/// No hull, a figure that is none.
///
/// # Source
/// As the module.
pub fn breach(
    hulls: &[Solid],
    mass: f64,
    speed: f64,
    drag_area: f64,
    added_mass: f64,
    water: &Water,
) -> Result<Breach, SeaFlightError> {
    water.check()?;
    if hulls.is_empty() {
        return Err(SeaFlightError::NoHull);
    }
    if !(mass > 0.0 && mass.is_finite()) {
        return Err(SeaFlightError::Figure { what: "the mass in kg", value: mass, needs: "positive" });
    }
    let figures = [("the speed in m/s", speed), ("the drag area in m²", drag_area), ("the added mass", added_mass)];
    for (what, value) in figures {
        if !(value >= 0.0 && value.is_finite()) {
            return Err(SeaFlightError::Figure { what, value, needs: "zero or more" });
        }
    }
    let ends = hulls.iter().map(Solid::heights);
    let (low, high) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (a, b)| (low.min(a), high.max(b)));
    // Volume under water when the lowest point is z above the water.
    let volume = |z: f64| hulls.iter().map(|hull| hull.below(&UP, low - z).volume).sum::<f64>();
    let inertia = |z: f64| mass + added_mass * water.density * volume(z);
    let height = high - low;
    let slope = |z: f64, energy: f64| {
        // Volume has kinks where solids begin and end; a central difference of a ten-thousandth of the height is as good as the step.
        let h = 1e-4 * height;
        let shed = (inertia(z + h) - inertia(z - h)) / (2.0 * h);
        let under = volume(z);
        let whole = inertia(z);
        let drag = if under > 0.0 { water.density * drag_area * energy / whole } else { 0.0 };
        water.gravity * (water.density * under - mass) - drag + energy * shed / whole
    };
    /// Steps of the classical Runge-Kutta method over the height.
    const STEPS: usize = 2000;
    let step = height / STEPS as f64;
    let (mut z, mut energy) = (-height, 0.5 * inertia(-height) * speed * speed);
    for _ in 0..STEPS {
        let k1 = slope(z, energy);
        let k2 = slope(z + 0.5 * step, energy + 0.5 * step * k1);
        let k3 = slope(z + 0.5 * step, energy + 0.5 * step * k2);
        let k4 = slope(z + step, energy + step * k3);
        let next = energy + step / 6.0 * (k1 + 2.0 * (k2 + k3) + k4);
        if next <= 0.0 {
            // The energy runs out within the step: it falls almost evenly there.
            let share = if energy > next { energy / (energy - next) } else { 0.0 };
            return Ok(Breach { height: z + share * step, exit_speed: None, splash_speed: None, time_in_air: 0.0 });
        }
        energy = next;
        z += step;
    }
    let exit = (2.0 * energy / mass).sqrt();
    Ok(Breach {
        height: exit * exit / (2.0 * water.gravity),
        exit_speed: Some(exit),
        splash_speed: Some(exit),
        time_in_air: 2.0 * exit / water.gravity,
    })
}
