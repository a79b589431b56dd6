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
use super::vehicle_file::{embedded, from_file};

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
        let mut table = Columns::titled(&[
            "stage",
            ">dry mass",
            ">propellant",
            "engines",
            ">specific impulse",
            ">thrust",
            "carries",
        ]);
        for stage in self.stages() {
            let number = if stage.number() > 1 { format!(" × {}", stage.number()) } else { String::new() };
            let engines: Vec<String> = stage
                .engines()
                .iter()
                .filter(|mount| mount.engine.name() != stage.name())
                .map(|mount| format!("{} {}", mount.number, mount.engine.name()))
                .collect();
            let carries: Vec<&str> = stage.carries().iter().map(Vehicle::name).collect();
            let inert = stage.engines().is_empty();
            table.row(&[
                format!("{}{number}", stage.name()),
                mass(stage.dry()),
                mass(stage.propellant()),
                engines.join(", "),
                if inert { String::new() } else { format!("{} s", value::show_number(stage.specific_impulse())) },
                match stage.thrust() {
                    Some(thrust) => Quantity::new(thrust, Dimension::FORCE).show(),
                    None if inert => String::new(),
                    None => "not given".to_owned(),
                },
                carries.join(", "),
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
                    "name": stage.name(), "number": stage.number(),
                    "dry": { "value": stage.dry(), "unit": "kg" },
                    "propellant": { "value": stage.propellant(), "unit": "kg" },
                    "isp": { "value": stage.specific_impulse(), "unit": "s" },
                    "thrust": stage.thrust().map(|n| json!({ "value": n, "unit": "N" })),
                    "beside": stage.stands_beside(), "feeds": stage.feeds(),
                    "ignitions": stage.ignitions_left(), "equipment": super::equipment::json(stage),
                    "carries": stage.carries().iter().map(Noun::to_json).collect::<Vec<_>>(),
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
        VehicleError::NoSuchPart { nearest: Some(near), .. } => fault.note(format!("did you mean `{near}`?")),
        VehicleError::SeveralStages { .. } => {
            fault.help("name the stage: v.changed(#{ stage: \"core\", propellant: 170.tonnes })")
        }
        VehicleError::NoIgnition { .. } => {
            fault.help("put burns together, or write more `ignitions` into the vehicle's file")
        }
        VehicleError::EnginesOut { .. } => fault.help("let fewer fail, or leave the stage behind: v.without(name)"),
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
    Parameter::optional("thrust", FORCE, "in vacuum, of all engines of the stage"),
    Parameter::optional("name", Kind::Text, "another name of the vehicle"),
    Parameter::optional("stage", Kind::Text, "whose figures these are; not needed where there is one stage"),
    Parameter::optional("throttle", Kind::Number, "share of the thrust at which it burns"),
    Parameter::optional("throttle_beside", Kind::Number, "the share while another stage burns too"),
    Parameter::optional("crossfeed", Kind::Flag, "whether it feeds the stage that it stands beside"),
];

fn this(given: &Given) -> Result<Vehicle, Fault> {
    given.this::<Vehicle>()
}

/// A list of maps with names and values.
pub(super) fn rows(rows: impl Iterator<Item = Vec<(&'static str, Dynamic)>>) -> Dynamic {
    let list: Vec<Dynamic> = rows
        .map(|row| {
            let map: Map = row.into_iter().map(|(name, value)| (name.into(), value)).collect();
            Dynamic::from_map(map)
        })
        .collect();
    Dynamic::from_array(list)
}

pub(super) fn or_nothing(figure: Option<f64>, dimension: Dimension) -> Dynamic {
    figure.map_or(Dynamic::UNIT, |figure| value::of(figure, dimension))
}

/// The definitions of vehicles.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "A vehicle: one that is built in, one from a file, or one of one stage from its masses and its engine.",
        parameters: &[Parameter::new(
            "figures",
            Kind::Either(&[Kind::Options(ONE_STAGE), Kind::Text]),
            "masses, specific impulse, thrust; or \"lantern\", or a TOML file below the script's own folder",
        )],
        returns: (VEHICLE, "files are told of in the handbook, vehicles"),
        see_also: &["voyage", "Vehicle.ladder", "Vehicle.changed"],
        examples: &[
            Example::close(
                "vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s, thrust: 20.kN }).dv",
                "2875.44.m_s",
                "0.01.m_s",
            ),
            Example::exact(
                "vehicle(\"lantern\").stages.map(|stage| stage.name)",
                "[\"pair\", \"core\", \"departure\", \"orbiter\"]",
            ),
        ],
        ..Definition::function("vehicle", |given| {
            if let Ok(name) = given.text(0) {
                let file = name.ends_with(".toml");
                let made = if file { from_file(given, &name)? } else { embedded(&name)? };
                return Ok(value::noun(made));
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
        returns: (MASS, "its own tanks empty; craft that it carries count with all they hold"),
        see_also: &["Vehicle.mass"],
        examples: &[Example::exact("vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }).dry", "2.tonnes")],
        ..Definition::property("Vehicle", "dry", |given| Ok(value::of(this(given)?.dry_mass(), Dimension::MASS)))
    },
    Definition {
        summary: "The propellant that is left.",
        returns: (MASS, "in its own stages"),
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
        returns: (
            Kind::List,
            "of maps: name, number, dry, propellant, isp, thrust, beside, feeds (`()` when there is none), carries (names), \
             ignitions (left; `()` where there is no limit), equipment: a map of lists of maps, by sort (fairings, heat_shields, \
             chutes, legs, batteries, panels, floats, hull)",
        ),
        see_also: &["Vehicle.ladder"],
        examples: &[
            Example::exact("vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }).stages[0].isp", "320.s"),
            Example::exact("vehicle(\"lantern\").stages[1].equipment.fairings[0].mass", "6.tonnes"),
        ],
        ..Definition::property("Vehicle", "stages", |given| {
            let vehicle = this(given)?;
            Ok(rows(vehicle.stages().iter().map(|stage| {
                vec![
                    ("name", value::text(stage.name())),
                    ("number", Dynamic::from_int(i64::from(stage.number()))),
                    ("dry", value::of(stage.dry(), Dimension::MASS)),
                    ("propellant", value::of(stage.propellant(), Dimension::MASS)),
                    ("isp", value::of(stage.specific_impulse(), Dimension::TIME)),
                    ("thrust", or_nothing(stage.thrust(), Dimension::FORCE)),
                    ("beside", stage.stands_beside().map_or(Dynamic::UNIT, value::text)),
                    ("feeds", stage.feeds().map_or(Dynamic::UNIT, value::text)),
                    ("carries", Dynamic::from_array(stage.carries().iter().map(|c| value::text(c.name())).collect())),
                    (
                        "ignitions",
                        stage.ignitions_left().map_or(Dynamic::UNIT, |left| Dynamic::from_int(i64::from(left))),
                    ),
                    ("equipment", super::equipment::maps(stage)),
                ]
            })))
        })
    },
    Definition {
        summary: "Thrust over weight on the ground of a body, in the air that it has there, with all propellant that is left.",
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
        returns: (VEHICLE, "a what-if: masses are of all units of the stage together"),
        see_also: &["vehicle", "Vehicle.without", "Vehicle.loaded"],
        examples: &[
            Example::exact(
                "vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }).changed(#{ propellant: 1.tonnes }).mass",
                "3.tonnes",
            ),
            Example::exact(
                "let v = vehicle(\"lantern\"); v.changed(#{ stage: \"pair\", crossfeed: false }).dv < v.dv",
                "true",
            ),
        ],
        ..Definition::method("Vehicle", "changed", |given| {
            let options = given.options(0)?;
            let change = Change {
                name: options.text("name")?.map(|name| name.to_string()),
                dry: options.si("dry")?,
                propellant: options.si("propellant")?,
                specific_impulse: options.si("isp")?,
                thrust: options.si("thrust")?,
                stage: options.text("stage")?.map(|name| name.to_string()),
                throttle: options.number("throttle")?,
                throttle_beside: options.number("throttle_beside")?,
                crossfeed: options.flag("crossfeed")?,
            };
            this(given)?.changed(&change).map(value::noun).map_err(|error| no_vehicle(&error).at(0))
        })
    },
    Definition {
        summary: "The vehicle without a stage, a part or a carried craft.",
        parameters: &[Parameter::new("name", Kind::Text, "of what is left behind")],
        returns: (VEHICLE, "with a stage goes what is below it"),
        see_also: &["Vehicle.carries", "Vehicle.carried", "Vehicle.changed"],
        examples: &[Example::exact("vehicle(\"lantern\").without(\"departure\").mass", "29.46.tonnes")],
        ..Definition::method("Vehicle", "without", |given| {
            this(given)?.without(&given.text(0)?).map(value::noun).map_err(|error| no_vehicle(&error).at(0))
        })
    },
    Definition {
        summary: "Names of the craft that it carries, at any depth.",
        returns: (Kind::List, "of texts, each followed by what that one carries"),
        see_also: &["Vehicle.carried"],
        examples: &[Example::exact(
            "vehicle(\"lantern\").carries",
            "[\"lander\", \"sled\", \"ascent craft\", \"capsule\"]",
        )],
        ..Definition::property("Vehicle", "carries", |given| {
            let vehicle = this(given)?;
            let names: Vec<Dynamic> =
                vehicle.all_carried().into_iter().map(|craft| value::text(craft.name())).collect();
            Ok(Dynamic::from_array(names))
        })
    },
    Definition {
        summary: "A craft that it carries, as a vehicle of its own.",
        parameters: &[Parameter::new("name", Kind::Text, "one of `carries`")],
        returns: (VEHICLE, ""),
        see_also: &["Vehicle.carries", "Vehicle.without"],
        examples: &[Example::exact("vehicle(\"lantern\").carried(\"ascent craft\").mass", "5250.kg")],
        ..Definition::method("Vehicle", "carried", |given| {
            let vehicle = this(given)?;
            vehicle.carried(&given.text(0)?).cloned().map(value::noun).map_err(|error| no_vehicle(&error).at(0))
        })
    },
    Definition {
        summary: "The vehicle with a load more on its last stage: samples, a payload.",
        parameters: &[Parameter::new("load", MASS, "below zero when it is set down")],
        returns: (VEHICLE, ""),
        see_also: &["Vehicle.changed", "Vehicle.who_pays"],
        examples: &[Example::close(
            "vehicle(\"lantern\").carried(\"ascent craft\").loaded(25.kg).dv",
            "4072.m_s",
            "0.5.m_s",
        )],
        ..Definition::method("Vehicle", "loaded", |given| {
            this(given)?.loaded(given.mass(0)?).map(value::noun).map_err(|error| no_vehicle(&error).at(0))
        })
    },
    Definition {
        summary: "The vehicle after some time of boil-off, in all its stages and in all craft that it carries.",
        parameters: &[Parameter::new("time", TIME, "zero or more")],
        returns: (VEHICLE, "each stage loses its `boil_off` times the time, as long as there is any"),
        see_also: &["vehicle", "Vehicle.propellant"],
        examples: &[Example::exact("vehicle(\"lantern\").after(30.days) == vehicle(\"lantern\")", "true")],
        ..Definition::method("Vehicle", "after", |given| {
            this(given)?.after(given.time(0)?).map(value::noun).map_err(|error| no_vehicle(&error).at(0))
        })
    },
    Definition {
        summary: "Whether it rises from the ground of a body, in the air that it has there.",
        parameters: &[Parameter::new("body", BODY, "on whose ground the pad stands")],
        returns: (Kind::Number, "thrust over weight; one that is not above 1 is an error that names stage and figures"),
        see_also: &["Vehicle.weight_ratio"],
        examples: &[Example::close("vehicle(\"lantern\").on_pad(system(\"velm\").Veyra)", "1.45", "0.005")],
        ..Definition::method("Vehicle", "on_pad", |given| {
            let (vehicle, body) = (this(given)?, given.noun::<Body>(0)?);
            vehicle.check_pad(&body).map_err(|error| no_vehicle(&error).at(0))?;
            Ok(Dynamic::from_float(vehicle.weight_ratio(&body).unwrap_or_default()))
        })
    },
];
