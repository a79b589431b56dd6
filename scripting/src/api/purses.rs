//! The noun `Purses`: who pays, legs by stages, with named reserves.

use std::fmt::Write as _;

use rhai::{Array, Dynamic, Map};
use serde_json::{Value, json};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::vehicle::{Demand, Purses, Reserve, Vehicle};
use visviva_engine::voyage::Ledger;

use super::definition::{Definition, Example, Parameter};
use super::fault::Fault;
use super::kind::{Kind, MASS, SPEED};
use super::ledger::LEDGER;
use super::noun::Noun;
use super::table::Columns;
use super::value;
use super::vehicle::{VEHICLE, no_vehicle, rows};

const PURSES: Kind = Kind::Noun("Purses");

impl Noun for Purses {
    const NAME: &'static str = "Purses";
    const ABOUT: &'static str = "Who pays: what each stage gives for each leg, what it has left, and the reserves.";

    fn show(&self) -> String {
        let mut titles = vec!["leg".to_owned(), ">Δv".to_owned()];
        titles.extend(self.stages.iter().map(|stage| format!(">{stage}")));
        titles.extend([">propellant".to_owned(), ">mass after".to_owned()]);
        let titles: Vec<&str> = titles.iter().map(String::as_str).collect();
        let mut table = Columns::titled(&titles);
        // A stage that pays nothing leaves its cell free.
        let cell = |speed: f64| if speed == 0.0 { String::new() } else { format!("{speed:.0} m/s") };
        let line = |name: &str, dv: String, columns: Vec<String>, propellant: String, mass: String| {
            let mut cells = vec![name.to_owned(), dv];
            cells.extend(columns);
            cells.extend([propellant, mass]);
            cells
        };
        let mass = |kg: f64| Quantity::mass(kg).show();
        for leg in &self.legs {
            let columns = leg.by_stage.iter().map(|speed| cell(*speed)).collect();
            table.row(&line(&leg.leg, cell(leg.dv), columns, mass(leg.propellant), mass(leg.mass)));
        }
        let (spent, none) = (self.spent(), String::new());
        let total = cell(self.legs.iter().map(|leg| leg.dv).sum());
        let burned = mass(self.legs.iter().map(|leg| leg.propellant).sum());
        table.row(&line("spent", total, spent.iter().map(|speed| cell(*speed)).collect(), burned, none.clone()));
        let left = self.left.iter().zip(&self.left_behind).map(|(speed, gone)| {
            let when = if *gone { " when left behind" } else { "" };
            format!("{speed:.0} m/s{when}")
        });
        table.row(&line("left", none.clone(), left.collect(), none.clone(), none.clone()));
        let held = self.propellant_left.iter().map(|kg| mass(*kg)).collect();
        table.row(&line("propellant left", none.clone(), held, none.clone(), none));
        let mut text = table.text();
        for (reserve, kept) in &self.reserves {
            let (wanted, kept) = (mass(reserve.propellant), mass(*kept));
            let _ = write!(text, "\nreserve {}: {kept} of {wanted} in {}", reserve.name, reserve.stage);
        }
        text
    }

