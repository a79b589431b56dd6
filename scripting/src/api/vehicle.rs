//! The noun `Vehicle`: masses, engines, stages.

use rhai::{Dynamic, Map};
use serde_json::{Value, json};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::vehicle::{Change, Vehicle, VehicleError};

use super::definition::{Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{BODY, Kind, MASS, SPEED, TIME};
use super::noun::Noun;
use super::table::Columns;
use super::value;

/// A vehicle.
pub(super) const VEHICLE: Kind = Kind::Noun("Vehicle");
const FORCE: Kind = Kind::Of(Dimension::FORCE);

fn mass(kg: f64) -> String {
    Quantity::mass(kg).show()
}

impl Noun for Vehicle {
    const NAME: &'static str = "Vehicle";
    const ABOUT: &'static str =
        "A craft: dry mass, propellant and engine of each stage. A burn leaves another vehicle behind.";

    fn show(&self) -> String {
        let mut table = Columns::titled(&["stage", ">dry mass", ">propellant", ">specific impulse", ">thrust", ">Δv"]);
        for (stage, rung) in self.stages().iter().zip(self.ladder()) {
            table.row(&[
                stage.name().to_owned(),
                mass(stage.dry()),
                mass(stage.propellant()),
                format!("{} s", value::show_number(stage.specific_impulse())),
                stage.thrust().map_or("not given".to_owned(), |n| Quantity::new(n, Dimension::FORCE).show()),
                Quantity::speed(rung.dv).show(),
            ]);
        }
        let (total, dv) = (mass(self.mass()), Quantity::speed(self.dv()).show());
        format!("vehicle {}: {total}, good for {dv}\n{}", self.name(), table.text())
    }

    fn to_json(&self) -> Value {
        let stages: Vec<Value> = self
            .stages()
            .iter()
            .map(|stage| {
                json!({
                    "name": stage.name(),
                    "dry": { "value": stage.dry(), "unit": "kg" },
                    "propellant": { "value": stage.propellant(), "unit": "kg" },
                    "isp": { "value": stage.specific_impulse(), "unit": "s" },
                    "thrust": stage.thrust().map(|n| json!({ "value": n, "unit": "N" })),
                })
            })
            .collect();
        json!({
            "name": self.name(), "stages": stages,
            "mass": { "value": self.mass(), "unit": "kg" }, "dv": { "value": self.dv(), "unit": "m/s" },
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

/// What the engine refuses about a vehicle, with what to do.
pub(super) fn no_vehicle(error: &VehicleError) -> Fault {
    let fault = Fault::new(error.to_string());
    match error {
        VehicleError::NotEnough { .. } => {
            fault.help("`v.dv_left` tells what is left; start with more propellant, or ask for less")
        }
        _ => fault,
    }
}

const ONE_STAGE: &[Parameter] = &[
    Parameter::new("dry", MASS, "without propellant, above zero"),
    Parameter::new("propellant", MASS, "zero or more"),
    Parameter::new("isp", TIME, "specific impulse in vacuum"),
    Parameter::optional("thrust", FORCE, "in vacuum; without it burns are impulses all the same"),
    Parameter::optional("name", Kind::Text, "\"craft\" when left out"),
];

const CHANGES: &[Parameter] = &[
    Parameter::optional("dry", MASS, "without propellant"),
    Parameter::optional("propellant", MASS, "zero or more"),
    Parameter::optional("isp", TIME, "specific impulse in vacuum"),
    Parameter::optional("thrust", FORCE, "in vacuum"),
    Parameter::optional("name", Kind::Text, "another name"),
];

const TUG: &str = "vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s, thrust: 20.kN })";

fn this(given: &Given) -> Result<Vehicle, Fault> {
    given.this::<Vehicle>()
}

/// A list of maps with names and values.
fn rows(rows: impl Iterator<Item = Vec<(&'static str, Dynamic)>>) -> Dynamic {
    let list: Vec<Dynamic> = rows
        .map(|row| {
            let map: Map = row.into_iter().map(|(name, value)| (name.into(), value)).collect();
            Dynamic::from_map(map)
        })
        .collect();
    Dynamic::from_array(list)
}

fn or_nothing(figure: Option<f64>, dimension: Dimension) -> Dynamic {
    figure.map_or(Dynamic::UNIT, |figure| value::of(figure, dimension))
}

/// The definitions of vehicles.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "A vehicle of one stage, from its masses and its engine.",
        parameters: &[Parameter::new(
            "figures",
            Kind::Either(&[Kind::Options(ONE_STAGE), Kind::Text]),
            "masses, specific impulse, thrust",
        )],
        returns: (VEHICLE, "vehicles by name and from files are not there yet"),
        see_also: &["voyage", "Vehicle.changed", "Vehicle.dv"],
        examples: &[Example::close(
            "vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s, thrust: 20.kN }).dv",
            "2875.44.m_s",
            "0.01.m_s",
        )],
        ..Definition::function("vehicle", |given| {
            if let Ok(name) = given.text(0) {
                return Err(Fault::new(format!(
                    "there is no vehicle `{name}`: none is built in, and files are not read yet"
                ))
                .help(format!("tell its figures: {TUG}"))
                .at(0));
            }
            let options = given.options(0)?;
            let name = options.text("name")?;
            let figure = |key: &str| options.si(key).map(Option::unwrap_or_default);
            let made = Vehicle::new(
                name.as_deref().unwrap_or("craft"),
                figure("dry")?,
                figure("propellant")?,
                figure("isp")?,
                options.si("thrust")?,
            );
            made.map(value::noun).map_err(|error| no_vehicle(&error).at(0))
        })
    },
    Definition {
        summary: "What it is called.",
        returns: (Kind::Text, ""),
        see_also: &["Vehicle.changed"],
        examples: &[Example::exact(
            "vehicle(#{ dry: 2.tonnes, propellant: 1.kg, isp: 320.s, name: \"tug\" }).name",
            "\"tug\"",
        )],
        ..Definition::property("Vehicle", "name", |given| Ok(value::text(this(given)?.name())))
    },
    Definition {
        summary: "The mass with all propellant that is left.",
        returns: (MASS, ""),
        see_also: &["Vehicle.dry", "Vehicle.propellant"],
        examples: &[Example::exact("vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }).mass", "5.tonnes")],
        ..Definition::property("Vehicle", "mass", |given| Ok(value::of(this(given)?.mass(), Dimension::MASS)))
    },
    Definition {
        summary: "The mass without any propellant.",
        returns: (MASS, "of all stages"),
        see_also: &["Vehicle.mass"],
        examples: &[Example::exact("vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }).dry", "2.tonnes")],
        ..Definition::property("Vehicle", "dry", |given| Ok(value::of(this(given)?.dry_mass(), Dimension::MASS)))
    },
    Definition {
        summary: "The propellant that is left.",
        returns: (MASS, "in all stages"),
        see_also: &["Vehicle.mass", "Vehicle.dv"],
        examples: &[Example::exact(
            "vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }).propellant",
            "3.tonnes",
        )],
        ..Definition::property("Vehicle", "propellant", |given| {
            Ok(value::of(this(given)?.propellant(), Dimension::MASS))
        })
    },
    Definition {
        summary: "The ideal change of speed that is left.",
        returns: (SPEED, "by the rocket equation, stage by stage"),
        source: Some("[SuttonBiblarz2017], equation 4-6"),
        see_also: &["Vehicle.ladder", "Voyage.dv_left"],
        examples: &[Example::exact("vehicle(#{ dry: 2.tonnes, propellant: 0.kg, isp: 320.s }).dv", "0.m_s")],
        ..Definition::property("Vehicle", "dv", |given| Ok(value::of(this(given)?.dv(), Dimension::SPEED)))
    },
    Definition {
        summary: "Its stages, the first to burn first.",
        returns: (Kind::List, "of maps: name, dry, propellant, isp, thrust (`()` when not given)"),
        see_also: &["Vehicle.ladder"],
        examples: &[Example::exact(
            "vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }).stages[0].isp",
            "320.s",
        )],
        ..Definition::property("Vehicle", "stages", |given| {
            let vehicle = this(given)?;
            Ok(rows(vehicle.stages().iter().map(|stage| {
                vec![
                    ("name", value::text(stage.name())),
                    ("dry", value::of(stage.dry(), Dimension::MASS)),
                    ("propellant", value::of(stage.propellant(), Dimension::MASS)),
                    ("isp", value::of(stage.specific_impulse(), Dimension::TIME)),
                    ("thrust", or_nothing(stage.thrust(), Dimension::FORCE)),
                ]
            })))
        })
    },
    Definition {
        summary: "What each stage gives when it burns out with all that stands on it.",
        returns: (Kind::List, "of maps: stage, mass_before, mass_after, dv, thrust_to_weight (`()` without a thrust)"),
        source: Some("[SuttonBiblarz2017], equation 4-6"),
        see_also: &["Vehicle.dv", "Vehicle.weight_ratio"],
        examples: &[Example::exact(
            "vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }).ladder[0].mass_after",
            "2.tonnes",
        )],
        ..Definition::property("Vehicle", "ladder", |given| {
            Ok(rows(this(given)?.ladder().into_iter().map(|rung| {
                vec![
                    ("stage", value::text(rung.stage)),
                    ("mass_before", value::of(rung.mass_before, Dimension::MASS)),
                    ("mass_after", value::of(rung.mass_after, Dimension::MASS)),
                    ("dv", value::of(rung.dv, Dimension::SPEED)),
                    ("thrust_to_weight", or_nothing(rung.thrust_to_weight, Dimension::NUMBER)),
                ]
            })))
        })
    },
    Definition {
        summary: "Thrust over weight on the ground of a body, with all propellant that is left.",
        parameters: &[Parameter::new("body", BODY, "on whose ground it stands")],
        returns: (Kind::Number, "above 1 it can rise; a vehicle without a thrust is an error"),
        see_also: &["Vehicle.ladder"],
        examples: &[Example::close(
            "vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s, thrust: 20.kN }).weight_ratio(system(\"sol\").Earth)",
            "0.408",
            "0.001",
        )],
        ..Definition::method("Vehicle", "weight_ratio", |given| {
            let vehicle = this(given)?;
            match vehicle.weight_ratio(&given.noun::<Body>(0)?) {
                Some(ratio) => Ok(Dynamic::from_float(ratio)),
                None => Err(Fault::new(format!("the thrust of `{}` is not known", vehicle.name()))
                    .help("give it one: v.changed(#{ thrust: 20.kN })")),
            }
        })
    },
    Definition {
        summary: "The same vehicle with some figures changed.",
        parameters: &[Parameter::new("figures", Kind::Options(CHANGES), "those that change")],
        returns: (VEHICLE, "a vehicle of several stages takes another name only"),
        see_also: &["vehicle"],
        examples: &[Example::exact(
            "vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }).changed(#{ propellant: 1.tonnes }).mass",
            "3.tonnes",
        )],
        ..Definition::method("Vehicle", "changed", |given| {
            let options = given.options(0)?;
            let change = Change {
                name: options.text("name")?.map(|name| name.to_string()),
                dry: options.si("dry")?,
                propellant: options.si("propellant")?,
                specific_impulse: options.si("isp")?,
                thrust: options.si("thrust")?,
            };
            this(given)?.changed(&change).map(value::noun).map_err(|error| no_vehicle(&error).at(0))
        })
    },
];
