//! The noun `Audit`: every leg held against the laws, with its residual, its bound and a verdict.

use std::fmt::Write as _;

use rhai::{Dynamic, Map};
use serde_json::{Value, json};
use visviva_engine::audit::{Audit, Entry, Law, Verdict};
use visviva_engine::quantity::Quantity;

use super::definition::{Definition, Example};
use super::fault::Fault;
use super::given::Given;
use super::kind::Kind;
use super::ledger::flown;
use super::noun::Noun;
use super::table::{Columns, csv_cell};
use super::value;

/// An audit.
pub(super) const AUDIT: Kind = Kind::Noun("Audit");

fn in_law(entry: &Entry, si: f64) -> Quantity {
    Quantity::new(si, entry.law.dimension())
}

/// An entry as a `--json` document has it.
pub(super) fn entry_json(entry: &Entry) -> Value {
    let figure = |si: f64| value::to_json(&value::quantity(in_law(entry, si)));
    json!({
        "leg": entry.leg, "law": entry.law.name(), "residual": figure(entry.residual), "bound": figure(entry.bound),
        "verdict": entry.verdict.name(), "note": entry.note,
    })
}

/// A residual as a table shows it: three figures, in SI, for bounds are far below the units of a voyage.
fn figure(entry: &Entry, si: f64) -> String {
    if si == 0.0 {
        return "0".to_owned();
    }
    let quantity = in_law(entry, si);
    format!("{si:.2e} {}", quantity.si_unit()).trim_end().to_owned()
}

fn cells(entry: &Entry, checks: usize) -> [String; 7] {
    [
        entry.law.name().to_owned(),
        checks.to_string(),
        figure(entry, entry.residual),
        figure(entry, entry.bound),
        format!("{:.3}", entry.ratio()),
        entry.verdict.name().to_owned(),
        entry.leg.clone(),
    ]
}

impl Noun for Audit {
    const NAME: &'static str = "Audit";
    const ABOUT: &'static str = "Every leg held against the conservation laws: residual, bound, verdict.";

    /// A row for each law with its worst leg; below it every entry that is not good.
    fn show(&self) -> String {
        let mut laws: Vec<Law> = Vec::new();
        for entry in self.entries() {
            if !laws.contains(&entry.law) {
                laws.push(entry.law);
            }
        }
        let headers = ["law", ">checks", ">worst residual", ">its bound", ">ratio", "verdict", "on the leg"];
        let mut table = Columns::titled(&headers);
        for law in laws {
            let of_law: Vec<Entry> = self.entries().iter().filter(|entry| entry.law == law).cloned().collect();
            let checks = of_law.len();
            if let Some(worst) = Audit::new(of_law).worst() {
                table.row(&cells(worst, checks));
            }
        }
        let mut text = table.text();
        for entry in self.entries().iter().filter(|entry| entry.verdict != Verdict::Good) {
            let note = if entry.note.is_empty() { String::new() } else { format!(" ({})", entry.note) };
            let (residual, bound) = (figure(entry, entry.residual), figure(entry, entry.bound));
            let (verdict, leg, law) = (entry.verdict.name(), &entry.leg, entry.law.name());
            let _ = write!(text, "\n{verdict}: {law} on {leg}: {residual}, bound {bound}{note}");
        }
        text
    }

    fn to_json(&self) -> Value {
        json!({
            "verdict": self.verdict().name(), "rows": self.entries().iter().map(entry_json).collect::<Vec<_>>(),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

/// The rows as a CSV text, SI, with a column for the unit. [RFC4180]
pub(super) fn csv(audit: &Audit) -> String {
    let mut text = String::from("leg,law,residual,bound,unit,verdict,note\n");
    for entry in audit.entries() {
        let (leg, law, note) = (csv_cell(&entry.leg), csv_cell(entry.law.name()), csv_cell(&entry.note));
        let unit = in_law(entry, 1.0).si_unit().clone();
        let verdict = entry.verdict.name();
        let _ = writeln!(text, "{leg},{law},{:e},{:e},{unit},{verdict},{note}", entry.residual, entry.bound);
    }
    text
}

fn this(given: &Given) -> Result<Audit, Fault> {
    given.this::<Audit>()
}

fn row_map(entry: &Entry) -> Dynamic {
    let mut map = Map::new();
    map.insert("leg".into(), value::text(&entry.leg));
    map.insert("law".into(), value::text(entry.law.name()));
    map.insert("residual".into(), value::quantity(in_law(entry, entry.residual)));
    map.insert("bound".into(), value::quantity(in_law(entry, entry.bound)));
    map.insert("verdict".into(), value::text(entry.verdict.name()));
    map.insert("note".into(), value::text(&entry.note));
    Dynamic::from_map(map)
}

/// The definitions of audits.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "Whether every entry is within its bound.",
        returns: (Kind::Flag, "false as well where the model was out of its depth"),
        see_also: &["Audit.verdict", "Audit.rows"],
        examples: &[Example::exact(flown!("v.audit.good"), "true")],
        ..Definition::property("Audit", "good", |given| Ok(Dynamic::from_bool(this(given)?.verdict() == Verdict::Good)))
    },
    Definition {
        summary: "The worst verdict of all entries.",
        returns: (Kind::Text, "\"good\", \"out of depth\" or \"beyond\""),
        see_also: &["Audit.good"],
        examples: &[Example::exact(flown!("v.audit.verdict"), "\"good\"")],
        ..Definition::property("Audit", "verdict", |given| Ok(value::text(this(given)?.verdict().name())))
    },
    Definition {
        summary: "A row for each law on each leg.",
        returns: (Kind::List, "of maps: leg, law, residual, bound, verdict, note"),
        see_also: &["Audit.good", "Audit.csv"],
        examples: &[Example::exact(flown!("v.audit.rows.all(|row| row.residual <= row.bound)"), "true")],
        ..Definition::property("Audit", "rows", |given| {
            Ok(Dynamic::from_array(this(given)?.entries().iter().map(row_map).collect()))
        })
    },
    Definition {
        summary: "The rows as a CSV text: SI, with a column for the unit.",
        returns: (Kind::Text, "a line for each entry below the headers"),
        source: Some("[RFC4180]"),
        see_also: &["Audit.rows"],
        examples: &[Example::exact(flown!("v.audit.csv.split(\"\\n\")[0].split(\",\")[1]"), "\"law\"")],
        ..Definition::property("Audit", "csv", |given| Ok(value::text(csv(&this(given)?))))
    },
];
