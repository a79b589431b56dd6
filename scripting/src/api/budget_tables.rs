//! The nouns `Budgets`, budgets of several targets side by side, and `Beside`, a budget beside a voyage's ledger.

use std::fmt::Write as _;

use rhai::{Dynamic, Map};
use serde_json::{Value, json};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::voyage::budget;

use super::budget::{BUDGET, Budget, speed, speed_json};
use super::budget_readings::mars;
use super::definition::{Definition, Example};
use super::fault::Fault;
use super::given::Given;
use super::kind::{Kind, SPEED};
use super::noun::Noun;
use super::table::{Columns, csv_cell, date};
use super::value;

/// Budgets of several targets.
#[derive(Debug, Clone, PartialEq)]
pub struct Budgets {
    pub(super) all: Vec<Budget>,
    /// Targets without a budget, and why.
    pub(super) refusals: Vec<(String, String)>,
}

impl Noun for Budgets {
    const NAME: &'static str = "Budgets";
    const ABOUT: &'static str = "Budgets of one journey to several targets, side by side.";

    fn show(&self) -> String {
        let titles = ["to", "leaves", ">takes", ">Δv", ">with margin", "could save", ">m/s saved"];
        let mut table = Columns::titled(&titles);
        for Budget { found } in &self.all {
            let best = found.saving();
            table.row(&[
                found.to.name().to_owned(),
                date(found.outward.depart),
                Quantity::time(found.time()).show(),
                speed(found.dv()),
                speed(found.with_margin()),
                best.map_or(String::new(), |way| way.name.clone()),
                best.map_or(String::new(), |way| format!("{:.0}", way.saves)),
            ]);
        }
        let mut text = table.text();
        for (name, why) in &self.refusals {
            let _ = write!(text, "\n{name}: {why}");
        }
        text
    }

