//! What a script may choose of an ascent.

use super::AscentError;

/// How the orbit is entered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Entry {
    /// Whichever leaves more mass.
    #[default]
    Cheapest,
    /// Thrust without a pause to the orbit's periapsis.
    Direct,
    /// Cut-off low, coast to the apoapsis, closing burn there.
    Coast,
}

/// What may be chosen; SI. `Default` is what suits most vehicles.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Way to pitch over, rad clockwise from north; from the target's inclination when `None`, due east when that is free.
    pub heading: Option<f64>,
    /// Takes the pass of an inclined plane toward the south.
    pub southward: bool,
    /// Speed through the air at which the vertical rise ends, m/s.
    pub rise_speed: f64,
    /// Angle from the vertical to which it pitches over, rad; found for the greatest mass when `None`.
    pub kick: Option<f64>,
    /// Dynamic pressure under which steering to the orbit begins, Pa.
    pub thin_air: f64,
    /// Most acceleration by thrust and air, m/s².
    pub max_acceleration: Option<f64>,
    /// Most dynamic pressure, Pa.
    pub max_dynamic_pressure: Option<f64>,
    /// How the orbit is entered.
    pub entry: Entry,
    /// Height of the cut-off before a coast, m above the equatorial radius; found when `None`.
    pub insertion_altitude: Option<f64>,
    /// Drag coefficient times area, m²; the vehicle's own when `None`.
    pub drag_area: Option<f64>,
    /// Searches the pitch programme of the climb through the air too, for the greatest mass in orbit.
    pub optimise: bool,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            heading: None,
            southward: false,
            rise_speed: 50.0,
            kick: None,
            thin_air: 1000.0,
            max_acceleration: None,
            max_dynamic_pressure: None,
            entry: Entry::Cheapest,
            insertion_altitude: None,
            drag_area: None,
            optimise: false,
        }
    }
}

impl Settings {
    /// Refuses figures outside their ranges.
    ///
    /// # Errors
    /// A figure that is not finite or not above zero; a kick of a right angle or more.
    pub fn checked(&self) -> Result<(), AscentError> {
        let figures = [
            ("the speed at which the rise ends, in m/s,", Some(self.rise_speed)),
            ("the dynamic pressure of thin air, in Pa,", Some(self.thin_air)),
            ("the kick angle, in rad,", self.kick),
            ("the greatest acceleration, in m/s²,", self.max_acceleration),
            ("the greatest dynamic pressure, in Pa,", self.max_dynamic_pressure),
            ("the insertion altitude, in m,", self.insertion_altitude),
            ("the drag area, in m²,", self.drag_area),
        ];
        for (what, figure) in figures {
            if let Some(value) = figure
                && !(value > 0.0 && value.is_finite())
            {
                return Err(AscentError::BadOption { what, value, needs: "a finite number above zero" });
            }
        }
        if let Some(value) = self.kick.filter(|kick| *kick >= 1.0) {
            return Err(AscentError::BadOption { what: "the kick angle, in rad,", value, needs: "below 1" });
        }
        if let Some(value) = self.heading.filter(|heading| !heading.is_finite()) {
            return Err(AscentError::BadOption { what: "the heading, in rad,", value, needs: "a finite number" });
        }
        Ok(())
    }
}
