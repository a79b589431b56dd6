//! The noun `Ledger`: what each leg of a voyage took.

use std::fmt::Write as _;

use rhai::{Dynamic, Map};
use serde_json::{Value, json};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::voyage::{Ledger, Row};

use super::definition::{Definition, Example};
use super::fault::Fault;
use super::given::Given;
use super::kind::{Kind, MASS, SPEED, TIME};
use super::noun::Noun;
use super::table::{Columns, csv_cell, date};
use super::value;

/// A ledger.
pub(super) const LEDGER: Kind = Kind::Noun("Ledger");

/// A row as a `--json` document has it.
pub(super) fn row_json(row: &Row) -> Value {
    json!({
        "leg": row.leg,
        "start": Noun::to_json(&row.start),
        "end": Noun::to_json(&row.end),
        "dv": { "value": row.dv, "unit": "m/s" },
        "dv_estimate": row.dv_estimate.map(|dv| json!({ "value": dv, "unit": "m/s" })),
        "propellant": { "value": row.propellant, "unit": "kg" },
        "mass": { "value": row.mass, "unit": "kg" },
    })
}

impl Noun for Ledger {
    const NAME: &'static str = "Ledger";
    const ABOUT: &'static str =
        "What each leg of a voyage took: time, change of speed, propellant; and the mass after it.";

    fn show(&self) -> String {
        let mut table = Columns::titled(&["leg", "begins", ">takes", ">Δv", ">propellant", ">mass after"]);
        // A leg of no length, or without a burn, leaves its cell free.
        let if_any = |size: f64, shown: String| if size == 0.0 { String::new() } else { shown };
        for row in &self.rows {
            let estimate = row.dv_estimate.filter(|estimate| (estimate - row.dv).abs() >= 0.01);
            let beside = estimate.map_or(String::new(), |dv| format!(" (estimate {})", Quantity::speed(dv).show()));
            table.row(&[
                row.leg.clone(),
                date(row.start),
                if_any(row.time, Quantity::time(row.time).show()),
                if_any(row.dv, format!("{}{beside}", Quantity::speed(row.dv).show())),
                if_any(row.propellant, Quantity::mass(row.propellant).show()),
                Quantity::mass(row.mass).show(),
            ]);
        }
        table.row(&[
            "in all".to_owned(),
            String::new(),
            Quantity::time(self.time).show(),
            Quantity::speed(self.dv).show(),
            Quantity::mass(self.propellant).show(),
            String::new(),
        ]);
        table.text()
    }

    fn to_json(&self) -> Value {
        json!({
            "rows": self.rows.iter().map(row_json).collect::<Vec<_>>(),
            "dv": { "value": self.dv, "unit": "m/s" },
            "propellant": { "value": self.propellant, "unit": "kg" },
            "time": { "value": self.time, "unit": "s" },
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

/// The rows as a CSV text, SI with the unit in each header. [RFC4180]
pub(super) fn csv(ledger: &Ledger) -> String {
    let mut text = String::from("leg,start,end,time_s,dv_m_s,dv_estimate_m_s,propellant_kg,mass_kg\n");
    for row in &ledger.rows {
        let estimate = row.dv_estimate.map_or(String::new(), |dv| dv.to_string());
        let (leg, start, end) = (csv_cell(&row.leg), row.start.show(), row.end.show());
        let _ =
            writeln!(text, "{leg},{start},{end},{},{},{estimate},{},{}", row.time, row.dv, row.propellant, row.mass);
    }
    text
}

fn this(given: &Given) -> Result<Ledger, Fault> {
    given.this::<Ledger>()
}

fn row_map(row: &Row) -> Dynamic {
    let mut map = Map::new();
    map.insert("leg".into(), value::text(&row.leg));
    map.insert("start".into(), value::noun(row.start));
    map.insert("end".into(), value::noun(row.end));
    map.insert("time".into(), value::of(row.time, Dimension::TIME));
    map.insert("dv".into(), value::of(row.dv, Dimension::SPEED));
    map.insert("dv_estimate".into(), row.dv_estimate.map_or(Dynamic::UNIT, |dv| value::of(dv, Dimension::SPEED)));
    map.insert("propellant".into(), value::of(row.propellant, Dimension::MASS));
    map.insert("mass".into(), value::of(row.mass, Dimension::MASS));
    Dynamic::from_map(map)
}

macro_rules! flown {
    ($ask:literal) => {
        concat!(
            "let v = voyage(vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }), ",
            "circular(system(\"sol\").Earth, 300.km)); v.burn(burn(#{ along: 100.m_s })); v.coast(1.hours); ",
            $ask
        )
    };
}
pub(super) use flown;

/// The definitions of ledgers.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The change of speed spent on all burns.",
        returns: (SPEED, ""),
        see_also: &["Ledger.propellant", "Voyage.dv_left"],
        examples: &[Example::close(flown!("v.ledger.dv"), "100.m_s", "1e-9.m_s")],
        ..Definition::property("Ledger", "dv", |given| Ok(value::of(this(given)?.dv, Dimension::SPEED)))
    },
    Definition {
        summary: "The propellant spent on all burns.",
        returns: (MASS, ""),
        source: Some("the rocket equation, [SuttonBiblarz2017], equation 4-6"),
        see_also: &["Ledger.dv", "Voyage.mass"],
        examples: &[Example::close(flown!("v.ledger.propellant"), "156.79.kg", "0.1.kg")],
        ..Definition::property("Ledger", "propellant", |given| Ok(value::of(this(given)?.propellant, Dimension::MASS)))
    },
    Definition {
        summary: "The time from the voyage's start to now.",
        returns: (TIME, ""),
        see_also: &["Voyage.epoch"],
        examples: &[Example::exact(flown!("v.ledger.time"), "1.hours")],
        ..Definition::property("Ledger", "time", |given| Ok(value::of(this(given)?.time, Dimension::TIME)))
    },
    Definition {
        summary: "A row for each leg.",
        returns: (
            Kind::List,
            "of maps: leg, start, end, time, dv, dv_estimate (`()` where the burn was not shot), propellant, mass",
        ),
        see_also: &["Ledger.csv", "Voyage.legs"],
        examples: &[Example::exact(flown!("v.ledger.rows.map(|row| row.leg)"), "[\"burn\", \"coast\"]")],
        ..Definition::property("Ledger", "rows", |given| {
            Ok(Dynamic::from_array(this(given)?.rows.iter().map(row_map).collect()))
        })
    },
    Definition {
        summary: "The rows as a CSV text: SI, the unit in each header.",
        returns: (Kind::Text, "a line for each leg below the headers"),
        source: Some("[RFC4180]"),
        see_also: &["Ledger.rows"],
        examples: &[Example::exact(flown!("v.ledger.csv.split(\"\\n\")[1].split(\",\")[0]"), "\"burn\"")],
        ..Definition::property("Ledger", "csv", |given| Ok(value::text(csv(&this(given)?))))
    },
];
