//! Water standing at rest: pressure against depth.

use super::layer::SeaLayer;

/// Pressure below a depth of liquid of one density, Pa.
///
/// - `density`: kg/m³; `gravity`: m/s²; `above`: pressure on the surface, Pa; `depth`: m.
///
/// # Source
/// [White2011], chapter 2.
pub fn pressure_at_constant_density(density: f64, gravity: f64, above: f64, depth: f64) -> f64 {
    above + density * gravity * depth
}

/// Pressure (Pa, of the liquid alone) and density (kg/m³) at a depth in a liquid of constant bulk modulus under constant gravity.
///
/// ρ = ρ₀ e^(p/K) in hydrostatic balance: p = −K ln(1 − ρ₀ g d/K), ρ = ρ₀/(1 − ρ₀ g d/K).
///
/// - `density`: at the surface, kg/m³; `gravity`: m/s²; `bulk_modulus`: K = ρ ∂p/∂ρ, Pa; `depth`: m.
/// - Returns `None` where the column would shrink to nothing: ρ₀ g d at or above K.
///
/// # Source
/// [White2011], chapter 2, integrated.
pub fn at_constant_bulk_modulus(density: f64, gravity: f64, bulk_modulus: f64, depth: f64) -> Option<(f64, f64)> {
    let squeeze = density * gravity * depth / bulk_modulus;
    (squeeze < 1.0).then(|| (-bulk_modulus * (-squeeze).ln_1p(), density / (1.0 - squeeze)))
}

/// Depth at which that liquid reaches a pressure (Pa, of the liquid alone), m: the inverse of [`at_constant_bulk_modulus`].
pub fn depth_at_constant_bulk_modulus(density: f64, gravity: f64, bulk_modulus: f64, pressure: f64) -> f64 {
    -bulk_modulus / (density * gravity) * (-pressure / bulk_modulus).exp_m1()
}

/// Least and greatest depth of a stretch, and the pressure of the liquid at its upper end (Pa).
type Stretch = ((f64, f64), f64);

/// Layers of a liquid whose density follows from pressure and depth, each fitted until the fit meets the law to 1e-11.
///
/// - `ends`: depths between which the law is smooth, rising, m.
/// - `density`: kg/m³ by pressure of the liquid alone (Pa) and depth (m).
/// - `gravity`: m/s² by depth.
/// - `viscosity`: Pa s by pressure and depth.
pub(super) fn layers(
    ends: &[f64],
    density: &mut dyn FnMut(f64, f64) -> f64,
    gravity: &dyn Fn(f64) -> f64,
    viscosity: &dyn Fn(f64, f64) -> f64,
) -> Vec<SeaLayer> {
    /// Halvings of one stretch beyond which no liquid's law goes.
    const HALVINGS: u32 = 12;
    let mut found = Vec::new();
    let mut pressure = 0.0;
    for pair in ends.windows(2) {
        let mut waiting = vec![((pair[0], pair[1]), 0)];
        while let Some((stretch, halved)) = waiting.pop() {
            let (layer, met, below) = fitted((stretch, pressure), density, gravity, viscosity);
            if met || halved >= HALVINGS {
                found.push(layer);
                pressure = below;
            } else {
                let middle = 0.5 * (stretch.0 + stretch.1);
                waiting.push(((middle, stretch.1), halved + 1));
                waiting.push(((stretch.0, middle), halved + 1));
            }
        }
    }
    found
}

/// One layer, whether its fit is good, and the pressure at its lower end.
fn fitted(
    ((top, bottom), above): Stretch,
    density: &mut dyn FnMut(f64, f64) -> f64,
    gravity: &dyn Fn(f64) -> f64,
    viscosity: &dyn Fn(f64, f64) -> f64,
) -> (SeaLayer, bool, f64) {
    let mut nodes = SeaLayer::nodes((top, bottom));
    // The nodes come from the bottom up; the column is followed from the top down.
    nodes.reverse();
    let (mut depth, mut pressure) = (top, above);
    let mut advance = |depth: &mut f64, pressure: &mut f64, to: f64| {
        // The classical Runge-Kutta step of order 4: density changes by less than 1e-3 between two nodes, so it errs by far less than the fit.
        let h = to - *depth;
        let mut slope = |d: f64, p: f64| density(p, d) * gravity(d);
        let k1 = slope(*depth, *pressure);
        let k2 = slope(*depth + 0.5 * h, *pressure + 0.5 * h * k1);
        let k3 = slope(*depth + 0.5 * h, *pressure + 0.5 * h * k2);
        let k4 = slope(to, *pressure + h * k3);
        *pressure += h / 6.0 * (k1 + 2.0 * (k2 + k3) + k4);
        *depth = to;
        density(*pressure, to)
    };
    let mut values = nodes.map(|to| {
        let dense = advance(&mut depth, &mut pressure, to);
        [dense, pressure, viscosity(pressure, to).ln()]
    });
    advance(&mut depth, &mut pressure, bottom);
    values.reverse();
    let (layer, met) = SeaLayer::through((top, bottom), &values);
    (layer, met, pressure)
}
