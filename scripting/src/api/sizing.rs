//! Sizing: the noun `Split`, the lightest stack for a change of speed, and propellant for a stage.

use rhai::{Dynamic, Map};
use serde_json::{Value, json};
use visviva_engine::constants::STANDARD_GRAVITY;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::vehicle::VehicleError;
use visviva_engine::vehicle::sizing::{Kind as StageKind, Split, lightest_split, propellant_for_dv};
use visviva_engine::vehicle::split_search::{Shape, lightest_split_by_search};

use super::definition::{Definition, Example, Parameter};
use super::fault::Fault;
use super::kind::{Kind, MASS, SPEED, TIME};
use super::noun::Noun;
use super::table::Columns;
use super::value;
use super::vehicle::rows;

const SPLIT: Kind = Kind::Noun("Split");

impl Noun for Split {
    const NAME: &'static str = "Split";
    const ABOUT: &'static str = "A stack sized for a change of speed and a payload: what each stage weighs and gives.";

    fn show(&self) -> String {
        let mass = |kg: f64| Quantity::mass(kg).show();
        let mut table = Columns::titled(&["stage", ">Δv", ">mass ratio", ">dry mass", ">propellant", ">of both"]);
        for (index, stage) in self.stages.iter().enumerate() {
            table.row(&[
                format!("{}", index + 1),
                Quantity::speed(stage.dv).show(),
                format!("{:.4}", stage.mass_ratio),
                mass(stage.dry),
                mass(stage.propellant),
                mass(stage.step_mass),
            ]);
        }
        let (whole, growth) = (mass(self.initial_mass), self.growth);
        format!("{}\n{whole} at the start; a kilogram at the top costs {growth:.3} kg at the bottom", table.text())
    }

