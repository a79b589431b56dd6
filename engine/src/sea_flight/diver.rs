//! A body that dives: what it weighs and displaces, how the water holds it back, what it stands.

use super::SeaFlightError;
use super::drag::DragLaw;

/// Drag in one direction of the body.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Facing {
    /// Drag coefficient by Reynolds number.
    pub law: DragLaw,
    /// Frontal area, m².
    pub area: f64,
    /// Diameter that the Reynolds number counts with, m.
    pub diameter: f64,
    /// Added mass over the mass of water displaced.
    pub added_mass: f64,
}

impl Facing {
    /// A constant drag area C_D A (m²) and an added mass.
    pub fn constant(drag_area: f64, added_mass: f64) -> Self {
        Self { law: DragLaw::Constant(1.0), area: drag_area, diameter: 1.0, added_mass }
    }

    /// A sphere of a diameter, m.
    pub fn sphere(diameter: f64, law: DragLaw) -> Self {
        Self { law, area: std::f64::consts::FRAC_PI_4 * diameter * diameter, diameter, added_mass: 0.5 }
    }
}

/// A body that dives.
#[derive(Debug, Clone, PartialEq)]
pub struct Diver {
    /// All of it but the ballast that is dropped, kg.
    pub mass: f64,
    /// What is dropped to rise, kg.
    pub ballast: f64,
    /// Density of the ballast where it hangs outside the hull, kg/m³; `None` where the hull's volume holds it and fills with water.
    pub ballast_density: Option<f64>,
    /// Displaced at the surface, without ballast outside, m³.
    pub volume: f64,
    /// How stiff the hull is against outer pressure, Pa; `None`: it does not give way.
    pub bulk_modulus: Option<f64>,
    /// Along its axis, which points down when it is not tilted.
    pub along: Facing,
    /// Across its axis.
    pub across: Facing,
    /// Height from its lowest to its highest point, m: it has surfaced when its middle is half of that deep.
    pub height: f64,
    /// Half of its greatest width, m, for clearances.
    pub half_width: f64,
    /// Pressure that the hull stands, Pa, the air's included.
    pub rated_pressure: Option<f64>,
    /// Speed of contact that the legs stand, m/s.
    pub rated_contact: Option<f64>,
    /// Drawn all the time, W.
    pub power: f64,
    /// In the battery, J.
    pub battery: Option<f64>,
}

impl Diver {
    /// Whether every figure means something.
    ///
    /// # Errors
    /// A figure that is none, by name.
    pub fn check(&self) -> Result<(), SeaFlightError> {
        let positive = [
            ("the mass in kg", self.mass),
            ("the volume in m³", self.volume),
            ("the bulk modulus in Pa", self.bulk_modulus.unwrap_or(1.0)),
            ("the density of the ballast in kg/m³", self.ballast_density.unwrap_or(1.0)),
            ("the frontal area along the axis in m²", self.along.area),
            ("the frontal area across the axis in m²", self.across.area),
            ("the diameter along the axis in m", self.along.diameter),
            ("the diameter across the axis in m", self.across.diameter),
            ("the rated pressure in Pa", self.rated_pressure.unwrap_or(1.0)),
            ("the rated speed of contact in m/s", self.rated_contact.unwrap_or(1.0)),
        ];
        for (what, value) in positive {
            if !(value > 0.0 && value.is_finite()) {
                return Err(SeaFlightError::Figure { what, value, needs: "positive" });
            }
        }
        let others = [
            ("the ballast in kg", self.ballast),
            ("the added mass along the axis", self.along.added_mass),
            ("the added mass across the axis", self.across.added_mass),
            ("the height in m", self.height),
            ("half of the width in m", self.half_width),
            ("the power in W", self.power),
            ("the battery in J", self.battery.unwrap_or(0.0)),
        ];
        for (what, value) in others {
            if !(value >= 0.0 && value.is_finite()) {
                return Err(SeaFlightError::Figure { what, value, needs: "zero or more" });
            }
        }
        Ok(())
    }

    /// Mass with or without its ballast, kg.
    pub fn laden(&self, with_ballast: bool) -> f64 {
        self.mass + if with_ballast { self.ballast } else { 0.0 }
    }

    /// Volume at the surface that does not give way: the ballast outside, m³.
    pub fn outside(&self, with_ballast: bool) -> f64 {
        self.ballast_density.filter(|_| with_ballast).map_or(0.0, |density| self.ballast / density)
    }

    /// Volume displaced under a pressure of the water in Pa, m³.
    pub fn displaced(&self, pressure: f64, with_ballast: bool) -> f64 {
        let give = self.bulk_modulus.map_or(1.0, |modulus| (-pressure / modulus).exp());
        self.volume * give + self.outside(with_ballast)
    }

    /// Weight less buoyancy at a depth, N, down.
    pub fn net_weight(&self, sea: &crate::system::Sea, depth: f64, with_ballast: bool) -> f64 {
        let displaced = sea.density(depth) * self.displaced(sea.pressure(depth), with_ballast);
        (self.laden(with_ballast) - displaced) * sea.gravity(depth)
    }

    /// Speed along its axis, untilted, at which drag holds weight less buoyancy, m/s: down, or up below zero.
    pub fn terminal_speed(&self, sea: &crate::system::Sea, depth: f64, with_ballast: bool, thrust_up: f64) -> f64 {
        let pull = self.net_weight(sea, depth, with_ballast) - thrust_up;
        let (density, viscosity) = (sea.density(depth), sea.viscosity(depth));
        let held = |speed: f64| {
            let reynolds = density * speed * self.along.diameter / viscosity;
            0.5 * density * self.along.area * self.along.law.coefficient(reynolds) * speed * speed - pull.abs()
        };
        if pull == 0.0 {
            return 0.0;
        }
        let over = |logarithm: f64| held(logarithm.exp());
        let found = crate::numerics::root::bracketed(over, -60.0, 20.0, 0.0);
        found.map_or(0.0, |logarithm| logarithm.exp().copysign(pull))
    }
}
