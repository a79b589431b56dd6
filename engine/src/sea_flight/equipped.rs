//! Floating craft and divers from what the vehicle's parts carry: floats, hull, legs, battery.

use std::f64::consts::{PI, TAU};

use super::SeaFlightError;
use super::craft::{FloatingCraft, Point};
use super::diver::{Diver, Facing};
use super::solid::{Axis, Form, Solid};
use crate::vehicle::{Equipment, Stage};

impl FloatingCraft {
    /// The hulls and the hatch of a part; weights and tanks are added by who knows where they are.
    ///
    /// Floats stand evenly round the centre line, the first one forward. A hull with a volume counts as a sphere of it about its centre, or standing on the keel where
    /// that is not told.
    ///
    /// # Errors
    /// Neither floats nor a hull with a volume; measures that are none.
    pub fn of_equipment(equipment: &Equipment) -> Result<Self, SeaFlightError> {
        let mut craft = Self::default();
        for float in &equipment.floats {
            for i in 0..float.number {
                let angle = TAU * f64::from(i) / f64::from(float.number);
                let place = [float.offset * angle.cos(), float.offset * angle.sin()];
                let form = Form::Cylinder { diameter: float.diameter, length: float.height };
                craft.hulls.push(Solid::new(form, Axis::Upright, float.bottom, place)?);
            }
        }
        if let Some(hull) = &equipment.hull {
            if let Some(volume) = hull.volume {
                let diameter = (6.0 * volume / PI).cbrt();
                let bottom = hull.centre.map_or(0.0, |centre| centre - 0.5 * diameter);
                craft.hulls.push(Solid::new(Form::Sphere { diameter }, Axis::Upright, bottom, [0.0; 2])?);
            }
            if let Some(hatch) = hull.hatch {
                let limits = (f64::NEG_INFINITY, hull.hatch_limit.unwrap_or(f64::INFINITY));
                craft.points.push(Point { name: "hatch".into(), place: [0.0, 0.0, hatch], limits });
            }
        }
        if craft.hulls.is_empty() { Err(SeaFlightError::NoHull) } else { Ok(craft) }
    }
}

impl Diver {
    /// The diver that a part is: mass without its ballast, hull, the legs' rating, the batteries. Drag and power are told beside.
    ///
    /// # Errors
    /// No hull with a volume.
    pub fn of_stage(stage: &Stage, along: Facing, across: Facing, power: f64) -> Result<Self, SeaFlightError> {
        let equipment = stage.equipment();
        let hull = equipment.hull.as_ref();
        let volume = hull.and_then(|hull| hull.volume).ok_or(SeaFlightError::NoHull)?;
        let ballast = hull.and_then(|hull| hull.ballast).unwrap_or(0.0);
        let diameter = (6.0 * volume / PI).cbrt();
        let rated = equipment.legs.iter().map(|legs| legs.rated_speed).fold(f64::INFINITY, f64::min);
        let energy: f64 = equipment.batteries.iter().map(|battery| battery.energy).sum();
        let diver = Self {
            mass: stage.mass() - ballast,
            ballast,
            ballast_density: None,
            volume,
            bulk_modulus: None,
            along,
            across,
            // Of a sphere of its volume: the file does not tell its measures.
            height: diameter,
            half_width: 0.5 * diameter,
            rated_pressure: hull.and_then(|hull| hull.rated_pressure),
            rated_contact: rated.is_finite().then_some(rated),
            power,
            battery: (!equipment.batteries.is_empty()).then_some(energy),
        };
        diver.check()?;
        Ok(diver)
    }
}
