//! Bodies that sink or rise evenly: terminal speeds, and the motion from rest under drag that grows with the square of the speed.

use super::SeaFlightError;
use super::drag::DragLaw;
use crate::numerics::root;

/// A body in liquid of one density whose drag coefficient does not change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EvenMotion {
    /// Weight less buoyancy, N; below zero it rises.
    pub net_weight: f64,
    /// m/s.
    pub terminal_speed: f64,
    /// At rest, m/s².
    pub first_acceleration: f64,
    /// Terminal speed over first acceleration, s.
    pub time_constant: f64,
}

impl EvenMotion {
    /// Of a body.
    ///
    /// - `mass`: kg; `volume`: m³; `added`: added mass over the mass of water displaced; `drag_area`: C_D A, m²; `density`: kg/m³; `gravity`: m/s².
    ///
    /// # Errors
    /// A figure that is none, a body that neither sinks nor rises.
    ///
    /// # Source
    /// (m + m_a) dv/dt = |m − ρV| g − ½ ρ C_D A v² [Newman1977], chapter 2.
    pub fn new(
        mass: f64,
        volume: f64,
        added: f64,
        drag_area: f64,
        density: f64,
        gravity: f64,
    ) -> Result<Self, SeaFlightError> {
        let figures = [
            ("the mass in kg", mass),
            ("the volume in m³", volume),
            ("the drag area in m²", drag_area),
            ("the density in kg/m³", density),
            ("gravity in m/s²", gravity),
        ];
        for (what, value) in figures {
            if !(value > 0.0 && value.is_finite()) {
                return Err(SeaFlightError::Figure { what, value, needs: "positive" });
            }
        }
        let net_weight = (mass - density * volume) * gravity;
        if net_weight == 0.0 || !(added >= 0.0) {
            let needs = "such that it sinks or rises";
            return Err(SeaFlightError::Figure { what: "weight less buoyancy in N", value: net_weight, needs });
        }
        let terminal_speed = (2.0 * net_weight.abs() / (density * drag_area)).sqrt();
        let first_acceleration = net_weight.abs() / (mass + added * density * volume);
        let time_constant = terminal_speed / first_acceleration;
        Ok(Self { net_weight, terminal_speed, first_acceleration, time_constant })
    }

    /// Speed (m/s) and way (m) after a time from rest, s: v_t tanh(t/τ) and v_t τ ln cosh(t/τ).
    pub fn after(&self, time: f64) -> (f64, f64) {
        let share = time / self.time_constant;
        // ln cosh x = x + ln((1 + e^(−2x))/2), without overflow.
        let logarithm = share + (-2.0 * share).exp().ln_1p() - std::f64::consts::LN_2;
        (self.terminal_speed * share.tanh(), self.terminal_speed * self.time_constant * logarithm)
    }

    /// Time to cover a way from rest, s: τ arcosh(exp(s/(v_t τ))).
    pub fn time_for(&self, way: f64) -> f64 {
        let share = way / (self.terminal_speed * self.time_constant);
        // arcosh e^x = x + ln(1 + √(1 − e^(−2x))).
        self.time_constant * (share + (-(-2.0 * share).exp_m1()).max(0.0).sqrt().ln_1p())
    }
}

/// A sphere at its terminal speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settling {
    /// Down, m/s; below zero it rises.
    pub speed: f64,
    /// Reynolds number on the diameter.
    pub reynolds: f64,
    /// Drag coefficient on the frontal area.
    pub drag_coefficient: f64,
}

/// The liquid around a small body: density in kg/m³, dynamic viscosity in Pa s, gravity in m/s².
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surrounding {
    /// kg/m³.
    pub density: f64,
    /// Pa s.
    pub viscosity: f64,
    /// m/s².
    pub gravity: f64,
}

/// Terminal speed of a sphere: weight less buoyancy against the drag of a law.
///
/// - `diameter`: m; `density`: of the sphere, kg/m³.
///
/// # Errors
/// A figure that is none; a sphere as dense as the liquid.
///
/// # Source
/// C_D Re² = 4/3 |ρ_s − ρ| ρ g d³/μ², the Archimedes number times 4/3, which does not hold the speed: the Reynolds number is its root. [CliftEtAl1978], chapter 5.
pub fn sphere(diameter: f64, density: f64, law: DragLaw, liquid: &Surrounding) -> Result<Settling, SeaFlightError> {
    let figures = [
        ("the diameter in m", diameter),
        ("the density of the sphere in kg/m³", density),
        ("the density of the liquid in kg/m³", liquid.density),
        ("the viscosity in Pa s", liquid.viscosity),
        ("gravity in m/s²", liquid.gravity),
    ];
    for (what, value) in figures {
        if !(value > 0.0 && value.is_finite()) {
            return Err(SeaFlightError::Figure { what, value, needs: "positive" });
        }
    }
    let excess = density - liquid.density;
    let number =
        4.0 / 3.0 * excess.abs() * liquid.density * liquid.gravity * diameter.powi(3) / liquid.viscosity.powi(2);
    // Drag rises with speed for every law but in the crisis, where the least root is taken: the flow comes from rest.
    let over = |logarithm: f64| {
        let reynolds = logarithm.exp();
        law.coefficient(reynolds) * reynolds * reynolds - number
    };
    let (low, high) = (1e-30_f64.ln(), 1e12_f64.ln());
    let logarithm = root::bracketed(over, low, high, 0.0).map_err(|_| SeaFlightError::Figure {
        what: "the Archimedes number",
        value: number,
        needs: "such that the sphere moves",
    })?;
    let reynolds = logarithm.exp();
    let speed = reynolds * liquid.viscosity / (liquid.density * diameter);
    Ok(Settling { speed: speed.copysign(excess), reynolds, drag_coefficient: law.coefficient(reynolds) })
}