    fn to_json(&self) -> Value {
        let of = |value: f64, unit: &str| json!({ "value": value, "unit": unit });
        let stages: Vec<Value> = self
            .stages
            .iter()
            .map(|stage| {
                json!({
                    "dv": of(stage.dv, "m/s"), "mass_ratio": stage.mass_ratio, "dry": of(stage.dry, "kg"),
                    "propellant": of(stage.propellant, "kg"),
                })
            })
            .collect();
        json!({ "stages": stages, "initial_mass": of(self.initial_mass, "kg"), "growth": self.growth })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

const WANTED: &[Parameter] = &[
    Parameter::new(
        "stages",
        Kind::List,
        "of maps, first to burn first: isp, structural_ratio, and fixed, thrust_to_weight, engine_thrust_to_weight",
    ),
    Parameter::new("dv", SPEED, "of all stages together, above zero"),
    Parameter::new("payload", MASS, "above zero"),
];

const STAGE: &[Parameter] = &[
    Parameter::new("isp", TIME, "specific impulse, above zero"),
    Parameter::new("structural_ratio", Kind::Number, "dry mass over dry mass and propellant, between 0 and 1"),
    Parameter::optional("fixed", MASS, "what the stage weighs besides, whatever its size; 0 when left out"),
    Parameter::optional(
        "thrust_to_weight",
        Kind::Number,
        "at ignition, on standard gravity: its engines weigh what this takes",
    ),
    Parameter::optional("engine_thrust_to_weight", Kind::Number, "of its engines alone: thrust over their own weight"),
];

fn refused(error: &VehicleError) -> Fault {
    let fault = Fault::new(error.to_string()).at(0);
    match error {
        VehicleError::BeyondStructure { .. } => fault.help("take another stage, more impulse or less structure"),
        _ => fault,
    }
}

fn shape(item: Dynamic) -> Result<Shape, Fault> {
    let found = value::describe(&item);
    let Some(map) = item.try_cast::<Map>() else {
        return Err(Fault::new(format!("a stage is a map, got {found}"))
            .help("write #{ isp: 320.s, structural_ratio: 0.1 }")
            .at_key(0, "stages"));
    };
    super::options::check("stages", 0, STAGE, &map)?;
    let figure = |key: &str| map.get(key).and_then(value::scalar).map(|quantity| quantity.value);
    let engines = match (figure("thrust_to_weight"), figure("engine_thrust_to_weight")) {
        (None, None) => 0.0,
        (Some(wanted), Some(own)) if wanted >= 0.0 && own > wanted => wanted / own,
        (Some(wanted), Some(own)) => {
            return Err(Fault::new(format!("engines of thrust-to-weight {own} cannot lift a stage at {wanted}"))
                .help("the engines' own ratio is some 40 to 180, the stage's near 1")
                .at_key(0, "stages"));
        }
        _ => {
            return Err(Fault::new("`thrust_to_weight` and `engine_thrust_to_weight` go together")
                .help("the first says what the stage needs, the second what its engines weigh")
                .at_key(0, "stages"));
        }
    };
    let kind = StageKind {
        exhaust_speed: figure("isp").unwrap_or_default() * STANDARD_GRAVITY,
        structural_ratio: figure("structural_ratio").unwrap_or_default(),
    };
    Ok(Shape { kind, fixed: figure("fixed").unwrap_or(0.0), engines })
}

/// The definitions of sizing.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The split of a change of speed over stages that is lightest for a payload.",
        parameters: &[Parameter::new("wanted", Kind::Options(WANTED), "stages, dv, payload")],
        returns: (SPLIT, "a stage that is not worth its structure weighs nothing"),
        source: Some(
            "[Curtis2014], rocket vehicle dynamics, optimal staging by a Lagrange multiplier; by search where a stage has a fixed mass or engines",
        ),
        see_also: &["propellant_for", "Split.stages", "Vehicle.ladder"],
        examples: &[
            Example::close(
                "lightest_split(#{ stages: [#{ isp: 320.s, structural_ratio: 0.1 }, #{ isp: 320.s, structural_ratio: 0.1 }], dv: 8.km_s, payload: 1.tonnes }).initial_mass",
                "25131.0381.kg",
                "0.001.kg",
            ),
            Example::exact(
                "lightest_split(#{ stages: [#{ isp: 320.s, structural_ratio: 0.06, thrust_to_weight: 1.3, engine_thrust_to_weight: 90 }, #{ isp: 450.s, structural_ratio: 0.1, fixed: 300.kg }], dv: 9.km_s, payload: 1.tonnes }).stages[1].dv > 4.km_s",
                "true",
            ),
        ],
        ..Definition::function("lightest_split", |given| {
            let options = given.options(0)?;
            let stages = options.list("stages")?.unwrap_or_default();
            let shapes = stages.into_iter().map(shape).collect::<Result<Vec<_>, _>>()?;
            let (dv, payload) = (options.si("dv")?.unwrap_or_default(), options.si("payload")?.unwrap_or_default());
            // Where the stages grow like themselves the closed form is exact.
            let plain = shapes.iter().all(|stage| stage.fixed == 0.0 && stage.engines == 0.0);
            let split = if plain {
                let kinds: Vec<StageKind> = shapes.iter().map(|stage| stage.kind).collect();
                lightest_split(&kinds, dv, payload)
            } else {
                {
                    let stopped = || given.run.stopped();
                    lightest_split_by_search(&shapes, dv, payload, &Watch::new(&stopped))
                }
            };
            split.map(value::noun).map_err(|error| refused(&error))
        })
    },
    Definition {
        summary: "The propellant that gives a mass at burn-out a change of speed.",
        parameters: &[
            Parameter::new("isp", TIME, "specific impulse"),
            Parameter::new("final_mass", MASS, "of all that is there at burn-out"),
            Parameter::new("dv", SPEED, "zero or more"),
        ],
        returns: (MASS, ""),
        source: Some("[SuttonBiblarz2017], equation 4-6"),
        see_also: &["lightest_split", "Vehicle.dv"],
        examples: &[Example::close("propellant_for(450.s, 10.tonnes, 3130.m_s)", "10325.055.kg", "0.001.kg")],
        ..Definition::function("propellant_for", |given| {
            let made = propellant_for_dv(given.time(0)? * STANDARD_GRAVITY, given.mass(1)?, given.speed(2)?);
            made.map(|kg| value::of(kg, Dimension::MASS)).map_err(|error| Fault::new(error.to_string()))
        })
    },
    Definition {
        summary: "The stages, sized.",
        returns: (Kind::List, "of maps: dv, mass_ratio, dry, propellant"),
        see_also: &["Split.initial_mass"],
        examples: &[Example::close(
            "lightest_split(#{ stages: [#{ isp: 320.s, structural_ratio: 0.1 }, #{ isp: 320.s, structural_ratio: 0.1 }], dv: 8.km_s, payload: 1.tonnes }).stages[0].dv",
            "4.km_s",
            "0.001.m_s",
        )],
        ..Definition::property("Split", "stages", |given| {
            Ok(rows(given.this::<Split>()?.stages.iter().map(|stage| {
                vec![
                    ("dv", value::of(stage.dv, Dimension::SPEED)),
                    ("mass_ratio", Dynamic::from_float(stage.mass_ratio)),
                    ("dry", value::of(stage.dry, Dimension::MASS)),
                    ("propellant", value::of(stage.propellant, Dimension::MASS)),
                ]
            })))
        })
    },
    Definition {
        summary: "The mass of the whole stack at the start.",
        returns: (MASS, "with the payload"),
        see_also: &["Split.growth", "Split.stages"],
        examples: &[Example::exact(
            "lightest_split(#{ stages: [#{ isp: 320.s, structural_ratio: 0.1 }], dv: 1.km_s, payload: 1.tonnes }).initial_mass > 1.tonnes",
            "true",
        )],
        ..Definition::property("Split", "initial_mass", |given| {
            Ok(value::of(given.this::<Split>()?.initial_mass, Dimension::MASS))
        })
    },
    Definition {
        summary: "What each kilogram at the top costs at the bottom.",
        returns: (Kind::Number, "kilograms: initial mass over payload, as all masses grow with the payload"),
        see_also: &["Split.initial_mass"],
        examples: &[Example::close(
            "lightest_split(#{ stages: [#{ isp: 320.s, structural_ratio: 0.1 }, #{ isp: 320.s, structural_ratio: 0.1 }], dv: 8.km_s, payload: 1.tonnes }).growth",
            "25.131",
            "0.001",
        )],
        ..Definition::property("Split", "growth", |given| Ok(Dynamic::from_float(given.this::<Split>()?.growth)))
    },
];
