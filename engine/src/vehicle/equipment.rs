//! What a stage carries besides tanks and engines: fairings, shields, chutes, legs, power, floats, hulls.
//!
//! Figures are kept as the file gives them, SI. Their mass is part of the stage's dry mass, but for what is thrown off before the stage
//! is: a fairing and a heat shield have a mass of their own.

use super::{Stage, Vehicle, VehicleError};

/// A fairing in segments.
#[derive(Debug, Clone, PartialEq)]
pub struct Fairing {
    /// Name.
    pub name: String,
    /// Of all segments, kg, above zero.
    pub mass: f64,
    /// How many segments fall away.
    pub segments: u32,
    /// m.
    pub diameter: Option<f64>,
    /// Height at which it is thrown off, m.
    pub altitude: Option<f64>,
    /// Heat flux on a free flat plate below which it is thrown off, W/m².
    pub heat_flux: Option<f64>,
    /// The stage with which the ladder counts it off.
    pub leaves: Option<String>,
}

/// A heat shield or aeroshell.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatShield {
    /// Name.
    pub name: String,
    /// kg; zero where it is part of the dry mass and stays.
    pub mass: f64,
    /// m.
    pub diameter: Option<f64>,
    /// Drag coefficient, on the area of the diameter.
    pub drag_coefficient: Option<f64>,
    /// m.
    pub nose_radius: Option<f64>,
    /// Mass that may be ablated, kg, part of the mass.
    pub ablator: Option<f64>,
    /// Heat that a kilogram of it takes away, J/kg.
    pub heat_of_ablation: Option<f64>,
}

/// Which of the chutes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChuteKind {
    /// Small, opens fast.
    Drogue,
    /// Large, sets down.
    Main,
}

/// Chutes of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Chute {
    /// Drogue or main.
    pub kind: ChuteKind,
    /// How many.
    pub number: u32,
    /// Nominal diameter of each, m.
    pub diameter: f64,
    /// On the nominal area.
    pub drag_coefficient: f64,
    /// Height above the ground at which they open, m.
    pub altitude: Option<f64>,
    /// Speed below which they may open, m/s.
    pub speed: Option<f64>,
}

/// Landing legs.
#[derive(Debug, Clone, PartialEq)]
pub struct Legs {
    /// How many, where told.
    pub number: Option<u32>,
    /// Vertical speed at touchdown that they are rated for, m/s.
    pub rated_speed: f64,
}

/// A battery.
#[derive(Debug, Clone, PartialEq)]
pub struct Battery {
    /// J.
    pub energy: f64,
}

/// Solar panels.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// m².
    pub area: f64,
    /// Share of the sunlight that becomes power.
    pub efficiency: f64,
}

/// Upright cylinders that float.
#[derive(Debug, Clone, PartialEq)]
pub struct Float {
    /// How many.
    pub number: u32,
    /// m.
    pub diameter: f64,
    /// m.
    pub height: f64,
    /// Distance of their axes from the centre line, m.
    pub offset: f64,
    /// Height of their bottoms above the keel, m.
    pub bottom: f64,
}

/// The hull that displaces water, besides floats.
#[derive(Debug, Clone, PartialEq)]
pub struct Hull {
    /// m³; `None` where floats carry it.
    pub volume: Option<f64>,
    /// Outer pressure that it stands, Pa.
    pub rated_pressure: Option<f64>,
    /// Height of the centre of its volume above the keel, m.
    pub centre: Option<f64>,
    /// Height of its hatch above the keel, m.
    pub hatch: Option<f64>,
    /// Greatest height of the hatch above the water at which it is used, m.
    pub hatch_limit: Option<f64>,
    /// Of this, mass that is dropped to rise, kg, part of the dry mass.
    pub ballast: Option<f64>,
}

/// All that a stage carries besides tanks and engines.
#[derive(Debug, Clone, Default, PartialEq)]
#[allow(missing_docs, reason = "each type says what it is")]
pub struct Equipment {
    pub fairings: Vec<Fairing>,
    pub heat_shields: Vec<HeatShield>,
    pub chutes: Vec<Chute>,
    pub legs: Vec<Legs>,
    pub batteries: Vec<Battery>,
    pub panels: Vec<Panel>,
    pub floats: Vec<Float>,
    pub hull: Option<Hull>,
}

impl Equipment {
    /// Mass of the parts that are not in the dry mass, kg.
    pub(super) fn mass(&self) -> f64 {
        let fairings: f64 = self.fairings.iter().map(|fairing| fairing.mass).sum();
        let shields: f64 = self.heat_shields.iter().map(|shield| shield.mass).sum();
        fairings + shields
    }

    /// Names of the parts that can be thrown off.
    pub(super) fn names(&self) -> impl Iterator<Item = &str> {
        let fairings = self.fairings.iter().map(|fairing| fairing.name.as_str());
        fairings.chain(self.heat_shields.iter().map(|shield| shield.name.as_str()))
    }

    /// Takes a part off; tells whether there was one.
    pub(super) fn take(&mut self, name: &str) -> bool {
        let before = self.fairings.len() + self.heat_shields.len();
        self.fairings.retain(|fairing| fairing.name != name);
        self.heat_shields.retain(|shield| shield.name != name);
        self.fairings.len() + self.heat_shields.len() < before
    }

    /// Takes a part off as a vehicle of its own, its mass the dry mass of its one stage.
    pub(super) fn take_off(&mut self, name: &str) -> Result<Option<Vehicle>, VehicleError> {
        if let Some(place) = self.fairings.iter().position(|fairing| fairing.name == name) {
            let fairing = self.fairings.remove(place);
            return adrift(name, fairing.mass, fairing.segments, Equipment::default()).map(Some);
        }
        if let Some(place) = self.heat_shields.iter().position(|shield| shield.name == name) {
            let shield = self.heat_shields.remove(place);
            let mass = shield.mass;
            // Its mass is that of the stage now; its figures stay with it.
            let shield = HeatShield { mass: 0.0, ..shield };
            return adrift(name, mass, 1, Equipment { heat_shields: vec![shield], ..Equipment::default() }).map(Some);
        }
        Ok(None)
    }

    /// Takes off what leaves with a stage.
    pub(super) fn stage_left(&mut self, stage: &str) {
        self.fairings.retain(|fairing| fairing.leaves.as_deref() != Some(stage));
    }
}

/// A part that has come off, as a vehicle.
fn adrift(name: &str, mass: f64, number: u32, equipment: Equipment) -> Result<Vehicle, VehicleError> {
    if !(mass > 0.0) {
        return Err(VehicleError::StaysOn { part: name.to_owned() });
    }
    let stage = Stage { number: number.max(1), equipment, ..Stage::inert(name, mass)? };
    Vehicle::of_stages(name, vec![stage])
}