    fn to_json(&self) -> Value {
        json!({
            "budgets": self.all.iter().map(Noun::to_json).collect::<Vec<_>>(),
            "refused": self.refusals.iter().map(|(name, why)| json!({ "to": name, "why": why })).collect::<Vec<_>>(),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

/// A budget beside a ledger.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    pub(super) found: budget::Beside,
}

impl Noun for Beside {
    const NAME: &'static str = "Beside";
    const ABOUT: &'static str = "A budget beside what a voyage spent, leg by leg.";

    fn show(&self) -> String {
        let mut table = Columns::titled(&["leg", ">budget", ">with margin", ">flown", ">left", "by the voyage's legs"]);
        let cell = |si: Option<f64>| si.map_or(String::new(), speed);
        for row in &self.found.rows {
            table.row(&[
                row.name.clone(),
                cell(row.budget),
                cell(row.with_margin),
                cell(row.flown),
                cell(row.left()),
                row.legs.join(", "),
            ]);
        }
        let (plain, whole, flown) = self.found.sums;
        let last = String::new();
        table.row(&["in all".to_owned(), speed(plain), speed(whole), speed(flown), speed(whole - flown), last]);
        table.text()
    }

    fn to_json(&self) -> Value {
        let rows: Vec<Value> = self
            .found
            .rows
            .iter()
            .map(|row| {
                json!({
                    "leg": row.name, "budget": row.budget.map(speed_json), "with_margin": row.with_margin.map(speed_json),
                    "flown": row.flown.map(speed_json), "left": row.left().map(speed_json), "legs": row.legs,
                })
            })
            .collect();
        let (plain, whole, flown) = self.found.sums;
        json!({ "rows": rows, "budget": speed_json(plain), "with_margin": speed_json(whole), "flown": speed_json(flown) })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

/// The legs as CSV. [RFC4180]
pub(super) fn csv(found: &budget::Budget) -> String {
    let mut text = String::from("to,leg,dv_m_s,basis,margin,with_margin_m_s,start,end,how\n");
    legs(&mut text, found);
    text
}

fn legs(text: &mut String, found: &budget::Budget) {
    for line in &found.lines {
        let (leg, how, whole) = (csv_cell(&line.name), csv_cell(&line.how), line.with_margin());
        let (start, end, basis) = (line.start.show(), line.end.show(), line.basis.word());
        let to = csv_cell(found.to.name());
        let _ = writeln!(text, "{to},{leg},{},{basis},{},{whole},{start},{end},{how}", line.dv, line.margin);
    }
}

/// All legs of all targets as CSV.
pub(super) fn csv_of_all(all: &Budgets) -> String {
    let mut text = String::from("to,leg,dv_m_s,basis,margin,with_margin_m_s,start,end,how\n");
    for Budget { found } in &all.all {
        legs(&mut text, found);
    }
    text
}

/// A table beside a ledger as CSV.
pub(super) fn csv_beside(beside: &Beside) -> String {
    let mut text = String::from("leg,budget_m_s,with_margin_m_s,flown_m_s,legs\n");
    let cell = |si: Option<f64>| si.map_or(String::new(), |si| si.to_string());
    for row in &beside.found.rows {
        let (name, legs) = (csv_cell(&row.name), csv_cell(&row.legs.join("; ")));
        let _ = writeln!(text, "{name},{},{},{},{legs}", cell(row.budget), cell(row.with_margin), cell(row.flown));
    }
    text
}

fn beside_of(given: &Given) -> Result<budget::Beside, Fault> {
    Ok(given.this::<Beside>()?.found)
}

macro_rules! both {
    ($ask:literal) => {
        concat!(
            "let s = system(\"sol\"); let b = budget(#{ from: s.Earth, parking: 300.km, to: [s.Mars, s.Venus], orbit: 400.km, ",
            "between: [epoch(\"2033-01-01 TDB\"), epoch(\"2034-12-31 TDB\")] }); ",
            $ask
        )
    };
}

/// The definitions of tables of budgets.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The budgets, in the order of the targets.",
        returns: (Kind::List, "of Budget; a target without one is left out, the printed table says why"),
        see_also: &["budget", "Budgets.cheapest"],
        examples: &[Example::exact(both!("b.budgets.len()"), "2")],
        ..Definition::property("Budgets", "budgets", |given| {
            let all = given.this::<Budgets>()?.all;
            Ok(Dynamic::from_array(all.into_iter().map(value::noun).collect()))
        })
    },
    Definition {
        summary: "The budget with the least Δv, margins included.",
        returns: (BUDGET, ""),
        see_also: &["Budgets.budgets"],
        examples: &[Example::exact(both!("b.cheapest.with_margin <= b.budgets[1].with_margin"), "true")],
        ..Definition::property("Budgets", "cheapest", |given| {
            let Budgets { all, refusals } = given.this::<Budgets>()?;
            let best = all.into_iter().min_by(|a, b| a.found.with_margin().total_cmp(&b.found.with_margin()));
            best.map(value::noun).ok_or_else(|| {
                let why: Vec<String> = refusals.iter().map(|(name, why)| format!("{name}: {why}")).collect();
                Fault::new("none of the targets has a budget").note(why.join("; "))
            })
        })
    },
    Definition {
        summary: "All legs of all targets as a CSV text: SI, the unit in each header.",
        returns: (Kind::Text, "a line for each leg below the headers"),
        source: Some("[RFC4180]"),
        see_also: &["Budget.csv", "save"],
        examples: &[Example::exact(both!("b.csv.split(\"\\n\")[1].split(\",\")[0]"), "\"Mars\"")],
        ..Definition::property("Budgets", "csv", |given| Ok(value::text(csv_of_all(&given.this::<Budgets>()?))))
    },
    Definition {
        summary: "A row for each leg of the budget, then the legs of the voyage that stand for none.",
        returns: (Kind::List, "of maps: leg, budget, with_margin, flown, left (`()` where there is none), legs"),
        see_also: &["Budget.beside"],
        examples: &[Example::exact(
            mars!(
                "let v = voyage(vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }), circular(s.Earth, 300.km)); \
                 v.burn(burn(#{ along: 100.m_s })); b.beside(v.ledger).rows.len()"
            ),
            "4",
        )],
        ..Definition::property("Beside", "rows", |given| {
            let row = |row: &budget::BesideRow| {
                let cell = |si: Option<f64>| si.map_or(Dynamic::UNIT, |si| value::of(si, Dimension::SPEED));
                let mut map = Map::new();
                map.insert("leg".into(), value::text(&row.name));
                map.insert("budget".into(), cell(row.budget));
                map.insert("with_margin".into(), cell(row.with_margin));
                map.insert("flown".into(), cell(row.flown));
                map.insert("left".into(), cell(row.left()));
                map.insert("legs".into(), Dynamic::from_array(row.legs.iter().map(value::text).collect()));
                Dynamic::from_map(map)
            };
            Ok(Dynamic::from_array(beside_of(given)?.rows.iter().map(row).collect()))
        })
    },
    Definition {
        summary: "What is left of the budget, margins included, after all that the voyage spent.",
        returns: (SPEED, "below zero where it was overdrawn"),
        see_also: &["Budget.beside", "Voyage.dv_left"],
        examples: &[Example::exact(
            mars!(
                "let v = voyage(vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }), circular(s.Earth, 300.km)); \
                 b.beside(v.ledger).left == b.with_margin"
            ),
            "true",
        )],
        ..Definition::property("Beside", "left", |given| {
            let (_, whole, flown) = beside_of(given)?.sums;
            Ok(value::of(whole - flown, Dimension::SPEED))
        })
    },
];
