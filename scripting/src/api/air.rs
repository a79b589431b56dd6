//! The nouns `Air` and `Sea`: what surrounds and covers a body.

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::{Air, Sea};

use super::definition::{Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{Kind, LENGTH, SPEED};
use super::noun::Noun;
use super::value;

const PRESSURE: Kind = Kind::Of(Dimension::PRESSURE);
const DENSITY: Kind = Kind::Of(Dimension::DENSITY);

impl Noun for Air {
    const NAME: &'static str = "Air";
    const ABOUT: &'static str =
        "The air of a body, at rest: `body.air`. Figures for study; flight through air follows licensed practice.";

    fn show(&self) -> String {
        let (pressure, top) = (Quantity::pressure(self.surface_pressure()), Quantity::length(self.top()));
        format!("air of {} at the ground, up to {}", pressure.show(), top.show())
    }

    fn to_json(&self) -> Value {
        json!({
            "surface_pressure": { "value": self.surface_pressure(), "unit": "Pa" },
            "top": { "value": self.top(), "unit": "m" },
            "ceiling": { "value": self.ceiling(), "unit": "m" },
            "scale_height": { "value": self.scale_height(), "unit": "m" },
        })
    }
}

impl Noun for Sea {
    const NAME: &'static str = "Sea";
    const ABOUT: &'static str =
        "The sea of a body: `body.sea`. Figures for study; diving and pressure follow licensed practice.";

    fn show(&self) -> String {
        let (least, most) = self.depth();
        format!("sea {} to {} deep", Quantity::length(least).show(), Quantity::length(most).show())
    }

    fn to_json(&self) -> Value {
        let (least, most) = self.depth();
        json!({
            "least_depth": { "value": least, "unit": "m" }, "greatest_depth": { "value": most, "unit": "m" },
            "surface_density": { "value": self.surface_density(), "unit": "kg/m³" },
        })
    }
}

/// A depth that the sea has.
fn depth(given: &Given, sea: &Sea) -> Result<f64, Fault> {
    let (depth, (_, most)) = (given.length(0)?, sea.depth());
    if (0.0..=most).contains(&depth) {
        return Ok(depth);
    }
    let (asked, most) = (Quantity::length(depth).show(), Quantity::length(most).show());
    Err(Fault::new(format!("the sea reaches from 0 to {most}, not to a depth of {asked}")).at(0))
}

/// The definitions of air and sea.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The pressure at the ground.",
        returns: (PRESSURE, ""),
        see_also: &["Air.at"],
        examples: &[Example::close("system(\"sol\").Earth.air.surface_pressure", "101.3.kPa", "0.1.kPa")],
        ..Definition::property("Air", "surface_pressure", |given| {
            Ok(value::of(given.this::<Air>()?.surface_pressure(), Dimension::PRESSURE))
        })
    },
    Definition {
        summary: "The height that planned orbits and passes keep above: where entry is counted from.",
        returns: (LENGTH, ""),
        see_also: &["Air.ceiling", "Air.at", "Air.scale_height"],
        examples: &[Example::exact("system(\"velm\").Maren.air.top > 10.km", "true")],
        ..Definition::property("Air", "top", |given| Ok(value::of(given.this::<Air>()?.top(), Dimension::LENGTH)))
    },
    Definition {
        summary: "The height above which the model has no air: the top, or above it.",
        returns: (LENGTH, ""),
        see_also: &["Air.top", "Air.at"],
        examples: &[Example::exact("system(\"sol\").Earth.air.ceiling", "1000.km")],
        ..Definition::property("Air", "ceiling", |given| {
            Ok(value::of(given.this::<Air>()?.ceiling(), Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The pressure scale height at the ground.",
        returns: (LENGTH, "R T/(M g)"),
        see_also: &["Air.at"],
        examples: &[Example::close("system(\"sol\").Earth.air.scale_height", "8.4.km", "0.3.km")],
        ..Definition::property("Air", "scale_height", |given| {
            Ok(value::of(given.this::<Air>()?.scale_height(), Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The air at a height above the ground.",
        parameters: &[Parameter::new(
            "height",
            LENGTH,
            "above the ground; the lowest air's below the model, an error above its ceiling",
        )],
        returns: (
            Kind::Map,
            "temperature, pressure, density, `sound` (the speed of sound), `molar_mass` (of one mole); for the 1976 standard also \
             `mean_free_path` and, up to 86 km, `viscosity`",
        ),
        source: Some("[US1976] for the Earth; for others the rows and layers of their system file"),
        see_also: &["Air.ceiling", "Air.top", "Body.air_velocity"],
        examples: &[
            Example::close("system(\"sol\").Earth.air.at(300.km).density.to(\"kg/m^3\")", "1.916e-11", "2e-14"),
            Example::exact(
                "let air = system(\"sol\").Earth.air; air.at(11.km).pressure < air.at(0.km).pressure / 3",
                "true",
            ),
        ],
        ..Definition::method("Air", "at", |given| {
            let (air, height) = (given.this::<Air>()?, given.length(0)?);
            let Some(state) = air.at(height) else {
                let (asked, top) = (Quantity::length(height).show(), Quantity::length(air.ceiling()).show());
                return Err(Fault::new(format!("there is no air at {asked}: it ends at {top}")).at(0));
            };
            let mut map = rhai::Map::new();
            map.insert("temperature".into(), value::of(state.temperature, Dimension::TEMPERATURE));
            map.insert("pressure".into(), value::of(state.pressure, Dimension::PRESSURE));
            map.insert("density".into(), value::of(state.density, Dimension::DENSITY));
            map.insert("sound".into(), value::of(state.sound, Dimension::SPEED));
            map.insert("molar_mass".into(), value::of(state.molar_mass, Dimension::MASS));
            if let Some(viscosity) = state.viscosity {
                map.insert("viscosity".into(), value::of(viscosity, Dimension::VISCOSITY));
            }
            if let Some(path) = state.mean_free_path {
                map.insert("mean_free_path".into(), value::of(path, Dimension::LENGTH));
            }
            Ok(Dynamic::from_map(map))
        })
    },
    Definition {
        summary: "The least depth of the sea.",
        returns: (LENGTH, ""),
        see_also: &["Sea.greatest_depth"],
        examples: &[Example::exact(
            "let sea = system(\"velm\").Maren.sea; sea.least_depth <= sea.greatest_depth",
            "true",
        )],
        ..Definition::property("Sea", "least_depth", |given| {
            Ok(value::of(given.this::<Sea>()?.depth().0, Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The greatest depth of the sea.",
        returns: (LENGTH, ""),
        see_also: &["Sea.pressure", "Sea.least_depth"],
        examples: &[Example::exact("system(\"velm\").Maren.sea.greatest_depth > 100.m", "true")],
        ..Definition::property("Sea", "greatest_depth", |given| {
            Ok(value::of(given.this::<Sea>()?.depth().1, Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The density of the water at the surface.",
        returns: (DENSITY, ""),
        see_also: &["Sea.density", "Sea.salinity"],
        examples: &[Example::exact("system(\"velm\").Maren.sea.surface_density > 900.kg_m3", "true")],
        ..Definition::property("Sea", "surface_density", |given| {
            Ok(value::of(given.this::<Sea>()?.surface_density(), Dimension::DENSITY))
        })
    },
    Definition {
        summary: "Mass of salt over mass of water with its salt.",
        returns: (Kind::Number, ""),
        see_also: &["Sea.surface_density"],
        examples: &[Example::exact("system(\"velm\").Maren.sea.salinity < 0.3", "true")],
        ..Definition::property("Sea", "salinity", |given| {
            Ok(value::of(given.this::<Sea>()?.salinity(), Dimension::NUMBER))
        })
    },
    Definition {
        summary: "The pressure of the water above a depth; the air's comes on top.",
        parameters: &[Parameter::new("depth", LENGTH, "from 0 to the greatest depth")],
        returns: (PRESSURE, "for study: diving and pressure follow licensed practice"),
        see_also: &["Sea.density"],
        examples: &[Example::exact(
            "let sea = system(\"velm\").Maren.sea; sea.pressure(200.m) > 2 * sea.pressure(100.m)",
            "true",
        )],
        ..Definition::method("Sea", "pressure", |given| {
            let sea = given.this::<Sea>()?;
            Ok(value::of(sea.pressure(depth(given, &sea)?), Dimension::PRESSURE))
        })
    },
    Definition {
        summary: "The density of the water at a depth.",
        parameters: &[Parameter::new("depth", LENGTH, "from 0 to the greatest depth")],
        returns: (DENSITY, ""),
        see_also: &["Sea.pressure"],
        examples: &[Example::exact(
            "let sea = system(\"velm\").Maren.sea; sea.density(100.m) > sea.surface_density",
            "true",
        )],
        ..Definition::method("Sea", "density", |given| {
            let sea = given.this::<Sea>()?;
            Ok(value::of(sea.density(depth(given, &sea)?), Dimension::DENSITY))
        })
    },
    Definition {
        summary: "The speed of sound at a depth.",
        parameters: &[Parameter::new("depth", LENGTH, "from 0 to the greatest depth")],
        returns: (SPEED, "nothing where the sea's equation does not give it"),
        source: Some("[IOC2010] for sea water of 2010; a sea of constant compressibility answers 1/√(κρ)"),
        see_also: &["Sea.density"],
        examples: &[Example::close("system(\"velm\").Maren.sea.sound_speed(0.m)", "1481.m_s", "1.m_s")],
        ..Definition::method("Sea", "sound_speed", |given| {
            let sea = given.this::<Sea>()?;
            Ok(super::vehicle::or_nothing(sea.sound_speed(depth(given, &sea)?), Dimension::SPEED))
        })
    },
    Definition {
        summary: "The dynamic viscosity of the liquid at a depth.",
        parameters: &[Parameter::new("depth", LENGTH, "from 0 to the greatest depth")],
        returns: (Kind::Of(Dimension::VISCOSITY), "sea water that says no temperature counts as 4 °C"),
        source: Some("[SharqawyEtAl2010]; hydrocarbons [QuinonesCisneros2006], [FriendEtAl1991], [LemmonJacobsen2004]"),
        see_also: &["Sea.density"],
        examples: &[Example::exact("system(\"velm\").Maren.sea.viscosity(0.m) > 1.5e-3.Pa_s", "true")],
        ..Definition::method("Sea", "viscosity", |given| {
            let sea = given.this::<Sea>()?;
            Ok(value::of(sea.viscosity(depth(given, &sea)?), Dimension::VISCOSITY))
        })
    },
    Definition {
        summary: "The depth at which the water above presses so much.",
        parameters: &[Parameter::new("pressure", PRESSURE, "of the water alone, to that at the greatest depth")],
        returns: (LENGTH, "for study: diving and pressure follow licensed practice"),
        see_also: &["Sea.pressure"],
        examples: &[Example::close("system(\"velm\").Maren.sea.depth_at(10.13.MPa)", "4200.m", "2.m")],
        ..Definition::method("Sea", "depth_at", |given| {
            let (sea, pressure) = (given.this::<Sea>()?, given.si(0)?);
            sea.depth_at(pressure).map(|depth| value::of(depth, Dimension::LENGTH)).ok_or_else(|| {
                let (asked, most) = (Quantity::pressure(pressure), Quantity::pressure(sea.pressure(sea.depth().1)));
                Fault::new(format!("the sea presses from 0 to {}, not with {}", most.show(), asked.show())).at(0)
            })
        })
    },
];