    fn to_json(&self) -> Value {
        let of = |value: f64, unit: &str| json!({ "value": value, "unit": unit });
        let speeds = |all: &[f64]| all.iter().map(|speed| of(*speed, "m/s")).collect::<Vec<_>>();
        let legs: Vec<Value> = self
            .legs
            .iter()
            .map(|leg| {
                json!({
                    "leg": leg.leg, "dv": of(leg.dv, "m/s"), "by_stage": speeds(&leg.by_stage),
                    "propellant": of(leg.propellant, "kg"), "mass": of(leg.mass, "kg"),
                })
            })
            .collect();
        let reserves: Vec<Value> = self
            .reserves
            .iter()
            .map(|(reserve, kept)| {
                json!({ "name": reserve.name, "stage": reserve.stage, "wanted": of(reserve.propellant, "kg"), "kept": of(*kept, "kg") })
            })
            .collect();
        json!({
            "stages": self.stages, "legs": legs, "spent": speeds(&self.spent()), "left": speeds(&self.left),
            "left_behind": self.left_behind, "reserves": reserves,
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

const LEG: &[Parameter] = &[
    Parameter::new("leg", Kind::Text, "its name"),
    Parameter::new("dv", SPEED, "what it asks for, zero or more"),
    Parameter::optional(
        "drop",
        Kind::Either(&[Kind::Text, Kind::List]),
        "stages, parts and craft left behind before it",
    ),
    Parameter::optional("load", MASS, "dry mass taken on before it; below zero when set down"),
    Parameter::optional("by", Kind::Text, "the carried craft that pays; the vehicle itself when left out"),
    Parameter::optional("uses", Kind::Text, "the reserve that it may use up"),
];

const FLOOR: &[Parameter] = &[
    Parameter::new("name", Kind::Text, "what it is for"),
    Parameter::new("stage", Kind::Text, "whose propellant is kept"),
    Parameter::new("propellant", MASS, "the floor"),
];

const WITH: &[Parameter] = &[Parameter::optional(
    "reserves",
    Kind::List,
    "of maps: name, stage, propellant; a floor that only a leg with `uses` may eat",
)];

/// A map of the list, held against its keys.
fn map_of(item: Dynamic, what: &str, argument: usize, keys: &'static [Parameter]) -> Result<Map, Fault> {
    let found = value::describe(&item);
    let Some(map) = item.try_cast::<Map>() else {
        return Err(Fault::new(format!("a {what} is a map, got {found}"))
            .help("write #{ leg: \"departure\", dv: 2515.m_s }")
            .at(argument));
    };
    super::options::check(what, argument, keys, &map)?;
    Ok(map)
}

fn text(map: &Map, key: &str) -> Option<String> {
    map.get(key).and_then(|found| found.clone().into_string().ok())
}

fn si(map: &Map, key: &str) -> f64 {
    map.get(key).and_then(value::scalar).map_or(0.0, |quantity| quantity.value)
}

/// One text, or a list of them.
fn texts(found: Option<&Dynamic>) -> Result<Vec<String>, Fault> {
    let Some(found) = found else { return Ok(Vec::new()) };
    let list = if found.is_array() { found.clone().into_array().unwrap_or_default() } else { vec![found.clone()] };
    list.into_iter()
        .map(|item| {
            let told = value::describe(&item);
            item.into_string().map_err(|_| Fault::new(format!("`drop` lists names, got {told}")).at(0))
        })
        .collect()
}

fn demands(list: Array) -> Result<Vec<Demand>, Fault> {
    list.into_iter()
        .map(|item| {
            let map = map_of(item, "leg", 0, LEG)?;
            Ok(Demand {
                name: text(&map, "leg").unwrap_or_default(),
                dv: si(&map, "dv"),
                drops: texts(map.get("drop"))?,
                load: si(&map, "load"),
                payer: text(&map, "by"),
                uses: text(&map, "uses"),
            })
        })
        .collect()
}

/// The definitions of purses.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "Who pays: legs by stages, in order, each by the stages that burn then.",
        parameters: &[
            Parameter::new(
                "legs",
                Kind::Either(&[Kind::List, LEDGER]),
                "a list of maps: leg, dv, drop, load, by, uses; or a voyage's ledger",
            ),
            Parameter::optional("options", Kind::Options(WITH), "reserves"),
        ],
        returns: (PURSES, "a leg that cannot be paid is an error that names it"),
        source: Some("[SuttonBiblarz2017], equation 4-6"),
        see_also: &["Vehicle.ladder", "Purses.left", "Voyage.ledger"],
        examples: &[Example::close(
            "vehicle(\"lantern\").without(\"core\").who_pays([#{ leg: \"end of ascent\", dv: 337.m_s }, #{ leg: \"departure\", dv: 2515.m_s }]).left.departure",
            "589.m_s",
            "0.5.m_s",
        )],
        ..Definition::method("Vehicle", "who_pays", |given| {
            let legs = if given.value(0)?.is_array() {
                demands(given.list(0)?)?
            } else {
                let ledger = given.noun::<Ledger>(0)?;
                let paid = ledger.rows.iter().filter(|row| row.dv > 0.0);
                paid.map(|row| Demand { name: row.leg.clone(), dv: row.dv, ..Demand::default() }).collect()
            };
            let mut reserves = Vec::new();
            for item in given.options(1)?.list("reserves")?.unwrap_or_default() {
                let map = map_of(item, "reserve", 1, FLOOR)?;
                reserves.push(Reserve {
                    name: text(&map, "name").unwrap_or_default(),
                    stage: text(&map, "stage").unwrap_or_default(),
                    propellant: si(&map, "propellant"),
                });
            }
            given
                .this::<Vehicle>()?
                .who_pays(&legs, &reserves)
                .map(value::noun)
                .map_err(|error| no_vehicle(&error).at(0))
        })
    },
    Definition {
        summary: "What each leg took of each stage.",
        returns: (Kind::List, "of maps: leg, dv, propellant, mass, and `by`: a map from stage to its share"),
        see_also: &["Purses.left", "Vehicle.who_pays"],
        examples: &[Example::exact(
            "vehicle(\"lantern\").without(\"core\").who_pays([#{ leg: \"departure\", dv: 2515.m_s }]).legs[0].by.departure",
            "2515.m_s",
        )],
        ..Definition::property("Purses", "legs", |given| {
            let purses = given.this::<Purses>()?;
            Ok(rows(purses.legs.iter().map(|leg| {
                let by: Map = purses
                    .stages
                    .iter()
                    .zip(&leg.by_stage)
                    .map(|(stage, speed)| (stage.as_str().into(), value::of(*speed, Dimension::SPEED)))
                    .collect();
                vec![
                    ("leg", value::text(leg.leg.as_str())),
                    ("dv", value::of(leg.dv, Dimension::SPEED)),
                    ("propellant", value::of(leg.propellant, Dimension::MASS)),
                    ("mass", value::of(leg.mass, Dimension::MASS)),
                    ("by", Dynamic::from_map(by)),
                ]
            })))
        })
    },
    Definition {
        summary: "What each stage has left after the last leg, or had when it was left behind.",
        returns: (Kind::Map, "from stage to change of speed, above the floors of the reserves"),
        see_also: &["Purses.legs", "Purses.vehicle"],
        examples: &[Example::exact(
            "vehicle(\"lantern\").without(\"core\").who_pays([#{ leg: \"departure\", dv: 2515.m_s }]).left.departure > 900.m_s",
            "true",
        )],
        ..Definition::property("Purses", "left", |given| {
            let purses = given.this::<Purses>()?;
            let pairs = purses.stages.iter().zip(&purses.left);
            let map: Map =
                pairs.map(|(stage, speed)| (stage.as_str().into(), value::of(*speed, Dimension::SPEED))).collect();
            Ok(Dynamic::from_map(map))
        })
    },
    Definition {
        summary: "The vehicle after the last leg.",
        returns: (VEHICLE, ""),
        see_also: &["Purses.left"],
        examples: &[Example::exact(
            "vehicle(\"lantern\").who_pays([#{ leg: \"none\", dv: 0.m_s, drop: \"lander\" }]).vehicle.carries",
            "[\"capsule\"]",
        )],
        ..Definition::property("Purses", "vehicle", |given| Ok(value::noun(given.this::<Purses>()?.vehicle)))
    },
];
