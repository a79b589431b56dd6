//! Engines that fail: `failed`, and the noun `Failures`.

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::vehicle::{Failure, Vehicle};

use super::definition::{Answer, Definition, Example, Parameter};
use super::given::Given;
use super::kind::{BODY, Kind};
use super::noun::Noun;
use super::table::Columns;
use super::value;
use super::vehicle::{VEHICLE, no_vehicle, or_nothing, rows};

/// What each failure of an engine costs.
#[derive(Debug, Clone, PartialEq)]
pub struct Failures {
    body: String,
    rows: Vec<Failure>,
}

fn lifts(row: &Failure) -> &'static str {
    match row.lifts {
        Some(true) => "yes",
        Some(false) => "no",
        None => "",
    }
}

impl Noun for Failures {
    const NAME: &'static str = "Failures";
    const ABOUT: &'static str =
        "A vehicle with one engine out, stage by stage: what it still gives, and whether it rises.";

    fn show(&self) -> String {
        let ratio = format!(">weight ratio at {}", self.body);
        let mut table =
            Columns::titled(&["stage", "engine", ">run", ">out", &ratio, ">Δv", ">less", ">burns", "rises"]);
        for row in &self.rows {
            table.row(&[
                row.stage.clone(),
                row.engine.clone(),
                row.running.to_string(),
                row.out.to_string(),
                row.weight_ratio.map_or_else(|| "not given".to_owned(), |ratio| format!("{ratio:.3}")),
                format!("{:.0} m/s", row.dv),
                if row.dv_lost.abs() < 0.5 { String::new() } else { format!("{:.0} m/s", row.dv_lost) },
                row.burn_time.map_or_else(String::new, |time| Quantity::time(time).show()),
                lifts(row).to_owned(),
            ]);
        }
        table.text()
    }

    fn to_json(&self) -> Value {
        let of = |value: f64, unit: &str| json!({ "value": value, "unit": unit });
        let rows: Vec<Value> = self
            .rows
            .iter()
            .map(|row| {
                json!({
                    "stage": row.stage, "engine": row.engine, "running": row.running, "out": row.out,
                    "weight_ratio": row.weight_ratio, "dv": of(row.dv, "m/s"), "dv_lost": of(row.dv_lost, "m/s"),
                    "burn_time": row.burn_time.map(|time| of(time, "s")), "lifts": row.lifts,
                })
            })
            .collect();
        json!({ "body": self.body, "rows": rows })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

fn failed(given: &Given) -> Answer {
    let number = if given.has(1) { given.whole(1)? } else { 1 };
    let number = u32::try_from(number).unwrap_or(0);
    let vehicle = given.this::<Vehicle>()?;
    vehicle.failed(&given.text(0)?, number).map(value::noun).map_err(|error| {
        let argument =
            usize::from(given.has(1) && matches!(error, visviva_engine::vehicle::VehicleError::EnginesOut { .. }));
        no_vehicle(&error).at(argument)
    })
}

/// The definitions of failures.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The same vehicle with engines out: their mass stays, their thrust is gone.",
        parameters: &[
            Parameter::new("name", Kind::Text, "a stage, or an engine: then of the first stage that has one"),
            Parameter::optional("number", Kind::Whole, "how many fail; 1 when left out"),
        ],
        returns: (
            VEHICLE,
            "a what-if; all engines of a stage out is an error. Moments of the thrust are not looked at",
        ),
        see_also: &["Vehicle.failures", "Vehicle.changed", "Vehicle.on_pad"],
        examples: &[Example::close(
            "let v = vehicle(\"lantern\"); let s = system(\"velm\"); v.failed(\"core\").weight_ratio(s.Veyra) / v.weight_ratio(s.Veyra)",
            "0.75",
            "1e-9",
        )],
        ..Definition::method("Vehicle", "failed", failed)
    },
    Definition {
        summary: "For each stage: as it is, and with one engine out from its ignition on.",
        parameters: &[Parameter::new("body", BODY, "on whose ground it stands")],
        returns: (Kind::Noun("Failures"), "a table that prints itself; stages lit later are weighed in vacuum"),
        see_also: &["Vehicle.failed", "Vehicle.on_pad", "Vehicle.ladder"],
        examples: &[Example::exact(
            "vehicle(\"lantern\").failures(system(\"velm\").Veyra).rows.filter(|row| row.lifts == false).len",
            "0",
        )],
        ..Definition::method("Vehicle", "failures", |given| {
            let (vehicle, body) = (given.this::<Vehicle>()?, given.noun::<Body>(0)?);
            let rows = vehicle.failures(&body).map_err(|error| no_vehicle(&error).at(0))?;
            Ok(value::noun(Failures { body: body.name().to_owned(), rows }))
        })
    },
    Definition {
        summary: "Its rows.",
        returns: (
            Kind::List,
            "of maps: stage, engine, running, out, weight_ratio, dv, dv_lost, burn_time, lifts (`()` where it is not lit on the ground)",
        ),
        see_also: &["Vehicle.failures"],
        examples: &[Example::exact(
            "vehicle(\"lantern\").failures(system(\"velm\").Veyra).rows.filter(|row| row.out == 1).map(|row| row.stage)",
            "[\"pair\", \"core\", \"departure\", \"orbiter\"]",
        )],
        ..Definition::property("Failures", "rows", |given| {
            Ok(rows(given.this::<Failures>()?.rows.iter().map(|row| {
                vec![
                    ("stage", value::text(&row.stage)),
                    ("engine", value::text(&row.engine)),
                    ("running", Dynamic::from_int(i64::from(row.running))),
                    ("out", Dynamic::from_int(i64::from(row.out))),
                    ("weight_ratio", row.weight_ratio.map_or(Dynamic::UNIT, Dynamic::from_float)),
                    ("dv", value::of(row.dv, Dimension::SPEED)),
                    ("dv_lost", value::of(row.dv_lost, Dimension::SPEED)),
                    ("burn_time", or_nothing(row.burn_time, Dimension::TIME)),
                    ("lifts", row.lifts.map_or(Dynamic::UNIT, Dynamic::from_bool)),
                ]
            })))
        })
    },
];
